package config

import (
	"fmt"
	"io"
	"reflect"
	"strings"

	"github.com/spf13/pflag"

	"sill/pipeline"
)

// EnvPrefix starts the name of every environment variable of sill.
const EnvPrefix = "SILL_"

// setFlag sets any setting by its key.
const setFlag = "set"

// ignoredEnv are the variables with our prefix that are no settings: they
// steer tests.
var ignoredEnv = map[string]bool{"SILL_GOLDEN": true, "SILL_PARQUET_CORPUS": true, "SILL_SQL": true}

// Setting is one documented leaf of the options.
type Setting struct {
	Key     string `json:"key"`
	Env     string `json:"environment"`
	Flag    string `json:"flag,omitempty"`
	Doc     string `json:"meaning"`
	Default any    `json:"default"`
	Path    bool   `json:"path,omitempty"`  // whether it holds paths
	Local   bool   `json:"local,omitempty"` // whether it is no part of a version's identity
}

// Reference lists every setting in the order of the options' fields. A field's
// tags are its only description: mapstructure gives the key, doc the meaning,
// flag the name of a flag of its own, path marks paths.
func Reference() []Setting {
	var out []Setting
	walk(reflect.ValueOf(pipeline.DefaultOptions()), "", &out)
	return out
}

func walk(v reflect.Value, prefix string, out *[]Setting) {
	for i := range v.NumField() {
		f := v.Type().Field(i)
		name := f.Tag.Get("mapstructure")
		if !f.IsExported() || name == "-" || name == "" {
			continue
		}
		key := prefix + name
		if f.Type.Kind() == reflect.Struct {
			walk(v.Field(i), key+".", out)
			continue
		}
		*out = append(*out, Setting{
			Key:     key,
			Env:     EnvPrefix + strings.ToUpper(strings.ReplaceAll(key, ".", "_")),
			Flag:    f.Tag.Get("flag"),
			Doc:     f.Tag.Get("doc"),
			Default: v.Field(i).Interface(),
			Path:    f.Tag.Get("path") == "true",
			Local:   f.Tag.Get("local") == "true",
		})
	}
}

// Flags registers the flags of all settings that have one, and --set.
func Flags(fs *pflag.FlagSet) {
	for _, s := range Reference() {
		if s.Flag == "" {
			continue
		}
		switch d := s.Default.(type) {
		case bool:
			fs.Bool(s.Flag, d, s.Doc)
		case []string:
			fs.StringSlice(s.Flag, d, s.Doc)
		case string:
			fs.String(s.Flag, d, s.Doc)
		case int:
			fs.Int(s.Flag, d, s.Doc)
		case uint64:
			fs.Uint64(s.Flag, d, s.Doc)
		case float64:
			fs.Float64(s.Flag, d, s.Doc)
		default:
			panic("config: a setting of this type cannot have a flag")
		}
	}
	fs.StringArray(setFlag, nil, "set any setting: `KEY=VALUE` (repeatable)")
}

// WriteReference writes the reference of all settings as Markdown.
func WriteReference(w io.Writer) error {
	if _, err := fmt.Fprint(w, "| setting | default | environment | flag | meaning |\n|---|---|---|---|---|\n"); err != nil {
		return err
	}
	for _, s := range Reference() {
		flag := ""
		if s.Flag != "" {
			flag = "`--" + s.Flag + "`"
		}
		if _, err := fmt.Fprintf(w, "| `%s` | `%v` | `%s` | %s | %s |\n", s.Key, s.Default, s.Env, flag, s.Doc); err != nil {
			return err
		}
	}
	return nil
}
