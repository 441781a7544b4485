package plot

import (
	"math"
	"slices"
	"testing"

	"sill/pipeline/pitch"
	"sill/pipeline/thresholds"
)

func num(x float64) *float64 { return &x }

func cell(m pitch.Matchup, variable, outcome string) thresholds.Key {
	return thresholds.Key{Hand: m.Hand.String(), Side: m.Side.String(), PitchType: "four_seam", Variable: variable, Outcome: outcome}
}

const median = "pitch_type_median"

// fixture is an invented version: one edge, a dead zone between two, never, and
// too few; a second outcome with each verdict that is left.
func fixture() Source {
	t := &thresholds.Tables{}
	verdict := func(m int, outcome, word string, line float64, change func(*thresholds.Verdict)) thresholds.Key {
		k := cell(pitch.Matchups[m], "velocity", outcome)
		v := thresholds.Verdict{Key: k, Reference: median, Unit: "mph", Verdict: word, Trend: "rising", Pitches: 8412, Events: 3911, Pitchers: 54,
			Line: num(line), LineLo: num(line - .01), LineHi: num(line + .012), Warnings: []string{"comb", "one_pitcher"}}
		if change != nil {
			change(&v)
		}
		t.Verdicts = append(t.Verdicts, v)
		return k
	}
	curve := func(k thresholds.Key, rate func(x float64) float64) {
		for x := 88.3; x <= 98; x += .25 {
			half := .008 + .003*math.Abs(x-93)
			t.Curves = append(t.Curves, thresholds.CurvePoint{Key: k, Reference: median, X: x, Rate: rate(x), Lo: rate(x) - half, Hi: rate(x) + half})
		}
		for lower := 88.0; lower < 98; lower++ {
			b := thresholds.Bin{Key: k, Kind: "regular", Lower: num(lower), Upper: num(lower + 1), Mean: num(lower + .45),
				Pitches: int64(2000 - 70*(lower-93)*(lower-93)), Events: int64(1000 - 35*(lower-93)*(lower-93))}
			y := rate(lower+.45) + .01*math.Sin(3*lower)
			b.Rate, b.Lo, b.Hi = num(y), num(y-.03), num(y+.03)
			switch lower {
			case 88:
				b.Kind, b.Lower = "open_low", nil
			case 97:
				b.Kind, b.Upper = "open_high", nil
			case 90:
				b.Thin, b.Rate, b.Lo, b.Hi = true, nil, nil, nil
			}
			t.Bins = append(t.Bins, b)
		}
		t.Bins = append(t.Bins, thresholds.Bin{Key: k, Kind: "missing", Pitches: 12})
	}
	// certain between the limits of the edges, or the ends of the data; nowhere next to
	// a limit that is not pinned
	zone := func(k thresholds.Key, sign int64, lower, upper *thresholds.Zone) {
		z := thresholds.Zone{Key: k, Reference: median, Sign: sign, LowerKind: "open", UpperKind: "open", CertainLo: num(88.3), CertainHi: num(97.8)}
		if lower != nil {
			z.LowerKind, z.Lower, z.LowerLo, z.LowerHi = "edge", lower.Lower, lower.LowerLo, lower.LowerHi
			z.CertainLo, z.PossibleLo = lower.LowerHi, lower.LowerLo
		}
		if upper != nil {
			z.UpperKind, z.Upper, z.UpperLo, z.UpperHi = "edge", upper.Lower, upper.LowerLo, upper.LowerHi
			z.CertainHi, z.PossibleHi = upper.LowerLo, upper.LowerHi
		}
		if z.CertainLo == nil || z.CertainHi == nil {
			z.CertainLo, z.CertainHi = nil, nil
		} else {
			z.Certain = []thresholds.Span{{Lo: *z.CertainLo, Hi: *z.CertainHi}}
		}
		t.Zones = append(t.Zones, z)
	}
	edge := func(at, lo, hi float64) *thresholds.Zone {
		return &thresholds.Zone{Lower: num(at), LowerLo: num(lo), LowerHi: num(hi)}
	}
	rising := func(x float64) float64 { return .16 + .12/(1+math.Exp(-(x-93.2)/1.3)) }

	k := verdict(0, "whiff_rate", "found", .22, nil)
	curve(k, rising)
	zone(k, -1, nil, edge(93.2, 92.6, 93.9))
	zone(k, 1, edge(93.2, 92.6, 93.9), nil)
	k = verdict(1, "whiff_rate", "found", .22, func(v *thresholds.Verdict) { v.Trend = "turning" })
	curve(k, func(x float64) float64 { return .19 + .004*(x-93)*(x-93) })
	zone(k, 1, nil, edge(90.3, 89.9, 90.8))
	zone(k, -1, edge(90.3, 89.9, 90.8), edge(95.7, 95.1, 96.2))
	zone(k, 1, edge(95.7, 95.1, 96.2), nil)
	k = verdict(2, "whiff_rate", "never_beats", .22, nil)
	curve(k, func(float64) float64 { return .18 })
	verdict(3, "whiff_rate", "too_few", .22, func(v *thresholds.Verdict) {
		v.Events, v.Pitches, v.Pitchers, v.Settle = 41, 90, 3, "needs 12 pitchers (has 3); at the rate so far, about 4 seasons alike"
	})

	k = verdict(0, "woba_against", "edge_unresolved", .31, nil)
	curve(k, func(x float64) float64 { return .35 - .01*(x-89) })
	t.Zones = append(t.Zones, thresholds.Zone{Key: k, Reference: median, Sign: 1, LowerKind: "unresolved", Lower: num(95), UpperKind: "open",
		Certain: []thresholds.Span{{Lo: 95, Hi: 97.8}}, CertainLo: num(95), CertainHi: num(97.8)})
	k = verdict(1, "woba_against", "inconclusive", .31, nil)
	curve(k, func(float64) float64 { return .312 })
	k = verdict(2, "woba_against", "always_beats", .31, func(v *thresholds.Verdict) { v.Everywhere = true })
	curve(k, func(float64) float64 { return .27 })
	k = verdict(3, "woba_against", "found", .31, nil)
	curve(k, func(x float64) float64 { return .31 - .02*(x-93) })
	low := edge(93, 0, 94)
	low.LowerLo = nil
	zone(k, 1, low, nil)
	return Source{League: "harbour", Version: "v1.0.0", Tables: t,
		Variables: []thresholds.Variable{{Name: "velocity", Title: "velocity", Unit: "mph", Width: 1}}}
}

