package calibrate

import (
	"context"
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"strings"

	"gonum.org/v1/gonum/stat/distuv"

	"sill/stats"
)

// onLine shifts the first cell until a value of it lies exactly on the line.
func onLine(d Design, r Reference, seed uint64, value func(*Truth) float64) Design {
	d.Cells = slices.Clone(d.Cells)
	logit := func(p float64) float64 { return math.Log(p / (1 - p)) }
	unit := 1.0
	if d.Kind == stats.Mean {
		unit = 1.03 // about what an event that counts is worth
	}
	for range 3 {
		t := d.Truth(r, seed)
		gap := logit(t.Line/unit) - logit(value(t)/unit)
		// The line follows the cell by the cell's share.
		d.Cells[0].Shift += gap / (1 - d.Cells[0].Share)
	}
	return d
}

// overall is the mean of the first cell, at its value at x.
func overall(t *Truth) float64 { return t.Overall[0] }

func valueAt(x float64) func(*Truth) float64 {
	return func(t *Truth) float64 { return t.At(0, x) }
}

// flat looks at a flat curve among others that make the line with it.
func flat(ctx context.Context, o Options) ([]Finding, error) {
	var plans []plan
	for _, line := range bothLines {
		d := underLine(Default(Null), Mono, Two)
		name := func(where string) string { return "flat " + where + " the " + line.String() }
		on := onLine(d, line, o.stream("flat/"+name("on")), overall)
		for _, c := range []struct {
			where string
			shift float64
		}{{"on", 0}, {"above", .3}, {"below", -.3}} {
			e := on
			e.Cells = slices.Clone(on.Cells)
			e.Cells[0].Shift += c.shift
			plans = append(plans, plan{name: name(c.where), design: e, sets: many, lines: []Reference{line}})
		}
	}
	return o.each(ctx, "flat", plans, func(_ int, j judged) {
		bar, before := AtMost(.01), "≤ .003"
		if strings.HasPrefix(j.name, "flat on ") {
			bar, before = AtMost(.03), "≤ .015"
		}
		found := j.Total(curveFound + against(j.lines[0]))
		j.share(curveFound, found, bar, before)
		j.share("size at p < .05", j.Total(rejected), AtMost(.065), ".048")
	})
}

// below is the z that a share of events lies below.
func below(share float64) float64 { return Spread * math.Sqrt2 * math.Erfinv(2*share-1) }

// sliver is good, but for the share of events with the smallest x, where it is
// bad.
func sliver(share float64) Curve {
	z := below(share)
	return Curve{Name: fmt.Sprintf("bad in a sliver of %g", share), At: func(x float64) float64 { return .20 + .12/(1+math.Exp(-4*(x-z))) }}
}

// turned is a curve upside down about .25.
func turned(c Curve) Curve {
	return Curve{Name: c.Name + ", turned", At: func(z float64) float64 { return .5 - c.At(z) }}
}

