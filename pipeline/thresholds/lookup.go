package thresholds

import (
	"cmp"
	"encoding/json"
	"fmt"
	"math"
	"slices"
	"sort"
	"sync"
)

// Position says where a value lies with regard to the zones of its curve.
type Position uint8

// The positions.
const (
	// NoThreshold: the cell is unknown, too small or inconclusive.
	NoThreshold Position = iota
	// Inside: on a stretch that certainly beats the line.
	Inside
	// Outside: on a stretch that certainly falls behind the line.
	Outside
	// Unresolved: on no certain stretch.
	Unresolved
	// BeyondData: outside the range in which the curve was observed.
	BeyondData
)

var positionWords = [...]string{"no_threshold", "inside", "outside", "unresolved", "beyond_data"}

// String returns "inside", "outside", "unresolved", "beyond_data" or
// "no_threshold".
func (p Position) String() string { return positionWords[p] }

// MarshalText returns the word.
func (p Position) MarshalText() ([]byte, error) { return []byte(p.String()), nil }

// Answer is what a table says about one value.
type Answer struct {
	Verdict  string // of the cell, "" where the table has none
	Position Position
	// Nearest is the confirmed breakpoint nearest to the value and Distance
	// the value less it, both in the variable's unit; NaN where there is none.
	Nearest, Distance float64
	// Rate is the smooth rate at the value with its 95 % limits, interpolated
	// between grid points. NaN (null in JSON) where the curve has no point and
	// where no curve is published: for the joint outcome, and for lines other than
	// the headline ones. A cell's smooth rate is the same whatever the line, so a
	// headline line answers it.
	Rate, Lo, Hi float64
	// Warnings are the cell's caveats; Manifest.Reading picks those to show beside the
	// answer. Shared: must not be changed.
	Warnings []string
}

// MarshalJSON writes NaN as null, and so the rate of a line without a curve.
func (a Answer) MarshalJSON() ([]byte, error) {
	null := func(v float64) *float64 {
		if math.IsNaN(v) {
			return nil
		}
		return &v
	}
	return json.Marshal(struct {
		Verdict  string   `json:"verdict"`
		Position Position `json:"position"`
		Nearest  *float64 `json:"nearest"`
		Distance *float64 `json:"distance"`
		Rate     *float64 `json:"rate"`
		Lo       *float64 `json:"lo"`
		Hi       *float64 `json:"hi"`
		Warnings []string `json:"warnings"`
	}{a.Verdict, a.Position, null(a.Nearest), null(a.Distance), null(a.Rate), null(a.Lo), null(a.Hi), append([]string{}, a.Warnings...)})
}

// Lookup says what the table knows of value x of a cell's variable against the
// named reference; "" takes the cell's first headline reference. A cell that
// the table does not hold answers no_threshold with an empty verdict.
//
// Lookup(Key{Hand: "left", Side: "left", PitchType: "four_seam",
// Variable: "velocity", Outcome: "whiff_rate"}, "", 93.5)
func (t *Table) Lookup(key Key, reference string, x float64) (Answer, error) {
	c, err := t.Curve(key, reference)
	if err != nil {
		return Answer{}, err
	}
	return c.At(x), nil
}

// CentralRange is a warning of answers that rest on always_beats or
// never_beats where these hold over the central nine tenths of events only.
const CentralRange = "central_range"

// Curve is everything that lookups of one cell, variable, outcome and
// reference need. The nil curve answers no_threshold to all. The joint
// outcome has no rate; in a version before schema 1.4 it has zones without a verdict and
// counts as found. A line
// without a curve of its own is placed by its verdict and zones, within the
// range in which the cell was observed.
type Curve struct {
	Verdict  Verdict
	Zones    []Zone // along the variable
	points   []CurvePoint
	from, to float64   // observed range, NaN for none
	edges    []float64 // confirmed breakpoints, ascending
	warnings []string
}

// Curve prepares lookups against one cell; nil where the table has no such
// cell. The first call indexes the whole table.
func (t *Table) Curve(key Key, reference string) (*Curve, error) {
	t.index.once.Do(func() { t.index.build(t) })
	if t.index.err != nil {
		return nil, t.index.err
	}
	if reference == "" {
		reference = t.index.headline[key]
	}
	return t.index.curves[curveKey{key, reference}], nil
}

// Grade looks up every value of xs into dst, which must be as long, without
// allocating.
func (c *Curve) Grade(dst []Answer, xs []float64) {
	if len(dst) != len(xs) {
		panic("thresholds: dst and xs differ in length")
	}
	for i, x := range xs {
		dst[i] = c.At(x)
	}
}

// At answers for one value without allocating.
func (c *Curve) At(x float64) Answer {
	nan := math.NaN()
	a := Answer{Nearest: nan, Distance: nan, Rate: nan, Lo: nan, Hi: nan}
	if c == nil {
		return a
	}
	a.Verdict, a.Warnings = c.Verdict.Verdict, c.warnings
	if math.IsNaN(x) {
		return a
	}
	if e, ok := nearest(c.edges, x); ok {
		a.Nearest, a.Distance = e, x-e
	}
	observed := x >= c.from && x <= c.to
	if observed && len(c.points) > 0 {
		a.Rate, a.Lo, a.Hi = c.interpolate(x)
	}
	switch a.Verdict {
	case "too_few", "inconclusive", "":
		return a // nothing is said of where, whatever the rows show
	}
	if !observed {
		a.Position = BeyondData
		return a
	}
	a.Position = c.position(x)
	return a
}

