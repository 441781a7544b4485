package tally

import (
	"cmp"
	"errors"
	"fmt"
	"io"
	"math"
	"slices"

	"github.com/parquet-go/parquet-go"

	"sill/pipeline/outcome"
	"sill/pipeline/pitch"
)

// The columns of record by position.
const (
	colTable = iota
	colSeason
	colStratum
	colHand
	colSide
	colType
	colVariable
	colBin
	colCluster
	colPitches
	colSwings
	colWhiffs
	colFoulTips
	colResults
	colSwingD   = colResults + outcome.Classes
	colSwingD2  = colSwingD + 1
	colResultD  = colSwingD + 2
	colResultD2 = colSwingD + 3
	colCount    = colSwingD + 4
)

// draft is a curve whose rows may still stand in any order.
type draft struct {
	bins       []int32
	rows       []Row
	batterBins []int32
	batters    []BatterCount
}

// draftTable is a cell being read: its totals are drafts of one missing bin.
type draftTable struct {
	cell   Cell
	total  draft
	curves []draft
}

// assembler builds a tally from the records of a hand-over file.
type assembler struct {
	t         *Tally
	variables map[string]int
	cells     map[Cell]*draftTable
	pitchers  *namer
	batters   *namer

	// The words of the row before, which the next one mostly repeats.
	words [colCluster][]byte
	now   *draftTable
	at    *draft
	bat   bool
}

// namer numbers names as they come.
type namer struct {
	names []string
	index map[string]int32
}

func (n *namer) of(name []byte) int32 {
	if i, ok := n.index[string(name)]; ok {
		return i
	}
	i := int32(len(n.names))
	n.names = append(n.names, string(name))
	n.index[string(name)] = i
	return i
}

func newAssembler(m *meta) (*assembler, error) {
	a := &assembler{t: &Tally{Games: m.Games, Notes: m.Notes}, variables: map[string]int{}, cells: map[Cell]*draftTable{},
		pitchers: &namer{index: map[string]int32{}}, batters: &namer{index: map[string]int32{}}}
	for i, v := range m.Variables {
		if _, ok := a.variables[v.Name]; ok || v.Name == "" || v.WidthQ < 1 || v.WidthQ > math.MaxInt32 || v.PerUnit < 1 || v.Step < 0 {
			return nil, fmt.Errorf("metadata: variable %q is named twice or has no width", v.Name)
		}
		a.variables[v.Name] = i
		a.t.Variables = append(a.t.Variables, Variable(v))
	}
	if len(repeated(m.Games)) > 0 || !slices.IsSorted(m.Games) {
		return nil, errors.New("metadata: games are not sorted and distinct")
	}
	return a, nil
}

// addGroup adds the rows of a row group; at gives each column's position.
func (a *assembler) addGroup(group parquet.RowGroup, at []int) error {
	rows := group.Rows()
	buffer := make([]parquet.Row, 1024)
	line := make([]parquet.Value, colCount)
	where := make([]int, len(at)) // from the file's column to ours
	for ours, theirs := range at {
		for len(where) <= theirs {
			where = append(where, 0)
		}
		where[theirs] = ours + 1
	}
	for {
		n, err := rows.ReadRows(buffer)
		for _, row := range buffer[:n] {
			for i := range line {
				line[i] = parquet.Value{}
			}
			for _, v := range row {
				if c := v.Column(); c < len(where) && where[c] > 0 {
					line[where[c]-1] = v
				}
			}
			if err := a.add(line); err != nil {
				return errors.Join(err, rows.Close())
			}
		}
		if err == io.EOF {
			return rows.Close()
		}
		if err != nil {
			return errors.Join(err, rows.Close())
		}
	}
}

