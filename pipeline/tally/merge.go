package tally

import (
	"cmp"
	"errors"
	"fmt"
	"slices"
	"strings"
)

// SharedGamesError is returned where two tallies hold the same game, whose
// pitches would count twice.
type SharedGamesError struct{ Games []string }

// Error names up to five of the games.
func (e *SharedGamesError) Error() string {
	shown := e.Games[:min(5, len(e.Games))]
	return fmt.Sprintf("merge tallies: %d games are held by more than one: %s", len(e.Games), strings.Join(shown, ", "))
}

// ErrGameless is returned where a tally to be merged holds pitches without a
// game id: nothing tells whether another holds them too.
var ErrGameless = errors.New("merge tallies: pitches without a game id cannot be told apart")

// Merge adds tallies of different games, in any order. It refuses tallies that
// share a game (SharedGamesError), hold pitches without one (ErrGameless) or
// count other variables or strata. Its arguments are left as they are; the result may
// share their rows.
func Merge(tallies ...*Tally) (*Tally, error) {
	if len(tallies) == 0 {
		return nil, errors.New("merge tallies: none given")
	}
	if len(tallies) == 1 {
		return tallies[0], nil
	}
	out := &Tally{Variables: slices.Clone(tallies[0].Variables), Strata: slices.Clone(tallies[0].Strata)}
	for _, t := range tallies {
		if t.Notes.Gameless > 0 {
			return nil, ErrGameless
		}
		if !slices.EqualFunc(out.Variables, t.Variables, Variable.same) {
			return nil, errors.New("merge tallies: they count different variables, definitions or bin widths")
		}
		if !slices.Equal(out.Strata, t.Strata) {
			return nil, fmt.Errorf("merge tallies: they are split differently, by %q and by %q: count both with the same setting strata",
				out.Strata, t.Strata)
		}
		for i := range out.Variables {
			out.Variables[i].Step = gcd(out.Variables[i].Step, t.Variables[i].Step)
		}
		out.Games = append(out.Games, t.Games...)
		out.Pitchers = append(out.Pitchers, t.Pitchers...)
		out.Batters = append(out.Batters, t.Batters...)
		out.Notes.add(t.Notes)
	}
	slices.Sort(out.Games)
	if shared := repeated(out.Games); len(shared) > 0 {
		return nil, &SharedGamesError{Games: shared}
	}
	out.Pitchers, out.Batters = union(out.Pitchers), union(out.Batters)
	for _, t := range tallies {
		cells := remapped(t.Cells, places(t.Pitchers, out.Pitchers), places(t.Batters, out.Batters))
		var err error
		if out.Cells, err = mergeCells(out.Cells, cells); err != nil {
			return nil, err
		}
	}
	return out, nil
}

// repeated returns the names that occur more than once in a sorted list.
func repeated(sorted []string) []string {
	var out []string
	for i := 1; i < len(sorted); i++ {
		if sorted[i] == sorted[i-1] && (len(out) == 0 || out[len(out)-1] != sorted[i]) {
			out = append(out, sorted[i])
		}
	}
	return out
}

func union(names []string) []string {
	slices.Sort(names)
	return slices.Clip(slices.Compact(names))
}

// places returns where each of names stands in all, which is sorted.
func places(names, all []string) []int32 {
	out := make([]int32, len(names))
	for i, name := range names {
		at, _ := slices.BinarySearch(all, name)
		out[i] = int32(at)
	}
	return out
}

// remapped returns a copy of cells with other indices, in the same order.
func remapped(cells []CellTable, pitchers, batters []int32) []CellTable {
	out := slices.Clone(cells)
	for i := range out {
		t := &out[i]
		t.Totals, t.BatterTotals = slices.Clone(t.Totals), slices.Clone(t.BatterTotals)
		t.Curves = slices.Clone(t.Curves)
		for v := range t.Curves {
			c := &t.Curves[v]
			c.Rows, c.BatterCounts = slices.Clone(c.Rows), slices.Clone(c.BatterCounts)
		}
		t.renumber(pitchers, batters)
	}
	return out
}

// renumber changes the indices of a table in place.
func (t *CellTable) renumber(pitchers, batters []int32) {
	renumberRows(t.Totals, pitchers)
	renumberBatters(t.BatterTotals, batters)
	for v := range t.Curves {
		renumberRows(t.Curves[v].Rows, pitchers)
		renumberBatters(t.Curves[v].BatterCounts, batters)
	}
}

func renumberRows(rows []Row, to []int32) {
	for i := range rows {
		rows[i].Cluster = to[rows[i].Cluster]
	}
}

func renumberBatters(counts []BatterCount, to []int32) {
	for i := range counts {
		counts[i].Batter = to[counts[i].Batter]
	}
}

// dropUnseen drops the names without a pitch, so that a tally depends on the
// pitches counted alone.
func (t *Tally) dropUnseen() {
	pitchers := make([]bool, len(t.Pitchers))
	batters := make([]bool, len(t.Batters))
	for _, c := range t.Cells {
		for _, r := range c.Totals {
			pitchers[r.Cluster] = true
		}
		for _, b := range c.BatterTotals {
			batters[b.Batter] = true
		}
	}
	var toPitcher, toBatter []int32
	t.Pitchers, toPitcher = seen(t.Pitchers, pitchers)
	t.Batters, toBatter = seen(t.Batters, batters)
	for i := range t.Cells {
		t.Cells[i].renumber(toPitcher, toBatter)
	}
}

