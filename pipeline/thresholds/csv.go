package thresholds

import (
	"encoding/csv"
	"fmt"
	"io"
	"reflect"
	"strconv"
	"strings"
)

// CSV writes rows of a tagged type, one a line, under the names of its columns
// (RFC 4180). A null is empty; the items of a list are parted by semicolons.
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
	for i := range rows {
		v := reflect.ValueOf(&rows[i]).Elem()
		for j, c := range columns {
			record[j] = csvField(c.Field(v).Interface())
		}
		if err := out.Write(record); err != nil {
			return err
		}
	}
	out.Flush()
	return out.Error()
}

func csvField(v any) string {
	switch x := v.(type) {
	case []string:
		return strings.Join(x, "; ")
	case float64:
		return strconv.FormatFloat(x, 'g', -1, 64)
	case *float64:
		if x == nil {
			return ""
		}
		return strconv.FormatFloat(*x, 'g', -1, 64)
	}
	return fmt.Sprint(v)
}
