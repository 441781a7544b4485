package demo

import (
	"context"
	"encoding/json"
	"fmt"
	"io"
	"math"
	"os"
	"path/filepath"
	"runtime"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/parquet-go/parquet-go"

	"sill/config"
	"sill/pipeline/ingest"
	"sill/pipeline/pitch"
	"sill/pipeline/shape"
)

func write(t testing.TB, adjust func(*Options)) (string, *Summary) {
	t.Helper()
	o := small(40_000)
	o.Dir = t.TempDir()
	if adjust != nil {
		adjust(&o)
	}
	sum, err := Write(context.Background(), o)
	if err != nil {
		t.Fatal(err)
	}
	return o.Dir, sum
}

// TestSummaryEqualsFiles counts the rows of the files, by their text alone, and
// compares with what Write says it wrote.
func TestSummaryEqualsFiles(t *testing.T) {
	dir, sum := write(t, nil)
	rows, noPitch, stance, arms, kinds := 0, 0, 0, 0, 0
	whole, key := map[string]int{}, map[string]map[string]bool{}
	var nan, endless, fast, bare int
	dotted, plain := 0, 0
	for _, name := range sum.Files {
		f, err := os.Open(filepath.Join(dir, filepath.FromSlash(name)))
		if err != nil {
			t.Fatal(err)
		}
		r := parquet.NewReader(f)
		column := map[string]int{}
		for i, path := range r.Schema().Columns() {
			column[path[0]] = i
		}
		if _, ok := column["umpire.call"]; ok {
			dotted++
		} else if _, ok := column["umpire_call"]; ok {
			plain++
		}
		first := func(names ...string) int {
			for _, n := range names {
				if i, ok := column[n]; ok {
					return i
				}
			}
			t.Fatalf("%s has none of %v", name, names)
			return -1
		}
		turn, call := first("turn_at_bat", "batting_turn"), first("umpire_call", "umpire.call")
		buf := make([]parquet.Row, 1000)
		for {
			n, err := r.ReadRows(buf)
			for _, row := range buf[:n] {
				rows++
				text := fmt.Sprintf("%v", row)
				whole[text]++
				k := fmt.Sprint(row[column["game_code"]], row[turn], row[column["pitch_in_turn"]])
				if key[k] == nil {
					key[k] = map[string]bool{}
				}
				fresh := !key[k][text]
				key[k][text] = true
				if !fresh || len(key[k]) > 1 {
					continue // count each pitch once
				}
				speed := row[column["hand_speed"]]
				what := row[call].String()
				none := what == "nothing thrown" || what == "ball by the clock" || what == "strike by the clock"
				if none {
					noPitch++
				}
				if row[column["stance"]].String() == "either" {
					stance++
				}
				if row[column["throwing_arm"]].IsNull() {
					arms++
				}
				if row[column["delivery"]].IsNull() && !none {
					kinds++
				}
				switch {
				case speed.IsNull():
					if !none {
						bare++
					}
				case math.IsNaN(speed.Double()):
					nan++
				case speed.Double() == 400:
					fast++
				}
				if v := row[column["lift"]]; !v.IsNull() && math.IsInf(v.Double(), 0) {
					endless++
				}
			}
			if err == io.EOF {
				break
			}
			if err != nil {
				t.Fatal(err)
			}
		}
		f.Close()
	}
	if plain == 0 || dotted == 0 {
		t.Errorf("%d files of the first schema and %d of the second", plain, dotted)
	}
	repeated, conflicting := 0, 0
	for _, n := range whole {
		repeated += n - 1
	}
	for _, texts := range key {
		if len(texts) > 1 {
			conflicting++
		}
	}
	got := map[string]int{"rows": rows, "distinct": len(key), "no_pitch": noPitch, "repeated": repeated, "conflicting": conflicting,
		"untracked": bare, "not_a_number": nan, "too_fast": fast, "endless": endless, "handless": arms, "untyped": kinds, "stance_unread": stance}
	want := map[string]int{"rows": sum.Rows, "distinct": sum.Pitches + sum.BeforeSeason, "no_pitch": sum.NoPitch}
	for name, n := range sum.Blemishes {
		want[name] = n
		if n == 0 {
			t.Errorf("no pitch is %s: the test has nothing to count", name)
		}
	}
	if d := cmp.Diff(want, got); d != "" {
		t.Errorf("summary and files (−summary +files):\n%s", d)
	}
}

