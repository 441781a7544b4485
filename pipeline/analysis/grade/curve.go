package grade

import (
	"fmt"
	"math"
	"slices"
	"sort"
	"strings"

	"sill/pipeline/analysis/answer"
	"sill/pipeline/outcome"
	"sill/pipeline/pitch"
	"sill/pipeline/tally"
	"sill/pipeline/thresholds"
	"sill/stats"
)

// Reference is the line that pitches are held against: the median pitcher's rate on
// the pitch type over all matchups.
const Reference = thresholds.HeadlineReference

// Yardstick is a published version to grade by.
type Yardstick struct {
	Name      string // league and version
	Variables []thresholds.Variable

	curves map[answer.Cell][]reference // by variable and measure: variable·measures + measure
}

// reference is what is published of one cell, variable and measure.
type reference struct {
	curve   *thresholds.Curve // nil where the version has none
	points  []thresholds.CurvePoint
	zones   []thresholds.Zone
	verdict thresholds.Verdict
	t       float64   // multiplies a standard error to a half-width at 95 %
	cuts    []float64 // ascending: where a position may change
}

// NewYardstick reads the zones and curves of an opened version.
func NewYardstick(t *thresholds.Table) (*Yardstick, error) {
	m := t.Manifest()
	y := &Yardstick{Name: m.Name + " " + m.Version, Variables: m.Variables, curves: map[answer.Cell][]reference{}}
	points := map[thresholds.Key][]thresholds.CurvePoint{}
	for p, err := range t.Curves() {
		if err != nil {
			return nil, err
		}
		if p.Reference == Reference && p.Stratum == "" {
			points[p.Key] = append(points[p.Key], p)
		}
	}
	for v, err := range t.Verdicts() {
		if err != nil {
			return nil, err
		}
		if v.Reference != Reference || v.Stratum != "" {
			continue
		}
		c, at, ok := y.place(v.Key)
		if !ok {
			continue // of a later program
		}
		curve, err := t.Curve(v.Key, Reference)
		if err != nil {
			return nil, err
		}
		if y.curves[c] == nil {
			y.curves[c] = make([]reference, len(y.Variables)*measures)
		}
		y.curves[c][at] = newReference(curve, points[v.Key])
	}
	if len(y.curves) == 0 {
		return nil, fmt.Errorf("%s has no verdict against %s: publish it again with that line among its references", y.Name, Reference)
	}
	return y, nil
}

// place finds the cell of a key and where its curve stands in a row of references.
func (y *Yardstick) place(k thresholds.Key) (c answer.Cell, at int, ok bool) {
	c, err := answer.ParseCell(k.PitchType, k.Hand, k.Side)
	v := slices.IndexFunc(y.Variables, func(v thresholds.Variable) bool { return v.Name == k.Variable })
	m := slices.Index(measureNames(), k.Outcome)
	return c, v*measures + m, err == nil && v >= 0 && m >= 0
}

func newReference(curve *thresholds.Curve, points []thresholds.CurvePoint) reference {
	r := reference{curve: curve, points: points, zones: curve.Zones, verdict: curve.Verdict,
		t: stats.TQuantile(.975, max(1, curve.Verdict.EffectivePitchers-1))}
	cut := func(p *float64) {
		if p != nil {
			r.cuts = append(r.cuts, *p)
		}
	}
	if n := len(points); n > 0 {
		r.cuts = append(r.cuts, points[0].X, points[n-1].X)
	}
	for i := range r.zones {
		z := &r.zones[i]
		cut(z.PossibleLo)
		cut(z.PossibleHi)
		for _, s := range z.Certain {
			r.cuts = append(r.cuts, s.Lo, s.Hi)
		}
	}
	slices.Sort(r.cuts)
	r.cuts = slices.Compact(r.cuts)
	return r
}

// at says how one value lies: its position, and whether it is possibly good.
func (r *reference) at(x float64) (p thresholds.Position, possible bool) {
	if r.curve == nil {
		return thresholds.NoThreshold, false
	}
	p = r.curve.At(x).Position
	if p != thresholds.Unresolved {
		return p, p == thresholds.Inside
	}
	for i := range r.zones {
		z := &r.zones[i]
		if z.Sign > 0 && (z.PossibleLo == nil || x >= *z.PossibleLo) && (z.PossibleHi == nil || x <= *z.PossibleHi) {
			return p, true
		}
	}
	return p, false
}

