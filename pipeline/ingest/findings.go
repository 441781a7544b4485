package ingest

import (
	"cmp"
	"errors"
	"fmt"
	"maps"
	"slices"
	"strings"

	"sill/pipeline/pitch"
)

// unknownError reports every value that the profile does not map.
func (x *indexer) unknownError() error {
	type at struct{ place, file int }
	groups := map[at][]ValueCount{}
	for k, n := range x.unknown {
		a := at{k.key.place, k.file}
		groups[a] = append(groups[a], ValueCount{k.key.value, n})
	}
	var errs []error
	for _, k := range slices.SortedFunc(maps.Keys(groups), func(a, b at) int {
		return cmp.Or(cmp.Compare(a.place, b.place), cmp.Compare(a.file, b.file))
	}) {
		col, pl, values := pitch.Dictionary[k.place], x.plans[k.file], groups[k]
		sortCounts(values)
		words := x.profile.words(col.Name)
		if col.Kind == pitch.YesNo {
			words = []string{"yes", "no"}
		}
		var list []string
		for i, v := range values {
			if i == 10 {
				list = append(list, fmt.Sprintf("and %d more", len(values)-10))
				break
			}
			list = append(list, fmt.Sprintf("%q in %d rows%s", v.Value, v.Rows,
				didYouMean(strings.ToLower(strings.ReplaceAll(v.Value, " ", "_")), words)))
		}
		fix := fmt.Sprintf("list them under columns.%s.values with to: one of %s, \"\" for missing, or reject", col.Name, strings.Join(words, ", "))
		if k.place == typeAt {
			fix += ", or to a type of their own, which pitch_types declares"
		}
		errs = append(errs, pl.file.fail(-1, pl.uses[pl.find(col.Name).use].name, fix,
			nil, "values that the profile does not map to %s: %s", col.Name, strings.Join(list, ", ")))
	}
	return errors.Join(errs...)
}

// warn collects the caveats of the input.
func (x *indexer) warn() {
	say := func(code, format string, args ...any) {
		x.Warnings = append(x.Warnings, Warning{code, fmt.Sprintf(format, args...)})
	}
	for _, w := range []struct{ column, code, detail string }{
		{"game", "games_unknown", "no game is known: duplicates cannot be found and the input cannot be split"},
		{"batter", "batters_unknown", "no batter is known: intervals treat pitchers as the only clusters"},
		{"bunt", "bunts_unknown", "bunts put in play cannot be told from swings"},
		{"result", "results_unknown", "no result is known: there is no wOBA-against"},
	} {
		if !x.present[w.column] {
			say(w.code, "%s", w.detail)
		}
	}
	if x.profile.PitchersBat != "never" && x.profile.PitchersBat != "counted" && !x.present["batter_is_pitcher"] && x.byCheck[checkAt("pitcher_bats")] == 0 {
		say("batting_pitchers_unknown", "pitchers who bat, if any do, count like other batters: where there is a designated hitter write pitchers_bat: never in the profile, else map batter_is_pitcher and write pitchers_bat: left_out")
	}
	for _, col := range pitch.Dictionary {
		var without []string
		mapped := false
		for _, pl := range x.plans {
			if f := pl.find(col.Name); f != nil {
				mapped = true
				if f.use < 0 {
					without = append(without, pl.file.Name)
				}
			}
		}
		if mapped && len(without) > 0 {
			say("column_absent", "%s is missing in %d of %d files, first in %s", col.Name, len(without), len(x.plans), without[0])
		}
	}
	plain := 0
	for i, crc := range x.crc {
		x.Inputs[i].PageCRC = crc
		if !crc {
			plain++
		}
	}
	if plain > 0 {
		say("pages_unchecked", "%d of %d files carry no page checksums, so damaged data may be read as other values", plain, len(x.plans))
	}
	if x.scope == 0 {
		hint := "check the where filters"
		if x.byCheck[checkAt("game_type")] > 0 {
			hint = "map the regular season's code to regular under columns.game_type.values, or list game_types"
		}
		x.scopeHint = hint
		say("nothing_in_scope", "every row is filtered out: %s", hint)
	}
}
