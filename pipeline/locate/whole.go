package locate

import (
	"maps"
	"slices"
	"strings"

	"sill/pipeline/thresholds"
)

// Whole is a warning that stood on more than half of a table's rows, and so tells
// nothing of any one of them.
type Whole struct {
	Code, Table string
	Rows, Of    int
}

// TakeWhole takes such warnings off the rows and returns them in the order of tables,
// stratifications and codes. The headline view carries what its verdicts do. Rows of all
// pitches and of each stratification are judged by themselves, so that a further split
// leaves the others as they are.
func TakeWhole(t *thresholds.Tables) []Whole {
	var out []Whole
	take := func(table string, rows, view map[string][]*[]string) {
		for _, name := range slices.Sorted(maps.Keys(rows)) {
			of := table
			if name != "" {
				of += " of " + name
			}
			own := rows[name]
			counts := map[string]int{}
			for _, w := range own {
				for _, code := range *w {
					counts[code]++
				}
			}
			taken := map[string]bool{}
			for _, code := range slices.Sorted(maps.Keys(counts)) {
				if n := counts[code]; 2*n > len(own) {
					taken[code] = true
					out = append(out, Whole{code, of, n, len(own)})
				}
			}
			if len(taken) == 0 {
				continue
			}
			for _, w := range slices.Concat(own, view[name]) {
				var left []string // rows may share what they carried
				for _, code := range *w {
					if !taken[code] {
						left = append(left, code)
					}
				}
				*w = left
			}
		}
	}
	verdicts, view, bins, references := map[string][]*[]string{}, map[string][]*[]string{}, map[string][]*[]string{}, map[string][]*[]string{}
	add := func(to map[string][]*[]string, stratum string, warnings *[]string) {
		name := stratificationOf(stratum)
		to[name] = append(to[name], warnings)
	}
	for i := range t.Verdicts {
		add(verdicts, t.Verdicts[i].Stratum, &t.Verdicts[i].Warnings)
	}
	for i := range t.Thresholds {
		add(view, t.Thresholds[i].Stratum, &t.Thresholds[i].Warnings)
	}
	for i := range t.Bins {
		add(bins, t.Bins[i].Stratum, &t.Bins[i].Warnings)
	}
	for i := range t.References {
		_, stratum, _ := strings.Cut(t.References[i].Reference, "@")
		add(references, stratum, &t.References[i].Warnings)
	}
	take("verdicts", verdicts, view)
	take("bins", bins, nil)
	take("references", references, nil)
	return out
}

// Meaning is what the warning means.
func (w Whole) Meaning() string {
	all := Warnings()
	return all[slices.IndexFunc(all, func(x thresholds.Warning) bool { return x.Code == w.Code })].Meaning
}
