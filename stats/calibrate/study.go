// Package calibrate reruns the simulations that the estimators of package stats
// are trusted by, and holds what they show against bars.
//
// A Study answers one question with data sets of known truth and returns findings:
// a number, its Monte Carlo error and the bar it must meet. Full size is what the
// committed report is made with; a reduced size, whose bars give way by the Monte
// Carlo error, runs with the tests.
//
// A Design (one crew of clusters) or a League (several under one line) is a law of
// data sets: it draws them, and its Truth is the line and the edges that are right.
// A cluster may be read as a pitcher, a trial as a pitch, an event as a swing, a
// second cluster as a batter, and a cell as a side of the plate: sizes and spreads
// are those of a season. Nothing here depends on that reading; package
// pipeline/calibrate adds studies of whole leagues.
//
// Every data set has a random stream of its own, keyed by the seed, the study
// and the set's number, so findings do not depend on how many run at a time.
package calibrate

import (
	"context"
	"fmt"
	"math"
	"slices"
	"sync"
	"sync/atomic"
)

// Study is a question with the simulation that answers it.
type Study struct {
	Name string // such as "flat": lower case, stable, names the study in the report
	Asks string // the question, one sentence for a reader of the report
	Run  func(ctx context.Context, o Options) ([]Finding, error)
}

// Options say how large a run is.
type Options struct {
	// Scale multiplies every study's number of data sets: 1 is full size.
	Scale   float64
	Workers int // data sets at a time
	Seed    uint64
	// Progress, where not nil, is told how many data sets of how many are done.
	// It may be called from several goroutines.
	Progress func(done, total int)

	replicates int            // of a data set; 0: 500
	spoil      func(*dataset) // tests break a set and its draws before they are judged
}

// Sets is a full number of data sets at the run's scale, at least 2.
func (o Options) Sets(full int) int { return max(2, int(math.Round(float64(full)*o.Scale))) }

// Each calls do for 0 … n−1, Workers at a time, until one fails or ctx ends.
// Results belong in slices by number, so that they do not depend on order.
func (o Options) Each(ctx context.Context, n int, do func(i int) error) error {
	var next, done atomic.Int64
	var wait sync.WaitGroup
	var once sync.Once
	var failed error
	for range max(1, o.Workers) {
		wait.Go(func() {
			for {
				i := int(next.Add(1)) - 1
				if i >= n {
					return
				}
				err := ctx.Err()
				if err == nil {
					err = do(i)
				}
				if err != nil {
					once.Do(func() { failed = err })
					next.Store(int64(n))
					return
				}
				if k := int(done.Add(1)); o.Progress != nil {
					o.Progress(k, n)
				}
			}
		})
	}
	wait.Wait()
	return failed
}

// Bar is where a finding must lie, ends included.
type Bar struct{ Lo, Hi float64 }

// NoBar is met by anything: the finding is told, not judged.
var NoBar = Bar{math.Inf(-1), math.Inf(1)}

// AtLeast makes a bar without an upper end.
func AtLeast(lo float64) Bar { return Bar{lo, math.Inf(1)} }

// AtMost makes a bar without a lower end.
func AtMost(hi float64) Bar { return Bar{math.Inf(-1), hi} }

// Between makes a bar with both ends.
func Between(lo, hi float64) Bar { return Bar{lo, hi} }

// String is how reports print a bar.
func (b Bar) String() string {
	switch {
	case math.IsInf(b.Lo, -1) && math.IsInf(b.Hi, 1):
		return ""
	case math.IsInf(b.Lo, -1):
		return fmt.Sprintf("≤ %.4g", b.Hi)
	case math.IsInf(b.Hi, 1):
		return fmt.Sprintf("≥ %.4g", b.Lo)
	}
	return fmt.Sprintf("%.4g to %.4g", b.Lo, b.Hi)
}

// Finding is one number of a study.
type Finding struct {
	Design  string  // the law of the data sets, such as "tick, 120 clusters"
	Measure string  // what was counted, such as "edge covered, pooled line"
	Value   float64 // NaN where nothing could be counted
	// SE is the Monte Carlo standard error of Value, were the truth at the bar
	// (shares) or as estimated (others).
	SE float64
	Of int // data sets, edges or leagues that Value rests on
	// Bar is what Value must meet, and Earlier what a first study measured, ""
	// where it did not look.
	Bar     Bar
	Earlier string
	// Moved says where the bar stood before, nil where it never moved.
	Moved *Move
}

// Move is what a bar must bring along that is not where it was set: a bar that is
// missed stays missed unless its move says why.
type Move struct {
	From   Bar
	Why    string // one sentence without a full stop
	Change string // the change that moved it: the start of its commit, or what came before any
}

// recalled are the bars that were moved before there was a report: from what the
// first draft of the estimators met to what the estimators as built were asked for.
var recalled = map[Bar]Move{
	AtMost(.03):         {AtMost(.02), drafted, draft},
	AtMost(.01):         {AtMost(.005), drafted, draft},
	Between(.925, .98):  {Between(.93, .98), drafted, draft},
	Between(.91, .985):  {AtLeast(.92), drafted, draft},
	Between(.915, .985): {AtLeast(.925), drafted, draft},
}

const (
	draft   = "before the first report"
	drafted = "set anew when the first draft was rerun over more designs"
)

// recall returns the finding with the move of its bar, where it was moved before
// there was a report.
func (f Finding) recall() Finding {
	if m, ok := recalled[f.Bar]; ok {
		f.Moved = &m
	}
	return f
}

// MovedFrom returns the finding with the move of its bar.
func (f Finding) MovedFrom(from Bar, change, why string) Finding {
	f.Moved = &Move{From: from, Why: why, Change: change}
	return f
}

// The verdicts on a finding.
const (
	Met    = "met"
	Missed = "missed"
	Told   = "told" // there is no bar
)

// Verdict holds the value against the bar, which gives way by slack standard
// errors: 0 for the committed report.
func (f Finding) Verdict(slack float64) string {
	if f.Bar == NoBar {
		return Told
	}
	give := slack * f.SE
	if f.Value >= f.Bar.Lo-give && f.Value <= f.Bar.Hi+give {
		return Met
	}
	return Missed
}

// Studies lists every study of package stats, in the order of the report.
func Studies() []Study { return slices.Concat(singleStudies(), leagueStudies()) }
