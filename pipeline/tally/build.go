package tally

import (
	"context"
	"errors"
	"fmt"
	"math"
	"runtime"
	"slices"

	"sill/pipeline/outcome"
	"sill/pipeline/parallel"
	"sill/pipeline/pitch"
	"sill/pipeline/shape"
)

// Names are the name lists that pitches index, each sorted bytewise.
type Names struct {
	Pitchers, Batters, Games, Levels []string
}

// Builder counts pitches. Each worker logs the pitches it is given in a compact
// form, 16 bytes and 4 for each variable; the logs are counted cell by cell at
// the end, or before, where one grows long, so that memory does not grow with
// the number of pitches.
type Builder struct {
	variables []shape.Variable
	widths    []int64 // in quanta
	strata    []Stratum
	names     Names
	shards    []*shard
	foldAt    int // a worker counts its log at this many pitches
}

// foldAt holds half a season in the log of each of two workers.
const foldAt = 1 << 19

// chunkSize is the number of pitches in one piece of a log.
const chunkSize = 512

// missingQ marks an unknown value in a log.
const missingQ = math.MinInt32

// baseCell is a cell without its stratum.
type baseCell struct {
	season int16
	hand   pitch.Hand
	side   pitch.Side
	kind   pitch.Type
}

// in returns the cell of one stratum.
func (c baseCell) in(stratum string) Cell {
	return Cell{Season: c.season, Stratum: stratum, Hand: c.hand, Side: c.side, Type: c.kind}
}

// head is what a log keeps of a pitch besides its values.
type head struct {
	pitcher, batter int32
	swing           outcome.Swing
	class           outcome.Class
}

// chunk is a piece of the log of one cell; values and strata lie pitch by
// pitch. A stratum's entry indexes shard.strata, 0 for none.
type chunk struct {
	heads  []head
	values []int32
	strata []uint16
}

// shard is one worker's part.
type shard struct {
	logs   map[baseCell][]*chunk
	strata []*namer // the values of each stratum as the worker meets them; 0 is none
	games  []bool
	notes  Notes
	steps  []int64
	logged int
	folded []CellTable
}

// NewBuilder returns a builder of the given variables and strata for pitches
// that index names, to be fed by workers goroutines. It reports every faulty
// variable and stratum.
func NewBuilder(vars []shape.Variable, strata []Stratum, names Names, workers int) (*Builder, error) {
	b := &Builder{variables: vars, strata: strata, names: names, foldAt: foldAt}
	var errs []error
	for i := range vars {
		v := &vars[i]
		errs = append(errs, v.Validate())
		if v.WidthQ() > shape.MaxQuanta {
			errs = append(errs, fmt.Errorf("variable %s: bin width %g is too large", v.Name, v.Width))
		}
		b.widths = append(b.widths, v.WidthQ())
	}
	for i := range strata {
		errs = append(errs, strata[i].validate())
	}
	if err := errors.Join(errs...); err != nil {
		return nil, err
	}
	for range workers {
		s := &shard{
			logs:   map[baseCell][]*chunk{},
			strata: make([]*namer, len(strata)),
			games:  make([]bool, len(names.Games)),
			steps:  make([]int64, len(vars)),
		}
		for i := range s.strata {
			s.strata[i] = newNamer()
			s.strata[i].of("")
		}
		b.shards = append(b.shards, s)
	}
	return b, nil
}

// Add counts a batch for one worker, 0 ≤ worker < workers. Two goroutines may
// call it at once for different workers; the batch is not kept.
func (b *Builder) Add(worker int, batch []pitch.Pitch) error {
	s := b.shards[worker]
	for i := range batch {
		if err := b.log(s, &batch[i]); err != nil {
			return err
		}
	}
	s.logged += len(batch)
	if s.logged < b.foldAt {
		return nil
	}
	s.logged = 0
	return b.fold(s)
}

