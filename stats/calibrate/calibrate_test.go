package calibrate_test

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"math"
	"os"
	"slices"
	"strings"
	"testing"

	"sill/stats/calibrate"
)

// slack is how many Monte Carlo errors a bar gives way by in a reduced run: a
// method that meets its bars misses one in a few thousand findings.
const slack = 3.5

// scales are the sizes of the reduced run where .02 does not do: at a share of a
// few data sets the Monte Carlo error is larger than what a fault makes.
var scales = map[string]float64{"curves": .04, "bins": .04, "weak": .02, "levels": .03, "cutoff": .1, "events": .2}

// TestStudies runs every study, reduced. A bar that the committed report tells as
// missed may be missed here too.
func TestStudies(t *testing.T) {
	if testing.Short() {
		t.Skip("simulations")
	}
	text, err := os.ReadFile("../../testdata/calibration/report.json")
	if err != nil {
		t.Fatal(err)
	}
	var committed calibrate.Report
	if err := json.Unmarshal(text, &committed); err != nil {
		t.Fatal(err)
	}
	known := committed.Missed()
	for _, s := range calibrate.Studies() {
		t.Run(s.Name, func(t *testing.T) {
			scale, ok := scales[s.Name]
			if !ok {
				scale = .02
			}
			findings, err := s.Run(context.Background(), calibrate.Options{Scale: scale, Workers: 2, Seed: 1})
			if err != nil {
				t.Fatal(err)
			}
			if len(findings) == 0 {
				t.Fatal("no findings")
			}
			judged := 0
			for _, f := range findings {
				verdict := f.Verdict(slack)
				if verdict != calibrate.Told {
					judged++
				}
				if verdict == calibrate.Missed && !slices.Contains(known, s.Name+": "+f.Design+": "+f.Measure) {
					t.Errorf("%s: %s: %.4f ± %.4f of %d, bar %s", f.Design, f.Measure, f.Value, f.SE, f.Of, f.Bar)
				}
			}
			if judged == 0 {
				t.Error("no finding has a bar")
			}
		})
	}
}

// TestStudiesAreDeterministic: the same bytes, whatever runs at a time.
func TestStudiesAreDeterministic(t *testing.T) {
	if testing.Short() {
		t.Skip("simulations")
	}
	for _, s := range calibrate.Studies() {
		if s.Name != "size" && s.Name != "events" && s.Name != "cutoff" {
			continue
		}
		render := func(workers int) string {
			findings, err := s.Run(context.Background(), calibrate.Options{Scale: .003, Workers: workers, Seed: 7})
			if err != nil {
				t.Fatal(err)
			}
			r := calibrate.Report{Studies: []calibrate.Result{calibrate.NewResult(s, findings, 0)}}
			text, err := r.JSON()
			if err != nil {
				t.Fatal(err)
			}
			return string(text)
		}
		if one, two := render(1), render(2); one != two {
			t.Errorf("%s: one worker:\n%s\ntwo:\n%s", s.Name, one, two)
		}
	}
}

func TestStudiesAreNamed(t *testing.T) {
	seen := map[string]bool{}
	for _, s := range calibrate.Studies() {
		if s.Name != strings.ToLower(s.Name) || s.Name == "" || !strings.HasSuffix(s.Asks, "?") || seen[s.Name] {
			t.Errorf("study %q asks %q", s.Name, s.Asks)
		}
		seen[s.Name] = true
	}
}

func TestVerdict(t *testing.T) {
	nan := math.NaN()
	for _, c := range []struct {
		value, se float64
		bar       calibrate.Bar
		slack     float64
		want      string
	}{
		{.94, .01, calibrate.Between(.93, .98), 0, calibrate.Met},
		{.93, .01, calibrate.Between(.93, .98), 0, calibrate.Met},
		{.9299, .01, calibrate.Between(.93, .98), 0, calibrate.Missed},
		{.981, .01, calibrate.Between(.93, .98), 0, calibrate.Missed},
		{.981, .01, calibrate.Between(.93, .98), 1, calibrate.Met},
		{.92, .01, calibrate.AtLeast(.93), 0, calibrate.Missed},
		{.92, .01, calibrate.AtLeast(.93), 3.5, calibrate.Met},
		{.89, .01, calibrate.AtLeast(.93), 3.5, calibrate.Missed},
		{.07, .01, calibrate.AtMost(.05), 0, calibrate.Missed},
		{.07, .01, calibrate.NoBar, 0, calibrate.Told},
		// What could not be counted is missed, however large the slack.
		{nan, .01, calibrate.AtMost(.05), 9, calibrate.Missed},
		{nan, nan, calibrate.AtLeast(.93), 9, calibrate.Missed},
		{.95, nan, calibrate.AtLeast(.93), 3.5, calibrate.Missed},
		{nan, nan, calibrate.NoBar, 0, calibrate.Told},
	} {
		f := calibrate.Finding{Value: c.value, SE: c.se, Bar: c.bar}
		if got := f.Verdict(c.slack); got != c.want {
			t.Errorf("%v ± %v against %v with slack %v: %s, want %s", c.value, c.se, c.bar, c.slack, got, c.want)
		}
	}
	none := calibrate.ShareFinding("d", "m", calibrate.Share{}, calibrate.AtLeast(.9), "")
	if none.Verdict(slack) != calibrate.Missed {
		t.Error("a share of none met its bar")
	}
}

