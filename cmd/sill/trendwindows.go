package main

import (
	"context"
	"errors"
	"slices"
	"strconv"

	"github.com/spf13/pflag"

	"sill/pipeline"
	"sill/pipeline/analysis/trend"
	"sill/pipeline/estimate"
	"sill/pipeline/render/terminal"
	"sill/pipeline/render/words"
)

// windows says where the two ends of a trend come from.
type windows struct {
	question
	from, to string
	halves   bool
}

func (w *windows) flags(f *pflag.FlagSet) {
	f.StringVarP(&w.file, "config", "c", "", "configuration `file`: read the pitches again, by dates or halves")
	f.StringVar(&w.from, "from", "", "earlier `window`: a season (2031), or with --config days (2031-04-01..2031-05-31)")
	f.StringVar(&w.to, "to", "", "later `window`")
	f.BoolVar(&w.halves, "halves", false, "with --config: the two halves of the season, by pitches thrown")
}

// open makes both windows ready.
func (w *windows) open(ctx context.Context, t *terminal.Terminal, at *place, words []string) (from, to trend.Window, o estimate.Options, notes []string, err error) {
	switch {
	case w.file != "" && len(words) > 0:
		err = usagef("trend: name two versions, or a configuration whose pitches are read, not both")
	case w.halves && (w.from != "" || w.to != ""):
		err = usagef("trend: choose --halves, or --from and --to")
	case (w.from == "") != (w.to == ""):
		err = usagef("trend: --from and --to go together")
	case w.file != "":
		return w.read(ctx, t)
	case w.halves:
		err = usagef("trend: --halves reads the pitches again: name them with --config")
	case len(words) == 2 && w.from != "":
		err = usagef("trend: --from and --to split one version, not two; leave them out, or name one version")
	case len(words) == 2:
		return at.versions(words)
	case w.from == "":
		err = usagef("trend: name two versions, or one with --from SEASON --to SEASON, or a configuration with --config")
	default:
		return at.seasons(words, w.from, w.to)
	}
	return from, to, o, nil, err
}

// versions opens the counts of two versions.
func (a *place) versions(words []string) (from, to trend.Window, o estimate.Options, notes []string, err error) {
	var options [2]estimate.Options
	ends := [2]*trend.Window{&from, &to}
	for i, word := range words {
		s, err := a.side(word)
		if err != nil {
			return from, to, o, nil, err
		}
		if options[i], err = optionsOf(s); err != nil {
			return from, to, o, nil, err
		}
		*ends[i] = trend.Window{Name: s.Manifest.Name + " " + s.Manifest.Version, Tally: s.Tally}
	}
	if from.Name == to.Name {
		return from, to, o, nil, usagef("trend: %s is named twice; name two versions", from.Name)
	}
	for _, g := range from.Tally.Games {
		if _, held := slices.BinarySearch(to.Tally.Games, g); held {
			notes = append(notes, "Both hold the same games: a pitcher is compared with himself on the same pitches there, and seems to move less than he did.")
			break
		}
	}
	return from, to, options[1], append(notes, sameScoring(options[0], options[1])...), nil
}

// seasons splits the counts of one version by season.
func (a *place) seasons(words []string, first, second string) (from, to trend.Window, o estimate.Options, notes []string, err error) {
	at := a
	if len(words) > 0 {
		if at, err = a.named(words[0]); err != nil {
			return from, to, o, nil, err
		}
	}
	s, err := at.kept()
	if err != nil {
		return from, to, o, nil, err
	}
	if o, err = optionsOf(s); err != nil {
		return from, to, o, nil, err
	}
	held := s.Tally.Seasons()
	for _, end := range []struct {
		word string
		w    *trend.Window
	}{{first, &from}, {second, &to}} {
		n, err := strconv.ParseInt(end.word, 10, 16)
		if err != nil || !slices.Contains(held, int16(n)) {
			return from, to, o, nil, usagef("trend: %s %s has no season %q; it holds %s. Days need the pitches: --config", s.Manifest.Name, s.Manifest.Version, end.word, seasonWords(held))
		}
		*end.w = trend.Window{Name: s.Manifest.Name + " " + end.word, Tally: s.Tally, Seasons: []int16{int16(n)}}
	}
	if from.Name == to.Name {
		return from, to, o, nil, usagef("trend: season %s is named twice", first)
	}
	return from, to, o, nil, nil
}

func seasonWords(seasons []int16) string {
	var out []string
	for _, s := range seasons {
		out = append(out, strconv.Itoa(int(s)))
	}
	return words.Commas(out)
}

// read counts the pitches of a configuration in two windows.
func (w *windows) read(ctx context.Context, t *terminal.Terminal) (from, to trend.Window, o estimate.Options, notes []string, err error) {
	var ends [2]pipeline.Days
	if !w.halves {
		if w.from == "" {
			return from, to, o, nil, usagef("trend: --config needs two windows: --halves, or --from and --to")
		}
		for i, word := range []string{w.from, w.to} {
			if ends[i], err = pipeline.ParseDays(word); err != nil {
				return from, to, o, nil, usageError{err}
			}
		}
		if ends[0].Shares(ends[1]) {
			return from, to, o, nil, usagef("trend: the windows %s and %s share days", w.from, w.to)
		}
	}
	r, finish, err := w.question.open(ctx, t)
	if err != nil {
		return from, to, o, nil, err
	}
	defer finish()
	o = r.Options.Estimate
	if w.halves {
		if ends, err = r.Halves(ctx); errors.Is(err, pipeline.ErrDays) {
			return from, to, o, nil, usageError{err}
		} else if err != nil {
			return from, to, o, nil, err
		}
	}
	counts, err := r.CountDays(ctx, ends[:])
	if err != nil {
		return from, to, o, nil, err
	}
	for i, c := range counts {
		if len(c.Cells) == 0 {
			return from, to, o, nil, usagef("trend: no pitch was thrown from %s", ends[i])
		}
	}
	return trend.Window{Name: ends[0].String(), Tally: counts[0]}, trend.Window{Name: ends[1].String(), Tally: counts[1]}, o, nil, nil
}