// levels looks at what is said of whole curves, where it is wrong.
func levels(ctx context.Context, o Options) ([]Finding, error) {
	touch := Curve{Name: "good but for a touch of the line", At: func(z float64) float64 { return .25 + .05*(1-math.Exp(-z*z/2)) }}
	var plans []plan
	add := func(c Curve, clusters int, value func(*Truth) float64, run bool) {
		d, name := Default(c), fmt.Sprintf("%s, %d clusters", c.Name, clusters)
		if run {
			d, name = RunValues(c), "run values, "+name
		}
		d.Clusters = clusters
		d = onLine(underLine(d, Null, Null), MedianLine, o.stream("levels/"+name), value)
		plans = append(plans, plan{name: name, design: d, sets: some, lines: medianLine})
	}
	// What is said of the central 90 % of events.
	for _, c := range []Curve{touch, turned(touch)} {
		add(c, 120, valueAt(VelocityLike.Centre), false)
		add(c, 300, valueAt(VelocityLike.Centre), false)
	}
	narrow := map[string]bool{} // less than a tenth of the events lie on the other side, as the words of the verdict allow for
	for _, share := range []float64{.03, .08, .10, .12} {
		x, first := VelocityLike.Centre+below(share), len(plans)
		add(sliver(share), 120, valueAt(x), false)
		add(sliver(share), 300, valueAt(x), false)
		add(turned(sliver(share)), 300, valueAt(x), false)
		if share > .05 { // else true of the central 90 %
			add(sliver(share), 300, valueAt(x), true)
		}
		for _, p := range plans[first:] {
			narrow[p.name] = share < .10
		}
	}
	// What is said of all events together, too.
	for _, c := range []Curve{Null, Mono, Two} {
		add(c, 60, overall, false)
		add(c, 120, overall, false)
		add(c, 300, overall, true)
	}
	var throughout, above, below Share
	const earlier, earlierOverall = "≤ .025", ".018–.031"
	name := against(MedianLine)
	out, err := o.each(ctx, "levels", plans, func(_ int, j judged) {
		always, never := j.Total(alwaysWrong+name), j.Total(neverWrong+name)
		throughout = throughout.Plus(always).Plus(Share{Hits: never.Hits})
		j.share(alwaysWrong, always, AtMost(.04), earlier)
		j.share(neverWrong, never, AtMost(.04), earlier)
		truth := j.truths[0]
		sign, whole := truth.Throughout(0)
		what, bar := "said always above or below, true of the central 90 %", NoBar
		if sign == 0 {
			what, bar = "said always above or below, wrong of part of the central 90 %", AtMost(.04)
		}
		if narrow[j.name] {
			bar = NoBar
		}
		said := j.Total(saidAlways + name)
		said.Hits += j.Total(saidNever + name).Hits
		j.share(what, said, bar, "")
		if sign != 0 && !whole {
			j.share(saidEverywhere, j.Total(saidEverywhere+name), NoBar, "")
		}
		if math.Abs(truth.Overall[0]-truth.Line) < 1e-4 { // on the line: either is wrong
			above, below = above.Plus(j.Total(saidAbove+name)), below.Plus(j.Total(saidBelow+name))
			j.share(saidAbove, j.Total(saidAbove+name), AtMost(.04), earlierOverall)
			j.share(saidBelow, j.Total(saidBelow+name), AtMost(.04), earlierOverall)
		}
	})
	return append(out,
		ShareFinding("all designs", "said always above or below the line, wrong at a node", throughout, AtMost(.04), earlier),
		ShareFinding("designs on the line", saidAbove, above, AtMost(.04), earlierOverall),
		ShareFinding("designs on the line", saidBelow, below, AtMost(.04), earlierOverall)), err
}

// line looks at the median line itself.
func line(ctx context.Context, o Options) ([]Finding, error) {
	var plans []plan
	for _, run := range []bool{false, true} {
		for _, workload := range []float64{0, .5} {
			for _, second := range []float64{0, .28} {
				d, name := Default(Mono), "rates"
				if run {
					d, name = RunValues(Mono), "run values"
				}
				d = underLine(d, Two, Null)
				d.Workload, d.SecondSD = workload, second
				if second == 0 {
					d.Second = 0
				}
				name = fmt.Sprintf("%s, %d clusters, talent and workload correlate %g, second clusters %g", name, d.Clusters, workload, second)
				plans = append(plans, plan{name: name, design: d, sets: some, lines: bothLines})
			}
		}
	}
	return o.each(ctx, "line", plans, func(_ int, j judged) {
		bias, before := .0015, "≤ .0010"
		if j.design.Kind == stats.Mean {
			bias, before = .0025, ".0015"
		}
		j.Mean(MedianLine.String()+lineOff, Between(-bias, bias), before)
		j.Share(MedianLine.String()+lineCovered, AtLeast(.92), ".923–.954")
		j.Share(PooledLine.String()+lineCovered, AtLeast(.92), "")
	})
}

// step is better by a given amount from the centre on.
func step(by float64) Curve {
	return Curve{Name: "step", At: func(z float64) float64 {
		if z >= 0 {
			return .25 + by/2
		}
		return .25 - by/2
	}}
}

