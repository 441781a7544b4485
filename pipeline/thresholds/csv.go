package thresholds

import (
	"encoding/csv"
	"io"
	"reflect"
	"strconv"
	"strings"
)

// ListSeparator parts the items of a list in CSV.
const ListSeparator = ";"

// CSV writes rows of a tagged type, one a line, under the names of its columns
// (RFC 4180: a header, CRLF line ends). A null number is an empty field; a text is
// never null, so an empty text is an empty field too.
func CSV[T any](w io.Writer, rows []T) error {
	out := csv.NewWriter(w)
	out.UseCRLF = true
	columns := Columns[T]()
	record := make([]string, len(columns))
	for j, c := range columns {
		record[j] = c.Name
	}
	if err := out.Write(record); err != nil {
		return err
	}
	var b []byte
	for i := range rows {
		row := reflect.ValueOf(&rows[i]).Elem()
		for j, c := range columns {
			b = AppendValue(b[:0], c.Value(row))
			record[j] = string(b)
		}
		if err := out.Write(record); err != nil {
			return err
		}
	}
	out.Flush()
	return out.Error()
}

// AppendValue writes a value (see Column.Value) as CSV has it: nothing for null, a
// list with its items parted by ListSeparator. A number is written in its shortest
// form, the way JSON of ECMAScript does, so that CSV and JSON agree byte for byte.
func AppendValue(b []byte, value any) []byte {
	switch x := value.(type) {
	case string:
		return append(b, x...)
	case int64:
		return strconv.AppendInt(b, x, 10)
	case bool:
		return strconv.AppendBool(b, x)
	case []string:
		return append(b, strings.Join(x, ListSeparator)...)
	case float64:
		if x == 0 {
			return append(b, '0') // no negative zero
		}
		if a := max(x, -x); a < 1e-6 || a >= 1e21 {
			return strconv.AppendFloat(b, x, 'e', -1, 64)
		}
		return strconv.AppendFloat(b, x, 'f', -1, 64)
	}
	return b
}
