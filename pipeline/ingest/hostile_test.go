package ingest

import (
	"bytes"
	"encoding/binary"
	"errors"
	"fmt"
	"math/rand/v2"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/parquet-go/parquet-go"
	"github.com/parquet-go/parquet-go/compress"
	"github.com/parquet-go/parquet-go/format"
)

// small returns the bytes of a small file with two row groups, dictionaries,
// nulls and page checksums.
func small(tb testing.TB, options ...parquet.WriterOption) []byte {
	tb.Helper()
	types := nodes()
	types["kind"] = optional(parquet.Encoded(parquet.String(), &parquet.RLEDictionary))
	var rows []row
	for i := range 60 {
		r := throw(fmt.Sprint("G", i/20), i/4, i%4+1, "speed", 85+float64(i%30)/3)
		if i%4 == 3 {
			r["end"] = "K"
		}
		if i%7 == 0 {
			r["rise"] = nil
		}
		rows = append(rows, r)
	}
	path := filepath.Join(tb.TempDir(), "small.parquet")
	writeRows(tb, path, types, rows, append([]parquet.WriterOption{parquet.MaxRowsPerRowGroup(32)}, options...)...)
	b, err := os.ReadFile(path)
	if err != nil {
		tb.Fatal(err)
	}
	return b
}

// attempt reads bytes as an input file, both passes.
func attempt(tb testing.TB, path string, b []byte) ([]string, error) {
	tb.Helper()
	if err := os.WriteFile(path, b, 0o644); err != nil {
		tb.Fatal(err)
	}
	o := loose()
	o.Workers = 1
	s, err := Index(tb.Context(), []File{{Path: path, Name: "x.parquet"}}, profile(), o)
	if err != nil {
		return nil, err
	}
	_, lines, err := deliver(s)
	return lines, err
}

func TestBadFiles(t *testing.T) {
	good := small(t)
	path := filepath.Join(t.TempDir(), "x.parquet")
	encrypted := slices.Clone(good)
	copy(encrypted[len(encrypted)-4:], "PARE")
	long := slices.Clone(good)
	binary.LittleEndian.PutUint32(long[len(long)-8:], 1<<31)
	for _, tt := range []struct {
		name string
		b    []byte
		want string
	}{
		{"empty", nil, "the file is empty"},
		{"tiny", []byte("PAR1"), "not a Parquet file"},
		{"text", []byte("pitcher,velocity\n1,93\n2,94\n"), "not a Parquet file"},
		{"truncated", good[:len(good)-100], "truncated"},
		{"truncated in the data", append(slices.Clone(good[:100]), good[len(good)-8:]...), "footer"},
		{"encrypted", encrypted, "encrypted"},
		{"footer too long", long, "footer claims"},
	} {
		_, err := attempt(t, path, tt.b)
		var fe *FileError
		if !errors.As(err, &fe) || fe.File != "x.parquet" || !strings.Contains(err.Error(), tt.want) {
			t.Errorf("%s: error %v, want one of x.parquet with %q", tt.name, err, tt.want)
		}
	}
	if _, err := Index(t.Context(), []File{{Path: t.TempDir(), Name: "folder"}}, profile(), loose()); err == nil {
		t.Error("a folder as a file: no error")
	}
	if _, err := Index(t.Context(), []File{{Path: path + ".none", Name: "none"}}, profile(), loose()); !errors.Is(err, os.ErrNotExist) {
		t.Errorf("a file that is not there: %v", err)
	}
}

func TestTruncations(t *testing.T) {
	good := small(t)
	path := filepath.Join(t.TempDir(), "x.parquet")
	step := 97
	if testing.Short() {
		step = 997
	}
	for n := 0; n < len(good); n += step {
		if _, err := attempt(t, path, good[:n]); err == nil {
			t.Errorf("no error at %d of %d bytes", n, len(good))
		}
	}
}

// TestFlippedBytes flips single bits of a file that carries page checksums. In
// the footer as in the data, a flip is either an error or changes nothing that
// is read.
func TestFlippedBytes(t *testing.T) {
	good := small(t)
	path := filepath.Join(t.TempDir(), "x.parquet")
	want, err := attempt(t, path, good)
	if err != nil {
		t.Fatal(err)
	}
	footer := len(good) - 8 - int(binary.LittleEndian.Uint32(good[len(good)-8:]))
	flips := 1000
	if testing.Short() {
		flips = 150
	}
	r := rand.New(rand.NewPCG(4, 2))
	for _, part := range []struct {
		name   string
		lo, hi int
		n      int
	}{{"footer", footer, len(good), flips}, {"data", 0, footer, flips / 2}} {
		refused := 0
		for range part.n {
			at, bit := part.lo+r.IntN(part.hi-part.lo), r.IntN(8)
			b := slices.Clone(good)
			b[at] ^= 1 << bit
			got, err := attempt(t, path, b)
			switch {
			case err != nil:
				refused++
			case !slices.Equal(got, want):
				t.Errorf("%s: bit %d of byte %d changes what is read, silently", part.name, bit, at)
			}
		}
		t.Logf("%s: %d of %d flips refused, the others change nothing", part.name, refused, part.n)
		if refused == 0 {
			t.Errorf("%s: nothing was refused", part.name)
		}
	}
}

