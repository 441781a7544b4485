package ingest

import (
	"errors"
	"math"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/parquet-go/parquet-go"

	"sill/pipeline/pitch"
)

func TestOnePitch(t *testing.T) {
	s, r, lines := run(t, one(t, throw("G1", 1, 1, "end", "1B", "call", "hit")), profile(), DefaultOptions())
	want := "2031 2031-04-05 g=G1 p=P1|left b=B1 v=- l=- LR four_seam in_play result=single bunt=0 fielder=0" +
		" 0:93.4000 1:16.0000 2:8.5000 25:1.0000 26:1.0000 27:1.0000 28:1.0000"
	if len(lines) != 1 || lines[0] != want {
		t.Errorf("got %q\nwant %q", strings.Join(lines, "\n"), want)
	}
	if r.RowsRead != 1 || r.RowsUsed != 1 || len(r.Rejects) != 0 {
		t.Errorf("report %+v", r)
	}
	for col, want := range map[string]bool{"velocity": true, "result": true, "spin_rate": false, "half": true} {
		if s.Has(col) != want {
			t.Errorf("Has(%s) = %v", col, !want)
		}
	}
}

// results lists plate appearance, pitch number and result of the delivered
// pitches that carry one.
func results(lines []string) (out []string) {
	for _, l := range lines {
		var at, res, num string
		for _, w := range strings.Fields(l) {
			switch {
			case strings.HasPrefix(w, "result="):
				res = strings.TrimPrefix(w, "result=")
			case strings.HasPrefix(w, "27:"):
				at = strings.TrimSuffix(w[3:], ".0000")
			case strings.HasPrefix(w, "28:"):
				num = strings.TrimSuffix(w[3:], ".0000")
			}
		}
		if res != "" {
			out = append(out, at+"."+num+" "+res)
		}
	}
	return out
}

func TestResults(t *testing.T) {
	every := func(p *Profile) { p.ResultOn = "every_pitch" }
	for _, tt := range []struct {
		name               string
		rows               []row
		edit               func(*Profile)
		want               []string
		lost, without, use int64
	}{
		{name: "repeated result stands on the last pitch by number", edit: every, rows: []row{
			throw("G", 1, 3, "end", "K"), throw("G", 1, 1, "end", "K"), throw("G", 1, 2, "end", "K")},
			want: []string{"1.3 strikeout"}, use: 3},
		{name: "a last pitch without an inning is still the last", edit: every, rows: []row{
			throw("G", 1, 1, "end", "K", "frame", 3), throw("G", 1, 2, "end", "K", "frame", nil)},
			want: []string{"1.2 strikeout"}, use: 2},
		{name: "last pitch only", rows: []row{
			throw("G", 1, 1), throw("G", 1, 2, "end", "1B"), throw("G", 2, 1, "end", "BB")},
			want: []string{"1.2 single", "2.1 walk"}, use: 3},
		{name: "a result ahead of the last row goes to the last row", rows: []row{
			throw("G", 1, 1, "end", "K"), throw("G", 1, 2)},
			want: []string{"1.2 strikeout"}, use: 2},
		{name: "a rejected last row loses the result, which never moves", edit: every, rows: []row{
			throw("G", 1, 1, "end", "K"), throw("G", 1, 2, "end", "K", "speed", 500.0)},
			lost: 1, use: 1},
		{name: "a filtered last row loses the result too", edit: func(p *Profile) {
			every(p)
			p.Where = []Filter{{Column: "call", NotIn: []any{"miss"}}}
		}, rows: []row{throw("G", 1, 1, "end", "K"), throw("G", 1, 2, "end", "K", "call", "miss")},
			lost: 1, use: 1},
		{name: "a conflicting last row loses the result", edit: every, rows: []row{
			throw("G", 1, 1, "end", "K"), throw("G", 1, 2, "end", "K"), throw("G", 1, 2, "end", "K", "speed", 90.0)},
			lost: 1, use: 1},
		{name: "ended without a pitch", edit: every, rows: []row{
			throw("G", 1, 1, "end", "K"), throw("G", 1, 2, "end", "K", "call", "clock", "kind", nil, "speed", nil)},
			without: 1, use: 1},
		{name: "an event that ends no appearance loses nothing", rows: []row{
			throw("G", 1, 1), throw("G", 1, 2, "end", "CS", "speed", 500.0)},
			use: 1},
		{name: "games with one number of the day stay apart", edit: every, rows: []row{
			throw("G1", 1, 1, "end", "K"), throw("G2", 1, 2, "end", "1B")},
			want: []string{"1.1 strikeout", "1.2 single"}, use: 2},
		{name: "the later inning is last, whatever the number", rows: []row{
			throw("G", 1, 9, "frame", 3), throw("G", 1, 1, "frame", 4, "end", "K")},
			want: []string{"1.1 strikeout"}, use: 2},
	} {
		t.Run(tt.name, func(t *testing.T) {
			p := profile()
			if tt.edit != nil {
				tt.edit(p)
			}
			_, r, lines := run(t, one(t, tt.rows...), p, loose())
			if got := results(lines); !slices.Equal(got, tt.want) {
				t.Errorf("results %v, want %v", got, tt.want)
			}
			if r.ResultsLost != tt.lost || r.ResultsWithoutPitch != tt.without || r.RowsUsed != tt.use {
				t.Errorf("lost %d, without pitch %d, used %d; want %d, %d, %d", r.ResultsLost, r.ResultsWithoutPitch, r.RowsUsed, tt.lost, tt.without, tt.use)
			}
		})
	}
}

