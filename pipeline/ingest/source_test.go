package ingest

import (
	"errors"
	"fmt"
	"math"
	"math/big"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"github.com/parquet-go/parquet-go"

	"sill/pipeline/pitch"
)

// field returns the words of the first line that begin with a prefix.
func fieldOf(t *testing.T, lines []string, prefix string) string {
	t.Helper()
	if len(lines) != 1 {
		t.Fatalf("%d pitches, want 1", len(lines))
	}
	for _, w := range strings.Fields(lines[0]) {
		if strings.HasPrefix(w, prefix) {
			return strings.TrimPrefix(w, prefix)
		}
	}
	return ""
}

func typed(t *testing.T, name string, node parquet.Node, value any) []File {
	t.Helper()
	types := nodes()
	types[name] = node
	path := filepath.Join(t.TempDir(), "a.parquet")
	writeRows(t, path, types, []row{throw("G", 1, 1, name, value)})
	return []File{{Path: path, Name: "a.parquet"}}
}

// TestNumberTypes reads one velocity in every type that numbers come in.
func TestNumberTypes(t *testing.T) {
	fixed := func(v int64, n int) parquet.Value {
		b := big.NewInt(v).FillBytes(make([]byte, n))
		return parquet.FixedLenByteArrayValue(b)
	}
	negative := func(v int64, n int) parquet.Value {
		b := make([]byte, n)
		m := new(big.Int).Lsh(big.NewInt(1), uint(8*n))
		return parquet.FixedLenByteArrayValue(new(big.Int).Add(m, big.NewInt(v)).FillBytes(b))
	}
	for _, tt := range []struct {
		column string
		node   parquet.Node
		value  any
		at     string
		want   string
	}{
		{"speed", doubleNode, 93.4, "0:", "93.4000"},
		{"speed", parquet.Leaf(parquet.DoubleType), 93.4, "0:", "93.4000"},
		{"speed", optional(parquet.Leaf(parquet.FloatType)), float32(93.4), "0:", "93.4000"},
		{"speed", optional(parquet.Int(32)), 93, "0:", "93.0000"},
		{"speed", optional(parquet.Int(16)), 93, "0:", "93.0000"},
		{"speed", optional(parquet.Uint(32)), int32(93), "0:", "93.0000"},
		{"speed", intNode, 93, "0:", "93.0000"},
		{"speed", textNode, " 93.4 ", "0:", "93.4000"},
		{"speed", optional(parquet.Encoded(parquet.String(), &parquet.RLEDictionary)), "93.4", "0:", "93.4000"},
		{"speed", optional(parquet.Encoded(parquet.Leaf(parquet.DoubleType), &parquet.RLEDictionary)), 93.4, "0:", "93.4000"},
		{"speed", optional(parquet.Decimal(1, 9, parquet.Int32Type)), int32(934), "0:", "93.4000"},
		{"speed", optional(parquet.Decimal(3, 18, parquet.Int64Type)), int64(93400), "0:", "93.4000"},
		{"speed", optional(parquet.Decimal(2, 10, parquet.FixedLenByteArrayType(5))), fixed(9340, 5), "0:", "93.4000"},
		{"speed", optional(parquet.Decimal(2, 30, parquet.FixedLenByteArrayType(13))), fixed(9340, 13), "0:", "93.4000"},
		{"speed", optional(parquet.Decimal(2, 30, parquet.ByteArrayType)), parquet.ByteArrayValue([]byte{0x24, 0x7c}), "0:", "93.4000"},
		{"rise", optional(parquet.Decimal(2, 10, parquet.FixedLenByteArrayType(5))), negative(-550, 5), "1:", "-5.5000"},
		{"rise", optional(parquet.Decimal(2, 30, parquet.FixedLenByteArrayType(13))), negative(-550, 13), "1:", "-5.5000"},
		{"turn", doubleNode, 7.0, "27:", "7.0000"},
		{"turn", textNode, "7", "27:", "7.0000"},
		{"hurler", intNode, 7, "p=", "7|left"},
		{"hurler", doubleNode, 7.0, "p=", "7|left"},
		{"hurler", textNode, " 007 ", "p=", "007|left"},
		{"hurler", textNode, "Zoe\u0308", "p=", "Zo\u00eb|left"}, // canonical text is in Unicode form C
	} {
		t.Run(fmt.Sprint(tt.column, " ", tt.node.Type(), " ", tt.node.Encoding()), func(t *testing.T) {
			_, _, lines := run(t, typed(t, tt.column, tt.node, tt.value), profile(), DefaultOptions())
			if got := fieldOf(t, lines, tt.at); got != tt.want {
				t.Errorf("%s, want %s", got, tt.want)
			}
		})
	}
}

