package locate

import (
	"math"
	"slices"
	"testing"

	"sill/pipeline/estimate"
	"sill/pipeline/pitch"
	"sill/pipeline/thresholds"
)

// TestOnePitcher gives every left-handed cell one pitcher with many of the pitches,
// all within 2 mph. With a sixth, from 93 to 95 mph, where he misses few bats, he
// shows in the largest shares around edges there and moves them, but no further than
// the limits allow, which reckon with him. With a twelfth, from 96.5 mph up, where he
// misses many, he moves edges below, where he has few pitches, past half their limits:
// they warn. He never shows in the right-handed cells. Ends that are no edge have
// neither column.
func TestOnePitcher(t *testing.T) {
	for _, c := range []struct {
		every  int
		from   float64
		misses int // of 10 swings
		moves  int // edges among his own pitches, at least
		warns  bool
	}{{6, 93, 1, 10, false}, {12, 96.5, 6, 0, true}} {
		l := smallLeague()
		l.variables, l.types, l.pitchers, l.pitches = []string{"velocity"}, []pitch.Type{pitch.FourSeam}, 40, 800
		n := 0
		l.edit = func(p *pitch.Pitch) {
			if n++; p.Hand == pitch.LeftHand && n%c.every == 0 {
				k := n / c.every
				p.Pitcher, p.Result, p.Outcome = 0, pitch.NoResult, pitch.Foul
				p.Num[pitch.Velocity] = c.from + float64(k%20)/10
				if k%10 < c.misses {
					p.Outcome = pitch.SwingingStrike
				}
			}
		}
		eo, o := quick()
		got := locateAll(t, l.play(t), eo, o)
		moved, warnings := 0, 0
		for _, z := range got.Zones {
			if z.Outcome != "whiff_rate" {
				continue
			}
			outside, rests := false, false
			for _, e := range []struct {
				kind                       string
				at, lo, hi, share, without *float64
			}{{z.LowerKind, z.Lower, z.LowerLo, z.LowerHi, z.LowerLargestShare, z.LowerWithoutOne},
				{z.UpperKind, z.Upper, z.UpperLo, z.UpperHi, z.UpperLargestShare, z.UpperWithoutOne}} {
				if e.kind != "edge" {
					if e.share != nil || e.without != nil {
						t.Errorf("%+v: an end of kind %s with a share", z.Key, e.kind)
					}
					continue
				}
				if z.Hand == "right" && *e.share > .25 || z.Hand == "left" && *e.at > c.from+.5 && *e.at < c.from+1.5 && *e.share < .35 {
					t.Errorf("%+v: largest share %.2f at %.1f", z.Key, *e.share, *e.at)
				}
				if z.Hand == "left" && *e.share > .35 && e.without != nil && math.Abs(*e.without-*e.at) > .5 {
					moved++
				}
				outside = outside || e.without == nil || e.lo != nil && *e.without < *e.lo || e.hi != nil && *e.without > *e.hi
				rests = rests || thresholds.RestsOnOne(e.at, e.lo, e.hi, e.without)
			}
			warned := slices.Contains(verdictOf(t, got, z.Key, z.Reference).Warnings, WarnOnePitcher)
			if (outside || rests) && !warned {
				t.Errorf("%+v against %s: an edge rests on one pitcher and no warning", z.Key, z.Reference)
			}
			if warned {
				warnings++
			}
		}
		if moved < c.moves || warnings > 0 != c.warns {
			t.Errorf("from %g mph: he moves %d edges; %d zones warn", c.from, moved, warnings)
		}
	}
}

// TestOnePitcherWarns narrows the interval of a confirmed edge until the edge
// leaves it without the pitcher who draws it most: the verdict then warns.
func TestOnePitcherWarns(t *testing.T) {
	l := smallLeague()
	l.variables, l.types = []string{"velocity"}, []pitch.Type{pitch.FourSeam}
	eo, o := quick()
	e, err := estimate.New(t.Context(), l.play(t), eo)
	if err != nil {
		t.Fatal(err)
	}
	curves, err := e.Group(t.Context(), "", 0, 0)
	if err != nil {
		t.Fatal(err)
	}
	edges := 0
	for _, c := range curves {
		line := c.Lines[0]
		for _, narrow := range []bool{false, true} {
			r := reader{e: e, o: o, c: c, key: keyOf(e, c), out: &part{}}
			res := &lineResult{name: line.Name, band: c.Against(line)}
			found := res.band.Edges()
			for i := range found.Confirmed {
				if x := found.Confirmed[i].X; narrow {
					found.Confirmed[i].Lo, found.Confirmed[i].Hi = x, x
				}
				edges++
			}
			var v thresholds.Verdict
			r.zones(&v, line, res, found, evidence{})
			if got := slices.Contains(v.Warnings, WarnOnePitcher); got != (narrow && len(found.Confirmed) > 0) {
				t.Errorf("%+v, interval narrowed %v: %v", r.key, narrow, v.Warnings)
			}
		}
	}
	if edges < 4 {
		t.Errorf("%d edges: no test", edges)
	}
}

