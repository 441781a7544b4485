package tally

import (
	"bytes"
	"math/rand/v2"
	"reflect"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"
	"github.com/parquet-go/parquet-go"
)

func reread(t testing.TB, file []byte) (*Tally, error) {
	t.Helper()
	return Read(bytes.NewReader(file), int64(len(file)))
}

func TestHandoverRoundTrip(t *testing.T) {
	want := mustBuild(t, newLeague(4000, 15, 20), byHeight(), 2, noFold, nil)
	file := written(t, want)
	got, err := reread(t, file)
	if err != nil {
		t.Fatal(err)
	}
	if !bytes.Equal(written(t, got), file) {
		t.Error("writing what was read gives other bytes")
	}
	sample := func(t *Tally) []CellTable { return t.Cells[:4] } // comparing all is slow
	options := cmp.Options{cmp.AllowUnexported(BatterCount{}), cmpopts.EquateEmpty()}
	if diff := cmp.Diff(sample(want), sample(got), options); diff != "" {
		t.Error(diff[:min(len(diff), 2000)])
	}
	want.Cells, got.Cells = nil, nil
	if diff := cmp.Diff(want, got, options); diff != "" {
		t.Error(diff)
	}
}

// records reads a file in the plainest way; the file is known to be sound.
func records(t *testing.T, file []byte) []record {
	t.Helper()
	out, err := parquet.Read[record](bytes.NewReader(file), int64(len(file)))
	if err != nil {
		t.Fatal(err)
	}
	return out
}

