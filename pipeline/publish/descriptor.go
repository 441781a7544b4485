package publish

import (
	"strings"

	"sill/pipeline/thresholds"
)

// descriptor is a Data Package (version 2.0). Custom properties: a field's
// unit and decimals, the variables with their definitions, and the codes of warnings
// with their grades.
type descriptor struct {
	Schema      string                `json:"$schema"`
	Name        string                `json:"name"`
	Title       string                `json:"title"`
	Description string                `json:"description"`
	Variables   []thresholds.Variable `json:"variables"`
	Warnings    []thresholds.Warning  `json:"warnings"`
	Resources   []resource            `json:"resources"`
}

type resource struct {
	Name        string       `json:"name"`
	Path        string       `json:"path"`
	Type        string       `json:"type,omitempty"` // "table" for those with a schema
	Description string       `json:"description,omitempty"`
	Format      string       `json:"format,omitempty"`
	MediaType   string       `json:"mediatype,omitempty"`
	Encoding    string       `json:"encoding,omitempty"`
	Bytes       int64        `json:"bytes"`
	Hash        string       `json:"hash"`
	Schema      *tableSchema `json:"schema,omitempty"`
}

type tableSchema struct {
	Fields        []field  `json:"fields"`
	MissingValues []string `json:"missingValues"`
	PrimaryKey    []string `json:"primaryKey,omitempty"`
}

type field struct {
	Name        string `json:"name"`
	Type        string `json:"type"`
	Description string `json:"description"`
	Unit        string `json:"unit,omitempty"`
	Decimals    int    `json:"decimals,omitempty"`   // of a number, at most
	RoundedUp   bool   `json:"rounded_up,omitempty"` // to the next decimal above, not the nearest
	Delimiter   string `json:"delimiter,omitempty"`
	ItemType    string `json:"itemType,omitempty"`
	// MissingValues of a text is empty: an empty text is a value, not a null.
	MissingValues *[]string   `json:"missingValues,omitempty"`
	Constraints   constraints `json:"constraints"`
}

type constraints struct {
	Required bool     `json:"required"`
	Enum     []string `json:"enum,omitempty"`
}

// describe writes the descriptor of a version from its row model.
func describe(v *Version, files []thresholds.File) descriptor {
	d := descriptor{
		Schema: "https://datapackage.org/profiles/2.0/datapackage.json",
		Name:   "thresholds", Title: "Thresholds by handedness matchup",
		Description: "Where a pitch starts to beat its line, by pitcher's hand and batter's side, with intervals. " +
			"A unit of \"variable\" or \"outcome\" is that of the row's variable or outcome. " +
			"A number has at most the decimals that its field states, in every format: it is the nearest such, or where it says so the next above.",
		Variables: append([]thresholds.Variable{}, v.Variables...), Warnings: append([]thresholds.Warning{}, v.Warnings...),
	}
	tables := v.tables()
	for _, f := range files {
		r := resource{Name: strings.ReplaceAll(f.Path, "/", "."), Path: f.Path, Bytes: f.Bytes, Hash: "sha256:" + f.SHA256}
		for _, t := range tables {
			for _, format := range v.formats() {
				if f.Path != t.name+"."+format.Extension {
					continue
				}
				r.Format, r.MediaType, r.Description = format.Name, format.MediaType, t.meaning
				if format.Extension == csvFormat {
					r.Name, r.Type, r.Encoding = t.name, "table", "utf-8"
					r.Schema = schemaOf(t)
				}
			}
		}
		d.Resources = append(d.Resources, r)
	}
	return d
}

func schemaOf(t table) *tableSchema {
	s := &tableSchema{MissingValues: []string{""}, PrimaryKey: t.key}
	for _, c := range t.columns {
		f := field{Name: c.Name, Type: c.Type, Description: c.Meaning, Unit: c.Unit, Decimals: c.Decimals, RoundedUp: c.RoundedUp}
		switch c.Type {
		case "text":
			f.Type, f.MissingValues = "string", &[]string{}
		case "list":
			f.Delimiter, f.ItemType, f.MissingValues = thresholds.ListSeparator, "string", &[]string{}
		}
		f.Constraints = constraints{Required: !c.Nullable, Enum: c.Words}
		s.Fields = append(s.Fields, f)
	}
	return s
}