// add adds one row.
func (a *assembler) add(line []parquet.Value) error {
	for i := range line {
		if i != colBin && line[i].IsNull() {
			return errors.New("a column other than bin is null")
		}
	}
	if err := a.turnTo(line); err != nil {
		return err
	}
	bin := int32(MissingBin)
	if !line[colBin].IsNull() {
		bin = line[colBin].Int32()
	}
	row := Row{}
	for i, dst := range [...]*uint32{&row.Pitches, &row.Swings, &row.Whiffs, &row.FoulTips} {
		v := line[colPitches+i].Int64()
		if v < 0 || v > math.MaxUint32 {
			return fmt.Errorf("a count of %d", v)
		}
		*dst = uint32(v)
	}
	for i := range row.Results {
		v := line[colResults+i].Int64()
		if v < 0 || v > math.MaxUint32 {
			return fmt.Errorf("a count of %d", v)
		}
		row.Results[i] = uint32(v)
	}
	row.SwingD, row.SwingD2 = line[colSwingD].Int64(), line[colSwingD2].Int64()
	row.ResultD, row.ResultD2 = line[colResultD].Int64(), line[colResultD2].Int64()
	if min(row.SwingD, row.SwingD2, row.ResultD, row.ResultD2) < 0 {
		return errors.New("a sum of offsets is negative")
	}
	if int64(row.Whiffs)+int64(row.FoulTips) > int64(row.Swings) {
		return errors.New("more whiffs and foul tips than swings")
	}
	name := line[colCluster].ByteArray()
	if !a.bat {
		row.Cluster = a.pitchers.of(name)
		a.at.bins = append(a.at.bins, bin)
		a.at.rows = append(a.at.rows, row)
		return nil
	}
	batter := a.batters.of(name)
	events := [Events]uint32{Contact: row.Swings - row.Whiffs - row.FoulTips, Whiff: row.Whiffs, FoulTip: row.FoulTips}
	copy(events[FirstResult:], row.Results[:])
	for e, n := range events {
		if n > 0 {
			count, err := newBatterCount(batter, Event(e), n)
			if err != nil {
				return err
			}
			a.at.batterBins = append(a.at.batterBins, bin)
			a.at.batters = append(a.at.batters, count)
		}
	}
	return nil
}

// turnTo points a.at to the draft that a row belongs to.
func (a *assembler) turnTo(line []parquet.Value) error {
	same := a.at != nil && int16(line[colSeason].Int32()) == a.now.cell.Season
	for _, c := range [...]int{colTable, colStratum, colHand, colSide, colType, colVariable} {
		same = same && string(line[c].ByteArray()) == string(a.words[c])
	}
	if same {
		return nil
	}
	for _, c := range [...]int{colTable, colStratum, colHand, colSide, colType, colVariable} {
		a.words[c] = append(a.words[c][:0], line[c].ByteArray()...)
	}
	season := line[colSeason].Int32()
	hand, errHand := pitch.ParseHand(string(a.words[colHand]))
	side, errSide := pitch.ParseSide(string(a.words[colSide]))
	kind, errType := pitch.UnknownType, error(nil)
	if w := string(a.words[colType]); w != "" {
		kind, errType = pitch.ParseType(w)
	}
	if err := errors.Join(errHand, errSide, errType); err != nil {
		return err
	}
	if season != int32(int16(season)) || side == pitch.SwitchSide {
		return fmt.Errorf("season %d or side %s is no cell's", season, side)
	}
	cell := Cell{Season: int16(season), Stratum: string(a.words[colStratum]), Hand: hand, Side: side, Type: kind}
	if a.now = a.cells[cell]; a.now == nil {
		a.now = &draftTable{cell: cell, curves: make([]draft, len(a.t.Variables))}
		a.cells[cell] = a.now
	}
	table := string(a.words[colTable])
	a.bat = table == tableBatter || table == tableBatterTotal
	switch table {
	case tableTotal, tableBatterTotal:
		a.at = &a.now.total
	case tableBin, tableBatter:
		v, ok := a.variables[string(a.words[colVariable])]
		if !ok {
			return fmt.Errorf("variable %q is not in the metadata", a.words[colVariable])
		}
		a.at = &a.now.curves[v]
	default:
		return fmt.Errorf("table %q", table)
	}
	return nil
}

