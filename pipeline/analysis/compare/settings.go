package compare

import (
	"encoding/json"
	"fmt"
	"maps"
	"reflect"
	"slices"
	"strings"

	"sill/pipeline/estimate"
	"sill/pipeline/thresholds"
)

// EstimateOptions reads back from a manifest how its version was estimated. A
// setting that the manifest does not name keeps its default; one that this
// program does not know is an error.
func EstimateOptions(m thresholds.Manifest) (estimate.Options, error) {
	o := estimate.DefaultOptions()
	fields := reflect.ValueOf(&o).Elem()
	for _, s := range m.Configuration {
		name, ours := strings.CutPrefix(s.Key, "estimate.")
		if !ours {
			continue
		}
		field := reflect.Value{}
		for i := range fields.NumField() {
			if fields.Type().Field(i).Tag.Get("mapstructure") == name {
				field = fields.Field(i)
			}
		}
		if !field.IsValid() {
			return o, fmt.Errorf("setting %s is not known here: compare with the sill that wrote the version", s.Key)
		}
		raw, err := json.Marshal(s.Value)
		if err == nil {
			err = json.Unmarshal(raw, field.Addr().Interface())
		}
		if err != nil {
			return o, fmt.Errorf("setting %s: %w", s.Key, err)
		}
	}
	return o, nil
}

// settingsBetween lists the settings of a version's identity that differ, the
// number of replicates and the seed among them.
func settingsBetween(from, to thresholds.Manifest) []Setting {
	before, after := identity(from), identity(to)
	all := slices.AppendSeq(slices.Collect(maps.Keys(before)), maps.Keys(after))
	slices.Sort(all)
	var out []Setting
	for _, key := range slices.Compact(all) {
		if text(before[key]) != text(after[key]) {
			out = append(out, Setting{key, before[key], after[key]})
		}
	}
	return out
}

// identity are the settings that are part of a version's identity.
func identity(m thresholds.Manifest) map[string]any {
	out := map[string]any{}
	for _, s := range m.Configuration {
		if !s.Local && s.Key != "league" {
			out[s.Key] = s.Value
		}
	}
	out["seed"], out["estimate.replicates"] = m.Seed, m.Replicates
	return out
}

// text is a value as JSON, so that one that was read back equals one that was
// not written yet.
func text(v any) string {
	b, err := json.Marshal(v)
	if err != nil {
		return fmt.Sprint(v)
	}
	return string(b)
}

func keys(settings []Setting) string {
	var out []string
	for _, s := range settings {
		out = append(out, s.Key)
	}
	return strings.Join(out, ", ")
}
