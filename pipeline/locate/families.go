package locate

import (
	"context"
	"math"
	"strings"

	"sill/pipeline/estimate"
	"sill/pipeline/outcome"
	"sill/stats"
)

// Family is a set of tests whose false discoveries are controlled together: the
// headline's cells, or the cells of one stratification. Its size depends on
// sample sizes alone, so a new stratification leaves the others as they are.
type Family struct {
	Name  string // "" for the headline, else the stratification
	Tests int    // cells × variables × outcomes large enough to test
	Flips int    // sign flips of the family's strongest tests
	// Enough tells whether so many flips can reach the strictest limit.
	Enough bool
}

// extendBelow is the p after the first flips below which a test goes on to the
// family's number of flips.
const extendBelow = .005

// group is one task: the curves of a stratum, a variable and an outcome.
type group struct {
	stratum          string
	variable, metric int
}

func groupsOf(e *estimate.Estimate) []group {
	var out []group
	for _, s := range e.Strata() {
		for v := range e.Variables() {
			for m := range outcome.Metrics {
				out = append(out, group{s, v, m})
			}
		}
	}
	return out
}

// familyOf is the family of a stratum: the name before its value.
func familyOf(stratum string) string {
	name, _, _ := strings.Cut(stratum, ":")
	return name
}

// Families lists the families of a run with their sizes and numbers of flips,
// the headline first. It counts samples only and fits nothing.
func Families(ctx context.Context, e *estimate.Estimate, o Options) ([]Family, error) {
	groups := groupsOf(e)
	tests := make([]int, len(groups))
	err := estimate.Each(ctx, o.workers(), len(groups), func(i int) error {
		curves, err := e.Sample(groups[i].stratum, groups[i].variable, groups[i].metric)
		for _, c := range curves {
			if c.Testable() {
				tests[i]++
			}
		}
		return err
	})
	if err != nil {
		return nil, err
	}
	out := []Family{{}}
	for i, g := range groups {
		name := familyOf(g.stratum)
		if out[len(out)-1].Name != name {
			out = append(out, Family{Name: name})
		}
		out[len(out)-1].Tests += tests[i]
	}
	for i := range out {
		out[i].Flips, out[i].Enough = enoughFlips(out[i].Tests, o)
	}
	return out, nil
}

// enoughFlips is the smallest of the flips, ten times and a hundred times as
// many whose smallest p, 1/(R+1), is at most half the strictest limit of
// Benjamini and Hochberg's procedure over so many tests.
func enoughFlips(tests int, o Options) (flips int, enough bool) {
	for r := o.Flips; r <= o.MaxFlips; r = (r+1)*10 - 1 {
		flips = r
		if 1/float64(r+1) <= o.Discovery/float64(2*max(tests, 1)) {
			return r, true
		}
	}
	return flips, false
}

// flatness holds the p and q of every curve of every group, NaN where the curve
// is not tested.
type flatness struct {
	families []Family
	p, q     [][]float64 // by group, then curve
	alpha    []float64   // by group: largest p rejected in its family, at least q/m
}

// testFlatness tests every curve that is large enough against a flat one and
// controls each family.
func testFlatness(ctx context.Context, e *estimate.Estimate, groups []group, o Options) (*flatness, error) {
	families, err := Families(ctx, e, o)
	if err != nil {
		return nil, err
	}
	f := &flatness{families: families, p: make([][]float64, len(groups)), q: make([][]float64, len(groups)),
		alpha: make([]float64, len(groups))}
	flips := map[string]int{}
	for _, fam := range families {
		flips[fam.Name] = fam.Flips
	}
	err = estimate.Each(ctx, o.workers(), len(groups), func(i int) error {
		g := groups[i]
		curves, err := e.Sample(g.stratum, g.variable, g.metric)
		if err != nil {
			return err
		}
		f.p[i] = make([]float64, len(curves))
		for k, c := range curves {
			f.p[i][k] = math.NaN()
			if c.Testable() {
				f.p[i][k] = flipP(e, c, o, flips[familyOf(g.stratum)])
			}
		}
		return ctx.Err()
	})
	if err != nil {
		return nil, err
	}
	for _, fam := range families {
		f.control(fam, groups, o.Discovery)
	}
	return f, nil
}

// control fills the q of one family.
func (f *flatness) control(fam Family, groups []group, discovery float64) {
	var all []float64
	for i, g := range groups {
		if familyOf(g.stratum) == fam.Name {
			for _, p := range f.p[i] {
				if !math.IsNaN(p) {
					all = append(all, p)
				}
			}
		}
	}
	adjusted := stats.BenjaminiHochberg(all)
	alpha := discovery / float64(max(len(all), 1))
	for k, q := range adjusted {
		if q <= discovery {
			alpha = max(alpha, all[k])
		}
	}
	k := 0
	for i, g := range groups {
		if familyOf(g.stratum) != fam.Name {
			continue
		}
		f.alpha[i] = alpha
		f.q[i] = make([]float64, len(f.p[i]))
		for j, p := range f.p[i] {
			f.q[i][j] = math.NaN()
			if !math.IsNaN(p) {
				f.q[i][j] = adjusted[k]
				k++
			}
		}
	}
}
