package quality

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"

	"sill/pipeline/ingest"
	"sill/pipeline/pitch"
	"sill/pipeline/render/words"
	"sill/pipeline/shape"
)

// A column is warned of where so many of its pitches differ from the trajectory, or
// so many of one pitch type and hand of which enough are compared.
const (
	disagreeColumn = .01
	disagreeGroup  = .10
	disagreeEnough = 20
	disagreeNamed  = 4 // pitch types and hands that a warning names
)

// disagrees tells whether single faulty readings do not explain a comparison.
func disagrees(d shape.Disagreement, share float64) bool {
	return float64(d.Beyond) >= share*float64(d.Compared) && d.Beyond > 0
}

// sourceWarnings say of each column that contradicts the trajectory on which pitches
// it does, by how much and which way, and what to change in the profile.
func sourceWarnings(columns, groups []shape.Disagreement, r *shape.Resolver) []ingest.Warning {
	var out []ingest.Warning
	for _, c := range columns {
		of := slices.DeleteFunc(slices.Clone(groups), func(d shape.Disagreement) bool { return d.Column != c.Column || d.Beyond == 0 })
		some := slices.ContainsFunc(of, func(d shape.Disagreement) bool { return d.Compared >= disagreeEnough && disagrees(d, disagreeGroup) })
		if !some && !disagrees(c, disagreeColumn) {
			continue
		}
		slices.SortStableFunc(of, func(a, b shape.Disagreement) int { return cmp.Compare(b.Beyond, a.Beyond) })
		var parts []string
		for _, d := range of[:min(disagreeNamed, len(of))] {
			parts = append(parts, fmt.Sprintf("%s %s-handed %s on average (%s of %s)", words.Spaced(cmp.Or(d.PitchType, "unknown type")), d.Hand, byHowMuch(d), words.Count(d.Beyond), words.Count(d.Compared)))
		}
		if more := len(of) - len(parts); more > 0 {
			parts = append(parts, fmt.Sprintf("%d more in quality.json", more))
		}
		out = append(out, ingest.Warning{Code: "source_disagrees", Detail: fmt.Sprintf("%s: %s of %s pitches differ from the trajectory by more than %g %s: %s. %s",
			c.Column, words.Count(c.Beyond), words.Count(c.Compared), c.Tolerance, c.Unit, strings.Join(parts, "; "), mend(c, r))})
	}
	return out
}

// byHowMuch says how far the source lies from the trajectory, and which way.
func byHowMuch(d shape.Disagreement) string {
	way := [2]string{"lower", "higher"}
	switch column, _ := pitch.Lookup(d.Column); {
	case column.Lateral == pitch.ArmSideAxis:
		way = [2]string{"further to the glove side", "further to the arm side"}
	case d.Column == "velocity":
		way = [2]string{"slower", "faster"}
	}
	k := 0
	if d.Mean > 0 {
		k = 1
	}
	return fmt.Sprintf("%.2f %s %s", math.Abs(d.Mean), d.Unit, way[k])
}

// mend says what to change in the profile: where breaks from another start fit, that
// start.
func mend(c shape.Disagreement, r *shape.Resolver) string {
	derive := fmt.Sprintf("or leave %s out of the profile, which takes it from the trajectory", c.Column)
	switch {
	case c.Column == "velocity":
		return "Look at its unit and at speed_at in the profile, " + derive + "."
	case c.Fit == nil:
		return "Look at the column's unit and at what counts as positive, " + derive + "."
	case c.Fit.Distance > c.Tolerance:
		return fmt.Sprintf("No start of the flight interval explains it (movement_from: %s fits best, still %.2f %s off on average): look at the column's unit and at what counts as positive, %s.",
			c.Fit.MovementFrom, c.Fit.Distance, c.Unit, derive)
	case c.Fit.MovementFrom == r.MovementFrom():
		return fmt.Sprintf("The stated movement_from: %s fits best (%.2f %s off on average): look at these pitches' trajectories, %s.", c.Fit.MovementFrom, c.Fit.Distance, c.Unit, derive)
	}
	return fmt.Sprintf("movement_from: %s fits best (%.2f %s off on average) and the profile says %s: set it there, %s.",
		c.Fit.MovementFrom, c.Fit.Distance, c.Unit, r.MovementFrom(), derive)
}
