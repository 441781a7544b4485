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

// draft is a curve whose rows may still stand in any order.
type draft struct {
	bins       []int32
	rows       []Row
	batterBins []int32
	batters    []BatterCount
	parts      []PartRow
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

	digest *digest
	wanted string // digest of the metadata

	// The record before, which the next one mostly repeats, and its draft.
	last record
	now  *draftTable
	at   *draft
}

// namer numbers names as they come.
type namer struct {
	names []string
	index map[string]int32
}

func newNamer() *namer { return &namer{index: map[string]int32{}} }

func (n *namer) of(name string) int32 {
	if i, ok := n.index[name]; ok {
		return i
	}
	i := int32(len(n.names))
	n.names = append(n.names, name)
	n.index[name] = i
	return i
}

func newAssembler(m *meta) (*assembler, error) {
	a := &assembler{
		t:      &Tally{Strata: m.Strata, Games: m.Games, Notes: m.Notes},
		digest: newDigest(), wanted: m.Digest,
		variables: map[string]int{}, cells: map[Cell]*draftTable{},
		pitchers: newNamer(), batters: newNamer(),
	}
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

// addGroup adds the rows of a row group; where is what columnsOf returns.
func (a *assembler) addGroup(group parquet.RowGroup, where []int) error {
	rows := group.Rows()
	buffer := make([]parquet.Row, 1024)
	words := map[string]string{} // one string for each word
	var r record
	for {
		n, err := rows.ReadRows(buffer)
		for _, row := range buffer[:n] {
			err := r.from(row, where, words)
			if err == nil {
				a.digest.add(&r)
				err = a.add(&r)
			}
			if err != nil {
				return errors.Join(err, rows.Close())
			}
		}
		if errors.Is(err, io.EOF) {
			return rows.Close()
		}
		if err != nil {
			return errors.Join(err, rows.Close())
		}
	}
}

// from fills the record from a row of a file.
func (r *record) from(row parquet.Row, where []int, words map[string]string) error {
	texts := [...]*string{&r.Table, nil, &r.Stratum, &r.Hand, &r.Side, &r.PitchType, &r.Variable, nil, &r.Cluster}
	numbers := r.numbers()
	const season, bin = 1, 7
	for _, v := range row {
		c := where[v.Column()]
		switch {
		case c < 0:
		case c == bin:
			r.Bin = nil
			if !v.IsNull() {
				b := v.Int32()
				r.Bin = &b
			}
		case v.IsNull():
			return errors.New("a column other than bin is null")
		case c == season:
			r.Season = v.Int32()
		case c >= len(texts):
			*numbers[c-len(texts)] = v.Int64()
		case string(v.ByteArray()) != *texts[c]:
			word, ok := words[string(v.ByteArray())]
			if !ok {
				word = string(v.ByteArray())
				words[word] = word
			}
			*texts[c] = word
		}
	}
	return nil
}

// add adds one record.
func (a *assembler) add(r *record) error {
	if err := a.turnTo(r); err != nil {
		return err
	}
	bin := int32(MissingBin)
	if r.Bin != nil {
		bin = *r.Bin
	}
	for _, v := range r.numbers() {
		if *v < 0 {
			return fmt.Errorf("a count of %d", *v)
		}
	}
	if max(r.Pitches, r.Swings) > math.MaxUint32 {
		return outcome.ErrOverflow
	}
	if r.Whiffs+r.FoulTips > r.Swings {
		return errors.New("more whiffs and foul tips than swings")
	}
	row := Row{Counts: outcome.Counts{
		Pitches: uint32(r.Pitches), Swings: uint32(r.Swings), Whiffs: uint32(r.Whiffs), FoulTips: uint32(r.FoulTips),
		SwingD: r.SwingOffset, SwingD2: r.SwingOffset2, ResultD: r.ResultOffset, ResultD2: r.ResultOffset2,
	}}
	for class, n := range r.results() {
		if *n > math.MaxUint32 {
			return outcome.ErrOverflow
		}
		row.Results[class] = uint32(*n)
	}
	if r.Table == tableTotal || r.Table == tableBin {
		row.Cluster = a.pitchers.of(r.Cluster)
		a.at.bins = append(a.at.bins, bin)
		a.at.rows = append(a.at.rows, row)
		return nil
	}
	if r.Table == tablePart {
		a.at.parts = append(a.at.parts, PartRow{bin, row.Counts})
		return nil
	}
	batter := a.batters.of(r.Cluster)
	for e, n := range row.ByEvent() {
		if n > 0 {
			count, err := newBatterCount(batter, outcome.Event(e), n)
			if err != nil {
				return err
			}
			a.at.batterBins = append(a.at.batterBins, bin)
			a.at.batters = append(a.at.batters, count)
		}
	}
	return nil
}

// turnTo points a.at to the draft that a record belongs to.
func (a *assembler) turnTo(r *record) error {
	l := &a.last
	if a.at != nil && r.sameCurve(l) {
		return nil
	}
	*l = *r
	hand, errHand := pitch.ParseHand(r.Hand)
	side, errSide := pitch.ParseSide(r.Side)
	kind, errType := pitch.UnknownType, error(nil)
	if r.PitchType != "" {
		kind, errType = pitch.NamedType(r.PitchType)
	}
	if err := errors.Join(errHand, errSide, errType); err != nil {
		return err
	}
	if r.Season != int32(int16(r.Season)) || side == pitch.SwitchSide {
		return fmt.Errorf("season %d or side %s is no cell's", r.Season, side)
	}
	cell := Cell{Season: int16(r.Season), Stratum: r.Stratum, Hand: hand, Side: side, Type: kind}
	if a.now = a.cells[cell]; a.now == nil {
		a.now = &draftTable{cell: cell, curves: make([]draft, len(a.t.Variables))}
		a.cells[cell] = a.now
	}
	switch r.Table {
	case tableTotal, tableBatterTotal:
		a.at = &a.now.total
	case tableBin, tablePart, tableBatter:
		v, ok := a.variables[r.Variable]
		if !ok {
			return fmt.Errorf("variable %q is not in the metadata", r.Variable)
		}
		a.at = &a.now.curves[v]
	default:
		return fmt.Errorf("table %q", r.Table)
	}
	return nil
}

// tally sorts what was read and checks that bins add up to totals.
func (a *assembler) tally() (*Tally, error) {
	t := a.t
	if sum := fmt.Sprintf("%016x", a.digest.sum); a.wanted != "" && sum != a.wanted {
		return nil, fmt.Errorf("damaged file: the rows' digest is %s, the metadata say %s", sum, a.wanted)
	}
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
	slices.SortFunc(d.parts, func(a, b PartRow) int { return cmp.Compare(a.Part, b.Part) })
	c := Curve{Rows: rows, BatterCounts: batters, Parts: d.parts}
	i, j := 0, 0
	for i < len(rows) {
		bin := rowBins[i]
		c.Bins = append(c.Bins, bin)
		c.startAt(i, j)
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
		c.startAt(i, j)
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

// agree reports a curve whose bins do not add up to the cell's totals, or whose parts
// do not add up to each bin.
func agree(t *CellTable, variable int) error {
	c := &t.Curves[variable]
	if len(c.Bins) == 0 && (t.Cell.Stratum != AllStrata || len(t.Totals) == 0) {
		return nil
	}
	var bins, totals outcome.Counts
	add := func(dst *outcome.Counts, n *outcome.Counts, err *error) {
		if e := dst.Add(n); e != nil {
			*err = e
		}
	}
	var err error
	uneven, at := false, 0
	for i, b := range c.Bins {
		var bin, parts outcome.Counts
		for k := range c.Bin(i) {
			add(&bin, &c.Bin(i)[k].Counts, &err)
		}
		for ; at < len(c.Parts) && BinOf(c.Parts[at].Part) == b; at++ {
			add(&parts, &c.Parts[at].Counts, &err)
			if at > 0 && c.Parts[at].Part == c.Parts[at-1].Part {
				err = errors.New("a part is told twice")
			}
		}
		add(&bins, &bin, &err)
		uneven = uneven || len(c.Parts) > 0 && b != MissingBin && parts != bin
	}
	for i := range t.Totals {
		add(&totals, &t.Totals[i].Counts, &err)
	}
	bins.SwingD, bins.SwingD2, bins.ResultD, bins.ResultD2 = 0, 0, 0, 0
	switch {
	case err != nil:
		return err
	case bins != totals:
		return errors.New("the bins do not add up to the totals")
	case uneven || at < len(c.Parts):
		return errors.New("the parts do not add up to the bins")
	}
	return nil
}
