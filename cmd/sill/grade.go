package main

import (
	"bytes"
	"context"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"sill/pipeline"
	"sill/pipeline/analysis/compare"
	"sill/pipeline/analysis/grade"
	"sill/pipeline/render/screen"
	"sill/pipeline/render/terminal"
)

// singleTable is the table of single pitches, beside those of a report.
const singleTable = "pitches"

// grading says what is graded, by what, and how it is written.
type grading struct {
	at               place
	of, file         string
	table, out       string
	asJSON, asCSV    bool
	all              bool
	pitcher, written string
}

// newGrade is the command that grades pitchers against a published version.
func newGrade(t *terminal.Terminal) *cobra.Command {
	var g grading
	cmd := &cobra.Command{
		Use:   "grade [PITCHER]",
		Short: "Grade pitchers, or single pitches, against a published version",
		Long: `grade lays what pitchers throw against a version's zones and curves: each quality
with its place among like pitchers, the share of pitches in the good zones, the
distance to the nearest breakpoint, and the advantage that the curve expects, in
standard deviations and as a percentile among at least 12 like pitchers; what batters
did with each pitch, drawn toward like pitchers where there is little of it; the
platoon gap; where pitches went; and the arsenal ranked by outcome against each side,
where it says which pitches cannot be told apart. There is no number for a pitch or a
pitcher as a whole.

Pitchers are those of the counts that the version keeps, or of another version's
(--of). Pitches of a bin of counts are taken to be spread evenly over it. With
--config the pitches themselves are read: values are exact then, shares by count of
balls and strikes are told, and --table pitches grades pitch by pitch.

Named alone, a pitcher gets a sheet; else all are listed. --json holds every row of
every table, --csv and --out those of one.`,
		Example: `  sill grade --league lantern                       # who throws what
  sill grade p0668 --league lantern                 # one pitcher's sheet
  sill grade p0668 --config demo/sill.yaml          # exact, and by count
  sill grade --of kestrel --league lantern          # another league's pitchers by lantern's thresholds
  sill grade --table arsenal --csv >arsenal.csv     # rows of one table
  sill grade --table qualities --out grades.parquet
  sill grade --config demo/sill.yaml --table pitches --out pitches.parquet`,
		Args: atMost("PITCHER"),
		RunE: func(cmd *cobra.Command, words []string) error {
			if len(words) > 0 {
				g.pitcher = words[0]
			}
			if err := g.check(); err != nil {
				return err
			}
			if g.table == singleTable {
				return g.single(cmd.Context(), t)
			}
			r, err := g.report(cmd.Context(), t)
			if err != nil {
				return err
			}
			if g.pitcher != "" {
				known := r.Pitchers()
				if !slices.Contains(known, g.pitcher) {
					if near(g.pitcher, known) == "" {
						known = few(known)
					}
					return unknown("pitcher", g.pitcher, known)
				}
				r = r.Only(g.pitcher)
			}
			switch {
			case g.out != "":
				if err := g.save(r); err != nil {
					return err
				}
				_, err = fmt.Fprintf(t.Err, "sill: wrote %s\n", filepath.ToSlash(g.out))
				return err
			case g.asJSON:
				return writeJSON(t.Out, gradeDocument{head("grade"), r.Body()})
			case g.asCSV:
				return r.CSV(t.Out, g.table)
			}
			p := terminal.NewPrinter(t)
			if g.pitcher != "" {
				screen.Sheet(p, r)
			} else {
				screen.Grades(p, r, g.all)
			}
			return p.Close()
		},
	}
	tables := append(slices.Clone(grade.Tables), singleTable)
	f := cmd.Flags()
	g.at.flags(f)
	f.StringVar(&g.of, "of", "", "`version` whose pitchers are graded: kestrel, kestrel@v1.0.0, or a folder")
	f.StringVarP(&g.file, "config", "c", "", "configuration `file`: grade its pitchers, from their pitches")
	f.StringVar(&g.table, "table", grade.Tables[0], "`table` of --csv and --out: "+strings.Join(tables, ", "))
	f.StringVar(&g.out, "out", "", "write the table to this `file`, .parquet or .csv")
	f.BoolVar(&g.all, "all", false, "list every pitcher, not only those with most pitches")
	f.BoolVar(&g.asJSON, "json", false, "print JSON")
	f.BoolVar(&g.asCSV, "csv", false, "print every row of one table as CSV")
	complete(cmd, "table", tables)
	return cmd
}

// gradeDocument is what `grade --json` prints.
type gradeDocument struct {
	document
	grade.Body
}

// few are names to show where one is not known: none of very many.
func few(names []string) []string {
	if len(names) <= 20 {
		return names
	}
	return append(slices.Clone(names[:10]), fmt.Sprintf("… and %d more; `sill grade --all` lists them", len(names)-10))
}

// check refuses flags that do not go together.
func (g *grading) check() error {
	tables := append(slices.Clone(grade.Tables), singleTable)
	switch {
	case !slices.Contains(tables, g.table):
		return unknown("table", g.table, tables)
	case g.of != "" && g.file != "":
		return usagef("grade: pitchers come from --of or from --config, not from both")
	case g.asJSON && g.asCSV || g.out != "" && (g.asJSON || g.asCSV):
		return usagef("grade: choose one of --json, --csv and --out")
	case g.out != "" && g.written == "":
		switch g.written = strings.TrimPrefix(strings.ToLower(filepath.Ext(g.out)), "."); g.written {
		case grade.CSVFormat, grade.ParquetFormat:
		default:
			return usagef("grade: --out %s: the name must end in .parquet or .csv", g.out)
		}
	}
	if g.table != singleTable {
		return nil
	}
	switch {
	case g.file == "":
		return usagef("grade: single pitches are read from the data: name a configuration with --config")
	case g.asJSON:
		return usagef("grade: a season of single pitches goes to --csv or --out, not to --json")
	case g.pitcher != "":
		return usagef("grade: --table pitches holds the pitches of all; filter its column pitcher")
	case !g.asCSV && g.out == "":
		return usagef("grade: name where the pitches go, such as --out pitches.parquet, or --csv")
	}
	return nil
}

