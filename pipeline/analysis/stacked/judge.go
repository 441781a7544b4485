package stacked

import (
	"cmp"
	"maps"
	"math"
	"slices"

	"sill/pipeline/outcome"
	"sill/pipeline/shape"
	"sill/pipeline/tally"
	"sill/stats"
)

// Discovery is the share of false discoveries tolerated among the comparisons of
// a report that hold, and among its trends.
const Discovery = .10

// The least sample in each group of a comparison.
const (
	minPitchers  = 5
	minEffective = 3
)

var nan = math.NaN()

// Report is what stacking brings in a league.
type Report struct {
	Qualities []string // that were stacked, in the order of bits
	Stacks    []Stack  // by pitch type, outcome, hand and side
	options   Options
}

// Stack is one cell and outcome.
type Stack struct {
	cell      cell
	metric    int
	qualities []shape.Variable // with a good zone in both halves
	zones     [2]found         // each half's, by quality of the report
	open      [2]found         // where each half cannot tell, those included
	unknown   int64
	byBatters bool

	levels      []level      // by number of qualities in their good zones
	comparisons []comparison // see the names below
	trend       slope
	hasTrend    bool
	trendQ      float64 // after Benjamini-Hochberg over the trends of the report
	verdict     string
}

// level is a group of pitches with as many qualities in their good zones.
type level struct {
	k       int
	pitches int64
	rate    stats.Bin
}

// The comparisons of a stack; numbers of qualities in their good zones.
const (
	Step    = "step"    // k against k − 1
	None    = "none"    // k against none
	More    = "more"    // two or more against one
	Any     = "any"     // one or more against none
	Several = "several" // two or more against none
	Some    = "some"    // one or more but not all against none
	Alone   = "alone"   // this quality only against none
)

// comparison is one group against another.
type comparison struct {
	name    string
	k       int // qualities in their zones of the first group, for Step and None
	quality int // index into the stack's qualities, for Alone
	test    stats.Cutoff
	q       float64 // after Benjamini-Hochberg over the comparisons of the report
}

// enough tells whether both groups are large enough to be compared.
func (c *comparison) enough() bool { return c.test.Shortage == stats.CutoffEnough }

// verdict judges the comparison.
func (c *comparison) verdict() stats.CutoffVerdict { return c.test.Verdict(c.q) }

// holds tells whether the first group does better.
func (c *comparison) holds() bool {
	v := c.verdict()
	return v == stats.CutoffHolds || v == stats.CutoffHoldsClearly
}

// addsLittle tells whether the gain is shown to be less than the smallest worth telling.
func (c *comparison) addsLittle() bool {
	v := c.verdict()
	return v == stats.CutoffFails || v == stats.CutoffSmall
}

// judge compares the groups of every cell.
func judge(t *tally.Tally, qualities []shape.Variable, z *zoned, o Options) *Report {
	r := &Report{Qualities: shape.Names(qualities), options: o}
	scoring := o.Estimate.Scoring()
	for metric := range outcome.Metrics {
		keys := slices.SortedFunc(maps.Keys(z.by[0][metric]), func(a, b cell) int {
			return cmp.Or(cmp.Compare(a.kind, b.kind), cmp.Compare(a.hand, b.hand), cmp.Compare(a.side, b.side))
		})
		for _, k := range keys {
			used := z.used(metric, k)
			if used == 0 {
				continue
			}
			s := Stack{cell: k, metric: metric, zones: [2]found{z.by[0][metric][k], z.by[1][metric][k]},
				open: [2]found{z.open[0][metric][k], z.open[1][metric][k]}}
			for i := range qualities {
				if used&(1<<i) != 0 {
					s.qualities = append(s.qualities, qualities[i])
				}
			}
			s.measure(splitOf(t, k, metric, used, &scoring, o.Estimate.Batters))
			r.Stacks = append(r.Stacks, s)
		}
	}
	slices.SortStableFunc(r.Stacks, func(a, b Stack) int {
		return cmp.Or(cmp.Compare(a.cell.kind, b.cell.kind), cmp.Compare(a.metric, b.metric))
	})
	r.family()
	return r
}