// tally sorts what was read and checks that bins add up to totals.
func (a *assembler) tally() (*Tally, error) {
	t := a.t
	var toPitcher, toBatter []int32
	t.Pitchers, toPitcher = a.pitchers.sorted()
	t.Batters, toBatter = a.batters.sorted()
	for _, d := range a.cells {
		table := CellTable{Cell: d.cell, Curves: make([]Curve, len(d.curves))}
		totals, err := d.total.curve(toPitcher, toBatter)
		if err != nil {
			return nil, err
		}
		table.Totals, table.BatterTotals = totals.Rows, totals.BatterCounts
		for v := range d.curves {
			if table.Curves[v], err = d.curves[v].curve(toPitcher, toBatter); err != nil {
				return nil, err
			}
			if err := agree(&table, v); err != nil {
				return nil, fmt.Errorf("%v, variable %s: %w", d.cell, t.Variables[v].Name, err)
			}
		}
		*d = draftTable{}
		t.Cells = append(t.Cells, table)
	}
	slices.SortFunc(t.Cells, func(a, b CellTable) int { return a.Cell.Compare(b.Cell) })
	pitches := int64(0)
	for _, c := range t.Cells {
		if c.Cell.Stratum == AllStrata {
			for _, r := range c.Totals {
				pitches += int64(r.Pitches)
			}
		}
	}
	if pitches != t.Notes.Pitches {
		return nil, fmt.Errorf("totals hold %d pitches, the metadata %d", pitches, t.Notes.Pitches)
	}
	return t, nil
}

// sorted returns the names in order and the place of each number in it.
func (n *namer) sorted() (names []string, to []int32) {
	names = slices.Clone(n.names)
	slices.Sort(names)
	to = make([]int32, len(names))
	for i, name := range names {
		to[n.index[name]] = int32(i)
	}
	return names, to
}

// curve sorts a draft, with the clusters renumbered.
func (d *draft) curve(toPitcher, toBatter []int32) (Curve, error) {
	renumberRows(d.rows, toPitcher)
	renumberBatters(d.batters, toBatter)
	rowBins, rows, err := sortByBin(d.bins, d.rows, func(a, b *Row) int { return cmp.Compare(a.Cluster, b.Cluster) })
	if err != nil {
		return Curve{}, err
	}
	batterBins, batters, err := sortByBin(d.batterBins, d.batters, compareBatters)
	if err != nil {
		return Curve{}, err
	}
	c := Curve{Rows: rows, BatterCounts: batters}
	i, j := 0, 0
	for i < len(rows) {
		bin := rowBins[i]
		c.Bins, c.Start, c.BatterStart = append(c.Bins, bin), append(c.Start, int32(i)), append(c.BatterStart, int32(j))
		for i < len(rows) && rowBins[i] == bin {
			i++
		}
		for j < len(batters) && batterBins[j] == bin {
			j++
		}
	}
	if j < len(batters) {
		return Curve{}, errors.New("a batter's row has no pitcher's row of its bin")
	}
	if len(c.Bins) > 0 {
		c.Start, c.BatterStart = append(c.Start, int32(i)), append(c.BatterStart, int32(j))
	}
	return c, nil
}

func compareBatters(a, b *BatterCount) int {
	return cmp.Or(cmp.Compare(a.Batter, b.Batter), cmp.Compare(a.Event(), b.Event()))
}

// sortByBin sorts rows by bin and then by compare, and refuses equal ones.
func sortByBin[T any](bins []int32, rows []T, compare func(a, b *T) int) ([]int32, []T, error) {
	order := make([]int32, len(rows))
	for i := range order {
		order[i] = int32(i)
	}
	byBoth := func(a, b int32) int { return cmp.Or(cmp.Compare(bins[a], bins[b]), compare(&rows[a], &rows[b])) }
	if !slices.IsSortedFunc(order, byBoth) {
		slices.SortFunc(order, byBoth)
	}
	outBins, outRows := make([]int32, len(rows)), make([]T, len(rows))
	for i, at := range order {
		if i > 0 && byBoth(order[i-1], at) == 0 {
			return nil, nil, errors.New("two rows of one bin and cluster")
		}
		outBins[i], outRows[i] = bins[at], rows[at]
	}
	return outBins, outRows, nil
}

// agree reports a curve whose bins do not add up to the cell's totals.
func agree(t *CellTable, variable int) error {
	c := &t.Curves[variable]
	if len(c.Bins) == 0 && (t.Cell.Stratum != AllStrata || len(t.Totals) == 0) {
		return nil
	}
	var bins, totals Counts
	for i := range c.Rows {
		if err := bins.Add(&c.Rows[i].Counts); err != nil {
			return err
		}
	}
	for i := range t.Totals {
		if err := totals.Add(&t.Totals[i].Counts); err != nil {
			return err
		}
	}
	bins.SwingD, bins.SwingD2, bins.ResultD, bins.ResultD2 = 0, 0, 0, 0
	if bins != totals {
		return errors.New("the bins do not add up to the totals")
	}
	return nil
}
