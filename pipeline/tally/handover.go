package tally

import (
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"strings"

	"github.com/parquet-go/parquet-go"
	"github.com/parquet-go/parquet-go/compress/zstd"

	"sill/pipeline/outcome"
)

// The hand-over file is one flat Parquet table that any engine can write or
// read; record is its schema, one row for each of these:
//
//	table         a row counts                                           filled besides the cell
//	total         all pitches of one pitcher in a cell                   cluster, counts
//	bin           those of one pitcher in one bin of one variable        cluster, variable, bin, counts, sums of offsets
//	part          those of all pitchers in one quarter of a bin           variable, bin, counts, sums of offsets
//	batter_total  the eligible events of one batter in a cell            cluster, counts but pitches
//	batter        those of one batter in one bin of one variable         cluster, variable, bin, counts but pitches
//
// A bin is floor(value ÷ width), with the value rounded to whole quanta first;
// null is the missing bin. Offsets are in quanta from the bin's lower edge.
// The bin of a part is 4·bin + its place in the bin, floor(4·offset ÷ width). Parts
// may be left out for a whole variable of a cell: breakpoints are then told by bins.
// Rows may stand in any order, each at most once; those of zero counts are left
// out. The key-value metadata metaKey holds the rest as JSON (meta).
type record struct {
	Table     string `parquet:"table,dict"`
	Season    int32  `parquet:"season,dict"`
	Stratum   string `parquet:"stratum,dict"`
	Hand      string `parquet:"hand,dict"`
	Side      string `parquet:"side,dict"`
	PitchType string `parquet:"pitch_type,dict"` // empty for an unknown type
	Variable  string `parquet:"variable,dict"`
	Bin       *int32 `parquet:"bin,optional,dict"`
	Cluster   string `parquet:"cluster,dict"`

	Pitches        int64 `parquet:"pitches,delta"`
	Swings         int64 `parquet:"swings,delta"`
	Whiffs         int64 `parquet:"whiffs,delta"` // foul tips apart
	FoulTips       int64 `parquet:"foul_tips,delta"`
	Strikeouts     int64 `parquet:"strikeouts,delta"`
	Walks          int64 `parquet:"walks,delta"`
	HitByPitch     int64 `parquet:"hit_by_pitch,delta"`
	Singles        int64 `parquet:"singles,delta"`
	Doubles        int64 `parquet:"doubles,delta"`
	Triples        int64 `parquet:"triples,delta"`
	HomeRuns       int64 `parquet:"home_runs,delta"`
	ReachedOnError int64 `parquet:"reached_on_error,delta"`
	SacrificeFlies int64 `parquet:"sacrifice_flies,delta"`
	OtherOuts      int64 `parquet:"other_outs,delta"`
	SwingOffset    int64 `parquet:"swing_offset,delta"`         // Σd over swings
	SwingOffset2   int64 `parquet:"swing_offset_squared,delta"` // Σd² over swings
	ResultOffset   int64 `parquet:"result_offset,delta"`        // Σd over counted plate appearances
	ResultOffset2  int64 `parquet:"result_offset_squared,delta"`
}

// The values of record.Table.
const (
	tableTotal       = "total"
	tableBin         = "bin"
	tablePart        = "part"
	tableBatterTotal = "batter_total"
	tableBatter      = "batter"
)

// metaKey is the key of the metadata.
const metaKey = "sill.tally"

// formatVersion counts changes of the schema: 2 brought the parts. A file of the
// first format is read as one that leaves them out.
const formatVersion = 2

// meta is the JSON of the key-value metadata.
type meta struct {
	Format    int            `json:"format"`
	Variables []metaVariable `json:"variables"`
	Strata    []string       `json:"strata,omitempty"`
	Games     []string       `json:"games"`
	Notes     Notes          `json:"notes"`
	Digest    string         `json:"digest,omitempty"` // of the rows (digest); another engine may leave it out
}

type metaVariable struct {
	Name       string `json:"name"`
	Unit       string `json:"unit"`
	Definition string `json:"definition"`
	WidthQ     int64  `json:"width_quanta"`
	PerUnit    int64  `json:"quanta_per_unit"`
	Step       int64  `json:"step_quanta"`
}

