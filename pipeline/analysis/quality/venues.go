package quality

import (
	"cmp"
	"fmt"
	"maps"
	"math"
	"slices"

	"sill/pipeline/analysis/answer"
	"sill/pipeline/ingest"
	"sill/pipeline/locate"
	"sill/pipeline/outcome"
	"sill/pipeline/pitch"
	"sill/pipeline/shape"
	"sill/stats"
)

// VenueOffset is how much higher a quality reads at one venue than elsewhere, within
// the same pitchers of one type and season.
type VenueOffset struct {
	Venue     string  `json:"venue"`
	PitchType string  `json:"pitch_type"`
	Hand      string  `json:"hand"` // of a sideways quality, in which an instrument's offset cancels between hands; else empty
	Variable  string  `json:"variable"`
	Unit      string  `json:"unit"`
	Pitchers  int     `json:"pitchers"` // who threw the type there and elsewhere
	Offset    float64 `json:"offset"`
	Error     float64 `json:"standard_error"` // over pitchers
	Limit     float64 `json:"limit"`          // beyond which the venue is named
	Share     float64 `json:"share"`          // of the type's measured pitches, those thrown there
}

// offsetLimits are the offsets beyond which an instrument is in doubt, in the
// variable's unit; variables without one are not compared.
var offsetLimits = map[string]float64{"velocity": 1, "induced_vertical_break": 1, "horizontal_break": 1,
	"vertical_approach_angle": .25, "neutral_approach_angle": .25, "horizontal_approach_angle": .25}

const (
	// fewestAtVenue is the fewest pitchers, counted by how evenly they weigh (Kish
	// 1965, Survey Sampling), by whom a venue is judged.
	fewestAtVenue = 10
	// falseOffsets is the chance that any venue of a run is named by luck alone.
	falseOffsets = .05
)

// atVenue is one pitcher's pitch type in a season at a venue.
type atVenue struct {
	typ     pitch.Type
	hand    pitch.Hand
	season  int16
	pitcher int32
	venue   int32
}

func (a atVenue) compare(b atVenue) int {
	return cmp.Or(a.typ.Compare(b.typ), cmp.Compare(a.hand, b.hand), cmp.Compare(a.pitcher, b.pitcher), cmp.Compare(a.season, b.season), cmp.Compare(a.venue, b.venue))
}

// same tells whether both are one pitcher's pitch type in one season.
func (a atVenue) same(b atVenue) bool { a.venue = b.venue; return a == b }

// everywhere is the same at all venues together.
func (c compared) everywhere() compared { c.venue = -1; return c }

// quanta are n values and their sum in quanta.
type quanta struct{ n, sum int64 }

// venues counts qualities by venue as the pitches are read. Counts are integers and
// add, whoever counts them.
type venues struct {
	variables []shape.Variable
	workers   []map[atVenue][]quanta // by variable
}

func newVenues(workers int, vars []shape.Variable) *venues {
	v := &venues{workers: make([]map[atVenue][]quanta, workers)}
	for _, x := range vars {
		if offsetLimits[x.Name] > 0 {
			v.variables = append(v.variables, x)
		}
	}
	for i := range v.workers {
		v.workers[i] = map[atVenue][]quanta{}
	}
	return v
}

// add counts a batch for one worker.
func (v *venues) add(worker int, batch []pitch.Pitch) {
	counts := v.workers[worker]
	for i := range batch {
		p := &batch[i]
		if p.Venue < 0 || !p.Type.Tested() || !outcome.Shaped(p.Outcome) {
			continue
		}
		key := atVenue{p.Type, p.Hand, p.Season, p.Pitcher, p.Venue}
		row := counts[key]
		if row == nil {
			row = make([]quanta, len(v.variables))
			counts[key] = row
		}
		for k := range v.variables {
			x := &v.variables[k]
			if q, ok := x.Quantize(x.Value(p)); ok {
				row[k].n++
				row[k].sum += q
			}
		}
	}
}

// joined adds up what the workers counted.
func (v *venues) joined() map[atVenue][]quanta {
	all := map[atVenue][]quanta{}
	for _, counts := range v.workers {
		for key, row := range counts {
			if all[key] == nil {
				all[key] = make([]quanta, len(v.variables))
			}
			for k, q := range row {
				all[key][k].n += q.n
				all[key][k].sum += q.sum
			}
		}
	}
	return all
}

// warned is the least mean offset over all pitches of a type, as a share of the limit,
// that verdicts are warned of: a quarter of a bin of most of these qualities, which is
// as closely as a breakpoint's limits are told.
const warned = .25

// compared is a pitch type and a quality at a venue; hand is that of the pitchers of a
// sideways quality, else none.
type compared struct {
	typ      pitch.Type
	hand     pitch.Hand
	venue    int32
	variable int
}

// change is a pitcher's weight and his weighted difference.
type change struct {
	pitcher   int32
	weight, d float64
}

// offsets compares every venue with the others and returns the offsets that are both
// beyond the limit and no luck, and how many were judged.
//
// A difference within a pitcher, a type and a season weighs n·m/(n+m) for n pitches at
// the venue and m elsewhere. The error treats pitchers as the clusters; the offset has
// to pass Student's t at a level divided by the number judged (Bonferroni), since a
// season asks about some hundreds of them.
func (v *venues) offsets(names []string) (kept []VenueOffset, judged int) {
	all, degrees := v.compare(names)
	kept = []VenueOffset{}
	for i, o := range all {
		if o.beyond(degrees[i], len(all)) {
			kept = append(kept, o)
		}
	}
	return kept, len(all)
}

