package grade

import (
	"context"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"testing"
	"time"

	"sill/pipeline/outcome"
	"sill/pipeline/pitch"
	"sill/pipeline/publish"
	"sill/pipeline/shape"
	"sill/pipeline/tally"
	"sill/pipeline/thresholds"
	"sill/stats"
)

// The league of these tests is invented.

func ref(x float64) *float64 { return &x }

func key0(side, variable, metric string) thresholds.Key {
	return thresholds.Key{Hand: "left", Side: side, PitchType: "four_seam", Variable: variable, Outcome: metric}
}

// effective is the number of effective pitchers of the version's cells.
const effective = 21.

// harbour is a version of one cell: left-handed four-seamers against left-handed
// batters miss bats from 93 mph up (92.6–93.5), by .02 a mph, with a standard error
// of .01 everywhere; nothing is shown of wOBA.
func harbour(t *testing.T) *thresholds.Table {
	t.Helper()
	found, flat := key0("left", "velocity", "whiff_rate"), key0("left", "velocity", "woba_against")
	tables := &thresholds.Tables{}
	for _, k := range []thresholds.Key{found, flat} {
		v := thresholds.Verdict{Key: k, Reference: Reference, Headline: true, Unit: "mph", Pitchers: 40, EffectivePitchers: effective, Line: ref(.2),
			Q: ref(.001), Verdict: "found", Trend: "rising", LevelVerdict: "not_shown", Warnings: []string{"batters_unknown"}}
		if k == flat {
			v.Verdict, v.Q = "inconclusive", ref(.4)
		}
		tables.Verdicts = append(tables.Verdicts, v)
		for x := 90.; x <= 96; x += .25 {
			d := .02 * (x - 93)
			tables.Curves = append(tables.Curves, thresholds.CurvePoint{Key: k, Reference: Reference, X: x, Rate: .2 + d, Lo: .2 + d - 1.96*.01, Hi: .2 + d + 1.96*.01, D: d, T: d / .01})
		}
	}
	edge := func(z thresholds.Zone, certain thresholds.Span) {
		z.Key, z.Reference = found, Reference
		z.Certain, z.CertainLo, z.CertainHi = []thresholds.Span{certain}, ref(certain.Lo), ref(certain.Hi)
		tables.Zones = append(tables.Zones, z)
	}
	edge(thresholds.Zone{Zone: 1, Sign: -1, LowerKind: "open", UpperKind: "edge", Upper: ref(93), UpperLo: ref(92.6), UpperHi: ref(93.5),
		PossibleLo: ref(90), PossibleHi: ref(93.5)}, thresholds.Span{Lo: 90, Hi: 92.6})
	edge(thresholds.Zone{Zone: 2, Sign: 1, LowerKind: "edge", Lower: ref(93), LowerLo: ref(92.6), LowerHi: ref(93.5), UpperKind: "open",
		PossibleLo: ref(92.6), PossibleHi: ref(96)}, thresholds.Span{Lo: 93.5, Hi: 96})
	tables.Round()
	dir := filepath.Join(t.TempDir(), "harbour")
	t.Cleanup(func() {
		_ = filepath.WalkDir(dir, func(p string, d fs.DirEntry, err error) error {
			if err == nil && d.IsDir() {
				return os.Chmod(p, 0o755)
			}
			return err
		})
	})
	var variables []thresholds.Variable
	for _, v := range fastOnly(t) {
		variables = append(variables, thresholds.Variable{Name: v.Name, Title: v.Title, Unit: v.Unit, Width: v.Width, Definition: v.Definition})
	}
	tables.Round()
	_, err := publish.Commit(context.Background(), publish.Options{Dir: dir, Created: time.Date(2031, 4, 5, 6, 7, 8, 0, time.UTC)},
		publish.Version{Tool: thresholds.Tool{Version: "test"}, Algorithm: "1", Variables: variables, Tables: tables, Quality: struct{}{}})
	if err != nil {
		t.Fatal(err)
	}
	table, err := thresholds.Open(dir)
	if err != nil {
		t.Fatal(err)
	}
	return table
}

func yardstick(t *testing.T) *Yardstick {
	t.Helper()
	y, err := NewYardstick(harbour(t))
	if err != nil {
		t.Fatal(err)
	}
	return y
}

// fastOnly are the variables of these tests: velocity and the place over the plate.
func fastOnly(t *testing.T) []shape.Variable {
	t.Helper()
	vars, err := shape.Only(shape.Variables, []string{"velocity", heightVariable, acrossVariable})
	if err != nil {
		t.Fatal(err)
	}
	return vars
}

// some are like pitches of one pitcher: n of them, of which whiffs missed a swing and
// so many ended in a single or an out.
type some struct {
	pitcher               int
	side                  pitch.Side
	kind                  pitch.Type
	mph                   float64
	n, whiffs, hits, outs int
}

var names = func() (n tally.Names) {
	for i := range 400 {
		n.Pitchers = append(n.Pitchers, pitch.PitcherKey{ID: fmt.Sprintf("p%03d", i), Hand: pitch.LeftHand}.String())
	}
	return n
}()

// thrown makes pitches. The first are whiffs, the next fouls; hits and outs come with
// the last ones.
func thrown(rows ...some) []pitch.Pitch {
	var out []pitch.Pitch
	for _, r := range rows {
		for i := range r.n {
			p := blank()
			p.Pitcher, p.Side, p.Type = int32(r.pitcher), r.side, r.kind
			switch fromEnd := r.n - 1 - i; {
			case i < r.whiffs:
				p.Outcome = pitch.SwingingStrike
			case fromEnd < r.hits:
				p.Outcome, p.Result = pitch.InPlay, pitch.Single
			case fromEnd < r.hits+r.outs:
				p.Outcome, p.Result = pitch.InPlay, pitch.Out
			}
			p.Num[pitch.Velocity] = r.mph
			out = append(out, p)
		}
	}
	return out
}

func blank() pitch.Pitch {
	p := pitch.Pitch{Season: 2031, Date: pitch.NoDate, Game: -1, Venue: -1, Level: -1, Batter: -1, Hand: pitch.LeftHand, Side: pitch.LeftSide, Type: pitch.FourSeam, Outcome: pitch.Foul}
	for k := range p.Num {
		p.Num[k] = pitch.Missing()
	}
	return p
}

var theBook = outcome.Scoring{Weights: outcome.TheBook()}

// read lays pitches against a yardstick one by one.
func read(t *testing.T, y *Yardstick, pitches []pitch.Pitch) *Population {
	t.Helper()
	r, notes := y.Read(fastOnly(t), 1)
	if len(notes) > 0 {
		t.Fatal(notes)
	}
	if err := r.Add(0, pitches); err != nil {
		t.Fatal(err)
	}
	p, err := r.Population("harbour", names.Pitchers, theBook)
	if err != nil {
		t.Fatal(err)
	}
	return p
}

// counted lays the same pitches by their counts.
func counted(t *testing.T, y *Yardstick, pitches []pitch.Pitch) *Population {
	t.Helper()
	b, err := tally.NewBuilder(fastOnly(t), nil, names, 1)
	if err != nil {
		t.Fatal(err)
	}
	if err := b.Add(0, pitches); err != nil {
		t.Fatal(err)
	}
	counts, err := b.Tally()
	if err != nil {
		t.Fatal(err)
	}
	p, notes, err := y.Of("harbour", counts, theBook)
	if err != nil || len(notes) > 0 {
		t.Fatal(err, notes)
	}
	return p
}

func half() float64 { return stats.TQuantile(.975, effective-1) * .01 }
