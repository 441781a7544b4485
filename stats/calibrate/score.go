package calibrate

import (
	"context"
	"math"
	"slices"

	"sill/stats"
)

// Share is how often something happened.
type Share struct{ Hits, Of int }

// Add counts one more trial.
func (s *Share) Add(hit bool) {
	s.Of++
	if hit {
		s.Hits++
	}
}

// Plus adds up two counts.
func (s Share) Plus(t Share) Share { return Share{s.Hits + t.Hits, s.Of + t.Of} }

// Rate is the share, NaN of none.
func (s Share) Rate() float64 { return float64(s.Hits) / float64(s.Of) }

// SE is the Monte Carlo standard error were the true share p.
func (s Share) SE(p float64) float64 { return math.Sqrt(p * (1 - p) / float64(s.Of)) }

// Scores are what one data set gave, by measure.
type Scores struct {
	shares map[string]Share
	values map[string][]float64
}

// NewScores are those of a data set of which nothing is known yet.
func NewScores() Scores { return Scores{map[string]Share{}, map[string][]float64{}} }

// Hit counts one more trial of a measure.
func (s Scores) Hit(measure string, hit bool) {
	h := s.shares[measure]
	h.Add(hit)
	s.shares[measure] = h
}

// Count adds trials of a measure.
func (s Scores) Count(measure string, n Share) { s.shares[measure] = s.shares[measure].Plus(n) }

// Value adds a value of a measure.
func (s Scores) Value(measure string, v float64) { s.values[measure] = append(s.values[measure], v) }

// Share is how often a measure was hit in the data set.
func (s Scores) Share(measure string) Share { return s.shares[measure] }

// Results are the scores of the data sets of a design, in order.
type Results []Scores

// Gather scores data sets 0, 1, … of a design, of which a full run has sets.
func (o Options) Gather(ctx context.Context, sets int, judge func(set int, s Scores) error) (Results, error) {
	out := make(Results, o.Sets(sets))
	err := o.Each(ctx, len(out), func(i int) error {
		out[i] = NewScores()
		return judge(i, out[i])
	})
	return out, err
}

// Total is how often a measure was hit in all data sets.
func (r Results) Total(measure string) Share {
	var all Share
	for _, s := range r {
		all = all.Plus(s.shares[measure])
	}
	return all
}

// Rate is the share of a measure over all data sets.
func (r Results) Rate(measure string) float64 { return r.Total(measure).Rate() }

// Values are those of all data sets, in order.
func (r Results) Values(measure string) []float64 {
	var all []float64
	for _, s := range r {
		all = append(all, s.values[measure]...)
	}
	return all
}

// counts returns hits and trials by data set.
func (r Results) counts(measure string) (hits, of []float64) {
	hits, of = make([]float64, len(r)), make([]float64, len(r))
	for i, s := range r {
		hits[i], of[i] = float64(s.shares[measure].Hits), float64(s.shares[measure].Of)
	}
	return hits, of
}

// sums returns the sum of a measure's values by data set.
func (r Results) sums(measure string) []float64 {
	out := make([]float64, len(r))
	for i, s := range r {
		for _, v := range s.values[measure] {
			out[i] += v
		}
	}
	return out
}

// Sheet gathers what is found of a design. Each method adds one finding: a measure,
// the bar that it must meet and what a first study measured.
type Sheet struct {
	Results
	Design   string
	Findings []Finding
}

// Sheet begins the findings of a design.
func (r Results) Sheet(design string) *Sheet { return &Sheet{Results: r, Design: design} }

// Add adds a finding, and returns it for its bar to be moved.
func (t *Sheet) Add(f Finding) *Finding {
	f.Design = t.Design
	t.Findings = append(t.Findings, f)
	return &t.Findings[len(t.Findings)-1]
}

// Share tells how often a measure was hit, in trials that do not depend on each
// other.
func (t *Sheet) Share(measure string, bar Bar, earlier string) *Finding {
	return t.Add(ShareFinding(t.Design, measure, t.Total(measure), bar, earlier).recall())
}

// Clustered tells how often a measure was hit that may be counted several times in a
// data set: its error is the binomial one, inflated by the design effect of data sets
// (all of a set's counts taken as one where the share is 0 or 1).
func (t *Sheet) Clustered(measure string, bar Bar, earlier string) *Finding {
	hits, of := t.counts(measure)
	all := t.Total(measure)
	f := ShareFinding(t.Design, measure, all, bar, earlier)
	sets := 0.0
	for _, n := range of {
		if n > 0 {
			sets++
		}
	}
	effect := float64(all.Of) / sets
	if all.Hits > 0 && all.Hits < all.Of && sets > 1 {
		effect = stats.DesignEffect(hits, of)
	}
	f.SE *= math.Sqrt(effect)
	return t.Add(f.recall())
}

// Spread tells how often a measure was hit, with its error from the spread between
// data sets: trials of one set are not independent.
func (t *Sheet) Spread(measure string, bar Bar, earlier string) *Finding {
	hits, of := t.counts(measure)
	all := t.Total(measure)
	return t.Add(Finding{Measure: measure, Value: all.Rate(), SE: ratioError(hits, of), Of: all.Of, Bar: bar, Earlier: earlier})
}

