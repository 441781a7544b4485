package ingest

import (
	"context"
	"errors"

	"github.com/parquet-go/parquet-go"

	"sill/pipeline/pitch"
)

// Where the columns stand that the package itself looks at.
var (
	pitcherAt    = pitch.Place("pitcher")
	handAt       = pitch.Place("hand")
	sideAt       = pitch.Place("side")
	typeAt       = pitch.Place("pitch_type")
	outcomeAt    = pitch.Place("outcome")
	resultAt     = pitch.Place("result")
	batterAt     = pitch.Place("batter")
	gameAt       = pitch.Place("game")
	seasonAt     = pitch.Place("season")
	dateAt       = pitch.Place("date")
	gameTypeAt   = pitch.Place("game_type")
	levelAt      = pitch.Place("level")
	venueAt      = pitch.Place("venue")
	inningAt     = pitch.Place("inning")
	halfAt       = pitch.Place("half")
	appearanceAt = pitch.Place("plate_appearance")
	numberAt     = pitch.Place("pitch_number")
	buntAt       = pitch.Place("bunt")
	fielderAt    = pitch.Place("position_player")
	battingAt    = pitch.Place("batter_is_pitcher")
)

// slot is one canonical column of a decoder: how the file gives it, what its
// source's values mean, and its values in the rows at hand, in the array of its
// kind. It is empty where the profile maps nothing.
type slot struct {
	*field
	ids   []int32   // Text: places in list, −1 where missing
	codes []uint8   // Category and YesNo: 0 where missing
	days  []int32   // Day: pitch.NoDate where missing
	nums  []float64 // Real and Whole: NaN where missing

	list   []string // Text: the texts that the file holds
	places map[string]int32
	// What the source's values mean, where it is worked out once: of missing values,
	// of words by their code, and of integers where the column holds no numbers.
	null, once reading
	words      []reading
	integers   map[int64]*reading
}

// text returns the text at a row, "" where it is missing.
func (s *slot) text(row int) string {
	if id := s.id(row); id >= 0 {
		return s.list[id]
	}
	return ""
}

func (s *slot) id(row int) int32 {
	if s.ids == nil {
		return -1
	}
	return s.ids[row]
}

func (s *slot) code(row int) uint8 {
	if s.codes == nil {
		return 0
	}
	return s.codes[row]
}

func (s *slot) day(row int) int32 {
	if s.days == nil {
		return pitch.NoDate
	}
	return s.days[row]
}

func (s *slot) num(row int) float64 {
	if s.nums == nil {
		return pitch.Missing()
	}
	return s.nums[row]
}

// count returns a counting number, −1 where it is missing.
func (s *slot) count(row int) int32 {
	if x := s.num(row); x == x {
		return int32(x)
	}
	return -1
}

// has tells whether the column holds a value at a row.
func (s *slot) has(row int) bool {
	switch s.col.Kind {
	case pitch.Text:
		return s.ids[row] >= 0
	case pitch.Day:
		return s.days[row] != pitch.NoDate
	case pitch.Real, pitch.Whole:
		return s.nums[row] == s.nums[row]
	}
	return s.codes[row] != 0
}

// batch is a run of rows in canonical columns.
type batch struct {
	group, n   int
	first      int64   // row number in the file of row 0
	slots      []slot  // by place in the dictionary
	mapped     []*slot // those that the profile maps
	fault      []uint8 // first check of a value that is met, 0 = none
	faultPlace []int16 // of the column
	filtered   []uint8 // check that leaves the row out, 0 = none
	nan        []bool
}

// decoder reads one file under a plan. It is used by one goroutine.
type decoder struct {
	*plan
	src     *source
	vecs    []vector
	cursors []cursor
	batch
	buf     []byte
	column  string // being read, for messages
	checked bool   // whether pages were walked (first pass)
	crc     bool
	unknown map[unknownKey]int64
}

type unknownKey struct {
	place int
	value string
}

