package trial

import (
	"io"

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
	columns := make([]Columns, len(rows))
	for i := range rows {
		columns[i] = rows[i].Columns
	}
	return thresholds.CSV(w, columns)
}