func TestDates(t *testing.T) {
	const day = "2031-04-05"
	at := time.Date(2031, 4, 6, 2, 30, 0, 0, time.UTC) // the evening before in Chicago
	days := int32(time.Date(2031, 4, 5, 0, 0, 0, 0, time.UTC).Unix() / 86400)
	for _, tt := range []struct {
		node         parquet.Node
		value        any
		format, zone string
	}{
		{optional(parquet.Date()), days, "", ""},
		{optional(parquet.Timestamp(parquet.Millisecond)), at.UnixMilli(), "", "America/Chicago"},
		{optional(parquet.Timestamp(parquet.Microsecond)), at.UnixMicro(), "", "America/Chicago"},
		{optional(parquet.Timestamp(parquet.Nanosecond)), at.UnixNano(), "", "America/Chicago"},
		{optional(parquet.Timestamp(parquet.Millisecond)), at.UnixMilli() - 864e5, "", ""},
		{optional(parquet.TimestampAdjusted(parquet.Microsecond, false)), at.UnixMicro() - 864e8, "", "America/Chicago"},
		{textNode, "2031-04-05", "", ""},
		{textNode, "2031-4-5", "year-month-day", ""},
		{textNode, "4/5/2031", "month/day/year", ""},
		{textNode, "05.04.2031", "day.month.year", ""},
		{textNode, "5 Apr 2031", "%e %b %Y", ""},
		{textNode, "05Apr31", "02Jan06", ""},
		{textNode, "2031-04-06T02:30:00Z", "timestamp", "America/Chicago"},
		{textNode, "2031-04-05 23:30:00", "timestamp", "America/Chicago"},
		{intNode, 20310405, "yearmonthday", ""},
		{textNode, "20310405", "yearmonthday", ""},
	} {
		p := profile().edit("date", func(c *Column) { c.Format, c.Zone = tt.format, tt.zone })
		_, _, lines := run(t, typed(t, "day", tt.node, tt.value), p, DefaultOptions())
		if got := strings.Fields(lines[0])[1]; got != day {
			t.Errorf("%v %v %q %q: %s, want %s", tt.node.Type(), tt.value, tt.format, tt.zone, got, day)
		}
	}
}

func TestSeasonOfAGame(t *testing.T) {
	// A game that runs past midnight on New Year's Eve is of the year of its
	// first date, on all its rows.
	rows := []row{throw("G", 1, 1, "day", "2032-01-01"), throw("G", 1, 2, "day", "2031-12-31"), throw("G", 1, 3, "day", nil)}
	path := filepath.Join(t.TempDir(), "a.parquet")
	writeRows(t, path, nodes(), rows, parquet.MaxRowsPerRowGroup(1))
	_, _, lines := run(t, []File{{Path: path, Name: "a"}}, profile(), DefaultOptions())
	for _, l := range lines {
		if !strings.HasPrefix(l, "2031 ") {
			t.Error(l)
		}
	}
	p := profile()
	delete(p.Columns, "date")
	p.Season = 2029
	_, _, lines = run(t, one(t, throw("G", 1, 1)), p, DefaultOptions())
	if !strings.HasPrefix(lines[0], "2029 ") {
		t.Error(lines[0])
	}
}

// TestUnits uses the definitions of the units: 1 mile = 1609.344 m, 1 in =
// 2.54 cm (international yard and pound agreement, 1959).
func TestUnits(t *testing.T) {
	for _, tt := range []struct {
		d    pitch.Dimension
		unit string
		v    float64
		want float64
	}{
		{pitch.Speed, "mph", 93, 93}, {pitch.Speed, "km/h", 160.9344, 100}, {pitch.Speed, "m/s", 44.704, 100}, {pitch.Speed, "ft/s", 132, 90},
		{pitch.SmallLength, "ft", 16.0 / 12, 16}, {pitch.SmallLength, "cm", 25.4, 10}, {pitch.SmallLength, "mm", 254, 10}, {pitch.SmallLength, "m", .254, 10},
		{pitch.Length, "in", 72, 6}, {pitch.Length, "m", 1.8288, 6}, {pitch.Length, "cm", 182.88, 6}, {pitch.Length, "mm", 1828.8, 6},
		{pitch.Angle, "rad", math.Pi, 180}, {pitch.Rotation, "rev/s", 40, 2400}, {pitch.Rotation, "rad/s", 2 * math.Pi, 60}, {pitch.Rotation, "deg/s", 360, 60},
		{pitch.Acceleration, "m/s²", 9.80665, 9.80665 / .3048}, {pitch.Acceleration, "m/s2", 3.048, 10},
		{pitch.SpeedFeet, "m/s", 30.48, 100}, {pitch.SpeedFeet, "mph", 60, 88}, {pitch.SpeedFeet, "km/h", 109.728, 100},
	} {
		u := unitOf(tt.d, tt.unit)
		if u.name != tt.unit {
			t.Errorf("no unit %s", tt.unit)
		}
		if got := tt.v * u.mul / u.div; math.Abs(got-tt.want) > 1e-12*math.Abs(tt.want) {
			t.Errorf("%v %s = %v, want %v", tt.v, tt.unit, got, tt.want)
		}
	}
}

