package pipeline

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"
	"time"

	"sill/pipeline/pitch"
	"sill/pipeline/tally"
)

// ErrDays marks a window of days that cannot be read or told from the pitches.
var ErrDays = errors.New("window of days")

// Days is a stretch of days since 1970-01-01, ends included.
type Days struct{ First, Last int32 }

func (d Days) String() string { return dayWord(d.First) + " to " + dayWord(d.Last) }

// Shares tells whether some day is in both.
func (d Days) Shares(o Days) bool { return d.First <= o.Last && o.First <= d.Last }

func dayWord(d int32) string {
	return time.Unix(int64(d)*24*60*60, 0).UTC().Format(time.DateOnly)
}

// ParseDays reads 2031, 2031-04, 2031-04-01 or two of them with .. between.
func ParseDays(s string) (Days, error) {
	a, b, two := strings.Cut(s, "..")
	if !two {
		b = a
	}
	first, _, err := parseDay(a)
	if err != nil {
		return Days{}, err
	}
	_, last, err := parseDay(b)
	if err != nil {
		return Days{}, err
	}
	if last < first {
		return Days{}, fmt.Errorf("%w: %s ends before it begins", ErrDays, s)
	}
	return Days{first, last}, nil
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
	return 0, 0, fmt.Errorf("%w: %q is no day, month or year: write 2031-04-01..2031-05-31, 2031-04 or 2031", ErrDays, s)
}

// CountDays counts the pitches of each window, reading them once.
func (r *Reading) CountDays(ctx context.Context, windows []Days) ([]*tally.Tally, error) {
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
				if d := batch[k].Date; d != pitch.NoDate && d >= windows[i].First && d <= windows[i].Last {
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

// Halves finds the day on which half of a season's pitches are thrown.
func (r *Reading) Halves(ctx context.Context) (out [2]Days, err error) {
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
		return out, fmt.Errorf("%w: the inputs hold %d seasons; --halves splits one: name two windows with --from and --to", ErrDays, len(years))
	}
	var order []int32
	for d := range all {
		order = append(order, d)
	}
	slices.Sort(order)
	if len(order) < 2 {
		return out, fmt.Errorf("%w: the pitches have no dates, or all the same: halves cannot be told", ErrDays)
	}
	sum := int64(0)
	for i, d := range order[:len(order)-1] {
		if sum += all[d]; 2*sum >= total || i == len(order)-2 {
			return [2]Days{{order[0], d}, {order[i+1], order[len(order)-1]}}, nil
		}
	}
	return out, fmt.Errorf("%w: no half of %d days", ErrDays, len(order))
}
