package calibrate

import (
	"bytes"
	"encoding/json"
	"fmt"
	"math"
	"slices"
	"strings"
)

// Report is what a run of the studies showed. It holds no clock and no host: the
// same seed and scale give the same bytes.
type Report struct {
	Seed    uint64  `json:"seed"`
	Scale   float64 `json:"scale"`
	Command string  `json:"command"`
	// NotRun names the studies that the report lacks.
	NotRun  []string `json:"not_run,omitempty"`
	Studies []Result `json:"studies"`
}

// Result is one study with its findings.
type Result struct {
	Name     string `json:"name"`
	Asks     string `json:"asks"`
	Findings []Row  `json:"findings"`
}

// Row is a finding as it is written: null where a number is absent or infinite.
type Row struct {
	Design  string   `json:"design"`
	Measure string   `json:"measure"`
	Value   *float64 `json:"value"`
	SE      *float64 `json:"monte_carlo_error"`
	Of      int      `json:"of"`
	AtLeast *float64 `json:"at_least"`
	AtMost  *float64 `json:"at_most"`
	Earlier string   `json:"earlier,omitempty"`
	Verdict string   `json:"verdict"`
}

// NewResult judges the findings of a study.
func NewResult(s Study, findings []Finding, slack float64) Result {
	out := Result{Name: s.Name, Asks: s.Asks}
	for _, f := range findings {
		out.Findings = append(out.Findings, Row{Design: f.Design, Measure: f.Measure, Value: number(f.Value), SE: number(f.SE),
			Of: f.Of, AtLeast: number(f.Bar.Lo), AtMost: number(f.Bar.Hi), Earlier: f.Earlier, Verdict: f.Verdict(slack)})
	}
	return out
}

// number rounds to six significant digits, which is more than any Monte Carlo
// error allows; nil where v is not finite.
func number(v float64) *float64 {
	if math.IsNaN(v) || math.IsInf(v, 0) {
		return nil
	}
	if v != 0 {
		scale := math.Pow(10, 5-math.Floor(math.Log10(math.Abs(v))))
		v = math.Round(v*scale) / scale
	}
	return &v
}

// Missed lists the findings that miss their bar, as "study: design: measure".
func (r *Report) Missed() []string {
	var out []string
	for _, s := range r.Studies {
		for _, f := range s.Findings {
			if f.Verdict == Missed {
				out = append(out, s.Name+": "+f.Design+": "+f.Measure)
			}
		}
	}
	return out
}

// Put replaces the result of the same name, or adds it at the end.
func (r *Report) Put(s Result) {
	for i := range r.Studies {
		if r.Studies[i].Name == s.Name {
			r.Studies[i] = s
			return
		}
	}
	r.Studies = append(r.Studies, s)
}

// Complete puts the results in the order of the studies and names those without.
func (r *Report) Complete(studies []Study) {
	place := map[string]int{}
	r.NotRun = nil
	for i, s := range studies {
		place[s.Name] = i
		if !slices.ContainsFunc(r.Studies, func(x Result) bool { return x.Name == s.Name }) {
			r.NotRun = append(r.NotRun, s.Name)
		}
	}
	slices.SortStableFunc(r.Studies, func(a, b Result) int { return place[a.Name] - place[b.Name] })
}

// JSON renders the report for programs.
func (r *Report) JSON() ([]byte, error) {
	var b bytes.Buffer
	enc := json.NewEncoder(&b)
	enc.SetIndent("", " ")
	enc.SetEscapeHTML(false)
	if err := enc.Encode(r); err != nil {
		return nil, fmt.Errorf("render report: %w", err)
	}
	return b.Bytes(), nil
}

// Markdown renders the report for people.
func (r *Report) Markdown() []byte {
	var b strings.Builder
	met, missed, told := 0, 0, 0
	for _, s := range r.Studies {
		for _, f := range s.Findings {
			switch f.Verdict {
			case Met:
				met++
			case Missed:
				missed++
			default:
				told++
			}
		}
	}
	fmt.Fprintf(&b, "# Calibration\n\nMade with `%s` (seed %d). Data sets of known truth are put through the estimators; each number stands with its Monte Carlo error and the bar it must meet. *Earlier* is what the study by which the estimators were chosen measured, on other data sets.\n\n", r.Command, r.Seed)
	fmt.Fprintf(&b, "%d bars met, %d missed, %d numbers told without a bar.\n", met, missed, told)
	if len(r.NotRun) > 0 {
		fmt.Fprintf(&b, "\nNot run at this size: %s.\n", strings.Join(r.NotRun, ", "))
	}
	for _, s := range r.Studies {
		fmt.Fprintf(&b, "\n## %s\n%s\n\n| design | measure | value | ± | of | bar | earlier | |\n|---|---|---|---|---|---|---|---|\n", s.Name, s.Asks)
		for _, f := range s.Findings {
			mark := f.Verdict
			if mark == Missed {
				mark = "**missed**"
			}
			fmt.Fprintf(&b, "| %s | %s | %s | %s | %d | %s | %s | %s |\n", f.Design, f.Measure, show(f.Value), show(f.SE), f.Of, f.bar(), f.Earlier, mark)
		}
	}
	return []byte(b.String())
}

func (f Row) bar() string {
	b := NoBar
	if f.AtLeast != nil {
		b.Lo = *f.AtLeast
	}
	if f.AtMost != nil {
		b.Hi = *f.AtMost
	}
	return b.String()
}

func show(v *float64) string {
	switch {
	case v == nil:
		return "–"
	case math.Abs(*v) >= 100:
		return fmt.Sprintf("%.0f", *v)
	}
	text := fmt.Sprintf("%.4f", *v)
	if rest, ok := strings.CutPrefix(text, "0."); ok {
		return "." + rest
	}
	if rest, ok := strings.CutPrefix(text, "-0."); ok {
		return "−." + rest
	}
	return text
}