// TestSpreadAndThinBins holds two columns of the verdicts against the pitches and
// the bins.
func TestSpreadAndThinBins(t *testing.T) {
	l := smallLeague()
	l.variables, l.types = []string{"velocity"}, []pitch.Type{pitch.FourSeam}
	type moment struct{ n, s, ss float64 }
	sums := map[thresholds.Key]*moment{}
	n := 0
	l.edit = func(p *pitch.Pitch) {
		if x := p.Num[pitch.Velocity]; x >= 95 && x < 96 {
			if n++; n%30 > 0 {
				p.Num[pitch.Velocity] += 1 // leaves an inner bin thin
			}
		}
		if p.Outcome == pitch.SwingingStrike || p.Outcome == pitch.InPlay {
			k := key(p.Hand.String(), p.Side.String(), "four_seam", "velocity", "whiff_rate")
			if sums[k] == nil {
				sums[k] = &moment{}
			}
			x := p.Num[pitch.Velocity]
			sums[k].n++
			sums[k].s += x
			sums[k].ss += x * x
		}
	}
	eo, o := quick()
	got := locateAll(t, l.play(t), eo, o)
	thin := map[thresholds.Key]int64{}
	for _, b := range got.Bins {
		if b.Kind == estimate.Regular && b.Thin && b.Events > 0 {
			thin[b.Key]++
		}
	}
	some := false
	for _, v := range single(got.Verdicts) {
		if v.ThinBins != thin[v.Key] {
			t.Errorf("%+v: %d thin bins, want %d", v.Key, v.ThinBins, thin[v.Key])
		}
		some = some || v.ThinBins > 0
		if m := sums[v.Key]; m != nil {
			want := math.Sqrt((m.ss - m.s*m.s/m.n) / (m.n - 1))
			if v.SD == nil || math.Abs(*v.SD-want) > 1e-6 {
				t.Errorf("%+v: SD %v, want %g", v.Key, v.SD, want)
			}
		}
	}
	if !some {
		t.Error("no thin bin: no test")
	}
}

// TestRestsOnThin thins one inner bin of a league out, away from its breakpoint and then
// at it: the verdict is warned of where half of the published interval of an edge lies in
// published thin bins, counted point by point, and only there.
func TestRestsOnThin(t *testing.T) {
	var warned, clear int
	for _, at := range []float64{91, 93, 94, 95} {
		l := smallLeague()
		l.variables, l.types = []string{"velocity"}, []pitch.Type{pitch.FourSeam}
		n := 0
		l.edit = func(p *pitch.Pitch) {
			if x := p.Num[pitch.Velocity]; x >= at && x < at+1 {
				if n++; n%30 > 0 {
					p.Num[pitch.Velocity]++
				}
			}
		}
		eo, o := quick()
		got := locateAll(t, l.play(t), eo, o)
		inThin := func(k thresholds.Key, lo, hi float64) float64 {
			const points = 4000
			in := 0.0
			for i := range points {
				x := lo + (hi-lo)*(float64(i)+.5)/points
				for _, b := range got.Bins {
					if b.Key == k && b.Kind == estimate.Regular && b.Thin && *b.Lower <= x && x < *b.Upper {
						in++
					}
				}
			}
			return in / points
		}
		for _, v := range single(got.Verdicts) {
			want, near := false, false
			for _, z := range got.Zones {
				if z.Key != v.Key || z.Reference != v.Reference || v.Verdict != Found {
					continue
				}
				for _, e := range [][2]*float64{{z.LowerLo, z.LowerHi}, {z.UpperLo, z.UpperHi}} {
					if e[0] != nil && e[1] != nil {
						share := inThin(v.Key, *e[0], *e[1])
						want, near = want || share >= .5, near || math.Abs(share-.5) < .001
					} else if e[0] != nil || e[1] != nil {
						near = true // open: not judged here
					}
				}
			}
			if v.Verdict != Found && v.Verdict != Inconclusive && v.Verdict != TooFew || near {
				continue
			}
			if got := slices.Contains(v.Warnings, WarnThin); got != want {
				t.Errorf("thin from %g: %+v, %s: warned %v", at, v.Key, v.Verdict, got)
			}
			switch {
			case want:
				warned++
			case v.Verdict == Found && v.ThinBins > 0:
				clear++
			}
		}
	}
	if warned == 0 || clear == 0 {
		t.Errorf("%d warned of, %d found elsewhere: no test", warned, clear)
	}
}

