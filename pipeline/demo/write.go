package demo

import (
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"time"

	"github.com/parquet-go/parquet-go"

	"sill/pipeline/pitch"
)

// Summary counts what Write wrote.
type Summary struct {
	League  string   `json:"league"`
	Files   []string `json:"files"` // relative to the folder, in order
	Seasons int      `json:"seasons"`
	Games   int      `json:"games"`
	Rows    int      `json:"rows"`    // in all files
	Pitches int      `json:"pitches"` // distinct rows of regular games
	// BeforeSeason counts distinct rows of spring games and exhibitions.
	BeforeSeason int `json:"before_season"`
	// Blemishes counts distinct rows by what is wrong with them, by name;
	// repeated and conflicting pitches stand in two rows each.
	Blemishes map[string]int `json:"blemishes"`
	NoPitch   int            `json:"no_pitch"` // rows on which nothing was thrown
	Fielders  int            `json:"fielders"` // rows thrown by position players
	Bytes     int64          `json:"bytes"`    // of the Parquet files
}

// changeMonth is the month from which files have the second schema.
const changeMonth = time.July

// Write plays the seasons of o.League and writes them to o.Dir: one Parquet
// file a month in folders season=YYYY, the source profile profile.yaml, the run
// configuration sill.yaml and truth.json. Files are written anew; nothing else
// in the folder is touched.
func Write(ctx context.Context, o Options) (*Summary, error) {
	s, err := Find(o.League)
	if err != nil {
		return nil, err
	}
	return WriteScenario(ctx, s, o)
}

// WriteScenario is Write for a scenario of the caller's own; o.League is not
// looked at.
func WriteScenario(ctx context.Context, s Scenario, o Options) (sum *Summary, err error) {
	sum = &Summary{League: s.Name, Seasons: o.Seasons, Blemishes: map[string]int{}}
	for _, name := range blemishNames[1:] {
		sum.Blemishes[name] = 0
	}
	if o.Dir == "" {
		return nil, errors.New("write demo: name a folder to write to")
	}
	o.League = "" // the scenario is given
	if err := o.Validate(); err != nil {
		return nil, fmt.Errorf("write demo: %w", err)
	}
	if err := os.MkdirAll(o.Dir, 0o755); err != nil {
		return nil, fmt.Errorf("write demo: %w", err)
	}
	w := &writer{o: o, p: newProvider(&s), sum: sum}
	defer func() {
		if err != nil {
			err = errors.Join(err, w.abandon())
		}
	}()
	if err := Play(ctx, s, o, w.game); err != nil {
		return nil, fmt.Errorf("write demo: %w", err)
	}
	if err := w.finish(); err != nil {
		return nil, fmt.Errorf("write demo: %w", err)
	}
	for name, text := range map[string][]byte{
		"profile.yaml": profileYAML(&s),
		"sill.yaml":    runYAML(&s),
	} {
		if err := os.WriteFile(filepath.Join(o.Dir, name), text, 0o644); err != nil {
			return nil, fmt.Errorf("write demo: %w", err)
		}
	}
	if err := writeTruth(&s, o); err != nil {
		return nil, fmt.Errorf("write demo: %w", err)
	}
	return sum, nil
}

// writer writes one file a month.
type writer struct {
	o     Options
	p     *provider
	sum   *Summary
	month string // of the open file
	file  *os.File
	first *parquet.GenericWriter[opening]
	next  *parquet.GenericWriter[closing]
	again []opening // rows that stand twice, written at the end of the file
	out   []opening // the rows of one game, kept for its room
	late  []closing
}

// game writes the rows of one game.
func (w *writer) game(rows []Thrown) error {
	when := date(rows[0].Day)
	month := when.Format("2006-01")
	if month != w.month {
		if err := w.finish(); err != nil {
			return err
		}
		if err := w.open(month, rows[0].Season, when.Month()); err != nil {
			return err
		}
	}
	w.sum.Games++
	out := w.out[:0]
	for from := 0; from < len(rows); {
		to := from
		for rows[to].Result == pitch.NoResult {
			to++
		}
		for i := from; i <= to; i++ {
			t := &rows[i]
			row := w.p.row(t, &rows[to])
			out = append(out, row)
			switch t.Blemish {
			case Repeated:
				w.again = append(w.again, row)
			case Conflicting:
				w.again = append(w.again, w.p.contradicted(row))
			}
			w.count(t)
		}
		from = to + 1
	}
	w.out = out
	return w.rows(out)
}

func (w *writer) count(t *Thrown) {
	if t.Kind == Regular {
		w.sum.Pitches++
	} else {
		w.sum.BeforeSeason++
	}
	if t.Blemish != Clean {
		w.sum.Blemishes[t.Blemish.String()]++
	}
	switch t.Outcome {
	case pitch.NoPitch, pitch.AutomaticBall, pitch.AutomaticStrike:
		w.sum.NoPitch++
	}
	if t.Fielder {
		w.sum.Fielders++
	}
}

func (w *writer) rows(rows []opening) error {
	w.sum.Rows += len(rows)
	if w.first != nil {
		_, err := w.first.Write(rows)
		return err
	}
	w.late = w.late[:0]
	for _, r := range rows {
		w.late = append(w.late, later(r))
	}
	_, err := w.next.Write(w.late)
	return err
}

func (w *writer) open(month string, season int, when time.Month) error {
	dir := fmt.Sprintf("season=%d", season)
	if err := os.MkdirAll(filepath.Join(w.o.Dir, dir), 0o755); err != nil {
		return err
	}
	name := filepath.Join(dir, fmt.Sprintf("%s-%s.parquet", w.p.s.Name, month))
	f, err := os.Create(filepath.Join(w.o.Dir, name))
	if err != nil {
		return err
	}
	w.month, w.file = month, f
	w.sum.Files = append(w.sum.Files, filepath.ToSlash(name))
	settings := []parquet.WriterOption{
		parquet.MaxRowsPerRowGroup(int64(w.o.RowGroup)),
		parquet.CreatedBy("sill demo", "1", "0"),
	}
	w.first, w.next = nil, nil
	if when < changeMonth {
		w.first = parquet.NewGenericWriter[opening](f, settings...)
	} else {
		w.next = parquet.NewGenericWriter[closing](f, settings...)
	}
	return nil
}

// finish writes what is left of the open file and closes it.
func (w *writer) finish() error {
	if w.file == nil {
		return nil
	}
	if err := w.rows(w.again); err != nil {
		return err
	}
	w.again = w.again[:0]
	var err error
	if w.first != nil {
		err = w.first.Close()
	} else {
		err = w.next.Close()
	}
	if err != nil {
		return err
	}
	info, err := w.file.Stat()
	if err != nil {
		return err
	}
	w.sum.Bytes += info.Size()
	f := w.file
	w.file, w.month = nil, ""
	return f.Close()
}

// abandon closes and removes the file that is being written.
func (w *writer) abandon() error {
	if w.file == nil {
		return nil
	}
	return errors.Join(w.file.Close(), os.Remove(w.file.Name()))
}
