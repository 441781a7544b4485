package publish

import (
	"bytes"
	"encoding/json"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/santhosh-tekuri/jsonschema/v6"

	"sill/pipeline/thresholds"
)

// compile reads a schema file of draft 2020-12.
func compile(t *testing.T, file string) *jsonschema.Schema {
	t.Helper()
	c := jsonschema.NewCompiler()
	c.AssertFormat()
	out, err := c.Compile(file)
	if err != nil {
		t.Fatal(err)
	}
	if out.DraftVersion != 2020 {
		t.Errorf("%s is of draft %d", file, out.DraftVersion)
	}
	return out
}

func document(t *testing.T, raw []byte) any {
	t.Helper()
	doc, err := jsonschema.UnmarshalJSON(bytes.NewReader(raw))
	if err != nil {
		t.Fatal(err)
	}
	return doc
}

// TestSchemas holds every JSON document of a version and of its store against
// the schema that the version carries. Then it spoils each of them: an unknown
// member, a missing one and a wrong type anywhere near the top must be seen.
func TestSchemas(t *testing.T) {
	dir := newStore(t)
	v := wide(30)
	v.Handover = []byte("tally")
	v.Quality = struct {
		Untracked int      `json:"untracked"`
		Share     *float64 `json:"share"`
	}{4, nil}
	v.Files["diff.json"] = []byte(`{"moved": 1}`)
	v.Documents = map[string]any{"diff": struct {
		Moved int `json:"moved"`
	}{}}
	c := mustCommit(t, optionsFor(dir), v)
	if err := Mark(optionsFor(dir), thresholds.Deprecate, c.Version, "old"); err != nil {
		t.Fatal(err)
	}
	files := map[string]string{ // by document
		"log-entry": filepath.Join(dir, thresholds.EntryName(1)), "catalog": filepath.Join(dir, catalogFile)}
	for _, name := range filesOf(t, c.Dir) {
		if document, ok := strings.CutSuffix(name, ".json"); ok && !strings.Contains(name, "/") {
			files[document] = filepath.Join(c.Dir, name)
		}
	}
	schemas, err := os.ReadDir(filepath.Join(c.Dir, thresholds.SchemasDir))
	if err != nil || len(schemas) != len(files) {
		t.Errorf("%d schemas for %d documents (%v)", len(schemas), len(files), err)
	}
	for name, file := range files {
		s := compile(t, filepath.Join(c.Dir, filepath.FromSlash(schemaFile(name))))
		raw, err := os.ReadFile(file)
		if err != nil {
			t.Fatal(err)
		}
		if err := s.Validate(document(t, raw)); err != nil {
			t.Errorf("%s: %v", name, err)
		}
		spoil := func(how string, change func(map[string]any)) {
			doc := document(t, raw).(map[string]any)
			change(doc)
			if s.Validate(doc) == nil {
				t.Errorf("%s passes with %s", name, how)
			}
		}
		spoil("a stranger", func(m map[string]any) { m["stranger"] = 1 })
		for key := range document(t, raw).(map[string]any) {
			if key == "reason" || key == "deprecated" {
				continue
			}
			spoil("a wrong "+key, func(m map[string]any) {
				if _, object := m[key].(map[string]any); object {
					m[key] = "no object"
				} else {
					m[key] = map[string]any{}
				}
			})
			if optional := []string{"manifest_sha256", "content_id", "families", "notes", "host", "handover_sha256"}; !slices.Contains(optional, key) {
				spoil("no "+key, func(m map[string]any) { delete(m, key) })
			}
		}
	}
	log, err := os.ReadFile(filepath.Join(dir, thresholds.EntryName(2)))
	if err != nil {
		t.Fatal(err)
	}
	if err := compile(t, filepath.Join(c.Dir, filepath.FromSlash(schemaFile("log-entry")))).Validate(document(t, log)); err != nil {
		t.Error(err)
	}

	// deep inside a resource: a number as text, an unknown word, a missing cell
	s := compile(t, filepath.Join(c.Dir, filepath.FromSlash(schemaFile("verdicts"))))
	for how, change := range map[string]func(row map[string]any){
		"a text for a rate": func(r map[string]any) { r["rate"] = "0.2" },
		"null for a rate":   func(r map[string]any) { r["rate"] = nil },
		"a strange hand":    func(r map[string]any) { r["hand"] = "third" },
		"a missing cell":    func(r map[string]any) { delete(r, "line") },
		"a further cell":    func(r map[string]any) { r["more"] = 1 },
		"a sentence":        func(r map[string]any) { r["warnings"] = []any{"not a code"} },
	} {
		raw, err := os.ReadFile(files["verdicts"])
		if err != nil {
			t.Fatal(err)
		}
		doc := document(t, raw)
		change(doc.(map[string]any)["rows"].([]any)[3].(map[string]any))
		if s.Validate(doc) == nil {
			t.Errorf("verdicts passes with %s", how)
		}
	}
}

