package compare

import (
	"bytes"
	"encoding/csv"
	"encoding/json"
	"fmt"
	"io"
	"reflect"
	"strconv"

	"sill/pipeline/thresholds"
)

// SchemaVersion is the version of diff.json, "major.minor": a field removed or
// changed in meaning raises the major one.
const SchemaVersion = "1.0"

// Document is a comparison as JSON.
type Document struct {
	SchemaVersion  string              `json:"schema_version"`
	Summary        string              `json:"summary"`
	From           Version             `json:"from"`
	To             Version             `json:"to"`
	Basis          string              `json:"basis"`
	SharedPitchers int                 `json:"shared_pitchers"`
	Settings       []Setting           `json:"settings"`
	Notes          []string            `json:"notes"`
	Counts         []Count             `json:"counts"`
	Columns        []thresholds.Column `json:"columns"`
	Rows           []Row               `json:"rows"`
}

// Count is how many rows of a kind and a line changed in a way.
type Count struct {
	Reference string `json:"reference"`
	Kind      string `json:"kind"`
	Change    string `json:"change"`
	Rows      int    `json:"rows"`
}

// Document returns the comparison as it is written; the summary is that against
// the line named.
func (d *Diff) Document(reference string) Document {
	doc := Document{SchemaVersion: SchemaVersion, Summary: d.Summary(reference), From: d.From, To: d.To, Basis: d.Basis,
		SharedPitchers: d.SharedPitchers, Settings: append([]Setting{}, d.Settings...), Notes: append([]string{}, d.Notes...),
		Counts: []Count{}, Columns: thresholds.Columns[Row](), Rows: d.Rows}
	at := map[Count]int{}
	for _, r := range d.Rows {
		c := Count{Reference: r.Reference, Kind: r.Kind, Change: r.Change}
		i, ok := at[c]
		if !ok {
			i = len(doc.Counts)
			at[c] = i
			doc.Counts = append(doc.Counts, c)
		}
		doc.Counts[i].Rows++
	}
	return doc
}

// JSON renders the comparison as diff.json.
func (d *Diff) JSON(reference string) ([]byte, error) {
	var b bytes.Buffer
	e := json.NewEncoder(&b)
	e.SetEscapeHTML(false)
	e.SetIndent("", "  ")
	if err := e.Encode(d.Document(reference)); err != nil {
		return nil, fmt.Errorf("encode comparison: %w", err)
	}
	return b.Bytes(), nil
}

// CSV writes rows, one a line, under their names (RFC 4180); a null is empty.
func CSV(w io.Writer, rows []Row) error {
	out := csv.NewWriter(w)
	out.UseCRLF = true
	columns := thresholds.Columns[Row]()
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
			record[j] = ""
			switch x := c.Field(v).Interface().(type) {
			case string:
				record[j] = x
			case *float64:
				if x != nil {
					record[j] = strconv.FormatFloat(*x, 'g', -1, 64)
				}
			}
		}
		if err := out.Write(record); err != nil {
			return err
		}
	}
	out.Flush()
	return out.Error()
}