func TestLateralSigns(t *testing.T) {
	// Arm side is −x for a right-handed pitcher and +x for a left-handed one;
	// x points to the catcher's right (package pitch).
	for _, tt := range []struct {
		column, positive string
		left, right      float64 // of a source value of 3
	}{
		{"horizontal_break", "arm_side", 3, 3}, {"horizontal_break", "glove_side", -3, -3},
		{"horizontal_break", "catcher_right", 3, -3}, {"horizontal_break", "pitcher_right", -3, 3},
		{"velocity_x", "catcher_right", 3, 3}, {"velocity_x", "pitcher_right", -3, -3},
		{"velocity_x", "arm_side", 3, -3}, {"velocity_x", "glove_side", -3, 3},
	} {
		col, _ := pitch.Lookup(tt.column)
		p := profile()
		delete(p.Columns, "horizontal_break")
		p.Columns[tt.column] = Column{Column: "sweep", Unit: col.Unit, Positive: tt.positive}
		for hand, want := range map[string]float64{"L": tt.left, "R": tt.right} {
			_, _, lines := run(t, one(t, throw("G", 1, 1, "sweep", 3.0, "arm", hand)), p, DefaultOptions())
			if got := fieldOf(t, lines, fmt.Sprintf("%d:", col.Number)); got != fmt.Sprintf("%.4f", want) {
				t.Errorf("%s %s of %s: %s, want %v", tt.column, tt.positive, hand, got, want)
			}
		}
	}
}

func TestSixteenInchesInFeet(t *testing.T) {
	p := profile().edit("induced_vertical_break", func(c *Column) { c.Unit = "ft" })
	for _, v := range []any{16.0 / 12, float32(16.0 / 12)} {
		node := doubleNode
		if _, ok := v.(float32); ok {
			node = optional(parquet.Leaf(parquet.FloatType))
		}
		_, _, lines := run(t, typed(t, "rise", node, v), p, DefaultOptions())
		if got := fieldOf(t, lines, "1:"); got != "16.0000" {
			t.Errorf("%T: %s", v, got)
		}
	}
}

func TestSentinels(t *testing.T) {
	for _, tt := range []struct {
		node    parquet.Node
		value   any
		missing []any
	}{
		{doubleNode, -999.0, []any{-999}}, {intNode, -999, []any{-999}}, {intNode, 0, []any{0.0}}, {intNode, -999, []any{"-999"}},
		{textNode, "n/a", []any{"n/a", "-999"}}, {textNode, "-999", []any{"n/a", "-999"}}, {textNode, "", nil}, {textNode, "  ", nil},
	} {
		p := profile().edit("velocity", func(c *Column) { c.Missing = tt.missing })
		_, r, _ := run(t, typed(t, "speed", tt.node, tt.value), p, DefaultOptions())
		if r.Untracked != 1 {
			t.Errorf("%v of %v is not missing", tt.value, tt.node.Type())
		}
	}
}

func TestCodesAsNumbers(t *testing.T) {
	for _, tt := range []struct {
		node  parquet.Node
		value any
		from  any
	}{
		{intNode, 7, 7}, {intNode, 7, "7"}, {doubleNode, 7.0, 7}, {textNode, "7", "7"}, {textNode, "07", "07"},
		{optional(parquet.Leaf(parquet.BooleanType)), true, true}, {optional(parquet.Leaf(parquet.BooleanType)), true, "true"},
	} {
		p := profile().edit("outcome", func(c *Column) { c.Values = []Value{{tt.from, "foul"}} })
		_, _, lines := run(t, typed(t, "call", tt.node, tt.value), p, DefaultOptions())
		if !strings.Contains(lines[0], " foul ") {
			t.Errorf("%v from %v: %s", tt.value, tt.from, lines[0])
		}
	}
	// A bare number never stands for text: 007 in YAML is 7.
	p := profile().edit("outcome", func(c *Column) { c.Values = []Value{{7, "foul"}} })
	_, err := Index(t.Context(), typed(t, "call", textNode, "007"), p, DefaultOptions())
	if err == nil || !strings.Contains(err.Error(), "quote it") {
		t.Errorf("error %v", err)
	}
}

