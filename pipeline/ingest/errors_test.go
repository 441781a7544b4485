package ingest

import (
	"errors"
	"maps"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/parquet-go/parquet-go"
)

// TestFileErrors checks that what is wrong with the input names file and
// column and says what to do.
func TestFileErrors(t *testing.T) {
	for _, tt := range []struct {
		name  string
		types func(map[string]parquet.Node)
		edit  func(*Profile)
		want  []string
	}{
		{name: "missing required column", types: func(m map[string]parquet.Node) { delete(m, "arm"); m["arms"] = textNode },
			want: []string{"read b.parquet", `column "arm"`, "hand is required", `did you mean "arms"?`}},
		{name: "a misspelt optional column", edit: func(p *Profile) { p.edit("velocity", func(c *Column) { c.Column = "sped" }) },
			want: []string{"columns.velocity", `column "sped": no file has this column`, `did you mean "speed"?`}},
		{name: "wrong type of a number", edit: func(p *Profile) { p.edit("velocity", func(c *Column) { c.Column = "flag" }) },
			types: func(m map[string]parquet.Node) { m["flag"] = optional(parquet.Leaf(parquet.BooleanType)) },
			want:  []string{"read b.parquet", `column "flag"`, "type boolean", "velocity", "map a number column"}},
		{name: "wrong type of a date", edit: func(p *Profile) { p.edit("date", func(c *Column) { c.Column = "turn" }) },
			want: []string{`column "turn"`, "type integer", "date", "format: yearmonthday"}},
		{name: "codes without values", edit: func(p *Profile) { p.edit("outcome", func(c *Column) { c.Column, c.Values = "turn", nil }) },
			want: []string{`column "turn"`, "outcome", "list values", "called_strike"}},
		{name: "a type that is not read", types: func(m map[string]parquet.Node) { m["speed"] = parquet.Repeated(parquet.Leaf(parquet.DoubleType)) },
			want: []string{"read b.parquet", `column "speed"`, "is a list", "map another column"}},
		{name: "a filter on no column", edit: func(p *Profile) { p.Where = []Filter{{Column: "mach", In: []any{"x"}}} },
			want: []string{`column "mach"`, "filter", `did you mean "match"?`}},
		{name: "a bare number for text ids", edit: func(p *Profile) { p.ExcludePitchers.IDs = []any{7} },
			want: []string{"exclude_pitchers", "quote it"}},
	} {
		t.Run(tt.name, func(t *testing.T) {
			dir := t.TempDir()
			types := nodes()
			if tt.types != nil {
				tt.types(types)
			}
			path := filepath.Join(dir, "b.parquet")
			var cols []column
			for _, name := range slices.Sorted(maps.Keys(types)) {
				cols = append(cols, column{name: name, node: types[name]})
			}
			writeColumns(t, path, cols)
			p := profile()
			if tt.edit != nil {
				tt.edit(p)
			}
			_, err := Index(t.Context(), []File{{Path: path, Name: "b.parquet"}}, p, DefaultOptions())
			if err == nil {
				t.Fatal("no error")
			}
			for _, w := range tt.want {
				if !strings.Contains(err.Error(), w) {
					t.Errorf("%q lacks %q", err, w)
				}
			}
		})
	}
}

func TestUnmappedValues(t *testing.T) {
	dir := t.TempDir()
	a, b := filepath.Join(dir, "a.parquet"), filepath.Join(dir, "b.parquet")
	writeRows(t, a, nodes(), []row{throw("G", 1, 1, "kind", "Cutter"), throw("G", 1, 2, "kind", "wobbler"), throw("G", 1, 3, "kind", "wobbler")})
	writeRows(t, b, nodes(), []row{throw("G", 2, 1, "kind", "wobbler", "call", "odd")})
	_, err := Index(t.Context(), []File{{Path: b, Name: "b.parquet"}, {Path: a, Name: "a.parquet"}}, profile(), DefaultOptions())
	var fe *FileError
	if !errors.As(err, &fe) {
		t.Fatalf("error %v", err)
	}
	lines := strings.Split(err.Error(), "\n")
	want := [][]string{
		{"read a.parquet", `column "kind"`, `"wobbler" in 2 rows, "Cutter" in 1 rows (did you mean "cutter"?)`, "columns.pitch_type.values"},
		{"read b.parquet", `column "kind"`, `"wobbler" in 1 rows`},
		{"read b.parquet", `column "call"`, `"odd" in 1 rows`, "columns.outcome.values", "swinging_strike"},
	}
	if len(lines) != len(want) {
		t.Fatalf("%d lines:\n%v", len(lines), err)
	}
	for i, ws := range want {
		for _, w := range ws {
			if !strings.Contains(lines[i], w) {
				t.Errorf("line %d %q lacks %q", i, lines[i], w)
			}
		}
	}
}

