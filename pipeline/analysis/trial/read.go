package trial

import (
	"bytes"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"path/filepath"
	"slices"
	"strconv"
	"strings"

	"go.yaml.in/yaml/v3"

	"sill/pipeline/analysis/answer"
	"sill/pipeline/outcome"
	"sill/pipeline/pitch"
	"sill/pipeline/shape"
	"sill/pipeline/thresholds"
)

// Fields are the fields of a claim, in the order of a file's columns. Only the
// first three are needed.
var Fields = []struct{ Name, Meaning string }{
	{"pitch_type", "pitch type, such as four_seam"},
	{"variable", "quality of the pitch, such as velocity"},
	{"region", "where it is better: at least 93, at most 5, between 2 and 15, outside 2 and 15; a bound belongs to what is above it"},
	{"matchup", "such as L-v-R; all, or left out, for every matchup"},
	{"hand", "hand of the pitcher, left or right, instead of a matchup"},
	{"side", "side of the batter, left or right, instead of a matchup"},
	{"outcome", "whiff_rate (the default), woba_against, or joint: both at once"},
	{"smallest", "smallest advantage of interest; by default .020 of whiff rate, .015 of wOBA-against"},
	{"source", "where the claim comes from"},
}

// needed is how many of Fields every claim must have.
const needed = 3

// entry is one claim as it stands in its file.
type entry struct {
	line   int
	fields []field
}

type field struct {
	name, value string
	line        int
}

// Near returns the known word that is most likely meant, "" for none:
// pitch.Nearest, or what knows the trade's words too.
type Near func(word string, known []string) string

// Read reads a file of claims: CSV where its name ends so, else YAML, a mapping
// with a list of claims and, if wanted, a source that stands for all. The error
// names line and field of every fault.
func Read(name string, text []byte, near Near) ([]Claim, error) {
	read := readYAML
	if strings.EqualFold(filepath.Ext(name), ".csv") {
		read = readCSV
	}
	entries, source, err := read(text, near)
	if err != nil {
		return nil, inFile(name, err)
	}
	if len(entries) == 0 {
		return nil, fmt.Errorf("%s: holds no claim; `sill trial --example` prints a file to start from", name)
	}
	var claims []Claim
	var faults []error
	for _, e := range entries {
		c, errs := e.claim(near)
		if c.Source == "" {
			c.Source = source
		}
		claims = append(claims, c)
		for _, err := range errs {
			faults = append(faults, inFile(name, err))
		}
	}
	if err := errors.Join(faults...); err != nil {
		return nil, err
	}
	return claims, nil
}

// lineError is a fault at a line.
type lineError struct {
	line int
	text string
}

func (e lineError) Error() string { return e.text }

func at(line int, format string, args ...any) error {
	return lineError{line, fmt.Sprintf(format, args...)}
}

func inFile(name string, err error) error {
	var l lineError
	if errors.As(err, &l) && l.line > 0 {
		return fmt.Errorf("%s:%d: %w", name, l.line, err)
	}
	return fmt.Errorf("%s: %w", name, err)
}

func fieldNames() []string {
	var names []string
	for _, f := range Fields {
		names = append(names, f.Name)
	}
	return names
}

// unknownWord reports a word that is not among the known ones.
func unknownWord(what, word string, known []string, near Near) string {
	if n := near(word, known); n != "" {
		return fmt.Sprintf("unknown %s %q (did you mean %q?)", what, word, n)
	}
	return fmt.Sprintf("unknown %s %q (known: %s)", what, word, strings.Join(known, ", "))
}

func readYAML(text []byte, near Near) ([]entry, string, error) {
	var doc yaml.Node
	if err := yaml.Unmarshal(text, &doc); err != nil {
		return nil, "", err
	}
	if len(doc.Content) == 0 {
		return nil, "", nil
	}
	root := doc.Content[0]
	if root.Kind != yaml.MappingNode {
		return nil, "", at(root.Line, "the file must hold claims: and under it a list")
	}
	var entries []entry
	source := ""
	for i := 0; i+1 < len(root.Content); i += 2 {
		key, value := root.Content[i], root.Content[i+1]
		switch {
		case key.Value == "source" && value.Kind == yaml.ScalarNode:
			source = value.Value
		case key.Value == "claims" && value.Kind == yaml.SequenceNode:
			for _, n := range value.Content {
				e, err := yamlEntry(n)
				if err != nil {
					return nil, "", err
				}
				entries = append(entries, e)
			}
		case key.Value == "claims" || key.Value == "source":
			return nil, "", at(key.Line, "%s: must be a %s", key.Value, map[string]string{"claims": "list", "source": "text"}[key.Value])
		default:
			return nil, "", at(key.Line, "%s", unknownWord("field", key.Value, []string{"claims", "source"}, near))
		}
	}
	return entries, source, nil
}

