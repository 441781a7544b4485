package ingest

import (
	"bytes"
	"cmp"
	"context"
	"crypto/sha256"
	"encoding/binary"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"math"
	"os"
	"path"
	"slices"
	"strconv"
	"strings"
	"sync"

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
	options Options
	offset  []int64 // global index of each file's first row
	status  []uint8 // by global row index
	present map[string]bool
	year    []int16 // season by game, where it follows from the date
	index   map[string]map[string]int32
	noKey   int64
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
		if r.ids == nil {
			r.ids = map[string]int32{}
		}
		i = int32(len(r.list))
		r.ids[name] = i
		r.list = append(r.list, name)
	}
	return i
}

// sorted returns the names bytewise, and the final id of each provisional one.
func (r *registry) sorted() (names []string, final []int32) {
	names = slices.Clone(r.list)
	slices.Sort(names)
	final = make([]int32, len(names))
	for i, n := range names {
		final[r.ids[n]] = int32(i)
	}
	return names, final
}

// names of the registries.
var registered = []string{"pitcher", "batter", "venue", "level"}

// indexer is the state of the first pass.
type indexer struct {
	*Season
	rows    []entry
	games   registry
	others  map[string]*registry
	mu      sync.Mutex
	date    map[int32]int32 // first date by provisional game
	unknown map[unknownAt]int64
	crc     []bool
	scope   int64
	byRule  [ruleCount]int64
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
	x := &indexer{Season: &Season{profile: p, options: o, present: map[string]bool{}}, others: map[string]*registry{},
		date: map[int32]int32{}, unknown: map[unknownAt]int64{}, crc: make([]bool, len(files))}
	for _, name := range registered {
		x.others[name] = &registry{}
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
	err := forEach(ctx, x.options.workers(), len(files), func(_, i int) error {
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

// perWorker keeps each worker's decoder open while it stays on one file.
type perWorker struct {
	file int
	d    *decoder
}

func (w *perWorker) decoder(s *Season, file int, walkPages bool) (*decoder, error) {
	if w.d != nil && w.file == file {
		return w.d, nil
	}
	w.close()
	d, err := newDecoder(s.plans[file], walkPages)
	if err == nil {
		w.d, w.file = d, file
	}
	return d, err
}

func (w *perWorker) close() {
	if w.d != nil {
		w.d.close()
		w.d = nil
	}
}

// read decodes all row groups into entries.
func (x *indexer) read(ctx context.Context) error {
	units := x.tasks(true)
	n := x.options.workers()
	workers := make([]perWorker, n)
	states := make([]indexState, n)
	defer func() {
		for i := range workers {
			workers[i].close()
		}
	}()
	for i := range x.crc {
		x.crc[i] = true
	}
	return forEach(ctx, n, len(units), func(w, i int) error {
		u := units[i]
		if u.group < 0 {
			return x.hashFile(ctx, u.file)
		}
		d, err := workers[w].decoder(x.Season, u.file, true)
		if err != nil {
			return err
		}
		st := &states[w]
		st.reset(d, x)
		err = d.readGroup(ctx, u.group, x.options.BatchRows, func(b *batch) error {
			st.add(b, x.rows[x.offset[u.file]+b.first:][:b.n])
			return nil
		})
		if err != nil {
			return err
		}
		st.merge(u.file)
		return nil
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
	games   []int32 // provisional id by the decoder's local id, −1 = unknown
	seen    map[string][]bool
	digests [][][16]byte // by field, by local text id
	present []bool
	dates   map[int32]int32
	scope   int64
	noKey   int64
	byRule  [ruleCount]int64
	block   []byte
	stride  int
}

func (st *indexState) reset(d *decoder, x *indexer) {
	if st.d == d {
		return
	}
	*st = indexState{x: x, d: d, seen: map[string][]bool{}, digests: make([][][16]byte, len(d.fields)),
		present: make([]bool, len(d.fields)), dates: map[int32]int32{}, block: st.block}
	for i := range d.fields {
		switch d.fields[i].col.Kind {
		case pitch.Text:
			st.stride += 16
		case pitch.Category, pitch.YesNo:
			st.stride++
		case pitch.Day:
			st.stride += 4
		default:
			st.stride += 8
		}
	}
}

// merge hands a row group's findings to the indexer.
func (st *indexState) merge(file int) {
	x := st.x
	x.mu.Lock()
	defer x.mu.Unlock()
	for g, day := range st.dates {
		if old, ok := x.date[g]; !ok || day < old {
			x.date[g] = day
		}
	}
	clear(st.dates)
	for i, p := range st.present {
		if p {
			x.present[st.d.fields[i].col.Name] = true
		}
	}
	for k, n := range st.d.unknown {
		x.unknown[unknownAt{file, k}] += n
	}
	clear(st.d.unknown)
	x.crc[file] = x.crc[file] && st.d.crc
	x.scope += st.scope
	x.noKey += st.noKey
	for i, n := range st.byRule {
		x.byRule[i] += n
	}
	st.scope, st.noKey, st.byRule = 0, 0, [ruleCount]int64{}
}

func whole(column []float64, row int) int32 {
	if column == nil || column[row] != column[row] {
		return -1
	}
	return int32(column[row])
}

// add records the rows of a batch.
func (st *indexState) add(b *batch, rows []entry) {
	d := st.d
	st.hash(b, rows)
	for i := range d.fields {
		if !st.present[i] {
			st.present[i] = d.values(i, b) > 0
		}
	}
	var gameTexts *texts
	for i := range d.fields {
		if d.fields[i].col.Name == "game" {
			gameTexts = &d.texts[i]
		}
	}
	for row := range rows {
		e := &rows[row]
		e.game = -1
		if b.game != nil && b.game[row] >= 0 {
			local := int(b.game[row])
			for len(st.games) <= local {
				st.games = append(st.games, -1)
			}
			if st.games[local] < 0 {
				st.games[local] = st.x.games.id(gameTexts.list[local])
			}
			e.game = st.games[local]
		}
		e.appearance = whole(b.num[pitch.PlateAppearance], row)
		e.number = whole(b.num[pitch.PitchNumber], row)
		e.inning = uint8(max(whole(b.num[pitch.Inning], row), 0))
		e.half = uint8(max(whole(b.num[pitch.Half], row), 0))
		if b.result != nil {
			e.result = b.result[row]
		}
		e.filtered = b.filtered[row] != 0
		if b.date != nil && b.date[row] != pitch.NoDate && e.game >= 0 {
			if old, ok := st.dates[e.game]; !ok || b.date[row] < old {
				st.dates[e.game] = b.date[row]
			}
		}
		if e.filtered {
			st.byRule[b.filtered[row]]++
			continue
		}
		st.scope++
		if e.game < 0 || e.appearance < 0 || e.number < 0 {
			st.noKey++
		}
	}
	st.names(b)
}

// values counts the rows in scope in which a column holds a value.
func (d *decoder) values(i int, b *batch) (n int64) {
	f := &d.fields[i]
	for row := range b.n {
		if b.filtered[row] != 0 {
			continue
		}
		ok := false
		switch f.col.Kind {
		case pitch.Text:
			ok = (*d.textColumn(f.col.Name))[row] >= 0
		case pitch.Category, pitch.YesNo:
			ok = (*d.codeColumn(f.col.Name))[row] != 0
		case pitch.Day:
			ok = b.date[row] != pitch.NoDate
		default:
			c := d.numberColumn(f)
			ok = c[row] == c[row]
		}
		n += int64(btoi(ok))
	}
	return n
}

// thrown tells whether a pitch was thrown.
func thrown(o pitch.Outcome) bool {
	switch o {
	case pitch.AutomaticBall, pitch.AutomaticStrike, pitch.NoPitch:
		return false
	}
	return true
}

// names registers the identities of rows that can be delivered.
func (st *indexState) names(b *batch) {
	d := st.d
	for i := range d.fields {
		name := d.fields[i].col.Name
		reg := st.x.others[name]
		if reg == nil {
			continue
		}
		per := 1
		if name == "pitcher" {
			per = 3
		}
		ids, seen := *d.textColumn(name), st.seen[name]
		for row, id := range ids {
			if id < 0 || b.filtered[row] != 0 || b.fault[row] != 0 || !thrown(pitch.Outcome(b.outcome[row])) {
				continue
			}
			k := int(id) * per
			if per == 3 {
				k += int(b.hand[row])
			}
			for len(seen) <= k {
				seen = append(seen, false)
			}
			if !seen[k] {
				seen[k] = true
				text := d.texts[i].list[id]
				if per == 3 {
					text = pitch.PitcherKey{ID: text, Hand: pitch.Hand(b.hand[row])}.String()
				}
				reg.id(text)
			}
		}
		st.seen[name] = seen
	}
}

// hash computes each row's content hash: the first 128 bits of the SHA-256 of
// its canonical values, numbers rounded to 1e-4 of their unit.
func (st *indexState) hash(b *batch, rows []entry) {
	const block = 128
	st.block = grow(st.block, block*st.stride)
	for lo := 0; lo < b.n; lo += block {
		hi := min(lo+block, b.n)
		at := 0
		for i := range st.d.fields {
			at = st.hashField(b, i, lo, hi, at)
		}
		for row := lo; row < hi; row++ {
			sum := sha256.Sum256(st.block[(row-lo)*st.stride : (row-lo+1)*st.stride])
			rows[row].hash = [16]byte(sum[:16])
		}
	}
}

func (st *indexState) hashField(b *batch, i, lo, hi, at int) int {
	f := &st.d.fields[i]
	out := st.block[at:]
	switch f.col.Kind {
	case pitch.Text:
		ids := *st.d.textColumn(f.col.Name)
		list := st.d.texts[i].list
		for len(st.digests[i]) < len(list) {
			sum := sha256.Sum256([]byte(list[len(st.digests[i])]))
			st.digests[i] = append(st.digests[i], [16]byte(sum[:16]))
		}
		for k, id := range ids[lo:hi] {
			dst := out[k*st.stride:][:16]
			if id < 0 {
				clear(dst)
			} else {
				copy(dst, st.digests[i][id][:])
			}
		}
		return at + 16
	case pitch.Category, pitch.YesNo:
		for k, c := range (*st.d.codeColumn(f.col.Name))[lo:hi] {
			out[k*st.stride] = c
		}
		return at + 1
	case pitch.Day:
		for k, day := range b.date[lo:hi] {
			binary.LittleEndian.PutUint32(out[k*st.stride:], uint32(day))
		}
		return at + 4
	}
	for k, v := range st.d.numberColumn(f)[lo:hi] {
		q := int64(math.MinInt64)
		if v == v {
			q = int64(math.RoundToEven(v * 1e4))
		}
		binary.LittleEndian.PutUint64(out[k*st.stride:], uint64(q))
	}
	return at + 8
}

// unknownError reports every value that the profile does not map.
func (x *indexer) unknownError() error {
	type at struct {
		file, field int
	}
	type seen struct {
		value string
		rows  int64
	}
	groups := map[at][]seen{}
	for k, n := range x.unknown {
		a := at{k.file, k.key.field}
		groups[a] = append(groups[a], seen{k.key.value, n})
	}
	keys := make([]at, 0, len(groups))
	for k := range groups {
		keys = append(keys, k)
	}
	slices.SortFunc(keys, func(a, b at) int {
		return cmp.Or(cmp.Compare(a.field, b.field), cmp.Compare(a.file, b.file))
	})
	var errs []error
	for _, k := range keys {
		pl := x.plans[k.file]
		f := &pl.fields[k.field]
		values := groups[k]
		slices.SortFunc(values, func(a, b seen) int {
			return cmp.Or(cmp.Compare(b.rows, a.rows), strings.Compare(a.value, b.value))
		})
		words := pitch.Words(f.col.Name)
		if f.col.Kind == pitch.YesNo {
			words = []string{"yes", "no"}
		}
		var list []string
		for i, v := range values {
			if i == 10 {
				list = append(list, fmt.Sprintf("and %d more", len(values)-10))
				break
			}
			list = append(list, fmt.Sprintf("%q in %s rows%s", v.value, strconv.FormatInt(v.rows, 10),
				didYouMean(strings.ToLower(strings.ReplaceAll(v.value, " ", "_")), words)))
		}
		errs = append(errs, pl.file.fail(-1, pl.uses[f.use].name,
			fmt.Sprintf("list them under columns.%s.values with to: one of %s, \"\" for missing, or reject", f.col.Name, strings.Join(words, ", ")),
			nil, "values that the profile does not map to %s: %s", f.col.Name, strings.Join(list, ", ")))
	}
	return errors.Join(errs...)
}

// finishNames sorts the names and makes ids final.
func (x *indexer) finishNames() {
	games, final := x.games.sorted()
	x.Names.Games = games
	for i := range x.rows {
		if g := x.rows[i].game; g >= 0 {
			x.rows[i].game = final[g]
		}
	}
	x.year = make([]int16, len(games))
	for g, day := range x.date {
		x.year[final[g]] = yearOf(day)
	}
	x.index = map[string]map[string]int32{"game": indexOf(games)}
	for name, to := range map[string]*[]string{"pitcher": &x.Names.Pitchers, "batter": &x.Names.Batters,
		"venue": &x.Names.Venues, "level": &x.Names.Levels} {
		*to, _ = x.others[name].sorted()
		x.index[name] = indexOf(*to)
	}
}

func indexOf(names []string) map[string]int32 {
	m := make(map[string]int32, len(names))
	for i, n := range names {
		m[n] = int32(i)
	}
	return m
}

// resolve finds duplicates, conflicts and last rows, game by game.
func (x *indexer) resolve(ctx context.Context) error {
	start := make([]int32, len(x.Names.Games)+1)
	keyed := 0
	for i := range x.rows {
		e := &x.rows[i]
		if e.game < 0 || e.appearance < 0 || e.number < 0 {
			if x.profile.ResultOn != "every_pitch" {
				x.status[i] = e.result
			}
			continue
		}
		start[e.game+1]++
		keyed++
	}
	for g := 1; g < len(start); g++ {
		start[g] += start[g-1]
	}
	order := make([]int32, keyed)
	at := slices.Clone(start)
	for i := range x.rows {
		e := &x.rows[i]
		if e.game >= 0 && e.appearance >= 0 && e.number >= 0 {
			order[at[e.game]] = int32(i)
			at[e.game]++
		}
	}
	ranks := x.ranks()
	const chunk = 64
	var mu sync.Mutex
	err := forEach(ctx, x.options.workers(), (len(x.Names.Games)+chunk-1)/chunk, func(_, c int) error {
		lost := int64(0)
		for g := c * chunk; g < min((c+1)*chunk, len(x.Names.Games)); g++ {
			lost += x.resolveGame(order[start[g]:start[g+1]], ranks)
		}
		mu.Lock()
		x.lost += lost
		mu.Unlock()
		return nil
	})
	x.rows = nil
	return err
}

// ranks returns each file's rank, nil without ranking. Lower is better.
func (x *indexer) ranks() []int {
	if len(x.profile.PreferFiles) == 0 {
		return nil
	}
	ranks := make([]int, len(x.plans))
	for i, pl := range x.plans {
		name := pl.file.Name
		ranks[i] = slices.IndexFunc(x.profile.PreferFiles, func(pattern string) bool {
			ok, _ := path.Match(pattern, name)
			if !ok && !strings.Contains(pattern, "/") {
				ok, _ = path.Match(pattern, path.Base(name))
			}
			return ok
		})
		if ranks[i] < 0 {
			ranks[i] = len(x.profile.PreferFiles)
		}
	}
	return ranks
}

// fileOf returns the file that holds a global row.
func (s *Season) fileOf(row int32) int {
	i, ok := slices.BinarySearch(s.offset, int64(row))
	if !ok {
		return i - 1
	}
	for i+1 < len(s.offset) && s.offset[i+1] == int64(row) { // files without rows
		i++
	}
	return i
}

// resolveGame sets the status of one game's rows and returns the results lost
// with conflicts and filters.
func (x *indexer) resolveGame(game []int32, ranks []int) (lost int64) {
	slices.SortFunc(game, func(a, b int32) int {
		p, q := &x.rows[a], &x.rows[b]
		if c := cmp.Compare(p.appearance, q.appearance); c != 0 {
			return c
		}
		if c := cmp.Compare(p.number, q.number); c != 0 {
			return c
		}
		if c := bytes.Compare(p.hash[:], q.hash[:]); c != 0 {
			return c
		}
		return cmp.Compare(a, b)
	})
	for lo := 0; lo < len(game); {
		hi := lo + 1
		for hi < len(game) && x.rows[game[hi]].appearance == x.rows[game[lo]].appearance {
			hi++
		}
		lost += x.resolveAppearance(game[lo:hi], ranks)
		lo = hi
	}
	return lost
}

// later orders rows within a plate appearance: by inning, half and number, or
// by number alone where some row lacks its inning or half, which must not move
// it.
func later(p, q *entry, placed bool) int {
	if !placed {
		return cmp.Compare(p.number, q.number)
	}
	return cmp.Or(cmp.Compare(p.inning, q.inning), cmp.Compare(p.half, q.half), cmp.Compare(p.number, q.number))
}

func (x *indexer) resolveAppearance(rows []int32, ranks []int) (lost int64) {
	for lo := 0; lo < len(rows); {
		hi := lo + 1
		for hi < len(rows) && x.rows[rows[hi]].number == x.rows[rows[lo]].number {
			hi++
		}
		if hi-lo > 1 {
			x.resolveKey(rows[lo:hi], ranks)
		}
		lo = hi
	}
	// The last row that is neither a duplicate nor superseded takes the result
	// of the latest row that gives one.
	var last, from *entry
	lastAt := int32(-1)
	scope := false
	placed := !slices.ContainsFunc(rows, func(i int32) bool { return x.rows[i].inning == 0 || x.rows[i].half == 0 })
	for _, i := range rows {
		if s := x.status[i]; s == statusDuplicate || s == statusSuperseded {
			continue
		}
		e := &x.rows[i]
		if last == nil || later(e, last, placed) >= 0 {
			last, lastAt = e, i
		}
		if e.result != 0 && (from == nil || later(e, from, placed) > 0) {
			from = e
		}
		scope = scope || !e.filtered
	}
	if from == nil {
		return 0
	}
	if x.status[lastAt] != statusConflict {
		x.status[lastAt] = from.result
		if !last.filtered {
			return 0
		}
	}
	if scope && pitch.Result(from.result) != pitch.NotAppearance {
		return 1
	}
	return 0
}

// resolveKey settles rows that share a key, sorted by content.
func (x *indexer) resolveKey(rows []int32, ranks []int) {
	best := 0
	if ranks != nil {
		best = math.MaxInt
		for _, i := range rows {
			best = min(best, ranks[x.fileOf(i)])
		}
	}
	ranked := func(i int32) bool { return ranks == nil || ranks[x.fileOf(i)] == best }
	contents := 0
	var kept *entry
	for _, i := range rows { // the first of each content among the best files
		e := &x.rows[i]
		if ranked(i) && (kept == nil || e.hash != kept.hash) {
			kept = e
			contents++
		}
	}
	var seen *entry
	for _, i := range rows {
		e := &x.rows[i]
		switch {
		case !ranked(i):
			x.status[i] = statusSuperseded
			if contents == 1 && e.hash == kept.hash {
				x.status[i] = statusDuplicate
			}
		case seen != nil && e.hash == seen.hash:
			x.status[i] = statusDuplicate
		default:
			seen = e
			if contents > 1 {
				x.status[i] = statusConflict
			}
		}
	}
}

// warn collects the caveats of the input.
func (x *indexer) warn() {
	say := func(code, format string, args ...any) {
		x.Warnings = append(x.Warnings, Warning{code, fmt.Sprintf(format, args...)})
	}
	for _, w := range []struct{ column, code, detail string }{
		{"game", "games_unknown", "no game is known: duplicates cannot be found and the input cannot be split"},
		{"batter", "batters_unknown", "no batter is known: intervals treat pitchers as the only clusters"},
		{"bunt", "bunts_unknown", "bunts put in play cannot be told from swings"},
		{"result", "results_unknown", "no result is known: there is no wOBA-against"},
	} {
		if !x.present[w.column] {
			say(w.code, "%s", w.detail)
		}
	}
	if x.profile.PitchersBat != "never" && x.profile.PitchersBat != "counted" && !x.present["batter_is_pitcher"] && x.byRule[rulePitcherBats] == 0 {
		say("batting_pitchers_unknown", "pitchers who bat, if any do, count like other batters: where there is a designated hitter write pitchers_bat: never in the profile, else map batter_is_pitcher and write pitchers_bat: left_out")
	}
	for _, col := range pitch.Dictionary {
		var without []string
		mapped := false
		for _, pl := range x.plans {
			if f := pl.find(col.Name); f != nil {
				mapped = true
				if f.use < 0 {
					without = append(without, pl.file.Name)
				}
			}
		}
		if mapped && len(without) > 0 {
			say("column_absent", "%s is missing in %d of %d files, first in %s", col.Name, len(without), len(x.plans), without[0])
		}
	}
	plain := 0
	for i, crc := range x.crc {
		x.Inputs[i].PageCRC = crc
		if !crc {
			plain++
		}
	}
	if plain > 0 {
		say("pages_unchecked", "%d of %d files carry no page checksums, so damaged data may be read as other values", plain, len(x.plans))
	}
	if x.scope == 0 {
		hint := "check the where filters"
		if x.byRule[ruleGameType] > 0 {
			hint = "map the regular season's code to regular under columns.game_type.values, or list game_types"
		}
		x.scopeHint = hint
		say("nothing_in_scope", "every row is filtered out: %s", hint)
	}
}
