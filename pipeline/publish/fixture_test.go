package publish

import (
	"context"
	"io/fs"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"reflect"
	"testing"
	"time"

	"sill/pipeline/thresholds"
)

// The league of these tests is invented.

// newStore returns the path of a store that can be removed after the test. It
// lies in memory where the system has a folder for that: a version has 50 files,
// and these tests make thousands of versions. Those of what a disk keeps use
// storeOnDisk.
func newStore(t testing.TB) string {
	t.Helper()
	dir, err := os.MkdirTemp("/dev/shm", "sill-test-")
	if err != nil {
		return storeOnDisk(t)
	}
	t.Cleanup(func() {
		unlock(dir)
		if err := os.RemoveAll(dir); err != nil {
			t.Error(err)
		}
	})
	return filepath.Join(dir, "harbour")
}

// storeOnDisk is newStore in the folder of temporary files.
func storeOnDisk(t testing.TB) string {
	t.Helper()
	dir := t.TempDir()
	t.Cleanup(func() { unlock(dir) })
	return filepath.Join(dir, "harbour")
}

// onDisk returns options that sync every file, as a caller's do.
func onDisk(dir string) Options {
	o := optionsFor(dir)
	o.disk = disk{}
	return o
}

// unlock makes published folders removable.
func unlock(dir string) {
	filepath.WalkDir(dir, func(p string, d fs.DirEntry, err error) error {
		if err == nil && d.IsDir() {
			os.Chmod(p, 0o755)
		}
		return nil
	})
}

// optionsFor returns options that leave out the syncs, which no test but
// TestDurable could tell from none.
func optionsFor(dir string) Options {
	return Options{Dir: dir, Created: time.Date(2031, 4, 5, 6, 7, 8, 0, time.UTC), disk: disk{fast: true}}
}

func mustCommit(t testing.TB, o Options, v Version) *Committed {
	t.Helper()
	c, err := Commit(context.Background(), o, v)
	if err != nil {
		t.Fatal(err)
	}
	return c
}

func ref(x float64) *float64 { return &x }

// certain gives a zone its certain stretches, from left to right, as locate does.
func certain(z thresholds.Zone, stretches ...thresholds.Span) thresholds.Zone {
	z.Certain = stretches
	z.CertainLo, z.CertainHi = ref(stretches[0].Lo), ref(stretches[len(stretches)-1].Hi)
	return z
}

