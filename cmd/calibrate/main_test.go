package main

import (
	"encoding/json"
	"os"
	"slices"
	"testing"

	leagues "sill/pipeline/calibrate"
	"sill/stats/calibrate"
)

// TestNames: a report keeps one result a name, so no two studies may share one.
func TestNames(t *testing.T) {
	seen := map[string]bool{}
	for _, s := range slices.Concat(calibrate.Studies(), leagues.Studies()) {
		if seen[s.Name] || s.Asks == "" {
			t.Errorf("study %q is named twice or asks nothing", s.Name)
		}
		seen[s.Name] = true
	}
}

// TestReportIsOfTheCode: the committed report judged the estimators that the code has,
// every study of it, at full size, and its two forms say the same.
func TestReportIsOfTheCode(t *testing.T) {
	const dir = "../../testdata/calibration/"
	text, err := os.ReadFile(dir + "report.json")
	if err != nil {
		t.Fatal(err)
	}
	var r calibrate.Report
	if err := json.Unmarshal(text, &r); err != nil {
		t.Fatal(err)
	}
	for _, s := range r.Studies {
		if want := judged(s.Name); s.Algorithm != want || s.Commit == "" {
			t.Errorf("study %s is of algorithm %q and commit %q, the code is of algorithm %q: run make calibrate",
				s.Name, s.Algorithm, s.Commit, want)
		}
	}
	r.Complete(slices.Concat(calibrate.Studies(), leagues.Studies()))
	if len(r.NotRun) > 0 || r.Scale != 1 {
		t.Errorf("the report is of size %g and lacks %v", r.Scale, r.NotRun)
	}
	page, err := os.ReadFile(dir + "report.md")
	if err != nil {
		t.Fatal(err)
	}
	if string(page) != string(r.Markdown()) {
		t.Error("report.md and report.json differ: run make calibrate")
	}
}