func TestDuplicatesAndConflicts(t *testing.T) {
	dir := t.TempDir()
	a, b := filepath.Join(dir, "a.parquet"), filepath.Join(dir, "b.parquet")
	files := []File{{Path: b, Name: "b.parquet"}, {Path: a, Name: "a.parquet"}}
	writeRows(t, a, nodes(), []row{throw("G", 1, 1), throw("G", 1, 2), throw("G", 1, 1), throw("G", 1, 3, "speed", 90.0)})
	// The second file holds the same pitches in other types: numbers in single
	// precision and text, whole numbers in 32 bits.
	other := nodes()
	other["speed"], other["rise"] = optional(parquet.Leaf(parquet.FloatType)), textNode
	other["turn"] = optional(parquet.Int(32))
	writeRows(t, b, other, []row{throw("G", 1, 1, "speed", float32(93.4), "rise", "16.0"),
		throw("G", 1, 3, "speed", float32(91), "rise", " 16"), throw("G", 1, 4, "speed", float32(91), "rise", "16")})

	_, r, lines := run(t, files, profile(), loose())
	if r.Duplicates != 2 || r.Conflicts != 2 || r.RowsUsed != 3 || len(lines) != 3 {
		t.Fatalf("duplicates %d, conflicts %d, used %d; want 2, 2, 3", r.Duplicates, r.Conflicts, r.RowsUsed)
	}
	want := []Reject{
		{"a.parquet", 3, "conflict", "", "game G, plate appearance 1, pitch 3"},
		{"b.parquet", 1, "conflict", "", "game G, plate appearance 1, pitch 3"},
	}
	if diff := cmp.Diff(want, r.Rejects); diff != "" {
		t.Errorf("rejects: %s", diff)
	}

	p := profile()
	p.PreferFiles = []string{"b*"}
	_, r, lines = run(t, files, p, loose())
	if r.Conflicts != 0 || r.rule("superseded") != 1 || r.Duplicates != 2 || r.RowsUsed != 4 {
		t.Errorf("ranked: conflicts %d, superseded %d, duplicates %d, used %d; want 0, 1, 2, 4", r.Conflicts, r.rule("superseded"), r.Duplicates, r.RowsUsed)
	}
	if !strings.Contains(strings.Join(lines, "\n"), "0:91.0000 1:16.0000 2:8.5000 25:1.0000 26:1.0000 27:1.0000 28:3.0000") {
		t.Errorf("the ranked file's pitch is not used:\n%s", strings.Join(lines, "\n"))
	}
	// Three rows of one key, two alike: one is a duplicate, two conflict.
	_, r, _ = run(t, one(t, throw("G", 1, 1), throw("G", 1, 1), throw("G", 1, 1, "speed", 90.0), throw("G", 1, 2)), profile(), loose())
	if r.Duplicates != 1 || r.Conflicts != 2 {
		t.Errorf("duplicates %d, conflicts %d; want 1, 2", r.Duplicates, r.Conflicts)
	}
}

