package stacked

import (
	"cmp"
	"maps"
	"slices"

	"sill/pipeline/analysis/answer"
	"sill/pipeline/outcome"
	"sill/pipeline/shape"
	"sill/pipeline/tally"
	"sill/stats"
)

// Report is what stacking brings in a league.
type Report struct {
	Qualities []string // that were stacked, in the order of bits
	Stacks    []Stack  // by pitch type, outcome, hand and side
	options   Options
}

// Stack is one cell and outcome.
type Stack struct {
	answer.Subject
	qualities []shape.Variable // with a good zone in both halves
	zones     halves           // by quality of the report
	open      halves           // where each half cannot tell, those included
	unknown   int64
	byBatters bool

	levels      []level      // by number of qualities in their good zones
	comparisons []comparison // see the names below
	trend       slope
	hasTrend    bool
	trendQ      float64 // after Benjamini-Hochberg over the trends of the report
	trends      int64   // of the report
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

	together int64 // comparisons of the report
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
		for _, k := range slices.SortedFunc(maps.Keys(z.by[0][metric]), answer.Cell.Compare) {
			used := z.used(metric, k)
			if used == 0 {
				continue
			}
			s := Stack{Subject: answer.Subject{Cell: k, Metric: metric}, zones: halves{z.by[0][metric][k], z.by[1][metric][k]},
				open: halves{z.open[0][metric][k], z.open[1][metric][k]}}
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
		return cmp.Or(a.Cell.Type.Compare(b.Cell.Type), cmp.Compare(a.Metric, b.Metric))
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
		s.levels = append(s.levels, level{k, g.Pitches, g.Rate(s.Metric, d.batters)})
	}
	none := d.count(0, 0)
	add := func(name string, k, quality int, in, out *answer.Group) {
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
	var tests, trends answer.Family
	for i := range r.Stacks {
		s := &r.Stacks[i]
		for j := range s.comparisons {
			if c := &s.comparisons[j]; c.enough() {
				tests.Add(c.test.P, &c.q)
			}
		}
		if s.hasTrend {
			trends.Add(s.trend.p, &s.trendQ)
		}
	}
	tests.Control()
	trends.Control()
	for i := range r.Stacks {
		s := &r.Stacks[i]
		s.trends = trends.Size()
		for j := range s.comparisons {
			s.comparisons[j].together = tests.Size()
		}
		s.verdict = s.judge()
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

// verdicts are in the order of a legend.
var verdicts = []answer.Verdict{
	both(OneIsEnough, "one is enough", "one quality in its good zone is enough"),
	both(EachAdds, "one helps, more help more", "one helps and more help more"),
	both(OneHelps, "one helps; more open", "one helps and the rest is open"),
	both(TakesMore, "takes two or more", "it takes two or more"),
	both(AllNeeded, "needs all", "all are needed"),
	both(OnlyOne, "only one has a zone; it helps", "only one has a good zone, which helps"),
	both(NoGain, "no gain", "there is no gain"),
	both(CannotTell, "cannot tell yet", "the data cannot tell yet"),
	both(TooFew, "too few", "there are too few"),
}

// both is a verdict that is said of one combination as of several.
func both(word, name, said string) answer.Verdict {
	return answer.Verdict{Word: word, Name: name, One: said, Several: said}
}

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
