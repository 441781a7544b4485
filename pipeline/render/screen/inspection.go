package screen

import (
	"fmt"
	"strconv"
	"strings"

	"sill/pipeline/ingest"
	"sill/pipeline/render/terminal"
	"sill/pipeline/render/words"
)

// Inspection prints what a file holds.
func Inspection(p *terminal.Printer, in *ingest.Inspection, profiled bool) {
	p.Line(terminal.Bold, "%s", in.File)
	p.Line(terminal.Plain, "%s in %s, %s, written by %s", words.Plural(in.Rows, "row"), words.Plural(int64(in.RowGroups), "row group"), words.Plural(in.Bytes, "byte"), orWord(in.CreatedBy, "an unknown writer"))
	if !in.PageCRC {
		p.Prose(terminal.Plain, "", "  ", "Its pages carry no checksums: damage inside them cannot be told from data.")
	}
	p.Blank()
	t := &terminal.Table{Limit: []int{30, 20, 0, 30}, Fit: 5}
	t.Add(terminal.Cell{Text: "column", Style: terminal.Bold}, terminal.Cell{Text: "type", Style: terminal.Bold}, terminal.Cell{Text: "missing", Style: terminal.Bold, Right: true},
		terminal.Cell{Text: "range", Style: terminal.Bold}, terminal.Cell{Text: "values (rows)", Style: terminal.Bold})
	for _, c := range in.Columns {
		kind := c.Class
		if kind == "" {
			kind = c.Type
		}
		values := c.Note
		if values == "" {
			values = valuesText(c)
		}
		t.Add(terminal.Cell{Text: printable(c.Name)}, terminal.Cell{Text: kind}, terminal.Cell{Text: missingText(c, in.Rows), Right: true}, terminal.Cell{Text: rangeText(c)},
			terminal.Cell{Text: values, Style: terminal.Dim})
	}
	p.Table(t, 0)
	if profiled {
		p.Blank()
		printCoverage(p, in)
	}
}

func orWord(s, other string) string {
	if s == "" {
		return other
	}
	return printable(s)
}

// printable shows control characters instead of sending them to a terminal.
func printable(s string) string {
	return strings.Map(func(r rune) rune {
		if r < ' ' || r == 0x7f || r >= 0x80 && r < 0xa0 || r == '\u202e' || r == '\u2066' || r == '\u2067' {
			return '�'
		}
		return r
	}, s)
}

// missingText is the share of rows without a value.
func missingText(c ingest.ColumnInfo, rows int64) string {
	if rows == 0 || c.Class == "" {
		return "–"
	}
	s := words.Percent(float64(c.Nulls+c.NaNs) / float64(rows))
	if c.NaNs > 0 {
		s += " (NaN " + words.Percent(float64(c.NaNs)/float64(rows)) + ")"
	}
	return s
}

func rangeText(c ingest.ColumnInfo) string {
	if c.Min == "" {
		return ""
	}
	return short(c.Min) + " to " + short(c.Max)
}

// short cuts a long fraction to six digits; other text stays.
func short(s string) string {
	if f, err := strconv.ParseFloat(s, 64); err == nil && strings.ContainsAny(s, ".e") {
		return strconv.FormatFloat(f, 'g', 6, 64)
	}
	return s
}

// fewValues is how many values a column may have to be listed whole; of others
// the first are shown.
const fewValues = 12

// valuesText lists the values of a column that looks like a set of words, and
// counts those of others.
func valuesText(c ingest.ColumnInfo) string {
	if c.Distinct < 0 {
		return "more than can be listed"
	}
	if c.Distinct > fewValues {
		return words.Count(int64(c.Distinct)) + " different values"
	}
	var parts []string
	for _, v := range c.Values {
		s := printable(v.Value)
		if c.Class == "text" {
			s = fmt.Sprintf("%q", s)
		}
		parts = append(parts, strings.ReplaceAll(s+" ("+words.Count(v.Rows)+")", " ", words.NoBreak))
	}
	return strings.Join(parts, ", ")
}

// printCoverage says how much of the dictionary the profile covers.
func printCoverage(p *terminal.Printer, in *ingest.Inspection) {
	covered := 0
	var unmapped []string
	t := &terminal.Table{Fit: 5}
	t.Add(terminal.Cell{Text: "canonical column", Style: terminal.Bold}, terminal.Cell{Text: "state", Style: terminal.Bold}, terminal.Cell{Text: "from", Style: terminal.Bold},
		terminal.Cell{Text: "rows", Style: terminal.Bold, Right: true}, terminal.Cell{Text: "", Style: terminal.Bold})
	for _, c := range in.Coverage {
		if c.State == "mapped" || c.State == "constant" {
			covered++
		}
		if c.State == "unmapped" && !c.Required {
			unmapped = append(unmapped, c.Column)
			continue
		}
		var notes []string
		if c.Required && c.State != "mapped" && c.State != "constant" {
			notes = append(notes, "required")
		}
		if c.Faults > 0 {
			notes = append(notes, words.Plural(c.Faults, "row")+" rejected")
		}
		if len(c.Unmapped) > 0 {
			var vs []string
			for _, v := range c.Unmapped {
				vs = append(vs, fmt.Sprintf("%q (%s)", printable(v.Value), words.Count(v.Rows)))
			}
			notes = append(notes, "values without a mapping: "+words.Commas(vs))
		}
		values := ""
		if c.State == "mapped" || c.State == "constant" {
			values = words.Count(c.Values)
		}
		t.Add(terminal.Cell{Text: c.Column}, terminal.Cell{Text: c.State}, terminal.Cell{Text: printable(c.Source)}, terminal.Cell{Text: values, Right: true},
			terminal.Cell{Text: strings.Join(notes, "; ")})
	}
	p.Line(terminal.Bold, "The profile covers %d of %d columns of the dictionary", covered, len(in.Coverage))
	p.Table(t, 0)
	if len(unmapped) > 0 {
		p.Prose(terminal.Dim, "", "  ", "unmapped: "+words.Commas(unmapped))
	}
}

// Rows says how the rows of the inputs fared.
func Rows(p *terminal.Printer, r *ingest.Report) {
	if r == nil {
		return
	}
	p.Line(terminal.Plain, "Rows: %s read, %s used, %s rejected", words.Count(r.RowsRead), words.Count(r.RowsUsed), words.Count(r.RowsRejected))
	t := &terminal.Table{Fit: 3}
	for _, rule := range r.Rules {
		t.Add(terminal.Cell{Text: words.Count(rule.Rows), Right: true}, terminal.Cell{Text: rule.Code}, terminal.Cell{Text: rule.Meaning, Style: terminal.Dim})
	}
	p.Table(t, 2)
}
