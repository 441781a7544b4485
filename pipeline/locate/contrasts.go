package locate

import (
	"cmp"
	"math"
	"slices"

	"sill/pipeline/estimate"
	"sill/pipeline/pitch"
	"sill/pipeline/tally"
	"sill/pipeline/thresholds"
	"sill/stats"
)

// The kinds of contrasts and their verdicts.
const (
	KindLevel      = "level"
	KindBreakpoint = "breakpoint"

	Differs      = "differs"
	NotDiffering = "not_shown_to_differ"
	EqualWithin  = "equal_within_delta"
	NotEstimable = "not_estimable"
)

// matchPairs are the pairs of matchups that are compared within a pitch type.
// Pairs of one family are tested together.
var matchPairs = []struct {
	name, family string
	a, b         pitch.Matchup
}{
	{"left_same_opposite", "same_opposite", pitch.Matchups[0], pitch.Matchups[1]},
	{"right_same_opposite", "same_opposite", pitch.Matchups[3], pitch.Matchups[2]},
	{"mirror_same", "mirror", pitch.Matchups[0], pitch.Matchups[3]},
	{"mirror_opposite", "mirror", pitch.Matchups[1], pitch.Matchups[2]},
	{"hands_left_batters", "hands", pitch.Matchups[0], pitch.Matchups[2]},
	{"hands_right_batters", "hands", pitch.Matchups[1], pitch.Matchups[3]},
}

// typePair names a comparison of two pitch types at one matchup.
const typePair = "pitch_types"

// contrast is one comparison with its rows, to be finished once the q of its
// family is known.
type contrast struct {
	family string // of BH
	p      float64
	rows   []thresholds.Contrast
	equal  bool                                   // every interval lies within ± delta
	apart  bool                                   // the interval excludes 0, or the contrast has none of its own
	judge  func(q float64) (verdict, note string) // in place of the verdicts of a difference; may be nil
}

// fitted is a curve whose thresholds are known.
type fitted struct {
	curve *estimate.Curve
	lines []lineResult // by headline line
	flat  float64      // q of a flat curve
}

// lineResult holds the edges found against a line.
type lineResult struct {
	name  string
	band  *stats.Band
	edges []stats.Edge // confirmed, of a rejected flat curve
}

// pairUp compares the curves of one group with each other.
func pairUp(fits []fitted, v tally.Variable, o Options) []contrast {
	at := func(t pitch.Type, m pitch.Matchup) *fitted {
		i := slices.IndexFunc(fits, func(f fitted) bool {
			k := f.curve.Key
			return k.Type == t && k.Hand == m.Hand && k.Side == m.Side
		})
		if i < 0 {
			return nil
		}
		return &fits[i]
	}
	var types []pitch.Type
	for _, f := range fits {
		if !slices.Contains(types, f.curve.Key.Type) {
			types = append(types, f.curve.Key.Type)
		}
	}
	slices.SortFunc(types, pitch.Type.Compare)
	var out []contrast
	for i, t := range types {
		for _, pair := range matchPairs {
			a, b := at(t, pair.a), at(t, pair.b)
			if a == nil || b == nil {
				continue
			}
			out = append(out, levels(a, b, pair.name, pair.family, v, o))
			out = append(out, breakpoints(a, b, pair.name, pair.family, v, true)...)
			if samePair(pair.family) {
				out = append(out, platoon(a, b, pair.name, v, o))
			}
		}
		for _, u := range types[i+1:] {
			for _, m := range pitch.Matchups {
				a, b := at(t, m), at(u, m)
				if a == nil || b == nil {
					continue
				}
				out = append(out, levels(a, b, typePair, typePair, v, o))
				out = append(out, breakpoints(a, b, typePair, typePair, v, false)...)
			}
		}
	}
	return out
}

// row starts a row of a comparison.
func row(kind, pair string, a, b *fitted, v tally.Variable) thresholds.Contrast {
	ka, kb := a.curve.Key, b.curve.Key
	return thresholds.Contrast{Kind: kind, Pair: pair,
		HandA: ka.Hand.String(), SideA: ka.Side.String(), TypeA: ka.Type.String(),
		HandB: kb.Hand.String(), SideB: kb.Side.String(), TypeB: kb.Type.String(),
		Stratum: ka.Stratum, Variable: v.Name, Outcome: a.curve.Outcome().Name}
}