// log appends one pitch to the log of its cell.
func (b *Builder) log(s *shard, p *pitch.Pitch) error {
	if p.Hand == pitch.UnknownHand || p.Side != pitch.LeftSide && p.Side != pitch.RightSide {
		return fmt.Errorf("count pitches: hand %q or side %q is no matchup", p.Hand, p.Side)
	}
	cell := baseCell{p.Season, p.Hand, p.Side, p.Type}
	chunks := s.logs[cell]
	if n := len(chunks); n == 0 || len(chunks[n-1].heads) == chunkSize {
		chunks = append(chunks, &chunk{
			heads:  make([]head, 0, chunkSize),
			values: make([]int32, 0, chunkSize*len(b.variables)),
			strata: make([]uint16, 0, chunkSize*len(b.strata)),
		})
		s.logs[cell] = chunks
	}
	c := chunks[len(chunks)-1]
	class, _ := outcome.ClassOf(p.Result)
	c.heads = append(c.heads, head{p.Pitcher, p.Batter, outcome.SwingOf(p), class})

	shaped := outcome.Shaped(p.Outcome)
	for i := range b.variables {
		q, ok := int64(0), false
		if shaped {
			v := &b.variables[i]
			q, ok = v.Quantize(v.Value(p))
		}
		if !ok {
			q = missingQ
		} else if step := s.steps[i]; step == 0 || q%step != 0 {
			s.steps[i] = gcd(step, q)
		}
		c.values = append(c.values, int32(q))
	}
	for i := range b.strata {
		value := ""
		if shaped && b.strata[i].splits(p.Type) {
			value = b.strata[i].Of(p, &b.names)
		}
		id := s.strata[i].of(value)
		if id > math.MaxUint16 {
			return errors.New("count pitches: a stratum has more than 65,535 values")
		}
		c.strata = append(c.strata, uint16(id))
	}
	s.note(p, shaped)
	return nil
}

// note counts what a reader should be told of.
func (s *shard) note(p *pitch.Pitch, shaped bool) {
	s.notes.Pitches++
	if !shaped {
		s.notes.Unshaped++
	}
	if p.Game < 0 {
		s.notes.Gameless++
	} else {
		s.games[p.Game] = true
	}
	if p.Batter < 0 {
		s.notes.Batterless++
	}
	if outcome.BuntUnknown(p) {
		s.notes.BuntsUnknown++
	}
}

// gcd returns the greatest common divisor of two numbers, gcd(0, q) = |q|.
func gcd(a, b int64) int64 {
	for b != 0 {
		a, b = b, a%b
	}
	return max(a, -a)
}

// fold counts a worker's log and adds it to what the worker counted before.
func (b *Builder) fold(s *shard) error {
	tables, err := b.count([]*shard{s}, 1)
	if err != nil {
		return err
	}
	s.folded, err = mergeCells(s.folded, tables)
	return err
}

// Tally counts what was logged and returns the whole. The builder is spent.
func (b *Builder) Tally() (*Tally, error) {
	cells, err := b.count(b.shards, runtime.GOMAXPROCS(0))
	if err != nil {
		return nil, err
	}
	t := &Tally{Pitchers: b.names.Pitchers, Batters: b.names.Batters}
	for _, s := range b.strata {
		t.Strata = append(t.Strata, s.Name)
	}
	games := make([]bool, len(b.names.Games))
	steps := make([]int64, len(b.variables))
	for _, s := range b.shards {
		if cells, err = mergeCells(cells, s.folded); err != nil {
			return nil, err
		}
		s.folded = nil
		t.Notes.add(s.notes)
		for i, seen := range s.games {
			games[i] = games[i] || seen
		}
		for i, step := range s.steps {
			steps[i] = gcd(steps[i], step)
		}
	}
	t.Cells = cells
	for i, v := range b.variables {
		t.Variables = append(t.Variables, Variable{Name: v.Name, Unit: v.Unit, Definition: v.Definition,
			WidthQ: v.WidthQ(), PerUnit: v.PerUnit(), Step: steps[i]})
	}
	for i, seen := range games {
		if seen {
			t.Games = append(t.Games, b.names.Games[i])
		}
	}
	t.dropUnseen()
	return t, nil
}

// count empties the logs of some shards into tables sorted by cell, working on
// several cells at once.
func (b *Builder) count(shards []*shard, workers int) ([]CellTable, error) {
	var cells []baseCell
	for _, s := range shards {
		for cell := range s.logs {
			cells = append(cells, cell)
		}
	}
	slices.SortFunc(cells, func(a, b baseCell) int { return a.in("").Compare(b.in("")) })
	cells = slices.Compact(cells)

	tables := make([][]CellTable, len(cells))
	counters := make([]counter, workers)
	err := parallel.Each(context.Background(), workers, len(cells), func(worker, i int) (err error) {
		c := &counters[worker]
		c.builder = b
		tables[i], err = c.cell(cells[i], shards)
		return err
	})
	for _, s := range shards {
		clear(s.logs)
	}
	if err != nil {
		return nil, err
	}
	out := slices.Concat(tables...)
	slices.SortFunc(out, func(a, b CellTable) int { return a.Cell.Compare(b.Cell) })
	return out, nil
}
