package outcome

import (
	"errors"
	"fmt"
	"math"
)

// Weights are the linear weights of a league's results, on the scale of
// on-base average.
type Weights struct {
	Name  string // where they come from
	Value [Classes]float64
}

// TheBook returns the weights of Tango, Lichtman and Dolphin, The Book:
// Playing the Percentages in Baseball, 2007 (from memory): walk .72, hit by
// pitch .75, single .90, reached on error .92, double 1.24, triple 1.56, home
// run 1.95, every out 0.
func TheBook() Weights {
	w := Weights{Name: "The Book 2007"}
	w.Value[Walk] = .72
	w.Value[HitByPitch] = .75
	w.Value[Single] = .90
	w.Value[ReachedOnError] = .92
	w.Value[Double] = 1.24
	w.Value[Triple] = 1.56
	w.Value[HomeRun] = 1.95
	return w
}

// WithErrorWeight returns the weights with another value for a batter who
// reached on an error (setting error_weight): 0 counts it as the out it should
// have been, as some leagues do.
func (w Weights) WithErrorWeight(v float64) Weights {
	w.Value[ReachedOnError] = v
	return w
}

// Validate reports every fault: a name left empty, a weight that is no finite
// number or lies outside 0 to 4, hits that are worth less than smaller hits.
func (w Weights) Validate() error {
	var errs []error
	if w.Name == "" {
		errs = append(errs, errors.New("weights: name is empty"))
	}
	for c, v := range w.Value {
		if math.IsNaN(v) || v < 0 || v > 4 {
			errs = append(errs, fmt.Errorf("weights: %s is %g, not within 0 to 4", ClassNames[c], v))
		}
	}
	for c := Single; c < HomeRun; c++ {
		if w.Value[c+1] < w.Value[c] {
			errs = append(errs, fmt.Errorf("weights: %s are worth less than %s", ClassNames[c+1], ClassNames[c]))
		}
	}
	return errors.Join(errs...)
}

// Scoring is how counted events become values.
type Scoring struct {
	Weights           Weights
	FoulTipsAreWhiffs bool // off by default: a foul tip is a swing that made contact
}

// Validate reports every fault of the scoring.
func (s Scoring) Validate() error { return s.Weights.Validate() }
