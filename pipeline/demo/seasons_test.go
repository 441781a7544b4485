package demo

import (
	"fmt"
	"os"
	"path/filepath"
	"regexp"
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

// TestNumbers: players are called p0123 or b0123, and whom a league has called so in
// some seasons is nobody else, in the other league either.
func TestNumbers(t *testing.T) {
	people := map[string]string{}
	form := regexp.MustCompile(`^[pb]\d{4}$`)
	for _, s := range []Scenario{Lantern(), Kestrel()} {
		for slot := range s.Pitchers {
			for n := range 8 { // the last has a longer number
				id, who := ID(s.number(slot, n)), fmt.Sprint(s.Name, slot, n)
				if other, taken := people[id]; taken {
					t.Fatalf("%s is %s and %s", id, other, who)
				}
				if people[id] = who; form.MatchString(id) != (n < 7) {
					t.Fatalf("%s is called %s", who, id)
				}
			}
		}
		for _, rows := range season(t, s, small(2_000)) {
			for i := range rows {
				x := &rows[i]
				if !form.MatchString(ID(x.Pitcher)) || !form.MatchString(ID(x.Batter)) || (ID(x.Pitcher)[0] == 'b') != x.Fielder || ID(x.Batter)[0] != 'b' {
					t.Fatalf("%s throws to %s", ID(x.Pitcher), ID(x.Batter))
				}
			}
		}
	}
}