func newDecoder(pl *plan, walkPages bool) (*decoder, error) {
	src, err := open(pl.file)
	if err != nil {
		return nil, err
	}
	info, err := src.f.Stat()
	if err == nil && (info.Size() != pl.size || !info.ModTime().Equal(pl.modTime)) ||
		src.pf.NumRows() != pl.rows || len(src.pf.Metadata().RowGroups) != len(pl.groups) {
		err = pl.file.fail(-1, "", "do not change inputs during a run", nil, "the file changed while it was read")
	}
	if err != nil {
		src.close()
		return nil, err
	}
	d := &decoder{plan: pl, src: src, checked: walkPages, crc: true, unknown: map[unknownKey]int64{}}
	d.vecs = make([]vector, len(pl.uses))
	for i := range d.vecs {
		d.vecs[i].typ = pl.uses[i].typ
	}
	d.slots = make([]slot, len(pitch.Dictionary))
	for i := range pl.fields {
		s := &d.slots[pl.fields[i].place]
		s.field, s.places = &pl.fields[i], map[string]int32{}
		if s.use >= 0 && !s.col.Kind.Number() && (pl.uses[s.use].typ.class == classInt || pl.uses[s.use].typ.class == classBool) {
			s.integers = map[int64]*reading{}
		}
		d.mapped = append(d.mapped, s)
	}
	return d, nil
}

func (d *decoder) close() {
	for i := range d.cursors {
		d.cursors[i].close()
	}
	d.src.close()
}

// readGroup decodes one row group and calls f with each batch of it in d, whose
// memory is reused.
func (d *decoder) readGroup(ctx context.Context, group, batchRows int, f func() error) error {
	first := int64(0)
	for _, n := range d.groups[:group] {
		first += n
	}
	if err := d.guarded(group, func() error { return d.startGroup(group) }); err != nil {
		return err
	}
	left := d.groups[group]
	for left > 0 {
		if err := ctx.Err(); err != nil {
			return err
		}
		n := int(min(left, int64(batchRows)))
		if err := d.guarded(group, func() error { return d.readBatch(n) }); err != nil {
			return err
		}
		d.group, d.n, d.first = group, n, first
		d.convert()
		if err := f(); err != nil {
			return err
		}
		first += int64(n)
		left -= int64(n)
	}
	return d.guarded(group, d.endGroup)
}

// guarded runs a reading step; a panic of the Parquet library or an error of
// it becomes a FileError.
func (d *decoder) guarded(group int, fn func() error) error {
	err := recovered(d.file, fn)
	var fe *FileError
	switch {
	case err == nil:
		return nil
	case !errors.As(err, &fe):
		return d.file.damaged(group, d.column, err, "cannot be decoded")
	case fe.RowGroup < 0 && fe.Column == "":
		fe.RowGroup, fe.Column = group, d.column
	}
	return err
}

func (d *decoder) startGroup(group int) error {
	for i := range d.cursors {
		d.cursors[i].close()
	}
	d.cursors = make([]cursor, len(d.uses))
	for i := range d.uses {
		u := &d.uses[i]
		if u.path == nil {
			continue
		}
		d.column = u.name
		leaf, err := d.src.leaf(u)
		if err != nil {
			return err
		}
		meta, err := d.src.chunkMeta(group, leaf, u.name)
		if err != nil {
			return err
		}
		if d.checked {
			crc, err := d.src.checkPages(group, u.name, meta, &d.buf)
			if err != nil {
				return err
			}
			d.crc = d.crc && crc
		}
		chunk, ok := d.src.pf.RowGroups()[group].ColumnChunks()[leaf.Index()].(*parquet.FileColumnChunk)
		if !ok {
			return errors.New("no chunk of a file")
		}
		d.cursors[i] = cursor{pages: chunk.PagesFrom(d.src.f), max: byte(leaf.MaxDefinitionLevel())}
	}
	return nil
}

func (d *decoder) readBatch(n int) error {
	for i := range d.uses {
		u := &d.uses[i]
		d.column = u.name
		if u.path == nil {
			u.fill(&d.vecs[i], n)
		} else if err := d.cursors[i].read(&d.vecs[i], n); err != nil {
			return err
		}
	}
	return nil
}

func (d *decoder) endGroup() error {
	for i := range d.uses {
		if d.uses[i].path != nil {
			d.column = d.uses[i].name
			if err := d.cursors[i].end(&d.vecs[i]); err != nil {
				return err
			}
			d.cursors[i].close()
		}
	}
	return nil
}
