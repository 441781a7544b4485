package pipeline

import (
	"bytes"
	"errors"
	"io/fs"
	"os"

	"sill/pipeline/locate"
	"sill/pipeline/report"
	"sill/pipeline/thresholds"
)

// Page renders a version as a page to read: its tables, its quality report and
// its comparison with the version before, the latter two as they are or as JSON;
// nil for none. Options.Base and Options.Reference are the caller's to choose.
func Page(t *thresholds.Tables, m thresholds.Manifest, quality, diff any, o report.Options) ([]byte, error) {
	o.Changes = diff
	for _, w := range locate.Warnings() {
		o.Caveats = append(o.Caveats, report.Word{Code: w.Code, Meaning: w.Meaning})
	}
	var b bytes.Buffer
	err := report.Write(&b, t, m, quality, o)
	return b.Bytes(), err
}

// pageOf is Page as publishing asks for it: a version without a verdict to tell
// has none.
func pageOf(t *thresholds.Tables, quality, diff any) func(string, thresholds.Manifest) ([]byte, error) {
	return func(_ string, m thresholds.Manifest) ([]byte, error) {
		b, err := Page(t, m, quality, diff, report.Options{})
		if errors.Is(err, report.ErrNothing) {
			return nil, nil
		}
		return b, err
	}
}

// DraftPage makes the page of a draft that lies in dir, for the number that it is
// published under.
func DraftPage(dir string, m thresholds.Manifest) ([]byte, error) {
	table, err := thresholds.OpenFS(os.DirFS(dir))
	if err != nil {
		return nil, err
	}
	tables, err := table.Load()
	if err != nil {
		return nil, err
	}
	quality, err := Optional(table, qualityFile)
	if err != nil {
		return nil, err
	}
	diff, err := Optional(table, diffName+".json")
	if err != nil {
		return nil, err
	}
	return pageOf(tables, quality, diff)(dir, m)
}

// Optional reads a file that a version which no run made may lack; nil where it
// does.
func Optional(t *thresholds.Table, name string) ([]byte, error) {
	b, err := t.Bytes(name)
	if errors.Is(err, fs.ErrNotExist) {
		return nil, nil
	}
	return b, err
}