func TestNoRows(t *testing.T) {
	path := filepath.Join(t.TempDir(), "a.parquet")
	writeRows(t, path, nodes(), nil)
	if _, err := Index(t.Context(), []File{{Path: path, Name: "a"}}, profile(), DefaultOptions()); err == nil || !strings.Contains(err.Error(), "holds a row") {
		t.Errorf("error %v", err)
	}
	// An empty file beside others is no fault.
	files := append(one(t, throw("G", 1, 1)), File{Path: path, Name: "0.parquet"})
	if _, r, _ := run(t, files, profile(), DefaultOptions()); r.RowsUsed != 1 {
		t.Errorf("%+v", r)
	}
}

// TestValidate changes one thing of a sound profile at a time.
func TestValidate(t *testing.T) {
	if err := profile().Validate(); err != nil {
		t.Fatalf("the sound profile: %v", err)
	}
	col := func(name string, change func(*Column)) func(*Profile) {
		return func(p *Profile) { p.edit(name, change) }
	}
	for _, tt := range []struct {
		edit func(*Profile)
		want string
	}{
		{func(p *Profile) { *p = Profile{} }, "columns: nothing is mapped"},
		{func(p *Profile) { delete(p.Columns, "hand") }, "columns.hand: is required"},
		{col("velocty", func(c *Column) { c.Column = "v" }), `columns.velocty: no such canonical column (did you mean "velocity"?)`},
		{col("velocity", func(c *Column) { c.Column = "" }), "columns.velocity: give column, first_of or constant"},
		{col("velocity", func(c *Column) { c.FirstOf = []string{"x"} }), "columns.velocity.first_of: give either"},
		{col("velocity", func(c *Column) { c.Unit = "" }), "columns.velocity.unit: is missing: use one of mph, km/h"},
		{col("velocity", func(c *Column) { c.Unit = "kmh" }), `columns.velocity.unit: "kmh" is unknown for velocity (did you mean "km/h"?)`},
		{col("batter", func(c *Column) { c.Unit = "ft" }), "columns.batter.unit: batter has no unit"},
		{col("horizontal_break", func(c *Column) { c.Positive = "" }), "columns.horizontal_break.positive: is missing"},
		{col("horizontal_break", func(c *Column) { c.Positive = "catchers_right" }), `(did you mean "catcher_right"?)`},
		{col("velocity", func(c *Column) { c.Positive = "arm_side" }), "columns.velocity.positive: velocity has no side"},
		{col("date", func(c *Column) { c.Format = "month/day" }), "columns.date.format: \"month/day\" does not give"},
		{col("date", func(c *Column) { c.Format = "%m/%d" }), "does not give year, month and day"},
		{col("date", func(c *Column) { c.Format = "%Q" }), "unknown conversion"},
		{col("date", func(c *Column) { c.Zone = "Atlantis/Sea" }), "columns.date.zone"},
		{col("velocity", func(c *Column) { c.Format = "%Y" }), "columns.velocity.format: velocity is no date"},
		{col("hand", func(c *Column) { c.Values[0].To = "lft" }), `unknown hand "lft" (did you mean "left"?)`},
		{col("hand", func(c *Column) { c.Values[0].To = 1 }), "columns.hand.values[0].to: 1 is no word"},
		{col("hand", func(c *Column) { c.Values[0].To = []any{"left", "right"} }), "columns.hand.values[0].to: [left right] is no word: use one of left, right"},
		{col("result", func(c *Column) { c.Values[0].To = []any{"strikeout", "intentional"} }), "columns.result.values[0].to: intentional is no flag of strikeout: use double_play, triple_play, bunt"},
		{col("result", func(c *Column) { c.Values[0].To = []any{"strikeout", 2} }), "columns.result.values[0].to: [strikeout 2] is no word"},
		{col("hand", func(c *Column) { c.Values[1].From = "L" }), "columns.hand.values[1].from: L is mapped twice"},
		{col("hand", func(c *Column) { c.Values[1].From = []any{"L"} }), "is no text, number or boolean"},
		{col("hand", func(c *Column) { c.Values[0].From = time.Date(2031, 4, 5, 0, 0, 0, 0, time.UTC) }), `quote it, "2031-04-05"`},
		{col("hand", func(c *Column) { c.Missing = []any{nil} }), "columns.hand.missing[0]: is empty"},
		{col("half", func(c *Column) { c.Values[0].To = "one" }), "columns.half.values[0].to: \"one\" is no number"},
		{func(p *Profile) { delete(p.Columns, "date") }, "season: the season is unknown"},
		{func(p *Profile) { p.Season = 31 }, "season: 31 is no season"},
		{func(p *Profile) { p.ResultOn = "every_pich" }, `result_on: "every_pich" is unknown (did you mean "every_pitch"?)`},
		{func(p *Profile) { p.ResultOn = "every_pitch"; delete(p.Columns, "pitch_number") }, "columns.pitch_number: is needed"},
		{func(p *Profile) { p.SwitchSide = "x" }, "switch_side"},
		{func(p *Profile) { p.Where = []Filter{{Column: "a"}} }, "where[0]: give either in or not_in"},
		{func(p *Profile) { p.Where = []Filter{{In: []any{1}}} }, "where[0].column: is missing"},
		{func(p *Profile) { p.ExcludePitchers.IDs = []any{1.5} }, "exclude_pitchers.ids[0]: 1.5 is no identity"},
		{func(p *Profile) { p.ExcludePitchers.PositionPlayers = true }, "exclude_pitchers.position_players: map"},
		{func(p *Profile) { p.PitchersBat = "left_ou" }, `pitchers_bat: "left_ou" is unknown (did you mean "left_out"?)`},
		{func(p *Profile) { p.PitchersBat = "left_out" }, "pitchers_bat: map the column batter_is_pitcher"},
		{func(p *Profile) { delete(p.Columns, "game_type"); p.GameTypes = []string{"x"} }, "game_types: map"},
		{func(p *Profile) { p.PreferFiles = []string{"["} }, "prefer_files[0]"},
		{func(p *Profile) { p.SpeedAt = 61 }, "speed_at: 61 is no place"},
		{func(p *Profile) { p.MovementFrom = "plate" }, "movement_from: plate is no place"},
	} {
		p := profile()
		tt.edit(p)
		if err := p.Validate(); err == nil || !strings.Contains(err.Error(), tt.want) {
			t.Errorf("got %v\nwant %q", err, tt.want)
		}
	}
	// All faults are told at once.
	p := profile()
	p.SwitchSide, p.Season = "x", 31
	if err := p.Validate(); err == nil || strings.Count(err.Error(), "\n") != 1 {
		t.Errorf("two faults: %v", err)
	}
	for _, o := range []Options{{Workers: -1, BatchRows: 1}, {MaxRejectShare: 2, BatchRows: 1}, {BatchRows: 9000}, {}} {
		if o.Validate() == nil {
			t.Errorf("%+v is accepted", o)
		}
	}
}

func TestPoints(t *testing.T) {
	p := &Profile{SpeedAt: 50, MovementFrom: "release"}
	if pt := p.Speed(); pt.Release || pt.Y != 50 {
		t.Errorf("speed at %+v", pt)
	}
	if pt := p.Movement(); !pt.Release || pt.Y == pt.Y {
		t.Errorf("movement from %+v", pt)
	}
}
