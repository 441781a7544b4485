package ingest

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"maps"
	"math"
	"os"
	"slices"
	"sync"

	"sill/pipeline/parallel"
	"sill/pipeline/pitch"
)

// Season is an indexed input, ready to be delivered. The name covers several
// seasons just as well.
type Season struct {
	Names    Names
	Inputs   []Input // sorted by name
	Warnings []Warning

	plans   []*plan
	profile *Profile
	types   []pitch.Type // by their codes
	options Options
	offset  []int64 // global index of each file's first row
	status  []uint8 // by global row index
	present map[string]bool
	year    []int16            // season by game, where it follows from the date
	index   []map[string]int32 // by identity: the place of a name in its list
	// scopeHint says what to look at where no row is in scope.
	scopeHint string
	lost      int64 // results whose last row was a conflict or filtered
}

// A row's status is the result that stands on it, or one of these.
const (
	statusDuplicate uint8 = 0xF0 + iota
	statusConflict
	statusSuperseded
)

// Has tells whether a canonical column is mapped and holds at least one value
// in a row in scope.
func (s *Season) Has(column string) bool { return s.present[column] }

// Rows returns the number of rows of all inputs.
func (s *Season) Rows() int64 { return int64(len(s.status)) }

// entry is what the first pass keeps of a row: 32 bytes.
type entry struct {
	game, appearance, number int32 // −1 where missing
	inning, half             uint8 // 0 where missing
	result                   uint8
	filtered                 bool
	hash                     [16]byte
}

// identity is a text column by whose names a pitch is indexed. Pitchers are named by
// their keys.
type identity struct {
	place int // of the column
	of    func(*pitch.Pitch) *int32
	names func(*Names) *[]string
}

// identities lists them, the game first: its names are those of all rows.
var identities = []identity{
	{gameAt, func(p *pitch.Pitch) *int32 { return &p.Game }, func(n *Names) *[]string { return &n.Games }},
	{pitcherAt, func(p *pitch.Pitch) *int32 { return &p.Pitcher }, func(n *Names) *[]string { return &n.Pitchers }},
	{batterAt, func(p *pitch.Pitch) *int32 { return &p.Batter }, func(n *Names) *[]string { return &n.Batters }},
	{venueAt, func(p *pitch.Pitch) *int32 { return &p.Venue }, func(n *Names) *[]string { return &n.Venues }},
	{levelAt, func(p *pitch.Pitch) *int32 { return &p.Level }, func(n *Names) *[]string { return &n.Levels }},
}

// local numbers the names of an identity within a decoder: its texts, or for
// pitchers texts and hands.
func (is *identity) local(text int32, h uint8) int {
	if is.place == pitcherAt {
		return int(text)*3 + int(h)
	}
	return int(text)
}

// name returns the name that the rows of a text have.
func (is *identity) name(text string, h uint8) string {
	if is.place == pitcherAt {
		return pitch.PitcherKey{ID: text, Hand: pitch.Hand(h)}.String()
	}
	return text
}

// registry collects names from all workers. Its ids are provisional.
type registry struct {
	mu   sync.Mutex
	ids  map[string]int32
	list []string
}

func (r *registry) id(name string) int32 {
	r.mu.Lock()
	defer r.mu.Unlock()
	i, ok := r.ids[name]
	if !ok {
		i = int32(len(r.list))
		r.ids[name] = i
		r.list = append(r.list, name)
	}
	return i
}

// indexer is the state of the first pass.
type indexer struct {
	*Season
	rows       []entry
	registries []registry // by identity
	mu         sync.Mutex
	date       map[int32]int32 // first date by provisional game
	unknown    map[unknownAt]int64
	crc        []bool
	scope      int64
	byCheck    []int64 // rows in no scope
}

type unknownAt struct {
	file int
	key  unknownKey
}

// Index reads the files once; see the package's comment. Files may come in any
// order. Faults of the profile against the files' schemas, and values that it
// does not map, are reported for all files at once.
func Index(ctx context.Context, files []File, p *Profile, o Options) (*Season, error) {
	if err := errors.Join(o.Validate(), p.Validate()); err != nil {
		return nil, err
	}
	if len(files) == 0 {
		return nil, errors.New("index input: no files")
	}
	files = slices.Clone(files)
	sortFiles(files)
	for i := 1; i < len(files); i++ {
		if files[i].Name == files[i-1].Name {
			return nil, fmt.Errorf("index input: two files are called %s", files[i].Name)
		}
	}
	x := &indexer{Season: &Season{profile: p, types: p.types(), options: o, present: map[string]bool{}},
		registries: make([]registry, len(identities)), date: map[int32]int32{}, unknown: map[unknownAt]int64{},
		crc: slices.Repeat([]bool{true}, len(files)), byCheck: make([]int64, len(Checks))}
	for i := range x.registries {
		x.registries[i].ids = map[string]int32{}
	}
	if err := x.plan(ctx, files); err != nil {
		return nil, err
	}
	if err := x.read(ctx); err != nil {
		return nil, err
	}
	if err := x.unknownError(); err != nil {
		return nil, err
	}
	x.finishNames()
	if err := x.resolve(ctx); err != nil {
		return nil, err
	}
	x.warn()
	return x.Season, nil
}

