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

	"sill/pipeline/analysis/answer"
	"sill/pipeline/outcome"
	"sill/stats"
)

// Discovery is the share of false discoveries tolerated among pitchers who moved.
const Discovery = answer.Discovery

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
	pairs, pitchers := both(ends)
	if t.Pitchers = pitchers; len(pairs) == 0 || len(vars) == 0 {
		return nil, ErrNothing
	}
	f := follower{vars: vars, pairs: pairs, slopes: within([2]*Window{&from, &to}, vars, &scoring)}
	f.followQualities()
	f.followOutcomes()
	t.Rows = f.rows()
	for _, s := range sharedShifts(pairs, vars) {
		if s.Pitchers > 0 {
			t.Shifts = append(t.Shifts, s)
		}
	}
	suspect(len(t.Shifts), func(i int) *Shift { return &t.Shifts[i] })
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
	many   int64 // tests that q allows for
	enough bool  // events at both ends
	apart  bool  // the ends are those of two different pitches, as far as is known
}

// follower follows the throwers of both windows.
type follower struct {
	vars   []variable
	pairs  []pair
	slopes map[slopeKey]*slope
}

// series is one number of every thrower: where his track of it is, what a window holds
// of it, and its sampling variances at both ends, given the mean of the group and the
// variance within its throwers.
type series struct {
	track     func(p *pair) *track
	held      func(r *record) sums
	variances func(ends [2]sums, mean, within float64) [2]float64
}

// follow fills the tracks of some series, which are one family of tests. The throwers
// of one pitch type and hand are a group.
func (f *follower) follow(list ...series) {
	var family answer.Family
	for group := range answer.Runs(f.pairs, func(a, b *pair) bool { return a.typ == b.typ && a.hand == b.hand }) {
		for _, s := range list {
			var tracks []*track
			var all sums
			var within, df float64
			for i := range group {
				k := s.track(&group[i])
				k.apart = group[i].moved
				for e, r := range group[i].ends {
					k.ends[e] = s.held(r)
				}
				if k.enough = min(k.ends[0].n, k.ends[1].n) >= minEvents; !k.enough {
					continue
				}
				tracks = append(tracks, k)
				for _, x := range k.ends {
					all.add(x.n, x.x, x.xx)
					within += x.squares()
					df += x.n - 1
				}
			}
			for _, k := range tracks {
				k.v = s.variances(k.ends, all.mean(), within/df)
			}
			fit(tracks, &family)
		}
	}
	family.Control()
	for i := range f.pairs {
		for _, s := range list {
			s.track(&f.pairs[i]).many = family.Size()
		}
	}
}

func (f *follower) followQualities() {
	for v := range f.vars {
		f.follow(series{
			track: func(p *pair) *track { return &p.qualities[v] },
			held:  func(r *record) sums { return r.qualities[v] },
			variances: func(ends [2]sums, _, within float64) (out [2]float64) {
				for e, s := range ends {
					out[e] = meanVariance(s, within, float64(f.vars[v].PerUnit))
				}
				return out
			},
		})
	}
	for i := range f.pairs {
		p := &f.pairs[i]
		for v := range f.vars {
			p.moved = p.moved || p.qualities[v].verdict(f.vars[v].smallest) == Moved
		}
	}
}

// followOutcomes follows whiffs and wOBA-against. Where a quality of the pitch moved
// it is not taken for the pitch that it was: its two ends are shrunk apart. Neither
// way uses what the league expects of such a change, so that the two can be held
// against each other.
func (f *follower) followOutcomes() {
	for m := range metrics {
		var list []series
		for _, side := range sides {
			list = append(list, series{
				track: func(p *pair) *track { return &p.outcomes[side][m] },
				held:  func(r *record) sums { return r.outcomes[side][m] },
				variances: func(ends [2]sums, mean, within float64) [2]float64 {
					return rateVariances(m, ends, mean, within)
				},
			})
		}
		f.follow(list...)
	}
}

