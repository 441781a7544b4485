package duckdb

import (
	"context"
	"database/sql"
	_ "embed"
	"fmt"
	"maps"
	"math"
	"os"
	"path/filepath"
	"slices"
	"testing"

	_ "github.com/duckdb/duckdb-go/v2"

	"sill/config"
	"sill/pipeline"
	"sill/pipeline/demo"
	"sill/pipeline/thresholds"
)

//go:embed counts.sql
var countsSQL string

// widths and rounding of the variables as documented, written here anew.
var variables = map[string]struct{ width, round float64 }{
	"velocity": {1, 1e4}, "induced_vertical_break": {1, 1e4}, "horizontal_break": {1, 1e4},
	"vertical_approach_angle": {.25, 1e4}, "neutral_approach_angle": {.25, 1e4}, "horizontal_approach_angle": {.5, 1e4},
	"release_height": {.2, 1e4}, "release_side": {.2, 1e4}, "extension": {.2, 1e4}, "spin_rate": {100, 10},
	"plate_height": {.1, 1e4}, "plate_side": {.2, 1e4}, "axis_gap": {5, 100}, "arm_slot": {5, 1e4},
}

// results are the counted results with their weights (Tango, Lichtman and
// Dolphin, The Book, 2007, from memory), in the order of the columns.
var results = []struct {
	name   string
	weight float64
}{
	{"strikeouts", 0}, {"walks", .72}, {"hit_by_pitch", .75}, {"singles", .90}, {"doubles", 1.24},
	{"triples", 1.56}, {"home_runs", 1.95}, {"reached_on_error", .92}, {"sacrifice_flies", 0}, {"other_outs", 0},
}

// league writes a demo season and runs sill on it.
func league(t *testing.T, pitches int) (dir string, published *thresholds.Tables) {
	t.Helper()
	dir = filepath.Join(t.TempDir(), "lantern")
	o := demo.DefaultOptions()
	o.Dir, o.Pitches = dir, pitches
	if _, err := demo.Write(context.Background(), o); err != nil {
		t.Fatal(err)
	}
	return dir, run(t, filepath.Join(dir, "sill.yaml"), nil)
}

// run publishes what a configuration says, changed by adjust, and reads it back.
func run(t *testing.T, file string, adjust func(*pipeline.Options)) *thresholds.Tables {
	t.Helper()
	resolved, err := config.Load(nil, file, nil)
	if err != nil {
		t.Fatal(err)
	}
	opts := resolved.Options
	opts.Output = t.TempDir()
	opts.Estimate.Replicates = 200
	opts.Locate.Flips = 199
	opts.Locate.MaxFlips = 199
	opts.Created, _ = pipeline.Now("1")
	if adjust != nil {
		adjust(&opts)
	}
	// Published folders are read-only: hand them back to the cleaner.
	t.Cleanup(func() {
		filepath.WalkDir(opts.Output, func(name string, d os.DirEntry, err error) error {
			if err == nil && d.IsDir() {
				os.Chmod(name, 0o755)
			}
			return nil
		})
	})
	result, err := pipeline.Run(context.Background(), opts)
	if err != nil {
		t.Fatal(err)
	}
	table, err := thresholds.Open(result.Dir)
	if err != nil {
		t.Fatal(err)
	}
	tables, err := table.Load()
	if err != nil {
		t.Fatal(err)
	}
	return tables
}

// fine is one bin of one cell as DuckDB counts it.
type fine struct {
	bin                          int64
	missing                      bool
	pitches, swings, whiffs, tip int64
	appearances                  int64
	classes                      [10]int64
}