func TestUntracked(t *testing.T) {
	rows := []row{throw("G", 1, 1), throw("G", 1, 2, "speed", nil, "rise", nil, "sweep", nil, "end", "K")}
	o := DefaultOptions()
	o.MaxRejectShare = 0
	_, r, lines := run(t, one(t, rows...), profile(), o)
	if r.Untracked != 1 || r.RowsUsed != 2 || r.RowsRejected != 0 {
		t.Errorf("untracked %d, used %d, rejected %d; want 1, 2, 0", r.Untracked, r.RowsUsed, r.RowsRejected)
	}
	if got := results(lines); len(got) != 1 {
		t.Errorf("the untracked row's result is gone: %v", got)
	}
}

// TestRejects holds one row against each rule.
func TestRejects(t *testing.T) {
	inf := math.Inf(1)
	for _, tt := range []struct {
		rule, column, value string
		row                 row
		edit                func(*Profile)
		types               map[string]parquet.Node
	}{
		{rule: "missing_value", column: "hurler", row: throw("G", 1, 1, "hurler", " ")},
		{rule: "missing_value", column: "arm", row: throw("G", 1, 1, "arm", nil)},
		{rule: "missing_value", column: "call", row: throw("G", 1, 1, "call", nil)},
		{rule: "missing_value", column: "season", row: throw("H", 1, 1, "day", nil)},
		{rule: "rejected_value", column: "kind", value: "bad", row: throw("G", 1, 1, "kind", "bad")},
		{rule: "side_unresolved", column: "stand", value: "S", row: throw("G", 1, 1, "stand", "S"), edit: func(p *Profile) { p.SwitchSide = "reject" }},
		{rule: "not_finite", column: "speed", value: "+Inf", row: throw("G", 1, 1, "speed", inf)},
		{rule: "not_finite", column: "rise", value: "-Inf", row: throw("G", 1, 1, "rise", -inf)},
		{rule: "out_of_range", column: "speed", value: "9.3", row: throw("G", 1, 1, "speed", 9.3)},
		{rule: "out_of_range", column: "frame", value: "0", row: throw("G", 1, 1, "frame", 0)},
		{rule: "not_whole", column: "turn", value: "1.5", row: throw("G", 1, 1, "turn", 1.5), types: map[string]parquet.Node{"turn": doubleNode}},
		{rule: "not_whole", column: "hurler", value: "7.5", row: throw("G", 1, 1, "hurler", 7.5), types: map[string]parquet.Node{"hurler": doubleNode}},
		{rule: "not_a_number", column: "speed", value: "fast", row: throw("G", 1, 1, "speed", "fast"), types: map[string]parquet.Node{"speed": textNode}},
		{rule: "not_a_date", column: "day", value: "5.4.31", row: throw("G", 1, 1, "day", "5.4.31")},
	} {
		t.Run(tt.rule+" "+tt.column, func(t *testing.T) {
			types := nodes()
			good := throw("G", 2, 1)
			for k, n := range tt.types {
				types[k] = n
				if n.Type().Kind() == parquet.Double {
					good[k] = 2.0
				} else {
					good[k] = "93"
				}
			}
			path := filepath.Join(t.TempDir(), "a.parquet")
			writeRows(t, path, types, []row{good, tt.row})
			p := profile()
			if tt.edit != nil {
				tt.edit(p)
			}
			s, err := Index(t.Context(), []File{{Path: path, Name: "a.parquet"}}, p, DefaultOptions())
			if err != nil {
				t.Fatal(err)
			}
			r, _, err := deliver(s)
			if !errors.Is(err, ErrTooManyRejects) {
				t.Errorf("one of two rows rejected: error %v", err)
			}
			want := []Reject{{"a.parquet", 1, tt.rule, tt.column, tt.value}}
			if diff := cmp.Diff(want, r.Rejects); diff != "" {
				t.Error(diff)
			}
			if r.rule(tt.rule) != 1 || r.RowsUsed != 1 {
				t.Errorf("rule counted %d times, %d rows used", r.rule(tt.rule), r.RowsUsed)
			}
		})
	}
}

