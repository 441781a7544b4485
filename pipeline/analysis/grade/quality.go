package grade

import (
	"math"
	"slices"
	"sort"

	"gonum.org/v1/gonum/stat"

	"sill/pipeline/analysis/answer"
	"sill/pipeline/thresholds"
)

// places says where the yardstick's own pitchers stand in each variable.
type places struct {
	yardstick *Yardstick
	means     map[placeKey][]float64 // of values, ascending
	gains     map[placeKey]*[measures]standing
}

type placeKey struct {
	answer.Cell
	variable int
}

// standing is how the expected advantages of like pitchers are spread.
type standing struct {
	gains    []float64 // ascending
	mean, sd float64
}

// newPlaces measures the pitchers of the yardstick's league.
func newPlaces(y *Yardstick, peers *Population) *places {
	p := &places{y, map[placeKey][]float64{}, map[placeKey]*[measures]standing{}}
	gains := map[placeKey]*[measures][]float64{}
	for _, k := range sorted(peers.owns) {
		o := peers.owns[k]
		for v := range o.qualities {
			q := &o.qualities[v]
			if q.n < minPitches {
				continue
			}
			at := placeKey{k.Cell, v}
			p.means[at] = append(p.means[at], q.mean())
			if gains[at] == nil {
				gains[at] = &[measures][]float64{}
			}
			for m := range q.by {
				if g, _, ok := q.by[m].expected(q.n); ok {
					gains[at][m] = append(gains[at][m], g)
				}
			}
		}
	}
	for at, list := range p.means {
		slices.Sort(list)
		p.gains[at] = &[measures]standing{}
		for m, g := range gains[at] {
			slices.Sort(g)
			mean, sd := stat.MeanStdDev(g, nil)
			p.gains[at][m] = standing{g, mean, sd}
		}
	}
	return p
}

// percentile is the share of an ascending list below x in hundredths, ties half.
func percentile(list []float64, x float64) float64 {
	below := sort.SearchFloat64s(list, x)
	upTo := sort.Search(len(list), func(i int) bool { return list[i] > x })
	return 50 * float64(below+upTo) / float64(len(list))
}

// place says where an expected advantage and its limits stand: in standard deviations
// from the mean of like pitchers, and as percentiles among them; unknown for too few
// pitchers, or who do not differ.
func (s *standing) place(e answer.Estimate) (inSD, place answer.Estimate) {
	if len(s.gains) < minPool || !(s.sd > 0) {
		return answer.Unknown, answer.Unknown
	}
	over := func(of func(gain float64) float64) answer.Estimate {
		return answer.Estimate{X: of(e.X), Lo: of(e.Lo), Hi: of(e.Hi)}
	}
	return over(func(gain float64) float64 { return (gain - s.mean) / s.sd }),
		over(func(gain float64) float64 { return percentile(s.gains, gain) })
}

// mean is the mean in quanta.
func (q *quality) mean() float64 { return float64(q.sum) / float64(q.n) }

// variance is that from pitch to pitch, in quanta squared.
func (q *quality) variance() float64 {
	if q.n < 2 {
		return math.NaN()
	}
	n := float64(q.n)
	return max(0, (float64(q.sum2)-float64(q.sum)/n*float64(q.sum))/(n-1))
}

// expected is the mean expected advantage and its half-width, where at least half of
// n pitches lie within the curve.
func (s *against) expected(n int64) (gain, half float64, ok bool) {
	if s.seen == 0 || s.seen < float64(n)/2 {
		return 0, 0, false
	}
	return float64(s.gain) / billion / s.seen, float64(s.doubt) / billion / s.seen, true
}

// qualities fills the table of qualities.
func (r *Report) qualities(y *Yardstick, p *Population, by *places) {
	r.Qualities = []Quality{}
	for _, k := range sorted(p.owns) {
		o := p.owns[k]
		if !graded(k.Type) {
			continue
		}
		c := k.Cell
		for v := range o.qualities {
			q := &o.qualities[v]
			if q.n == 0 {
				continue
			}
			for m, name := range measureNames() {
				row := Quality{Who: who(p, k), Side: k.Side.String(), Variable: y.Variables[v].Name, Unit: y.Variables[v].Unit,
					Outcome: name, Pitches: q.n, Warnings: []string{}}
				var of *reference
				if curves := y.curves[c]; curves != nil {
					of = &curves[v*measures+m]
				}
				row.fill(of, q, m, placeKey{c, v}, by)
				row.say()
				r.Qualities = append(r.Qualities, row)
			}
		}
	}
}

// fill holds one quality against a reference.
func (row *Quality) fill(of *reference, q *quality, m int, at placeKey, by *places) {
	row.LikePitchers = int64(len(by.means[at]))
	if of != nil {
		row.Verdict = of.verdict.Verdict
		row.Warnings = append(row.Warnings, of.verdict.Warnings...)
	}
	if q.n < minPitches {
		return
	}
	v := answer.Variable(row.Variable)
	per := float64(v.PerUnit())
	mean, sd := q.mean()/per, math.Sqrt(q.variance())/per
	row.Mean, row.SD = &mean, &sd
	if like := by.means[at]; len(like) >= minPool {
		x := percentile(like, q.mean())
		row.Percentile = &x
	}
	if of == nil || of.curve == nil {
		return
	}
	s, n := &q.by[m], float64(q.n)
	if s.positions[thresholds.NoThreshold] < n {
		row.CertainShare, row.PossibleShare = ratio(s.positions[thresholds.Inside], n), ratio(s.possible, n)
		row.BehindShare, row.BeyondShare = ratio(s.positions[thresholds.Outside], n), ratio(s.positions[thresholds.BeyondData], n)
		row.measure(of, mean, sd/math.Sqrt(n))
	}
	gain, half, ok := s.expected(q.n)
	if !ok {
		return
	}
	e := answer.Estimate{X: gain, Lo: gain - half, Hi: gain + half}
	row.Advantage, row.AdvantageLo, row.AdvantageHi = e.Columns()
	like := by.gains[at]
	if like == nil {
		return
	}
	row.PlacePitchers = int64(len(like[m].gains))
	if of.verdict.Q != nil && *of.verdict.Q <= discovery {
		inSD, place := like[m].place(e)
		row.InSD, row.InSDLo, row.InSDHi = inSD.Columns()
		row.Place, row.PlaceLo, row.PlaceHi = place.Columns()
	}
}

// measure tells the distance to the nearest breakpoint.
func (row *Quality) measure(of *reference, mean, se float64) {
	e, ok := of.nearest(mean)
	if !ok {
		return
	}
	d := mean - e.X
	row.Breakpoint, row.BreakpointLo, row.BreakpointHi = answer.Estimate{X: e.X, Lo: e.Lo, Hi: e.Hi}.Columns()
	row.Distance = &d
	if row.Better = "below"; e.Up {
		row.Better = "above"
	}
	limit := row.BreakpointHi // on the side of the mean
	if d < 0 {
		limit = row.BreakpointLo
	}
	if limit == nil {
		return
	}
	all := math.Hypot(se, (*limit-e.X)/normal)
	row.DistanceSE, row.DistanceInErrors = &all, ratio(d, all)
}
