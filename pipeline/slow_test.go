package pipeline_test

import (
	"context"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/parquet-go/parquet-go"

	"sill/config"
	"sill/pipeline"
	"sill/pipeline/estimate"
	"sill/pipeline/locate"
	"sill/pipeline/outcome"
	"sill/pipeline/pitch"
	"sill/pipeline/shape"
	"sill/pipeline/tally"
)

// plainRow is a pitch in canonical words.
type plainRow struct {
	Pitcher   string  `parquet:"pitcher"`
	Hand      string  `parquet:"hand"`
	Side      string  `parquet:"side"`
	PitchType string  `parquet:"pitch_type"`
	Outcome   string  `parquet:"outcome"`
	Result    string  `parquet:"result"`
	Bunt      *bool   `parquet:"bunt,optional"`
	X         float64 `parquet:"x"`
	Y         float64 `parquet:"y"`
	Z         float64 `parquet:"z"`
	VX        float64 `parquet:"vx"`
	VY        float64 `parquet:"vy"`
	VZ        float64 `parquet:"vz"`
	AX        float64 `parquet:"ax"`
	AY        float64 `parquet:"ay"`
	AZ        float64 `parquet:"az"`
}

const plainProfile = `name: Slow League
season: 2031
pitch_types: [eephus]
where: []
columns:
  pitcher: {column: pitcher}
  hand: {column: hand}
  side: {column: side}
  pitch_type: {column: pitch_type}
  outcome: {column: outcome}
  result: {column: result}
  bunt: {column: bunt}
  position_x: {column: x, unit: ft, positive: catcher_right}
  position_y: {column: y, unit: ft}
  position_z: {column: z, unit: ft}
  velocity_x: {column: vx, unit: ft/s, positive: catcher_right}
  velocity_y: {column: vy, unit: ft/s}
  velocity_z: {column: vz, unit: ft/s}
  acceleration_x: {column: ax, unit: "ft/s²", positive: catcher_right}
  acceleration_y: {column: ay, unit: "ft/s²"}
  acceleration_z: {column: az, unit: "ft/s²"}
`

// plainLeague throws pitches at a speed in mph that nothing slows; each is hit for a
// single, except those bunts that may be one.
func plainLeague(t *testing.T) string {
	t.Helper()
	var rows []plainRow
	throw := func(n int, kind, side string, mph float64, bunt *bool) {
		vy := -mph * 5280 / 3600
		flies := (50 - 17./12) / -vy
		for i := range n {
			rows = append(rows, plainRow{Pitcher: string(rune('a' + i%20)), Hand: "right", Side: side, PitchType: kind, Outcome: "in_play", Result: "single", Bunt: bunt,
				X: -2, Y: 50, Z: 6, VY: vy, VZ: (2.5-6)/flies + pitch.Gravity*flies/2, AZ: -pitch.Gravity})
		}
	}
	no := false
	throw(300, "four_seam", "left", 92, &no)
	throw(297, "sinker", "left", 91, &no)
	throw(3, "sinker", "left", 91, nil)
	throw(299, "slider", "right", 84, &no)
	throw(1, "slider", "right", 84, nil)
	throw(40, "eephus", "right", 45, &no)
	dir := t.TempDir()
	if err := parquet.WriteFile(filepath.Join(dir, "season.parquet"), rows); err != nil {
		t.Fatal(err)
	}
	return writeConfig(t, dir, plainProfile)
}

// TestLobSurvives: a lob of 45 mph, which flies .81 s, is used with its speed, and its
// result is counted.
func TestLobSurvives(t *testing.T) {
	resolved, err := config.Load(nil, plainLeague(t), nil)
	if err != nil {
		t.Fatal(err)
	}
	counts, err := pipeline.Recount(context.Background(), resolved.Options, func(v []shape.Variable) []shape.Variable { return v })
	if err != nil {
		t.Fatal(err)
	}
	eephus, err := pitch.NamedType("eephus")
	if err != nil {
		t.Fatal(err)
	}
	table := counts.Find(tally.Cell{Season: 2031, Hand: pitch.RightHand, Side: pitch.RightSide, Type: eephus})
	if table == nil {
		t.Fatal("no lob survived")
	}
	singles := uint32(0)
	for _, r := range table.Totals {
		singles += r.Results[outcome.Single]
	}
	at := counts.VariableIndex("velocity")
	c := &table.Curves[at]
	if singles != 40 || len(c.Bins) != 1 || counts.Variables[at].Lower(c.Bins[0]) != 45 { // √(66² + 9.5²) ft/s are 45.5 mph
		t.Errorf("%d results, bins %v", singles, c.Bins)
	}
}

// TestWarningsWhereTheyMatter: 1 % of the sinkers in play may have been bunts, which is
// warned of on their whiff rate and on both outcomes at once; .3 % of the sliders may. That no batter is known
// holds of every row, and so is a note of the run and of the quality report.
func TestWarningsWhereTheyMatter(t *testing.T) {
	r := runQuick(t, plainLeague(t), nil)
	warned := 0
	for _, v := range r.Tables.Verdicts {
		want := v.PitchType == "sinker" && v.Outcome != "woba_against"
		if slices.Contains(v.Warnings, locate.WarnBunts) != want {
			t.Errorf("%+v: %v", v.Key, v.Warnings)
		}
		if want && v.Reference == estimate.TypeMedian && v.Outcome != locate.Joint {
			warned++
		}
		if slices.Contains(v.Warnings, locate.WarnBatters) {
			t.Errorf("%+v still carries %v", v.Key, v.Warnings)
		}
	}
	if warned == 0 {
		t.Error("no verdict on sinkers: no test")
	}
	for code, part := range map[string]string{locate.WarnBatters: "holds of", locate.WarnBunts: "4 balls in play may have been bunts, at least 1 % of them in 1 cell"} {
		if !slices.ContainsFunc(r.Notes, func(n string) bool { return strings.HasPrefix(n, code+": ") && strings.Contains(n, part) }) {
			t.Errorf("no note of %s: %q", code, r.Notes)
		}
	}
}
