// Command calibrate reruns the simulations that sill's intervals, tests and
// verdicts are trusted by, and writes what they show as report.md and
// report.json. It is a tool for contributors: see make calibrate.
//
// Exit code 1: the run failed. 6: a bar is missed.
package main

import (
	"context"
	"encoding/json"
	"errors"
	"flag"
	"fmt"
	"io/fs"
	"os"
	"os/exec"
	"os/signal"
	"path/filepath"
	"regexp"
	"runtime"
	"runtime/debug"
	"slices"
	"strings"
	"time"

	"sill/pipeline"
	leagues "sill/pipeline/calibrate"
	"sill/stats"
	"sill/stats/calibrate"
)

func main() {
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt)
	err := run(ctx)
	stop()
	if err != nil {
		fmt.Fprintln(os.Stderr, "calibrate:", err)
		if errors.Is(err, errMissed) {
			os.Exit(6)
		}
		os.Exit(1)
	}
}

var errMissed = errors.New("bars are missed")

func run(ctx context.Context) error {
	// Memory for time: collecting less often saves a tenth of the hour.
	debug.SetGCPercent(400)
	debug.SetMemoryLimit(8 << 30)
	dir := flag.String("out", "testdata/calibration", "folder of report.md and report.json")
	only := flag.String("only", "", "run the studies whose names match this pattern, and keep the others' findings")
	scale := flag.Float64("scale", 1, "share of the full number of data sets")
	seed := flag.Uint64("seed", 20311, "seed of every random stream")
	workers := flag.Int("workers", runtime.GOMAXPROCS(0), "data sets at a time")
	list := flag.Bool("list", false, "list the studies and stop")
	flag.Parse()
	pattern, err := regexp.Compile(*only)
	if err != nil {
		return fmt.Errorf("read --only: %w", err)
	}
	studies := slices.Concat(calibrate.Studies(), leagues.Studies())
	if *list {
		for _, s := range studies {
			fmt.Printf("%-24s %s\n", s.Name, s.Asks)
		}
		return nil
	}
	commit := checkedOut(ctx)
	report := &calibrate.Report{Seed: *seed, Scale: *scale, Command: command(*scale)}
	if *only != "" {
		if report, err = read(*dir, report); err != nil {
			return err
		}
	}
	for _, s := range studies {
		if !pattern.MatchString(s.Name) {
			continue
		}
		start, used := time.Now(), processorSeconds()
		findings, err := s.Run(ctx, calibrate.Options{Scale: *scale, Workers: *workers, Seed: *seed, Progress: progress(s.Name)})
		if err != nil {
			return fmt.Errorf("study %s: %w", s.Name, err)
		}
		result := calibrate.NewResult(s, findings, 0)
		result.Algorithm, result.Commit = judged(s.Name), commit
		report.Put(result)
		fmt.Fprintf(os.Stderr, "\r%-24s %d findings in %.0f s, %.1f CPU seconds\n", s.Name, len(findings), time.Since(start).Seconds(), processorSeconds()-used)
		if err := write(*dir, report, studies); err != nil { // after each study: a stopped run keeps what it has
			return err
		}
	}
	if err := write(*dir, report, studies); err != nil { // studies that are gone or not run are told too
		return err
	}
	missed := report.Missed()
	for _, m := range missed {
		fmt.Println("missed:", m)
	}
	if len(missed) > 0 {
		return fmt.Errorf("%w: %d, see %s", errMissed, len(missed), filepath.Join(*dir, "report.md"))
	}
	return nil
}

// judged is the version of what a study judges: of single estimators, or of the
// program, which may have moved since.
func judged(study string) string {
	if slices.ContainsFunc(leagues.Studies(), func(s calibrate.Study) bool { return s.Name == study }) {
		return pipeline.Algorithm
	}
	return stats.Algorithm
}

// checkedOut names the commit that is judged, and says so where files differ from
// it, the report's own aside.
func checkedOut(ctx context.Context) string {
	git := func(args ...string) (string, error) {
		text, err := exec.CommandContext(ctx, "git", args...).Output()
		return strings.TrimSpace(string(text)), err
	}
	commit, err := git("rev-parse", "--short=12", "HEAD")
	if err != nil {
		return "unknown"
	}
	changed, err := git("status", "--porcelain", "--untracked-files=no", "--", ":/", ":(exclude,top)testdata/calibration")
	if err != nil || changed != "" {
		commit += " with changes"
	}
	return commit
}

// command is how the report says it was made.
func command(scale float64) string {
	if scale == 1 {
		return "make calibrate"
	}
	return fmt.Sprintf("go run ./cmd/calibrate -scale %g", scale)
}

// progress tells a terminal how far a study is, once a second at most.
func progress(name string) func(done, total int) {
	if info, err := os.Stderr.Stat(); err != nil || info.Mode()&fs.ModeCharDevice == 0 {
		return nil
	}
	return func(done, total int) { fmt.Fprintf(os.Stderr, "\r%-24s %d of %d", name, done, total) }
}

// read returns the report of a folder, or fresh where there is none. Findings of
// another seed or scale are not mixed with fresh ones.
func read(dir string, fresh *calibrate.Report) (*calibrate.Report, error) {
	text, err := os.ReadFile(filepath.Join(dir, "report.json"))
	if errors.Is(err, fs.ErrNotExist) {
		return fresh, nil
	}
	if err != nil {
		return nil, err
	}
	var old calibrate.Report
	if err := json.Unmarshal(text, &old); err != nil {
		return nil, fmt.Errorf("read report: %w", err)
	}
	if old.Seed != fresh.Seed || old.Scale != fresh.Scale {
		return nil, fmt.Errorf("%s was made with seed %d and scale %g: run all studies, or write elsewhere with --out", dir, old.Seed, old.Scale)
	}
	return &old, nil
}

// write writes both forms of the report, its studies in their order.
func write(dir string, r *calibrate.Report, order []calibrate.Study) error {
	r.Complete(order)
	text, err := r.JSON()
	if err != nil {
		return err
	}
	if err := os.MkdirAll(dir, 0o755); err != nil {
		return err
	}
	if err := os.WriteFile(filepath.Join(dir, "report.json"), text, 0o644); err != nil {
		return err
	}
	return os.WriteFile(filepath.Join(dir, "report.md"), r.Markdown(), 0o644)
}