func TestBunts(t *testing.T) {
	for _, tt := range []struct {
		node  parquet.Node
		value any
		want  string
	}{{optional(parquet.Leaf(parquet.BooleanType)), true, "2"}, {intNode, 0, "1"}, {textNode, "yes", "2"}, {textNode, nil, "0"}} {
		types := nodes()
		types["bunted"] = tt.node
		path := filepath.Join(t.TempDir(), "a.parquet")
		writeRows(t, path, types, []row{throw("G", 1, 1, "bunted", tt.value)})
		p := profile().edit("bunt", func(c *Column) { c.Column = "bunted" })
		_, _, lines := run(t, []File{{Path: path, Name: "a"}}, p, DefaultOptions())
		if got := fieldOf(t, lines, "bunt="); got != tt.want {
			t.Errorf("%v: bunt %s, want %s", tt.value, got, tt.want)
		}
	}
}

func TestDottedAndNestedNames(t *testing.T) {
	types := nodes()
	delete(types, "speed")
	types["release.speed (m/s)"] = doubleNode
	path := filepath.Join(t.TempDir(), "a.parquet")
	writeRows(t, path, types, []row{throw("G", 1, 1, "release.speed (m/s)", 44.704)})
	p := profile().edit("velocity", func(c *Column) { c.Column, c.Unit = "release.speed (m/s)", "m/s" })
	_, _, lines := run(t, []File{{Path: path, Name: "a"}}, p, DefaultOptions())
	if got := fieldOf(t, lines, "0:"); got != "100.0000" {
		t.Errorf("dotted: %s", got)
	}

	// A column inside an optional group is reached by its dotted path; nulls at
	// either level are missing.
	type ball struct {
		Speed *float64 `parquet:"speed,optional"`
	}
	type line struct {
		Match  string `parquet:"match"`
		Hurler string `parquet:"hurler"`
		Arm    string `parquet:"arm"`
		Stand  string `parquet:"stand"`
		Kind   string `parquet:"kind"`
		Call   string `parquet:"call"`
		Ball   *ball  `parquet:"ball,optional"`
	}
	v := 93.4
	l := line{"G", "P1", "L", "R", "fast", "taken", &ball{&v}}
	none, empty := l, l
	none.Ball, empty.Ball = nil, &ball{}
	path = filepath.Join(t.TempDir(), "nested.parquet")
	f, err := os.Create(path)
	if err != nil {
		t.Fatal(err)
	}
	w := parquet.NewGenericWriter[line](f)
	if _, err := w.Write([]line{l, none, empty}); err != nil {
		t.Fatal(err)
	}
	if err := errors.Join(w.Close(), f.Close()); err != nil {
		t.Fatal(err)
	}
	all := profile().Columns
	p = &Profile{Season: 2031, Columns: map[string]Column{"game": all["game"], "pitcher": all["pitcher"], "hand": all["hand"], "side": all["side"],
		"pitch_type": all["pitch_type"], "outcome": all["outcome"], "velocity": {Column: "ball.speed", Unit: "mph"}}}
	_, r, _ := run(t, []File{{Path: path, Name: "a"}}, p, DefaultOptions())
	if r.RowsUsed != 3 || r.Untracked != 2 {
		t.Errorf("nested: %+v", r)
	}
}

// TestSecondSchema reads a later file with other names, other types, another
// order and fewer columns.
func TestSecondSchema(t *testing.T) {
	dir := t.TempDir()
	writeRows(t, filepath.Join(dir, "2031-04.parquet"), nodes(), []row{throw("G1", 1, 1, "hurler", "12")})
	later := nodes()
	delete(later, "speed")
	delete(later, "rise")
	later["pace"], later["hurler"], later["turn"] = optional(parquet.Leaf(parquet.FloatType)), intNode, textNode
	writeRows(t, filepath.Join(dir, "2031-09.parquet"), later, []row{throw("G2", 1, 1, "hurler", 12, "turn", "1", "pace", float32(93.2))})
	files, err := Find([]string{dir})
	if err != nil {
		t.Fatal(err)
	}
	p := profile().edit("velocity", func(c *Column) { c.Column, c.FirstOf = "", []string{"pace", "speed"} })
	s, _, lines := run(t, files, p, DefaultOptions())
	if len(lines) != 2 || !strings.Contains(lines[0], "0:93.4000 1:16.0000") || !strings.Contains(lines[1], "0:93.2000 2:8.5000") {
		t.Errorf("pitches:\n%s", strings.Join(lines, "\n"))
	}
	if !slices.Equal(s.Names.Pitchers, []string{"12|left"}) {
		t.Errorf("pitchers %v: the number 12 and the text 12 are one", s.Names.Pitchers)
	}
	found := false
	for _, w := range s.Warnings {
		found = found || w.Code == "column_absent" && strings.HasPrefix(w.Detail, "induced_vertical_break is missing in 1 of 2 files, first in 2031-09.parquet")
	}
	if !found {
		t.Errorf("warnings %v", s.Warnings)
	}
}