// TestCorpus reads the deliberately broken files of the Apache Parquet project.
func TestCorpus(t *testing.T) {
	dir := os.Getenv("SILL_PARQUET_CORPUS")
	if dir == "" {
		t.Skip("SILL_PARQUET_CORPUS is not set")
	}
	var files []string
	err := filepath.WalkDir(dir, func(path string, d os.DirEntry, err error) error {
		if err == nil && filepath.Ext(path) == ".parquet" {
			files = append(files, path)
		}
		return err
	})
	if err != nil || len(files) == 0 {
		t.Fatalf("%d files under SILL_PARQUET_CORPUS: %v", len(files), err)
	}
	// One file is unusual but whole: its indexes into a dictionary of one entry
	// take no bits at all.
	whole := map[string]bool{"ARROW-GH-43605.parquet": true}
	for _, path := range files {
		in, err := Inspect(t.Context(), File{Path: path, Name: filepath.Base(path)}, nil)
		if err == nil {
			// A broken column may be of a kind that is not read at all.
			for _, c := range in.Columns {
				t.Logf("%s: column %s (%s): %s", filepath.Base(path), c.Name, c.Type, c.Note)
				if whole[filepath.Base(path)] {
					if c.Distinct != 1 || c.Values[0] != (ValueCount{"0", in.Rows}) {
						t.Errorf("%s: values %v", filepath.Base(path), c.Values)
					}
				} else if c.Note == "" {
					t.Errorf("%s: column %s (%s) was read: %d nulls, values %v", filepath.Base(path), c.Name, c.Type, c.Nulls, c.Values)
				}
			}
			continue
		}
		t.Logf("%v", err)
	}
}

// refuse checks that a codec's data passes the size check as it is, and that a
// claim one byte short, or a cut, does not.
func TestExpansionOfHonestData(t *testing.T) {
	r := rand.New(rand.NewPCG(7, 7))
	for _, codec := range []compress.Codec{&parquet.Snappy, &parquet.Gzip, &parquet.Zstd} {
		for _, n := range []int{0, 1, 10, 255, 256, 300, 65_000, 66_000, 131_072, 131_073, 1 << 20} {
			for _, kind := range []string{"zeros", "random", "mixed"} {
				src := make([]byte, n)
				if kind != "zeros" {
					for i := range src {
						src[i] = byte(r.UintN(256))
						if kind == "mixed" && i%3 > 0 {
							src[i] = 'a' + src[i]%4
						}
					}
				}
				b, err := codec.Encode(nil, src)
				if err != nil {
					t.Fatal(err)
				}
				if err := checkExpansion(codec.CompressionCodec(), b, int64(n)); err != nil {
					t.Errorf("%s of %d %s bytes: %v", codec, n, kind, err)
				}
				if n > 300 {
					if err := checkExpansion(codec.CompressionCodec(), b, int64(n)/2); err == nil && (kind != "mixed" || codec != compress.Codec(&parquet.Zstd)) {
						t.Errorf("%s of %d %s bytes passes for half of them", codec, n, kind)
					}
				}
			}
		}
	}
}

// bomb is a zstd frame of n blocks that each repeat one byte 128 Ki times
// (RFC 8878, section 3.1.1). It claims a content size, or none.
func bomb(blocks int, claim uint64, compressed bool) []byte {
	b := []byte{0x28, 0xB5, 0x2F, 0xFD}
	if claim > 0 {
		b = binary.LittleEndian.AppendUint64(append(b, 0xE0), claim)
	} else {
		b = append(b, 0, 0x58) // a window of 2 MiB, no size
	}
	for i := range blocks {
		h := uint32(1)<<1 | 128<<10<<3
		if compressed {
			h = 2<<1 | 1<<3
		}
		if i == blocks-1 {
			h |= 1
		}
		b = append(b, byte(h), byte(h>>8), byte(h>>16), 'x')
	}
	return b
}