// source is what is graded: pitches that can be read again.
func (g *grading) source(ctx context.Context, t *terminal.Terminal, workers int) (*pipeline.Reading, func(), error) {
	o, err := again(t, g.file)
	if err != nil {
		return nil, nil, err
	}
	if g.at.league == "" && g.at.store == "outputs" {
		g.at.store, g.at.league = o.Output, o.League
	}
	if workers > 0 {
		o.Workers = workers
	}
	var finish func()
	o.Log, o.Progress, finish = watch(t, g.asJSON || g.asCSV)
	r, err := pipeline.Reread(ctx, o)
	if err != nil {
		finish()
		return nil, nil, err
	}
	return r, finish, nil
}

// report grades the pitchers asked for.
func (g *grading) report(ctx context.Context, t *terminal.Terminal) (*grade.Report, error) {
	var reading *pipeline.Reading
	finish := func() {}
	if g.file != "" {
		var err error
		if reading, finish, err = g.source(ctx, t, 0); err != nil {
			return nil, err
		}
		defer finish()
	}
	side, err := g.at.kept()
	if err != nil {
		return nil, err
	}
	y, err := g.yardstick()
	if err != nil {
		return nil, err
	}
	peers, notes, err := kept(y, side)
	if err != nil {
		return nil, err
	}
	p := peers
	switch {
	case reading != nil:
		of, left := y.Read(reading.Variables(), reading.Workers())
		if err := reading.Each(ctx, of.Add); err != nil {
			return nil, err
		}
		finish()
		if p, err = of.Population(reading.Options.League, reading.Names().Pitchers, reading.Options.Estimate.Scoring()); err != nil {
			return nil, err
		}
		notes = left
	case g.of != "":
		at, err := (&place{store: g.at.store}).named(g.of)
		if err != nil {
			return nil, err
		}
		other, err := at.kept()
		if err != nil {
			return nil, err
		}
		var left []string
		if p, left, err = kept(y, other); err != nil {
			return nil, err
		}
		if p == nil {
			return nil, lost(other)
		}
		notes = left
	case p == nil:
		return nil, lost(side)
	}
	if peers == nil {
		peers = p
		notes = append(notes, fmt.Sprintf("The counts of %s are not kept, so like pitchers are taken from those graded.", y.Name))
	}
	r := grade.Grade(y, p, peers)
	r.Notes = append(r.Notes, notes...)
	return r, nil
}

// yardstick reads the version to grade by.
func (g *grading) yardstick() (*grade.Yardstick, error) {
	v, err := g.at.open()
	if err != nil {
		return nil, err
	}
	return grade.NewYardstick(v.table)
}

// kept lays a version's kept counts against a yardstick; nil where it keeps none.
func kept(y *grade.Yardstick, side compare.Side) (*grade.Population, []string, error) {
	if side.Tally == nil {
		return nil, nil, nil
	}
	o, err := compare.EstimateOptions(side.Manifest)
	if err != nil {
		return nil, nil, err
	}
	return y.Of(side.Manifest.Name+" "+side.Manifest.Version, side.Tally, o.Scoring())
}

// lost says that a version keeps no counts to grade.
func lost(side compare.Side) error {
	why := "is not kept"
	if side.Lost != "" {
		why = side.Lost
	}
	return usagef("grade: the hand-over of %s %s %s; grade its pitches with --config", side.Manifest.Name, side.Manifest.Version, why)
}

// save writes one table of a report to a file.
func (g *grading) save(r *grade.Report) error {
	var b bytes.Buffer
	write := r.Parquet
	if g.written == grade.CSVFormat {
		write = r.CSV
	}
	if err := write(&b, g.table); err != nil {
		return err
	}
	return os.WriteFile(g.out, b.Bytes(), 0o644)
}

// single grades pitch by pitch. One worker reads, so that rows stand in the order of
// the files.
func (g *grading) single(ctx context.Context, t *terminal.Terminal) (err error) {
	r, finish, err := g.source(ctx, t, 1)
	if err != nil {
		return err
	}
	defer finish()
	y, err := g.yardstick()
	if err != nil {
		return err
	}
	to, format := t.Out, grade.CSVFormat
	if g.out != "" {
		file, err := os.Create(g.out)
		if err != nil {
			return err
		}
		defer func() {
			if e := file.Close(); err == nil {
				err = e
			}
			if err != nil {
				_ = os.Remove(g.out) // half a table is none
			}
		}()
		to, format = file, g.written
	}
	rows, notes, err := y.Pitches(to, format, r.Names(), r.Variables())
	if err != nil {
		return err
	}
	if err := r.Each(ctx, rows.Add); err != nil {
		return err
	}
	if err := rows.Close(); err != nil {
		return err
	}
	finish()
	for _, n := range notes {
		fmt.Fprintf(t.Err, "sill: note: %s\n", n)
	}
	if g.out != "" {
		fmt.Fprintf(t.Err, "sill: wrote %s\n", filepath.ToSlash(g.out))
	}
	return nil
}