func TestFindings(t *testing.T) {
	// Binomial at the end of the bar that is nearest.
	f := calibrate.ShareFinding("d", "m", calibrate.Share{Hits: 97, Of: 100}, calibrate.Between(.90, .96), "")
	near(t, "share", f.Value, .97)
	near(t, "its error", f.SE, math.Sqrt(.96*.04/100))
	near(t, "error of a share without a bar", calibrate.ShareFinding("d", "m", calibrate.Share{Hits: 20, Of: 100}, calibrate.NoBar, "").SE, .04)
	m := calibrate.MeanFinding("d", "m", []float64{1, math.NaN(), 2, 3}, calibrate.NoBar, "")
	near(t, "mean", m.Value, 2)
	near(t, "its error", m.SE, math.Sqrt(1./3))
	if m.Of != 3 {
		t.Errorf("of %d", m.Of)
	}
	for bar, want := range map[calibrate.Bar]string{
		calibrate.NoBar: "", calibrate.AtLeast(.93): "≥ 0.93", calibrate.AtMost(.05): "≤ 0.05", calibrate.Between(.9, 1): "0.9 to 1",
	} {
		if bar.String() != want {
			t.Errorf("bar %q, want %q", bar, want)
		}
	}
}

func near(t *testing.T, what string, got, want float64) {
	t.Helper()
	if !(math.Abs(got-want) <= 1e-12) {
		t.Errorf("%s: %v, want %v", what, got, want)
	}
}

// The two forms of a report hold the same findings.
func TestReportForms(t *testing.T) {
	findings := []calibrate.Finding{
		{Design: "one", Measure: "covered", Value: .95123456, SE: .01, Of: 400, Bar: calibrate.AtLeast(.93), Earlier: ".954"},
		{Design: "two", Measure: "covered", Value: .5, SE: .01, Of: 400, Bar: calibrate.Between(.93, .98)},
		{Design: "three", Measure: "counted of none", Value: math.NaN(), SE: math.NaN(), Bar: calibrate.AtMost(.05)},
		{Design: "four", Measure: "bias", Value: -.0021, SE: .0004, Of: 400, Bar: calibrate.NoBar},
		{Design: "five", Measure: "ratio", Value: math.Inf(1), SE: 123.456, Of: 1, Bar: calibrate.NoBar},
		calibrate.Finding{Design: "six", Measure: "covered", Value: .91, SE: .01, Of: 9, Bar: calibrate.AtLeast(.9)}.MovedFrom(calibrate.Between(.93, .98), "0123456", "of this and that"),
		calibrate.Finding{Design: "seven", Measure: "covered", Value: .91, SE: .01, Of: 9, Bar: calibrate.NoBar}.MovedFrom(calibrate.AtMost(.05), "first draft", "it counts what is gone"),
	}
	r := calibrate.Report{Seed: 5, Scale: 1, Command: "make calibrate"}
	r.Put(calibrate.Result{Name: "a", Asks: "old"})
	r.Put(calibrate.NewResult(calibrate.Study{Name: "b", Asks: "B?"}, findings[:1], 0))
	r.Put(calibrate.NewResult(calibrate.Study{Name: "a", Asks: "A?"}, findings, 0))
	text, err := r.JSON()
	if err != nil {
		t.Fatal(err)
	}
	var back calibrate.Report
	if err := json.Unmarshal(text, &back); err != nil {
		t.Fatal(err)
	}
	if string(r.Markdown()) != string(back.Markdown()) {
		t.Error("a report that was written and read prints otherwise")
	}
	if len(back.Studies) != 2 || back.Studies[0].Name != "a" || back.Studies[0].Asks != "A?" {
		t.Errorf("studies %+v", back.Studies)
	}
	lines := strings.Split(string(r.Markdown()), "\n")
	for i, want := range []string{
		"| one | covered | .9512 | .0100 | 400 | ≥ 0.93 | .954 | met |",
		"| two | covered | .5000 | .0100 | 400 | 0.93 to 0.98 |  | **missed** |",
		"| three | counted of none | – | – | 0 | ≤ 0.05 |  | **missed** |",
		"| four | bias | −.0021 | .0004 | 400 |  |  | told |",
		"| five | ratio | – | 123 | 1 |  |  | told |",
		`| six | covered | .9100 | .0100 | 9 | ≥ 0.9 \* |  | met |`,
		`| seven | covered | .9100 | .0100 | 9 | none \* |  | told |`,
	} {
		found := false
		for _, l := range lines {
			found = found || l == want
		}
		if !found {
			t.Errorf("no line %q in\n%s", want, r.Markdown())
		}
		row := back.Studies[0].Findings[i]
		if !strings.Contains(want, strings.Trim(row.Verdict, "*")) || row.Design != findings[i].Design || row.Of != findings[i].Of {
			t.Errorf("JSON has %+v for %q", row, want)
		}
		if (row.Value == nil) != (math.IsNaN(findings[i].Value) || math.IsInf(findings[i].Value, 0)) {
			t.Errorf("JSON has value %v for %v", row.Value, findings[i].Value)
		}
	}
	// What is missed comes before the studies, the moved bars and the numbers without
	// a bar after them.
	rest := string(r.Markdown())
	for _, want := range []string{
		"3 bars met, 2 missed, 3 numbers told",
		"## Missed bars",
		"| a | two | covered | .5000 | .0100 | 400 | 0.93 to 0.98 |",
		"| a | three | counted of none | – | – | 0 | ≤ 0.05 |",
		"## b",
		"## Moved bars",
		"| a | six | covered | 0.93 to 0.98 | ≥ 0.9 | .9100 | 0123456 | of this and that |",
		"| a | seven | covered | ≤ 0.05 | none | .9100 | first draft | it counts what is gone |",
		"## Numbers without a bar",
		"| a | 2 | 2 | 3 |",
		"| b | 1 | 0 | 0 |",
	} {
		_, after, ok := strings.Cut(rest, want)
		if !ok {
			t.Errorf("no %q, or not in its place, in\n%s", want, r.Markdown())
			continue
		}
		rest = after
	}
	if got := fmt.Sprint(r.Missed()); got != "[a: two: covered a: three: counted of none]" {
		t.Errorf("missed %s", got)
	}
}

