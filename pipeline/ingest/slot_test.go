package ingest

import (
	"errors"
	"path/filepath"
	"slices"
	"testing"

	"github.com/parquet-go/parquet-go"

	"sill/pipeline/pitch"
)

// TestEveryColumnHasItsOwnSlot adds a column of each kind to the dictionary and
// holds every column to keeping its values apart from the others': two rows of one
// key that differ in that column alone are no duplicates, and each holds what was written.
func TestEveryColumnHasItsOwnSlot(t *testing.T) {
	standing := pitch.Dictionary
	t.Cleanup(func() { pitch.Dictionary = standing })
	pitch.Dictionary = append(slices.Clone(standing),
		pitch.Column{Name: "weather", Kind: pitch.Text, Meaning: "a text"},
		pitch.Column{Name: "roofed", Kind: pitch.YesNo, Meaning: "a flag"},
		pitch.Column{Name: "attendance", Kind: pitch.Whole, Number: pitch.NoNumber, Min: 0, Max: 1e6, Meaning: "a number"})
	p := &Profile{Columns: map[string]Column{}, GameTypes: []string{"*"}}
	types := map[string]parquet.Node{}
	first, other := row{}, row{}
	for _, c := range pitch.Dictionary {
		spec := Column{Column: c.Name}
		if units := UnitsOf(c.Dimension); len(units) > 0 {
			spec.Unit = units[0]
		}
		if c.Lateral != pitch.NotLateral {
			spec.Positive = "arm_side"
		}
		p.Columns[c.Name] = spec
		types[c.Name] = textNode
		switch c.Kind {
		case pitch.Text:
			first[c.Name], other[c.Name] = c.Name, "another "+c.Name
		case pitch.YesNo:
			types[c.Name], first[c.Name], other[c.Name] = optional(parquet.Leaf(parquet.BooleanType)), true, false
		case pitch.Category:
			words := pitch.Words(c.Name)
			first[c.Name], other[c.Name] = words[0], words[1]
		case pitch.Day:
			first[c.Name], other[c.Name] = "2031-04-05", "2031-04-06"
		default:
			types[c.Name], first[c.Name], other[c.Name] = doubleNode, c.Min, c.Max
		}
	}
	for _, c := range pitch.Dictionary {
		t.Run(c.Name, func(t *testing.T) {
			path := filepath.Join(t.TempDir(), "a.parquet")
			writeRows(t, path, types, []row{first, first.with(c.Name, other[c.Name])})
			files := []File{{Path: path, Name: "a.parquet"}}
			if !slices.Contains([]string{"game", "plate_appearance", "pitch_number"}, c.Name) {
				s, err := Index(t.Context(), files, p, loose())
				if err != nil {
					t.Fatal(err)
				}
				r, _, err := deliver(s)
				if !errors.Is(err, ErrTooManyRejects) || r.Conflicts != 2 || r.Duplicates != 0 {
					t.Errorf("rows that differ in %s alone: %d conflicts, %d duplicates", c.Name, r.Conflicts, r.Duplicates)
				}
			}
			in, err := Inspect(t.Context(), files[0], p)
			if err != nil {
				t.Fatal(err)
			}
			for _, got := range in.Coverage {
				if got.State != "mapped" || got.Values != 2 || got.Faults != 0 {
					t.Errorf("%+v", got)
				}
			}
		})
	}
}

// TestUnknownColumnPanics: code cannot name a column that the dictionary lacks.
func TestUnknownColumnPanics(t *testing.T) {
	for name, do := range map[string]func(){
		"a place": func() { pitch.Place("weather") },
		"words":   func() { _, _ = pitch.ParseWord("weather", "rain") },
		"a check": func() { checkAt("rain") },
	} {
		t.Run(name, func(t *testing.T) {
			defer func() {
				if recover() == nil {
					t.Error("an unknown name is taken")
				}
			}()
			do()
		})
	}
}

// TestCodesOfResults: no result has the code of a row's status, or of a word that is
// not mapped.
func TestCodesOfResults(t *testing.T) {
	for code := range 256 {
		if pitch.Result(code).Valid() && code >= int(statusDuplicate) {
			t.Errorf("%v has the code %#x", pitch.Result(code), code)
		}
	}
}
