package ingest

import (
	"context"
	"fmt"
	"maps"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"testing"

	"github.com/go-viper/mapstructure/v2"
	"github.com/parquet-go/parquet-go"

	"sill/pipeline/pitch"
)

// column is one column of a test file; a nil value is null.
type column struct {
	name   string
	node   parquet.Node
	values []any
}

// writeColumns writes a Parquet file of the columns, which are all optional
// unless their node says otherwise. Options go to the writer.
func writeColumns(tb testing.TB, path string, cols []column, options ...parquet.WriterOption) {
	tb.Helper()
	group := parquet.Group{}
	for _, c := range cols {
		group[c.name] = c.node
	}
	schema := parquet.NewSchema("rows", group)
	if err := os.MkdirAll(filepath.Dir(path), 0o755); err != nil {
		tb.Fatal(err)
	}
	f, err := os.Create(path)
	if err != nil {
		tb.Fatal(err)
	}
	defer f.Close()
	options = append([]parquet.WriterOption{schema, parquet.CreatedBy("sill tests", "1", ""), parquet.Compression(&parquet.Zstd)}, options...)
	w := parquet.NewWriter(f, options...)
	slots := make([]int, len(cols))
	for i, c := range cols {
		leaf, ok := schema.Lookup(c.name)
		if !ok {
			tb.Fatalf("no leaf %q", c.name)
		}
		slots[i] = leaf.ColumnIndex
	}
	row := make(parquet.Row, len(cols))
	for r := range cols[0].values {
		for i, c := range cols {
			level := 0
			if c.node.Optional() {
				level = 1
			}
			switch v := c.values[r].(type) {
			case nil:
				row[slots[i]] = parquet.NullValue().Level(0, 0, slots[i])
			case parquet.Value:
				row[slots[i]] = v.Level(0, level, slots[i])
			default:
				row[slots[i]] = parquet.ValueOf(v).Level(0, level, slots[i])
			}
		}
		if _, err := w.WriteRows([]parquet.Row{row}); err != nil {
			tb.Fatal(err)
		}
	}
	if err := w.Close(); err != nil {
		tb.Fatal(err)
	}
}

func optional(n parquet.Node) parquet.Node { return parquet.Optional(n) }

var (
	textNode   = optional(parquet.String())
	doubleNode = optional(parquet.Leaf(parquet.DoubleType))
	intNode    = optional(parquet.Int(64))
)

// row is one pitch of a test file, by source column.
type row map[string]any

// with returns the row with some columns changed.
func (r row) with(pairs ...any) row {
	out := row{}
	for k, v := range r {
		out[k] = v
	}
	for i := 0; i < len(pairs); i += 2 {
		out[pairs[i].(string)] = pairs[i+1]
	}
	return out
}

// throw is a plain tracked pitch in the test provider's shape.
func throw(game string, appearance, number int, pairs ...any) row {
	return row{"match": game, "turn": appearance, "throw": number, "frame": 1, "upper": "top",
		"hurler": "P1", "arm": "L", "hitter": "B1", "stand": "R", "kind": "fast", "call": "taken",
		"end": nil, "day": "2031-04-05", "speed": 93.4, "rise": 16.0, "sweep": -8.5, "phase": "league"}.with(pairs...)
}

// nodes are the types of the test provider's columns.
func nodes() map[string]parquet.Node {
	return map[string]parquet.Node{"match": textNode, "turn": intNode, "throw": intNode, "frame": intNode, "upper": textNode,
		"hurler": textNode, "arm": textNode, "hitter": textNode, "stand": textNode, "kind": textNode, "call": textNode,
		"end": textNode, "day": textNode, "speed": doubleNode, "rise": doubleNode, "sweep": doubleNode, "phase": textNode}
}

func writeRows(tb testing.TB, path string, types map[string]parquet.Node, rows []row, options ...parquet.WriterOption) {
	tb.Helper()
	var cols []column
	for _, name := range slices.Sorted(maps.Keys(types)) {
		c := column{name: name, node: types[name]}
		for _, r := range rows {
			v := r[name]
			if i, ok := v.(int); ok {
				switch types[name].Type().Kind() {
				case parquet.Int64:
					v = int64(i)
				case parquet.Int32:
					v = int32(i)
				case parquet.Double:
					v = float64(i)
				}
			}
			c.values = append(c.values, v)
		}
		cols = append(cols, c)
	}
	writeColumns(tb, path, cols, options...)
}

