package main

import (
	"fmt"
	"os"
	"path/filepath"
	"time"

	"github.com/spf13/cobra"

	"sill/pipeline/render/terminal"
	"sill/pipeline/render/words"
	"sill/pipeline/thresholds"
)

// How old a league's table is.
const (
	stateOK     = "ok"
	stateAging  = "getting_old"
	stateTooOld = "too_old"
	stateNone   = "no_version"
)

// What `status --json` prints.
type (
	statusDocument struct {
		document
		WarnAfter  float64        `json:"warn_after_days"`
		ErrorAfter float64        `json:"error_after_days"`
		Leagues    []statusLeague `json:"leagues"`
	}
	statusLeague struct {
		League     string   `json:"league"`
		Dir        string   `json:"dir"`
		State      string   `json:"state" doc:"ok, getting_old, too_old or no_version"`
		Version    string   `json:"version"`
		Published  string   `json:"published"`
		Age        *float64 `json:"version_age_days"`
		LastDay    string   `json:"last_day" doc:"day of the newest pitch used, empty where the source has no dates"`
		DataAge    *float64 `json:"data_age_days" doc:"since that day ended; below 0 where it lies ahead of the clock"`
		Deprecated string   `json:"deprecated,omitempty"`
	}
)

// newStatus is the command that says how fresh the tables are.
func newStatus(t *terminal.Terminal) *cobra.Command {
	var at place
	doc := statusDocument{document: head("status")}
	var asJSON bool
	cmd := &cobra.Command{
		Use:   "status",
		Short: "Say how old the newest table and its newest pitch are",
		Long: `status says of each league how long ago its newest version was published and how
long ago the newest pitch in it was thrown. The greater of the two decides: ok,
getting old after --warn-after days, too old after --error-after days. Where a
league is too old or has no version left, the exit code is 6. It goes by
SOURCE_DATE_EPOCH where that is set, else by the clock.`,
		Example: `  sill status
  sill status --league lantern --warn-after 3 --error-after 7 && ./use-the-table`,
		Args: args(),
		RunE: func(*cobra.Command, []string) error {
			if doc.WarnAfter < 0 || doc.ErrorAfter < doc.WarnAfter {
				return usagef("--warn-after is %g and --error-after %g: use days, the second no smaller than the first", doc.WarnAfter, doc.ErrorAfter)
			}
			clock, err := now(t)
			if err != nil {
				return err
			}
			dirs, err := at.all()
			if err != nil {
				return err
			}
			stop := ""
			for _, dir := range dirs {
				l, err := statusOf(dir, clock, doc.WarnAfter, doc.ErrorAfter)
				if err != nil {
					return err
				}
				if l.State == stateTooOld || l.State == stateNone {
					stop = l.League
				}
				doc.Leagues = append(doc.Leagues, l)
			}
			if asJSON {
				err = writeJSON(t.Out, doc)
			} else {
				err = printStatus(t, doc.Leagues)
			}
			if err == nil && stop != "" {
				err = fmt.Errorf("%w: %s is not fresh enough; run again with newer pitches", errNo, stop)
			}
			return err
		},
	}
	f := cmd.Flags()
	at.storeFlags(f)
	f.Float64Var(&doc.WarnAfter, "warn-after", 14, "age in `days` from which a table is getting old")
	f.Float64Var(&doc.ErrorAfter, "error-after", 30, "age in `days` from which a table is too old (exit code 6)")
	f.BoolVar(&asJSON, "json", false, "print JSON")
	return cmd
}

// statusOf judges the newest version of a league.
func statusOf(dir string, now time.Time, warn, stop float64) (statusLeague, error) {
	l := statusLeague{League: leagueOf(dir), Dir: filepath.ToSlash(dir), State: stateNone}
	releases, err := versionsOf(dir)
	if err != nil {
		return l, err
	}
	r := thresholds.Newest(releases)
	if r == nil {
		return l, nil
	}
	table, err := thresholds.OpenFS(os.DirFS(dir), thresholds.WithVersion(r.Version), thresholds.Lazily())
	if err != nil {
		return l, err
	}
	l.Version, l.Published, l.LastDay, l.Deprecated = r.Version, r.Time, table.Manifest().Rows.LastDay, r.Deprecated
	oldest := 0.0
	age := func(since time.Time, err error) *float64 {
		if err != nil {
			return nil
		}
		days := now.Sub(since).Hours() / 24
		oldest = max(oldest, days)
		return &days
	}
	l.Age = age(time.Parse(time.RFC3339, l.Published))
	if l.LastDay != "" {
		ended, err := time.Parse(time.DateOnly, l.LastDay)
		l.DataAge = age(ended.AddDate(0, 0, 1), err)
	}
	switch l.State = stateOK; {
	case oldest >= stop:
		l.State = stateTooOld
	case oldest >= warn:
		l.State = stateAging
	}
	return l, nil
}

func printStatus(t *terminal.Terminal, leagues []statusLeague) error {
	p := terminal.NewPrinter(t)
	for _, l := range leagues {
		p.Line(terminal.Bold, "%s %s", l.League, words.Spaced(l.State))
		if l.State == stateNone {
			continue
		}
		p.Line(terminal.Plain, "  %s, published %s (%s)", l.Version, daysAgo(l.Age), day(l.Published))
		if l.DataAge != nil {
			p.Line(terminal.Plain, "  newest pitch %s (%s)", daysAgo(l.DataAge), l.LastDay)
		} else {
			p.Line(terminal.Plain, "  newest pitch unknown: the source has no dates")
		}
		if l.Deprecated != "" {
			p.Prose(terminal.Plain, "  ", "  ", "deprecated: "+l.Deprecated)
		}
	}
	return p.Close()
}

// daysAgo spells an age in days.
func daysAgo(days *float64) string {
	switch {
	case days == nil:
		return "at an unknown time"
	case *days <= -2:
		return "dated ahead of the clock"
	case *days < 1:
		return "within a day"
	}
	return words.Plural(int64(*days), "day") + " ago"
}
