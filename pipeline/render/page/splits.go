package page

import (
	"fmt"
	"slices"
	"strings"

	"sill/pipeline/render/words"
	"sill/pipeline/thresholds"
)

// tellSplits says, a sentence for each split, in how many cells there were too few
// pitches or pitchers, and which values of it ran out of data: in more than half of
// their cells.
func tellSplits(all []thresholds.Verdict, reference string) []string {
	type reach struct {
		value         string
		cells, tooFew int64
	}
	var names []string
	values := map[string][]reach{}
	for i := range all {
		name, value, split := strings.Cut(all[i].Stratum, ":")
		if !split || all[i].Reference != reference {
			continue
		}
		if !slices.Contains(names, name) {
			names = append(names, name)
		}
		k := slices.IndexFunc(values[name], func(r reach) bool { return r.value == value })
		if k < 0 {
			k = len(values[name])
			values[name] = append(values[name], reach{value: value})
		}
		r := &values[name][k]
		r.cells++
		if all[i].Verdict == "too_few" {
			r.tooFew++
		}
	}
	var out []string
	for _, name := range names {
		var cells, tooFew int64
		var ran []string
		for _, r := range values[name] {
			cells, tooFew = cells+r.cells, tooFew+r.tooFew
			if 2*r.tooFew > r.cells {
				ran = append(ran, fmt.Sprintf("%s (%s of %s)", words.Spaced(r.value), words.Count(r.tooFew), words.Count(r.cells)))
			}
		}
		text := fmt.Sprintf("Split by %s: too few pitches or pitchers in %s of %s.",
			words.Spaced(name), words.Count(tooFew), words.Plural(cells, "cell"))
		if len(ran) > 0 {
			text += " Ran out of data: " + strings.Join(ran, ", ") + "."
		}
		out = append(out, text)
	}
	return out
}
