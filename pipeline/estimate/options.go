package estimate

import (
	"errors"
	"fmt"
	"math"
	"slices"

	"sill/pipeline/outcome"
	"sill/pipeline/pitch"
	"sill/pipeline/tally"
)

// Options say how rates and lines are estimated. The caller sets Seed and Progress.
type Options struct {
	Seed     uint64             // of every random stream
	Progress func(done, of int) // told how many lines are done, from any goroutine; may be nil
	// Along is another tally whose pitchers are drawn too, nil for none. Two
	// tallies that are each estimated along the other, with one seed and as many
	// replicates, have the same draws: every pitcher is drawn once for both.
	Along             *tally.Tally
	Replicates        int         `mapstructure:"replicates" flag:"replicates" doc:"joint draws of whole pitchers behind every interval"`
	MinPitchers       int         `mapstructure:"min_pitchers" doc:"pitchers an end bin must hold, and below which an inner bin is thin"`
	Batters           bool        `mapstructure:"batters" doc:"count batters as a second kind of cluster where the source names them"`
	LambdaSteps       int         `mapstructure:"lambda_steps" doc:"smoothing parameters tried per decade"`
	FoulTipsAreWhiffs bool        `mapstructure:"foul_tips_are_whiffs" doc:"whether a foul tip, a swing either way, counts as a whiff"`
	ErrorWeight       float64     `mapstructure:"error_weight" doc:"linear weight of a batter who reached on an error"`
	Weights           []Weight    `mapstructure:"weights" doc:"linear weights other than The Book's (2007): a list of {result, value}, results as in the columns of bins"`
	WeightsName       string      `mapstructure:"weights_name" doc:"where the linear weights come from"`
	Fixed             []FixedLine `mapstructure:"fixed" doc:"lines given from outside: a list of {pitch_type, outcome, value}"`
}

// Weight is the linear weight of one class of results.
type Weight struct {
	Result string  `mapstructure:"result" json:"result"` // one of outcome.ClassNames
	Value  float64 `mapstructure:"value" json:"value"`
}

// FixedLine is a line that is given, not estimated: last season's, or another
// league's.
type FixedLine struct {
	PitchType string  `mapstructure:"pitch_type" json:"pitch_type"` // canonical word
	Outcome   string  `mapstructure:"outcome" json:"outcome"`       // name of a metric
	Value     float64 `mapstructure:"value" json:"value"`
}

// DefaultOptions returns 2,000 replicates, The Book's weights, bins of at least
// 5 pitchers, two-way clusters and half steps of λ.
func DefaultOptions() Options {
	book := outcome.TheBook()
	return Options{Seed: 1, Replicates: 2000, MinPitchers: 5, Batters: true, LambdaSteps: 2,
		ErrorWeight: book.Value[outcome.ReachedOnError], Weights: []Weight{}, WeightsName: book.Name, Fixed: []FixedLine{}}
}

// Scoring is how counted events become values under the options.
func (o Options) Scoring() outcome.Scoring {
	w := outcome.TheBook().WithErrorWeight(o.ErrorWeight)
	w.Name = o.WeightsName
	for _, x := range o.Weights {
		if c := slices.Index(outcome.ClassNames[:], x.Result); c >= 0 {
			w.Value[c] = x.Value
		}
	}
	return outcome.Scoring{Weights: w, FoulTipsAreWhiffs: o.FoulTipsAreWhiffs}
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
	for _, w := range o.Weights {
		fault(!slices.Contains(outcome.ClassNames[:], w.Result), "weights: unknown result %q", w.Result)
	}
	fault(len(o.Weights) > 0 && o.WeightsName == outcome.TheBook().Name, "weights: other weights need a name of their own")
	seen := map[[2]string]bool{}
	for _, f := range o.Fixed {
		_, err := pitch.LikelyType(f.PitchType)
		fault(err != nil, "fixed line: %v", err)
		fault(outcome.MetricIndex(f.Outcome) < 0, "fixed line: unknown outcome %q", f.Outcome)
		fault(math.IsNaN(f.Value) || f.Value < 0 || f.Value > 4, "fixed line: value %g is not within 0 to 4", f.Value)
		k := [2]string{f.PitchType, f.Outcome}
		fault(seen[k], "fixed line: %s and %s given twice", f.PitchType, f.Outcome)
		seen[k] = true
	}
	return errors.Join(append(errs, o.Scoring().Validate())...)
}
