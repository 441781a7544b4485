package estimate

import (
	"errors"
	"fmt"
	"math"

	"sill/pipeline/outcome"
	"sill/pipeline/pitch"
)

// Options say how rates and lines are estimated.
type Options struct {
	Replicates  int    // joint draws of whole pitchers
	Seed        uint64 // of every random stream
	Scoring     outcome.Scoring
	MinPitchers int // pitchers that an end bin must hold, below which an inner one is thin
	// Batters takes batters as a second kind of cluster wherever the tally
	// names them.
	Batters bool
	// LambdaSteps is the number of smoothing parameters tried per decade.
	LambdaSteps int
	Fixed       []FixedLine // lines given from outside; none by default
}

// FixedLine is a line that is given, not estimated: last season's, or another
// league's.
type FixedLine struct {
	PitchType string  `mapstructure:"pitch_type"` // canonical word
	Outcome   string  `mapstructure:"outcome"`    // name of a metric
	Value     float64 `mapstructure:"value"`
}

// DefaultOptions returns 2,000 replicates, The Book's weights, bins of at least
// 5 pitchers, two-way clusters and half steps of λ.
func DefaultOptions() Options {
	return Options{Replicates: 2000, Seed: 1, Scoring: outcome.DefaultScoring(), MinPitchers: 5,
		Batters: true, LambdaSteps: 2}
}

// Validate reports every fault of the options.
func (o Options) Validate() error {
	var errs []error
	fault := func(bad bool, format string, args ...any) {
		if bad {
			errs = append(errs, fmt.Errorf("estimate: "+format, args...))
		}
	}
	fault(o.Replicates < 100 || o.Replicates > 100_000, "replicates is %d, not within 100 to 100000", o.Replicates)
	fault(o.MinPitchers < 2, "minimum of pitchers is %d, below 2", o.MinPitchers)
	fault(o.LambdaSteps < 1 || o.LambdaSteps > 20, "steps of lambda is %d, not within 1 to 20", o.LambdaSteps)
	seen := map[[2]string]bool{}
	for _, f := range o.Fixed {
		_, err := pitch.ParseType(f.PitchType)
		fault(err != nil, "fixed line: %v", err)
		fault(metricIndex(f.Outcome) < 0, "fixed line: unknown outcome %q", f.Outcome)
		fault(math.IsNaN(f.Value) || f.Value < 0 || f.Value > 4, "fixed line: value %g is not within 0 to 4", f.Value)
		k := [2]string{f.PitchType, f.Outcome}
		fault(seen[k], "fixed line: %s and %s given twice", f.PitchType, f.Outcome)
		seen[k] = true
	}
	return errors.Join(append(errs, o.Scoring.Validate())...)
}

func metricIndex(name string) int {
	for i, m := range outcome.Metrics {
		if m.Name == name {
			return i
		}
	}
	return -1
}
