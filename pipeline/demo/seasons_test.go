package demo

import (
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/parquet-go/parquet-go"
)

// TestGamesOfSeasons: a game is called by its own season, so that two seasons
// can be read in one run.
func TestGamesOfSeasons(t *testing.T) {
	dir, sum := write(t, func(o *Options) { o.Seasons, o.Pitches = 2, 20_000 })
	seen := map[string]bool{}
	for _, name := range sum.Files {
		f, err := os.Open(filepath.Join(dir, filepath.FromSlash(name)))
		if err != nil {
			t.Fatal(err)
		}
		defer f.Close()
		season := strings.TrimPrefix(strings.Split(name, "/")[0], "season=")
		seen[season] = true
		r := parquet.NewGenericReader[struct {
			GameCode string `parquet:"game_code"`
		}](f)
		rows := make([]struct {
			GameCode string `parquet:"game_code"`
		}, r.NumRows())
		if n, err := r.Read(rows); n < len(rows) {
			t.Fatal(err)
		}
		for _, row := range rows {
			if !strings.Contains(row.GameCode, fmt.Sprintf("-%s-", season)) {
				t.Fatalf("%s holds game %s", name, row.GameCode)
			}
		}
	}
	if len(seen) != 2 {
		t.Errorf("%d seasons were written", len(seen))
	}
}
