package shape

import (
	"cmp"
	"maps"
	"math"
	"slices"

	"sill/pipeline/pitch"
)

// Quality counts what a worker met while it completed pitches. Counts add, so
// the sum over workers depends on the data alone.
type Quality struct {
	Tracked          int64 // pitches with a flight
	NoFlight         int64 // pitches rejected by that rule
	DefaultExtension int64 // tracked pitches of unknown extension, released at y = 55 ft
	DefaultZone      int64 // pitches measured against the default zone
	// groups compare, per completed number, pitch type and hand, the provider's
	// value with the trajectory's.
	groups map[group]*comparison
}

// group is what is compared by itself.
type group struct {
	index int // of the completed number
	typ   pitch.Type
	hand  pitch.Hand
}

func (g group) compare(o group) int {
	return cmp.Or(cmp.Compare(g.index, o.index), g.typ.Compare(o.typ), cmp.Compare(g.hand, o.hand))
}

// comparison is of the pitches with both the provider's value and the trajectory's.
type comparison struct {
	compared, beyond int64 // beyond the tolerance
	sum              int64 // Σ (provider − trajectory), in quanta of fine
	// fitted pitches were held against each of starts; apart sums how far their
	// breaks, as provided, lie from those that begin there, in quanta of fine.
	fitted int64
	apart  [len(starts)]int64
}

// starts are where sources begin a break, common practice (no source).
var starts = [...]Place{AtRelease, 55, 50, 45, 40}

// Add adds another worker's counts.
func (q *Quality) Add(o *Quality) {
	q.Tracked += o.Tracked
	q.NoFlight += o.NoFlight
	q.DefaultExtension += o.DefaultExtension
	q.DefaultZone += o.DefaultZone
	for g, c := range o.groups {
		q.group(g).add(c)
	}
}

// group returns the comparison of a group.
func (q *Quality) group(g group) *comparison {
	c := q.groups[g]
	if c == nil {
		if q.groups == nil {
			q.groups = map[group]*comparison{}
		}
		c = &comparison{}
		q.groups[g] = c
	}
	return c
}

func (c *comparison) add(o *comparison) {
	c.compared += o.compared
	c.beyond += o.beyond
	c.sum += o.sum
	c.fitted += o.fitted
	for s := range c.apart {
		c.apart[s] += o.apart[s]
	}
}

// inQuanta rounds a difference to whole quanta, at most to MaxQuanta.
func inQuanta(x float64) int64 {
	return int64(math.Round(min(max(x/fine, -MaxQuanta), MaxQuanta)))
}

// compare counts how a number that the source gives differs from the trajectory's.
func (q *Quality) compare(c *provenance, p *pitch.Pitch, difference float64) {
	g := q.group(group{c.index, p.Type, p.Hand})
	g.compared++
	g.sum += inQuanta(difference)
	if !(math.Abs(difference) <= c.tolerance) {
		g.beyond++
	}
}

// fit holds the break x, as the source gives it, against the trajectory's break from
// each of starts to the plate.
func (q *Quality) fit(c *provenance, p *pitch.Pitch, x float64, f *flight, to Place, arm float64) {
	if pitch.IsMissing(x) {
		return
	}
	if to == Unstated {
		to = AtPlateFront
	}
	end, ok := f.at(to)
	if !ok {
		return
	}
	var apart [len(starts)]int64
	for s, from := range starts {
		start, ok := f.at(from)
		if !ok {
			return
		}
		apart[s] = inQuanta(math.Abs(x - c.measure(f, end-start, arm)))
	}
	g := q.group(group{c.index, p.Type, p.Hand})
	g.fitted++
	for s := range apart {
		g.apart[s] += apart[s]
	}
}

// Disagreement is how a provided column differs from the trajectory, on one pitch
// type of one hand.
type Disagreement struct {
	Column    string  `json:"column"`
	PitchType string  `json:"pitch_type"` // empty where it is unknown
	Hand      string  `json:"hand"`
	Unit      string  `json:"unit"`
	Tolerance float64 `json:"tolerance"` // in Unit
	Compared  int64   `json:"compared"`
	Beyond    int64   `json:"beyond"`
	Mean      float64 `json:"mean_difference"` // provider less trajectory, in Unit
	Fit       *Fit    `json:"fit,omitempty"`   // of breaks
}

// Fit is the start of the flight interval from which a source's breaks fit the
// trajectory best.
type Fit struct {
	MovementFrom string  `json:"movement_from"`
	Distance     float64 `json:"mean_distance"` // |provider − trajectory| from there, in inches
}

// Disagreements returns the comparisons by column, pitch type and hand, in a fixed
// order.
func (q *Quality) Disagreements() []Disagreement {
	var out []Disagreement
	for _, g := range slices.SortedFunc(maps.Keys(q.groups), group.compare) {
		if c := q.groups[g]; c.compared > 0 {
			d := c.disagreement(g.index)
			d.PitchType, d.Hand = g.typ.String(), g.hand.String()
			out = append(out, d)
		}
	}
	return out
}

// Columns returns the comparisons by column, pitch types and hands together.
func (q *Quality) Columns() []Disagreement {
	var out []Disagreement
	for i := range completed {
		var all comparison
		for g, c := range q.groups {
			if g.index == i {
				all.add(c)
			}
		}
		if all.compared > 0 {
			out = append(out, all.disagreement(i))
		}
	}
	return out
}

func (c *comparison) disagreement(i int) Disagreement {
	column, _ := pitch.Lookup(completed[i].column)
	d := Disagreement{Column: column.Name, Unit: column.Unit, Tolerance: completed[i].tolerance, Compared: c.compared, Beyond: c.beyond,
		Mean: float64(c.sum) / float64(c.compared) * fine}
	if c.fitted > 0 {
		best := 0
		for s := range starts {
			if c.apart[s] < c.apart[best] {
				best = s
			}
		}
		d.Fit = &Fit{starts[best].setting(), float64(c.apart[best]) / float64(c.fitted) * fine}
	}
	return d
}
