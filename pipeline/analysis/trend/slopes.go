package trend

import (
	"math"

	"sill/pipeline/analysis/answer"
	"sill/pipeline/outcome"
	"sill/pipeline/pitch"
	"sill/stats"
)

// slope is one of an outcome on a quality, in the outcome per unit; NaN where none can
// be taken. p is that of no slope, q the same after Benjamini and Hochberg over the
// family of the slope.
type slope struct {
	answer.Estimate
	se, p, q float64
}

var none = slope{answer.Unknown, answer.NaN, answer.NaN, answer.NaN}

func (s slope) known() bool { return !math.IsNaN(s.X) }

// shown tells whether the league shows that the outcome goes with the quality.
func (s slope) shown() bool { return s.q <= Discovery && s.Apart() }

// slopeKey names the slope inside pitchers of a matchup's cell, and without hand and
// side that of all matchups.
type slopeKey struct {
	hand             pitch.Hand
	side             pitch.Side
	typ              pitch.Type
	variable, metric int
}

// within takes the league's slopes inside pitchers from the pitches of both windows:
// each pitcher's pitches are set against his own mean in the window, so that neither
// a change of his nor one of the instruments has a part in them, and pitchers are
// left out one at a time. The slopes of all matchups' cells are one family of tests;
// those without hand and side have no q.
func within(windows [2]*Window, vars []variable, scoring *outcome.Scoring) map[slopeKey]*slope {
	names := map[string]int{}
	type rows struct {
		x, y, w []float64
		pitcher []int
	}
	all := map[slopeKey]*rows{}
	type thrown struct {
		slopeKey
		pitcher int
	}
	type mean struct{ w, x, y float64 }
	for end, w := range windows {
		// a window may hold a cell in several seasons
		means := map[thrown]mean{}
		each := func(do func(k slopeKey, pitcher int, n, x, y float64)) {
			for _, c := range w.cells() {
				for v := range vars {
					at := vars[v].at[end]
					counted := &w.Tally.Variables[at]
					curve := &c.Curves[at]
					for b := curve.Known(); b < len(curve.Bins); b++ {
						for _, row := range curve.Bin(b) {
							for m := range metrics {
								n, y, _ := row.Values(m, scoring)
								if n == 0 {
									continue
								}
								d, _ := row.Offsets(m)
								name := w.Tally.Pitchers[row.Cluster]
								id, ok := names[name]
								if !ok {
									id = len(names)
									names[name] = id
								}
								do(slopeKey{c.Cell.Hand, c.Cell.Side, c.Cell.Type, v, m}, id, float64(n), counted.Mean(curve.Bins[b], n, d), y/float64(n))
							}
						}
					}
				}
			}
		}
		each(func(k slopeKey, p int, n, x, y float64) {
			m := means[thrown{k, p}]
			means[thrown{k, p}] = mean{m.w + n, m.x + float64(n*x), m.y + float64(n*y)}
		})
		each(func(k slopeKey, p int, n, x, y float64) {
			m := means[thrown{k, p}]
			for _, k := range []slopeKey{k, {typ: k.typ, variable: k.variable, metric: k.metric}} {
				r := all[k]
				if r == nil {
					r = &rows{}
					all[k] = r
				}
				r.x, r.y = append(r.x, x-m.x/m.w), append(r.y, y-m.y/m.w)
				r.w, r.pitcher = append(r.w, n), append(r.pitcher, p)
			}
		})
	}
	out := map[slopeKey]*slope{}
	for k, r := range all {
		s := jackknifed(r.x, r.y, r.w, r.pitcher)
		out[k] = &s
	}
	family(out)
	return out
}

// family fills the q of every slope of a matchup that is known.
func family(slopes map[slopeKey]*slope) {
	var tests answer.Family
	for k, s := range slopes {
		if k.hand != pitch.UnknownHand && s.known() {
			tests.Add(s.p, &s.q)
		}
	}
	tests.Control()
}

// jackknifed is the weighted slope through the origin, with clusters left out one at
// a time.
func jackknifed(x, y, w []float64, cluster []int) slope {
	at := map[int]int{}
	var xx, xy, n []float64
	var sumXX, sumXY float64
	for i := range x {
		k, ok := at[cluster[i]]
		if !ok {
			k = len(xx)
			at[cluster[i]] = k
			xx, xy, n = append(xx, 0), append(xy, 0), append(n, 0)
		}
		a, b := float64(w[i]*x[i]*x[i]), float64(w[i]*x[i]*y[i])
		xx[k] += a
		xy[k] += b
		n[k] += w[i]
		sumXX += a
		sumXY += b
	}
	if len(xx) < minPitchers {
		return none
	}
	without := make([]float64, len(xx))
	for k := range xx {
		if !(sumXX-xx[k] > 1e-9*sumXX) {
			return none
		}
		without[k] = (sumXY - xy[k]) / (sumXX - xx[k])
	}
	s := slope{se: math.Sqrt(stats.JackknifeVariance(without)), q: answer.NaN}
	df := max(1, stats.EffectiveNumber(n)-1)
	s.Estimate = answer.Student(sumXY/sumXX, s.se, df)
	s.p = stats.Interval{Estimate: s.X, Lo: s.Lo, Hi: s.Hi}.P(df)
	return s
}

// times is the slope times a change that is itself uncertain.
func (s slope) times(change stats.Normal) stats.Normal {
	return stats.Normal{Mean: s.X * change.Mean,
		SD: math.Sqrt(float64(s.X*s.X*change.SD*change.SD) + float64(change.Mean*change.Mean*s.se*s.se) + float64(s.se*s.se*change.SD*change.SD))}
}
