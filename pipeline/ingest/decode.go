package ingest

import (
	"context"
	"errors"
	"math"
	"strconv"
	"strings"
	"time"

	"github.com/parquet-go/parquet-go"

	"sill/pipeline/pitch"
)

// unmapped marks a category value that the profile does not map.
const unmapped = 0xFF

// texts holds the canonical texts of one identity column of one decoder.
type texts struct {
	ids   map[string]int32
	list  []string
	codes []int32 // by code of the source's words, −2 = not yet known
	ints  map[int64]int32
}

func (t *texts) id(s string) int32 {
	if i, ok := t.ids[s]; ok {
		return i
	}
	if t.ids == nil {
		t.ids = map[string]int32{}
	}
	i := int32(len(t.list))
	t.list = append(t.list, s)
	t.ids[s] = i
	return i
}

// batch is a run of rows in canonical columns. Which arrays are filled follows
// from the plan: those of columns without a field are nil.
type batch struct {
	group, n                                             int
	first                                                int64 // row number in the file of row 0
	num                                                  [pitch.Numbers][]float64
	hand, side, kind, outcome, result                    []uint8
	bunt, fielder, batting                               []uint8
	pitcher, batter, game, gameType, level, venue, clubs []int32
	away                                                 []int32
	date                                                 []int32
	season                                               []float64
	fault                                                []uint8 // first rule broken, 0 = none
	faultField                                           []int16
	filtered                                             []uint8 // rule that leaves the row out, 0 = none
	nan                                                  []bool
}

// decoder reads one file under a plan. It is used by one goroutine.
type decoder struct {
	*plan
	src     *source
	vecs    []vector
	cursors []cursor
	texts   []texts     // by field
	memo    [][]memoed  // by field, by code of the source's words
	last    []lastValue // by field
	b       batch
	buf     []byte
	column  string // being read, for messages
	checked bool   // whether pages were walked (first pass)
	crc     bool
	unknown map[unknownKey]int64
}

type unknownKey struct {
	field int
	value string
}

// memoed is what one source text means.
type memoed struct {
	known bool
	rule  uint8
	code  uint8
	num   float64
}

type lastValue struct {
	ok   bool
	i    int64
	code uint8
	rule uint8
}

func newDecoder(pl *plan, walkPages bool) (*decoder, error) {
	src, err := open(pl.file)
	if err != nil {
		return nil, err
	}
	info, err := src.f.Stat()
	if err == nil && (info.Size() != pl.size || !info.ModTime().Equal(pl.modTime)) || src.pf.NumRows() != pl.rows || len(src.pf.Metadata().RowGroups) != len(pl.groups) {
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
	d.texts = make([]texts, len(pl.fields))
	d.memo = make([][]memoed, len(pl.fields))
	d.last = make([]lastValue, len(pl.fields))
	return d, nil
}

func (d *decoder) close() {
	for i := range d.cursors {
		d.cursors[i].close()
	}
	d.src.close()
}

// readGroup decodes one row group and calls f with each batch, whose memory is
// reused.
func (d *decoder) readGroup(ctx context.Context, group, batchRows int, f func(*batch) error) error {
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
		d.b.group, d.b.n, d.b.first = group, n, first
		d.convert()
		if err := f(&d.b); err != nil {
			return err
		}
		first += int64(n)
		left -= int64(n)
	}
	return d.guarded(group, d.endGroup)
}

