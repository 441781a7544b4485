package thresholds

import (
	"fmt"
	"reflect"
	"slices"
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

// Value returns the column's value in a row struct: a string, int64, float64, bool
// or []string, nil for null.
func (c Column) Value(row reflect.Value) any {
	f := c.Field(row)
	if f.Kind() == reflect.Pointer {
		if f.IsNil() {
			return nil
		}
		f = f.Elem()
	}
	return f.Interface()
}

// Columns reads the columns of the row type T off its tags, in the order of
// its fields. It panics on a field that the row model does not know, and on one
// since a schema version that SchemaVersion does not reach.
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
			Since: reached(f.Tag.Get("since"), t.Name()+"."+f.Name), index: index}
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

// words returns the closed vocabulary of a column, nil where it has none; of pitch types
// the common ones. An
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

// Words returns the closed vocabulary of a column in these tables, nil where it has
// none: of pitch types, the common ones and those that the source declares.
func (t *Tables) Words(column string) []string {
	list := words(column)
	if !slices.Contains(list, pitch.OtherType.String()) {
		return list
	}
	for i := range t.Verdicts {
		if w := t.Verdicts[i].PitchType; !slices.Contains(list, w) {
			list = append(list, w)
		}
	}
	slices.SortFunc(list, pitch.CompareTypes)
	return list
}

// reached returns the schema version that added something, "" for the first. It
// panics on one that SchemaVersion does not reach: who adds a column or a resource
// raises SchemaVersion.
func reached(since, what string) string {
	if since == "" {
		return ""
	}
	major, minor, ok := parseSchema(since)
	if m, n, _ := parseSchema(SchemaVersion); !ok || major != m || minor > n {
		panic(fmt.Sprintf("thresholds: %s is since schema %q, the schema is %s", what, since, SchemaVersion))
	}
	return since
}

// parseSchema reads a schema version, "major.minor".
func parseSchema(version string) (major, minor int, ok bool) {
	a, b, ok := strings.Cut(version, ".")
	major, errMajor := strconv.Atoi(a)
	minor, errMinor := strconv.Atoi(b)
	return major, minor, ok && errMajor == nil && errMinor == nil && major > 0
}

// before tells whether a schema version is older than the one that added something,
// "" for the first.
func before(version, since string) bool {
	_, minor, _ := parseSchema(version)
	_, added, _ := parseSchema(since)
	return minor < added
}