// plan opens every file and resolves the profile against it.
func (x *indexer) plan(ctx context.Context, files []File) error {
	x.plans = make([]*plan, len(files))
	errs := make([]error, len(files))
	err := parallel.Each(ctx, x.options.workers(), len(files), func(_, i int) error {
		src, err := open(files[i])
		if err != nil {
			errs[i] = err
			return nil
		}
		defer src.close()
		errs[i] = recovered(files[i], func() (err error) {
			x.plans[i], err = newPlan(src, x.profile)
			return err
		})
		return nil
	})
	if err = errors.Join(err, errors.Join(errs...)); err != nil {
		return err
	}
	if err := absent(x.plans, x.profile); err != nil {
		return err
	}
	total := int64(0)
	for _, pl := range x.plans {
		x.offset = append(x.offset, total)
		x.Inputs = append(x.Inputs, Input{Name: pl.file.Name, Bytes: pl.size, Rows: pl.rows, Schema: pl.schema})
		total += pl.rows
	}
	if total == 0 {
		return files[0].fail(-1, "", "name a file with pitches", nil, "neither this file nor any other holds a row")
	}
	if total > math.MaxInt32 {
		return fmt.Errorf("index input: %d rows are more than one run can index: split the input by game", total)
	}
	x.rows = make([]entry, total)
	x.status = make([]uint8, total)
	return nil
}

// task is a piece of work: one row group, or the hash of a file (group −1).
type task struct{ file, group int }

func (s *Season) tasks(hashes bool) []task {
	var out []task
	for i, pl := range s.plans {
		if hashes {
			out = append(out, task{i, -1})
		}
		for g := range pl.groups {
			out = append(out, task{i, g})
		}
	}
	return out
}

// eachGroup runs f for every task, with a decoder of its file that each worker
// keeps open while it stays on one file; without one for a hash.
func (s *Season) eachGroup(ctx context.Context, tasks []task, walkPages bool, f func(worker, task int, d *decoder) error) error {
	type open struct {
		file int
		*decoder
	}
	workers := make([]open, s.options.workers())
	defer func() {
		for _, w := range workers {
			if w.decoder != nil {
				w.close()
			}
		}
	}()
	return parallel.Each(ctx, len(workers), len(tasks), func(w, i int) error {
		t, at := tasks[i], &workers[w]
		if t.group < 0 {
			return f(w, i, nil)
		}
		if at.decoder == nil || at.file != t.file {
			if at.decoder != nil {
				at.close()
			}
			d, err := newDecoder(s.plans[t.file], walkPages)
			if *at = (open{t.file, d}); err != nil {
				return err
			}
		}
		return f(w, i, at.decoder)
	})
}

// read decodes all row groups into entries.
func (x *indexer) read(ctx context.Context) error {
	tasks := x.tasks(true)
	states := make([]indexState, x.options.workers())
	return x.eachGroup(ctx, tasks, true, func(w, i int, d *decoder) error {
		t := tasks[i]
		if d == nil {
			return x.hashFile(ctx, t.file)
		}
		st := &states[w]
		st.reset(d, x)
		err := d.readGroup(ctx, t.group, x.options.BatchRows, func() error {
			st.add(x.rows[x.offset[t.file]+d.first:][:d.n])
			return nil
		})
		if err == nil {
			st.merge(t.file)
		}
		return err
	})
}

// hashFile computes the file's SHA-256.
func (x *indexer) hashFile(ctx context.Context, i int) error {
	pl := x.plans[i]
	f, err := os.Open(pl.file.Path)
	if err != nil {
		return pl.file.fail(-1, "", "", err, "cannot be opened")
	}
	defer f.Close()
	h := sha256.New()
	buf := make([]byte, 256<<10)
	for {
		if err := ctx.Err(); err != nil {
			return err
		}
		n, err := f.Read(buf)
		h.Write(buf[:n])
		if err == io.EOF {
			break
		}
		if err != nil {
			return pl.file.fail(-1, "", "", err, "cannot be read")
		}
	}
	x.Inputs[i].SHA256 = hex.EncodeToString(h.Sum(nil))
	return nil
}