// seen returns the names that are marked and the new index of each.
func seen(names []string, marked []bool) (out []string, to []int32) {
	to = make([]int32, len(names))
	for i, name := range names {
		to[i] = int32(len(out))
		if marked[i] {
			out = append(out, name)
		}
	}
	return out, to
}

// mergeCells adds two lists of tables over the same names and variables, each
// sorted by cell. Rows of its arguments may be shared.
func mergeCells(a, b []CellTable) ([]CellTable, error) {
	return mergeSorted(a, b, func(x, y *CellTable) int { return x.Cell.Compare(y.Cell) },
		func(x, y *CellTable) (CellTable, error) {
			out := CellTable{Cell: x.Cell, Curves: make([]Curve, len(x.Curves))}
			var errTotals, errBatters error
			out.Totals, errTotals = mergeRows(x.Totals, y.Totals)
			out.BatterTotals, errBatters = mergeBatters(x.BatterTotals, y.BatterTotals)
			err := errors.Join(errTotals, errBatters)
			for v := range out.Curves {
				if e := mergeCurves(&out.Curves[v], &x.Curves[v], &y.Curves[v]); e != nil {
					err = e
				}
			}
			return out, err
		})
}

func mergeRows(a, b []Row) ([]Row, error) {
	return mergeSorted(a, b, func(x, y *Row) int { return cmp.Compare(x.Cluster, y.Cluster) },
		func(x, y *Row) (Row, error) {
			sum := *x
			return sum, sum.Add(&y.Counts)
		})
}

func mergeParts(a, b []PartRow) ([]PartRow, error) {
	return mergeSorted(a, b, func(x, y *PartRow) int { return cmp.Compare(x.Part, y.Part) },
		func(x, y *PartRow) (PartRow, error) {
			sum := *x
			return sum, sum.Add(&y.Counts)
		})
}

func mergeBatters(a, b []BatterCount) ([]BatterCount, error) {
	return mergeSorted(a, b, compareBatters,
		func(x, y *BatterCount) (BatterCount, error) {
			return newBatterCount(x.Batter, x.Event(), uint32(x.Count()+y.Count()))
		})
}

// mergeCurves puts the sum of two curves in dst.
func mergeCurves(dst, a, b *Curve) error {
	if len(a.Bins) == 0 || len(b.Bins) == 0 {
		*dst = *a
		if len(a.Bins) == 0 {
			*dst = *b
		}
		return nil
	}
	var err error
	if a.inParts() && b.inParts() {
		if dst.Parts, err = mergeParts(a.Parts, b.Parts); err != nil {
			return err
		}
	}
	dst.Rows = make([]Row, 0, max(len(a.Rows), len(b.Rows)))
	dst.BatterCounts = make([]BatterCount, 0, max(len(a.BatterCounts), len(b.BatterCounts)))
	dst.Bins = slices.Concat(a.Bins, b.Bins)
	slices.Sort(dst.Bins)
	dst.Bins = slices.Clip(slices.Compact(dst.Bins))
	for i, j, k := 0, 0, 0; k < len(dst.Bins); k++ {
		dst.startAt(len(dst.Rows), len(dst.BatterCounts))
		rowsA, battersA := a.take(dst.Bins[k], &i)
		rowsB, battersB := b.take(dst.Bins[k], &j)
		rows, errRows := mergeRows(rowsA, rowsB)
		batters, errBatters := mergeBatters(battersA, battersB)
		if err := cmp.Or(errRows, errBatters); err != nil {
			return err
		}
		dst.Rows = append(dst.Rows, rows...)
		dst.BatterCounts = append(dst.BatterCounts, batters...)
	}
	dst.startAt(len(dst.Rows), len(dst.BatterCounts))
	dst.Rows, dst.BatterCounts = slices.Clip(dst.Rows), slices.Clip(dst.BatterCounts)
	return nil
}

// take returns what the next bin holds, and steps on, if it is this bin.
func (c *Curve) take(bin int32, next *int) (rows []Row, batters []BatterCount) {
	if i := *next; i < len(c.Bins) && c.Bins[i] == bin {
		*next++
		return c.Bin(i), c.BatterBin(i)
	}
	return nil, nil
}

// inParts tells whether every pitch of known bins is counted in a part too.
func (c *Curve) inParts() bool { return len(c.Parts) > 0 || c.Known() == len(c.Bins) }

// mergeSorted merges two sorted lists, joining elements that compare equal. A
// list that meets an empty one is returned as it is.
func mergeSorted[T any](a, b []T, compare func(x, y *T) int, join func(x, y *T) (T, error)) ([]T, error) {
	if len(a) == 0 {
		return b, nil
	}
	if len(b) == 0 {
		return a, nil
	}
	out := make([]T, 0, len(a)+len(b))
	i, j := 0, 0
	for i < len(a) && j < len(b) {
		switch c := compare(&a[i], &b[j]); {
		case c < 0:
			out = append(out, a[i])
			i++
		case c > 0:
			out = append(out, b[j])
			j++
		default:
			sum, err := join(&a[i], &b[j])
			if err != nil {
				return nil, err
			}
			out = append(out, sum)
			i, j = i+1, j+1
		}
	}
	return append(append(out, a[i:]...), b[j:]...), nil
}