// gain returns the expected advantage over the line at x and its half-width at
// 95 %; ok is false where the curve was not observed.
func (r *reference) gain(x float64) (d, half float64, ok bool) {
	n := len(r.points)
	if n == 0 || !(x >= r.points[0].X && x <= r.points[n-1].X) {
		return 0, 0, false
	}
	i := sort.Search(n, func(i int) bool { return r.points[i].X >= x })
	b := &r.points[i]
	if b.X == x || i == 0 {
		return b.D, float64(r.t * errorOf(b)), true
	}
	a := &r.points[i-1]
	u := (x - a.X) / (b.X - a.X)
	return float64((1-u)*a.D) + float64(u*b.D), float64(r.t * (float64((1-u)*errorOf(a)) + float64(u*errorOf(b)))), true
}

// errorOf is the standard error of a point's advantage, D/T; where D is 0, as at an
// edge, that of the rate.
func errorOf(p *thresholds.CurvePoint) float64 {
	if p.T == 0 {
		return (p.Hi - p.Lo) / (2 * 1.96)
	}
	return p.D / p.T
}

// add lays n pitches that are spread evenly from lo to hi, with mean x, against the
// curve; lo = hi for pitches of one value.
func (s *against) add(r *reference, n, lo, hi, x float64) {
	each(r.cuts, lo, hi, func(share, at float64) {
		p, possible := r.at(at)
		s.positions[p] += n * share
		if possible {
			s.possible += n * share
		}
	})
	if d, half, ok := r.gain(x); ok {
		s.seen += n
		s.gain += int64(math.Round(d * n * billion))
		s.doubt += int64(math.Round(half * n * billion))
	}
}

// each splits a stretch at ascending cuts: do is told each piece's share of it and
// a value inside the piece.
func each(cuts []float64, lo, hi float64, do func(share, at float64)) {
	if !(hi > lo) {
		do(1, lo)
		return
	}
	from := lo
	for _, c := range cuts {
		if c > from && c < hi {
			do((c-from)/(hi-lo), (from+c)/2)
			from = c
		}
	}
	do((hi-from)/(hi-lo), (from+hi)/2)
}

// nearest is the confirmed breakpoint nearest to a value.
func (r *reference) nearest(x float64) (best stats.Edge, ok bool) {
	var edges []stats.Edge
	for i := range r.zones {
		edges = answer.AddEdges(edges, &r.zones[i])
	}
	for _, e := range edges {
		if !ok || math.Abs(e.X-x) < math.Abs(best.X-x) {
			best, ok = e, true
		}
	}
	return best, ok
}

// Where pitches went: height as a share of the batter's zone, and feet across the
// plate, arm side positive. The plate is 17 inches wide (Official Baseball Rules
// 2.02); its thirds are common practice, no source.
var (
	heightCuts = []float64{0, 1. / 3, 2. / 3, 1}
	acrossCuts = []float64{-8.5 / 12, -8.5 / 36, 8.5 / 36, 8.5 / 12}
)

const heightVariable, acrossVariable = "plate_height", "plate_side"

// spreadOver lays n pitches over the stretches between cuts.
func spreadOver(dst *[5]float64, cuts []float64, n, lo, hi float64) {
	each(cuts, lo, hi, func(share, at float64) {
		i := sort.Search(len(cuts), func(i int) bool { return cuts[i] > at })
		dst[i] += n * share
	})
}

// shared maps the yardstick's variables to another list of them: −1 where that
// lacks one, or measures it otherwise; notes say which.
func (y *Yardstick) shared(names, definitions []string) (index []int, notes []string) {
	for _, v := range y.Variables {
		i := slices.Index(names, v.Name)
		if i >= 0 && definitions[i] != v.Definition {
			notes = append(notes, fmt.Sprintf("%s is not graded: it is measured as %s here and as %s in %s.",
				answer.Variable(v.Name).Title, definitions[i], v.Definition, y.Name))
			i = -1
		}
		index = append(index, i)
	}
	return index, notes
}

