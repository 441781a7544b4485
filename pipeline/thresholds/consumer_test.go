package thresholds_test

import (
	"bytes"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"sill/pipeline/thresholds"
)

// consumers holds programs in several languages that grade the same pitches
// from the golden store.
const consumers = "../../testdata/consumers"

// TestConsumer builds the grading tool in a module of its own, offline, which
// must pull in nothing beyond the standard library and the vocabulary, and holds
// its answers from the newest and from a pinned version against those that every
// consumer gives. SILL_GOLDEN=1 writes them anew. It refuses a version that is not
// there and one that was changed.
func TestConsumer(t *testing.T) {
	if testing.Short() {
		t.Skip("long: compiles another module")
	}
	abs := func(path string) string {
		p, err := filepath.Abs(path)
		if err != nil {
			t.Fatal(err)
		}
		return p
	}
	dir := t.TempDir() // a copy, so that the tree is not written to
	for _, name := range []string{"go.mod", "main.go"} {
		b := readFile(t, consumers, "go", name)
		b = bytes.Replace(b, []byte("=> ../../.."), []byte("=> "+abs("../..")), 1)
		if err := os.WriteFile(filepath.Join(dir, name), b, 0o644); err != nil {
			t.Fatal(err)
		}
	}
	tool := func(args ...string) string {
		c := exec.Command("go", args...)
		c.Dir = dir
		c.Env = append(os.Environ(), "GOFLAGS=-mod=mod", "GOPROXY=off", "GOWORK=off", "CGO_ENABLED=0")
		out, err := c.CombinedOutput()
		if err != nil {
			t.Fatalf("go %v: %v\n%s", args, err, out)
		}
		return string(out)
	}
	tool("vet", ".")
	tool("build", "-o", "consumer.exe", ".")
	grade := func(store string, version ...string) (answers, complaint string, err error) {
		c := exec.Command(filepath.Join(dir, "consumer.exe"), append([]string{store, filepath.Join(consumers, "pitches.csv")}, version...)...)
		var out, told bytes.Buffer
		c.Stdout, c.Stderr = &out, &told
		err = c.Run()
		return out.String(), told.String(), err
	}

	file := filepath.Join(consumers, "answers.txt")
	for _, version := range [][]string{nil, {"v1.0.0"}} {
		got, complaint, err := grade(golden, version...)
		if err != nil {
			t.Fatal(err, complaint)
		}
		if os.Getenv("SILL_GOLDEN") != "" {
			if err := os.WriteFile(file, []byte(got), 0o644); err != nil {
				t.Fatal(err)
			}
		}
		if d := cmp.Diff(string(readFile(t, file)), got); d != "" {
			t.Errorf("version %q: %s", version, d)
		}
	}
	if _, complaint, err := grade(golden, "v1.4.0"); err == nil || !strings.Contains(complaint, "v1.4.0 is not in the log") {
		t.Errorf("an unknown version: %v %s", err, complaint)
	}
	changed := filepath.Join(t.TempDir(), "harbour")
	if err := os.CopyFS(changed, os.DirFS(golden)); err != nil {
		t.Fatal(err)
	}
	spoilt := readFile(t, changed, "v1.0.0/zones.parquet")
	spoilt[len(spoilt)/2] ^= 1
	if err := os.WriteFile(filepath.Join(changed, "v1.0.0/zones.parquet"), spoilt, 0o644); err != nil {
		t.Fatal(err)
	}
	if _, complaint, err := grade(changed); err == nil || !strings.Contains(complaint, "v1.0.0/zones.parquet") {
		t.Errorf("a changed version: %v %s", err, complaint)
	}
	deps := strings.Fields(tool("list", "-deps", "-f", "{{if not .Standard}}{{.ImportPath}}{{end}}", "."))
	if d := cmp.Diff([]string{"sill/pipeline/pitch", "sill/pipeline/thresholds", "consumer"}, deps); d != "" {
		t.Errorf("packages beyond the standard library: %s", d)
	}
}

// TestAnswersTell: the pitches of the consumers meet every verdict and position,
// a thin bin, and answers without a rate.
func TestAnswersTell(t *testing.T) {
	seen := map[string]int{}
	rows := bytes.Split(bytes.TrimSpace(readFile(t, consumers, "answers.txt")), []byte("\n"))[1:]
	for _, row := range rows {
		f := strings.Split(string(row), ",")
		seen[f[7]]++
		seen[f[8]]++
		seen[f[14]]++
	}
	for _, word := range []string{"found", "always_beats", "never_beats", "edge_unresolved", "inconclusive", "too_few",
		thresholds.Inside.String(), thresholds.Outside.String(), thresholds.Unresolved.String(), thresholds.BeyondData.String(), thresholds.NoThreshold.String(), "thin"} {
		if seen[word] == 0 {
			t.Errorf("no pitch meets %s", word)
		}
	}
	if len(rows) != 20 {
		t.Errorf("%d pitches", len(rows))
	}
}

// TestReadme: the README shows the shortest programs as they are run.
func TestReadme(t *testing.T) {
	readme := string(readFile(t, "../../README.md"))
	for name, language := range map[string]string{"first.sh": "sh", "first.py": "python", "first.R": "r", "first.sql": "sql"} {
		if block := "```" + language + "\n" + string(readFile(t, consumers, name)) + "```\n"; !strings.Contains(readme, block) {
			t.Errorf("the README does not show %s as it is", name)
		}
	}
}

func readFile(t testing.TB, path ...string) []byte {
	t.Helper()
	b, err := os.ReadFile(filepath.Join(path...))
	if err != nil {
		t.Fatal(err)
	}
	return b
}
