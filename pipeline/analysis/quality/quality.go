// Package quality says how far the pitches of a season can be trusted: how rows
// fared, where each variable comes from, and what looks like an instrument's doing
// or a fielder's pitching. It changes no count.
package quality

import (
	"fmt"
	"slices"

	"sill/pipeline/analysis/opponents"
	"sill/pipeline/analysis/trend"
	"sill/pipeline/estimate"
	"sill/pipeline/ingest"
	"sill/pipeline/locate"
	"sill/pipeline/pitch"
	"sill/pipeline/shape"
	"sill/pipeline/tally"
)

// File is where package publish writes the quality report of a version.
const File = "quality.json"

// Report is the quality report of a version: how the rows fared, where each
// variable comes from and how the sources agree.
type Report struct {
	Rows             *ingest.Report       `json:"rows"` // the rejected rows themselves stand in the quarantine
	Warnings         []ingest.Warning     `json:"warnings"`
	Variables        []shape.Choice       `json:"variables"`
	Disagreements    []shape.Disagreement `json:"disagreements"` // provider against trajectory, by pitch type and hand
	Tracked          int64                `json:"tracked_pitches"`
	DefaultExtension int64                `json:"default_extension"` // released at y = 55 ft for want of an extension
	DefaultZone      int64                `json:"default_zone"`      // measured against 1.6 to 3.4 ft for want of a zone
	Counts           tally.Notes          `json:"counts"`
	Seasons          []int16              `json:"seasons"`
	Pitchers         int                  `json:"pitchers"`
	Batters          int                  `json:"batters"`
	Games            int                  `json:"games"`
	// Spread says how far batters differ from each other, which is why they count
	// as clusters, and pitchers: by pitch type and outcome.
	Spread []estimate.Spread `json:"spread"`
	// Shifts says what pitchers of two seasons in a row changed by in common, and
	// Relabels how many had a pitch that got another name.
	Shifts   []trend.SeasonShift `json:"season_shifts"`
	Relabels []trend.Relabel     `json:"relabelled"`
	Slow     []SlowFastball      `json:"slow_fastballs"`
	// Offsets are the venues where the same pitchers' pitches read otherwise than
	// elsewhere, of OffsetsJudged by venue, pitch type and quality.
	Offsets       []VenueOffset `json:"venue_offsets"`
	OffsetsJudged int           `json:"venue_offsets_judged"`

	bunted []locate.Caveat // of cells in which many balls in play may have been bunts
	Span   Span            `json:"-"` // days of the dated pitches
}

// fewRelabelled is the fewest pitchers whose pitch got the same other name that are
// worth a warning.
const fewRelabelled = 3

// suspects are the shifts between seasons that are likelier an instrument's.
func suspects(shifts []trend.SeasonShift) []trend.SeasonShift {
	return slices.DeleteFunc(slices.Clone(shifts), func(s trend.SeasonShift) bool { return !s.Suspect })
}

// whither says which way a sideways shift of one hand's pitchers goes, arm side
// positive, as the catcher sees it: the same way for both hands where an instrument
// turned. It is "" where both hands are taken together.
func whither(hand string, shift float64) string {
	switch {
	case hand == "":
		return ""
	case (hand == pitch.LeftHand.String()) == (shift > 0):
		return fmt.Sprintf(" to the catcher's right, %s-handers' arm side positive,", hand)
	}
	return fmt.Sprintf(" to the catcher's left, %s-handers' arm side positive,", hand)
}

// Caveats are what the pitches themselves warn of: cells whose batters were not the
// league's or whose bunts are not known, and pitch types whose quality shifted
// between seasons or reads otherwise at venues where many were thrown.
func (q *Report) Caveats(faced []opponents.Faced) []locate.Caveat {
	out := opponents.Caveats(faced)
	out = append(out, q.bunted...)
	for _, s := range suspects(q.Shifts) {
		if c := (locate.Caveat{Code: locate.WarnSeasonShift, PitchType: s.PitchType, Variable: s.Variable}); !slices.Contains(out, c) {
			out = append(out, c)
		}
	}
	return append(out, venueCaveats(q.Offsets)...)
}

// Counter counts what the report tells of single pitches as they pass: days, bunts
// and venues.
type Counter struct {
	venues *venues
	bunts  []bunts // by worker
	days   []Span  // by worker
}

// NewCounter returns a counter for so many workers; venues are compared by the
// variables that have a limit.
func NewCounter(workers int, vars []shape.Variable) *Counter {
	c := &Counter{newVenues(workers, vars), make([]bunts, workers), make([]Span, workers)}
	for i := range c.bunts {
		c.bunts[i] = bunts{}
	}
	return c
}