// levels compares two curves along the range where both were observed, at
// multiples of the bin width. One p serves the whole contrast.
func levels(a, b *fitted, pair, family string, v tally.Variable, o Options) contrast {
	c := contrast{family: KindLevel + ":" + family, p: math.NaN()}
	fa, fb := a.curve.Fit, b.curve.Fit
	xs := multiples(max(fa.X[0], fb.X[0]), min(fa.X[len(fa.X)-1], fb.X[len(fb.X)-1]), v)
	if len(xs) < 2 {
		r := row(KindLevel, pair, a, b, v)
		r.Verdict, r.Note = NotEstimable, "the two cells were not observed over a common range"
		c.rows = append(c.rows, r)
		return c
	}
	xs = thinned(xs, o.LevelPoints)
	sa, sb := seconds(a, b)
	l := stats.ContrastLevels(fa, fb, xs, a.curve.Sign(), sa, sb)
	c.p = l.P
	c.equal = l.Within <= a.curve.Outcome().Delta
	c.apart = true // the test is of the whole contrast
	for i, x := range xs {
		r := row(KindLevel, pair, a, b, v)
		r.X, r.Estimate, r.Lo, r.Hi = orNil(x), orNil(l.D[i]), orNil(l.Lo[i]), orNil(l.Hi[i])
		c.rows = append(c.rows, r)
	}
	return c
}

// seconds returns what batters add to either curve, nil unless it is known of both.
func seconds(a, b *fitted) (sa, sb *stats.SecondWay) {
	if a.curve.Second == nil || b.curve.Second == nil {
		return nil, nil
	}
	return a.curve.Second, b.curve.Second
}

// multiples lists the multiples of the bin width within [lo, hi].
func multiples(lo, hi float64, v tally.Variable) []float64 {
	var out []float64
	for k := int32(math.Ceil(lo/v.Width() - 1e-9)); v.Lower(k) <= hi; k++ {
		if x := v.Lower(k); x >= lo {
			out = append(out, x)
		}
	}
	return out
}

// thinned picks at most most of two or more points, evenly, both ends included.
func thinned(xs []float64, most int) []float64 {
	k := min(len(xs), most)
	out := make([]float64, k)
	for i := range out {
		out[i] = xs[i*(len(xs)-1)/(k-1)]
	}
	return out
}

// breakpoints compares the breakpoints of two cells against each headline line:
// where both have as many of a direction, in order; where each has one in all,
// those two. told asks for a row that says why there is nothing to compare.
func breakpoints(a, b *fitted, pair, family string, v tally.Variable, told bool) []contrast {
	var out []contrast
	for l := range a.lines {
		la := &a.lines[l]
		k := slices.IndexFunc(b.lines, func(x lineResult) bool { return x.name == la.name })
		if k < 0 {
			continue
		}
		lb := &b.lines[k]
		matches := MatchEdges(la.edges, lb.edges)
		for _, m := range matches {
			out = append(out, breakpoint(a, b, la, lb, m[0], m[1], pair, family, v))
		}
		if len(matches) > 0 || !told {
			continue
		}
		r := row(KindBreakpoint, pair, a, b, v)
		r.Reference, r.Verdict = la.name, NotEstimable
		switch {
		case len(la.edges) == 0 && len(lb.edges) == 0:
			r.Note = "neither cell has a confirmed edge"
		case len(la.edges) == 0:
			r.Note = "the first cell has no confirmed edge"
		case len(lb.edges) == 0:
			r.Note = "the second cell has no confirmed edge"
		default:
			r.Note = "the cells differ in the number of their edges"
		}
		out = append(out, contrast{family: breakpointFamily(family, la.name), p: math.NaN(), rows: []thresholds.Contrast{r}})
	}
	return out
}

// breakpointFamily is the family of BH of breakpoints against one line: the same
// pairs enter that of every line, and count once in each.
func breakpointFamily(family, line string) string {
	return KindBreakpoint + ":" + family + ":" + line
}

// MatchEdges pairs the confirmed edges of two curves, from left to right: where
// each has one, those two; else, of each direction of which both have as many,
// in order. Others stay without a partner.
func MatchEdges(a, b []stats.Edge) [][2]stats.Edge {
	if len(a) == 1 && len(b) == 1 {
		return [][2]stats.Edge{{a[0], b[0]}}
	}
	var out [][2]stats.Edge
	for _, other := range []func(stats.Edge) bool{
		func(e stats.Edge) bool { return !e.Up },
		func(e stats.Edge) bool { return e.Up },
	} {
		xs := slices.DeleteFunc(slices.Clone(a), other)
		ys := slices.DeleteFunc(slices.Clone(b), other)
		if len(xs) == len(ys) {
			for i := range xs {
				out = append(out, [2]stats.Edge{xs[i], ys[i]})
			}
		}
	}
	slices.SortStableFunc(out, func(x, y [2]stats.Edge) int { return cmp.Compare(x[0].X, y[0].X) })
	return out
}

