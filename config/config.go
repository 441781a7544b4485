// Package config resolves the settings of a run: built-in defaults, then a
// YAML file, then the environment (SILL_…), then flags, each overriding the
// one before. It is strict: an unknown key, a null, a fraction where a whole
// number belongs or an unknown SILL_ variable is an error that says what to do.
//
// It knows where values come from and how they are spelled, and nothing of
// what they mean: every setting is a field of the Options of the stage it
// belongs to, with its default there.
package config

import (
	"bytes"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"sort"
	"strconv"
	"strings"

	"github.com/spf13/pflag"
	"github.com/spf13/viper"

	"sill/pipeline"
	"sill/pipeline/ingest"
	"sill/pipeline/pitch"
	"sill/pipeline/thresholds"
)

// Origin says where a value came from.
type Origin struct {
	Layer string `json:"layer"` // default, file, environment or flag
	Name  string `json:"name"`  // the file, variable or flag, "" for a default
}

// String returns "default", "file sill.yaml", "environment SILL_SEED" or
// "flag --seed".
func (o Origin) String() string { return strings.TrimSpace(o.Layer + " " + o.Name) }

// Value is one resolved setting.
type Value struct {
	Setting
	Value  any    `json:"value"`
	Origin Origin `json:"origin"`
}

// Resolved is the outcome of Load.
type Resolved struct {
	Options pipeline.Options
	File    string // the configuration file read, "" for none
	values  []Value
}

// Values lists every setting in the reference's order with its origin.
func (r *Resolved) Values() []Value { return r.values }

// Load resolves the settings. The file may be "", for none. Relative paths in
// the file are meant from the file's own folder, all others from the working
// directory. The profile named by the settings is read too.
func Load(flags *pflag.FlagSet, file string, environ []string) (*Resolved, error) {
	settings := Reference()
	known := map[string]Setting{}
	v := viper.New()
	origin := map[string]Origin{}
	for _, s := range settings {
		known[s.Key] = s
		v.SetDefault(s.Key, s.Default)
		origin[s.Key] = Origin{Layer: "default"}
	}
	if file != "" {
		fromFile, err := readYAML(file)
		if err != nil {
			return nil, err
		}
		if err := checkKeys(file, fromFile.AllKeys(), known); err != nil {
			return nil, err
		}
		for _, key := range fromFile.AllKeys() {
			v.Set(key, rebase(known[key], fromFile.Get(key), filepath.Dir(file)))
			origin[key] = Origin{"file", file}
		}
	}
	if err := fromEnvironment(v, origin, settings, environ); err != nil {
		return nil, err
	}
	if err := fromFlags(v, origin, known, flags); err != nil {
		return nil, err
	}

	r := &Resolved{File: file, Options: pipeline.DefaultOptions()}
	err := decode(v.AllSettings(), &r.Options)
	if err != nil {
		return nil, fmt.Errorf("read settings: %w", err)
	}
	for _, s := range settings {
		r.values = append(r.values, Value{s, v.Get(s.Key), origin[s.Key]})
	}
	if r.Options.ProfileFile != "" {
		p, err := LoadProfile(r.Options.ProfileFile)
		if err != nil {
			return nil, err
		}
		r.Options.Profile = p
	}
	r.Options.Settings, err = r.settings()
	return r, err
}

// profileKey is the manifest's name for the whole profile.
const profileKey = "profile_content"

// settings lists what a manifest records: every value with its origin, and the
// whole profile, so that a version can be made again from its manifest alone.
func (r *Resolved) settings() ([]thresholds.Setting, error) {
	var out []thresholds.Setting
	for _, v := range r.values {
		out = append(out, thresholds.Setting{Key: v.Key, Value: v.Value, Origin: v.Origin.Layer, Local: v.Local})
	}
	if r.Options.ProfileFile != "" {
		v, err := readYAML(r.Options.ProfileFile)
		if err != nil {
			return nil, err
		}
		out = append(out, thresholds.Setting{Key: profileKey, Value: v.AllSettings(), Origin: "file"})
	}
	return out, nil
}

// LoadProfile reads and validates a source profile.
func LoadProfile(file string) (*ingest.Profile, error) {
	v, err := readYAML(file)
	if err != nil {
		return nil, err
	}
	p := &ingest.Profile{}
	if err := decode(v.AllSettings(), p); err != nil {
		return nil, fmt.Errorf("read profile %s: %w", file, err)
	}
	if err := p.Validate(); err != nil {
		return nil, fmt.Errorf("read profile %s: %w", file, err)
	}
	return p, nil
}

// readYAML reads one YAML file strictly into a viper of its own.
func readYAML(file string) (*viper.Viper, error) {
	raw, err := os.ReadFile(file)
	if err != nil {
		return nil, fmt.Errorf("read settings: %w", err)
	}
	if err := checkYAML(file, raw); err != nil {
		return nil, err
	}
	v := viper.New()
	v.SetConfigType("yaml")
	if err := v.ReadConfig(bytes.NewReader(raw)); err != nil {
		return nil, fmt.Errorf("read %s: %w", file, err)
	}
	return v, nil
}