// ratioError is the standard error of Σhits/Σtrials over data sets, by linearisation
// (Cochran, Sampling Techniques, 1977, section 2.11).
func ratioError(hits, trials []float64) float64 {
	var h, n float64
	for i := range hits {
		h, n = h+hits[i], n+trials[i]
	}
	k, squares := float64(len(hits)), 0.0
	for i := range hits {
		d := hits[i] - h/n*trials[i]
		squares += d * d
	}
	return math.Sqrt(squares*k/(k-1)) / n
}

// Rates tells the mean over data sets of the share of a measure in each, NaN of none.
func (t *Sheet) Rates(measure string, bar Bar, earlier string) *Finding {
	shares := make([]float64, len(t.Results))
	for i, s := range t.Results {
		shares[i] = s.shares[measure].Rate()
	}
	return t.Add(MeanFinding(t.Design, measure, shares, bar, earlier))
}

// Mean tells the mean over all values of a measure.
func (t *Sheet) Mean(measure string, bar Bar, earlier string) *Finding {
	return t.Add(MeanFinding(t.Design, measure, t.Values(measure), bar, earlier))
}

// Root tells the root mean square of a measure whose squares are given.
func (t *Sheet) Root(measure string, bar Bar, earlier string) *Finding {
	return t.Add(RootFinding(t.Design, measure, t.Values(measure), bar, earlier))
}

// Median tells the median over all values of a measure.
func (t *Sheet) Median(measure string) *Finding {
	return t.Add(MedianFinding(t.Design, measure, t.Values(measure)))
}

// Gap tells the share of one measure less that of another, of the same data sets.
func (t *Sheet) Gap(measure, a, b string, bar Bar, earlier string) *Finding {
	ya, na := t.counts(a)
	yb, nb := t.counts(b)
	d, variance := stats.DifferenceOfRatios(ya, na, yb, nb)
	return t.Add(Finding{Measure: measure, Value: d, SE: math.Sqrt(variance), Of: t.Total(a).Of, Bar: bar, Earlier: earlier})
}

// Ratio tells the sum of one measure's values over that of another's; its error is
// that of data sets.
func (t *Sheet) Ratio(measure, over string, bar Bar) *Finding {
	y, n := t.sums(measure), t.sums(over)
	var sumY, sumN float64
	for i := range y {
		sumY, sumN = sumY+y[i], sumN+n[i]
	}
	return t.Add(Finding{Measure: measure, Value: sumY / sumN, SE: math.Sqrt(stats.JackknifeRatio(y, n)), Of: len(y), Bar: bar})
}

// ShareFinding makes a finding of a share. Its error is binomial at the bar that
// is nearest to the value; without a bar, at the value.
func ShareFinding(design, measure string, s Share, bar Bar, earlier string) Finding {
	at := s.Rate()
	near := bar.Hi
	if math.Abs(bar.Lo-at) < math.Abs(bar.Hi-at) {
		near = bar.Lo
	}
	if !math.IsInf(near, 0) {
		at = near
	}
	return Finding{Design: design, Measure: measure, Value: s.Rate(), SE: s.SE(at), Of: s.Of, Bar: bar, Earlier: earlier}
}

// MeanFinding makes a finding of a mean over data sets (such as a share of the
// nodes of each), whose error comes from their spread. NaNs are left out.
func MeanFinding(design, measure string, values []float64, bar Bar, earlier string) Finding {
	var n, sum, squares float64
	for _, v := range values {
		if !math.IsNaN(v) {
			n++
			sum += v
		}
	}
	mean := sum / n
	for _, v := range values {
		if !math.IsNaN(v) {
			squares += (v - mean) * (v - mean)
		}
	}
	se := math.Sqrt(squares / (n - 1) / n)
	return Finding{Design: design, Measure: measure, Value: mean, SE: se, Of: int(n), Bar: bar, Earlier: earlier}
}

// RootFinding makes a finding of a root mean square, of squares given.
func RootFinding(design, measure string, squares []float64, bar Bar, earlier string) Finding {
	f := MeanFinding(design, measure, squares, bar, earlier)
	f.Value = math.Sqrt(max(0, f.Value))
	f.SE /= 2 * f.Value
	return f
}

// MedianFinding makes a finding of a median; its error is a quarter of the distance
// between the order statistics that a 95 % interval would have.
func MedianFinding(design, measure string, values []float64) Finding {
	sorted := slices.Sorted(slices.Values(values))
	f := Finding{Design: design, Measure: measure, Value: math.NaN(), SE: math.NaN(), Of: len(values), Bar: NoBar}
	if n := float64(len(values)); n > 0 {
		f.Value = stats.Quantile(sorted, .5)
		f.SE = (stats.Quantile(sorted, min(1, .5+1/math.Sqrt(n))) - stats.Quantile(sorted, max(0, .5-1/math.Sqrt(n)))) / 4
	}
	return f
}
