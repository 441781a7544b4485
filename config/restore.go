package config

import (
	"fmt"
	"math"
	"slices"

	"github.com/spf13/viper"

	"sill/pipeline"
	"sill/pipeline/ingest"
	"sill/pipeline/thresholds"
)

// Restore resolves the settings that a manifest records, the profile among them,
// so that its version can be made again. A setting that this program does not
// know is an error. Settings it has got since keep their defaults.
func Restore(m thresholds.Manifest) (pipeline.Options, error) {
	o := pipeline.DefaultOptions()
	known := map[string]Setting{}
	v := viper.New()
	for _, s := range Reference() {
		known[s.Key] = s
		v.SetDefault(s.Key, s.Default)
	}
	var keys []string
	for _, s := range m.Configuration {
		if s.Key == profileKey {
			o.Profile = &ingest.Profile{}
			content, ok := whole(s.Value).(map[string]any)
			if !ok {
				return o, fmt.Errorf("restore settings: the manifest's %s is no profile", profileKey)
			}
			if err := decode(content, o.Profile); err != nil {
				return o, fmt.Errorf("restore profile: %w", err)
			}
			if err := o.Profile.Validate(); err != nil {
				return o, fmt.Errorf("restore profile: %w", err)
			}
			continue
		}
		keys = append(keys, s.Key)
		v.Set(s.Key, whole(s.Value))
	}
	if err := checkKeys("manifest", keys, known); err != nil {
		return o, err
	}
	profile := o.Profile
	if err := decode(v.AllSettings(), &o); err != nil {
		return o, fmt.Errorf("restore settings: %w", err)
	}
	o.Profile, o.Seed, o.Settings = profile, m.Seed, slices.Clone(m.Configuration)
	for i := range o.Settings {
		if o.Settings[i].Key == "seed" {
			o.Settings[i].Value = m.Seed // any JSON number keeps 53 bits, this one all 64
		}
	}
	return o, nil
}

// whole turns the numbers of a JSON document that are whole into integers, as a
// YAML file gives them.
func whole(v any) any {
	switch x := v.(type) {
	case float64:
		if x == math.Trunc(x) && math.Abs(x) < 1<<53 {
			return int(x)
		}
	case []any:
		out := make([]any, len(x))
		for i := range x {
			out[i] = whole(x[i])
		}
		return out
	case map[string]any:
		out := make(map[string]any, len(x))
		for k := range x {
			out[k] = whole(x[k])
		}
		return out
	}
	return v
}