// rewrite writes records as another engine might: its own codec and row groups.
func rewrite(t *testing.T, rows []record, text string) []byte {
	t.Helper()
	var b bytes.Buffer
	w := parquet.NewGenericWriter[record](&b, parquet.MaxRowsPerRowGroup(777), parquet.Compression(&parquet.Snappy),
		parquet.KeyValueMetadata(metaKey, text))
	if _, err := w.Write(rows); err != nil {
		t.Fatal(err)
	}
	if err := w.Close(); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

func metadata(t *testing.T, file []byte) string {
	t.Helper()
	f, err := parquet.OpenFile(bytes.NewReader(file), int64(len(file)))
	if err != nil {
		t.Fatal(err)
	}
	text, _ := f.Lookup(metaKey)
	return text
}

// TestHandoverFromAnotherEngine: rows in any order, another codec and other row
// groups read as the same tally.
func TestHandoverFromAnotherEngine(t *testing.T) {
	file := written(t, mustBuild(t, newLeague(3000, 10, 12), nil, 1, noFold, nil))
	rows := records(t, file)
	rand.New(rand.NewPCG(5, 6)).Shuffle(len(rows), func(i, j int) { rows[i], rows[j] = rows[j], rows[i] })
	got, err := reread(t, rewrite(t, rows, metadata(t, file)))
	if err != nil {
		t.Fatal(err)
	}
	if !bytes.Equal(written(t, got), file) {
		t.Error("shuffled rows give another tally")
	}
}

// TestHandoverRefuses: files whose counts contradict each other, and files that
// are none, are errors that say why.
func TestHandoverRefuses(t *testing.T) {
	file := written(t, mustBuild(t, newLeague(1500, 5, 6), nil, 1, noFold, nil))
	text := metadata(t, file)
	text = text[:strings.Index(text, `,"digest"`)] + "}" // as another engine may write it
	find := func(rows []record, table string) *record {
		for i := range rows {
			if rows[i].Table == table && rows[i].Swings > 1 {
				return &rows[i]
			}
		}
		t.Fatal("no row of table", table)
		return nil
	}
	for want, change := range map[string]func(rows []record) ([]record, string){
		"do not add up":     func(r []record) ([]record, string) { find(r, tableBin).Pitches++; return r, text },
		"totals hold":       func(r []record) ([]record, string) { return nil, text },
		"two rows":          func(r []record) ([]record, string) { return append(r, *find(r, tableBatter)), text },
		"a count of -1":     func(r []record) ([]record, string) { find(r, tableBin).Walks = -1; return r, text },
		"more whiffs":       func(r []record) ([]record, string) { x := find(r, tableBin); x.Whiffs = x.Swings + 1; return r, text },
		"a count of -5":     func(r []record) ([]record, string) { find(r, tableBin).SwingOffset2 = -5; return r, text },
		`unknown hand "up"`: func(r []record) ([]record, string) { r[0].Hand = "up"; return r, text },
		`table "tot"`:       func(r []record) ([]record, string) { r[0].Table = "tot"; return r, text },
		"not in the":        func(r []record) ([]record, string) { find(r, tableBin).Variable = "heft"; return r, text },
		"digest is":         func(r []record) ([]record, string) { find(r, tableBin).SwingOffset++; return r, metadata(t, file) },
		"format 7":          func(r []record) ([]record, string) { return r, `{"format":7}` },
		"metadata":          func(r []record) ([]record, string) { return r, "{" },
		"no pitcher's row": func(r []record) ([]record, string) {
			far := int32(1e6)
			find(r, tableBatter).Bin = &far
			return r, text
		},
		"the parts do not add": func(r []record) ([]record, string) { find(r, tablePart).Pitches++; return r, text },
		"parts do not add up": func(r []record) ([]record, string) {
			far := *find(r, tablePart).Bin + 4e6 // in a bin that is not there
			find(r, tablePart).Bin = &far
			return r, text
		},
		"do not add up to the bins": func(r []record) ([]record, string) { // in another bin of the same curve
			x := find(r, tablePart)
			for i := range r {
				y := &r[i]
				if y.Table == tablePart && y.Variable == x.Variable && y.Hand == x.Hand && y.Side == x.Side && y.PitchType == x.PitchType &&
					y.Season == x.Season && *y.Bin>>2 != *x.Bin>>2 && y.Swings > 0 {
					x.SwingOffset, y.SwingOffset = x.SwingOffset+1, y.SwingOffset-1
					break
				}
			}
			return r, text
		},
		"parts do not": func(r []record) ([]record, string) { find(r, tablePart).Bin = nil; return r, text },
		"told twice": func(r []record) ([]record, string) {
			x := *find(r, tablePart)
			x.Pitches, x.Swings, x.Whiffs, x.FoulTips = 0, 0, 0, 0
			x.SwingOffset, x.SwingOffset2, x.ResultOffset, x.ResultOffset2 = 0, 0, 0, 0
			for _, n := range x.results() {
				*n = 0
			}
			return append(r, x), text
		},
		"season 70000": func(r []record) ([]record, string) { r[0].Season = 70000; return r, text },
		"sorted and distinct": func(r []record) ([]record, string) {
			return r, strings.Replace(text, `"games":["`, `"games":["zz","`, 1)
		},
	} {
		rows, meta := change(records(t, file))
		if _, err := reread(t, rewrite(t, rows, meta)); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%s: got %v", want, err)
		}
	}
	for name, bytes := range map[string][]byte{"empty": nil, "text": []byte("no Parquet at all"), "cut": file[:len(file)/2]} {
		if _, err := reread(t, bytes); err == nil {
			t.Errorf("%s file: no error", name)
		}
	}
	var other bytes.Buffer
	w := parquet.NewGenericWriter[struct{ Season int32 }](&other, parquet.KeyValueMetadata(metaKey, text))
	if err := w.Close(); err != nil {
		t.Fatal(err)
	}
	if _, err := reread(t, other.Bytes()); err == nil || !strings.Contains(err.Error(), "columns table") {
		t.Errorf("other columns: %v", err)
	}
}

// TestHandoverDamage flips bits all over a file: an error or the same counts,
// never others and never a panic. (The footer has no checksum, so a flip in a
// name or a unit of the metadata can pass.)
func TestHandoverDamage(t *testing.T) {
	file := written(t, mustBuild(t, newLeague(600, 4, 5), nil, 1, noFold, nil))
	want, err := reread(t, file)
	if err != nil {
		t.Fatal(err)
	}
	rng := rand.New(rand.NewPCG(9, 1))
	refused := 0
	for range 300 {
		bad := bytes.Clone(file)
		bad[rng.IntN(len(bad))] ^= byte(1 << rng.IntN(8))
		got, err := reread(t, bad)
		if err != nil {
			refused++
		} else if !reflect.DeepEqual(got.Cells, want.Cells) {
			t.Fatal("a damaged file reads as other counts")
		}
	}
	if refused < 250 {
		t.Errorf("only %d of 300 damaged files are refused", refused)
	}
}
