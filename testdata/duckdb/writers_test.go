package duckdb

import (
	"bytes"
	"context"
	"database/sql"
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/apache/arrow/go/v17/arrow/memory"
	"github.com/apache/arrow/go/v17/parquet"
	"github.com/apache/arrow/go/v17/parquet/compress"
	"github.com/apache/arrow/go/v17/parquet/file"
	"github.com/apache/arrow/go/v17/parquet/pqarrow"

	"sill/pipeline/demo"
	"sill/pipeline/thresholds"
)

// TestWriters: the same season written by parquet-go, by DuckDB and by arrow
// gives the same tables to the last byte.
func TestWriters(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "lantern")
	o := demo.DefaultOptions()
	o.Dir, o.Pitches = dir, 40_000
	if _, err := demo.Write(context.Background(), o); err != nil {
		t.Fatal(err)
	}
	want := run(t, filepath.Join(dir, "sill.yaml"), nil)

	for name, rewrite := range map[string]func(t *testing.T, from, to string){"duckdb": byDuckDB, "arrow": byArrow} {
		t.Run(name, func(t *testing.T) {
			other := filepath.Join(t.TempDir(), "lantern")
			files := 0
			err := filepath.WalkDir(dir, func(from string, d os.DirEntry, err error) error {
				if err != nil || d.IsDir() {
					return err
				}
				rel, _ := filepath.Rel(dir, from)
				to := filepath.Join(other, rel)
				if err := os.MkdirAll(filepath.Dir(to), 0o755); err != nil {
					return err
				}
				if strings.HasSuffix(from, ".parquet") {
					files++
					rewrite(t, from, to)
					return nil
				}
				b, err := os.ReadFile(from)
				if err != nil {
					return err
				}
				return os.WriteFile(to, b, 0o644)
			})
			if err != nil || files == 0 {
				t.Fatalf("%d files rewritten: %v", files, err)
			}
			got := run(t, filepath.Join(other, "sill.yaml"), nil)
			if a, b := printed(want), printed(got); a != b {
				t.Errorf("tables differ: %d and %d bytes", len(a), len(b))
			}
		})
	}
}

// printed is every row of every resource.
func printed(tables *thresholds.Tables) string {
	var b bytes.Buffer
	each(&b, tables.Thresholds)
	each(&b, tables.Verdicts)
	each(&b, tables.Zones)
	each(&b, tables.Curves)
	each(&b, tables.Bins)
	each(&b, tables.Contrasts)
	each(&b, tables.References)
	each(&b, tables.Slopes)
	each(&b, tables.Opponents)
	return b.String()
}

func byDuckDB(t *testing.T, from, to string) {
	t.Helper()
	db, err := sql.Open("duckdb", "")
	if err != nil {
		t.Fatal(err)
	}
	defer db.Close()
	if _, err := db.Exec(fmt.Sprintf("copy (select * from read_parquet('%s', hive_partitioning = false)) to '%s' (format parquet, compression snappy, row_group_size 5000)", from, to)); err != nil {
		t.Fatal(err)
	}
}

func byArrow(t *testing.T, from, to string) {
	t.Helper()
	r, err := file.OpenParquetFile(from, false)
	if err != nil {
		t.Fatal(err)
	}
	defer r.Close()
	reader, err := pqarrow.NewFileReader(r, pqarrow.ArrowReadProperties{BatchSize: 4096}, memory.DefaultAllocator)
	if err != nil {
		t.Fatal(err)
	}
	table, err := reader.ReadTable(context.Background())
	if err != nil {
		t.Fatal(err)
	}
	defer table.Release()
	out, err := os.Create(to)
	if err != nil {
		t.Fatal(err)
	}
	props := parquet.NewWriterProperties(parquet.WithCompression(compress.Codecs.Gzip), parquet.WithDataPageVersion(parquet.DataPageV2), parquet.WithDictionaryDefault(false))
	if err := pqarrow.WriteTable(table, out, 7000, props, pqarrow.DefaultWriterProps()); err != nil {
		t.Fatal(err)
	}
	out.Close()
}

func each[T any](b *bytes.Buffer, rows []T) {
	for _, r := range rows {
		line, err := json.Marshal(r)
		if err != nil {
			panic(err)
		}
		b.Write(append(line, '\n'))
	}
}
