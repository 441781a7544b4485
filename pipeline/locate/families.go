package locate

import (
	"context"
	"math"
	"strings"

	"sill/pipeline/estimate"
	"sill/pipeline/outcome"
	"sill/pipeline/parallel"
	"sill/pipeline/thresholds"
	"sill/stats"
)

// Stratification is what is tested together: the headline's cells, or those of one
// extra split. Its tests fall into families, one for each variable and outcome,
// and false discoveries are controlled over families and inside them. Its size
// depends on sample sizes alone, so a new stratification leaves the others as they
// are.
type Stratification struct {
	Name     string // "" for the headline, else the split
	Tests    int    // cells × variables × outcomes large enough to test
	Families int    // variables × outcomes with a test: M
	Flips    int    // sign flips of its strongest tests
	// Enough tells whether so many flips can reach the strictest limit.
	Enough bool
}

// Selected counts the families of each stratification, by name, that are shown not
// to be flat as a whole: k.
func Selected(verdicts []thresholds.Verdict, o Options) map[string]int {
	type named struct{ stratification, variable, outcome string }
	seen := map[named]bool{}
	out := map[string]int{}
	for i := range verdicts {
		v := &verdicts[i]
		f := named{stratificationOf(v.Stratum), v.Variable, v.Outcome}
		if v.Outcome != Joint && v.FamilyQ != nil && *v.FamilyQ <= o.Discovery && !seen[f] {
			seen[f] = true
			out[f.stratification]++
		}
	}
	return out
}

// extendBelow is the p after the first flips below which a test goes on to the
// stratification's number of flips.
const extendBelow = .005

// group is one task: the curves of a stratum, a variable and an outcome.
type group struct {
	stratum          string
	variable, metric int
}

// family is a variable and an outcome: the tests of a stratification that go
// together. Groups of several values of a split are of one family.
type family struct{ variable, metric int }

func (g group) family() family { return family{g.variable, g.metric} }

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

// stratificationOf is the name of a stratum before its value.
func stratificationOf(stratum string) string {
	name, _, _ := strings.Cut(stratum, ":")
	return name
}

// Stratifications lists what is tested together in a run, with sizes and numbers of
// flips, the headline first. It counts samples only and fits nothing.
func Stratifications(ctx context.Context, e *estimate.Estimate, o Options) ([]Stratification, error) {
	groups := groupsOf(e)
	tests := make([]int, len(groups))
	err := parallel.Each(ctx, o.workers(), len(groups), func(_, i int) error {
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
	out := []Stratification{{}}
	sizes := []map[family]int{{}}
	for i, g := range groups {
		name := stratificationOf(g.stratum)
		if out[len(out)-1].Name != name {
			out, sizes = append(out, Stratification{Name: name}), append(sizes, map[family]int{})
		}
		if last := len(out) - 1; tests[i] > 0 {
			out[last].Tests += tests[i]
			sizes[last][g.family()] += tests[i]
		}
	}
	for i := range out {
		largest := 0
		for _, n := range sizes[i] {
			largest = max(largest, n)
		}
		out[i].Families = len(sizes[i])
		out[i].Flips, out[i].Enough = enoughFlips(out[i].Families*largest, o)
	}
	return out, nil
}

// enoughFlips is the smallest of the flips, ten times and a hundred times as
// many whose smallest p, 1/(R+1), is at most half the strictest limit: that of a
// single strong test in the largest family, where no other family is selected. It
// is q over the number of families times the tests of that one.
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
	stratifications []Stratification
	p, q            [][]float64 // by group, then curve
	familyQ         []float64   // by group: q of its family, NaN where that has no test
	alpha           []float64   // by group: largest p that would be rejected in its family now
}

// testFlatness tests every curve that is large enough against a flat one and
// controls each stratification.
func testFlatness(ctx context.Context, e *estimate.Estimate, groups []group, o Options) (*flatness, error) {
	all, err := Stratifications(ctx, e, o)
	if err != nil {
		return nil, err
	}
	f := &flatness{stratifications: all, p: make([][]float64, len(groups))}
	flips := map[string]int{}
	for _, s := range all {
		flips[s.Name] = s.Flips
	}
	err = parallel.Each(ctx, o.workers(), len(groups), func(_, i int) error {
		g := groups[i]
		curves, err := e.Sample(g.stratum, g.variable, g.metric)
		if err != nil {
			return err
		}
		f.p[i] = make([]float64, len(curves))
		for k, c := range curves {
			f.p[i][k] = math.NaN()
			if c.Testable() {
				f.p[i][k] = flipP(e, c, o, flips[stratificationOf(g.stratum)])
			}
		}
		return ctx.Err()
	})
	if err != nil {
		return nil, err
	}
	f.control(groups, o.Discovery)
	return f, nil
}

// flipP is the p of a flat curve: the first flips, then as many as the family
// needs where the p is small. The stream is that of the curve's name, so that no
// other curve changes it.
func flipP(e *estimate.Estimate, c *estimate.Curve, o Options, most int) float64 {
	k := c.Key
	seed := estimate.StreamKey(e.Options().Seed, "flips", k.Stratum, k.Type.String(), k.Hand.String(), k.Side.String(),
		e.Variables()[c.Variable].Name, c.Outcome().Name)
	test := stats.NewFlipTest(c.Table, seed)
	p := test.Run(o.Flips).P
	if p <= extendBelow && most > o.Flips {
		p = test.Run(most).P
	}
	return p
}

// control fills the q of every stratification, each by itself.
func (f *flatness) control(groups []group, discovery float64) {
	f.q = make([][]float64, len(groups))
	f.familyQ, f.alpha = make([]float64, len(groups)), make([]float64, len(groups))
	members := map[string][]int{} // groups by stratification
	for i, g := range groups {
		name := stratificationOf(g.stratum)
		members[name] = append(members[name], i)
	}
	for _, own := range members {
		at := map[family]int{}
		var p [][]float64
		for _, i := range own {
			k, ok := at[groups[i].family()]
			if !ok {
				k = len(p)
				at[groups[i].family()], p = k, append(p, nil)
			}
			for _, x := range f.p[i] {
				if !math.IsNaN(x) {
					p[k] = append(p[k], x)
				}
			}
		}
		found := stats.BenjaminiBogomolov(p, discovery)
		for _, i := range own {
			k := at[groups[i].family()]
			f.familyQ[i], f.alpha[i] = found.FamilyQ[k], found.Limit[k]
			f.q[i] = make([]float64, len(f.p[i]))
			for j, x := range f.p[i] {
				f.q[i][j] = math.NaN()
				if !math.IsNaN(x) {
					f.q[i][j], found.Q[k] = found.Q[k][0], found.Q[k][1:]
				}
			}
		}
	}
}