func TestConstantsAndHiveFolders(t *testing.T) {
	dir := t.TempDir()
	types := nodes()
	delete(types, "day")
	for _, year := range []string{"2030", "2031"} {
		writeRows(t, filepath.Join(dir, "season="+year, "park=Harbor%20Side", "part-0.parquet"), types, []row{throw("G"+year, 1, 1)})
	}
	files, err := Find([]string{dir})
	if err != nil {
		t.Fatal(err)
	}
	p := profile().edit("season", func(c *Column) { c.Column = "season" }).edit("venue", func(c *Column) { c.Column = "park" })
	p.edit("level", func(c *Column) { c.Constant = "first" })
	p.edit("position_y", func(c *Column) { *c = Column{Constant: 50, Unit: "ft"} })
	delete(p.Columns, "date")
	s, _, lines := run(t, files, p, DefaultOptions())
	if len(lines) != 2 || !strings.HasPrefix(lines[0], "2030 ") || !strings.HasPrefix(lines[1], "2031 ") || !strings.Contains(lines[0], "l=first") || !strings.Contains(lines[0], " 17:50.0000") {
		t.Errorf("pitches:\n%s", strings.Join(lines, "\n"))
	}
	if !s.Has("position_y") || !slices.Equal(s.Names.Venues, []string{"Harbor%20Side"}) {
		t.Errorf("venues %v", s.Names.Venues)
	}
}

func TestFind(t *testing.T) {
	dir := t.TempDir()
	for _, n := range []string{"season=2031/a.parquet", "season=2031/b.PARQUET", "season=2030/a.parquet", "notes.txt", ".hidden/c.parquet", "_part.parquet", "x.pq"} {
		path := filepath.Join(dir, filepath.FromSlash(n))
		if err := os.MkdirAll(filepath.Dir(path), 0o755); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(path, nil, 0o644); err != nil {
			t.Fatal(err)
		}
	}
	names := func(paths ...string) (out []string) {
		t.Helper()
		files, err := Find(paths)
		if err != nil {
			t.Fatal(err)
		}
		for _, f := range files {
			out = append(out, f.Name)
		}
		return out
	}
	all := []string{"season=2030/a.parquet", "season=2031/a.parquet", "season=2031/b.PARQUET", "x.pq"}
	for _, tt := range []struct {
		want  []string
		paths []string
	}{
		{all, []string{dir}},
		{all, []string{filepath.Join(dir, "x.pq"), dir, dir + "/"}},
		{all[:3], []string{filepath.Join(dir, "season=*")}},
		{all[1:3], []string{filepath.Join(dir, "season=2031")}},
		{all[:2], []string{filepath.Join(dir, "season=*", "a.parquet")}},
		{all[1:2], []string{filepath.Join(dir, "season=2031", "a.parquet")}},
	} {
		if diff := cmp.Diff(tt.want, names(tt.paths...)); diff != "" {
			t.Errorf("%v: %s", tt.paths, diff)
		}
	}
	files, _ := Find([]string{filepath.Join(dir, "season=2030")})
	if files[0].Hive["season"] != "2030" {
		t.Errorf("hive %v", files[0].Hive)
	}
	for _, bad := range [][]string{nil, {filepath.Join(dir, "none")}, {filepath.Join(dir, "none*.parquet")}, {filepath.Join(dir, ".hidden", "..", "[")}, {t.TempDir()}} {
		if _, err := Find(bad); err == nil {
			t.Errorf("%v: no error", bad)
		}
	}
	// Two roots with files of one name are told apart by their paths.
	other := t.TempDir()
	if err := os.WriteFile(filepath.Join(other, "x.pq"), nil, 0o644); err != nil {
		t.Fatal(err)
	}
	got := names(filepath.Join(dir, "x.pq"), filepath.Join(other, "x.pq"))
	if len(got) != 2 || got[0] == got[1] {
		t.Errorf("names %v", got)
	}
}