// Of lays kept counts against the yardstick. The pitches of a bin are taken to be
// spread evenly over it, with the mean of those of them that were swung at or ended
// a plate appearance.
func (y *Yardstick) Of(name string, t *tally.Tally, s outcome.Scoring) (*Population, []string, error) {
	p := &Population{Name: name, Pitchers: t.Pitchers, Scoring: s, owns: map[key]*own{}}
	var names, definitions []string
	for _, v := range t.Variables {
		names, definitions = append(names, v.Name), append(definitions, v.Definition)
	}
	index, notes := y.shared(names, definitions)
	for i := range t.Cells {
		c := &t.Cells[i]
		if c.Cell.Type == pitch.UnknownType {
			continue
		}
		if c.Cell.Stratum != tally.AllStrata {
			p.addCount(c, len(index))
			continue
		}
		for j := range c.Totals {
			o := p.of(key{c.Totals[j].Cluster, answer.CellOf(c.Cell)}, len(index))
			if err := o.counts.Add(&c.Totals[j].Counts); err != nil {
				return nil, nil, err
			}
			o.pitches += int64(c.Totals[j].Pitches)
		}
		for v, at := range index {
			if at >= 0 && graded(c.Cell.Type) {
				p.addCurve(y, v, &t.Variables[at], c.Cell, &c.Curves[at])
			}
		}
	}
	return p, notes, nil
}

// countSplit is the split of cells by count of balls and strikes, where a version
// keeps it (tally.Strata).
const countSplit, twoStrikes = "count:", "two_strikes"

// addCount takes from such a split how many pitches were thrown with two strikes.
func (p *Population) addCount(c *tally.CellTable, variables int) {
	value, ok := strings.CutPrefix(c.Cell.Stratum, countSplit)
	if !ok {
		return
	}
	for j := range c.Totals {
		o := p.of(key{c.Totals[j].Cluster, answer.CellOf(c.Cell)}, variables)
		n := int64(c.Totals[j].Pitches)
		o.counted += n
		if value == twoStrikes {
			o.twoStrikes += n
		}
	}
}

func (p *Population) of(k key, variables int) *own {
	o := p.owns[k]
	if o == nil {
		o = &own{qualities: make([]quality, variables)}
		p.owns[k] = o
	}
	return o
}

// addCurve lays the bins of one cell and variable against its references.
func (p *Population) addCurve(y *Yardstick, v int, t *tally.Variable, c tally.Cell, curve *tally.Curve) {
	curves := y.curves[answer.CellOf(c)]
	name := y.Variables[v].Name
	for b := curve.Known(); b < len(curve.Bins); b++ {
		bin := curve.Bins[b]
		lower, lo, hi := int64(bin)*t.WidthQ, t.Lower(bin), t.Lower(bin+1)
		rows := curve.Bin(b)
		whole := offsets{n: 0}
		for r := range rows {
			whole.add(&rows[r].Counts)
		}
		if whole.n == 0 {
			whole = offsets{n: 1, d: float64(t.WidthQ) / 2, d2: float64(t.WidthQ) * float64(t.WidthQ) / 3}
		}
		spread := max(0, whole.d2/whole.n-float64((whole.d/whole.n)*(whole.d/whole.n)))
		for r := range rows {
			n := float64(rows[r].Pitches)
			of := offsets{}
			if of.add(&rows[r].Counts); of.n == 0 {
				of = whole
			}
			d := of.d / of.n
			o := p.of(key{rows[r].Cluster, answer.CellOf(c)}, len(y.Variables))
			q := &o.qualities[v]
			q.n += int64(rows[r].Pitches)
			at := float64(lower) + d
			q.sum += int64(math.Round(n * at))
			q.sum2 += int64(math.Round(n * (float64(at*at) + spread)))
			for m := range q.by {
				if curves != nil {
					q.by[m].add(&curves[v*measures+m], n, lo, hi, at/float64(t.PerUnit))
				}
			}
			switch name {
			case heightVariable:
				spreadOver(&o.height, heightCuts, n, lo, hi)
			case acrossVariable:
				spreadOver(&o.across, acrossCuts, n, lo, hi)
			}
		}
	}
}

// offsets sum up where in a bin the events lie, in quanta from its lower edge.
type offsets struct{ n, d, d2 float64 }

func (o *offsets) add(c *outcome.Counts) {
	o.n += float64(c.Swings) + float64(c.Appearances())
	o.d += float64(c.SwingD) + float64(c.ResultD)
	o.d2 += float64(c.SwingD2) + float64(c.ResultD2)
}