// fit shrinks the tracks of a group, and enters those it could into their family. The league is known
// by those that are not apart, where they are enough: the others would make it seem to
// change more than it does.
func fit(group []*track, family *answer.Family) {
	if len(group) < minPitchers {
		return
	}
	like := slices.DeleteFunc(slices.Clone(group), func(k *track) bool { return k.apart })
	if len(like) < minPitchers {
		like = group
	}
	y, v := make([][2]float64, len(like)), make([][2]float64, len(like))
	for i, k := range like {
		y[i], v[i] = k.means(), k.v
		if !(k.v[0] > 0 && k.v[1] > 0) {
			return // an outcome that never varies
		}
	}
	m, err := stats.FitPaired(y, v)
	if err != nil {
		return
	}
	for _, k := range group {
		y := k.means()
		k.known, k.shift = true, m.Shift.Mean
		k.found = m.Shrink(y, k.v)
		if k.apart {
			k.found = m.ShrinkApart(y, k.v)
		}
		k.p = math.Erfc(math.Abs(y[1]-y[0]-k.shift) / math.Sqrt(k.v[0]+k.v[1]) / math.Sqrt2)
		family.Add(k.p, &k.q)
	}
}

// means are those of both ends.
func (k *track) means() [2]float64 { return [2]float64{k.ends[0].mean(), k.ends[1].mean()} }

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
	for i := range f.pairs {
		p := &f.pairs[i]
		for v := range f.vars {
			quality := &p.qualities[v]
			if quality.ends[0].n == 0 || quality.ends[1].n == 0 {
				continue
			}
			x := &f.vars[v]
			head := Row{Pitcher: number(p.pitcher), Hand: p.hand.String(), PitchType: p.typ.String(),
				Variable: x.Name, Unit: x.Unit, Smallest: x.smallest, Verdict: quality.verdict(x.smallest),
				SwingsA: int64(quality.ends[0].n), SwingsB: int64(quality.ends[1].n)}
			if quality.known {
				s := quality.found
				head.Before, head.BeforeLo, head.BeforeHi = answer.Normal(s.Before).Columns()
				head.After, head.AfterLo, head.AfterHi = answer.Normal(s.After).Columns()
				head.Change, head.ChangeLo, head.ChangeHi = answer.Normal(s.Change).Columns()
				head.Own, head.OwnLo, head.OwnHi = answer.Normal(s.Own).Columns()
				head.League, head.Q = answer.Null(quality.shift), answer.Null(quality.q)
				head.Together = quality.many
			}
			for _, side := range sides {
				for m := range metrics {
					r := head
					k := &p.outcomes[side][m]
					r.Side, r.Outcome, r.Went = side.String(), outcome.Metrics[m].Name, k.went()
					r.EventsA, r.EventsB = int64(k.ends[0].n), int64(k.ends[1].n)
					if k.known {
						r.RateA, r.RateALo, r.RateAHi = answer.Normal(k.found.Before).Columns()
						r.RateB, r.RateBLo, r.RateBHi = answer.Normal(k.found.After).Columns()
						r.RateD, r.RateDLo, r.RateDHi = answer.Normal(k.found.Change).Columns()
						r.RateOwn, r.RateOwnLo, r.RateOwnHi = answer.Normal(k.found.Own).Columns()
						r.RateQ, r.RateTogether = answer.Null(k.q), k.many
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
func (r *Row) expect(slopes map[slopeKey]*slope, k slopeKey, quality *track) {
	r.Expects = TooFew
	s := slopes[k]
	if s == nil || !s.known() || !quality.known {
		return
	}
	r.ExpectQ, r.Expects = answer.Null(s.q), NotShown
	if s.shown() {
		r.Expects = Shown
		r.Expect, r.ExpectLo, r.ExpectHi = answer.Normal(s.times(quality.found.Own)).Columns()
	}
}
