package ingest

import (
	"bytes"
	"cmp"
	"context"
	"math"
	"path"
	"slices"
	"strings"
	"sync"

	"sill/pipeline/parallel"
	"sill/pipeline/pitch"
)

// resolve finds duplicates, conflicts and last rows, game by game.
func (x *indexer) resolve(ctx context.Context) error {
	start := make([]int32, len(x.Names.Games)+1)
	keyed := 0
	for i := range x.rows {
		e := &x.rows[i]
		if e.game < 0 || e.appearance < 0 || e.number < 0 {
			if x.profile.ResultOn != "every_pitch" {
				x.status[i] = e.result
			}
			continue
		}
		start[e.game+1]++
		keyed++
	}
	for g := 1; g < len(start); g++ {
		start[g] += start[g-1]
	}
	order := make([]int32, keyed)
	at := slices.Clone(start)
	for i := range x.rows {
		e := &x.rows[i]
		if e.game >= 0 && e.appearance >= 0 && e.number >= 0 {
			order[at[e.game]] = int32(i)
			at[e.game]++
		}
	}
	ranks := x.ranks()
	const chunk = 64
	var mu sync.Mutex
	err := parallel.Each(ctx, x.options.workers(), (len(x.Names.Games)+chunk-1)/chunk, func(_, c int) error {
		lost := int64(0)
		for g := c * chunk; g < min((c+1)*chunk, len(x.Names.Games)); g++ {
			lost += x.resolveGame(order[start[g]:start[g+1]], ranks)
		}
		mu.Lock()
		x.lost += lost
		mu.Unlock()
		return nil
	})
	x.rows = nil
	return err
}

// ranks returns each file's rank, nil without ranking. Lower is better.
func (x *indexer) ranks() []int {
	if len(x.profile.PreferFiles) == 0 {
		return nil
	}
	ranks := make([]int, len(x.plans))
	for i, pl := range x.plans {
		name := pl.file.Name
		ranks[i] = slices.IndexFunc(x.profile.PreferFiles, func(pattern string) bool {
			ok, _ := path.Match(pattern, name)
			if !ok && !strings.Contains(pattern, "/") {
				ok, _ = path.Match(pattern, path.Base(name))
			}
			return ok
		})
		if ranks[i] < 0 {
			ranks[i] = len(x.profile.PreferFiles)
		}
	}
	return ranks
}

// fileOf returns the file that holds a global row.
func (s *Season) fileOf(row int32) int {
	i, ok := slices.BinarySearch(s.offset, int64(row))
	if !ok {
		return i - 1
	}
	for i+1 < len(s.offset) && s.offset[i+1] == int64(row) { // files without rows
		i++
	}
	return i
}

// resolveGame sets the status of one game's rows and returns the results lost
// with conflicts and filters.
func (x *indexer) resolveGame(game []int32, ranks []int) (lost int64) {
	slices.SortFunc(game, func(a, b int32) int {
		p, q := &x.rows[a], &x.rows[b]
		if c := cmp.Or(cmp.Compare(p.appearance, q.appearance), cmp.Compare(p.number, q.number)); c != 0 {
			return c
		}
		return cmp.Or(bytes.Compare(p.hash[:], q.hash[:]), cmp.Compare(a, b))
	})
	for lo := 0; lo < len(game); {
		hi := lo + 1
		for hi < len(game) && x.rows[game[hi]].appearance == x.rows[game[lo]].appearance {
			hi++
		}
		lost += x.resolveAppearance(game[lo:hi], ranks)
		lo = hi
	}
	return lost
}

// later orders rows within a plate appearance: by inning, half and number, or
// by number alone where some row lacks its inning or half, which must not move
// it.
func later(p, q *entry, placed bool) int {
	if !placed {
		return cmp.Compare(p.number, q.number)
	}
	return cmp.Or(cmp.Compare(p.inning, q.inning), cmp.Compare(p.half, q.half), cmp.Compare(p.number, q.number))
}

func (x *indexer) resolveAppearance(rows []int32, ranks []int) (lost int64) {
	for lo := 0; lo < len(rows); {
		hi := lo + 1
		for hi < len(rows) && x.rows[rows[hi]].number == x.rows[rows[lo]].number {
			hi++
		}
		if hi-lo > 1 {
			x.resolveKey(rows[lo:hi], ranks)
		}
		lo = hi
	}
	// The last row that is neither a duplicate nor superseded takes the result
	// of the latest row that gives one.
	var last, from *entry
	lastAt := int32(-1)
	scope := false
	placed := !slices.ContainsFunc(rows, func(i int32) bool { return x.rows[i].inning == 0 || x.rows[i].half == 0 })
	for _, i := range rows {
		if s := x.status[i]; s == statusDuplicate || s == statusSuperseded {
			continue
		}
		e := &x.rows[i]
		if last == nil || later(e, last, placed) >= 0 {
			last, lastAt = e, i
		}
		if e.result != 0 && (from == nil || later(e, from, placed) > 0) {
			from = e
		}
		scope = scope || !e.filtered
	}
	if from == nil {
		return 0
	}
	if x.status[lastAt] != statusConflict {
		x.status[lastAt] = from.result
		if !last.filtered {
			return 0
		}
	}
	if scope && pitch.Result(from.result) != pitch.NotAppearance {
		return 1
	}
	return 0
}

// resolveKey settles rows that share a key, sorted by content.
func (x *indexer) resolveKey(rows []int32, ranks []int) {
	best := 0
	if ranks != nil {
		best = math.MaxInt
		for _, i := range rows {
			best = min(best, ranks[x.fileOf(i)])
		}
	}
	ranked := func(i int32) bool { return ranks == nil || ranks[x.fileOf(i)] == best }
	contents := 0
	var kept *entry
	for _, i := range rows { // the first of each content among the best files
		e := &x.rows[i]
		if ranked(i) && (kept == nil || e.hash != kept.hash) {
			kept = e
			contents++
		}
	}
	var seen *entry
	for _, i := range rows {
		e := &x.rows[i]
		switch {
		case !ranked(i):
			x.status[i] = statusSuperseded
			if contents == 1 && e.hash == kept.hash {
				x.status[i] = statusDuplicate
			}
		case seen != nil && e.hash == seen.hash:
			x.status[i] = statusDuplicate
		default:
			seen = e
			if contents > 1 {
				x.status[i] = statusConflict
			}
		}
	}
}
