package calibrate

import (
	"bytes"
	"cmp"
	"encoding/json"
	"fmt"
	"math"
	"strings"
)

// Report is what a run of the studies showed. It holds no clock and no host: the
// same seed and scale give the same bytes.
type Report struct {
	Seed    uint64  `json:"seed"`
	Scale   float64 `json:"scale"`
	Command string  `json:"command"`
	// Algorithm and Commit are those of every study, "" where they differ: then
	// each study has its own.
	Algorithm string `json:"algorithm"`
	Commit    string `json:"commit"`
	// NotRun names the studies that the report lacks.
	NotRun  []string `json:"not_run,omitempty"`
	Studies []Result `json:"studies"`
}

// Result is one study with its findings.
type Result struct {
	Name string `json:"name"`
	Asks string `json:"asks"`
	// Algorithm is the version of the estimators that were judged, Commit the code.
	Algorithm string `json:"algorithm"`
	Commit    string `json:"commit"`
	Findings  []Row  `json:"findings"`
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
	Moved   *MoveRow `json:"bar_moved,omitempty"`
}

// MoveRow is a move of a bar as it is written.
type MoveRow struct {
	FromAtLeast *float64 `json:"from_at_least"`
	FromAtMost  *float64 `json:"from_at_most"`
	Why         string   `json:"why"`
	Change      string   `json:"change"`
}

