package locate

import (
	"errors"
	"fmt"
	"runtime"

	"sill/pipeline/thresholds"
)

// Options say how thresholds are sought. The caller sets Workers, Progress and
// Caveats.
type Options struct {
	Flips       int     `mapstructure:"flips" flag:"flips" doc:"sign flips of every test of a flat curve"`
	MaxFlips    int     `mapstructure:"max_flips" doc:"sign flips, at most, of the strongest tests where there are many"`
	Discovery   float64 `mapstructure:"false_discovery_rate" doc:"share of false discoveries tolerated among the tests of all pitches, among those of each split, and among contrasts of a kind"`
	CurvePoints int     `mapstructure:"curve_points" doc:"points of a published curve from one bin to the next: 1, 2, 4 or 8"`
	LevelPoints int     `mapstructure:"level_points" doc:"at how many values, at most, two curves are compared"`
	Contrasts   bool    `mapstructure:"contrasts" doc:"whether matchups and pitch types are compared with each other"`

	Workers  int                // groups at a time; 0 takes one a processor
	Progress func(done, of int) // told how many groups are done, from any goroutine; may be nil
	Caveats  []Caveat           // added to the verdicts they match
}

// Caveat is a warning from outside for all verdicts that its fields match; an empty
// field matches everything.
type Caveat struct{ Code, PitchType, Variable, Hand, Side, Outcome string }

// DefaultOptions returns 9,999 flips (999,999 at most), a false discovery rate
// of 10 %, 4 points a gap and 10 points a level contrast.
func DefaultOptions() Options {
	return Options{Flips: 9999, MaxFlips: 999_999, Discovery: .10, CurvePoints: 4, LevelPoints: 10, Contrasts: true}
}

// Validate reports every fault of the options.
func (o Options) Validate() error {
	var errs []error
	fault := func(bad bool, format string, args ...any) {
		if bad {
			errs = append(errs, fmt.Errorf("locate: "+format, args...))
		}
	}
	fault(o.Flips < 99, "flips is %d, below 99", o.Flips)
	fault(o.MaxFlips < o.Flips, "largest number of flips is %d, below flips", o.MaxFlips)
	fault(o.Discovery <= 0 || o.Discovery >= .5, "false discovery rate is %g, not within 0 to 0.5", o.Discovery)
	fault(o.CurvePoints != 1 && o.CurvePoints != 2 && o.CurvePoints != 4 && o.CurvePoints != 8,
		"points of a curve is %d, not 1, 2, 4 or 8", o.CurvePoints)
	fault(o.LevelPoints < 2, "points of a level contrast is %d, below 2", o.LevelPoints)
	fault(o.Workers < 0, "workers is %d, below 0", o.Workers)
	for _, c := range o.Caveats {
		fault(c.Code == "", "caveat without a code")
	}
	return errors.Join(errs...)
}

func (o Options) workers() int {
	if o.Workers > 0 {
		return o.Workers
	}
	return runtime.GOMAXPROCS(0)
}

// caveats lists the codes from outside that match a key.
func (o Options) caveats(k thresholds.Key) []string {
	var out []string
	fits := func(field, word string) bool { return field == "" || field == word }
	for _, c := range o.Caveats {
		if fits(c.PitchType, k.PitchType) && fits(c.Variable, k.Variable) && fits(c.Hand, k.Hand) && fits(c.Side, k.Side) && fits(c.Outcome, k.Outcome) {
			out = append(out, c.Code)
		}
	}
	return out
}