func TestNotes(t *testing.T) {
	nan := math.NaN()
	_, r, lines := run(t, one(t, throw("G", 1, 1, "speed", nan), throw("G", 1, 2, "kind", nil), throw("G", 1, 3, "kind", "none"),
		throw("G", 1, 4, "call", "event"), throw("", 1, 5)), profile(), DefaultOptions())
	if r.rule("nan") != 1 || r.rule("unknown_type") != 2 || r.rule("no_pitch") != 1 || r.rule("no_key") != 1 || r.RowsUsed != 4 || r.Untracked != 1 {
		t.Errorf("%+v", r)
	}
	if len(lines) != 4 {
		t.Errorf("%d pitches", len(lines))
	}
}

func TestPrepareRejects(t *testing.T) {
	s, err := Index(t.Context(), one(t, throw("G", 1, 1), throw("G", 1, 2, "end", "K")), profile(), loose())
	if err != nil {
		t.Fatal(err)
	}
	r, err := s.Deliver(t.Context(), func(_ int, p *pitch.Pitch) string {
		if p.Result == pitch.Strikeout {
			return "no_flight"
		}
		return ""
	})
	if err != nil {
		t.Fatal(err)
	}
	if r.rule("no_flight") != 1 || r.ResultsLost != 1 || r.RowsUsed != 1 || r.Rejects[0].Rule != "no_flight" || r.Rejects[0].Row != 1 {
		t.Errorf("%+v", r)
	}
}

func TestFilters(t *testing.T) {
	rows := []row{throw("G", 1, 1), throw("G", 1, 2, "hurler", "P2"), throw("G", 1, 3, "phase", "practice"), throw("G", 1, 4, "phase", nil)}
	for _, tt := range []struct {
		name string
		edit func(*Profile)
		want int64
		rule string
		n    int64
	}{
		{"regular season by default", func(p *Profile) {}, 2, "game_type", 2},
		{"named game types", func(p *Profile) { p.GameTypes = []string{"practice"} }, 1, "game_type", 3},
		{"all game types", func(p *Profile) { p.GameTypes = []string{"*"} }, 4, "game_type", 0},
		{"excluded by id", func(p *Profile) { p.ExcludePitchers.IDs = []any{"P2"} }, 1, "excluded_pitcher", 1},
		{"where in", func(p *Profile) { p.Where = []Filter{{Column: "hurler", In: []any{"P2"}}} }, 1, "filtered", 3},
		{"where not in", func(p *Profile) {
			p.Where = []Filter{{Column: "throw", NotIn: []any{1, 2.0}}}
			p.GameTypes = []string{"*"}
		}, 2, "filtered", 2},
		{"where missing", func(p *Profile) { p.Where = []Filter{{Column: "phase", In: []any{""}}}; p.GameTypes = []string{"*"} }, 1, "filtered", 3},
	} {
		t.Run(tt.name, func(t *testing.T) {
			p := profile()
			tt.edit(p)
			_, r, _ := run(t, one(t, rows...), p, DefaultOptions())
			if r.RowsUsed != tt.want || r.rule(tt.rule) != tt.n || r.RowsRejected != 0 {
				t.Errorf("used %d, %s %d, rejected %d; want %d, %d, 0", r.RowsUsed, tt.rule, r.rule(tt.rule), r.RowsRejected, tt.want, tt.n)
			}
		})
	}
	// Nothing is left: an error that says why.
	s, err := Index(t.Context(), one(t, throw("G", 1, 1, "phase", "practice")), profile(), DefaultOptions())
	if err != nil {
		t.Fatal(err)
	}
	if _, _, err := deliver(s); !errors.Is(err, ErrNothingInScope) || !strings.Contains(err.Error(), "game_type 1") {
		t.Errorf("error %v", err)
	}
	// Values that are not mapped do not matter in rows that are left out.
	p := profile()
	p.Where = []Filter{{Column: "call", NotIn: []any{"odd"}}}
	run(t, one(t, throw("G", 1, 1), throw("G", 1, 2, "call", "odd")), p, DefaultOptions())
}

