// Package trend follows pitchers from one window to another: whose qualities moved,
// what became of whiffs and wOBA-against meanwhile, and what the league would expect.
// It also says how many pitches it takes before what is seen is the pitcher
// (Persist).
//
// It works on counts. A quality is the mean over the swings at the pitch, whose
// values the counts hold exactly. The pitches of a window stand for the window:
// counts do not say which pitches belong to one outing, so an interval does not
// allow for outings that are alike.
package trend

import (
	"errors"
	"math"
	"slices"
	"strings"

	"sill/pipeline/outcome"
	"sill/pipeline/pitch"
	"sill/stats"
)

// Discovery is the share of false discoveries tolerated among pitchers who moved.
const Discovery = .10

// The least sample.
const (
	minEvents   = 20 // of one thrower at each end: swings, or counted plate appearances
	minPitchers = 12 // with so many at both ends, for the league to be known by
)

// The verdicts on a quality.
const (
	Moved      = "moved"
	Stayed     = "stayed"
	CannotTell = "cannot_tell"
	TooFew     = "too_few"
)

// What became of an outcome, and whether the league shows that it goes with a
// quality.
const (
	Rose     = "rose"
	Fell     = "fell"
	Shown    = "shown"
	NotShown = "not_shown"
)

// Trend is what changed from one window to the other.
type Trend struct {
	From, To   string
	Pitchers   int // in both windows
	Rows       []Row
	Shifts     []Shift
	Laws       []Law
	Relabelled []Relabelled
	Notes      []string
}

// ErrNothing says that two windows have no pitcher or no quality in common.
var ErrNothing = errors.New("follow pitchers: the windows share none")

// Follow compares two windows.
func Follow(from, to Window, scoring outcome.Scoring) (*Trend, error) {
	t := &Trend{From: from.Name, To: to.Name, Notes: []string{"Counts do not tell a pitcher's outings apart: an interval takes each of his pitches for one of its own, and is too narrow where his outings differ."}}
	vars, missing := shared(&from, &to)
	if len(missing) > 0 {
		t.Notes = append(t.Notes, "Not followed, since only one window has them or they are measured otherwise: "+strings.ReplaceAll(strings.Join(missing, ", "), "_", " ")+".")
	}
	ends := [2]map[thrower]*record{gather(&from, 0, vars, &scoring), gather(&to, 1, vars, &scoring)}
	var pairs []pair
	pairs, t.Pitchers = both(ends[0], ends[1])
	if len(pairs) == 0 || len(vars) == 0 {
		return nil, ErrNothing
	}
	f := follower{vars: vars, pairs: pairs, slopes: within([2]*Window{&from, &to}, vars, &scoring)}
	f.followQualities()
	f.followOutcomes()
	t.Rows = f.rows()
	t.Shifts = f.shifts()
	t.Laws = f.laws()
	t.Relabelled = relabelled(ends, vars)
	return t, nil
}

// track is one quality or outcome of one thrower at both ends.
type track struct {
	ends   [2]sums
	v      [2]float64 // sampling variances
	found  stats.PairedShrunk
	shift  float64 // of the league
	known  bool    // enough events, in a group of enough pitchers
	p, q   float64
	enough bool // events at both ends
	apart  bool // the ends are those of two different pitches, as far as is known
}

// follower holds the tracks of every thrower: of qualities by variable, of outcomes
// by side and metric.
type follower struct {
	vars      []variable
	pairs     []pair
	slopes    map[slopeKey]slope
	qualities [][]track                             // by pair, variable
	outcomes  [][pitch.RightSide + 1][metrics]track // by pair
}

// group is a run of pairs of one pitch type and hand.
func (f *follower) groups(do func(first, end int)) {
	for first := 0; first < len(f.pairs); {
		end := first
		for end < len(f.pairs) && f.pairs[end].typ == f.pairs[first].typ && f.pairs[end].hand == f.pairs[first].hand {
			end++
		}
		do(first, end)
		first = end
	}
}

func (f *follower) followQualities() {
	f.qualities = make([][]track, len(f.pairs))
	for i := range f.pairs {
		f.qualities[i] = make([]track, len(f.vars))
	}
	for v := range f.vars {
		var family []*track
		f.groups(func(first, end int) {
			var group []*track
			var within, df float64
			for i := first; i < end; i++ {
				k := &f.qualities[i][v]
				for e, r := range f.pairs[i].ends {
					k.ends[e] = r.qualities[v]
				}
				if k.enough = min(k.ends[0].n, k.ends[1].n) >= minEvents; k.enough {
					group = append(group, k)
					for _, s := range k.ends {
						within += s.squares()
						df += s.n - 1
					}
				}
			}
			for _, k := range group {
				for e, s := range k.ends {
					k.v[e] = meanVariance(s, within/df, float64(f.vars[v].PerUnit))
				}
			}
			family = append(family, fit(group)...)
		})
		control(family)
	}
}

// moved tells whether any quality of a thrower's pitch moved.
func (f *follower) moved(i int) bool {
	for v := range f.vars {
		if f.qualities[i][v].verdict(f.vars[v].smallest) == Moved {
			return true
		}
	}
	return false
}

