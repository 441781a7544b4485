package ingest

import (
	"errors"
	"fmt"
	"maps"
	"math"
	"slices"
	"strconv"
	"strings"
	"time"
	_ "time/tzdata" // zones resolve alike on every machine

	"sill/pipeline/pitch"
)

// checkScalar refuses values that YAML read as something that no column holds.
func checkScalar(v any) error {
	switch x := v.(type) {
	case string, bool, int, int64, uint64, float64:
		return nil
	case time.Time:
		return fmt.Errorf("%s was read as a date: quote it, %q", x.Format(time.DateOnly), x.Format(time.DateOnly))
	case nil:
		return errors.New(`is empty: write "" for an empty text`)
	}
	return fmt.Errorf("%v is no text, number or boolean", v)
}

func asFloat(v any) (float64, bool) {
	switch x := v.(type) {
	case int:
		return float64(x), true
	case int64:
		return float64(x), true
	case uint64:
		return float64(x), true
	case float64:
		return x, true
	}
	return 0, false
}

// idText is the canonical text of an identity given in a profile, and whether
// it was quoted.
func idText(v any) (s string, quoted bool, err error) {
	if s, ok := v.(string); ok {
		return canonicalText(s), true, nil
	}
	if f, ok := asFloat(v); ok && f == math.Trunc(f) && math.Abs(f) < 1<<53 {
		return strconv.FormatInt(int64(f), 10), false, nil
	}
	if err := checkScalar(v); err != nil {
		return "", false, err
	}
	return "", false, fmt.Errorf("%v is no identity: quote it", v)
}

// lookup finds a source value among the profile's values.
type lookup struct {
	at   map[any]int32 // by what vector.key returns
	null int32         // index of the empty text
}

// none is what a lookup returns for a value that is not listed.
const none = -1

// newLookup compiles values for a column of the given type. Values are indexed
// by their position; the first of equal ones wins.
func newLookup(values []any, t leafType) (*lookup, error) {
	l := &lookup{at: map[any]int32{}, null: none}
	var errs []error
	for i, v := range values {
		if s, ok := v.(string); ok && canonicalText(s) == "" && l.null == none {
			l.null = int32(i)
		}
		key, err := t.key(v)
		if err != nil {
			errs = append(errs, err)
		} else if _, twice := l.at[key]; key != nil && !twice {
			l.at[key] = int32(i)
		}
	}
	return l, errors.Join(errs...)
}

// key returns a value of the profile as vector.key returns it from a column of the
// type, nil where it cannot occur there but may in another file's column.
func (t leafType) key(v any) (any, error) {
	s, isText := v.(string)
	s = canonicalText(s)
	f, isNumber := asFloat(v)
	wrong := fmt.Errorf("%v cannot occur in a column of type %s", v, t.class)
	if isText && s == "" && t.class != classText {
		return nil, nil
	}
	switch t.class {
	case classText:
		if !isText {
			return nil, fmt.Errorf("the column holds text and %v is not quoted: quote it, \"%v\"", v, v)
		}
		return s, nil
	case classBool:
		yes, ok := v.(bool)
		if !ok {
			var err error
			if yes, err = strconv.ParseBool(s); err != nil {
				return nil, wrong
			}
		}
		return int64(btoi(yes)), nil
	case classInt:
		if n, err := strconv.ParseInt(s, 10, 64); err == nil {
			return n, nil
		}
		if isNumber && f == math.Trunc(f) {
			return int64(f), nil
		}
	case classFloat:
		if n, err := strconv.ParseFloat(s, 64); err == nil {
			return n, nil
		}
		if isNumber {
			return f, nil
		}
	case classDate:
		if d, err := time.Parse(time.DateOnly, s); err == nil {
			return d.Unix() / 86400, nil
		}
	case classTime:
		if d, err := time.Parse(time.RFC3339Nano, s); err == nil {
			return d.UnixNano() / t.tick, nil
		}
	}
	if isText && (t.class == classInt || t.class == classFloat) {
		return nil, nil
	}
	return nil, wrong
}

func btoi(b bool) uint8 {
	if b {
		return 1
	}
	return 0
}

// find returns the position of the value at a row, or none.
func (l *lookup) find(v *vector, row int) int32 {
	if v.null[row] {
		return l.null
	}
	if len(l.at) > 0 {
		if i, ok := l.at[v.key(row)]; ok {
			return i
		}
	}
	return none
}

