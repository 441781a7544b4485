package trend

import (
	"cmp"
	"maps"
	"math"
	"slices"

	"sill/pipeline/analysis/answer"
	"sill/pipeline/outcome"
	"sill/pipeline/pitch"
	"sill/pipeline/shape"
	"sill/stats"
)

// sharedShifts says what the pitchers of every type have in common, in every quality.
func sharedShifts(pairs []pair, vars []variable) (out []Shift) {
	for group := range answer.Runs(pairs, alike) {
		for v := range vars {
			for _, hand := range handsOf(&vars[v]) {
				out = append(out, common(group, hand, &vars[v], v))
			}
		}
	}
	return out
}

// alike tells whether two pairs are of one pitch type.
func alike(a, b *pair) bool { return a.typ == b.typ }

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
func suspect(shifts int, at func(i int) *Shift) {
	judged := 0
	for i := range shifts {
		if at(i).Shift != nil {
			judged++
		}
	}
	for i := range shifts {
		s := at(i)
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
func common(pairs []pair, hand pitch.Hand, x *variable, v int) Shift {
	s := Shift{PitchType: pairs[0].typ.String(), Hand: hand.String(), Variable: x.Name, Unit: x.Unit, Smallest: x.smallest}
	var changes []float64
	for i := range pairs {
		p := &pairs[i]
		if !ofHand(hand, p.hand) {
			continue
		}
		if p.qualities[v].verdict(x.smallest) == Moved {
			s.Moved++
		}
		a, b := p.ends[0].qualities[v], p.ends[1].qualities[v]
		if min(a.n, b.n) >= minEvents {
			changes = append(changes, b.mean()-a.mean())
		}
	}
	s.Pitchers = int64(len(changes))
	if len(changes) >= minPitchers {
		mean, se := meanError(changes)
		s.Shift, s.ShiftLo, s.ShiftHi = answer.Student(mean, se, float64(len(changes)-1)).Columns()
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

// laws holds the changes of all pitchers, not only of those who moved, against each
// other: picking by the size of a change would only make the slope less sure.
func (f *follower) laws() []Law {
	var out []Law
	for group := range answer.Runs(f.pairs, alike) {
		for v := range f.vars {
			for m := range metrics {
				x := &f.vars[v]
				l := Law{PitchType: group[0].typ.String(), Variable: x.Name, Unit: x.Unit, Outcome: outcome.Metrics[m].Name}
				s, pitchers := changes(group, v, m)
				l.Pitchers = int64(pitchers)
				l.Changes, l.ChangesLo, l.ChangesHi = s.Columns()
				if s := f.slopes[slopeKey{typ: group[0].typ, variable: v, metric: m}]; s != nil {
					l.Within, l.WithinLo, l.WithinHi = s.Columns()
				}
				if pitchers > 0 {
					out = append(out, l)
				}
			}
		}
	}
	return out
}

// changes is the slope of plain changes of an outcome on those of a quality, each
// less its mean in the matchup. A pitcher's two sides are two points of one cluster;
// a point weighs n·m/(n+m) for n and m events at its ends.
func changes(group []pair, v, m int) (slope, int) {
	var x, y, w []float64
	var who []int
	pitchers := map[int]bool{}
	for _, hand := range []pitch.Hand{pitch.LeftHand, pitch.RightHand} {
		for _, side := range sides {
			start := len(x)
			var sumW, sumX, sumY float64
			for i := range group {
				p := &group[i]
				quality, result := &p.qualities[v], &p.outcomes[side][m]
				if p.hand != hand || !quality.enough || !result.enough {
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
		counts map[pitch.Type]int64
	}
	var of [2]map[string]*arsenal
	for e, records := range ends {
		of[e] = map[string]*arsenal{}
		for k, r := range records {
			a := of[e][k.pitcher]
			if a == nil {
				a = &arsenal{hand: k.hand, counts: map[pitch.Type]int64{}}
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
		for _, gone := range slices.SortedFunc(maps.Keys(before.counts), pitch.Type.Compare) {
			if share(before, gone) < labelMuch || share(after, gone) >= labelHardly {
				continue
			}
			best, distance := pitch.UnknownType, math.Inf(1)
			for _, come := range slices.SortedFunc(maps.Keys(after.counts), pitch.Type.Compare) {
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
