package main

import (
	"context"
	"errors"
	"io/fs"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"sill/pipeline/publish"
	"sill/pipeline/render/screen/fixture"
	"sill/pipeline/thresholds"
)

// TestVerifyEveryFile flips one random bit of a random byte of each file of a
// published version, its log entry and the views derived from the log: `sill
// verify` ends with 4 and names the file.
func TestVerifyEveryFile(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "harbour")
	t.Cleanup(func() { makeWritable(dir) })
	v := publish.Version{Algorithm: "1", Seed: 1, Replicates: 2000, Tables: fixture.Tables(), Formats: []string{"sql"},
		Variables: []thresholds.Variable{{Name: "velocity", Title: "velocity", Unit: "mph", Width: 1, Definition: "velocity/release/mph"}},
		Inputs:    []thresholds.Input{{Name: "season.parquet", Bytes: 1, SHA256: strings.Repeat("0", 64), Rows: 1}}}
	if _, err := publish.Commit(context.Background(), publish.Options{Dir: dir, Created: time.Unix(1_900_000_000, 0).UTC()}, v); err != nil {
		t.Fatal(err)
	}
	verify := func() (int, string) {
		term, out := fixture.Page(80, false, false)
		return execute(context.Background(), []string{"verify", "--store", dir}, term), out.String()
	}
	if code, said := verify(); code != exitOK {
		t.Fatalf("exit code %d: %s", code, said)
	}
	r := rand.New(rand.NewPCG(9, 10))
	flips := 0
	err := fs.WalkDir(os.DirFS(dir), ".", func(name string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() {
			return err
		}
		file := filepath.Join(dir, name)
		good, err := os.ReadFile(file)
		if err != nil {
			return err
		}
		bad := append([]byte{}, good...)
		at, bit := r.IntN(len(bad)), r.IntN(8)
		bad[at] ^= 1 << bit
		if err := errors.Join(os.Chmod(file, 0o644), os.WriteFile(file, bad, 0o444)); err != nil {
			return err
		}
		if code, said := verify(); code != exitIntegrity || !strings.Contains(said, "verify "+name+": ") {
			t.Errorf("%s, bit %d of byte %d: exit code %d: %s", name, bit, at, code, said)
		}
		flips++
		return os.WriteFile(file, good, 0o444)
	})
	if code, said := verify(); err != nil || code != exitOK {
		t.Errorf("whole again: exit code %d: %s (%v)", code, said, err)
	}
	t.Logf("%d files, one flipped bit each, all named", flips)
}