// targetOf reads the `to` of a value map.
func targetOf(col pitch.Column, words []string, to any) (reading, error) {
	r := reading{known: true, final: true}
	s, isText := to.(string)
	switch {
	case isText && s == "":
		r.state = missing
		return r, nil
	case isText && s == reject:
		r.state = rejected
		return r, nil
	}
	var err error
	switch col.Kind {
	case pitch.Category:
		if words, ok := listOf(to); ok && col.Name == "result" {
			var result pitch.Result
			result, err = pitch.ParseResult(words...)
			r.code = uint8(result)
			break
		}
		if !isText {
			return r, fmt.Errorf("%v is no word: use one of %s, \"\" or reject", to, strings.Join(words, ", "))
		}
		r.code, err = parseWord(col.Name, words, s)
	case pitch.YesNo:
		yes, ok := to.(bool)
		if !ok && s != "yes" && s != "no" {
			return r, fmt.Errorf("%v is neither yes nor no", to)
		}
		r.code = uint8(pitch.No) + btoi(yes || s == "yes")
	case pitch.Text:
		r.text, _, err = idText(to)
		if r.text == "?" {
			err = errors.New(`"?" is to be replaced by a word, or the line left out`)
		}
	case pitch.Real, pitch.Whole:
		var ok bool
		if r.num, ok = asFloat(to); isText {
			r.num, err = strconv.ParseFloat(strings.TrimSpace(s), 64)
			ok = err == nil
		}
		if !ok {
			return r, fmt.Errorf("%q is no number", fmt.Sprint(to))
		}
	default:
		err = errors.New("dates cannot be mapped by value: use format and missing")
	}
	return r, err
}

// listOf returns the words of a list; false for what is no list of words.
func listOf(v any) (words []string, ok bool) {
	list, ok := v.([]any)
	for _, x := range list {
		word, isText := x.(string)
		if !isText {
			return nil, false
		}
		words = append(words, word)
	}
	return words, ok
}

// layouts are the keywords of Column.Format.
var layouts = map[string]string{
	"year-month-day": "2006-1-2", "year/month/day": "2006/1/2", "year.month.day": "2006.1.2",
	"day-month-year": "2-1-2006", "day/month/year": "2/1/2006", "day.month.year": "2.1.2006",
	"month-day-year": "1-2-2006", "month/day/year": "1/2/2006", "month.day.year": "1.2.2006",
	"yearmonthday": "20060102", "timestamp": "timestamp",
}

// strftime are the conversions of strftime that a date may need.
var strftime = map[byte]string{
	'Y': "2006", 'y': "06", 'm': "01", 'd': "02", 'e': "_2", 'b': "Jan", 'B': "January", 'a': "Mon",
	'A': "Monday", 'H': "15", 'I': "03", 'M': "04", 'S': "05", 'f': "000000", 'p': "PM", 'z': "-0700",
	'Z': "MST", 'j': "002", 'F': "2006-01-02", 'T': "15:04:05", '%': "%",
}

// layoutOf returns Go's layout of a date format.
func layoutOf(format string) (string, error) {
	if format == "" {
		return layouts["year-month-day"], nil
	}
	if l, ok := layouts[format]; ok {
		return l, nil
	}
	layout := format
	if strings.Contains(format, "%") {
		var b strings.Builder
		for i := 0; i < len(format); i++ {
			if format[i] != '%' {
				b.WriteByte(format[i])
				continue
			}
			i++
			if i == len(format) || strftime[format[i]] == "" {
				return "", fmt.Errorf("%q: unknown conversion after %%", format)
			}
			b.WriteString(strftime[format[i]])
		}
		layout = b.String()
	}
	// A layout must carry year, month and day through a round trip.
	want := time.Date(2031, 11, 23, 0, 0, 0, 0, time.UTC)
	got, err := time.Parse(layout, want.Format(layout))
	if err != nil || got.Year() != want.Year() || got.YearDay() != want.YearDay() {
		return "", fmt.Errorf("%q does not give year, month and day%s: use a keyword such as month/day/year, or a layout such as %%d %%b %%Y",
			format, didYouMean(format, slices.Sorted(maps.Keys(layouts))))
	}
	return layout, nil
}

// parseDay reads a date written as text; zone turns an instant into a date.
func parseDay(layout, s string, zone *time.Location) (int64, bool) {
	var t time.Time
	var err error
	instant := layout == "timestamp"
	if instant {
		if t, err = time.Parse(time.RFC3339Nano, strings.Replace(s, " ", "T", 1)); err == nil {
			t = t.In(zone)
		} else {
			for _, l := range []string{"2006-01-02T15:04:05.999999999", "2006-01-02T15:04", time.DateOnly} {
				if t, err = time.Parse(l, strings.Replace(s, " ", "T", 1)); err == nil {
					break
				}
			}
		}
	} else {
		t, err = time.Parse(layout, s)
	}
	if err != nil {
		return 0, false
	}
	return civilDay(t), true
}

// civilDay counts days since 1970-01-01 of the calendar date that t shows.
func civilDay(t time.Time) int64 {
	y, m, d := t.Date()
	return time.Date(y, m, d, 0, 0, 0, 0, time.UTC).Unix() / 86400
}
