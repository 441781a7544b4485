package trend

import (
	"cmp"
	"math"
	"slices"

	"sill/pipeline/outcome"
	"sill/pipeline/pitch"
	"sill/pipeline/shape"
	"sill/stats"
)

// shifts says what the league's pitchers have in common.
func (f *follower) shifts() []Shift {
	var out []Shift
	f.types(func(typ pitch.Type, first, end int) {
		for v := range f.vars {
			x := &f.vars[v]
			for _, hand := range handsOf(x) {
				s := common(typ, hand, x, f.pairs[first:end], v)
				for i := first; i < end; i++ {
					if ofHand(hand, f.pairs[i].hand) && f.qualities[i][v].verdict(x.smallest) == Moved {
						s.Moved++
					}
				}
				if s.Pitchers > 0 {
					out = append(out, s)
				}
			}
		}
	})
	all := make([]*Shift, len(out))
	for i := range out {
		all[i] = &out[i]
	}
	suspect(all)
	return out
}

// handsOf lists the hands whose pitchers are judged apart: both in a sideways quality,
// in which a shift of the instrument cancels between them; else none, all together.
func handsOf(x *variable) []pitch.Hand {
	if shape.Sideways(x.Name) {
		return []pitch.Hand{pitch.LeftHand, pitch.RightHand}
	}
	return []pitch.Hand{pitch.UnknownHand}
}

// ofHand tells whether a pitcher of a hand is among those that are judged together.
func ofHand(judged, h pitch.Hand) bool { return judged == pitch.UnknownHand || judged == h }

// falseShifts is the chance that luck alone makes any shift suspect.
const falseShifts = .05

// suspect marks the shifts that are as large as the smallest change of interest and no
// luck: by Student's t at a level divided by the number judged (Bonferroni), since two
// seasons ask about a hundred of them and more.
func suspect(shifts []*Shift) {
	judged := 0
	for _, s := range shifts {
		if s.Shift != nil {
			judged++
		}
	}
	for _, s := range shifts {
		if s.Shift == nil {
			continue
		}
		df := float64(s.Pitchers - 1)
		se := (*s.ShiftHi - *s.Shift) / stats.TQuantile(.975, df)
		size := math.Abs(*s.Shift)
		s.Suspect = size >= s.Smallest && size > float64(stats.TQuantile(1-falseShifts/2/float64(judged), df)*se)
	}
}

// common is what pitchers of one type and hand have in common, each counting once.
func common(typ pitch.Type, hand pitch.Hand, x *variable, pairs []pair, v int) Shift {
	s := Shift{PitchType: typ.String(), Hand: hand.String(), Variable: x.Name, Unit: x.Unit, Smallest: x.smallest}
	var changes []float64
	for _, p := range pairs {
		if !ofHand(hand, p.hand) {
			continue
		}
		a, b := p.ends[0].qualities[v], p.ends[1].qualities[v]
		if min(a.n, b.n) >= minEvents {
			changes = append(changes, b.mean()-a.mean())
		}
	}
	s.Pitchers = int64(len(changes))
	if len(changes) >= minPitchers {
		mean, se := meanError(changes)
		half := float64(stats.TQuantile(.975, float64(len(changes)-1)) * se)
		s.Shift, s.ShiftLo, s.ShiftHi = orNil(mean), orNil(mean-half), orNil(mean+half)
	}
	return s
}

// meanError is a mean and its standard error.
func meanError(x []float64) (mean, se float64) {
	n := float64(len(x))
	for _, v := range x {
		mean += v / n
	}
	for _, v := range x {
		se += (v - mean) * (v - mean)
	}
	return mean, math.Sqrt(se / (n - 1) / n)
}

// types walks the runs of pairs of one pitch type.
func (f *follower) types(do func(typ pitch.Type, first, end int)) { ofType(f.pairs, do) }

func ofType(pairs []pair, do func(typ pitch.Type, first, end int)) {
	for first := 0; first < len(pairs); {
		end := first
		for end < len(pairs) && pairs[end].typ == pairs[first].typ {
			end++
		}
		do(pairs[first].typ, first, end)
		first = end
	}
}

// laws holds the changes of all pitchers, not only of those who moved, against each
// other: picking by the size of a change would only make the slope less sure.
func (f *follower) laws() []Law {
	var out []Law
	f.types(func(typ pitch.Type, first, end int) {
		for v := range f.vars {
			for m := range metrics {
				x := &f.vars[v]
				l := Law{PitchType: typ.String(), Variable: x.Name, Unit: x.Unit, Outcome: outcome.Metrics[m].Name}
				s, pitchers := f.changes(first, end, v, m)
				l.Pitchers = int64(pitchers)
				l.Changes, l.ChangesLo, l.ChangesHi = orNil(s.value), orNil(s.lo), orNil(s.hi)
				if s, ok := f.slopes[slopeKey{typ: typ, variable: v, metric: m}]; ok {
					l.Within, l.WithinLo, l.WithinHi = orNil(s.value), orNil(s.lo), orNil(s.hi)
				}
				if pitchers > 0 {
					out = append(out, l)
				}
			}
		}
	})
	return out
}