// TestCounts compares every published bin with DuckDB's own count of the raw
// files, to the last integer, and the rates and lines that follow from them.
func TestCounts(t *testing.T) {
	dir, tables := league(t, 100_000)
	db, err := sql.Open("duckdb", "")
	if err != nil {
		t.Fatal(err)
	}
	defer db.Close()
	if _, err := db.Exec(fmt.Sprintf(countsSQL, dir)); err != nil {
		t.Fatal(err)
	}

	published := map[string]map[thresholds.Key][]thresholds.Bin{}
	for _, b := range tables.Bins {
		if b.Stratum != "" { // a further split of the same pitches
			continue
		}
		if published[b.Variable] == nil {
			published[b.Variable] = map[thresholds.Key][]thresholds.Bin{}
		}
		published[b.Variable][b.Key] = append(published[b.Variable][b.Key], b)
	}
	if len(published) != len(variables) {
		t.Fatalf("published variables %v, want %d", slices.Sorted(maps.Keys(published)), len(variables))
	}
	compared := 0
	for name, v := range variables {
		counted := countBins(t, db, name, v.width, v.round)
		for key, bins := range published[name] {
			cell := [3]string{key.Hand, key.Side, key.PitchType}
			if key.PitchType == "" {
				continue
			}
			var inCell int64
			for _, b := range bins {
				var sum fine
				for _, f := range counted[cell] {
					if f.missing != (b.Kind == "missing") {
						continue
					}
					if x := (float64(f.bin) + .5) * v.width; !f.missing &&
						(b.Lower != nil && x < *b.Lower || b.Upper != nil && x > *b.Upper) {
						continue
					}
					sum.add(f)
				}
				compareBin(t, key, b, sum)
				inCell += b.Pitches
				compared++
			}
			var want int64
			for _, f := range counted[cell] {
				want += f.pitches
			}
			if inCell != want {
				t.Errorf("%v: bins hold %d pitches, DuckDB counts %d", key, inCell, want)
			}
		}
	}
	if compared < 2000 {
		t.Errorf("only %d bins compared", compared)
	}
	t.Logf("%d bins equal", compared)
	compareLines(t, db, tables)
}

func (f *fine) add(o fine) {
	f.pitches += o.pitches
	f.swings += o.swings
	f.whiffs += o.whiffs
	f.tip += o.tip
	f.appearances += o.appearances
	for i := range f.classes {
		f.classes[i] += o.classes[i]
	}
}

// countBins asks DuckDB for every bin of one variable.
func countBins(t *testing.T, db *sql.DB, name string, width, per float64) map[[3]string][]fine {
	t.Helper()
	wrapped := name
	if name == "axis_gap" { // within (−180, 180]
		wrapped = "axis_gap - 360 * ceil((axis_gap - 180) / 360)"
	}
	query := fmt.Sprintf(`select hand, side, coalesce(kind, ''), cast(floor(round((%s) * %g) / %g) as bigint) as bin, count(*),
		count(*) filter (swing), count(*) filter (whiff), count(*) filter (tip), count(class)`, wrapped, per, math.Round(width*per))
	for _, r := range results {
		query += fmt.Sprintf(", count(*) filter (class = '%s')", r.name)
	}
	rows, err := db.Query(query + " from measured group by all")
	if err != nil {
		t.Fatal(err)
	}
	defer rows.Close()
	out := map[[3]string][]fine{}
	for rows.Next() {
		var cell [3]string
		var bin sql.NullInt64
		var f fine
		dst := []any{&cell[0], &cell[1], &cell[2], &bin, &f.pitches, &f.swings, &f.whiffs, &f.tip, &f.appearances}
		for i := range f.classes {
			dst = append(dst, &f.classes[i])
		}
		if err := rows.Scan(dst...); err != nil {
			t.Fatal(err)
		}
		f.bin, f.missing = bin.Int64, !bin.Valid
		out[cell] = append(out[cell], f)
	}
	if err := rows.Err(); err != nil {
		t.Fatal(err)
	}
	return out
}

