package config

import (
	"os"
	"path/filepath"
	"reflect"
	"strings"
	"testing"

	"github.com/spf13/pflag"

	"sill/pipeline"
)

// write puts a configuration file into a folder of its own.
func write(t *testing.T, text string) string {
	t.Helper()
	name := filepath.Join(t.TempDir(), "sill.yaml")
	if err := os.WriteFile(name, []byte(text), 0o644); err != nil {
		t.Fatal(err)
	}
	return name
}

func flags(t *testing.T, args ...string) *pflag.FlagSet {
	t.Helper()
	fs := pflag.NewFlagSet("test", pflag.ContinueOnError)
	Flags(fs)
	if err := fs.Parse(args); err != nil {
		t.Fatal(err)
	}
	return fs
}

// TestEverySettingIsDocumented walks every field of the options: a tagged one
// must have a meaning, an environment name and a default of a type that can be
// read from text or is a table.
func TestEverySettingIsDocumented(t *testing.T) {
	seen := map[string]bool{}
	for _, s := range Reference() {
		if s.Doc == "" {
			t.Errorf("%s has no meaning", s.Key)
		}
		if s.Env != "SILL_"+strings.ToUpper(strings.ReplaceAll(s.Key, ".", "_")) || seen[s.Env] {
			t.Errorf("%s: environment name %s", s.Key, s.Env)
		}
		seen[s.Env] = true
		if k := reflect.TypeOf(s.Default).Kind(); k == reflect.Pointer || k == reflect.Map || k == reflect.Func {
			t.Errorf("%s: a default of kind %v", s.Key, k)
		}
	}
	if len(seen) < 20 {
		t.Errorf("only %d settings", len(seen))
	}
	var b strings.Builder
	if err := WriteReference(&b); err != nil {
		t.Fatal(err)
	}
	for _, s := range Reference() {
		if !strings.Contains(b.String(), "`"+s.Key+"`") {
			t.Errorf("the reference lacks %s", s.Key)
		}
	}
}

func TestPrecedence(t *testing.T) {
	file := write(t, "league: harbour\nseed: 2\nestimate: {replicates: 300}\nlocate: {flips: 999}\n")
	env := []string{"SILL_SEED=3", "SILL_ESTIMATE_REPLICATES=400", "HOME=/nowhere"}
	r, err := Load(flags(t, "--seed", "4", "--set", "locate.flips=1999"), file, env)
	if err != nil {
		t.Fatal(err)
	}
	o := r.Options
	if o.League != "harbour" || o.Seed != 4 || o.Estimate.Replicates != 400 || o.Locate.Flips != 1999 {
		t.Errorf("league %s, seed %d, replicates %d, flips %d", o.League, o.Seed, o.Estimate.Replicates, o.Locate.Flips)
	}
	want := map[string]string{"league": "file " + file, "seed": "flag --seed", "estimate.replicates": "environment SILL_ESTIMATE_REPLICATES",
		"locate.flips": "flag --set", "output": "default"}
	for _, v := range r.Values() {
		if w, ok := want[v.Key]; ok && v.Origin.String() != w {
			t.Errorf("%s comes from %q, want %q", v.Key, v.Origin, w)
		}
	}
}

func TestDefaults(t *testing.T) {
	r, err := Load(flags(t), "", nil)
	if err != nil {
		t.Fatal(err)
	}
	want := pipeline.DefaultOptions()
	want.Settings = r.Options.Settings
	if !reflect.DeepEqual(r.Options, want) {
		t.Errorf("nothing given resolves to\n%+v, want\n%+v", r.Options, want)
	}
	if len(r.Options.Settings) != len(Reference()) {
		t.Errorf("%d settings recorded of %d", len(r.Options.Settings), len(Reference()))
	}
}

// TestPathsOfAFile: relative paths in a file are meant from its folder.
func TestPathsOfAFile(t *testing.T) {
	file := write(t, "inputs: [season, /abs]\n")
	r, err := Load(nil, file, nil)
	if err != nil {
		t.Fatal(err)
	}
	want := []string{filepath.Join(filepath.Dir(file), "season"), "/abs"}
	if !reflect.DeepEqual(r.Options.Inputs, want) {
		t.Errorf("inputs %v, want %v", r.Options.Inputs, want)
	}
	r, err = Load(flags(t, "--input", "season"), "", nil)
	if err != nil || r.Options.Inputs[0] != "season" {
		t.Errorf("inputs %v, %v", r.Options.Inputs, err)
	}
}