// TestProfileReadsFiles takes the files through the profile that comes with
// them, and compares what arrives, pitch by pitch, with what was thrown.
func TestProfileReadsFiles(t *testing.T) {
	o := small(40_000)
	dir, sum := write(t, nil)
	profile, err := config.LoadProfile(filepath.Join(dir, "profile.yaml"))
	if err != nil {
		t.Fatal(err)
	}
	if _, err := config.Load(nil, filepath.Join(dir, "sill.yaml"), nil); err != nil {
		t.Errorf("sill.yaml: %v", err)
	}
	files, err := ingest.Find([]string{dir})
	if err != nil {
		t.Fatal(err)
	}
	opts := ingest.DefaultOptions()
	opts.Workers = 1
	ix, err := ingest.Index(context.Background(), files, profile, opts)
	if err != nil {
		t.Fatal(err)
	}
	type id struct{ game, turn, number int }
	thrown := map[id]*Thrown{}
	fielders, unpitched := 0, 0
	want := map[string]int{}
	for _, rows := range season(t, Lantern(), o) {
		for i := range rows {
			r := &rows[i]
			switch {
			case r.Kind != Regular || r.Fielder || r.Blemish == Conflicting || r.Blemish == Handless || r.Blemish == TooFast || r.Blemish == Endless:
				if r.Kind == Regular && r.Blemish != Conflicting && r.Fielder {
					fielders++
				}
				continue
			case r.Outcome == pitch.NoPitch || r.Outcome == pitch.AutomaticBall || r.Outcome == pitch.AutomaticStrike:
				unpitched++
				continue
			}
			if r.Blemish != Clean {
				want[r.Blemish.String()]++
			}
			thrown[id{int(r.Game), int(r.Num[pitch.PlateAppearance]), int(r.Num[pitch.PitchNumber])}] = r
		}
	}
	n := 0
	near := func(p *pitch.Pitch, x *Thrown, k pitch.Number, step float64) {
		if math.Abs(p.Num[k]-x.Num[k]) > step {
			t.Errorf("number %d is %v, thrown was %v", k, p.Num[k], x.Num[k])
		}
	}
	rep, err := ix.Deliver(context.Background(), func(int, *pitch.Pitch) string { return "" }, pitch.CounterFunc(func(_ int, batch []pitch.Pitch) error {
		for i := range batch {
			p := &batch[i]
			var year, game int
			if _, err := fmt.Sscanf(ix.Names.Games[p.Game], "lantern-%d-%d", &year, &game); err != nil {
				t.Fatal(err)
			}
			x := thrown[id{game, int(p.Num[pitch.PlateAppearance]), int(p.Num[pitch.PitchNumber])}]
			if x == nil {
				t.Fatalf("a pitch of %s arrives that should not", ix.Names.Games[p.Game])
			}
			n++
			typ := x.Type
			if x.Blemish == Untyped {
				typ = pitch.UnknownType
			}
			if p.Hand != x.Hand || p.Side != x.Side || p.Type != typ || p.Outcome != x.Outcome || p.Result != x.Result || p.Date != x.Day || int(p.Season) != x.Season {
				t.Errorf("arrives as %+v, thrown was %+v", p, x)
			}
			if ix.Names.Pitchers[p.Pitcher] != (pitch.PitcherKey{ID: ID(x.Pitcher), Hand: x.Hand}).String() {
				t.Errorf("pitcher %s, thrown by %s", ix.Names.Pitchers[p.Pitcher], ID(x.Pitcher))
			}
			for k := pitch.Inning; int(k) < pitch.Numbers; k++ {
				near(p, x, k, 0)
			}
			if x.Blemish == Untracked {
				continue
			}
			for k := pitch.PositionX; k <= pitch.AccelerationZ; k++ {
				near(p, x, k, 0)
			}
			near(p, x, pitch.InducedVerticalBreak, .0061)
			near(p, x, pitch.HorizontalBreak, .0061)
			near(p, x, pitch.HorizontalApproachAngle, .0051)
			near(p, x, pitch.ReleaseSide, .0051)
			near(p, x, pitch.PlateSide, .0051)
			near(p, x, pitch.SpinRate, .51)
			if x.Blemish == NotANumber {
				if !pitch.IsMissing(p.Num[pitch.Velocity]) {
					t.Errorf("velocity %v, thrown as not a number", p.Num[pitch.Velocity])
				}
			} else {
				near(p, x, pitch.Velocity, .0035)
			}
		}
		return nil
	}))
	if err != nil {
		t.Fatal(err)
	}
	if n != len(thrown) || int(rep.RowsUsed) != n {
		t.Errorf("%d pitches arrive, %d used, %d thrown", n, rep.RowsUsed, len(thrown))
	}
	if int(rep.RowsRead) != sum.Rows || int(rep.Duplicates) != sum.Blemishes["repeated"] || int(rep.Conflicts) != 2*sum.Blemishes["conflicting"] || int(rep.Untracked) != want["untracked"] {
		t.Errorf("report %d rows, %d duplicates, %d conflicting, %d untracked; summary %+v", rep.RowsRead, rep.Duplicates, rep.Conflicts, rep.Untracked, sum)
	}
	if fielders == 0 || unpitched == 0 {
		t.Errorf("%d rows by position players, %d without a pitch: nothing is tested", fielders, unpitched)
	}
}

