// Package grade holds pitchers, or single pitches, against a published version:
// how much of what they throw lies where the league's pitches beat the line, how
// far they are from the nearest breakpoint, what their curves expect, and what
// batters did with it.
//
// The version is the yardstick: zones, curves and lines are read from it and none
// is estimated anew. It describes; it advises nothing, and there is no number for a
// pitch or a pitcher as a whole.
package grade

import (
	"cmp"
	"maps"
	"slices"

	"sill/pipeline/analysis/answer"
	"sill/pipeline/outcome"
	"sill/pipeline/pitch"
	"sill/pipeline/thresholds"
)

// What is required before a number is shown.
const (
	// minEvents is the least number of events behind a pitcher's own rate.
	minEvents = 10
	// minPool is the least number of pitchers whose rates say how rates are spread.
	minPool = 12
	// minPitches is the least number of pitches behind a pitcher's own quality, and
	// behind his place in the yardstick's league.
	minPitches = 25
	// discovery is the q up to which a curve is shown to change along a variable.
	discovery = answer.Discovery
)

// outcomes is the number of outcomes that are graded: the first of outcome.Metrics,
// those that an Arsenal has columns for.
const outcomes = 2

// measures are what the yardstick has zones of: each outcome, then all of them at once,
// which has no curve and so expects no advantage.
const measures = outcomes + 1

// measureNames lists the measures in their order.
func measureNames() []string { return append(outcome.Names()[:outcomes:outcomes], thresholds.Joint) }

// key is one pitcher's pitch type against one side.
type key struct {
	pitcher int32 // index into Population.Pitchers
	answer.Cell
}

func (k key) compare(o key) int {
	return cmp.Or(cmp.Compare(k.pitcher, o.pitcher), cmp.Compare(k.Hand, o.Hand), k.Type.Compare(o.Type), cmp.Compare(k.Side, o.Side))
}

// allTypes is the key of all that the pitcher throws to that side.
func (k key) allTypes() key { return key{k.pitcher, answer.Cell{Hand: k.Hand, Side: k.Side}} }

// sorted lists keys in the order of every table.
func sorted[T any](by map[key]T) []key { return slices.SortedFunc(maps.Keys(by), key.compare) }

// own is what a pitcher threw of one type to one side, and what it came to.
type own struct {
	counts outcome.Counts // offsets apart
	use
	qualities      []quality
	height, across [5]float64 // pitches by location, see heightCuts and acrossCuts
}

// use is how often a pitch was thrown.
type use struct {
	pitches           int64
	early, twoStrikes int64 // of these, in such counts of balls and strikes
	counted, begun    int64 // of these, known to be with two strikes or not, and early or not
}

func (u *use) add(o *use) {
	u.pitches += o.pitches
	u.early += o.early
	u.twoStrikes += o.twoStrikes
	u.counted += o.counted
	u.begun += o.begun
}

// quality is one variable of a pitcher's pitches. Sums are of whole quanta and of
// billionths, so that their order never matters.
type quality struct {
	n, sum, sum2 int64 // pitches, Σq, Σq²
	by           [measures]against
}

// against is how the pitches lie against one outcome's curve.
type against struct {
	positions [5]float64 // pitches by thresholds.Position
	possible  float64    // pitches in the possible good zone
	seen      float64    // pitches within the curve
	gain      int64      // Σ of the expected advantage over them, billionths
	doubt     int64      // Σ of its half-width at 95 %
}

const billion = 1e9

func (o *own) add(x *own) error {
	if err := o.counts.Add(&x.counts); err != nil {
		return err
	}
	o.use.add(&x.use)
	for i := range o.height {
		o.height[i] += x.height[i]
		o.across[i] += x.across[i]
	}
	for v := range o.qualities {
		a, b := &o.qualities[v], &x.qualities[v]
		a.n += b.n
		a.sum += b.sum
		a.sum2 += b.sum2
		for m := range a.by {
			s, t := &a.by[m], &b.by[m]
			for p := range s.positions {
				s.positions[p] += t.positions[p]
			}
			s.possible += t.possible
			s.seen += t.seen
			s.gain += t.gain
			s.doubt += t.doubt
		}
	}
	return nil
}

// Population is what some pitchers threw, laid against a yardstick.
type Population struct {
	Name     string   // of the league they threw in
	Pitchers []string // canonical keys
	// Exact says that every pitch was read; else bins of counts were split evenly.
	Exact   bool
	Scoring outcome.Scoring

	owns map[key]*own
}

// graded tells whether a pitch type is graded: unknown and other ones are not.
func graded(t pitch.Type) bool { return t != pitch.UnknownType && t != pitch.OtherType }

// Report is what grading comes to.
type Report struct {
	Yardstick string // name and version
	League    string // of the pitchers
	Exact     bool
	Arsenal   []Arsenal
	Qualities []Quality
	Platoon   []Platoon
	Pairs     []Pair
	Notes     []string
}

// Grade holds pitchers against a yardstick; peers are those of the yardstick's own
// league, by whom percentiles and standard deviations go.
func Grade(y *Yardstick, p, peers *Population) *Report {
	r := &Report{Yardstick: y.Name, League: p.Name, Exact: p.Exact}
	if !p.Exact {
		r.Notes = append(r.Notes, "Counted by bins: shares in zones are as if pitches were spread evenly over a bin, and shares by count of balls and strikes are known only as far as a kept split tells them. --config reads the pitches.")
	}
	pools := newPools(p)
	r.arsenal(p, pools)
	r.platoon(p, pools)
	r.qualities(y, p, newPlaces(y, peers))
	return r
}

// Only keeps the rows of one pitcher, by his canonical key or his id alone.
func (r *Report) Only(pitcher string) *Report {
	out := *r
	out.Arsenal = keep(r.Arsenal, func(x *Arsenal) bool { return x.Pitcher == pitcher })
	out.Qualities = keep(r.Qualities, func(x *Quality) bool { return x.Pitcher == pitcher })
	out.Platoon = keep(r.Platoon, func(x *Platoon) bool { return x.Pitcher == pitcher })
	out.Pairs = keep(r.Pairs, func(x *Pair) bool { return x.Pitcher == pitcher })
	return &out
}

func keep[T any](rows []T, want func(*T) bool) []T {
	out := []T{}
	for i := range rows {
		if want(&rows[i]) {
			out = append(out, rows[i])
		}
	}
	return out
}

// Pitchers lists the ids of the pitchers graded, in the order of the rows.
func (r *Report) Pitchers() []string {
	var out []string
	for i := range r.Arsenal {
		if id := r.Arsenal[i].Pitcher; len(out) == 0 || out[len(out)-1] != id {
			out = append(out, id)
		}
	}
	return out
}

// idOf is the id in a pitcher's canonical key.
func idOf(key string) string {
	return pitch.ParsePitcherKey(key).ID
}

func who(p *Population, k key) Who {
	return Who{Pitcher: idOf(p.Pitchers[k.pitcher]), Hand: k.Hand.String(), PitchType: k.Type.String()}
}