// Add counts a batch for one worker; different workers may call it at once.
func (c *Counter) Add(worker int, batch []pitch.Pitch) error {
	for i := range batch {
		c.days[worker].add(batch[i].Date)
	}
	c.bunts[worker].add(batch)
	c.venues.add(worker, batch)
	return nil
}

// Source is what the report is made from beside the counter's own: the season, how
// its rows fared, where variables come from, what their values were like, the counts
// and how far pitchers and batters differ.
type Source struct {
	Season   *ingest.Season
	Rows     *ingest.Report
	Resolver *shape.Resolver
	Shapes   *shape.Quality
	Tally    *tally.Tally
	Spread   []estimate.Spread
}

// Report gathers the quality report once all pitches have passed.
func (c *Counter) Report(from Source) *Report {
	rows, q, t := *from.Rows, from.Shapes, from.Tally
	rows.Rejects = nil
	out := &Report{
		Rows:             &rows,
		Warnings:         append([]ingest.Warning{}, from.Season.Warnings...),
		Variables:        from.Resolver.Choices(shape.Variables),
		Disagreements:    append([]shape.Disagreement{}, q.Disagreements()...),
		Tracked:          q.Tracked,
		DefaultExtension: q.DefaultExtension,
		DefaultZone:      q.DefaultZone,
		Counts:           t.Notes,
		Pitchers:         len(t.Pitchers),
		Batters:          len(t.Batters),
		Games:            len(t.Games),
		Spread:           from.Spread,
	}
	for _, x := range t.Cells {
		if n := len(out.Seasons); n == 0 || out.Seasons[n-1] != x.Cell.Season {
			out.Seasons = append(out.Seasons, x.Cell.Season)
		}
	}
	warn := func(n int64, code, format string) {
		if n > 0 {
			out.Warnings = append(out.Warnings, ingest.Warning{Code: code, Detail: fmt.Sprintf(format, n)})
		}
	}
	warn(q.DefaultExtension, "default_extension", "%d pitches of unknown extension were taken as released at y = 55 ft, which costs up to 0.9 in of break")
	warn(q.DefaultZone, "default_zone", "%d pitches were measured against a zone of 1.6 to 3.4 ft for want of the batter's own")
	shifts, relabels := trend.Seasons(t)
	out.Shifts, out.Relabels = append([]trend.SeasonShift{}, shifts...), append([]trend.Relabel{}, relabels...)
	for _, s := range suspects(shifts) {
		out.Warnings = append(out.Warnings, ingest.Warning{Code: locate.WarnSeasonShift, Detail: fmt.Sprintf(
			"%s of the %s shifted by %.4g %s (%.4g to %.4g)%s from %d to %d within the same %d pitchers: look whether the instrument changed before the seasons are put together",
			s.Variable, s.PitchType, *s.Shift.Shift, s.Unit, *s.ShiftLo, *s.ShiftHi, whither(s.Hand, *s.Shift.Shift), s.From, s.To, s.Pitchers)})
	}
	for _, r := range relabels {
		if r.Pitchers >= fewRelabelled {
			out.Warnings = append(out.Warnings, ingest.Warning{Code: "relabelled", Detail: fmt.Sprintf(
				"%d pitchers threw a %s in %d that was called %s in %d, at the same speed and break", r.Pitchers, r.TypeA, r.From, r.TypeB, r.To)})
		}
	}
	out.Slow = slowFastballs(t)
	out.Warnings = append(out.Warnings, slowWarning(out.Slow)...)
	out.Warnings = append(out.Warnings, sourceWarnings(q.Columns(), out.Disagreements, from.Resolver)...)
	out.Offsets, out.OffsetsJudged = c.venues.offsets(from.Season.Names.Venues)
	out.Warnings = append(out.Warnings, venueWarnings(out.Offsets)...)
	bunted := bunts{}
	for i := range c.bunts {
		bunted.join(c.bunts[i])
		out.Span.join(c.days[i])
	}
	out.bunted = bunted.caveats()
	out.Warnings = append(out.Warnings, buntWarnings(out.bunted, t.Notes.BuntsUnknown)...)
	return out
}

// Whole adds the warnings that hold of most rows of a table, which rows do not carry.
func (q *Report) Whole(list []locate.Whole) {
	for _, w := range list {
		q.Warnings = append(q.Warnings, ingest.Warning{Code: w.Code, Detail: fmt.Sprintf(
			"of the whole, since it holds of %d of the %d rows of %s, which do not carry it: %s", w.Rows, w.Of, w.Table, w.Meaning())})
	}
}