// compareBin compares one published bin with DuckDB's sum.
func compareBin(t *testing.T, key thresholds.Key, b thresholds.Bin, want fine) {
	t.Helper()
	classes := [10]int64{b.Strikeouts, b.Walks, b.HitByPitch, b.Singles, b.Doubles, b.Triples, b.HomeRuns, b.ReachedOnError, b.SacrificeFlies, b.OtherOuts}
	events, value := want.swings, float64(want.whiffs)
	if key.Outcome == "woba_against" {
		events, value = want.appearances, 0
		for i, r := range results {
			value += r.weight * float64(want.classes[i])
		}
		if classes != want.classes {
			t.Errorf("%v %s bin from %v: results %v, DuckDB %v", key, b.Kind, show(b.Lower), classes, want.classes)
		}
	} else if b.Whiffs != want.whiffs || b.FoulTips != want.tip {
		t.Errorf("%v %s bin from %v: %d whiffs and %d foul tips, DuckDB %d and %d", key, b.Kind, show(b.Lower), b.Whiffs, b.FoulTips, want.whiffs, want.tip)
	}
	if b.Pitches != want.pitches || b.Events != events {
		t.Errorf("%v %s bin from %v: %d pitches and %d events, DuckDB %d and %d", key, b.Kind, show(b.Lower), b.Pitches, b.Events, want.pitches, events)
	}
	if b.Rate != nil {
		if r := value / float64(events); !published(*b.Rate, r) {
			t.Errorf("%v bin from %v: rate %v, DuckDB %v", key, show(b.Lower), *b.Rate, r)
		}
	}
}

// compareLines compares the pooled rate and the median of qualified pitchers of
// every pitch type.
func compareLines(t *testing.T, db *sql.DB, tables *thresholds.Tables) {
	t.Helper()
	weight := "case class"
	for _, r := range results {
		weight += fmt.Sprintf(" when '%s' then %g", r.name, r.weight)
	}
	weight += " end"
	compared := 0
	for outcome, q := range map[string]string{
		"whiff_rate":   "select kind, hand, thrower, count(*) filter (swing) as n, count(*) filter (whiff) as y from measured group by all",
		"woba_against": "select kind, hand, thrower, count(class) as n, sum(" + weight + ") as y from measured group by all",
	} {
		rows, err := db.Query("select kind, sum(y) / sum(n), median(y / n) filter (n >= 25), count(*) filter (n >= 25) from (" + q + ") where kind is not null and n > 0 group by kind")
		if err != nil {
			t.Fatal(err)
		}
		for rows.Next() {
			var kind string
			var rate float64
			var median sql.NullFloat64
			var qualified int64
			if err := rows.Scan(&kind, &rate, &median, &qualified); err != nil {
				t.Fatal(err)
			}
			for _, r := range tables.References {
				if r.PitchType != kind || r.Outcome != outcome || r.Hand != "" || r.Side != "" || r.Value == nil {
					continue
				}
				want := map[string]float64{"pitch_type_rate": rate, "pitch_type_median": median.Float64}
				if w, ok := want[r.Reference]; ok {
					compared++
					if !published(*r.Value, w) || r.Qualified != qualified {
						t.Errorf("%s %s %s: %v from %d, DuckDB %v from %d", kind, outcome, r.Reference, *r.Value, r.Qualified, w, qualified)
					}
				}
			}
		}
		rows.Close()
	}
	if compared < 20 {
		t.Errorf("only %d lines compared", compared)
	}
}

func show(x *float64) any {
	if x == nil {
		return "below"
	}
	return *x
}

// published tells whether a rate is the one that was computed here with the five
// decimals that rates are published with; a tie may fall either way.
func published(rate, want float64) bool {
	const unit = 1e-5
	nearest := math.Round(want/unit) * unit
	tie := math.Abs(math.Abs(want/unit-math.Floor(want/unit))-.5) < 1e-6
	return math.Abs(rate-nearest) < 1e-12 || tie && math.Abs(rate-want) < unit/2+1e-12
}