// indexState is one worker's part of the first pass, on one decoder.
type indexState struct {
	x       *indexer
	d       *decoder
	games   []int32      // provisional id by the decoder's local id, −1 = unknown
	seen    [][]bool     // by identity, by local name
	digests [][][16]byte // by place of the column, by local text id
	present []bool       // by place of the column
	dates   map[int32]int32
	scope   int64
	byCheck []int64
	block   []byte
	stride  int
}

func (st *indexState) reset(d *decoder, x *indexer) {
	if st.d == d {
		return
	}
	*st = indexState{x: x, d: d, seen: make([][]bool, len(identities)), digests: make([][][16]byte, len(d.slots)),
		present: make([]bool, len(d.slots)), dates: map[int32]int32{}, byCheck: make([]int64, len(Checks)), block: st.block}
	for _, s := range d.mapped {
		st.stride += widths[s.col.Kind]
	}
}

// merge hands a row group's findings to the indexer.
func (st *indexState) merge(file int) {
	x := st.x
	x.mu.Lock()
	defer x.mu.Unlock()
	for g, day := range st.dates {
		earliest(x.date, g, day)
	}
	clear(st.dates)
	for place, has := range st.present {
		name := pitch.Dictionary[place].Name
		x.present[name] = x.present[name] || has
	}
	for k, n := range st.d.unknown {
		x.unknown[unknownAt{file, k}] += n
	}
	clear(st.d.unknown)
	x.crc[file] = x.crc[file] && st.d.crc
	x.scope += st.scope
	for i, n := range st.byCheck {
		x.byCheck[i] += n
	}
	st.scope = 0
	clear(st.byCheck)
}

// earliest keeps a game's first date.
func earliest(dates map[int32]int32, game, day int32) {
	if old, ok := dates[game]; !ok || day < old {
		dates[game] = day
	}
}

// add records the rows of a batch.
func (st *indexState) add(rows []entry) {
	d := st.d
	st.hash(rows)
	for _, s := range d.mapped {
		st.present[s.place] = st.present[s.place] || d.values(s) > 0
	}
	game := &d.slots[gameAt]
	for row := range rows {
		e := &rows[row]
		e.game = -1
		if id := game.id(row); id >= 0 {
			for len(st.games) <= int(id) {
				st.games = append(st.games, st.x.registries[0].id(game.list[len(st.games)]))
			}
			e.game = st.games[id]
		}
		e.appearance, e.number = d.slots[appearanceAt].count(row), d.slots[numberAt].count(row)
		e.inning = uint8(max(d.slots[inningAt].count(row), 0))
		e.half = uint8(max(d.slots[halfAt].count(row), 0))
		e.result = d.slots[resultAt].code(row)
		e.filtered = d.filtered[row] != 0
		if day := d.slots[dateAt].day(row); day != pitch.NoDate && e.game >= 0 {
			earliest(st.dates, e.game, day)
		}
		if e.filtered {
			st.byCheck[d.filtered[row]]++
		} else {
			st.scope++
		}
	}
	for i := 1; i < len(identities); i++ {
		st.names(i)
	}
}

// values counts the rows in scope in which a column holds a value.
func (d *decoder) values(s *slot) (n int64) {
	for row := range d.n {
		if d.filtered[row] == 0 && s.has(row) {
			n++
		}
	}
	return n
}

// names registers the names of an identity in rows that can be delivered.
func (st *indexState) names(identity int) {
	d, is := st.d, &identities[identity]
	s, hands, seen := &d.slots[is.place], &d.slots[handAt], st.seen[identity]
	for row, id := range s.ids {
		if id < 0 || d.filtered[row] != 0 || d.fault[row] != 0 || !d.thrown(row) {
			continue
		}
		h := hands.code(row)
		k := is.local(id, h)
		for len(seen) <= k {
			seen = append(seen, false)
		}
		if !seen[k] {
			seen[k] = true
			st.x.registries[identity].id(is.name(s.list[id], h))
		}
	}
	st.seen[identity] = seen
}

// finishNames sorts the names and makes the ids of games final.
func (x *indexer) finishNames() {
	x.index = make([]map[string]int32, len(identities))
	for i := range identities {
		names := slices.Sorted(maps.Keys(x.registries[i].ids))
		*identities[i].names(&x.Names) = names
		x.index[i] = make(map[string]int32, len(names))
		for k, name := range names {
			x.index[i][name] = int32(k)
		}
	}
	final := make([]int32, len(x.Names.Games))
	for k, name := range x.registries[0].list {
		final[k] = x.index[0][name]
	}
	for i := range x.rows {
		if g := x.rows[i].game; g >= 0 {
			x.rows[i].game = final[g]
		}
	}
	x.year = make([]int16, len(final))
	for g, day := range x.date {
		x.year[final[g]] = yearOf(day)
	}
}