// joint adds verdicts on both outcomes at once: found in the first matchup, where wOBA
// is made to beat its line from 94.1 up.
func joint(src Source) Source {
	t := src.Tables
	t.Zones = slices.DeleteFunc(t.Zones, func(z thresholds.Zone) bool { return z.Key == cell(pitch.Matchups[0], "velocity", "woba_against") })
	zone := func(outcome string, at, lo, hi float64) {
		t.Zones = append(t.Zones, thresholds.Zone{Key: cell(pitch.Matchups[0], "velocity", outcome), Reference: median, Sign: 1,
			LowerKind: "edge", Lower: num(at), LowerLo: num(lo), LowerHi: num(hi), PossibleLo: num(lo), UpperKind: "open",
			Certain: []thresholds.Span{{Lo: hi, Hi: 97.8}}, CertainLo: num(hi), CertainHi: num(97.8)})
	}
	zone("woba_against", 94.1, 93.2, 94.9)
	zone(thresholds.Joint, 94.1, 93.2, 94.9)
	for i := range t.Verdicts {
		if v := &t.Verdicts[i]; v.Key == cell(pitch.Matchups[0], "velocity", "woba_against") {
			v.Verdict = "found"
		}
	}
	for i, v := range t.Verdicts[:len(pitch.Matchups)] { // those of the whiff rate
		v.Key, v.Line, v.LineLo, v.LineHi = cell(pitch.Matchups[i], "velocity", thresholds.Joint), nil, nil, nil
		if i > 0 && v.Verdict == "found" {
			v.Verdict = "inconclusive"
		}
		t.Verdicts = append(t.Verdicts, v)
	}
	return src
}