// TestThinStretch: by hand, on bins 0 to 4 of which the second and the empty third are
// thin; the open ends hold whatever they hold.
func TestThinStretch(t *testing.T) {
	bin := func(kind string, lo, hi float64, thin bool) estimate.Bin {
		return estimate.Bin{Kind: kind, Lower: lo, Upper: hi, Thin: thin}
	}
	bins := []estimate.Bin{bin(estimate.Missing, math.NaN(), math.NaN(), true), bin(estimate.OpenLow, math.NaN(), 0, true), bin(estimate.Regular, 0, 1, false),
		bin(estimate.Regular, 1, 2, true), bin(estimate.Regular, 2, 3, true), bin(estimate.Regular, 3, 4, false), bin(estimate.OpenHigh, 4, math.NaN(), true)}
	for _, c := range []struct {
		lo, hi float64
		want   bool
	}{{0, 4, true}, {0, 4.1, false}, {0, 1.9, false}, {0, 2, true}, {1.2, 1.2, true}, {.5, .5, false}, {2.5, 3.6, false}, {2.5, 3.4, true},
		{math.NaN(), 2, false}, {1, math.NaN(), false}, {-3, -2, false}} {
		if got := thinStretch(bins, c.lo, c.hi); got != c.want {
			t.Errorf("%g to %g: %v", c.lo, c.hi, got)
		}
	}
}

// TestLinesAreFamilies: the q of breakpoints against one line are the same where
// the other line is absent.
func TestLinesAreFamilies(t *testing.T) {
	make := func(lines ...string) []part {
		var p part
		for i, ps := range []float64{.01, .03, .2} {
			for k, line := range lines {
				p.contrasts = append(p.contrasts, contrast{family: breakpointFamily("mirror", line), p: ps * float64(1+k), apart: true,
					rows: []thresholds.Contrast{{Kind: KindBreakpoint, Reference: line, X: orNil(float64(i))}}})
			}
		}
		return []part{p}
	}
	qs := func(parts []part, line string) (out []float64) {
		finishContrasts(parts, DefaultOptions())
		for _, c := range parts[0].contrasts {
			if c.rows[0].Reference == line {
				out = append(out, *c.rows[0].Q)
			}
		}
		return out
	}
	both, alone := qs(make(estimate.TypeMedian, estimate.TypeRate), estimate.TypeMedian), qs(make(estimate.TypeMedian), estimate.TypeMedian)
	if !slices.Equal(both, alone) || len(alone) != 3 || math.Abs(alone[0]-.03) > 1e-12 {
		t.Errorf("q %v beside another line, %v alone", both, alone)
	}
	// and whole rows say which family they are of
	eo, o := quick()
	l := smallLeague()
	l.variables = []string{"velocity"}
	e, err := estimate.New(t.Context(), l.play(t), eo)
	if err != nil {
		t.Fatal(err)
	}
	groups := groupsOf(e)
	flat, err := testFlatness(t.Context(), e, groups, o)
	if err != nil {
		t.Fatal(err)
	}
	curves, err := e.Group(t.Context(), groups[0].stratum, groups[0].variable, groups[0].metric)
	if err != nil {
		t.Fatal(err)
	}
	seen := map[string]bool{}
	for _, c := range read(e, groups[0], curves, flat, 0, o).contrasts {
		if r := c.rows[0]; r.Kind == KindBreakpoint {
			seen[r.Reference] = true
			if c.family != breakpointFamily(familyOfPair(r.Pair), r.Reference) {
				t.Errorf("%s against %s is of the family %s", r.Pair, r.Reference, c.family)
			}
		}
	}
	if len(seen) != 2 {
		t.Errorf("breakpoints against %v", seen)
	}
}

func familyOfPair(name string) string {
	for _, p := range matchPairs {
		if p.name == name {
			return p.family
		}
	}
	return name
}

// TestFewBatters: one event in twenty without a batter leaves the two-way
// interval, one in seven does not.
func TestFewBatters(t *testing.T) {
	for every, want := range map[int]bool{20: false, 7: true} {
		l := smallLeague()
		l.variables, l.types = []string{"velocity"}, []pitch.Type{pitch.FourSeam}
		n := 0
		l.edit = func(p *pitch.Pitch) {
			if n++; n%every == 0 {
				p.Batter = -1
			}
		}
		eo, o := quick()
		got := locateAll(t, l.play(t), eo, o)
		for _, v := range got.Verdicts {
			if slices.Contains(v.Warnings, WarnBatters) != want || (v.Batters == 0) != want {
				t.Fatalf("every %dth batter unknown: %d batters, %v", every, v.Batters, v.Warnings)
			}
		}
	}
}
