// Package schema turns Go types into JSON Schemas (draft 2020-12), so that what
// sill writes and what describes it are one declaration. Fields that are not
// declared are refused, and a field that is always written is required.
//
// It knows types and their tags, and nothing of what they are for.
package schema

import (
	"reflect"
	"strings"

	"github.com/invopop/jsonschema"
)

// Schema is one JSON Schema; it encodes as JSON.
type Schema = jsonschema.Schema

// Of returns the schema of the JSON that values of v's type encode to. A
// pointer that is always written may be null; a slice may not. The tag doc of a
// field is its description. The name says what kind of document it is, such as
// "manifest", and the version which edition.
func Of(name, version, title string, v any) *Schema {
	r := reflector("json")
	t := reflect.TypeOf(v)
	s := r.ReflectFromType(t)
	nullable(t, s)
	return Named(s, name, version, title)
}

// OfSettings is Of for what people write by hand: keys stand in the tag
// mapstructure, fields without that tag are no settings, none is required.
func OfSettings(name, version, title string, v any) *Schema {
	r := reflector("mapstructure")
	r.RequiredFromJSONSchemaTags = true
	return Named(r.ReflectFromType(tagged(reflect.TypeOf(v))), name, version, title)
}

func reflector(tag string) *jsonschema.Reflector {
	return &jsonschema.Reflector{
		FieldNameTag: tag, DoNotReference: true, Anonymous: true,
		LookupComment: func(t reflect.Type, field string) string {
			if field == "" || t.Kind() != reflect.Struct {
				return ""
			}
			f, _ := t.FieldByName(field)
			return f.Tag.Get("doc")
		},
	}
}

// Named gives a schema its name: a tag URI (RFC 4151), which no host has to
// answer for.
func Named(s *Schema, name, version, title string) *Schema {
	s.Version = jsonschema.Version
	s.ID = jsonschema.ID("tag:sill,2026:schema/" + name + "/" + version)
	s.Title = title
	return s
}

// Object returns the schema of an object with exactly these members, which are
// added with Set.
func Object() *Schema {
	return &Schema{Type: "object", Properties: jsonschema.NewProperties(), AdditionalProperties: jsonschema.FalseSchema}
}

// Set adds a member that must be there.
func Set(object *Schema, name string, member *Schema) {
	object.Properties.Set(name, member)
	object.Required = append(object.Required, name)
}

// OrNull returns the schema of a value that may be null.
func OrNull(s *Schema) *Schema {
	out := &Schema{OneOf: []*Schema{s, {Type: "null"}}, Description: s.Description}
	s.Description = ""
	return out
}

// nullable lets the pointers of t that are always written be null in s.
func nullable(t reflect.Type, s *Schema) {
	if s == nil {
		return
	}
	switch t.Kind() {
	case reflect.Pointer:
		nullable(t.Elem(), s)
	case reflect.Slice, reflect.Array:
		nullable(t.Elem(), s.Items)
	case reflect.Map:
		nullable(t.Elem(), s.AdditionalProperties)
	case reflect.Struct:
		if s.Properties == nil {
			return // encodes itself, as times do
		}
		for i := range t.NumField() {
			f := t.Field(i)
			name, options, _ := strings.Cut(f.Tag.Get("json"), ",")
			if f.Anonymous && name == "" {
				nullable(f.Type, s)
				continue
			}
			member, ok := s.Properties.Get(name)
			if !ok {
				continue
			}
			nullable(f.Type, member)
			if f.Type.Kind() == reflect.Pointer && !strings.Contains(options, "omitempty") {
				s.Properties.Set(name, OrNull(member))
			}
		}
	}
}

// tagged returns t without the fields that have no mapstructure tag.
func tagged(t reflect.Type) reflect.Type {
	switch t.Kind() {
	case reflect.Pointer:
		return tagged(t.Elem())
	case reflect.Slice:
		return reflect.SliceOf(tagged(t.Elem()))
	case reflect.Map:
		return reflect.MapOf(t.Key(), tagged(t.Elem()))
	case reflect.Struct:
		var fields []reflect.StructField
		for i := range t.NumField() {
			if f := t.Field(i); f.IsExported() && f.Tag.Get("mapstructure") != "" {
				fields = append(fields, reflect.StructField{Name: f.Name, Type: tagged(f.Type), Tag: f.Tag})
			}
		}
		return reflect.StructOf(fields)
	}
	return t
}