// profile is the profile of the test provider.
func profile() *Profile {
	words := func(pairs ...any) []Value {
		var out []Value
		for i := 0; i < len(pairs); i += 2 {
			out = append(out, Value{pairs[i], pairs[i+1]})
		}
		return out
	}
	return &Profile{
		Columns: map[string]Column{
			"game":             {Column: "match"},
			"plate_appearance": {Column: "turn"},
			"pitch_number":     {Column: "throw"},
			"inning":           {Column: "frame"},
			"half":             {Column: "upper", Values: words("top", 1, "bottom", 2)},
			"pitcher":          {Column: "hurler"},
			"batter":           {Column: "hitter"},
			"hand":             {Column: "arm", Values: words("L", "left", "R", "right")},
			"side":             {Column: "stand", Values: words("L", "left", "R", "right", "S", "switch")},
			"pitch_type":       {Column: "kind", Values: words("fast", "four_seam", "bend", "curveball", "bad", "reject", "none", "")},
			"outcome": {Column: "call", Values: words("taken", "ball", "miss", "swinging_strike", "hit", "in_play",
				"clock", "automatic_ball", "event", "no_pitch")},
			"result":                 {Column: "end", Values: words("K", "strikeout", "1B", "single", "BB", "walk", "CS", "not_appearance")},
			"date":                   {Column: "day"},
			"game_type":              {Column: "phase", Values: words("league", "regular")},
			"velocity":               {Column: "speed", Unit: "mph"},
			"induced_vertical_break": {Column: "rise", Unit: "in"},
			"horizontal_break":       {Column: "sweep", Unit: "in", Positive: "pitcher_right"},
		},
		SwitchSide: "opposite_hand",
	}
}

// edit returns the profile with one column's mapping changed.
func (p *Profile) edit(name string, change func(*Column)) *Profile {
	c := p.Columns[name]
	change(&c)
	p.Columns[name] = c
	return p
}

// loose are options under which any share of rejects passes.
func loose() Options {
	o := DefaultOptions()
	o.MaxRejectShare = 1
	return o
}

// run indexes and delivers, and returns the pitches as sorted lines, so that
// runs can be compared whatever the order of delivery.
func run(tb testing.TB, files []File, p *Profile, o Options) (*Season, *Report, []string) {
	tb.Helper()
	s, err := Index(context.Background(), files, p, o)
	if err != nil {
		tb.Fatalf("Index: %v", err)
	}
	r, lines, err := deliver(s)
	if err != nil {
		tb.Fatalf("Deliver: %v", err)
	}
	return s, r, lines
}

func deliver(s *Season) (*Report, []string, error) {
	var mu sync.Mutex
	var lines []string
	r, err := s.Deliver(context.Background(), nil, pitch.CounterFunc(func(_ int, batch []pitch.Pitch) error {
		mu.Lock()
		defer mu.Unlock()
		for i := range batch {
			lines = append(lines, s.line(&batch[i]))
		}
		return nil
	}))
	slices.Sort(lines)
	return r, lines, err
}

func name(list []string, i int32) string {
	if i < 0 {
		return "-"
	}
	return list[i]
}

// line renders a pitch.
func (s *Season) line(p *pitch.Pitch) string {
	var b strings.Builder
	fmt.Fprintf(&b, "%d %s g=%s p=%s b=%s v=%s l=%s %s%s %s %s result=%s bunt=%d fielder=%d", p.Season, dayText(int64(p.Date)),
		name(s.Names.Games, p.Game), name(s.Names.Pitchers, p.Pitcher), name(s.Names.Batters, p.Batter),
		name(s.Names.Venues, p.Venue), name(s.Names.Levels, p.Level), p.Hand.Initial(), p.Side.Initial(), p.Type, p.Outcome,
		p.Result, p.Bunt, p.Fielder)
	for i, v := range p.Num {
		if v == v {
			fmt.Fprintf(&b, " %d:%.4f", i, v)
		}
	}
	return b.String()
}

// one writes rows to a single file and returns it.
func one(tb testing.TB, rows ...row) []File {
	tb.Helper()
	path := filepath.Join(tb.TempDir(), "a.parquet")
	writeRows(tb, path, nodes(), rows)
	return []File{{Path: path, Name: "a.parquet"}}
}

// rule returns the count of a rule.
func (r *Report) rule(code string) int64 {
	for _, c := range r.Rules {
		if c.Code == code {
			return c.Rows
		}
	}
	return 0
}

// decodeProfile decodes a profile as package config does: strictly.
func decodeProfile(t *testing.T, raw map[string]any) *Profile {
	t.Helper()
	p := &Profile{}
	d, err := mapstructure.NewDecoder(&mapstructure.DecoderConfig{Result: p, ErrorUnused: true})
	if err != nil {
		t.Fatal(err)
	}
	if err := d.Decode(raw); err != nil {
		t.Fatal(err)
	}
	return p
}