// cutoff looks at the test of a stated cutoff at the centre of x.
func cutoff(ctx context.Context, o Options) ([]Finding, error) {
	var out []Finding
	for _, second := range []float64{0, .28} {
		for _, clusters := range []int{15, 40, 120} {
			d := crewed(step(0), clusters)
			name := fmt.Sprintf("%d clusters", clusters)
			if second > 0 {
				d.Second, d.SecondSD = 250, second
				name += fmt.Sprintf(", second clusters %g", second)
			}
			none, err := o.cutoffs(ctx, d, name+", no effect", 0)
			if err != nil {
				return nil, err
			}
			d.Cells[0].Curve = step(.02)
			t := d.Truth(PooledLine, 0)
			full, err := o.cutoffs(ctx, d, name+", an effect of delta", t.At(0, d.X.Centre+1)-t.At(0, d.X.Centre-1))
			if err != nil {
				return nil, err
			}
			none.Share("difference covered", Between(.93, .98), map[int]string{15: ".96", 40: ".95", 120: ".94"}[clusters])
			none.Share("said to hold", AtMost(.05), "")
			full.Share("difference covered", Between(.93, .98), "")
			full.Share("said not to hold", AtMost(.05), "")
			full.Share("said to hold", NoBar, "")
			out = slices.Concat(out, none.Findings, full.Findings)
		}
	}
	return out, nil
}

// cutoffs judges a cutoff whose true effect is given in data sets of a design;
// those with too few events do not count.
func (o Options) cutoffs(ctx context.Context, d Design, name string, effect float64) (*Sheet, error) {
	options := stats.DefaultCutoffOptions()
	if effect > 0 {
		options.Delta = effect
	}
	r, err := o.Gather(ctx, many, func(i int, s Scores) error {
		yIn, nIn, yOut, nOut := bySide(d.Draw(o.stream("cutoff/"+name), i).Tables[0], d.X.Centre)
		c := stats.CompareCutoff(yIn, nIn, yOut, nOut, options)
		if c.Shortage != stats.CutoffEnough {
			return nil
		}
		s.Hit("difference covered", c.Lo <= effect && effect <= c.Hi)
		v := c.Verdict(c.P)
		s.Hit("said to hold", v == stats.CutoffHolds || v == stats.CutoffHoldsClearly)
		s.Hit("said not to hold", v == stats.CutoffFails)
		return nil
	})
	return r.Sheet(name), err
}

// bySide sums a table by cluster over the bins at or above a cutoff and below it.
func bySide(t *stats.Table, cutoff float64) (yIn, nIn, yOut, nOut []float64) {
	yIn, nIn = make([]float64, t.Clusters), make([]float64, t.Clusters)
	yOut, nOut = make([]float64, t.Clusters), make([]float64, t.Clusters)
	for b, x := range t.X {
		y, n := yOut, nOut
		if x >= cutoff {
			y, n = yIn, nIn
		}
		for e := t.Start[b]; e < t.Start[b+1]; e++ {
			y[t.Cluster[e]] += t.Y[e]
			n[t.Cluster[e]] += t.N[e]
		}
	}
	return yIn, nIn, yOut, nOut
}

// discoveries looks at tables of 256 tests, of which half are of flat curves.
func discoveries(ctx context.Context, o Options) ([]Finding, error) {
	const crews, cells, level = 32, 8, .10
	d := crewed(Null, 80)
	// As many trials in a cell as a design of one cell with a median size of 75.
	d.SizeMedian, d.SizeMin, d.SizeMax = 75*cells, 10*cells, 1500*cells
	d.Cells = nil
	for _, c := range []Curve{Mono, Tick, Two, weakened(Band, .5)} {
		d.Cells = append(d.Cells, Cell{Curve: c, Share: 1. / cells}, Cell{Curve: Null, Share: 1. / cells})
	}
	seed := o.stream("discoveries/table")
	r, err := o.Gather(ctx, 200, func(table int, s Scores) error {
		var p []float64
		for k := range crews {
			number := table*crews + k
			for c, t := range d.Draw(seed, number).Tables {
				tables := []*stats.Table{t}
				openEnds(d.Kind, tables...)
				p = append(p, stats.NewFlipTest(tables[0], Key(seed, "flips", number*cells+c)).Run(1999).P)
			}
		}
		var hits, wrong float64
		for i, q := range stats.BenjaminiHochberg(p) {
			if q <= level {
				hits++
				if i%2 == 1 {
					wrong++
				}
			}
		}
		s.Value("share of the rejected that are flat", wrong/math.Max(1, hits))
		s.Value("share of the others that are rejected", (hits-wrong)/(crews*cells/2))
		return nil
	})
	t := r.Sheet("256 tests, half of flat curves, 80 clusters")
	t.Mean("share of the rejected that are flat", AtMost(.10), ".077")
	t.Mean("share of the others that are rejected", NoBar, "")
	return t.Findings, err
}