func TestZstdBombs(t *testing.T) {
	for _, tt := range []struct {
		name string
		b    []byte
	}{
		{"repeated blocks", bomb(10_000, 0, false)},
		{"a claim of the frame", bomb(1, 1<<33, false)},
		{"compressed blocks", bomb(10_000, 0, true)},
		{"two frames", append(bomb(8, 0, false), bomb(8, 0, false)...)},
		{"window", []byte{0x28, 0xB5, 0x2F, 0xFD, 0, 0xF8, 1, 0, 0}},
		{"no last block", bomb(2, 0, false)[:11]},
		{"no frame", []byte("hello")},
	} {
		if err := checkExpansion(format.Zstd, tt.b, 1<<20); err == nil {
			t.Errorf("%s passes", tt.name)
		}
	}
	if err := checkExpansion(format.Zstd, bomb(8, 1<<20, false), 1<<20); err != nil {
		t.Errorf("an honest frame: %v", err)
	}
}

// TestPageLies changes the size that a page claims, in the file.
func TestPageLies(t *testing.T) {
	for _, codec := range []compress.Codec{&parquet.Snappy, &parquet.Gzip, &parquet.Zstd, &parquet.Uncompressed} {
		good := small(t, parquet.Compression(codec), parquet.DataPageVersion(1))
		path := filepath.Join(t.TempDir(), "x.parquet")
		want, err := attempt(t, path, good)
		if err != nil {
			t.Fatalf("%s: %v", codec, err)
		}
		f, err := parquet.OpenFile(bytes.NewReader(good), int64(len(good)))
		if err != nil {
			t.Fatal(err)
		}
		leaf, _ := f.Schema().Lookup("speed")
		at := chunkStart(&f.Metadata().RowGroups[0].Columns[leaf.ColumnIndex].MetaData)
		// The header opens with field 1 (page type), field 2 (decompressed size).
		if good[at] != 0x15 || good[at+2] != 0x15 {
			t.Fatalf("%s: no page header at %d", codec, at)
		}
		size, n := binary.Uvarint(good[at+3:])
		lie := slices.Clone(good)
		fake := binary.AppendUvarint(nil, size-2)
		if len(fake) != n {
			t.Fatalf("%s: sizes %d", codec, size)
		}
		copy(lie[at+3:], fake)
		got, err := attempt(t, path, lie)
		if err == nil {
			t.Errorf("%s: a page that claims one byte less is read (same pitches: %v)", codec, slices.Equal(got, want))
		}
	}
}

// TestUnreadCodec has no checksum to lean on: the codec's name alone refuses.
func TestUnreadCodec(t *testing.T) {
	for _, codec := range []compress.Codec{&parquet.Brotli, &parquet.Lz4Raw} {
		_, err := attempt(t, filepath.Join(t.TempDir(), "x.parquet"), small(t, parquet.Compression(codec)))
		if err == nil || !strings.Contains(err.Error(), "write it with zstd") {
			t.Errorf("%s: %v", codec, err)
		}
	}
	for _, codec := range []compress.Codec{&parquet.Snappy, &parquet.Gzip, &parquet.Uncompressed} {
		for version := 1; version <= 2; version++ {
			if _, err := attempt(t, filepath.Join(t.TempDir(), "x.parquet"), small(t, parquet.Compression(codec), parquet.DataPageVersion(version))); err != nil {
				t.Errorf("%s, pages of version %d: %v", codec, version, err)
			}
		}
	}
}

func TestChangedInput(t *testing.T) {
	good := small(t)
	path := filepath.Join(t.TempDir(), "x.parquet")
	if err := os.WriteFile(path, good, 0o644); err != nil {
		t.Fatal(err)
	}
	s, err := Index(t.Context(), []File{{Path: path, Name: "x"}}, profile(), loose())
	if err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(path, append(good[:len(good):len(good)], 0), 0o644); err != nil {
		t.Fatal(err)
	}
	if _, _, err := deliver(s); err == nil {
		t.Error("an input that changed between the passes: no error")
	}
}

// FuzzOpen feeds arbitrary bytes; nothing may panic.
func FuzzOpen(f *testing.F) {
	good := small(f)
	f.Add(good)
	f.Add(good[:len(good)-9])
	f.Add([]byte("PAR1PAR1"))
	f.Fuzz(func(t *testing.T, b []byte) {
		path := filepath.Join(t.TempDir(), "x.parquet")
		lines, err := attempt(t, path, b)
		if err == nil && len(lines) == 0 {
			t.Error("neither pitches nor an error")
		}
		if _, err := Inspect(t.Context(), File{Path: path, Name: "x"}, profile()); err != nil && err.Error() == "" {
			t.Error("an error without words")
		}
	})
}