// small is a version of a handful of cells, one for each kind of verdict. Its
// content differs by n.
func small(n int) Version {
	const line = "pitch_type_median"
	cell := func(hand, side, pitchType string) thresholds.Key {
		return thresholds.Key{Hand: hand, Side: side, PitchType: pitchType, Variable: "velocity", Outcome: "whiff_rate"}
	}
	found, always := cell("left", "left", "four_seam"), cell("right", "right", "cutter")
	thin, unsettled := cell("left", "right", "four_seam"), cell("right", "left", "sinker")
	joint := found // both outcomes: a verdict and zones, no line and no curve
	joint.Outcome = "joint"
	never, vague := cell("left", "left", "cutter"), cell("right", "right", "sinker")
	t := &thresholds.Tables{}
	for key, verdict := range map[thresholds.Key]string{found: "found", always: "always_beats", thin: "too_few",
		unsettled: "edge_unresolved", never: "never_beats", vague: "inconclusive"} {
		for _, reference := range []string{line, "pitch_type_rate"} {
			t.Verdicts = append(t.Verdicts, thresholds.Verdict{Key: key, Reference: reference, Headline: true, Unit: "mph",
				Pitches: 1200, Known: 1190, Events: 560 + int64(n), Pitchers: 41, EffectivePitchers: 17.25, Rate: .21,
				Line: ref(.2), LineLo: ref(.19), LineHi: ref(.21), Verdict: verdict, Trend: "rising", LevelVerdict: "not_shown",
				Settle: "about 9 more pitchers", Warnings: []string{"batters_unknown"}})
		}
		t.References = append(t.References, thresholds.Reference{PitchType: key.PitchType, Outcome: key.Outcome, Reference: line, Value: ref(.2), Pitchers: 41})
		t.Bins = append(t.Bins,
			thresholds.Bin{Key: key, Kind: "open_low", Upper: ref(89), Thin: true, Pitches: 3},
			thresholds.Bin{Key: key, Kind: "regular", Lower: ref(89), Upper: ref(90), Mean: ref(89.5), Rate: ref(.18), Lo: ref(.1), Hi: ref(.3)},
			thresholds.Bin{Key: key, Kind: "missing", Pitches: 10, Warnings: []string{"no_value"}})
		if verdict == "too_few" {
			continue
		}
		for i := range 21 {
			x := 88 + float64(i)/2
			t.Curves = append(t.Curves, thresholds.CurvePoint{Key: key, Reference: line, X: x, Rate: .1 + float64(i)/100,
				Lo: .08 + float64(i)/100, Hi: .12 + float64(i)/100, D: float64(i-10) / 100, T: float64(i-10) / 2})
		}
	}
	t.Zones = []thresholds.Zone{
		certain(thresholds.Zone{Key: found, Reference: line, Zone: 1, Sign: -1, LowerKind: "open", UpperKind: "edge", Upper: ref(93), UpperLo: ref(92.25), UpperHi: ref(93.75),
			PossibleHi: ref(93.75), EventShare: .5}, thresholds.Span{Lo: 88, Hi: 92.25}),
		certain(thresholds.Zone{Key: found, Reference: line, Zone: 2, Sign: 1, LowerKind: "edge", Lower: ref(93), LowerLo: ref(92.25), LowerHi: ref(93.75), UpperKind: "open",
			PossibleLo: ref(92.25), EventShare: .5}, thresholds.Span{Lo: 93.75, Hi: 95.25}, thresholds.Span{Lo: 95.75, Hi: 98}),
		certain(thresholds.Zone{Key: unsettled, Reference: line, Zone: 1, Sign: 1, LowerKind: "unresolved", Lower: ref(94), UpperKind: "unresolved", Upper: ref(96),
			EventShare: .3}, thresholds.Span{Lo: 94, Hi: 96}),
		certain(thresholds.Zone{Key: joint, Reference: line, Zone: 1, Sign: 1, LowerKind: "edge", Lower: ref(93), LowerLo: ref(92.25), LowerHi: ref(93.75), UpperKind: "edge",
			Upper: ref(96), UpperLo: ref(95), UpperHi: ref(97), PossibleLo: ref(92.25), PossibleHi: ref(97)}, thresholds.Span{Lo: 93.75, Hi: 95}),
		certain(thresholds.Zone{Key: joint, Reference: line, Zone: 2, Sign: -1, LowerKind: "edge", Lower: ref(96), LowerLo: ref(95), LowerHi: ref(97), UpperKind: "open",
			Upper: ref(98)}, thresholds.Span{Lo: 97, Hi: 98}),
	}
	t.Verdicts = append(t.Verdicts, thresholds.Verdict{Key: joint, Reference: line, Headline: true, Unit: "mph", Pitches: 1200, Known: 1190,
		Events: 560 + int64(n), Pitchers: 41, EffectivePitchers: 17.25, Rate: .21, Q: ref(.004), Verdict: "found", Trend: "rising",
		LevelVerdict: "not_shown", Warnings: []string{"batters_unknown"}})
	t.Thresholds = []thresholds.Threshold{{Key: found, Reference: line, Unit: "mph", Verdict: "found", Zone: 2, LowerKind: "edge",
		Lower: ref(93), LowerLo: ref(92.25), LowerHi: ref(93.75), UpperKind: "open", Line: ref(.2), Rate: .21, Events: 560, Pitchers: 41, Q: ref(.004)}}
	t.Contrasts = []thresholds.Contrast{{Kind: "level", Pair: "left_same_opposite", HandA: "left", SideA: "left", TypeA: "four_seam",
		HandB: "left", SideB: "right", TypeB: "four_seam", Variable: "velocity", Outcome: "whiff_rate", X: ref(92), Estimate: ref(.01),
		Lo: ref(-.02), Hi: ref(.04), Verdict: "not_shown_to_differ", Note: "pointwise, \"at 92\""}}
	t.Slopes = []thresholds.Slope{
		{Key: found, Unit: "mph", Events: 560, Pitchers: 41, EffectivePitchers: 17.25, BetweenShare: ref(.6), Within: ref(.01), WithinLo: ref(.002),
			WithinHi: ref(.018), WithinQ: ref(.03), Between: ref(.02), BetweenLo: ref(.01), BetweenHi: ref(.03), BetweenQ: ref(.001),
			Difference: ref(-.01), DifferenceLo: ref(-.023), DifferenceHi: ref(.003), DifferenceQ: ref(.2), Shown: "both"},
		{Key: vague, Unit: "mph", Events: 560, Pitchers: 41, EffectivePitchers: 17.25, Shown: "cannot_tell"},
	}
	t.Opponents = []thresholds.Opponent{
		{Hand: "left", Side: "left", PitchType: "four_seam", Outcome: "whiff_rate", Events: 560, Pitchers: 41, Batters: 120, Rate: .24, League: .22,
			Opponents: ref(.235), Difference: ref(.015), DifferenceLo: ref(.006), DifferenceHi: ref(.024), Shrunk: ref(.011), Adjusted: ref(.225), Clear: true},
		{Hand: "left", Side: "right", PitchType: "four_seam", Outcome: "whiff_rate", Events: 9, Pitchers: 2, Batters: 7, Rate: .1, League: .2},
	}
	thresholds.Sort(t, []string{"velocity"})
	t.Round()
	return Version{
		Tool:      thresholds.Tool{Version: "1.0.0", Commit: "0123abc", Go: "go1.26", GOARCH: "amd64", GOAMD64: "v1"},
		Algorithm: "1", Seed: 7, Replicates: 2000,
		Configuration: []thresholds.Setting{{Key: "seed", Value: 7, Origin: "default"}, {Key: "run", Value: n, Origin: "flag --run"},
			{Key: "workers", Value: 2, Origin: "environment SILL_WORKERS", Local: true}},
		Variables: []thresholds.Variable{{Name: "velocity", Title: "velocity", Unit: "mph", Width: 1, Definition: "velocity/release/mph"}},
		Warnings: []thresholds.Warning{{Code: "one_pitcher", Grade: thresholds.Reading, Meaning: "a breakpoint rests on one pitcher"},
			{Code: "gap", Grade: thresholds.Background, Meaning: "two or more empty bins in a row"}},
		Families:   []thresholds.Tested{{Name: "headline", Tests: 6, Flips: 9999, Families: 1, Selected: 1}},
		Inputs:     []thresholds.Input{{Name: "season=2031/part-0.parquet", Bytes: 12, SHA256: hashOf([]byte("part")), Rows: 3000, Schema: "f00d"}},
		Rows:       thresholds.Rows{Read: 3000, Used: 2990, Rejected: 10},
		Tables:     t,
		Quarantine: []Reject{{File: "season=2031/part-0.parquet", Row: 17, Rule: "velocity_range", Column: "velocity", Value: "999"}},
		Quality:    map[string]any{"untracked": 4, "parks": []string{}},
		Files:      map[string][]byte{"CHANGES.md": []byte("# Changes\nThe first table.\n")},
	}
}