// rowGroup is the number of rows of a row group.
const rowGroup = 1 << 16

// sameCurve tells whether two records count the same thing in the same cell.
func (r *record) sameCurve(o *record) bool {
	return r.Table == o.Table && r.Season == o.Season && r.Stratum == o.Stratum && r.Hand == o.Hand &&
		r.Side == o.Side && r.PitchType == o.PitchType && r.Variable == o.Variable
}

// results returns the result columns in the order of the classes.
func (r *record) results() [outcome.Classes]*int64 {
	return [...]*int64{&r.Strikeouts, &r.Walks, &r.HitByPitch, &r.Singles, &r.Doubles, &r.Triples,
		&r.HomeRuns, &r.ReachedOnError, &r.SacrificeFlies, &r.OtherOuts}
}

// numberColumns is how many columns of record hold counts and sums.
const numberColumns = 4 + outcome.Classes + 4

// numbers returns the columns of counts and sums in their order.
func (r *record) numbers() (out [numberColumns]*int64) {
	out = [numberColumns]*int64{&r.Pitches, &r.Swings, &r.Whiffs, &r.FoulTips}
	results := r.results()
	copy(out[4:], results[:])
	copy(out[4+outcome.Classes:], []*int64{&r.SwingOffset, &r.SwingOffset2, &r.ResultOffset, &r.ResultOffset2})
	return out
}

// Write writes the hand-over file of a tally. The same tally gives the same
// bytes.
func Write(w io.Writer, t *Tally) error {
	m := meta{Format: formatVersion, Strata: t.Strata, Games: t.Games, Notes: t.Notes}
	for _, v := range t.Variables {
		m.Variables = append(m.Variables, metaVariable(v))
	}
	out := &recordWriter{digest: newDigest(), batch: make([]record, 0, 4096), w: parquet.NewGenericWriter[record](w,
		parquet.Compression(&zstd.Codec{Level: zstd.SpeedFastest}),
		parquet.MaxRowsPerRowGroup(rowGroup),
		parquet.CreatedBy("sill", "1", ""),
		parquet.DataPageStatistics(false))}
	for i := range t.Cells {
		table := &t.Cells[i]
		out.cell(table.Cell)
		out.table(tableTotal, "", nil)
		out.rows(table.Totals, t.Pitchers)
		out.table(tableBatterTotal, "", nil)
		out.batters(table.BatterTotals, t.Batters)
		for v := range table.Curves {
			c := &table.Curves[v]
			for b := range c.Bins {
				bin := &c.Bins[b]
				if *bin == MissingBin {
					bin = nil
				}
				out.table(tableBin, t.Variables[v].Name, bin)
				out.rows(c.Bin(b), t.Pitchers)
				out.table(tableBatter, t.Variables[v].Name, bin)
				out.batters(c.BatterBin(b), t.Batters)
			}
			for i := range c.Parts {
				out.table(tablePart, t.Variables[v].Name, &c.Parts[i].Part)
				out.next("").fill(&c.Parts[i].Counts)
			}
		}
	}
	out.flush()
	m.Digest = fmt.Sprintf("%016x", out.digest.sum)
	text, err := json.Marshal(m)
	out.w.SetKeyValueMetadata(metaKey, string(text))
	if err := errors.Join(err, out.err, out.w.Close()); err != nil {
		return fmt.Errorf("write tally: %w", err)
	}
	return nil
}

// recordWriter writes records in batches; the first error stops it.
type recordWriter struct {
	w      *parquet.GenericWriter[record]
	now    record // the fields that stay the same for some rows
	batch  []record
	digest *digest
	err    error
}

func (o *recordWriter) cell(c Cell) {
	o.now = record{Season: int32(c.Season), Stratum: c.Stratum, Hand: c.Hand.String(),
		Side: c.Side.String(), PitchType: c.Type.String()}
}

func (o *recordWriter) table(name, variable string, bin *int32) {
	o.now.Table, o.now.Variable, o.now.Bin = name, variable, bin
}

func (o *recordWriter) rows(rows []Row, names []string) {
	for i := range rows {
		row := &rows[i]
		o.next(names[row.Cluster]).fill(&row.Counts)
	}
}

