package duckdb

import (
	"context"
	"database/sql"
	"fmt"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
)

const (
	consumers = "../consumers"
	store     = "../../pipeline/thresholds/testdata/harbour"
)

var comments = regexp.MustCompile(`--.*`) // they may hold semicolons

// TestConsumer grades the pitches of testdata/consumers in SQL, from the newest
// version and from a pinned one, and demands the answers that every consumer
// gives. A version that is not there or was changed is refused.
func TestConsumer(t *testing.T) {
	want := readFile(t, consumers, "answers.txt")
	header, _, _ := strings.Cut(want, "\n")
	for _, version := range []string{"", "v1.0.0"} {
		lines, err := graded(t, store, version)
		if got := header + "\n" + strings.Join(lines, "\n") + "\n"; err != nil || got != want {
			t.Errorf("version %q: %v\n%s", version, err, got)
		}
	}
	if _, err := graded(t, store, "v1.4.0"); err == nil || !strings.Contains(err.Error(), "no such version") {
		t.Errorf("an unknown version: %v", err)
	}
	for _, name := range []string{"manifest.json", "zones.parquet"} {
		changed := filepath.Join(t.TempDir(), "harbour")
		if err := os.CopyFS(changed, os.DirFS(store)); err != nil {
			t.Fatal(err)
		}
		file := filepath.Join(changed, "v1.0.0", name)
		b := []byte(readFile(t, file))
		b[len(b)/2] ^= 1
		if err := os.WriteFile(file, b, 0o644); err != nil {
			t.Fatal(err)
		}
		if _, err := graded(t, changed, ""); err == nil || !strings.Contains(err.Error(), name+" is not what was published") {
			t.Errorf("%s changed: %v", name, err)
		}
	}
}

// TestFirst runs the README's query.
func TestFirst(t *testing.T) {
	db := connect(t)
	query := strings.Replace(readFile(t, consumers, "first.sql"), "outputs/lantern", store, 1)
	rows, err := db.QueryContext(t.Context(), query)
	if err != nil {
		t.Fatal(err)
	}
	got := ""
	for rows.Next() {
		var hand, side string
		var lower float64
		if err := rows.Scan(&hand, &side, &lower); err != nil {
			t.Fatal(err)
		}
		got += fmt.Sprintln(hand, side, lower)
	}
	if want := readFile(t, consumers, "first.txt"); got != want || rows.Err() != nil {
		t.Errorf("got %q, want %q (%v)", got, want, rows.Err())
	}
}

func connect(t *testing.T) *sql.Conn {
	t.Helper()
	db, err := sql.Open("duckdb", "")
	if err != nil {
		t.Fatal(err)
	}
	c, err := db.Conn(context.Background()) // one, which keeps variables and temporary tables
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { c.Close(); db.Close() })
	return c
}

// graded runs grade.sql statement by statement and returns the lines of the last.
func graded(t *testing.T, store, version string) ([]string, error) {
	t.Helper()
	db := connect(t)
	var lines []string
	script := fmt.Sprintf("set variable store = '%s'; set variable pitches = '%s/pitches.csv'; set variable wanted = '%s';\n", store, consumers, version)
	for statement := range strings.SplitSeq(script+comments.ReplaceAllString(readFile(t, consumers, "grade.sql"), ""), ";") {
		if strings.TrimSpace(statement) == "" {
			continue
		}
		rows, err := db.QueryContext(t.Context(), statement)
		if err != nil {
			return nil, err
		}
		lines = lines[:0]
		for rows.Next() {
			var line any
			if err := rows.Scan(&line); err != nil {
				return nil, err
			}
			lines = append(lines, fmt.Sprint(line))
		}
		if err := rows.Err(); err != nil {
			return nil, err
		}
		rows.Close()
	}
	return lines, nil
}

func readFile(t *testing.T, path ...string) string {
	t.Helper()
	b, err := os.ReadFile(filepath.Join(path...))
	if err != nil {
		t.Fatal(err)
	}
	return string(b)
}