// beyond tells whether an offset of so many degrees of freedom is beyond the limit
// and no luck, among so many that were judged.
func (o VenueOffset) beyond(df float64, judged int) bool {
	size := math.Abs(o.Offset)
	return size > o.Limit && size > float64(stats.TQuantile(1-falseOffsets/2/float64(judged), df)*o.Error)
}

// CompareVenues compares venues over pitches that are at hand: every offset that can
// be judged, and for each whether a run would name it. Venues are named by the names'
// places.
func CompareVenues(pitches []pitch.Pitch, vars []shape.Variable, names []string) (offsets []VenueOffset, named []bool) {
	v := newVenues(1, vars)
	v.add(0, pitches)
	offsets, degrees := v.compare(names)
	for i, o := range offsets {
		named = append(named, o.beyond(degrees[i], len(offsets)))
	}
	return offsets, named
}

// compare works out every offset that rests on enough pitchers, with its degrees of
// freedom.
func (v *venues) compare(names []string) (out []VenueOffset, degrees []float64) {
	all := v.joined()
	keys := slices.SortedFunc(maps.Keys(all), atVenue.compare)
	changes := map[compared][]change{}
	thrown := map[compared]int64{} // at a venue, and under no venue at all of them together
	for run := range answer.Runs(keys, func(a, b *atVenue) bool { return a.same(*b) }) {
		for k := range v.variables {
			var total quanta
			for _, key := range run {
				total.n += all[key][k].n
				total.sum += all[key][k].sum
			}
			for _, key := range run {
				here := all[key][k]
				at := compared{typ: key.typ, venue: key.venue, variable: k}
				if shape.Sideways(v.variables[k].Name) {
					at.hand = key.hand
				}
				thrown[at] += here.n
				thrown[at.everywhere()] += here.n
				there := quanta{total.n - here.n, total.sum - here.sum}
				if here.n == 0 || there.n == 0 {
					continue
				}
				w := float64(float64(here.n)*float64(there.n)) / float64(total.n)
				d := (float64(here.sum)/float64(here.n) - float64(there.sum)/float64(there.n)) / float64(v.variables[k].PerUnit())
				list := changes[at]
				if n := len(list); n == 0 || list[n-1].pitcher != key.pitcher {
					list = append(list, change{pitcher: key.pitcher})
				}
				c := &list[len(list)-1] // seasons of one pitcher together
				c.weight += w
				c.d += float64(w * d)
				changes[at] = list
			}
		}
	}
	order := func(a, b compared) int {
		return cmp.Or(a.typ.Compare(b.typ), cmp.Compare(a.variable, b.variable), cmp.Compare(a.venue, b.venue), cmp.Compare(a.hand, b.hand))
	}
	for _, at := range slices.SortedFunc(maps.Keys(changes), order) {
		mean, se, effective := weighted(changes[at])
		if !(effective >= fewestAtVenue) {
			continue
		}
		x := &v.variables[at.variable]
		degrees = append(degrees, effective-1)
		out = append(out, VenueOffset{Venue: names[at.venue], PitchType: at.typ.String(), Hand: at.hand.String(), Variable: x.Name, Unit: x.Unit,
			Pitchers: len(changes[at]), Offset: mean, Error: se, Limit: offsetLimits[x.Name],
			Share: float64(thrown[at]) / float64(thrown[at.everywhere()])})
	}
	return out, degrees
}

// weighted is the mean difference, its standard error over pitchers, and how many
// pitchers of equal weight would be as many.
func weighted(list []change) (mean, se, effective float64) {
	var w, ww, d float64
	for _, c := range list {
		w += c.weight
		ww += float64(c.weight * c.weight)
		d += c.d
	}
	mean = d / w
	var squares float64
	for _, c := range list {
		r := c.d - float64(c.weight*mean)
		squares += float64(r * r)
	}
	n := float64(len(list))
	return mean, math.Sqrt(float64(squares*n)/(n-1)) / w, float64(w*w) / ww
}

// venueCaveats warns of the pitch types whose quality is off by a quarter of the limit
// or more, on average over all pitches, at the venues that are named.
func venueCaveats(offsets []VenueOffset) []locate.Caveat {
	var out []locate.Caveat
	off := map[locate.Caveat]float64{}
	for _, o := range offsets {
		c := locate.Caveat{Code: locate.WarnVenueOffset, PitchType: o.PitchType, Variable: o.Variable, Hand: o.Hand}
		before := off[c]
		off[c] += o.Share * math.Abs(o.Offset)
		if least := warned * o.Limit; before < least && off[c] >= least {
			out = append(out, c)
		}
	}
	return out
}

// venueWarnings says where to look, one line for each venue and quality: its largest
// offset.
func venueWarnings(offsets []VenueOffset) []ingest.Warning {
	type place struct{ venue, variable string }
	var order []place
	types, largest := map[place]int{}, map[place]VenueOffset{}
	for _, o := range offsets {
		p := place{o.Venue, o.Variable}
		if types[p] == 0 {
			order = append(order, p)
		}
		types[p]++
		if math.Abs(o.Offset) > math.Abs(largest[p].Offset) {
			largest[p] = o
		}
	}
	var out []ingest.Warning
	for _, p := range order {
		o := largest[p]
		out = append(out, ingest.Warning{Code: locate.WarnVenueOffset, Detail: fmt.Sprintf(
			"%s reads otherwise at %s than elsewhere in %d comparisons by pitch type; most on the %s, by %+.2f %s%s within the same %d pitchers (standard error %.2f): look at the instrument there, or leave the venue out with where in the profile",
			p.variable, p.venue, types[p], o.PitchType, o.Offset, o.Unit, whither(o.Hand, o.Offset), o.Pitchers, o.Error)})
	}
	return out
}
