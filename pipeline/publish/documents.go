package publish

import (
	"fmt"

	"sill/pipeline/schema"
	"sill/pipeline/thresholds"
)

// resourceDocument is the JSON of one resource, up to its rows.
type resourceDocument struct {
	SchemaVersion string                `json:"schema_version"`
	Resource      string                `json:"resource"`
	Meaning       string                `json:"meaning"`
	Variables     []thresholds.Variable `json:"variables"`
	Columns       []thresholds.Column   `json:"columns"`
}

// Schemas returns the JSON Schema of every JSON document of a version and of
// its store, by document: "manifest", "verdicts" and so on.
func Schemas(v Version) map[string]*schema.Schema {
	if v.Tables == nil {
		v.Tables = &thresholds.Tables{}
	}
	out := map[string]*schema.Schema{}
	add := func(name, title string, document any) {
		out[name] = schema.Of(name, thresholds.SchemaVersion, title, document)
	}
	add("manifest", "What a published version is, from what and how", thresholds.Manifest{})
	add("datapackage", "Data Package descriptor of a published version", descriptor{})
	add("provenance.intoto", "in-toto statement of a published version", statement{})
	add("log-entry", "One entry of a store's log", thresholds.Entry{})
	add("catalog", "The versions of a store", catalogue{})
	if v.Quality != nil {
		add("quality", "How the rows of the inputs fared", v.Quality)
	}
	for name, document := range v.Documents {
		add(name, name+".json", document)
	}
	for _, t := range v.tables() {
		out[t.name] = schemaOfRows(t)
	}
	return out
}

// schemaOfRows describes the JSON of a resource: its head, and rows with every
// column in its type.
func schemaOfRows(t table) *schema.Schema {
	s := schema.Of(t.name, thresholds.SchemaVersion, t.meaning, resourceDocument{})
	row := schema.Object()
	for _, c := range t.columns {
		cell := &schema.Schema{Type: map[string]string{"text": "string", "list": "array"}[c.Type], Description: c.Meaning}
		if cell.Type == "" {
			cell.Type = c.Type // integer, number and boolean are JSON Schema's own words
		}
		if c.Unit != "" {
			cell.Description += " [" + c.Unit + "]"
		}
		if c.Decimals > 0 {
			cell.Description += fmt.Sprintf("; at most %d decimals", c.Decimals)
		}
		if c.Type == "list" {
			cell.Items = &schema.Schema{Type: "string", Pattern: listItem.String()}
		}
		for _, w := range c.Words {
			cell.Enum = append(cell.Enum, w)
		}
		if c.Nullable {
			cell = schema.OrNull(cell)
		}
		schema.Set(row, c.Name, cell)
	}
	schema.Set(s, "rows", &schema.Schema{Type: "array", Items: row})
	name, _ := s.Properties.Get("resource")
	name.Const = t.name
	return s
}

// schemaFile is the path of a document's schema in a version.
func schemaFile(document string) string {
	return thresholds.SchemasDir + "/" + document + ".schema.json"
}