func yamlEntry(n *yaml.Node) (entry, error) {
	e := entry{line: n.Line}
	if n.Kind != yaml.MappingNode {
		return e, at(n.Line, "a claim must be fields, such as pitch_type: four_seam")
	}
	for i := 0; i+1 < len(n.Content); i += 2 {
		key, value := n.Content[i], n.Content[i+1]
		if value.Kind != yaml.ScalarNode {
			return e, at(value.Line, "%s: must be one value", key.Value)
		}
		text := value.Value
		if value.Tag == "!!null" {
			text = ""
		}
		e.fields = append(e.fields, field{key.Value, text, key.Line})
	}
	return e, nil
}

func readCSV(text []byte, near Near) ([]entry, string, error) {
	r := csv.NewReader(bytes.NewReader(bytes.TrimPrefix(text, []byte("\uFEFF"))))
	r.TrimLeadingSpace, r.Comment = true, '#'
	head, err := r.Read()
	if errors.Is(err, io.EOF) {
		return nil, "", nil
	}
	if err != nil {
		return nil, "", err
	}
	for i, name := range head {
		head[i] = strings.TrimSpace(name)
		if !slices.Contains(fieldNames(), head[i]) {
			return nil, "", at(1, "%s", unknownWord("column", head[i], fieldNames(), near))
		}
	}
	var entries []entry
	for {
		record, err := r.Read()
		if errors.Is(err, io.EOF) {
			return entries, "", nil
		}
		if err != nil {
			return nil, "", err
		}
		line, _ := r.FieldPos(0)
		e := entry{line: line}
		for i, value := range record {
			at, _ := r.FieldPos(i)
			e.fields = append(e.fields, field{head[i], strings.TrimSpace(value), at})
		}
		entries = append(entries, e)
	}
}

// claim interprets an entry and lists its faults.
func (e entry) claim(near Near) (Claim, []error) {
	c := Claim{Line: e.line, Metric: outcome.Whiff}
	var faults []error
	value := map[string]field{}
	known := fieldNames()
	for _, f := range e.fields {
		_, twice := value[f.name]
		switch {
		case !slices.Contains(known, f.name):
			faults = append(faults, at(f.line, "%s", unknownWord("field", f.name, known, near)))
		case twice:
			faults = append(faults, at(f.line, "%s: given twice", f.name))
		default:
			value[f.name] = f
		}
	}
	for _, f := range Fields[:needed] {
		if value[f.Name].value == "" {
			faults = append(faults, at(e.line, "%s: missing: %s", f.Name, f.Meaning))
		}
	}
	// word reads one of the known words of a field; "" where it is absent or wrong.
	word := func(name, what string, known []string) string {
		f := value[name]
		if f.value == "" {
			return ""
		}
		for _, k := range known {
			if fold(k) == fold(f.value) {
				return k
			}
		}
		faults = append(faults, at(f.line, "%s: %s", name, unknownWord(what, f.value, known, near)))
		return ""
	}
	types := pitch.Words("pitch_type")
	if t, err := pitch.NamedType(fold(value["pitch_type"].value)); err == nil && (t.Common() || near(t.String(), types) == "") {
		c.Type = t // a source may declare types of its own
	} else {
		word("pitch_type", "pitch type", types)
	}
	c.Hand, _ = pitch.ParseHand(word("hand", "hand", pitch.Words("hand"))) // "" is both
	c.Side, _ = pitch.ParseSide(word("side", "side", pitch.Words("side")[:2]))
	if m := value["matchup"]; m.value != "" && fold(m.value) != "all" {
		if value["hand"].value+value["side"].value != "" {
			faults = append(faults, at(m.line, "matchup: give it, or hand and side, not both"))
		}
		var names []string
		for _, p := range pitch.Matchups {
			names = append(names, p.String())
		}
		if i := slices.Index(names, word("matchup", "matchup", names)); i >= 0 {
			c.Hand, c.Side = pitch.Matchups[i].Hand, pitch.Matchups[i].Side
		}
	}
	c.Variable = word("variable", "variable", shape.Names(shape.Variables))
	outcomes := append(outcome.Names(), thresholds.Joint)
	if i := slices.Index(outcomes, word("outcome", "outcome", outcomes)); i >= 0 {
		if c.Both = outcomes[i] == thresholds.Joint; !c.Both {
			c.Metric = i
		}
	}
	if f := value["region"]; f.value != "" && c.Variable != "" {
		var err error
		if c.Region, err = ParseRegion(f.value, answer.Variable(c.Variable).Unit); err != nil {
			faults = append(faults, at(f.line, "region: %v", err))
		}
	}
	c.Smallest = c.outcome().Delta
	if f := value["smallest"]; f.value != "" {
		x, err := strconv.ParseFloat(f.value, 64)
		if err != nil || !(x > 0 && x < 1) {
			faults = append(faults, at(f.line, "smallest: %q is no number between 0 and 1, such as .020", f.value))
		}
		c.Smallest = x
		if c.Both {
			faults = append(faults, at(f.line, "smallest: leave it out with outcome: joint, where each outcome has its own"))
		}
	}
	if c.Both {
		c.Smallest = 0
	}
	c.Source = value["source"].value
	return c, faults
}

// fold brings a word to the vocabulary's spelling.
func fold(s string) string {
	return strings.NewReplacer("-", "_", " ", "_").Replace(strings.ToLower(s))
}