// random fills n rows of T with every kind of value a column may hold.
func random[T any](r *rand.Rand, n int) []T {
	numbers := []float64{0, math.Copysign(0, -1), 1, -1, .1, 1.0 / 3, 1e-7, 1e-6, 999999999999999999999, 1e21, 1e22, -123456.789,
		math.MaxFloat64, math.SmallestNonzeroFloat64, 93.5}
	texts := []string{"", "plain", "with, comma", "with \"quotes\"", "it's 'so'", "'", "two\r\nlines", " spaces ", "naïve ≥ 93 µ", "back\\slash", "tab\t", "<b>&amp;", "\u2028", "null", "0"}
	lists := [][]string{nil, {}, {"weak"}, {"gap", "weak", "batters_unknown"}}
	whole := []int64{0, 1, -1, math.MaxInt64, math.MinInt64, 1 << 53, 560}
	rows := make([]T, n)
	for i := range rows {
		row := reflect.ValueOf(&rows[i]).Elem()
		for _, c := range thresholds.Columns[T]() {
			f := c.Field(row)
			switch {
			case c.Words != nil:
				f.SetString(c.Words[r.IntN(len(c.Words))])
			case c.Type == "text":
				f.SetString(texts[r.IntN(len(texts))])
			case c.Type == "integer":
				f.SetInt(whole[r.IntN(len(whole))])
			case c.Type == "boolean":
				f.SetBool(r.IntN(2) == 0)
			case c.Type == "list":
				f.Set(reflect.ValueOf(lists[r.IntN(len(lists))]))
			case !c.Nullable:
				f.SetFloat(numbers[r.IntN(len(numbers))])
			case r.IntN(3) > 0:
				f.Set(reflect.ValueOf(ref(numbers[r.IntN(len(numbers))])))
			}
		}
	}
	return rows
}

// wide is a version whose rows hold every kind of value, n of each resource.
func wide(n int) Version {
	r := rand.New(rand.NewPCG(1, 2))
	v := small(0)
	v.Tables = &thresholds.Tables{
		Thresholds: random[thresholds.Threshold](r, n), Verdicts: random[thresholds.Verdict](r, n), Zones: random[thresholds.Zone](r, n),
		Curves: random[thresholds.CurvePoint](r, n), Bins: random[thresholds.Bin](r, n), Contrasts: random[thresholds.Contrast](r, n),
		References: random[thresholds.Reference](r, n), Slopes: random[thresholds.Slope](r, n), Opponents: random[thresholds.Opponent](r, n),
	}
	for i := range v.Tables.Zones {
		for _, s := range random[thresholds.Stretch](r, i%4) {
			v.Tables.Zones[i].Certain = append(v.Tables.Zones[i].Certain, thresholds.Span{Lo: s.Lo, Hi: s.Hi})
		}
	}
	v.Tables.Round()
	v.Quarantine = random[Reject](r, n)
	return v
}

// cleanStaging removes what is older in staging.
func cleanStaging(o Options, before time.Time) ([]string, error) {
	return (&store{o.Dir, o.disk}).cleanStaging(before, false)
}
