package thresholds

import (
	"fmt"
	"reflect"
	"strconv"
	"strings"

	"sill/pipeline/pitch"
)

// Column describes one column of a resource; every format is written from it.
type Column struct {
	Name     string   `json:"name"`
	Type     string   `json:"type"` // text, integer, number, boolean, or list (of text)
	Nullable bool     `json:"nullable"`
	Unit     string   `json:"unit,omitempty"`
	Meaning  string   `json:"meaning"`
	Words    []string `json:"words,omitempty"` // the only values a text may take, nil for any
	Since    string   `json:"since,omitempty"` // schema version that added it, "" for the first
	// Decimals is how many a number has at most, 0 where it is not rounded.
	Decimals int `json:"decimals,omitempty"`
	// RoundedUp says that a number is the next decimal above, not the nearest. So a
	// p is never 0 for being small, and at most a limit of as few decimals where it
	// was so before.
	RoundedUp bool `json:"rounded_up,omitempty"`
	index     []int
}

// Field returns the column's field of a row struct: a string, int64, float64,
// bool, []string or *float64.
func (c Column) Field(row reflect.Value) reflect.Value { return row.FieldByIndex(c.index) }

// Columns reads the columns of the row type T off its tags, in the order of
// its fields. It panics on a field that the row model does not know.
func Columns[T any]() []Column { return columnsOf(reflect.TypeFor[T](), nil) }

func columnsOf(t reflect.Type, prefix []int) []Column {
	var out []Column
	for i := range t.NumField() {
		f := t.Field(i)
		index := append(append([]int(nil), prefix...), i)
		if f.Anonymous {
			out = append(out, columnsOf(f.Type, index)...)
			continue
		}
		if f.Tag.Get("parquet") == "-" {
			continue // a resource of its own
		}
		name, _, _ := strings.Cut(f.Tag.Get("json"), ",")
		c := Column{Name: name, Unit: f.Tag.Get("unit"), Meaning: f.Tag.Get("doc"), Words: words(name),
			Since: f.Tag.Get("since"), index: index}
		if tag := f.Tag.Get("decimals"); tag != "" {
			n, up := strings.CutSuffix(tag, ",up")
			var err error
			if c.Decimals, err = strconv.Atoi(n); err != nil || c.Decimals < 1 {
				panic(fmt.Sprintf("thresholds: row field %s.%s has decimals %q", t.Name(), f.Name, tag))
			}
			if c.RoundedUp = up; up {
				c.Meaning += "; rounded up, so never 0 for being small"
			}
		}
		switch f.Type {
		case reflect.TypeFor[string]():
			c.Type = "text"
		case reflect.TypeFor[int64]():
			c.Type = "integer"
		case reflect.TypeFor[float64]():
			c.Type = "number"
		case reflect.TypeFor[*float64]():
			c.Type, c.Nullable = "number", true
		case reflect.TypeFor[bool]():
			c.Type = "boolean"
		case reflect.TypeFor[[]string]():
			c.Type = "list"
		default:
			panic(fmt.Sprintf("thresholds: row field %s.%s has a type no format can hold", t.Name(), f.Name))
		}
		out = append(out, c)
	}
	return out
}

// Resource is one published table and its columns.
type Resource struct {
	Name    string   `json:"name"`
	Columns []Column `json:"columns"`
	Since   string   `json:"since,omitempty"` // schema version that added it, "" for the first
}

// Resources describes every table of a version.
func Resources() []Resource {
	return []Resource{
		{Name: "thresholds", Columns: Columns[Threshold]()}, {Name: "verdicts", Columns: Columns[Verdict]()},
		{Name: "zones", Columns: Columns[Zone]()}, {Name: "curves", Columns: Columns[CurvePoint]()},
		{Name: "bins", Columns: Columns[Bin]()}, {Name: "contrasts", Columns: Columns[Contrast]()},
		{Name: "stretches", Columns: Columns[Stretch](), Since: "1.3"},
		{Name: "references", Columns: Columns[Reference]()}, {Name: "slopes", Columns: Columns[Slope](), Since: "1.2"},
		{Name: "opponents", Columns: Columns[Opponent](), Since: "1.2"},
	}
}

// words returns the closed vocabulary of a column, nil where it has none. An
// empty text stands for "both" or "all" where a resource allows it.
func words(column string) []string {
	base := strings.TrimSuffix(strings.TrimSuffix(column, "_a"), "_b")
	switch base {
	case "hand":
		return append([]string{""}, pitch.Words("hand")...)
	case "side":
		return []string{"", pitch.LeftSide.String(), pitch.RightSide.String()}
	case "pitch_type":
		return append([]string{""}, pitch.Words("pitch_type")...)
	}
	return nil
}