// events is what an analyst gets who resamples single events: a percentile
// interval of where one smooth curve, its λ chosen once, crosses the pooled rate.
// It must fail the bar of the mono edge, or the harness cannot tell right from
// wrong.
//
// The first study measured .32 and does not say how its analyst went about it.
// Tried here on the design of that study (150 sets each): as below .47; with λ
// chosen anew in every replicate .65; with the line kept as it is .91; with the
// median line kept .66 to .73; with the first crossing of the raw rates .79; with
// every trial an event .49, .59, .75, .59 to .65, .70. None gives .32 with clusters
// of this size; clusters three times as large come near (.38), and are told too. The engine itself, given
// each event as a cluster, covers .7: it inverts a test, which is wider than the
// percentiles.
func events(ctx context.Context, o Options) ([]Finding, error) {
	var out []Finding
	for _, c := range []struct {
		name   string
		larger float64
		bar    Bar
	}{
		{"mono, 120 clusters, events resampled", 1, AtMost(.60)},
		{"mono, 120 clusters three times as large, events resampled", 3, NoBar},
	} {
		d := Default(Mono)
		d.SizeMedian, d.SizeMin, d.SizeMax = c.larger*d.SizeMedian, c.larger*d.SizeMin, c.larger*d.SizeMax
		truth := d.Truth(PooledLine, 0).Edges[0][0].X
		seed := o.stream("events/" + c.name)
		r, err := o.Gather(ctx, some/2, func(i int, s Scores) error {
			lo, hi := naive(d.Draw(seed, i).Tables[0], Key(seed, "events", i))
			s.Hit("edge covered, pooled line", lo <= truth && truth <= hi)
			return nil
		})
		if err != nil {
			return nil, err
		}
		t := r.Sheet(c.name)
		t.Share("edge covered, pooled line", c.bar, ".32")
		out = append(out, t.Findings...)
	}
	return out, nil
}

// naive returns the percentile interval of the rising crossing of the smooth
// curve and the pooled rate, over 300 resamples of events; a resample without one
// is left out.
func naive(t *stats.Table, key [32]byte) (lo, hi float64) {
	tables := []*stats.Table{t}
	openEnds(stats.Proportion, tables...)
	t = tables[0]
	n, y := t.Sums()
	bins, all := len(n), 0.0
	rate, curve := make([]float64, bins), make([]float64, bins)
	for b := range n {
		rate[b] = y[b] / n[b]
		all += n[b]
	}
	mean := func(y []float64) float64 {
		sum := 0.0
		for _, v := range y {
			sum += v
		}
		return sum / all
	}
	s := stats.NewSmoother(t.X, stats.LambdaGrid(2))
	lambda := s.Fit(rate, n, curve, 1)
	at := crossing(t.X, curve, mean(y), t.X[bins/2])
	src := rand.NewChaCha8(key)
	binomial := func(n, p float64) float64 {
		if n == 0 {
			return 0
		}
		return distuv.Binomial{N: n, P: p, Src: src}.Rand()
	}
	var crossings []float64
	n2, y2, rate2 := make([]float64, bins), make([]float64, bins), make([]float64, bins)
	for range 300 {
		// As many events with replacement: bin by bin out of what is left.
		left, from := all, all
		for b := range n2 {
			n2[b] = binomial(left, min(1, n[b]/from))
			y2[b] = binomial(n2[b], rate[b])
			left, from = left-n2[b], from-n[b]
			rate2[b] = y2[b] / max(1, n2[b])
		}
		s.FitAt(lambda, rate2, n2, curve)
		if x := crossing(t.X, curve, mean(y2), at); !math.IsNaN(x) {
			crossings = append(crossings, x)
		}
	}
	return stats.PercentileInterval(crossings, .95)
}

// crossing returns the rising crossing of a line that is nearest to a point; NaN
// for none.
func crossing(x, f []float64, line, near float64) float64 {
	best := math.NaN()
	for b := range len(x) - 1 {
		p, q := f[b]-line, f[b+1]-line
		if p >= 0 || q < 0 {
			continue
		}
		if at := x[b] + (x[b+1]-x[b])*p/(p-q); !(math.Abs(at-near) >= math.Abs(best-near)) {
			best = at
		}
	}
	return best
}