// TestStrict: what would be ignored or converted in silence is an error that
// says what to do.
func TestStrict(t *testing.T) {
	for _, c := range []struct{ name, file, env, set, want string }{
		{name: "unknown key", file: "leage: x\n", want: `unknown setting "leage" (did you mean "league"?)`},
		{name: "unknown nested key", file: "estimate: {replicate: 5}\n", want: `did you mean "estimate.replicates"`},
		{name: "null", file: "league:\n", want: "a null value"},
		{name: "fraction", file: "estimate: {replicates: 12.7}\n", want: "12.7 is not a whole number"},
		{name: "text for a number", file: "seed: \"7\"\n", want: "seed"},
		{name: "leading zero", file: "league: 007\n", want: "leading zeros 007: write it in quotes"},
		{name: "bare date", file: "league: 2031-04-05\n", want: "unquoted date"},
		{name: "key twice", file: "seed: 1\nseed: 2\n", want: "given twice"},
		{name: "unknown variable", env: "SILL_SEEED=1", want: `did you mean "SILL_SEED"`},
		{name: "bad variable", env: "SILL_SEED=-1", want: "not a whole number of 0 or more"},
		{name: "unknown set", set: "sed=1", want: `did you mean "seed"`},
		{name: "set without value", set: "seed", want: "write KEY=VALUE"},
		{name: "table in a flag", set: "widths=1", want: "set it in a file"},
		{name: "missing file", file: "-", want: "no such file"},
	} {
		t.Run(c.name, func(t *testing.T) {
			file := ""
			switch c.file {
			case "":
			case "-":
				file = filepath.Join(t.TempDir(), "none.yaml")
			default:
				file = write(t, c.file)
			}
			var env, args []string
			if c.env != "" {
				env = []string{c.env}
			}
			if c.set != "" {
				args = []string{"--set", c.set}
			}
			_, err := Load(flags(t, args...), file, env)
			if err == nil || !strings.Contains(err.Error(), c.want) {
				t.Errorf("error %v, want one with %q", err, c.want)
			}
		})
	}
}

// TestProfileIsPartOfTheSettings: a version's identity holds the profile, not
// its path.
func TestProfileIsPartOfTheSettings(t *testing.T) {
	dir := t.TempDir()
	profile := "season: 2031\ncolumns:\n  pitcher: {column: who}\n  hand: {column: arm, values: [{from: 1, to: left}, {from: 2, to: right}]}\n" +
		"  side: {column: box}\n  pitch_type: {column: kind}\n  outcome: {column: call}\n"
	if err := os.WriteFile(filepath.Join(dir, "profile.yaml"), []byte(profile), 0o644); err != nil {
		t.Fatal(err)
	}
	file := filepath.Join(dir, "sill.yaml")
	if err := os.WriteFile(file, []byte("profile: profile.yaml\n"), 0o644); err != nil {
		t.Fatal(err)
	}
	r, err := Load(nil, file, nil)
	if err != nil {
		t.Fatal(err)
	}
	if r.Options.Profile == nil || r.Options.Profile.Columns["hand"].Values[1].From != 2 {
		t.Errorf("profile %+v", r.Options.Profile)
	}
	last := r.Options.Settings[len(r.Options.Settings)-1]
	if last.Key != "profile_content" || last.Local {
		t.Errorf("last setting %+v", last)
	}
	if err := os.WriteFile(filepath.Join(dir, "profile.yaml"), []byte(profile+"resultt_on: last_pitch\n"), 0o644); err != nil {
		t.Fatal(err)
	}
	if _, err := Load(nil, file, nil); err == nil || !strings.Contains(err.Error(), `"resultt_on"`) {
		t.Errorf("a key that no profile has: %v", err)
	}
}

// TestReadmeProfile: the profile that the README shows is a valid one.
func TestReadmeProfile(t *testing.T) {
	text, err := os.ReadFile(filepath.Join("..", "README.md"))
	if err != nil {
		t.Fatal(err)
	}
	_, rest, found := strings.Cut(string(text), "```yaml\n")
	block, _, closed := strings.Cut(rest, "```")
	if !found || !closed {
		t.Fatal("the README shows no profile")
	}
	file := filepath.Join(t.TempDir(), "profile.yaml")
	if err := os.WriteFile(file, []byte(strings.ReplaceAll("\n"+block, "\n   ", "\n")), 0o644); err != nil {
		t.Fatal(err)
	}
	p, err := LoadProfile(file)
	if err != nil {
		t.Fatal(err)
	}
	if p.Columns["velocity"].Unit != "km/h" || len(p.Where) != 1 {
		t.Errorf("the README's profile reads as %+v", p)
	}
}
