package trial

import (
	"os"
	"reflect"
	"strings"
	"testing"

	"sill/pipeline/demo"
	"sill/pipeline/outcome"
	"sill/pipeline/pitch"
)

func TestRead(t *testing.T) {
	yaml := `source: the notebook
claims:
  - pitch_type: four-seam
    variable: Velocity
    region: at least 93 mph
    matchup: l-v-r
  - {pitch_type: two_seam, variable: vertical_approach_angle, region: outside -6.4 and −5.4, hand: left, outcome: woba_against, smallest: .03, source: a friend}
  - {pitch_type: curve ball, variable: spin_rate, region: between 2200 and 2600 rpm, matchup: all}
`
	yaml = strings.Replace(yaml, "curve ball", "curveball", 1)
	table := "\uFEFFpitch_type,variable,region,matchup,hand,outcome,smallest,source\r\n" +
		"four_seam,velocity,at least 93,L-v-R,,,,the notebook\r\n" +
		"# a comment\r\n" +
		"sinker,vertical_approach_angle,outside -6.4 and -5.4,,left,woba_against,0.03,a friend\r\n" +
		"curveball,spin_rate,between 2200 and 2600,,,whiff_rate,,the notebook\r\n"
	want := []Claim{
		{Line: 3, Type: pitch.FourSeam, Hand: pitch.LeftHand, Side: pitch.RightSide, Variable: "velocity", Region: atLeast(93), Smallest: .02, Source: "the notebook"},
		{Line: 7, Type: pitch.Sinker, Hand: pitch.LeftHand, Variable: "vertical_approach_angle", Region: Region{Outside, -6.4, -5.4}, Metric: outcome.WOBA, Smallest: .03, Source: "a friend"},
		{Line: 8, Type: pitch.Curveball, Variable: "spin_rate", Region: Region{Between, 2200, 2600}, Smallest: .02, Source: "the notebook"},
	}
	for name, text := range map[string]string{"claims.yaml": yaml, "claims.csv": table} {
		got, err := Read(name, []byte(text), pitch.Nearest)
		if err != nil {
			t.Fatal(err)
		}
		if name == "claims.csv" {
			for i, line := range []int{3, 7, 8} {
				if got[i].Line != []int{2, 4, 5}[i] {
					t.Errorf("claim %d at line %d", i+1, got[i].Line)
				}
				got[i].Line = line
			}
		}
		if !reflect.DeepEqual(got, want) {
			t.Errorf("%s: %+v", name, got)
		}
	}
}