func TestPositionPlayers(t *testing.T) {
	types := nodes()
	types["fielding"] = optional(parquet.Leaf(parquet.BooleanType))
	path := filepath.Join(t.TempDir(), "a.parquet")
	writeRows(t, path, types, []row{throw("G", 1, 1, "fielding", true), throw("G", 1, 2, "fielding", false), throw("G", 1, 3, "fielding", nil)})
	files := []File{{Path: path, Name: "a.parquet"}}
	p := profile().edit("position_player", func(c *Column) { c.Column = "fielding" })
	_, r, lines := run(t, files, p, DefaultOptions())
	if text := strings.Join(lines, "\n"); r.RowsUsed != 3 || strings.Count(text, "fielder=2") != 1 || strings.Count(text, "fielder=1") != 1 {
		t.Errorf("marks:\n%s", text)
	}
	p.ExcludePitchers.PositionPlayers = true
	_, r, _ = run(t, files, p, DefaultOptions())
	if r.RowsUsed != 2 || r.rule("excluded_pitcher") != 1 {
		t.Errorf("%+v", r)
	}
}

// TestPitchersWhoBat: pitches to pitchers count or not, as the profile says; where
// neither the profile nor the source tells, the run says so once.
func TestPitchersWhoBat(t *testing.T) {
	types := nodes()
	types["own_spot"] = optional(parquet.Leaf(parquet.BooleanType))
	path := filepath.Join(t.TempDir(), "a.parquet")
	writeRows(t, path, types, []row{throw("G", 1, 1, "own_spot", true), throw("G", 2, 1, "own_spot", false), throw("G", 3, 1, "own_spot", nil)})
	marked := func(p *Profile) { p.edit("batter_is_pitcher", func(c *Column) { c.Column = "own_spot" }) }
	for _, tt := range []struct {
		mark      bool
		setting   string
		used, out int64
		warned    int
	}{
		{true, "left_out", 2, 1, 0}, {true, "counted", 3, 0, 0}, {true, "", 3, 0, 0},
		{false, "", 3, 0, 1}, {false, "never", 3, 0, 0}, {false, "counted", 3, 0, 0},
	} {
		p := profile()
		p.PitchersBat = tt.setting
		if tt.mark {
			marked(p)
		}
		s, r, _ := run(t, []File{{Path: path, Name: "a.parquet"}}, p, DefaultOptions())
		warned := 0
		for _, w := range s.Warnings {
			if w.Code == "batting_pitchers_unknown" {
				warned++
			}
		}
		if r.RowsUsed != tt.used || r.rule("pitcher_bats") != tt.out || warned != tt.warned || r.RowsRejected != 0 || r.ResultsLost != 0 {
			t.Errorf("%+v: used %d, left out %d, warned %d, rejected %d", tt, r.RowsUsed, r.rule("pitcher_bats"), warned, r.RowsRejected)
		}
	}
}

func TestSwitchHitters(t *testing.T) {
	_, _, lines := run(t, one(t, throw("G", 1, 1, "stand", "S"), throw("G", 1, 2, "stand", "S", "arm", "R")), profile(), DefaultOptions())
	text := strings.Join(lines, "\n")
	if !strings.Contains(text, " LR four_seam") || !strings.Contains(text, " RL four_seam") {
		t.Errorf("sides:\n%s", text)
	}
	// A pitcher who throws with both hands is two pitchers.
	if !strings.Contains(text, "p=P1|left") || !strings.Contains(text, "p=P1|right") {
		t.Errorf("pitcher keys:\n%s", text)
	}
}