func whiffs() Selection {
	return Selection{PitchType: "four_seam", Variable: "velocity", Outcome: "whiff_rate", Reference: median}
}

// cases are figures of every kind.
func cases() map[string]func() (*Figure, error) {
	woba := whiffs()
	woba.Outcome = "woba_against"
	both := whiffs()
	both.Outcome = thresholds.Joint
	together := joint(fixture())
	one := whiffs()
	one.Matchups = pitch.Matchups[3:]
	other := fixture()
	other.League = "The Winter League of the Northern Islands and Their Neighbours"
	hostile := fixture()
	hostile.League = nasty
	hostile.Variables[0].Title = nasty
	hostile.Variables[0].Unit = nasty
	hostile.Tables.Verdicts[3].Settle = nasty + nasty
	hostile.Tables.Verdicts[0].Warnings = []string{nasty}
	out := map[string]func() (*Figure, error){
		"four":           func() (*Figure, error) { return New(fixture(), whiffs(), Options{}) },
		"woba":           func() (*Figure, error) { return New(fixture(), woba, Options{}) },
		"few":            func() (*Figure, error) { return New(fixture(), one, Options{}) },
		"overlay":        func() (*Figure, error) { return New(fixture(), whiffs(), Options{Overlay: true}) },
		"compare":        func() (*Figure, error) { return New(fixture(), whiffs(), Options{Compare: &other}) },
		"narrow":         func() (*Figure, error) { return New(fixture(), whiffs(), Options{Width: MinWidth, Compare: &other}) },
		"wide":           func() (*Figure, error) { return New(fixture(), woba, Options{Width: MaxWidth}) },
		"hostile":        func() (*Figure, error) { return New(hostile, whiffs(), Options{}) },
		"slide":          func() (*Figure, error) { return New(fixture(), whiffs(), Options{Slide: true}) },
		"slide, woba":    func() (*Figure, error) { return New(fixture(), woba, Options{Slide: true}) },
		"slide, few":     func() (*Figure, error) { return New(fixture(), one, Options{Slide: true}) },
		"slide, overlay": func() (*Figure, error) { return New(fixture(), whiffs(), Options{Slide: true, Overlay: true}) },
		"slide, compare": func() (*Figure, error) { return New(fixture(), whiffs(), Options{Slide: true, Compare: &other}) },
		"slide, hostile": func() (*Figure, error) { return New(hostile, whiffs(), Options{Slide: true}) },
		"joint":          func() (*Figure, error) { return New(together, both, Options{}) },
		"joint, slide":   func() (*Figure, error) { return New(together, both, Options{Slide: true}) },
		"joint, narrow":  func() (*Figure, error) { return New(together, both, Options{Width: MinWidth}) },
		"joint, hostile": func() (*Figure, error) { return New(joint(hostile), both, Options{Slide: true}) },
		"hostile, narrow": func() (*Figure, error) {
			return New(hostile, whiffs(), Options{Width: MinWidth})
		},
	}
	return out
}

// nasty is a text that would break a document that did not escape it.
const nasty = `</text><script>alert(1)</script>&amp;<!-- "'` + "\x00\x1b[31m\u202e\xff\n" + `AnUnbrokenWordThatIsLongerThanAnyPanelCouldEverBeWideAndGoesOnAndOnAndOnAndOnAndOnAndOnAndOnAndOnAndOn`

func figure(t *testing.T, name string) *Figure {
	t.Helper()
	f, err := cases()[name]()
	if err != nil {
		t.Fatal(err)
	}
	return f
}