func TestReadFaults(t *testing.T) {
	one := func(fields string) string { return "claims:\n  - {" + fields + "}\n" }
	for _, c := range []struct{ name, text, want string }{
		{"c.yaml", "", "c.yaml: holds no claim; `sill trial --example`"},
		{"c.yaml", "- 1", "c.yaml:1: the file must hold claims"},
		{"c.yaml", "claim: []", `c.yaml:1: unknown field "claim" (did you mean "claims"?)`},
		{"c.yaml", "claims: 3", "c.yaml:1: claims: must be a list"},
		{"c.yaml", "claims: [3]", "c.yaml:1: a claim must be fields"},
		{"c.yaml", "claims:\n\t- 1", "c.yaml: yaml: line 2"},
		{"c.yaml", one("pitch_type: four_seem, variable: velocity, region: at least 93"), `c.yaml:2: pitch_type: unknown pitch type "four_seem" (did you mean "four_seam"?)`},
		{"c.yaml", one("pitch_type: sinker, variable: velocty, region: at least 93"), `variable: unknown variable "velocty" (did you mean "velocity"?)`},
		{"c.yaml", one("pitch_type: sinker, variabel: velocity, region: at least 93"), `c.yaml:2: unknown field "variabel" (did you mean "variable"?)`},
		{"c.yaml", one("pitch_type: sinker, variable: velocity"), "region: missing: where it is better: at least 93"},
		{"c.yaml", one("pitch_type: sinker, variable: velocity, region: over 93"), `region: "over 93" is no region; write at least 93`},
		{"c.yaml", one("pitch_type: sinker, variable: velocity, region: at least 40 m/s"), "is in m/s, but the variable is in mph"},
		{"c.yaml", one("pitch_type: sinker, variable: plate_height, region: at least 1 ft"), "has the unit ft, but the variable has none"},
		{"c.yaml", one("pitch_type: sinker, variable: velocity, region: between 95 and 93"), "the first number must be the smaller one"},
		{"c.yaml", one("pitch_type: sinker, variable: velocity, region: at least NaN"), "no number between"},
		{"c.yaml", one("pitch_type: sinker, variable: velocity, region: at least 93 and 95"), "is no region"},
		{"c.yaml", one("pitch_type: sinker, variable: velocity, region: at least 93, matchup: L-v-S"), `matchup: unknown matchup "L-v-S" (did you mean`},
		{"c.yaml", one("pitch_type: sinker, variable: velocity, region: at least 93, matchup: L-v-L, hand: left"), "matchup: give it, or hand and side, not both"},
		{"c.yaml", one("pitch_type: sinker, variable: velocity, region: at least 93, side: switch"), `side: unknown side "switch"`},
		{"c.yaml", one("pitch_type: sinker, variable: velocity, region: at least 93, outcome: whif_rate"), `outcome: unknown outcome "whif_rate" (did you mean "whiff_rate"?)`},
		{"c.yaml", one("pitch_type: sinker, variable: velocity, region: at least 93, smallest: 2"), `smallest: "2" is no number between 0 and 1`},
		{"c.yaml", one("pitch_type: sinker, pitch_type: cutter, variable: velocity, region: at least 93"), "pitch_type: given twice"},
		{"c.csv", "pitch_type,variable,region\nsinker,velocity,at least 93\ncuter,velocity,at least 93\n", `c.csv:3: pitch_type: unknown pitch type "cuter" (did you mean "cutter"?)`},
		{"c.csv", "pitch_type,varable,region\nsinker,velocity,at least 93\n", `c.csv:1: unknown column "varable" (did you mean "variable"?)`},
		{"c.csv", "pitch_type,variable,region\nsinker\n", "c.csv: record on line 2"},
	} {
		_, err := Read(c.name, []byte(c.text), pitch.Nearest)
		if err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%q: %v, want %q", c.text, err, c.want)
		}
	}
	// All faults are told at once.
	_, err := Read("c.yaml", []byte("claims:\n  - {pitch_type: slidr, variable: b, region: c}\n  - {pitch_type: sinker}\n"), pitch.Nearest)
	if err == nil || strings.Count(err.Error(), "\n") != 3 || !strings.Contains(err.Error(), "c.yaml:3: variable") {
		t.Errorf("%v", err)
	}
}

func FuzzRead(f *testing.F) {
	f.Add("c.yaml", []byte(Example))
	f.Add("c.csv", []byte("pitch_type,variable,region\nsinker,velocity,at least 93\n"))
	f.Fuzz(func(t *testing.T, name string, text []byte) {
		claims, err := Read(name, text, pitch.Nearest)
		if (err == nil) != (len(claims) > 0) {
			t.Fatalf("%d claims and %v", len(claims), err)
		}
		for _, c := range claims {
			if r, err := ParseRegion(c.Region.String(), ""); err != nil || r != c.Region {
				t.Fatalf("%v read back as %v, %v", c.Region, r, err)
			}
		}
	})
}

// The example is the file among the test data, and its claims are the facts that
// the Almanac League is made to show.
func TestExample(t *testing.T) {
	file, err := os.ReadFile("../../../testdata/claims/common-practice.yaml")
	if err != nil {
		t.Fatal(err)
	}
	if string(file) != Example {
		t.Error("testdata/claims/common-practice.yaml is another file than the example: copy it")
	}
	claims, err := Read("common-practice.yaml", file, pitch.Nearest)
	if err != nil {
		t.Fatal(err)
	}
	type fact struct {
		kind     pitch.Type
		matchup  demo.Matchups
		variable string
		region   Region
	}
	var got, want []fact
	for _, c := range claims {
		if c.Source != "common practice, no source" || c.Metric != outcome.Whiff {
			t.Errorf("%+v", c)
		}
		m := demo.LvL
		if c.Side == pitch.RightSide {
			m = demo.LvR
		}
		got = append(got, fact{c.Type, m, c.Variable, c.Region})
	}
	for _, f := range demo.Facts() {
		r := Region{Kind: AtLeast, A: f.Edges[0]}
		switch {
		case len(f.Edges) == 2 && f.Sign > 0:
			r = Region{Outside, f.Edges[0], f.Edges[1]}
		case f.Sign > 0:
			r.Kind = AtMost
		}
		want = append(want, fact{f.Type, f.Matchup, f.Quality.String(), r})
	}
	if !reflect.DeepEqual(got, want) {
		t.Errorf("claims %v\nfacts %v", got, want)
	}
}