func TestEach(t *testing.T) {
	o := calibrate.Options{Workers: 3}
	got := make([]int, 50)
	if err := o.Each(context.Background(), len(got), func(i int) error { got[i] = i + 1; return nil }); err != nil {
		t.Fatal(err)
	}
	for i, v := range got {
		if v != i+1 {
			t.Errorf("%d was not done", i)
		}
	}
	broken := errors.New("broken")
	if err := o.Each(context.Background(), 50, func(i int) error {
		if i == 7 {
			return broken
		}
		return nil
	}); !errors.Is(err, broken) {
		t.Errorf("error %v", err)
	}
	ctx, stop := context.WithCancel(context.Background())
	stop()
	if err := o.Each(ctx, 3, func(int) error { return nil }); !errors.Is(err, context.Canceled) {
		t.Errorf("ended by %v", err)
	}
	if o.Sets(100) != 2 || (calibrate.Options{Scale: .25}).Sets(100) != 25 {
		t.Error("sets are not scaled")
	}
}

// A report that lacks a study says so, whatever order the studies were run in.
func TestReportComplete(t *testing.T) {
	studies := []calibrate.Study{{Name: "a"}, {Name: "b"}, {Name: "c"}}
	r := &calibrate.Report{}
	r.Put(calibrate.Result{Name: "c"})
	r.Put(calibrate.Result{Name: "a"})
	r.Complete(studies)
	if !slices.Equal(r.NotRun, []string{"b"}) || r.Studies[0].Name != "a" || !strings.Contains(string(r.Markdown()), "Not run at this size: b.") {
		t.Errorf("%+v\n%s", r, r.Markdown())
	}
	r.Put(calibrate.Result{Name: "b"})
	r.Put(calibrate.Result{Name: "gone"})
	if r.Complete(studies); len(r.Studies) != 3 {
		t.Errorf("a study that is gone is kept: %+v", r)
	}
	if r.Complete(studies); r.NotRun != nil || r.Studies[1].Name != "b" || strings.Contains(string(r.Markdown()), "Not run") {
		t.Errorf("%+v", r)
	}
}

// A report is of one algorithm and commit only where every study is.
func TestReportAlgorithm(t *testing.T) {
	studies := []calibrate.Study{{Name: "a"}, {Name: "b"}}
	r := &calibrate.Report{}
	r.Put(calibrate.Result{Name: "a", Algorithm: "7", Commit: "0123"})
	r.Put(calibrate.Result{Name: "b", Algorithm: "7", Commit: "4567"})
	if r.Complete(studies); r.Algorithm != "7" || r.Commit != "" {
		t.Errorf("algorithm %q, commit %q", r.Algorithm, r.Commit)
	}
	if text := string(r.Markdown()); !strings.Contains(text, "(algorithm 7, commit 4567)") {
		t.Errorf("the commit of a study is missing:\n%s", text)
	}
	r.Studies[0].Algorithm = "6"
	if r.Complete(studies); r.Algorithm != "" {
		t.Errorf("algorithm %q of a report of two", r.Algorithm)
	}
}