// breakpoint compares two confirmed edges. Its p is that of the linearised
// difference, −D*(e)/D′(e) by joint replicate: the share of replicates that
// deviate from their mean by as many standard errors as the difference is from
// 0, the latter brought from t to the normal scale first.
func breakpoint(a, b *fitted, la, lb *lineResult, ea, eb stats.Edge, pair, family string, v tally.Variable) contrast {
	r := row(KindBreakpoint, pair, a, b, v)
	r.Reference = la.name
	d, rho := stats.EdgeContrast(la.band, lb.band, ea, eb)
	r.Estimate, r.Lo, r.Hi, r.Rho = orNil(d.Estimate), orNil(d.Lo), orNil(d.Hi), orNil(rho)
	c := contrast{family: breakpointFamily(family, la.name), p: math.NaN(), apart: d.Lo > 0 || d.Hi < 0,
		rows: []thresholds.Contrast{r}}
	sa, sb := slopeAt(la.band, ea.X), slopeAt(lb.band, eb.X)
	if sa == 0 || sb == 0 {
		return c
	}
	shift, other := la.band.RepAt(ea.X), lb.band.RepAt(eb.X)
	for i := range shift {
		shift[i] = other[i]/sb - shift[i]/sa
	}
	mean, variance := stats.MeanVariance(shift)
	if variance == 0 {
		return c
	}
	// half of the interval's width stands for the standard error that
	// batters share in, where it is finite
	crit := stats.TQuantile(.975, min(la.band.DF, lb.band.DF))
	se := (d.Hi - d.Lo) / (2 * crit)
	if math.IsInf(se, 0) || math.IsNaN(se) {
		se = math.Sqrt(variance)
	}
	top := math.Abs(d.Estimate) / se * normalScore(.05) / crit
	reached := 1
	for _, s := range shift {
		if math.Abs(s-mean) >= top*math.Sqrt(variance) {
			reached++
		}
	}
	c.p = float64(reached) / float64(len(shift)+1)
	return c
}

// slopeAt is the slope of the advantage at x; linear between two nodes.
func slopeAt(b *stats.Band, x float64) float64 {
	i := 1
	for i < len(b.X)-1 && b.X[i] < x {
		i++
	}
	return (b.D[i] - b.D[i-1]) / (b.X[i] - b.X[i-1])
}

// finishContrasts controls each family of contrasts and gives their verdicts. A
// family is a kind, a group of pairs and, for breakpoints, a line: the headline
// is that of the median line. Each stratification has families of its own.
func finishContrasts(parts []part, o Options) {
	families := map[string][]*contrast{}
	for i := range parts {
		for k := range parts[i].contrasts {
			c := &parts[i].contrasts[k]
			name := stratificationOf(c.rows[0].Stratum) + ":" + c.family
			families[name] = append(families[name], c)
		}
	}
	for _, family := range families {
		ps := make([]float64, len(family))
		for i, c := range family {
			ps[i] = c.p
		}
		qs, tests := controlled(ps)
		for i, q := range qs {
			family[i].finish(q, tests, o.Discovery)
		}
	}
}

// controlled returns the q of tests of which some were not made (see stats.QValues), and
// how many were.
func controlled(ps []float64) (qs []float64, tests int64) {
	for _, p := range ps {
		if !math.IsNaN(p) {
			tests++
		}
	}
	return stats.QValues(ps), tests
}

// finish gives the rows of a contrast, one of so many tests, their p, q and verdict.
func (c *contrast) finish(q float64, tests int64, discovery float64) {
	for i := range c.rows {
		r := &c.rows[i]
		if r.P, r.Q = orNil(c.p), orNil(q); r.Q != nil {
			r.Together = tests
		}
		switch {
		case r.Verdict == NotEstimable:
		case c.judge != nil:
			r.Verdict, r.Note = c.judge(q)
		case c.equal:
			r.Verdict = EqualWithin
		case q <= discovery && c.apart:
			r.Verdict = Differs
		default:
			r.Verdict = NotDiffering
		}
	}
}
