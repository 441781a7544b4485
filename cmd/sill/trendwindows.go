package main

import (
	"context"
	"fmt"
	"slices"
	"strconv"
	"strings"
	"time"

	"github.com/spf13/pflag"

	"sill/pipeline"
	"sill/pipeline/analysis/trend"
	"sill/pipeline/estimate"
	"sill/pipeline/pitch"
	"sill/pipeline/render/terminal"
	"sill/pipeline/render/words"
	"sill/pipeline/tally"
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
func (w *windows) open(ctx context.Context, t *terminal.Terminal, at *place, words []string, quiet bool) (from, to trend.Window, o estimate.Options, notes []string, err error) {
	switch {
	case w.file != "" && len(words) > 0:
		err = usagef("trend: name two versions, or a configuration whose pitches are read, not both")
	case w.halves && (w.from != "" || w.to != ""):
		err = usagef("trend: choose --halves, or --from and --to")
	case (w.from == "") != (w.to == ""):
		err = usagef("trend: --from and --to go together")
	case w.file != "":
		return w.read(ctx, t, quiet)
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
	held := seasonsOf(s.Tally)
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

func seasonsOf(t *tally.Tally) []int16 {
	var out []int16
	for i := range t.Cells {
		if s := t.Cells[i].Cell.Season; !slices.Contains(out, s) {
			out = append(out, s)
		}
	}
	return out
}

func seasonWords(seasons []int16) string {
	var out []string
	for _, s := range seasons {
		out = append(out, strconv.Itoa(int(s)))
	}
	return words.Commas(out)
}

// days is a stretch of days since 1970-01-01, ends included.
type days struct{ first, last int32 }

func (d days) String() string { return dayWord(d.first) + " to " + dayWord(d.last) }

func dayWord(d int32) string {
	return time.Unix(int64(d)*24*60*60, 0).UTC().Format(time.DateOnly)
}

// parseDays reads 2031, 2031-04, 2031-04-01 or two of them with .. between.
func parseDays(s string) (days, error) {
	a, b, two := strings.Cut(s, "..")
	if !two {
		b = a
	}
	first, _, err := parseDay(a)
	if err != nil {
		return days{}, err
	}
	_, last, err := parseDay(b)
	if err != nil {
		return days{}, err
	}
	if last < first {
		return days{}, usagef("trend: window %s ends before it begins", s)
	}
	return days{first, last}, nil
}

// parseDay reads a year, a month or a day: its first and last day.
func parseDay(s string) (first, last int32, err error) {
	for _, form := range []struct {
		layout              string
		years, months, days int
	}{{time.DateOnly, 0, 0, 1}, {"2006-01", 0, 1, 0}, {"2006", 1, 0, 0}} {
		if at, err := time.Parse(form.layout, s); err == nil {
			return int32(at.Unix() / 86400), int32(at.AddDate(form.years, form.months, form.days).Unix()/86400) - 1, nil
		}
	}
	return 0, 0, usagef("trend: %q is no day, month or year: write 2031-04-01..2031-05-31, 2031-04 or 2031", s)
}

// read counts the pitches of a configuration in two windows.
func (w *windows) read(ctx context.Context, t *terminal.Terminal, quiet bool) (from, to trend.Window, o estimate.Options, notes []string, err error) {
	var ends [2]days
	if !w.halves {
		if w.from == "" {
			return from, to, o, nil, usagef("trend: --config needs two windows: --halves, or --from and --to")
		}
		for i, word := range []string{w.from, w.to} {
			if ends[i], err = parseDays(word); err != nil {
				return from, to, o, nil, err
			}
		}
		if ends[0].first <= ends[1].last && ends[1].first <= ends[0].last {
			return from, to, o, nil, usagef("trend: the windows %s and %s share days", w.from, w.to)
		}
	}
	w.asJSON = quiet
	r, finish, err := w.question.open(ctx, t)
	if err != nil {
		return from, to, o, nil, err
	}
	defer finish()
	o = r.Options.Estimate
	if w.halves {
		if ends, err = halves(ctx, r); err != nil {
			return from, to, o, nil, err
		}
	}
	counts, err := countWindows(ctx, r, ends[:])
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

// countWindows counts the pitches of each window, reading them once.
func countWindows(ctx context.Context, r *pipeline.Reading, windows []days) ([]*tally.Tally, error) {
	builders := make([]*tally.Builder, len(windows))
	for i := range builders {
		b, err := tally.NewBuilder(r.Variables(), nil, r.Names(), r.Workers())
		if err != nil {
			return nil, err
		}
		builders[i] = b
	}
	err := r.Each(ctx, func(worker int, batch []pitch.Pitch) error {
		for i, b := range builders {
			var part []pitch.Pitch
			for k := range batch {
				if d := batch[k].Date; d != pitch.NoDate && d >= windows[i].first && d <= windows[i].last {
					part = append(part, batch[k])
				}
			}
			if err := b.Add(worker, part); err != nil {
				return err
			}
		}
		return nil
	})
	if err != nil {
		return nil, err
	}
	out := make([]*tally.Tally, len(windows))
	for i, b := range builders {
		if out[i], err = b.Tally(); err != nil {
			return nil, err
		}
	}
	return out, nil
}

// halves finds the day on which half of a season's pitches are thrown.
func halves(ctx context.Context, r *pipeline.Reading) (out [2]days, err error) {
	byDay := make([]map[int32]int64, r.Workers())
	seasons := make([]map[int16]bool, r.Workers())
	for i := range byDay {
		byDay[i], seasons[i] = map[int32]int64{}, map[int16]bool{}
	}
	err = r.Each(ctx, func(worker int, batch []pitch.Pitch) error {
		for i := range batch {
			if d := batch[i].Date; d != pitch.NoDate {
				byDay[worker][d]++
				seasons[worker][batch[i].Season] = true
			}
		}
		return nil
	})
	if err != nil {
		return out, err
	}
	total, all, years := int64(0), map[int32]int64{}, map[int16]bool{}
	for w := range byDay {
		for d, n := range byDay[w] {
			all[d] += n
			total += n
		}
		for s := range seasons[w] {
			years[s] = true
		}
	}
	if len(years) > 1 {
		return out, usagef("trend: the inputs hold %d seasons; --halves splits one: name two windows with --from and --to", len(years))
	}
	var order []int32
	for d := range all {
		order = append(order, d)
	}
	slices.Sort(order)
	if len(order) < 2 {
		return out, usagef("trend: the pitches have no dates, or all the same: halves cannot be told")
	}
	sum := int64(0)
	for i, d := range order[:len(order)-1] {
		if sum += all[d]; 2*sum >= total || i == len(order)-2 {
			return [2]days{{order[0], d}, {order[i+1], order[len(order)-1]}}, nil
		}
	}
	return out, fmt.Errorf("trend: no half of %d days", len(order))
}