// fill sets the counts and sums.
func (r *record) fill(c *outcome.Counts) {
	r.Pitches, r.Swings = int64(c.Pitches), int64(c.Swings)
	r.Whiffs, r.FoulTips = int64(c.Whiffs), int64(c.FoulTips)
	for class, dst := range r.results() {
		*dst = int64(c.Results[class])
	}
	r.SwingOffset, r.SwingOffset2 = c.SwingD, c.SwingD2
	r.ResultOffset, r.ResultOffset2 = c.ResultD, c.ResultD2
}

func (o *recordWriter) batters(counts []BatterCount, names []string) {
	for i := 0; i < len(counts); {
		batter := counts[i].Batter
		r := o.next(names[batter])
		results := r.results()
		for ; i < len(counts) && counts[i].Batter == batter; i++ {
			n := counts[i].Count()
			switch e := counts[i].Event(); e {
			case outcome.ContactEvent:
				r.Swings += n
			case outcome.MissEvent:
				r.Swings, r.Whiffs = r.Swings+n, n
			case outcome.TipEvent:
				r.Swings, r.FoulTips = r.Swings+n, n
			default:
				*results[e-outcome.FirstResult] = n
			}
		}
	}
}

// next appends a record and returns it.
func (o *recordWriter) next(cluster string) *record {
	if len(o.batch) == cap(o.batch) {
		o.flush()
	}
	o.batch = append(o.batch, o.now)
	r := &o.batch[len(o.batch)-1]
	r.Cluster = cluster
	return r
}

func (o *recordWriter) flush() {
	for i := range o.batch {
		o.digest.add(&o.batch[i])
	}
	if o.err == nil && len(o.batch) > 0 {
		_, o.err = o.w.Write(o.batch)
	}
	o.batch = o.batch[:0]
}

// Read reads a hand-over file of size bytes. It refuses a file that is none,
// that another format version wrote, or whose counts contradict each other.
func Read(r io.ReaderAt, size int64) (t *Tally, err error) {
	// The Parquet library panics on some damaged files.
	defer func() {
		if p := recover(); p != nil {
			t, err = nil, fmt.Errorf("read tally: damaged file: %v", p)
		}
	}()
	t, err = read(r, size)
	if err != nil {
		return nil, fmt.Errorf("read tally: %w", err)
	}
	return t, nil
}

func read(r io.ReaderAt, size int64) (*Tally, error) {
	file, err := parquet.OpenFile(r, size, parquet.SkipPageIndex(true), parquet.SkipBloomFilters(true))
	if err != nil {
		return nil, err
	}
	text, ok := file.Lookup(metaKey)
	if !ok {
		return nil, fmt.Errorf("no hand-over file: the metadata %s is missing", metaKey)
	}
	var m meta
	if err := json.Unmarshal([]byte(text), &m); err != nil {
		return nil, fmt.Errorf("metadata %s: %w", metaKey, err)
	}
	if m.Format < 1 || m.Format > formatVersion {
		return nil, fmt.Errorf("format %d, this program reads up to %d", m.Format, formatVersion)
	}
	where, err := columnsOf(file.Schema())
	if err != nil {
		return nil, err
	}
	a, err := newAssembler(&m)
	if err != nil {
		return nil, err
	}
	for _, group := range file.RowGroups() {
		if err := a.addGroup(group, where); err != nil {
			return nil, err
		}
	}
	return a.tally()
}

// columnsOf returns, for each column of a file, its place among the columns of
// record, -1 for one that record lacks.
func columnsOf(s *parquet.Schema) ([]int, error) {
	where := make([]int, len(s.Columns()))
	for i := range where {
		where[i] = -1
	}
	want := parquet.SchemaOf(record{})
	var wrong []string
	for i, path := range want.Columns() {
		w, _ := want.Lookup(path...)
		g, ok := s.Lookup(path...)
		if !ok || g.Node.Type().Kind() != w.Node.Type().Kind() || g.Node.Repeated() {
			wrong = append(wrong, strings.Join(path, "."))
			continue
		}
		where[g.ColumnIndex] = i
	}
	if len(wrong) > 0 {
		return nil, fmt.Errorf("no hand-over file: columns %s are missing or of another type", strings.Join(wrong, ", "))
	}
	return where, nil
}