// followOutcomes follows whiffs and wOBA-against. Where a quality of the pitch moved
// it is not taken for the pitch that it was: its two ends are shrunk apart. Neither
// way uses what the league expects of such a change, so that the two can be held
// against each other.
func (f *follower) followOutcomes() {
	f.outcomes = make([][pitch.RightSide + 1][metrics]track, len(f.pairs))
	for m := range metrics {
		var family []*track
		f.groups(func(first, end int) {
			for _, side := range sides {
				var group []*track
				var all sums
				var within, df float64
				for i := first; i < end; i++ {
					k := &f.outcomes[i][side][m]
					k.apart = f.moved(i)
					for e, r := range f.pairs[i].ends {
						k.ends[e] = r.outcomes[side][m]
					}
					if k.enough = min(k.ends[0].n, k.ends[1].n) >= minEvents; k.enough {
						group = append(group, k)
						for _, s := range k.ends {
							all.add(s.n, s.x, s.xx)
							within += s.squares()
							df += s.n - 1
						}
					}
				}
				for _, k := range group {
					k.v = rateVariances(m, k.ends, all.mean(), within/df)
				}
				family = append(family, fit(group)...)
			}
		})
		control(family)
	}
}

// fit shrinks the tracks of a group, and returns those it could. The league is known
// by those that are not apart, where they are enough: the others would make it seem to
// change more than it does.
func fit(group []*track) []*track {
	if len(group) < minPitchers {
		return nil
	}
	like := slices.DeleteFunc(slices.Clone(group), func(k *track) bool { return k.apart })
	if len(like) < minPitchers {
		like = group
	}
	y, v := make([][2]float64, len(like)), make([][2]float64, len(like))
	for i, k := range like {
		y[i], v[i] = k.means(), k.v
		if !(k.v[0] > 0 && k.v[1] > 0) {
			return nil // an outcome that never varies
		}
	}
	m, err := stats.FitPaired(y, v)
	if err != nil {
		return nil
	}
	for _, k := range group {
		y := k.means()
		k.known, k.shift = true, m.Shift.Mean
		k.found = m.Shrink(y, k.v)
		if k.apart {
			k.found = m.ShrinkApart(y, k.v)
		}
		k.p = math.Erfc(math.Abs(y[1]-y[0]-k.shift) / math.Sqrt(k.v[0]+k.v[1]) / math.Sqrt2)
	}
	return group
}

// means are those of both ends.
func (k *track) means() [2]float64 { return [2]float64{k.ends[0].mean(), k.ends[1].mean()} }

// control fills the q of a family.
func control(family []*track) {
	ps := make([]float64, len(family))
	for i, k := range family {
		ps[i] = k.p
	}
	for i, q := range stats.BenjaminiHochberg(ps) {
		family[i].q = q
	}
}

// verdict says whether a quality moved.
func (k *track) verdict(smallest float64) string {
	if !k.known {
		return TooFew
	}
	lo, hi := k.found.Own.Limits()
	switch {
	case k.q <= Discovery && (lo > 0 || hi < 0) && math.Abs(k.found.Own.Mean) >= smallest:
		return Moved
	case -smallest < lo && hi < smallest:
		return Stayed
	}
	return CannotTell
}

// went says what became of an outcome.
func (k *track) went() string {
	if !k.known {
		return TooFew
	}
	lo, hi := k.found.Own.Limits()
	switch {
	case k.q <= Discovery && lo > 0:
		return Rose
	case k.q <= Discovery && hi < 0:
		return Fell
	}
	return NotShown
}

// rows makes every row.
func (f *follower) rows() []Row {
	var out []Row
	for i, p := range f.pairs {
		for v := range f.vars {
			quality := &f.qualities[i][v]
			if quality.ends[0].n == 0 || quality.ends[1].n == 0 {
				continue
			}
			x := &f.vars[v]
			head := Row{Pitcher: number(p.pitcher), Hand: p.hand.String(), PitchType: p.typ.String(),
				Variable: x.Name, Unit: x.Unit, Smallest: x.smallest, Verdict: quality.verdict(x.smallest),
				SwingsA: int64(quality.ends[0].n), SwingsB: int64(quality.ends[1].n)}
			if quality.known {
				s := quality.found
				head.Before, head.BeforeLo, head.BeforeHi = limits(s.Before)
				head.After, head.AfterLo, head.AfterHi = limits(s.After)
				head.Change, head.ChangeLo, head.ChangeHi = limits(s.Change)
				head.Own, head.OwnLo, head.OwnHi = limits(s.Own)
				head.League, head.Q = orNil(quality.shift), orNil(quality.q)
			}
			for _, side := range sides {
				for m := range metrics {
					r := head
					k := &f.outcomes[i][side][m]
					r.Side, r.Outcome, r.Went = side.String(), outcome.Metrics[m].Name, k.went()
					r.EventsA, r.EventsB = int64(k.ends[0].n), int64(k.ends[1].n)
					if k.known {
						r.RateA, r.RateALo, r.RateAHi = limits(k.found.Before)
						r.RateB, r.RateBLo, r.RateBHi = limits(k.found.After)
						r.RateD, r.RateDLo, r.RateDHi = limits(k.found.Change)
						r.RateOwn, r.RateOwnLo, r.RateOwnHi = limits(k.found.Own)
						r.RateQ = orNil(k.q)
					}
					r.expect(f.slopes, slopeKey{p.hand, side, p.typ, v, m}, quality)
					r.Sentence = r.sentence(x)
					out = append(out, r)
				}
			}
		}
	}
	return out
}

// expect fills what the league lets expect of a change of quality: nothing where it
// does not show that the outcome goes with it.
func (r *Row) expect(slopes map[slopeKey]slope, k slopeKey, quality *track) {
	r.Expects = TooFew
	s, ok := slopes[k]
	if !ok || !s.known() || !quality.known {
		return
	}
	r.ExpectQ, r.Expects = orNil(s.q), NotShown
	if s.shown() {
		r.Expects = Shown
		r.Expect, r.ExpectLo, r.ExpectHi = limits(s.times(quality.found.Own))
	}
}

func limits(n stats.Normal) (at, lo, hi *float64) {
	l, h := n.Limits()
	return orNil(n.Mean), orNil(l), orNil(h)
}
