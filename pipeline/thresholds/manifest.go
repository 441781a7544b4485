package thresholds

import (
	"cmp"
	"strings"
)

// SchemaVersion is the version of the published formats, "major.minor". A
// reader refuses a newer major, ignores columns that a newer minor added, and
// leaves null or 0 those that an older minor lacks.
const SchemaVersion = "1.4"

// Manifest says what a published version is, from what it was made and how. It
// is the only file of a version, beside its checksums, that holds a clock.
type Manifest struct {
	SchemaVersion string     `json:"schema_version"`
	Name          string     `json:"name"`    // of the league
	Version       string     `json:"version"` // such as v1.2.0
	Parent        string     `json:"parent"`  // version it follows, "" for the first
	Created       string     `json:"created"` // RFC 3339, UTC
	Host          string     `json:"host,omitempty"`
	Status        string     `json:"status"` // "final"
	ContentID     string     `json:"content_id"`
	Algorithm     string     `json:"algorithm"` // version of the estimators
	Tool          Tool       `json:"tool"`
	Seed          uint64     `json:"seed"`
	Replicates    int        `json:"replicates"`
	Families      []Tested   `json:"families,omitempty"`
	Variables     []Variable `json:"variables"`
	Warnings      []Warning  `json:"warnings"` // that rows may carry; none before schema 1.4
	Configuration []Setting  `json:"configuration"`
	// ConfigurationSHA256 is that of the canonical configuration (see publish.ContentID).
	ConfigurationSHA256 string   `json:"configuration_sha256"`
	Inputs              []Input  `json:"inputs"`
	Rows                Rows     `json:"rows"`
	Notes               []string `json:"notes,omitempty"` // caveats of the whole run
	Changes             []string `json:"changes"`         // why the step from the parent is no smaller
	Handover            string   `json:"handover_sha256,omitempty"`
	Outputs             []File   `json:"outputs"`
}

// Tool is the program that wrote a version; bytes are equal for equal tools.
type Tool struct {
	Version string `json:"version"`
	Commit  string `json:"commit"`
	Go      string `json:"go"`
	GOARCH  string `json:"goarch"`
	GOAMD64 string `json:"goamd64,omitempty"`
}

// Tested is what was tested together, the headline or one split: how many tests,
// with how many sign flips, in how many families of one variable and outcome each,
// and how many of these are shown not to be flat as a whole (see Verdict.FamilyQ).
// Families and Selected are 0 in a version older than schema 1.3, whose tests were
// one family.
type Tested struct {
	Name     string `json:"name" doc:"headline, else of the split"`
	Tests    int    `json:"tests" doc:"cells with enough data, each variable and outcome"`
	Flips    int    `json:"flips" doc:"sign flips of the strongest tests"`
	Families int    `json:"families" doc:"variables and outcomes with a test"`
	Selected int    `json:"selected" doc:"families whose q as a whole is within the false discovery rate"`
}

// TestedWith returns what was tested together with the rows of a stratum, "" for
// those of all pitches; nil in a version older than schema 1.3.
func (m *Manifest) TestedWith(stratum string) *Tested {
	name, _, _ := strings.Cut(stratum, ":")
	for i := range m.Families {
		if t := &m.Families[i]; t.Name == cmp.Or(name, "headline") && t.Families > 0 {
			return t
		}
	}
	return nil
}

// Variable is one variable of the version and what exactly it measures.
type Variable struct {
	Name       string  `json:"name"`
	Title      string  `json:"title"`
	Unit       string  `json:"unit"`
	Width      float64 `json:"width"`      // of a bin, in Unit
	Definition string  `json:"definition"` // such as velocity/release/mph
}

// Setting is one resolved setting and where its value came from. Value is any
// JSON value. A Local setting (paths, workers, output folder) is recorded but
// is no part of the content id.
type Setting struct {
	Key    string `json:"key"`
	Value  any    `json:"value"`
	Origin string `json:"origin"`
	Local  bool   `json:"local,omitempty"`
}

// Input is one file the version was made from.
type Input struct {
	Name    string `json:"name"`
	Bytes   int64  `json:"bytes"`
	SHA256  string `json:"sha256"`
	Rows    int64  `json:"rows"`
	Schema  string `json:"schema"`   // fingerprint of its columns
	PageCRC bool   `json:"page_crc"` // whether its pages carry checksums
}

// Rows counts the rows of the inputs, and says between which days the used ones
// lie.
type Rows struct {
	Read     int64  `json:"read"`
	Used     int64  `json:"used"`
	Rejected int64  `json:"rejected"`
	FirstDay string `json:"first_day,omitempty"` // such as 2031-04-05, "" where the source has no dates
	LastDay  string `json:"last_day,omitempty"`
}

// File is one published file.
type File struct {
	Path    string `json:"path"`
	Bytes   int64  `json:"bytes"`
	SHA256  string `json:"sha256"`
	Rows    int64  `json:"rows,omitempty"`
	Columns int    `json:"columns,omitempty"`
}