// checkKeys refuses keys that are no setting.
func checkKeys(where string, keys []string, known map[string]Setting) error {
	names := make([]string, 0, len(known))
	for k := range known {
		names = append(names, k)
	}
	sort.Strings(names)
	sort.Strings(keys)
	var faults []error
	for _, k := range keys {
		if _, ok := known[k]; !ok {
			faults = append(faults, fmt.Errorf("%s: unknown setting %q%s", where, k, didYouMean(k, names)))
		}
	}
	return errors.Join(faults...)
}

func didYouMean(s string, names []string) string {
	if near := pitch.Nearest(s, names); near != "" {
		return fmt.Sprintf(" (did you mean %q?)", near)
	}
	return "; see `sill config reference`"
}

// fromEnvironment overrides settings by SILL_… variables.
func fromEnvironment(v *viper.Viper, origin map[string]Origin, settings []Setting, environ []string) error {
	byEnv := map[string]Setting{}
	var names []string
	for _, s := range settings {
		byEnv[s.Env] = s
		names = append(names, s.Env)
	}
	var faults []error
	sorted := append([]string(nil), environ...)
	sort.Strings(sorted)
	for _, kv := range sorted {
		name, text, _ := strings.Cut(kv, "=")
		if !strings.HasPrefix(name, EnvPrefix) || ignoredEnv[name] {
			continue
		}
		s, ok := byEnv[name]
		if !ok {
			faults = append(faults, fmt.Errorf("environment: unknown variable %s%s", name, didYouMean(name, names)))
			continue
		}
		value, err := s.parse(text)
		if err != nil {
			faults = append(faults, fmt.Errorf("environment: %s: %w", name, err))
			continue
		}
		v.Set(s.Key, value)
		origin[s.Key] = Origin{"environment", name}
	}
	return errors.Join(faults...)
}

// fromFlags overrides settings by the flags that were given.
func fromFlags(v *viper.Viper, origin map[string]Origin, known map[string]Setting, flags *pflag.FlagSet) error {
	if flags == nil {
		return nil
	}
	var faults []error
	set := func(s Setting, flag, text string) {
		value, err := s.parse(text)
		if err != nil {
			faults = append(faults, fmt.Errorf("%s: %w", flag, err))
			return
		}
		v.Set(s.Key, value)
		origin[s.Key] = Origin{"flag", flag}
	}
	flags.Visit(func(f *pflag.Flag) {
		if f.Name == setFlag {
			pairs, _ := flags.GetStringArray(setFlag)
			for _, pair := range pairs {
				key, text, found := strings.Cut(pair, "=")
				if !found {
					faults = append(faults, fmt.Errorf("--set %s: write KEY=VALUE", pair))
					continue
				}
				if err := checkKeys("--set", []string{key}, known); err != nil {
					faults = append(faults, err)
					continue
				}
				set(known[key], "--set", text)
			}
			return
		}
		for _, s := range known {
			if s.Flag != f.Name {
				continue
			}
			if list, ok := f.Value.(pflag.SliceValue); ok {
				v.Set(s.Key, list.GetSlice())
				origin[s.Key] = Origin{"flag", "--" + f.Name}
			} else {
				set(s, "--"+f.Name, f.Value.String())
			}
		}
	})
	return errors.Join(faults...)
}

// rebase turns the relative paths of a path setting into paths from dir.
func rebase(s Setting, value any, dir string) any {
	if !s.Path {
		return value
	}
	join := func(p string) string {
		if p == "" || filepath.IsAbs(p) {
			return p
		}
		return filepath.Join(dir, p)
	}
	switch x := value.(type) {
	case string:
		return join(x)
	case []any:
		out := make([]any, len(x))
		for i, e := range x {
			if p, ok := e.(string); ok {
				out[i] = join(p)
			} else {
				out[i] = e
			}
		}
		return out
	}
	return value
}

// parse reads the text of a variable or flag as the setting's own type.
func (s Setting) parse(text string) (any, error) {
	switch s.Default.(type) {
	case string:
		return text, nil
	case bool:
		b, err := strconv.ParseBool(text)
		if err != nil {
			return nil, fmt.Errorf("%q is not true or false", text)
		}
		return b, nil
	case int, int64:
		n, err := strconv.Atoi(text)
		if err != nil {
			return nil, fmt.Errorf("%q is not a whole number", text)
		}
		return n, nil
	case uint64:
		n, err := strconv.ParseUint(text, 10, 64)
		if err != nil {
			return nil, fmt.Errorf("%q is not a whole number of 0 or more", text)
		}
		return n, nil
	case float64:
		f, err := strconv.ParseFloat(text, 64)
		if err != nil {
			return nil, fmt.Errorf("%q is not a number", text)
		}
		return f, nil
	case []string:
		if text == "" {
			return []string{}, nil
		}
		return strings.Split(text, ","), nil
	}
	return nil, fmt.Errorf("%s is a table: set it in a file", s.Key)
}