// NewResult judges the findings of a study.
func NewResult(s Study, findings []Finding, slack float64) Result {
	out := Result{Name: s.Name, Asks: s.Asks}
	for _, f := range findings {
		row := Row{Design: f.Design, Measure: f.Measure, Value: number(f.Value), SE: number(f.SE),
			Of: f.Of, AtLeast: number(f.Bar.Lo), AtMost: number(f.Bar.Hi), Earlier: f.Earlier, Verdict: f.Verdict(slack)}
		if m := f.Moved; m != nil {
			row.Moved = &MoveRow{number(m.From.Lo), number(m.From.Hi), m.Why, m.Change}
		}
		out.Findings = append(out.Findings, row)
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

// Complete puts the results in the order of the studies, drops those of no study,
// names the studies without, and says of what algorithm and commit the report is.
func (r *Report) Complete(studies []Study) {
	known := map[string]Result{}
	for _, s := range r.Studies {
		known[s.Name] = s
	}
	*r = Report{Seed: r.Seed, Scale: r.Scale, Command: r.Command}
	for _, s := range studies {
		result, ok := known[s.Name]
		if !ok {
			r.NotRun = append(r.NotRun, s.Name)
			continue
		}
		if len(r.Studies) == 0 {
			r.Algorithm, r.Commit = result.Algorithm, result.Commit
		}
		if r.Algorithm != result.Algorithm {
			r.Algorithm = ""
		}
		if r.Commit != result.Commit {
			r.Commit = ""
		}
		r.Studies = append(r.Studies, result)
	}
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

// Markdown renders the report for people: what is missed first, then every study,
// last the bars that moved and how many numbers have none.
func (r *Report) Markdown() []byte {
	var b strings.Builder
	all := tally{}
	for _, s := range r.Studies {
		all.add(s)
	}
	fmt.Fprintf(&b, "# Calibration\n\nMade with `%s` (seed %d), %s. Data sets of known truth are put through the estimators; each number stands with its Monte Carlo error and the bar it must meet. *Earlier* is what the study by which the estimators were chosen measured, on other data sets. A bar marked \\* was moved: the end of the report says from where and why.\n\n", r.Command, r.Seed, judgedCode(r.Algorithm, r.Commit))
	fmt.Fprintf(&b, "%d bars met, %d missed, %d numbers told without a bar.\n", all.met, all.missed, all.told)
	if len(r.NotRun) > 0 {
		fmt.Fprintf(&b, "\nNot run at this size: %s.\n", strings.Join(r.NotRun, ", "))
	}
	b.WriteString("\n## Missed bars\n\n")
	if all.missed == 0 {
		b.WriteString("None.\n")
	} else {
		b.WriteString("| study | design | measure | value | ± | of | bar |\n|---|---|---|---|---|---|---|\n")
		r.each(func(s Result, f Row) {
			if f.Verdict == Missed {
				fmt.Fprintf(&b, "| %s | %s | %s | %s | %s | %d | %s |\n", s.Name, f.Design, f.Measure, show(f.Value), show(f.SE), f.Of, f.bar())
			}
		})
	}
	for _, s := range r.Studies {
		fmt.Fprintf(&b, "\n## %s\n%s", s.Name, s.Asks)
		if s.Algorithm != r.Algorithm || s.Commit != r.Commit {
			fmt.Fprintf(&b, " (%s)", judgedCode(s.Algorithm, s.Commit))
		}
		b.WriteString("\n\n| design | measure | value | ± | of | bar | earlier | |\n|---|---|---|---|---|---|---|---|\n")
		for _, f := range s.Findings {
			mark := f.Verdict
			if mark == Missed {
				mark = "**missed**"
			}
			fmt.Fprintf(&b, "| %s | %s | %s | %s | %d | %s | %s | %s |\n", f.Design, f.Measure, show(f.Value), show(f.SE), f.Of, f.bar(), f.Earlier, mark)
		}
	}
	b.WriteString("\n## Moved bars\n\n")
	var moved strings.Builder
	r.each(func(s Result, f Row) {
		if m := f.Moved; m != nil {
			fmt.Fprintf(&moved, "| %s | %s | %s | %s | %s | %s | %s | %s |\n", s.Name, f.Design, f.Measure, cmp.Or(words(m.FromAtLeast, m.FromAtMost), noBar), cmp.Or(words(f.AtLeast, f.AtMost), noBar), show(f.Value), m.Change, m.Why)
		}
	})
	if moved.Len() == 0 {
		b.WriteString("None.\n")
	} else {
		b.WriteString("| study | design | measure | from | to | value | in | why |\n|---|---|---|---|---|---|---|---|\n" + moved.String())
	}
	b.WriteString("\n## Numbers without a bar\n\nThey are marked *told* above.\n\n| study | met | missed | told |\n|---|---|---|---|\n")
	for _, s := range r.Studies {
		one := tally{}
		one.add(s)
		fmt.Fprintf(&b, "| %s | %d | %d | %d |\n", s.Name, one.met, one.missed, one.told)
	}
	return []byte(b.String())
}

// judgedCode words what was judged.
func judgedCode(algorithm, commit string) string {
	const unlike = "unlike by study or not stated"
	return "algorithm " + cmp.Or(algorithm, unlike) + ", commit " + cmp.Or(commit, unlike)
}

// each visits every row.
func (r *Report) each(visit func(Result, Row)) {
	for _, s := range r.Studies {
		for _, f := range s.Findings {
			visit(s, f)
		}
	}
}

// tally counts verdicts.
type tally struct{ met, missed, told int }

func (t *tally) add(s Result) {
	for _, f := range s.Findings {
		switch f.Verdict {
		case Met:
			t.met++
		case Missed:
			t.missed++
		default:
			t.told++
		}
	}
}

// bar words the bar of a row, marked where it was moved.
func (f Row) bar() string {
	text := words(f.AtLeast, f.AtMost)
	if f.Moved != nil {
		return cmp.Or(text, noBar) + " \\*"
	}
	return text
}

const noBar = "none"

// words are how a bar of these ends is printed, "" for none.
func words(lo, hi *float64) string {
	b := NoBar
	if lo != nil {
		b.Lo = *lo
	}
	if hi != nil {
		b.Hi = *hi
	}
	return b.String()
}

func show(v *float64) string {
	if v == nil {
		return "–"
	}
	if math.Abs(*v) >= 100 {
		return fmt.Sprintf("%.0f", *v)
	}
	text := strings.TrimPrefix(fmt.Sprintf("%.4f", *v), "0")
	if rest, ok := strings.CutPrefix(text, "-0."); ok {
		return "−." + rest
	}
	return text
}
