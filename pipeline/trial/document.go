package trial

import (
	"encoding/csv"
	"fmt"
	"io"
	"reflect"
	"strconv"
	"strings"

	"sill/pipeline/thresholds"
)

// Body is a trial as JSON.
type Body struct {
	Summary string              `json:"summary" doc:"the whole in a sentence"`
	League  string              `json:"league" doc:"what the claims were tried in"`
	Caution string              `json:"caution" doc:"what stands under every trial"`
	Columns []thresholds.Column `json:"columns" doc:"the members of a row"`
	Rows    []Row               `json:"rows"`
}

// Body returns the trial as it is written.
func (t *Trial) Body() Body {
	return Body{t.Summary(), t.League, t.Caution(), thresholds.Columns[Columns](), t.Rows}
}

// CSV writes rows, one a line, under their names (RFC 4180); a null is empty.
func CSV(w io.Writer, rows []Row) error {
	out := csv.NewWriter(w)
	out.UseCRLF = true
	columns := thresholds.Columns[Columns]()
	record := make([]string, len(columns))
	for j, c := range columns {
		record[j] = c.Name
	}
	if err := out.Write(record); err != nil {
		return err
	}
	for i := range rows {
		v := reflect.ValueOf(&rows[i].Columns).Elem()
		for j, c := range columns {
			record[j] = ""
			switch x := c.Field(v).Interface().(type) {
			case []string:
				record[j] = strings.Join(x, "; ")
			case float64:
				record[j] = strconv.FormatFloat(x, 'g', -1, 64)
			case *float64:
				if x != nil {
					record[j] = strconv.FormatFloat(*x, 'g', -1, 64)
				}
			default:
				record[j] = fmt.Sprint(x)
			}
		}
		if err := out.Write(record); err != nil {
			return err
		}
	}
	out.Flush()
	return out.Error()
}
