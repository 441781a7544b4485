package ingest

import (
	"fmt"
	"math/rand/v2"
	"path/filepath"
	"slices"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/parquet-go/parquet-go"
)

// messy is a league's worth of rows with duplicates, conflicts, rejects,
// untracked rows and repeated results, in three files.
func messy() [3][]row {
	r := rand.New(rand.NewPCG(3, 1))
	var files [3][]row
	for g := range 12 {
		for a := range 20 {
			last := 1 + r.IntN(5)
			for n := 1; n <= last; n++ {
				w := throw(fmt.Sprintf("game %02d", g), a, n, "end", []string{"K", "1B", "BB"}[a%3], "hurler", fmt.Sprint("P", (g*20+a)/7),
					"arm", []string{"L", "R"}[(g*20+a)/7%2], "hitter", fmt.Sprint("B", a%9), "stand", []string{"L", "R", "S"}[a%3],
					"speed", 80+float64(r.IntN(200))/10, "frame", 1+a/3, "call", []string{"taken", "miss", "hit"}[r.IntN(3)])
				switch r.IntN(40) {
				case 0:
					w["speed"], w["rise"], w["sweep"] = nil, nil, nil
				case 1:
					w["speed"] = 400.0
				case 2:
					w["call"] = "clock"
				case 3:
					w["phase"] = "practice"
				}
				at := g % 3
				files[at] = append(files[at], w)
				switch r.IntN(25) {
				case 0: // again in another file
					files[(at+1)%3] = append(files[(at+1)%3], w)
				case 1: // contradicted in another file
					files[(at+1)%3] = append(files[(at+1)%3], w.with("rise", 3.0))
				case 2: // again in the same
					files[at] = append(files[at], w)
				}
			}
		}
	}
	return files
}

// TestDeterminism runs the same rows under many layouts.
func TestDeterminism(t *testing.T) {
	data := messy()
	write := func(options ...parquet.WriterOption) []File {
		dir := t.TempDir()
		var files []File
		for i, rows := range data {
			name := fmt.Sprintf("%d.parquet", i)
			writeRows(t, filepath.Join(dir, name), nodes(), rows, options...)
			files = append(files, File{Path: filepath.Join(dir, name), Name: name})
		}
		return files
	}
	p := profile()
	p.ResultOn = "every_pitch"
	o := loose()
	type outcome struct {
		Names  Names
		Report *Report
		Lines  []string
	}
	get := func(files []File, o Options) outcome {
		s, r, lines := run(t, files, p, o)
		return outcome{s.Names, r, lines}
	}
	base := write()
	want := get(base, o)
	for _, code := range []string{"duplicate", "conflict", "out_of_range", "untracked", "game_type", "no_pitch", "result_lost", "result_without_pitch"} {
		if want.Report.rule(code) == 0 {
			t.Errorf("the data hold no case of %s", code)
		}
	}
	check := func(what string, got outcome) {
		t.Helper()
		if diff := cmp.Diff(want, got); diff != "" {
			t.Errorf("%s: %s", what, diff)
		}
	}
	for _, workers := range []int{1, 2, 7} {
		o := o
		o.Workers = workers
		check(fmt.Sprint(workers, " workers"), get(base, o))
	}
	reversed := slices.Clone(base)
	slices.Reverse(reversed)
	check("files in reverse", get(reversed, o))
	small := o
	small.BatchRows, small.Workers = 7, 2
	check("batches of 7 rows", get(base, small))
	check("row groups of 10 rows", get(write(parquet.MaxRowsPerRowGroup(10)), o))
	check("pages of 64 bytes, version 1", get(write(parquet.PageBufferSize(64), parquet.DataPageVersion(1), parquet.Compression(&parquet.Snappy)), o))

	// The order of rows inside the files moves row numbers alone.
	for i := range data {
		rand.New(rand.NewPCG(9, uint64(i))).Shuffle(len(data[i]), func(a, b int) { data[i][a], data[i][b] = data[i][b], data[i][a] })
	}
	got := get(write(), o)
	for _, r := range []*Report{want.Report, got.Report} {
		for i := range r.Rejects {
			r.Rejects[i].Row = 0
		}
		slices.SortFunc(r.Rejects, func(a, b Reject) int {
			return slices.Compare([]string{a.File, a.Rule, a.Value}, []string{b.File, b.Rule, b.Value})
		})
	}
	check("rows shuffled", got)
}

// TestInputs checks what is told of each file.
func TestInputs(t *testing.T) {
	s, _, _ := run(t, one(t, throw("G", 1, 1)), profile(), loose())
	in := s.Inputs[0]
	if in.Name != "a.parquet" || in.Rows != 1 || len(in.SHA256) != 64 || in.Bytes == 0 || !in.PageCRC || len(in.Schema) != 32 {
		t.Errorf("%+v", in)
	}
}
