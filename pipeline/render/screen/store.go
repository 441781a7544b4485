package screen

import (
	"fmt"
	"strings"
	"time"

	"sill/pipeline/publish"
	"sill/pipeline/render/terminal"
	"sill/pipeline/render/words"
)

// Leagues lists the versions and drafts of each league.
func Leagues(p *terminal.Printer, leagues []publish.Listing) {
	for i, l := range leagues {
		if i > 0 {
			p.Blank()
		}
		p.Line(terminal.Bold, "%s (%s)", l.League, l.Dir)
		tab := &terminal.Table{Fit: 4, Limit: []int{0, 0, 26}}
		tab.Add(terminal.Cell{Text: "version", Style: terminal.Dim}, terminal.Cell{Text: "date", Style: terminal.Dim}, terminal.Cell{Text: "status", Style: terminal.Dim},
			terminal.Cell{Text: "verdicts", Style: terminal.Dim}, terminal.Cell{Text: "inputs", Style: terminal.Dim, Right: true}, terminal.Cell{Text: "size", Style: terminal.Dim, Right: true})
		for _, v := range l.Versions {
			tab.Add(terminal.Cell{Text: v.Version}, terminal.Cell{Text: day(v.Created)}, terminal.Cell{Text: marks(&v)}, terminal.Cell{Text: verdictCounts(v.Verdicts)},
				terminal.Cell{Text: words.Count(int64(v.Inputs)), Right: true}, terminal.Cell{Text: Size(v.Bytes), Right: true})
		}
		if len(l.Versions) > 0 {
			p.Table(tab, 2)
		} else {
			p.Line(terminal.Plain, "  no version yet")
		}
		for _, d := range l.Drafts {
			p.Line(terminal.Plain, "  draft %s of %s would be %s; sill publish %s", publish.Short(d.ContentID), day(d.Created), d.Version, publish.Short(d.ContentID))
		}
	}
}

// marks says what a reader gets to see of the version.
func marks(v *publish.Listed) string {
	var said []string
	switch {
	case v.Newest:
		said = append(said, "newest")
	case v.NewestOf > 0:
		said = append(said, fmt.Sprintf("newest%sv%d", words.NoBreak, v.NewestOf))
	}
	if v.Status != "published" {
		said = append(said, v.Status+": "+v.Reason)
	}
	return strings.Join(said, "; ")
}

// verdictCounts lists verdicts in the order of the legend.
func verdictCounts(n map[string]int64) string {
	var parts []string
	for _, word := range words.VerdictWords() {
		if n[word] > 0 {
			parts = append(parts, strings.ReplaceAll(words.Count(n[word])+" "+words.Spaced(word), " ", words.NoBreak))
		}
	}
	return words.Commas(parts)
}

// Freshness says how old each league's table is.
func Freshness(p *terminal.Printer, leagues []publish.Freshness) {
	for _, l := range leagues {
		p.Line(terminal.Bold, "%s %s", l.League, words.Spaced(l.State))
		if l.State == publish.NoVersion {
			continue
		}
		p.Line(terminal.Plain, "  %s, published %s (%s)", l.Version, daysAgo(l.Age), day(l.Published))
		if l.DataAge != nil {
			p.Line(terminal.Plain, "  newest pitch %s (%s)", daysAgo(l.DataAge), l.LastDay)
		} else {
			p.Line(terminal.Plain, "  newest pitch unknown: the source has no dates")
		}
		if l.Deprecated != "" {
			p.Prose(terminal.Plain, "  ", "  ", "deprecated: "+l.Deprecated)
		}
	}
}

// daysAgo spells an age in days.
func daysAgo(days *float64) string {
	switch {
	case days == nil:
		return "at an unknown time"
	case *days <= -2:
		return "dated ahead of the clock"
	case *days < 1:
		return "within a day"
	}
	return words.Plural(int64(*days), "day") + " ago"
}

// Size formats a number of bytes.
func Size(n int64) string {
	units := []string{"B", "kB", "MB", "GB", "TB"}
	x, i := float64(n), 0
	for x >= 999.5 && i < len(units)-1 {
		x, i = x/1000, i+1
	}
	if i == 0 || x >= 9.95 {
		return words.Number(x, 0) + words.NoBreak + units[i]
	}
	return words.Number(x, 1) + words.NoBreak + units[i]
}

// Day is the date of an RFC 3339 time.
func day(stamp string) string {
	if at, err := time.Parse(time.RFC3339, stamp); err == nil {
		return at.UTC().Format(time.DateOnly)
	}
	return stamp
}
