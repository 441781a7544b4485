package pipeline

import (
	"fmt"

	"sill/pipeline/estimate"
	"sill/pipeline/ingest"
	"sill/pipeline/shape"
	"sill/pipeline/tally"
)

// qualityFile is where package publish writes the quality report of a version.
const qualityFile = "quality.json"

// Quality is the quality report of a version: how the rows fared, where each
// variable comes from and how the sources agree.
type Quality struct {
	Rows             *ingest.Report       `json:"rows"` // the rejected rows themselves stand in the quarantine
	Warnings         []ingest.Warning     `json:"warnings"`
	Variables        []shape.Choice       `json:"variables"`
	Disagreements    []shape.Disagreement `json:"disagreements"` // provider against trajectory
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
}

// assess gathers the quality report.
func assess(season *ingest.Season, r *ingest.Report, resolver *shape.Resolver, q *shape.Quality, t *tally.Tally, spread []estimate.Spread) Quality {
	rows := *r
	rows.Rejects = nil
	out := Quality{
		Rows:             &rows,
		Warnings:         append([]ingest.Warning{}, season.Warnings...),
		Variables:        resolver.Choices(shape.Variables),
		Disagreements:    append([]shape.Disagreement{}, q.Disagreements()...),
		Tracked:          q.Tracked,
		DefaultExtension: q.DefaultExtension,
		DefaultZone:      q.DefaultZone,
		Counts:           t.Notes,
		Pitchers:         len(t.Pitchers),
		Batters:          len(t.Batters),
		Games:            len(t.Games),
		Spread:           spread,
	}
	for _, c := range t.Cells {
		if n := len(out.Seasons); n == 0 || out.Seasons[n-1] != c.Cell.Season {
			out.Seasons = append(out.Seasons, c.Cell.Season)
		}
	}
	warn := func(n int64, code, format string) {
		if n > 0 {
			out.Warnings = append(out.Warnings, ingest.Warning{Code: code, Detail: fmt.Sprintf(format, n)})
		}
	}
	warn(q.DefaultExtension, "default_extension", "%d pitches of unknown extension were taken as released at y = 55 ft, which costs up to 0.9 in of break")
	warn(q.DefaultZone, "default_zone", "%d pitches were measured against a zone of 1.6 to 3.4 ft for want of the batter's own")
	warn(t.Notes.BuntsUnknown, "bunts_unknown", "%d balls in play may have been bunts: the source does not tell")
	for _, d := range out.Disagreements {
		if d.Beyond > 0 {
			out.Warnings = append(out.Warnings, ingest.Warning{Code: "source_disagrees",
				Detail: fmt.Sprintf("%s: %d of %d pitches differ from the trajectory by more than %g", d.Column, d.Beyond, d.Compared, d.Tolerance)})
		}
	}
	return out
}
