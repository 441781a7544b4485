package screen

import (
	"bufio"
	"fmt"
	"io"
	"strings"

	"sill/pipeline/estimate"
	"sill/pipeline/locate"
	"sill/pipeline/outcome"
	"sill/pipeline/pitch"
	"sill/pipeline/render/words"
	"sill/pipeline/shape"
	"sill/pipeline/thresholds"
)

// vocabularyColumn is a canonical column.
type vocabularyColumn struct {
	Name     string   `json:"name"`
	Kind     string   `json:"kind"`
	Unit     string   `json:"unit,omitempty"`
	Min      *float64 `json:"min,omitempty"`
	Max      *float64 `json:"max,omitempty"`
	Required bool     `json:"required"`
	Derived  string   `json:"derived,omitempty"`
	Words    []string `json:"words,omitempty"`
	Meaning  string   `json:"meaning"`
}

// vocabularyResult is a result of plate appearances with the flags it may have.
type vocabularyResult struct {
	Result string   `json:"result"`
	Flags  []string `json:"flags"`
}

// vocabularyVariable is a shape variable.
type vocabularyVariable struct {
	Name       string  `json:"name"`
	Title      string  `json:"title"`
	Unit       string  `json:"unit"`
	Width      float64 `json:"bin_width"`
	Definition string  `json:"definition"`
}

// Dictionary is all that has a name: columns, variables, words, published tables.
type Dictionary struct {
	Columns   []vocabularyColumn   `json:"columns"`
	Results   []vocabularyResult   `json:"results"` // those that may have flags
	Variables []vocabularyVariable `json:"variables"`
	Outcomes  []string             `json:"outcomes"`
	Matchups  []string             `json:"matchups"`
	Verdicts  []words.Meaning      `json:"verdicts"`
	Warnings  []thresholds.Warning `json:"warnings"`
	Words     []words.List         `json:"words"`
	// Published are the columns of every published table.
	Published []thresholds.Resource `json:"published"`
	Quality   []thresholds.Column   `json:"quality_spread"` // of the list spread in quality.json
}

var kindWords = map[pitch.Kind]string{pitch.Text: "text", pitch.Real: "number", pitch.Whole: "whole number",
	pitch.Day: "date", pitch.Category: "word", pitch.YesNo: "yes or no"}

// Vocabulary gathers the dictionary from the code.
func Vocabulary() Dictionary {
	d := Dictionary{Outcomes: outcome.Names(), Matchups: pitch.MatchupNames()}
	for _, c := range pitch.Dictionary {
		v := vocabularyColumn{Name: c.Name, Kind: kindWords[c.Kind], Unit: c.Unit, Required: c.Required,
			Derived: c.Derived, Words: pitch.Words(c.Name), Meaning: c.Meaning}
		if c.Min != c.Max {
			v.Min, v.Max = &c.Min, &c.Max
		}
		d.Columns = append(d.Columns, v)
	}
	for _, word := range pitch.Words("result") {
		if flags := pitch.FlagsOf(word); flags != nil {
			d.Results = append(d.Results, vocabularyResult{word, flags})
		}
	}
	for _, v := range shape.Variables {
		d.Variables = append(d.Variables, vocabularyVariable{v.Name, v.Title, v.Unit, v.Width, v.Definition})
	}
	for _, v := range words.Verdicts {
		d.Verdicts = append(d.Verdicts, words.Meaning{Word: v.Word, Meaning: v.Meaning})
	}
	d.Warnings = locate.Warnings()
	for _, w := range words.AnswerWarnings {
		d.Warnings = append(d.Warnings, thresholds.Warning{Code: w.Word, Grade: thresholds.Reading, Meaning: w.Meaning})
	}
	d.Words, d.Published, d.Quality = words.Lists(), thresholds.Resources(), thresholds.Columns[estimate.Spread]()
	return d
}

// Markdown writes the dictionary as tables.
func (d Dictionary) Markdown(out io.Writer) error {
	w := bufio.NewWriter(out)
	row := func(cells ...string) {
		for i, c := range cells {
			cells[i] = strings.ReplaceAll(c, "|", `\|`)
		}
		_, _ = fmt.Fprintf(w, "| %s |\n", strings.Join(cells, " | "))
	}
	heading := func(title string, columns ...string) {
		_, _ = fmt.Fprintf(w, "\n## %s\n\n", title)
		row(columns...)
		_, _ = fmt.Fprintf(w, "|%s\n", strings.Repeat("---|", len(columns)))
	}
	_, _ = fmt.Fprintln(w, "# Vocabulary of sill")
	heading("Columns", "column", "kind", "unit", "range", "required", "derived where absent", "meaning")
	for _, c := range d.Columns {
		limits, required := "", ""
		if c.Min != nil {
			limits = fmt.Sprintf("%g to %g", *c.Min, *c.Max)
		}
		if c.Required {
			required = "yes"
		}
		row("`"+c.Name+"`", c.Kind, c.Unit, limits, required, c.Derived, c.Meaning)
	}
	heading("Words", "column", "words")
	for _, c := range d.Columns {
		if c.Words != nil {
			row("`"+c.Name+"`", words.Commas(c.Words))
		}
	}
	heading("Flags of results", "result", "flags")
	for _, r := range d.Results {
		row("`"+r.Result+"`", words.Commas(r.Flags))
	}
	heading("Variables", "variable", "title", "unit", "bin width", "definition")
	for _, v := range d.Variables {
		row("`"+v.Name+"`", v.Title, v.Unit, fmt.Sprint(v.Width), "`"+v.Definition+"`")
	}
	heading("Outcomes and matchups", "kind", "words")
	row("outcome", words.Commas(d.Outcomes))
	row("matchup", words.Commas(d.Matchups))
	heading("Verdicts", "verdict", "meaning")
	for _, v := range d.Verdicts {
		row("`"+v.Word+"`", v.Meaning)
	}
	heading("Caveats", "code", "grade", "meaning")
	for _, w := range d.Warnings {
		row("`"+w.Code+"`", w.Grade, w.Meaning)
	}
	for _, l := range d.Words {
		heading("Words of "+l.Column, "word", "meaning")
		for _, v := range l.Words {
			row("`"+v.Word+"`", v.Meaning)
		}
	}
	columns := func(title string, list []thresholds.Column) {
		heading(title, "column", "type", "unit", "null", "meaning")
		for _, c := range list {
			null, text := "", c.Meaning
			if c.Nullable {
				null = "yes"
			}
			if c.Since != "" {
				text += " (since schema " + c.Since + ")"
			}
			row("`"+c.Name+"`", c.Type, c.Unit, null, text)
		}
	}
	for _, r := range d.Published {
		columns("Published table "+r.Name, r.Columns)
	}
	columns("Spread of batters and pitchers (quality.json, spread)", d.Quality)
	return w.Flush()
}