// position places an observed x: on a certain stretch, else unresolved; where no
// zone is published, as the verdict says of the whole curve.
func (c *Curve) position(x float64) Position {
	for i := range c.Zones {
		z := &c.Zones[i]
		for _, s := range z.Certain {
			if x >= s.Lo && x <= s.Hi {
				if z.Sign > 0 {
					return Inside
				}
				return Outside
			}
		}
	}
	switch {
	case len(c.Zones) > 0:
		return Unresolved
	case c.Verdict.Verdict == "always_beats":
		return Inside
	case c.Verdict.Verdict == "never_beats":
		return Outside
	}
	return Unresolved
}

func nearest(edges []float64, x float64) (float64, bool) {
	if len(edges) == 0 {
		return 0, false
	}
	i, _ := slices.BinarySearch(edges, x)
	if i == len(edges) || i > 0 && x-edges[i-1] <= edges[i]-x {
		i--
	}
	return edges[i], true
}

// interpolate reads the curve between its grid points.
func (c *Curve) interpolate(x float64) (rate, lo, hi float64) {
	i := sort.Search(len(c.points), func(i int) bool { return c.points[i].X >= x })
	b := &c.points[i]
	if b.X == x || i == 0 {
		return b.Rate, b.Lo, b.Hi
	}
	a := &c.points[i-1]
	u := (x - a.X) / (b.X - a.X)
	mix := func(p, q float64) float64 { return float64((1-u)*p) + float64(u*q) }
	return mix(a.Rate, b.Rate), mix(a.Lo, b.Lo), mix(a.Hi, b.Hi)
}

type curveKey struct {
	Key
	reference string
}

type lazyIndex struct {
	once     sync.Once
	curves   map[curveKey]*Curve
	headline map[Key]string
	err      error
}

// build groups verdicts, zones and points by curve.
func (x *lazyIndex) build(t *Table) {
	verdicts, errVerdicts := rowsOf[Verdict](t, "verdicts")
	zones, errZones := rowsOf[Zone](t, "zones")
	points, errCurves := rowsOf[CurvePoint](t, "curves")
	if err := cmp.Or(errVerdicts, errZones, errCurves); err != nil {
		x.err = fmt.Errorf("prepare lookup: %w", err)
		return
	}
	x.curves = make(map[curveKey]*Curve, len(verdicts))
	x.headline = map[Key]string{}
	for _, v := range verdicts {
		x.curves[curveKey{v.Key, v.Reference}] = &Curve{Verdict: v}
		if _, ok := x.headline[v.Key]; !ok && v.Headline {
			x.headline[v.Key] = v.Reference
		}
	}
	for _, z := range zones {
		k := curveKey{z.Key, z.Reference}
		if x.curves[k] == nil {
			x.curves[k] = &Curve{Verdict: Verdict{Key: z.Key, Reference: z.Reference, Verdict: "found"}}
		}
		x.curves[k].Zones = append(x.curves[k].Zones, z)
	}
	for start, end := 0, 0; start < len(points); start = end {
		p := &points[start]
		k := curveKey{p.Key, p.Reference}
		for end = start + 1; end < len(points) && (curveKey{points[end].Key, points[end].Reference}) == k; end++ {
		}
		if c := x.curves[k]; c != nil {
			c.points = points[start:end:end]
		}
	}
	for _, c := range x.curves {
		c.finish()
	}
	x.ranges(verdicts)
}

// ranges gives curves without points the range in which their cell was observed:
// that of its published curves, which have one grid (of an outcome of zones alone,
// the first outcome's); where there is none, as far as certain stretches reach.
func (x *lazyIndex) ranges(verdicts []Verdict) {
	observed := map[Key]*Curve{}
	for _, v := range verdicts {
		if c := x.curves[curveKey{v.Key, v.Reference}]; observed[v.Key] == nil && len(c.points) > 0 {
			observed[v.Key] = c
		}
	}
	for k, c := range x.curves {
		if len(c.points) > 0 {
			continue
		}
		if !slices.Contains(Outcomes, k.Outcome) {
			k.Outcome = Outcomes[0]
		}
		if base := observed[k.Key]; base != nil {
			c.from, c.to = base.from, base.to
			continue
		}
		for i := range c.Zones {
			for _, s := range c.Zones[i].Certain { // ! holds for NaN, too
				if !(c.from <= s.Lo) {
					c.from = s.Lo
				}
				if !(c.to >= s.Hi) {
					c.to = s.Hi
				}
			}
		}
	}
}

// finish sorts what the file may hold in another order, and collects the
// range, the edges and the warnings.
func (c *Curve) finish() {
	c.warnings = c.Verdict.Warnings
	if v := c.Verdict; (v.Verdict == "always_beats" || v.Verdict == "never_beats") && !v.Everywhere && len(c.Zones) == 0 {
		c.warnings = append(slices.Clip(c.warnings), CentralRange)
	}
	byX := func(a, b CurvePoint) int { return compareNumber(&a.X, &b.X) }
	if !slices.IsSortedFunc(c.points, byX) {
		c.points = slices.Clone(c.points)
		slices.SortStableFunc(c.points, byX)
	}
	c.from, c.to = math.NaN(), math.NaN()
	if n := len(c.points); n > 0 {
		c.from, c.to = c.points[0].X, c.points[n-1].X
	}
	for _, z := range c.Zones {
		for _, e := range z.Edges() {
			c.edges = append(c.edges, e.At)
		}
	}
	slices.Sort(c.edges)
	c.edges = slices.Compact(c.edges)
}
