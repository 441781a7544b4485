package trend

import (
	"sill/pipeline/thresholds"
)

// Body is a trend as JSON.
type Body struct {
	Summary    string              `json:"summary" doc:"the whole in a sentence or two"`
	From       string              `json:"from" doc:"the earlier window"`
	To         string              `json:"to" doc:"the later window"`
	Pitchers   int                 `json:"pitchers" doc:"pitchers in both windows"`
	Notes      []string            `json:"notes" doc:"what a reader must know"`
	Caution    string              `json:"caution" doc:"to read before anyone acts on it"`
	Shifts     []Shift             `json:"shifts" doc:"what the league's pitchers changed by in common"`
	Laws       []Law               `json:"laws" doc:"how outcomes went with qualities over the whole league"`
	Relabelled []Relabelled        `json:"relabelled" doc:"pitchers whose pitch probably got another name"`
	Columns    []thresholds.Column `json:"columns" doc:"the members of a row"`
	Rows       []Row               `json:"rows"`
}

// Body returns the trend as it is written, with the rows that keep tells of.
func (t *Trend) Body(keep func(*Row) bool) Body {
	b := Body{Summary: t.Summary(), From: t.From, To: t.To, Pitchers: t.Pitchers, Notes: append([]string{}, t.Notes...), Caution: t.Caution(),
		Shifts: append([]Shift{}, t.Shifts...), Laws: append([]Law{}, t.Laws...), Relabelled: append([]Relabelled{}, t.Relabelled...),
		Columns: thresholds.Columns[Row](), Rows: []Row{}}
	for i := range t.Rows {
		if keep(&t.Rows[i]) {
			b.Rows = append(b.Rows, t.Rows[i])
		}
	}
	return b
}