// guarded runs a reading step; a panic of the Parquet library or an error of
// it becomes a FileError.
func (d *decoder) guarded(group int, fn func() error) (err error) {
	defer func() {
		if r := recover(); r != nil {
			err = d.file.fail(group, d.column, "the file is damaged: ask for it again", nil, "the Parquet reader gave up: %v", r)
		}
		var fe *FileError
		if err != nil && !errors.As(err, &fe) {
			err = d.file.fail(group, d.column, "the file is damaged: ask for it again", err, "cannot be decoded")
		}
	}()
	return fn()
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

// setFault records the first rule that a row breaks.
func (b *batch) setFault(row int, rule uint8, field int) {
	if b.fault[row] == 0 {
		b.fault[row], b.faultField[row] = rule, int16(field)
	}
}

// convert turns the vectors into canonical columns.
func (d *decoder) convert() {
	b := &d.b
	n := b.n
	b.fault, b.faultField = grow(b.fault, n), grow(b.faultField, n)
	b.filtered, b.nan = grow(b.filtered, n), grow(b.nan, n)
	clear(b.fault)
	clear(b.filtered)
	clear(b.nan)
	for i := range d.filters {
		f := &d.filters[i]
		for row := range n {
			if (f.list.find(&d.vecs[f.use], row) != none) != f.in && b.filtered[row] == 0 {
				b.filtered[row] = ruleFiltered
			}
		}
	}
	for i := range d.fields {
		f := &d.fields[i]
		switch f.col.Kind {
		case pitch.Text:
			d.convertText(i, f, d.textColumn(f.col.Name))
		case pitch.Category:
			d.convertCategory(i, f, d.codeColumn(f.col.Name))
		case pitch.YesNo:
			d.convertCategory(i, f, d.codeColumn(f.col.Name))
		case pitch.Day:
			d.convertDay(i, f)
		default:
			d.convertNumber(i, f)
		}
	}
	if d.ban {
		b.leaveOut(b.fielder, ruleExcludedPitcher)
	}
	if d.benched {
		b.leaveOut(b.batting, rulePitcherBats)
	}
	d.countUnknown()
}

// leaveOut filters the rows that a mark says yes to; a mark that the file lacks is nil.
func (b *batch) leaveOut(mark []uint8, rule uint8) {
	for row, v := range mark {
		if pitch.Flag(v) == pitch.Yes && b.filtered[row] == 0 {
			b.filtered[row] = rule
		}
	}
}

func (d *decoder) textColumn(name string) *[]int32 {
	switch name {
	case "pitcher":
		return &d.b.pitcher
	case "batter":
		return &d.b.batter
	case "game":
		return &d.b.game
	case "game_type":
		return &d.b.gameType
	case "level":
		return &d.b.level
	case "venue":
		return &d.b.venue
	case "home_club":
		return &d.b.clubs
	}
	return &d.b.away
}

func (d *decoder) numberColumn(f *field) []float64 {
	if f.col.Name == "season" {
		return d.b.season
	}
	return d.b.num[f.col.Number]
}

func (d *decoder) codeColumn(name string) *[]uint8 {
	switch name {
	case "hand":
		return &d.b.hand
	case "side":
		return &d.b.side
	case "pitch_type":
		return &d.b.kind
	case "outcome":
		return &d.b.outcome
	case "result":
		return &d.b.result
	case "bunt":
		return &d.b.bunt
	case "batter_is_pitcher":
		return &d.b.batting
	}
	return &d.b.fielder
}

// textOf works out the canonical text of one source value.
func (f *field) textOf(v *vector, row int) (s string, rule uint8) {
	if v.null[row] || f.missing.find(v, row) != none {
		return "", 0
	}
	if i := f.values.find(v, row); i != none {
		t := f.targets[i]
		if t.reject {
			return "", ruleRejectedValue
		}
		return t.text, 0
	}
	switch v.typ.class {
	case classText:
		return v.words.list[v.code[row]], 0
	case classFloat:
		x := v.f[row]
		if x != x {
			return "", 0
		}
		if x != math.Trunc(x) || math.Abs(x) >= 1<<53 {
			return "", ruleNotWhole
		}
		return strconv.FormatInt(int64(x), 10), 0
	}
	return strconv.FormatInt(v.i[row], 10), 0
}

func (d *decoder) convertText(i int, f *field, to *[]int32) {
	b, t := &d.b, &d.texts[i]
	*to = grow(*to, b.n)
	out := *to
	for row := range out {
		out[row] = -1
	}
	if f.use < 0 {
		return
	}
	v := &d.vecs[f.use]
	const unknown, faulty = -2, -10 // faulty − rule marks a rule
	resolve := func(row int) int32 {
		s, rule := f.textOf(v, row)
		switch {
		case rule != 0:
			return faulty - int32(rule)
		case s == "":
			return -1
		}
		return t.id(s)
	}
	for row := range out {
		if v.null[row] {
			continue
		}
		var id int32
		switch v.typ.class {
		case classText:
			c := int(v.code[row])
			for len(t.codes) <= c {
				t.codes = append(t.codes, unknown)
			}
			if id = t.codes[c]; id == unknown {
				id = resolve(row)
				t.codes[c] = id
			}
		case classInt, classBool:
			var ok bool
			if id, ok = t.ints[v.i[row]]; !ok {
				if t.ints == nil {
					t.ints = map[int64]int32{}
				}
				id = resolve(row)
				t.ints[v.i[row]] = id
			}
		default:
			id = resolve(row)
		}
		if id <= faulty {
			b.setFault(row, uint8(faulty-id), i)
			id = -1
		}
		out[row] = id
	}
	for row, id := range out {
		switch {
		case id < 0 && f.col.Required:
			b.setFault(row, ruleMissingValue, i)
		case f.col.Name == "game_type" && d.types != nil && b.filtered[row] == 0 && (id < 0 || !d.types[t.list[id]]):
			b.filtered[row] = ruleGameType
		case f.col.Name == "pitcher" && id >= 0 && d.banned != nil && b.filtered[row] == 0 && d.banned[t.list[id]]:
			b.filtered[row] = ruleExcludedPitcher
		}
	}
}

// codeOf works out the category or flag of one source value.
func (f *field) codeOf(v *vector, row int) (code, rule uint8) {
	if v.null[row] {
		if v.typ.class != classText || f.values.null == none {
			return 0, 0
		}
	}
	if f.missing.find(v, row) != none {
		return 0, 0
	}
	if i := f.values.find(v, row); i != none {
		t := f.targets[i]
		if t.reject {
			return 0, ruleRejectedValue
		}
		return t.code, 0
	}
	if v.null[row] || v.typ.class == classText && v.words.list[v.code[row]] == "" {
		return 0, 0
	}
	if v.typ.class == classFloat && v.f[row] != v.f[row] {
		return 0, 0
	}
	if f.listed {
		return unmapped, 0
	}
	if f.col.Kind == pitch.YesNo {
		switch strings.ToLower(v.value(row)) {
		case "true", "1", "yes":
			return uint8(pitch.Yes), 0
		case "false", "0", "no":
			return uint8(pitch.No), 0
		}
		return unmapped, 0
	}
	if c, err := parseWord(f.col.Name, v.value(row)); err == nil {
		return c, 0
	}
	return unmapped, 0
}

func (d *decoder) convertCategory(i int, f *field, to *[]uint8) {
	b := &d.b
	*to = grow(*to, b.n)
	out := *to
	clear(out)
	if f.use < 0 {
		return
	}
	v := &d.vecs[f.use]
	last := &d.last[i]
	for row := range out {
		var code, rule uint8
		switch {
		case v.null[row]:
			code, rule = f.codeOf(v, row)
		case v.typ.class == classText:
			m := d.memoOf(i, int(v.code[row]))
			if !m.known {
				m.code, m.rule = f.codeOf(v, row)
				m.known = true
			}
			code, rule = m.code, m.rule
		case v.typ.class == classFloat:
			code, rule = f.codeOf(v, row)
		default:
			if !last.ok || last.i != v.i[row] {
				last.ok, last.i = true, v.i[row]
				last.code, last.rule = f.codeOf(v, row)
			}
			code, rule = last.code, last.rule
		}
		if rule != 0 {
			b.setFault(row, rule, i)
		}
		out[row] = code
	}
	switch f.col.Name {
	case "side":
		for row, s := range out {
			if pitch.Side(s) != pitch.SwitchSide {
				continue
			}
			out[row] = uint8(pitch.UnknownSide)
			if d.opposite && b.hand[row] != unmapped {
				switch pitch.Hand(b.hand[row]) {
				case pitch.LeftHand:
					out[row] = uint8(pitch.RightSide)
				case pitch.RightHand:
					out[row] = uint8(pitch.LeftSide)
				}
			}
			if out[row] == 0 {
				b.setFault(row, ruleSideUnresolved, i)
			}
		}
		fallthrough
	case "hand", "outcome":
		for row, c := range out {
			if c == 0 {
				b.setFault(row, ruleMissingValue, i)
			}
		}
	}
}

func (d *decoder) memoOf(field, code int) *memoed {
	m := d.memo[field]
	for len(m) <= code {
		m = append(m, memoed{})
	}
	d.memo[field] = m
	return &m[code]
}

// countUnknown counts the values that the profile does not map, among rows
// that no filter leaves out.
func (d *decoder) countUnknown() {
	for i := range d.fields {
		f := &d.fields[i]
		if f.use < 0 || f.col.Kind != pitch.Category && f.col.Kind != pitch.YesNo {
			continue
		}
		out := *d.codeColumn(f.col.Name)
		for row, c := range out {
			if c != unmapped {
				continue
			}
			out[row] = 0
			if d.b.filtered[row] == 0 {
				d.unknown[unknownKey{i, d.vecs[f.use].value(row)}]++
			}
		}
	}
}

func (d *decoder) convertDay(i int, f *field) {
	b := &d.b
	b.date = grow(b.date, b.n)
	if f.use < 0 {
		for row := range b.date {
			b.date[row] = pitch.NoDate
		}
		return
	}
	v := &d.vecs[f.use]
	for row := range b.date {
		b.date[row] = pitch.NoDate
		if v.null[row] || !f.missing.empty() && f.missing.find(v, row) != none {
			continue
		}
		var day int64
		ok := true
		switch v.typ.class {
		case classDate:
			day = v.i[row]
		case classTime:
			day, ok = f.instantDay(v.typ, v.i[row])
		case classText:
			m := d.memoOf(i, int(v.code[row]))
			if !m.known {
				m.known = true
				if s := v.words.list[v.code[row]]; s == "" {
					m.code = 1
				} else if x, ok := parseDay(f.layout, s, f.zone); ok {
					m.num = float64(x)
				} else {
					m.rule = ruleNotADate
				}
			}
			if m.code == 1 {
				continue
			}
			day, ok = int64(m.num), m.rule == 0
		default:
			day, ok = parseDay(f.layout, v.value(row), f.zone)
		}
		if !ok || day < -1e6 || day > 1e6 {
			b.setFault(row, ruleNotADate, i)
			continue
		}
		b.date[row] = int32(day)
	}
}

// instantDay is the date of a timestamp: of an instant in the profile's zone,
// of a wall clock as it stands.
func (f *field) instantDay(t leafType, ticks int64) (int64, bool) {
	perDay := int64(24*time.Hour) / t.tick
	if t.utc && f.zone != time.UTC {
		perSecond := int64(time.Second) / t.tick
		s := floorDiv(ticks, perSecond)
		if s < -1e11 || s > 1e11 {
			return 0, false
		}
		return civilDay(time.Unix(s, 0).In(f.zone)), true
	}
	return floorDiv(ticks, perDay), true
}

func floorDiv(a, b int64) int64 {
	q := a / b
	if a%b < 0 {
		q--
	}
	return q
}

func (d *decoder) convertNumber(i int, f *field) {
	b := &d.b
	to := &b.num[f.col.Number]
	if f.col.Name == "season" {
		to = &b.season
	}
	*to = grow(*to, b.n)
	out := *to
	nan := math.NaN()
	if f.use < 0 {
		for row := range out {
			out[row] = nan
		}
		return
	}
	v := &d.vecs[f.use]
	switch v.typ.class {
	case classFloat:
		for row, x := range v.f[:b.n] {
			switch {
			case v.null[row]:
				x = nan
			case x != x:
				b.nan[row] = true
			}
			out[row] = x
		}
	case classInt:
		for row, x := range v.i[:b.n] {
			out[row] = float64(x)
			if v.null[row] {
				out[row] = nan
			}
		}
	case classText:
		for row := range out {
			if v.null[row] {
				out[row] = nan
				continue
			}
			m := d.memoOf(i, int(v.code[row]))
			if !m.known {
				m.known, m.num = true, nan
				if s := v.words.list[v.code[row]]; s != "" && f.missing.find(v, row) == none && f.values.find(v, row) == none {
					x, err := strconv.ParseFloat(s, 64)
					switch {
					case strings.ContainsAny(s, "xX_") || err != nil && !math.IsInf(x, 0):
						m.rule = ruleNotANumber
					case x != x:
						m.code = 1
					default:
						m.num = x
					}
				}
			}
			out[row] = m.num
			if m.rule != 0 {
				b.setFault(row, m.rule, i)
			} else if m.code == 1 {
				b.nan[row] = true
			}
		}
	}
	if !f.missing.empty() {
		for row := range out {
			if f.missing.find(v, row) != none {
				out[row] = nan
			}
		}
	}
	scale := f.mul != 1 || f.div != 1
	whole := f.col.Kind == pitch.Whole
	lo, hi := f.col.Min, f.col.Max
	for row, x := range out {
		if scale {
			x = float64(x*f.mul) / f.div
		}
		x *= f.sign
		if f.byHand {
			x *= pitch.Hand(b.hand[row] & 3).ArmSide()
		}
		x += 0 // no negative zero
		out[row] = x
		if x >= lo && x <= hi && (!whole || x == math.Trunc(x)) || x != x {
			continue
		}
		switch {
		case math.IsInf(x, 0):
			b.setFault(row, ruleNotFinite, i)
		case x < lo || x > hi:
			b.setFault(row, ruleOutOfRange, i)
		default:
			b.setFault(row, ruleNotWhole, i)
		}
		out[row] = nan
	}
	if f.listed {
		d.mapNumbers(i, f, v, out)
	}
}

// mapNumbers applies a value map of a number column.
func (d *decoder) mapNumbers(i int, f *field, v *vector, out []float64) {
	for row := range out {
		k := f.values.find(v, row)
		if k == none {
			continue
		}
		// A mapped value replaces whatever the source value alone would be.
		if d.b.fault[row] != 0 && int(d.b.faultField[row]) == i {
			d.b.fault[row] = 0
		}
		switch t := f.targets[k]; {
		case t.reject:
			d.b.setFault(row, ruleRejectedValue, i)
			out[row] = math.NaN()
		case t.missing:
			out[row] = math.NaN()
		case t.num < f.col.Min || t.num > f.col.Max:
			d.b.setFault(row, ruleOutOfRange, i)
			out[row] = math.NaN()
		default:
			out[row] = t.num
		}
	}
}