// TestFilesDoNotDependOnProcessors compares all bytes.
func TestFilesDoNotDependOnProcessors(t *testing.T) {
	defer runtime.GOMAXPROCS(runtime.GOMAXPROCS(1))
	a, sum := write(t, func(o *Options) { o.Pitches = 20_000 })
	runtime.GOMAXPROCS(4)
	b, _ := write(t, func(o *Options) { o.Pitches = 20_000 })
	for _, name := range append(sum.Files, "profile.yaml", "sill.yaml", "truth.json") {
		x, err := os.ReadFile(filepath.Join(a, filepath.FromSlash(name)))
		if err != nil {
			t.Fatal(err)
		}
		y, err := os.ReadFile(filepath.Join(b, filepath.FromSlash(name)))
		if err != nil {
			t.Fatal(err)
		}
		if string(x) != string(y) {
			t.Errorf("%s differs", name)
		}
	}
}

// TestRowGroups holds every row group to its size.
func TestRowGroups(t *testing.T) {
	dir, sum := write(t, func(o *Options) { o.Pitches, o.RowGroup = 20_000, 700 })
	for _, name := range sum.Files {
		raw, err := os.Open(filepath.Join(dir, filepath.FromSlash(name)))
		if err != nil {
			t.Fatal(err)
		}
		info, err := raw.Stat()
		if err != nil {
			t.Fatal(err)
		}
		f, err := parquet.OpenFile(raw, info.Size())
		if err != nil {
			t.Fatal(err)
		}
		for _, g := range f.RowGroups() {
			if g.NumRows() > 700 {
				t.Errorf("%s: a row group of %d rows", name, g.NumRows())
			}
		}
		raw.Close()
	}
}

// TestQualitiesAreShapeVariables holds names, units and widths to those that
// thresholds are sought in: truth.json is of use only if they agree.
func TestQualitiesAreShapeVariables(t *testing.T) {
	for _, info := range qualityInfo {
		found := false
		for _, v := range shape.Variables {
			if v.Name == info.Name {
				found = true
				if v.Unit != info.Unit || v.Width != info.Width {
					t.Errorf("%s: %s in steps of %g, sought as %s in steps of %g", info.Name, info.Unit, info.Width, v.Unit, v.Width)
				}
			}
		}
		if !found {
			t.Errorf("no shape variable is called %s", info.Name)
		}
	}
}

func TestWriteRefuses(t *testing.T) {
	o := small(10_000)
	if _, err := Write(context.Background(), o); err == nil {
		t.Error("no folder: no error")
	}
	o.Dir = filepath.Join(t.TempDir(), "file")
	if err := os.WriteFile(o.Dir, nil, 0o644); err != nil {
		t.Fatal(err)
	}
	if _, err := Write(context.Background(), o); err == nil {
		t.Error("a file in place of the folder: no error")
	}
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	o.Dir, o.Pitches = t.TempDir(), 1_000_000
	if _, err := Write(ctx, o); err == nil {
		t.Error("cancelled: no error")
	}
	if _, err := os.Stat(filepath.Join(o.Dir, "truth.json")); err == nil {
		t.Error("cancelled: truth.json is there all the same")
	}
}

func TestTruthFile(t *testing.T) {
	dir, _ := write(t, func(o *Options) { o.Pitches = 5_000 })
	raw, err := os.ReadFile(filepath.Join(dir, "truth.json"))
	if err != nil {
		t.Fatal(err)
	}
	var truth Truth
	if err := json.Unmarshal(raw, &truth); err != nil {
		t.Fatal(err)
	}
	if truth.Population == nil || truth.Population.Pitches < 100*400_000 || len(truth.Planted) != len(Lantern().Effects) {
		t.Errorf("truth of %+v with %d planted effects", truth.Population, len(truth.Planted))
	}
}

func BenchmarkWrite(b *testing.B) {
	b.ReportAllocs()
	for b.Loop() {
		write(b, func(o *Options) { o.Pitches = 500_000 })
	}
}
