package publish

import (
	"fmt"
	"io"
	"math"
	"reflect"
	"slices"
	"strings"
	"unicode/utf8"

	"github.com/parquet-go/parquet-go"

	"sill/pipeline/thresholds"
)

// table is one resource in the row model that every format is written from.
type table struct {
	name    string
	meaning string
	columns []thresholds.Column
	key     []string      // columns that name a row, for the descriptor
	rows    reflect.Value // slice of row structs
	csv     func(w io.Writer) error
	parquet func(w io.Writer, options ...parquet.WriterOption) error
}

func newTable[T any](name, meaning string, rows []T, key ...string) table {
	return table{
		name: name, meaning: meaning, columns: thresholds.Columns[T](), key: key, rows: reflect.ValueOf(rows),
		csv: func(w io.Writer) error { return thresholds.CSV(w, rows) },
		parquet: func(w io.Writer, options ...parquet.WriterOption) error {
			p := parquet.NewGenericWriter[T](w, options...)
			if _, err := p.Write(rows); err != nil {
				return err
			}
			return p.Close()
		},
	}
}

// tables lists the resources of a version; a further resource is one line.
func (v *Version) tables() []table {
	cell := []string{"hand", "side", "pitch_type", "stratum", "variable", "outcome"}
	line := append(slices.Clip(cell), "reference")
	with := func(column ...string) []string { return append(slices.Clip(line), column...) }
	t := v.Tables
	list := []table{
		newTable("thresholds", "the headline view: each verdict with its zones that beat the line", t.Thresholds, with("zone")...),
		newTable("verdicts", "one row for every cell with an eligible event: sample, line, level, test and verdict", t.Verdicts, line...),
		newTable("zones", "stretches of a variable that beat the line or fall behind it", t.Zones, with("zone")...),
		newTable("stretches", "where inside its zones an outcome is certainly on one side of the line",
			thresholds.Stretches(t.Zones), with("zone", "lo")...),
		newTable("curves", "the smooth curves with their bands, on a fine grid", t.Curves, with("x")...),
		newTable("bins", "counts and rates by bin of the variable, missing values in a row of their own", t.Bins),
		newTable("contrasts", "differences between matchups and between pitch types", t.Contrasts),
		newTable("references", "the lines that rates are compared with", t.References),
		newTable("slopes", "how much of a pattern is seen inside the same pitcher and how much between pitchers", t.Slopes, cell...),
		newTable("opponents", "who was facing the pitchers of each cell, and in each bin of a quality, "+
			"against the league's batters, and the rate with that held equal", t.Opponents),
	}
	types := t.Words("pitch_type")
	for _, one := range list {
		for i := range one.columns {
			if c := &one.columns[i]; strings.HasPrefix(c.Name, "pitch_type") {
				c.Words = types
			}
		}
	}
	return list
}

func (t *table) len() int { return t.rows.Len() }

// check refuses rows that some format could not hold: numbers that are not
// finite, texts that are not UTF-8, words outside their vocabulary; and numbers
// with more decimals than their column states (see thresholds.Tables.Round).
func (t *table) check() error {
	for i := range t.len() {
		row := t.rows.Index(i)
		for _, c := range t.columns {
			if fault := faultOf(c, c.Value(row)); fault != "" {
				return fmt.Errorf("write %s: row %d, column %s: %s", t.name, i, c.Name, fault)
			}
		}
	}
	return nil
}

func faultOf(c thresholds.Column, value any) string {
	switch x := value.(type) {
	case float64:
		if math.IsNaN(x) || math.IsInf(x, 0) {
			return fmt.Sprintf("%g is not a finite number", x)
		}
		if c.Round(x) != x {
			return fmt.Sprintf("%v is not rounded to %d decimals", x, c.Decimals)
		}
	case string:
		if !utf8.ValidString(x) {
			return fmt.Sprintf("%q is not UTF-8", x)
		}
		if strings.Contains(x, "\x00") {
			return fmt.Sprintf("%q holds a zero byte", x) // no text of PostgreSQL
		}
		if c.Words != nil && !slices.Contains(c.Words, x) {
			return fmt.Sprintf("%q is not one of %q", x, c.Words)
		}
	case []string:
		for _, item := range x {
			if !listItem.MatchString(item) {
				return fmt.Sprintf("list item %q is no plain code", item)
			}
		}
	}
	return ""
}
