package compare

import (
	"bytes"
	"encoding/json"
	"fmt"

	"sill/pipeline/thresholds"
)

// Document is diff.json.
type Document struct {
	SchemaVersion string `json:"schema_version" doc:"version of the published formats, major.minor"`
	Body
}

// Body is a comparison as JSON.
type Body struct {
	Summary        string              `json:"summary" doc:"the whole in a sentence or two"`
	From           Version             `json:"from" doc:"the earlier version, or the first of the two"`
	To             Version             `json:"to" doc:"the later version, or the second of the two"`
	Basis          string              `json:"basis" doc:"what the error of a difference was taken from: none, same_data, joint, independent, assumed_independent or unknown"`
	SharedPitchers int                 `json:"shared_pitchers" doc:"pitchers' keys in both hand-overs"`
	Settings       []Setting           `json:"settings" doc:"settings that differ"`
	Notes          []string            `json:"notes" doc:"what a reader must know"`
	Counts         []Count             `json:"counts"`
	Columns        []thresholds.Column `json:"columns" doc:"the members of a row"`
	Rows           []Row               `json:"rows"`
}

// Count is how many rows of a kind and a line changed in a way.
type Count struct {
	Reference string `json:"reference"`
	Kind      string `json:"kind"`
	Change    string `json:"change"`
	Rows      int    `json:"rows"`
}

// Body returns the comparison as it is written; the summary is that against the
// line named.
func (d *Diff) Body(reference string) Body {
	doc := Body{Summary: d.Summary(reference), From: d.From, To: d.To, Basis: d.Basis,
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
	if err := e.Encode(Document{thresholds.SchemaVersion, d.Body(reference)}); err != nil {
		return nil, fmt.Errorf("encode comparison: %w", err)
	}
	return b.Bytes(), nil
}
