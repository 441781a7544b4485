package publish

import (
	"os"
	"path/filepath"
	"time"

	"sill/pipeline/thresholds"
)

// How old a league's table is.
const (
	Recent     = "ok"
	GettingOld = "getting_old"
	TooOld     = "too_old"
	NoVersion  = "no_version"
)

// Freshness says how old the newest version of a league is, and its newest pitch.
type Freshness struct {
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

// Fresh judges the newest version of a league.
func Fresh(dir string, now time.Time, warn, stop float64) (Freshness, error) {
	l := Freshness{League: League(dir), Dir: filepath.ToSlash(dir), State: NoVersion}
	releases, err := Releases(dir)
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
	switch l.State = Recent; {
	case oldest >= stop:
		l.State = TooOld
	case oldest >= warn:
		l.State = GettingOld
	}
	return l, nil
}