// measure fills levels, comparisons and trend, all but q.
func (s *Stack) measure(d *split) {
	s.unknown, s.byBatters = d.unknown, d.batters
	all := len(s.qualities)
	for k := 0; k <= all; k++ {
		g := d.count(k, k)
		s.levels = append(s.levels, level{k, g.pitches, d.rate(g)})
	}
	none := d.count(0, 0)
	add := func(name string, k, quality int, in, out *group) {
		s.comparisons = append(s.comparisons, comparison{name: name, k: k, quality: quality, test: d.compare(in, out), q: 1})
	}
	for k := 1; k <= all; k++ {
		add(None, k, -1, d.count(k, k), none)
		add(Step, k, -1, d.count(k, k), d.count(k-1, k-1))
	}
	add(Any, 0, -1, d.count(1, all), none)
	if all > 1 {
		add(More, 0, -1, d.count(2, all), d.count(1, 1))
		add(Several, 0, -1, d.count(2, all), none)
		add(Some, 0, -1, d.count(1, all-1), none)
	}
	for i, bit := range d.used {
		add(Alone, 1, i, d.where(func(in uint) bool { return in == bit }), none)
	}
	s.trend, s.hasTrend = d.slope()
}

// find returns a comparison; k counts for Step and None alone. Nil where there is
// none.
func (s *Stack) find(name string, k int) *comparison {
	for i := range s.comparisons {
		c := &s.comparisons[i]
		if c.name == name && (k == 0 || c.k == k) {
			return c
		}
	}
	return nil
}

// family gives every comparison with enough data its q, and every trend, and then
// each stack its verdict.
func (r *Report) family() {
	var tests, trends []float64
	var of []*float64
	var ofTrend []*float64
	for i := range r.Stacks {
		s := &r.Stacks[i]
		for j := range s.comparisons {
			if c := &s.comparisons[j]; c.enough() {
				tests, of = append(tests, c.test.P), append(of, &c.q)
			}
		}
		s.trendQ = nan
		if s.hasTrend {
			trends, ofTrend = append(trends, s.trend.p), append(ofTrend, &s.trendQ)
		}
	}
	for i, q := range stats.BenjaminiHochberg(tests) {
		*of[i] = q
	}
	for i, q := range stats.BenjaminiHochberg(trends) {
		*ofTrend[i] = q
	}
	for i := range r.Stacks {
		r.Stacks[i].verdict = r.Stacks[i].judge()
	}
}

// The verdicts on a stack.
const (
	OneIsEnough = "one_is_enough" // one gains, and more are shown to add less than is worth telling
	EachAdds    = "each_adds"     // one gains, and two or more gain again
	OneHelps    = "one_helps"     // one gains; whether more add cannot be told
	AllNeeded   = "all_needed"    // fewer than all gain nothing worth telling, all do
	TakesMore   = "takes_more"    // one gains nothing worth telling, two or more do
	NoGain      = "no_gain"       // no gain worth telling, however many
	OnlyOne     = "only_one"      // one quality alone has a good zone here, and it gains
	CannotTell  = "cannot_tell"
	TooFew      = "too_few" // too few pitches with none, or with any, in their zones
)

// Verdicts lists the verdicts in the order of a legend.
var Verdicts = []string{OneIsEnough, EachAdds, OneHelps, TakesMore, AllNeeded, OnlyOne, NoGain, CannotTell, TooFew}

// judge draws the verdict from the comparisons.
func (s *Stack) judge() string {
	all := len(s.qualities)
	any, one := s.find(Any, 0), s.find(None, 1)
	if all == 1 {
		switch {
		case !any.enough():
			return TooFew
		case any.holds():
			return OnlyOne
		case any.addsLittle():
			return NoGain
		}
		return CannotTell
	}
	more, several, some, last := s.find(More, 0), s.find(Several, 0), s.find(Some, 0), s.find(Step, all)
	switch {
	case !any.enough():
		return TooFew
	case one.holds() && more.addsLittle():
		return OneIsEnough
	case one.holds() && more.holds():
		return EachAdds
	case one.holds():
		return OneHelps
	case some.addsLittle() && last.holds():
		return AllNeeded
	case one.addsLittle() && several.holds():
		return TakesMore
	case any.addsLittle():
		return NoGain
	}
	return CannotTell
}
