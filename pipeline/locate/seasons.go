package locate

import (
	"slices"
	"strings"

	"sill/pipeline/tally"
)

// seasonPair names the comparison of a season with the one before it in the input,
// where seasons were asked for as a stratum. The row's stratum names both, the
// first one first: season:2032/2031. One draw of a hand's pitchers serves both.
const seasonPair = "season_before"

// bundles shares groups out into tasks, by number: each alone, but those that
// differ by season only, which are compared with each other and must be in memory
// together.
func bundles(groups []group) [][]int {
	var out [][]int
	at := map[group]int{}
	for i, g := range groups {
		if stratificationOf(g.stratum) == tally.Seasons {
			g.stratum = tally.Seasons
			if k, ok := at[g]; ok {
				out[k] = append(out[k], i)
				continue
			}
			at[g] = len(out)
		}
		out = append(out, []int{i})
	}
	return out
}

// pairSeasons compares the curves of each season with those of the one before.
func pairSeasons(fits []fitted, v tally.Variable, o Options) []contrast {
	var seasons []string
	for _, f := range fits {
		if s := f.curve.Key.Stratum; !slices.Contains(seasons, s) {
			seasons = append(seasons, s)
		}
	}
	slices.Sort(seasons)
	var out []contrast
	for i := 1; i < len(seasons); i++ {
		for k := range fits {
			b := &fits[k]
			key := b.curve.Key
			if key.Stratum != seasons[i-1] {
				continue
			}
			key.Stratum = seasons[i]
			j := slices.IndexFunc(fits, func(f fitted) bool { return f.curve.Key == key })
			if j < 0 {
				continue
			}
			a := &fits[j]
			found := append([]contrast{levels(a, b, seasonPair, seasonPair, v, o)}, breakpoints(a, b, seasonPair, seasonPair, v, true)...)
			for _, c := range found {
				for r := range c.rows {
					c.rows[r].Stratum = seasons[i] + "/" + strings.TrimPrefix(seasons[i-1], tally.Seasons+":")
				}
			}
			out = append(out, found...)
		}
	}
	return out
}
