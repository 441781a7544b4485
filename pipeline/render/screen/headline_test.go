package screen

import (
	"strings"
	"testing"

	"github.com/rivo/uniseg"

	"sill/pipeline/locate"
	"sill/pipeline/pitch"
	"sill/pipeline/render/screen/fixture"
	"sill/pipeline/render/terminal"
	"sill/pipeline/render/words"
	"sill/pipeline/shape"
	"sill/pipeline/thresholds"
)

// everyFound is a league in which a band is found on every variable of so many pitch
// types in every matchup, in each outcome and in both at once.
func everyFound(types int) *thresholds.Tables {
	t := &thresholds.Tables{}
	for _, typ := range pitch.Words("pitch_type")[:types] {
		for _, v := range shape.Variables {
			for _, o := range words.BothAndEach() {
				for _, m := range pitch.Matchups {
					k := fixture.Key(m.Hand.String(), m.Side.String(), typ, v.Name, o.Name)
					t.Verdicts = append(t.Verdicts, thresholds.Verdict{Key: k, Reference: thresholds.HeadlineReference, Headline: true, Verdict: locate.Found, Unit: v.Unit})
					t.Zones = append(t.Zones, thresholds.Zone{Key: k, Reference: thresholds.HeadlineReference, Zone: 1, Sign: 1,
						LowerKind: thresholds.EndEdge, Lower: fixture.Num(-10.25), LowerLo: fixture.Num(-10.55), LowerHi: fixture.Num(-9.95),
						UpperKind: thresholds.EndEdge, Upper: fixture.Num(11.25), UpperLo: fixture.Num(10.5), UpperHi: fixture.Num(11.75)})
				}
			}
		}
	}
	return t
}

func headlineOf(t *thresholds.Tables, width int) string {
	term, out := fixture.Page(width, false, false)
	p := terminal.NewPrinter(term)
	Headline(p, t, thresholds.HeadlineReference, "sill show")
	if err := p.Close(); err != nil {
		panic(err)
	}
	return out.String()
}

// TestHeadlineFits: however much is found, the headline takes a screen of 60 lines with
// the name of the version and a blank line, none wider than the page, and names what
// there is no room for.
func TestHeadlineFits(t *testing.T) {
	for _, types := range []int{1, 3, 9} {
		for _, width := range []int{80, 100, 120} {
			got := headlineOf(everyFound(types), width)
			lines := strings.Split(strings.TrimSuffix(got, "\n"), "\n")
			if len(lines) > 58 {
				t.Errorf("%d types at %d columns: %d lines", types, width, len(lines))
			}
			for _, l := range lines {
				if uniseg.StringWidth(l) > width || strings.TrimRight(l, " ") != l {
					t.Errorf("%d types at %d columns: %q", types, width, l)
				}
			}
			if more := strings.Contains(got, "No room here for: "); types == 9 && !more || types == 1 && more {
				t.Errorf("%d types at %d columns: names what is left out: %v\n%s", types, width, more, got)
			}
			if !strings.Contains(got, "both") || strings.Contains(got, "plate") {
				t.Errorf("%d types at %d columns: no threshold of both, or where it went:\n%s", types, width, got)
			}
		}
	}
}

// TestHeadlineKeepsEveryType: where lines must go, the last line of a type goes last.
func TestHeadlineKeepsEveryType(t *testing.T) {
	got := headlineOf(everyFound(9), 80)
	for _, typ := range pitch.Words("pitch_type")[:9] {
		if !strings.Contains(got, "\n"+TypeTitle(typ)+"\n") && !strings.Contains(got, "\n"+TypeTitle(typ)+" ") {
			t.Errorf("no line of %s:\n%s", typ, got)
		}
	}
}

// TestMainLegend: the legend has the short name and the unit of every main quality.
func TestMainLegend(t *testing.T) {
	for _, v := range shape.Variables {
		if v.Rank == shape.Main && !(strings.Contains(mainLegend, v.Short) && strings.Contains(mainLegend, v.Unit)) {
			t.Errorf("the legend lacks %s in %s", v.Short, v.Unit)
		}
		if uniseg.StringWidth(v.Short) > 9 {
			t.Errorf("%q is longer than its column", v.Short)
		}
	}
}