// changes is the slope of plain changes of an outcome on those of a quality, each
// less its mean in the matchup. A pitcher's two sides are two points of one cluster;
// a point weighs n·m/(n+m) for n and m events at its ends.
func (f *follower) changes(first, end, v, m int) (slope, int) {
	var x, y, w []float64
	var who []int
	pitchers := map[int]bool{}
	for _, hand := range []pitch.Hand{pitch.LeftHand, pitch.RightHand} {
		for _, side := range sides {
			start := len(x)
			var sumW, sumX, sumY float64
			for i := first; i < end; i++ {
				quality, result := &f.qualities[i][v], &f.outcomes[i][side][m]
				if f.pairs[i].hand != hand || !quality.enough || !result.enough {
					continue
				}
				n := result.ends
				weight := n[0].n * n[1].n / (n[0].n + n[1].n)
				dx, dy := quality.ends[1].mean()-quality.ends[0].mean(), n[1].mean()-n[0].mean()
				x, y, w, who = append(x, dx), append(y, dy), append(w, weight), append(who, i)
				pitchers[i] = true
				sumW += weight
				sumX += float64(weight * dx)
				sumY += float64(weight * dy)
			}
			for k := start; k < len(x); k++ {
				x[k] -= sumX / sumW
				y[k] -= sumY / sumW
			}
		}
	}
	return jackknifed(x, y, w, who), len(pitchers)
}

// How a label that was changed is told from a pitch that was given up.
const (
	labelPitches = 100 // of a pitcher in each window
	labelMuch    = .10 // share of a type that he throws
	labelHardly  = .01 // share of one that he does not
	labelSpeed   = 1.5 // mph by which both may differ
	labelBreak   = 3.  // in
)

// relabelled finds pitchers one of whose types all but vanished while another that
// looks the same came up.
func relabelled(ends [2]map[thrower]*record, vars []variable) []Relabelled {
	type arsenal struct {
		hand   pitch.Hand
		total  int64
		counts [pitch.Types]int64
	}
	var of [2]map[string]*arsenal
	for e, records := range ends {
		of[e] = map[string]*arsenal{}
		for k, r := range records {
			a := of[e][k.pitcher]
			if a == nil {
				a = &arsenal{hand: k.hand}
				of[e][k.pitcher] = a
			}
			a.total += r.pitches
			a.counts[k.typ] += r.pitches
		}
	}
	var out []Relabelled
	for name, before := range of[0] {
		after := of[1][name]
		if after == nil || min(before.total, after.total) < labelPitches {
			continue
		}
		share := func(a *arsenal, t pitch.Type) float64 { return float64(a.counts[t]) / float64(a.total) }
		for gone := range pitch.Type(pitch.Types) {
			if share(before, gone) < labelMuch || share(after, gone) >= labelHardly {
				continue
			}
			best, distance := pitch.UnknownType, math.Inf(1)
			for come := range pitch.Type(pitch.Types) {
				if share(before, come) >= labelHardly || share(after, come) < labelMuch {
					continue
				}
				a, b := ends[0][thrower{name, before.hand, gone}], ends[1][thrower{name, before.hand, come}]
				if d := unlike(a, b, vars); d < distance {
					best, distance = come, d
				}
			}
			if distance <= 1 {
				out = append(out, Relabelled{Pitcher: number(name), Hand: before.hand.String(), From: gone.String(), To: best.String(),
					ShareA: share(before, gone), ShareB: share(after, best)})
			}
		}
	}
	slices.SortFunc(out, func(a, b Relabelled) int {
		return cmp.Or(cmp.Compare(a.Pitcher, b.Pitcher), cmp.Compare(a.Hand, b.Hand), cmp.Compare(a.From, b.From))
	})
	return out
}

// unlike is how far two pitches differ in speed and break, 1 at what labels may; more
// than 1 where speed is not known.
func unlike(a, b *record, vars []variable) float64 {
	limits := map[string]float64{"velocity": labelSpeed, "induced_vertical_break": labelBreak, "horizontal_break": labelBreak}
	most, speed := 0.0, false
	for v := range vars {
		limit, ok := limits[vars[v].Name]
		if !ok || a.qualities[v].n == 0 || b.qualities[v].n == 0 {
			continue
		}
		speed = speed || vars[v].Name == "velocity"
		most = max(most, math.Abs(a.qualities[v].mean()-b.qualities[v].mean())/limit)
	}
	if !speed {
		return math.Inf(1)
	}
	return most
}
