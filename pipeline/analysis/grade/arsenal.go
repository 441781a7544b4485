package grade

import (
	"cmp"
	"math"
	"slices"

	"gonum.org/v1/gonum/stat/distuv"

	"sill/pipeline/outcome"
	"sill/pipeline/pitch"
	"sill/stats"
)

// arsenal fills the table of what was thrown.
func (r *Report) arsenal(p *Population, by *pools) {
	totals := map[key]*use{} // over all pitch types
	for k, o := range p.owns {
		at := k.allTypes()
		if totals[at] == nil {
			totals[at] = &use{}
		}
		totals[at].add(&o.use)
	}
	r.Arsenal = []Arsenal{}
	var known [][outcomes]*estimate // by row
	for _, k := range sorted(p.owns) {
		o := p.owns[k]
		if !graded(k.Type) || o.pitches == 0 {
			continue
		}
		t := totals[k.allTypes()]
		a := Arsenal{Who: who(p, k), Side: k.Side.String(), Pitches: o.pitches, Share: float64(o.pitches) / float64(t.pitches),
			WhiffBetter: []string{}, WOBABetter: []string{}}
		if t.begun > 0 {
			a.EarlyShare = ratio(float64(o.early), float64(t.early))
		}
		if t.counted > 0 {
			a.TwoStrikeShare = ratio(float64(o.twoStrikes), float64(t.twoStrikes))
		}
		pools := by.rates[k.Cell]
		s := o.ofOutcome(outcome.Whiff, &p.Scoring)
		a.Swings = int64(s.n)
		var e [outcomes]*estimate
		a.WhiffSeen, e[outcome.Whiff], a.WhiffLike = rate(s, pools[outcome.Whiff])
		a.Whiff, a.WhiffLo, a.WhiffHi = e[outcome.Whiff].columns()
		s = o.ofOutcome(outcome.WOBA, &p.Scoring)
		a.Appearances = int64(s.n)
		a.WOBASeen, e[outcome.WOBA], a.WOBALike = rate(s, pools[outcome.WOBA])
		a.WOBA, a.WOBALo, a.WOBAHi = e[outcome.WOBA].columns()
		located := func(of [5]float64, dst ...**float64) {
			sum := 0.0
			for _, n := range of {
				sum += n
			}
			for i, n := range of {
				*dst[i] = ratio(n, sum)
			}
		}
		located(o.height, &a.Below, &a.Lower, &a.Middle, &a.Upper, &a.Above)
		located(o.across, &a.OffGlove, &a.Glove, &a.Centre, &a.Arm, &a.OffArm)
		r.Arsenal = append(r.Arsenal, a)
		known = append(known, e)
	}
	r.pairs(known)
}

// ratio is null where its denominator is 0.
func ratio(a, b float64) *float64 {
	if b == 0 {
		return nil
	}
	x := a / b
	return &x
}

// rate is a pitcher's own rate as seen, and what is to be expected of it; nil where
// there is too little of it, or of like pitchers.
func rate(s sample, of *pool[sample]) (seen *float64, e *estimate, like *float64) {
	if of != nil {
		like = &of.mean
	}
	if s.n < minEvents {
		return nil, nil, like
	}
	if of != nil {
		shrunk := of.shrink(s)
		e = &shrunk
	}
	return ratio(s.y, s.n), e, like
}

func (e *estimate) columns() (mean, lo, hi *float64) {
	if e == nil {
		return nil, nil, nil
	}
	return e.Columns()
}

// pairs ranks each arsenal and says which of its pitches can be told apart.
func (r *Report) pairs(known [][outcomes]*estimate) {
	type at struct{ pitcher, hand, side string }
	groups := map[at][]int{}
	var order []at
	for i := range r.Arsenal {
		a := &r.Arsenal[i]
		k := at{a.Pitcher, a.Hand, a.Side}
		if groups[k] == nil {
			order = append(order, k)
		}
		groups[k] = append(groups[k], i)
	}
	r.Pairs = []Pair{}
	for _, k := range order {
		for m := range outcomes {
			var ranked []candidate
			for _, i := range groups[k] {
				if e := known[i][m]; e != nil {
					ranked = append(ranked, candidate{&r.Arsenal[i], e})
				}
			}
			r.Pairs = append(r.Pairs, compare(ranked, m)...)
		}
	}
}

// candidate is a pitch of an arsenal that has an expected rate.
type candidate struct {
	row *Arsenal
	*estimate
}

// of points to an outcome's rank and to the types that the pitch beats.
func (a *Arsenal) of(metric int) (rank *int64, better *[]string) {
	if metric == outcome.Whiff {
		return &a.WhiffRank, &a.WhiffBetter
	}
	return &a.WOBARank, &a.WOBABetter
}

// compare ranks the pitches of one arsenal by an outcome. What is unknown of two
// pitches is taken as independent: they have no event in common. That a pitcher's
// pitches are alike good is not used; it could only narrow the difference.
func compare(ranked []candidate, m int) []Pair {
	metric := outcome.Metrics[m]
	sign := float64(metric.Sign)
	slices.SortStableFunc(ranked, func(a, b candidate) int { return cmp.Compare(-sign*a.X, -sign*b.X) })
	var out []Pair
	var ps []float64
	var better []*[]string
	for i, a := range ranked {
		rank, beats := a.row.of(m)
		*rank = int64(i + 1)
		for _, b := range ranked[i+1:] {
			gain := normally(sign*(a.X-b.X), math.Hypot(a.sd, b.sd))
			p := Pair{Pitcher: a.row.Pitcher, Hand: a.row.Hand, Side: a.row.Side, Outcome: metric.Name, TypeA: a.row.PitchType, TypeB: b.row.PitchType,
				Gain: gain.X, Lo: gain.Lo, Hi: gain.Hi}
			p.P = 2 * distuv.UnitNormal.Survival(p.Gain/gain.sd)
			out, ps, better = append(out, p), append(ps, p.P), append(better, beats)
		}
	}
	for i, q := range stats.Holm(ps) {
		p := &out[i]
		if p.Holm, p.Verdict = q, NotToldApart; q <= .05 {
			p.Verdict = ABetter
			*better[i] = append(*better[i], p.TypeB)
		}
	}
	return out
}

// platoon fills the table of platoon gaps; that of all pitches comes first.
func (r *Report) platoon(p *Population, by *pools) {
	r.Platoon = []Platoon{}
	for _, k := range sorted(by.twins) {
		if !graded(k.Type) && k.Type != pitch.UnknownType {
			continue
		}
		for m, metric := range outcome.Metrics[:outcomes] {
			t := &by.twins[k][m]
			row := Platoon{Who: who(p, k), Outcome: metric.Name,
				Same: int64(t.same.n), Opposite: int64(t.opposite.n), Verdict: TooFew}
			gaps := by.gaps[gapKey{k.Hand, k.Type, m}]
			if gaps != nil {
				row.GapOfLike = &gaps.mean
			}
			if t.enough() {
				gap := t.gap(float64(metric.Sign))
				row.GapSeen = &gap
				if gaps != nil {
					e := gaps.shrink(*t)
					row.Gap, row.GapLo, row.GapHi = e.Columns()
					switch row.Verdict = NotShown; {
					case e.Lo > 0:
						row.Verdict = BetterSame
					case e.Hi < 0:
						row.Verdict = BetterOther
					}
				}
			}
			r.Platoon = append(r.Platoon, row)
		}
	}
}
