package locate

import (
	"maps"
	"slices"

	"sill/pipeline/thresholds"
)

// Whole is a warning that stood on more than half of a table's rows, and so tells
// nothing of any one of them.
type Whole struct {
	Code, Table string
	Rows, Of    int
}

// TakeWhole takes such warnings off the rows and returns them in the order of tables
// and codes. The headline view carries what its verdicts do.
func TakeWhole(t *thresholds.Tables) []Whole {
	var out []Whole
	take := func(table string, views ...[]*[]string) {
		counts := map[string]int{}
		for _, w := range views[0] {
			for _, code := range *w {
				counts[code]++
			}
		}
		var taken []string
		for _, code := range slices.Sorted(maps.Keys(counts)) {
			n := counts[code]
			if 2*n > len(views[0]) {
				taken = append(taken, code)
				out = append(out, Whole{code, table, n, len(views[0])})
			}
		}
		if taken == nil {
			return
		}
		for _, w := range slices.Concat(views...) {
			var left []string // rows may share what they carried
			for _, code := range *w {
				if !slices.Contains(taken, code) {
					left = append(left, code)
				}
			}
			*w = left
		}
	}
	var verdicts, view, bins, references []*[]string
	for i := range t.Verdicts {
		verdicts = append(verdicts, &t.Verdicts[i].Warnings)
	}
	for i := range t.Thresholds {
		view = append(view, &t.Thresholds[i].Warnings)
	}
	for i := range t.Bins {
		bins = append(bins, &t.Bins[i].Warnings)
	}
	for i := range t.References {
		references = append(references, &t.References[i].Warnings)
	}
	take("verdicts", verdicts, view)
	take("bins", bins)
	take("references", references)
	return out
}

// Meaning is what the warning means.
func (w Whole) Meaning() string {
	all := Warnings()
	return all[slices.IndexFunc(all, func(x Warning) bool { return x.Code == w.Code })].Meaning
}