// TestGradesOfWarnings: a version carries the codes of warnings with their grades, in
// its manifest, from which readers take them, and in its dictionary.
func TestGradesOfWarnings(t *testing.T) {
	table, err := thresholds.Open(mustCommit(t, optionsFor(newStore(t)), small(0)).Dir)
	if err != nil {
		t.Fatal(err)
	}
	m := table.Manifest()
	if got := m.Reading([]string{"gap", "one_pitcher"}); !slices.Equal(got, []string{"one_pitcher"}) {
		t.Errorf("%q change what a number may be used for", got)
	}
	d, err := readDescriptor(table)
	if err != nil || !slices.Equal(d.Warnings, m.Warnings) {
		t.Errorf("the dictionary has %+v (%v), the manifest %+v", d.Warnings, err, m.Warnings)
	}
}

// TestProvenance holds the statement against the required fields of the public
// specifications, and its digests against the files and inputs.
func TestProvenance(t *testing.T) {
	v := small(0)
	c := mustCommit(t, optionsFor(newStore(t)), v)
	raw, err := os.ReadFile(filepath.Join(c.Dir, thresholds.ProvenanceFile))
	if err != nil {
		t.Fatal(err)
	}
	public := compile(t, filepath.Join("testdata", "statement.schema.json"))
	if err := public.Validate(document(t, raw)); err != nil {
		t.Error(err)
	}
	var s statement
	if err := json.Unmarshal(raw, &s); err != nil {
		t.Fatal(err)
	}
	seen := map[string]bool{}
	for _, a := range s.Subject {
		b, err := os.ReadFile(filepath.Join(c.Dir, filepath.FromSlash(a.Name)))
		if err != nil || a.Digest["sha256"] != hashOf(b) {
			t.Errorf("subject %s: %v", a.Name, err)
		}
		seen[a.Name] = true
	}
	for _, name := range filesOf(t, c.Dir) {
		late := []string{thresholds.ProvenanceFile, thresholds.ManifestFile, thresholds.SumsFile}
		if !seen[name] && !slices.Contains(late, name) {
			t.Errorf("%s is no subject", name)
		}
	}
	build := s.Predicate.BuildDefinition
	if d := build.ResolvedDependencies; len(d) != 1 || d[0].Digest["sha256"] != v.Inputs[0].SHA256 {
		t.Errorf("dependencies %v", d)
	}
	if p := build.ExternalParameters.Configuration; len(p) != 2 || p["workers"] != nil {
		t.Errorf("parameters %v: want those of the version's identity and no others", p)
	}
	for how, change := range map[string]func(*statement){
		"no subject":  func(s *statement) { s.Subject = []artifact{} },
		"no digest":   func(s *statement) { s.Subject[0].Digest = nil },
		"half a hash": func(s *statement) { s.Subject[0].Digest["sha256"] = "abc" },
		"no builder":  func(s *statement) { s.Predicate.RunDetails.Builder.ID = "" },
		"no type":     func(s *statement) { s.Predicate.BuildDefinition.BuildType = "run" },
		"older":       func(s *statement) { s.PredicateType = "https://slsa.dev/provenance/v0.2" },
	} {
		var bad statement
		if err := json.Unmarshal(raw, &bad); err != nil {
			t.Fatal(err)
		}
		change(&bad)
		b, err := json.Marshal(bad)
		if err != nil {
			t.Fatal(err)
		}
		if public.Validate(document(t, b)) == nil {
			t.Errorf("passes with %s", how)
		}
	}
}
