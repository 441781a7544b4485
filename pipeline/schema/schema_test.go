package schema_test

import (
	"bytes"
	"encoding/json"
	"testing"

	"github.com/santhosh-tekuri/jsonschema/v6"

	"sill/pipeline/schema"
)

type part struct {
	Name  string   `json:"name" doc:"what it is called"`
	Value *float64 `json:"value"`
}

type whole struct {
	part
	Parts []part         `json:"parts"`
	Note  *string        `json:"note,omitempty"`
	Words map[string]int `json:"words"`
	Any   any            `json:"any"`
}

type settings struct {
	Seed   uint64  `mapstructure:"seed" doc:"where draws begin"`
	Nested nested  `mapstructure:"nested"`
	Hidden func()  // set by the caller
	Parts  []inner `mapstructure:"parts"`
}
type nested struct {
	Share float64 `mapstructure:"share"`
}
type inner struct {
	To any `mapstructure:"to"`
}

func compile(t *testing.T, s *schema.Schema) *jsonschema.Schema {
	t.Helper()
	raw, err := json.Marshal(s)
	if err != nil {
		t.Fatal(err)
	}
	doc, err := jsonschema.UnmarshalJSON(bytes.NewReader(raw))
	if err != nil {
		t.Fatal(err)
	}
	c := jsonschema.NewCompiler()
	if err := c.AddResource("schema.json", doc); err != nil {
		t.Fatal(err)
	}
	out, err := c.Compile("schema.json")
	if err != nil {
		t.Fatalf("%v\n%s", err, raw)
	}
	return out
}

// TestSchemas: what the types encode to passes, everything else is refused.
func TestSchemas(t *testing.T) {
	w := compile(t, schema.Of("whole", "1", "A whole", whole{}))
	s := compile(t, schema.OfSettings("settings", "1", "Settings", settings{}))
	one := 1.5
	good, err := json.Marshal(whole{part: part{"a", &one}, Parts: []part{{Name: "b"}}, Words: map[string]int{"x": 1}})
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		schema *jsonschema.Schema
		doc    string
		ok     bool
	}{
		{w, string(good), true},
		{w, `{"name":"a","value":null,"parts":[],"words":{},"any":[1]}`, true},
		{w, `{"name":"a","value":null,"parts":[],"words":{},"any":1,"note":"n"}`, true},
		{w, `{"name":"a","value":null,"parts":[],"words":{},"any":1,"note":null}`, false},
		{w, `{"name":"a","value":null,"parts":null,"words":{},"any":1}`, false},
		{w, `{"name":"a","value":"1","parts":[],"words":{},"any":1}`, false},
		{w, `{"name":"a","value":1,"parts":[{"name":"b"}],"words":{},"any":1}`, false},
		{w, `{"name":"a","value":1,"parts":[],"words":{"x":"y"},"any":1}`, false},
		{w, `{"name":"a","value":1,"parts":[],"words":{},"any":1,"more":1}`, false},
		{w, `{"value":1,"parts":[],"words":{},"any":1}`, false},
		{s, `{}`, true},
		{s, `{"seed":1,"nested":{"share":0.5},"parts":[{"to":"x"}]}`, true},
		{s, `{"Hidden":1}`, false},
		{s, `{"nested":{"shere":1}}`, false},
		{s, `{"parts":[{"form":1}]}`, false},
		{s, `{"seed":"1"}`, false},
	} {
		doc, err := jsonschema.UnmarshalJSON(bytes.NewReader([]byte(c.doc)))
		if err != nil {
			t.Fatal(err)
		}
		if err := c.schema.Validate(doc); (err == nil) != c.ok {
			t.Errorf("%s: %v, want ok %v", c.doc, err, c.ok)
		}
	}
	raw, _ := json.Marshal(schema.Of("whole", "1", "A whole", whole{}))
	if !bytes.Contains(raw, []byte(`"description":"what it is called"`)) {
		t.Errorf("no description: %s", raw)
	}
}
