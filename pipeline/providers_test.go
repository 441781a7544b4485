package pipeline_test

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/parquet-go/parquet-go"

	"sill/config"
	"sill/pipeline"
	"sill/pipeline/demo"
	"sill/pipeline/pitch"
	"sill/pipeline/shape"
)

// Two providers of the same invented season, shaped differently in every
// respect. Both give trajectories as unrounded doubles and neither gives
// movement, so that both must lead to the same table.

// northern writes feet, the catcher's view, words, results on every pitch of a
// plate appearance, dates as text and a season folder.
type northern struct {
	Match    string   `parquet:"match"`
	Day      string   `parquet:"day"`
	Inning   int32    `parquet:"inning"`
	Half     string   `parquet:"half"`
	Turn     int32    `parquet:"turn.of.batter"`
	Throw    int32    `parquet:"throw"`
	Thrower  string   `parquet:"thrower"`
	Arm      string   `parquet:"arm"`
	Fielder  bool     `parquet:"fielder"`
	Hitter   string   `parquet:"hitter"`
	Stands   string   `parquet:"stands"`
	Sort     string   `parquet:"sort"`
	Event    string   `parquet:"event"`
	Ending   string   `parquet:"ending"`
	Bunted   bool     `parquet:"bunted"`
	Reach    *float64 `parquet:"reach,optional"`
	Spin     *float64 `parquet:"spin,optional"`
	Top      float64  `parquet:"top"`
	Bottom   float64  `parquet:"bottom"`
	Offset   *float64 `parquet:"offset,optional"`
	Height   *float64 `parquet:"height,optional"`
	Sideways *float64 `parquet:"sideways_speed,optional"`
	Forward  *float64 `parquet:"forward_speed,optional"`
	Upward   *float64 `parquet:"upward_speed,optional"`
	Sidegain *float64 `parquet:"sideways_gain,optional"`
	Foregain *float64 `parquet:"forward_gain,optional"`
	Upgain   *float64 `parquet:"upward_gain,optional"`
}

// southern writes metres and centimetres, the pitcher's view, number codes,
// results on the last pitch only, timestamps and its trajectory at another y.
type southern struct {
	Stamp    time.Time `parquet:"stamp,timestamp(microsecond)"`
	Contest  int64     `parquet:"contest"`
	Frame    int64     `parquet:"frame"` // inning
	Part     int8      `parquet:"part"`
	Order    int64     `parquet:"order"`
	Sequence int64     `parquet:"sequence"`
	Player   int64     `parquet:"player"`
	Throws   int32     `parquet:"throws"`
	Opponent int64     `parquet:"opponent"`
	Box      int32     `parquet:"box"`
	Class    int32     `parquet:"class"`
	Happened int32     `parquet:"happened"`
	Ended    int32     `parquet:"ended"` // −1 for none
	Bunt     int32     `parquet:"bunt"`
	Reach    float64   `parquet:"reach_cm"` // −999 for none
	Spin     float64   `parquet:"spin"`
	Top      float64   `parquet:"top_cm"`
	Bottom   float64   `parquet:"bottom_cm"`
	X        float64   `parquet:"across_m"`
	Y        float64   `parquet:"out_m"`
	Z        float64   `parquet:"up_m"`
	VX       float64   `parquet:"across_m_per_s"`
	VY       float64   `parquet:"out_m_per_s"`
	VZ       float64   `parquet:"up_m_per_s"`
	AX       float64   `parquet:"across_m_per_s2"`
	AY       float64   `parquet:"out_m_per_s2"`
	AZ       float64   `parquet:"up_m_per_s2"`
}

const northernProfile = `
name: northern
pitch_types: [eephus]
result_on: every_pitch
exclude_pitchers: {position_players: true}
columns:
  season: {column: season}
  date: {column: day, format: day-month-year}
  game: {column: match}
  inning: {column: inning}
  half: {column: half, values: [{from: top, to: 1}, {from: bottom, to: 2}]}
  plate_appearance: {column: turn.of.batter}
  pitch_number: {column: throw}
  pitcher: {column: thrower}
  position_player: {column: fielder}
  hand: {column: arm, values: [{from: "left arm", to: left}, {from: "right arm", to: right}]}
  batter: {column: hitter}
  side: {column: stands, values: [{from: "left box", to: left}, {from: "right box", to: right}]}
  bunt: {column: bunted}
  extension: {column: reach, unit: ft}
  spin_rate: {column: spin, unit: rpm}
  zone_top: {column: top, unit: ft}
  zone_bottom: {column: bottom, unit: ft}
  position_x: {column: offset, unit: ft, positive: catcher_right}
  position_y: {constant: 50, unit: ft}
  position_z: {column: height, unit: ft}
  velocity_x: {column: sideways_speed, unit: ft/s, positive: catcher_right}
  velocity_y: {column: forward_speed, unit: ft/s}
  velocity_z: {column: upward_speed, unit: ft/s}
  acceleration_x: {column: sideways_gain, unit: ft/s², positive: catcher_right}
  acceleration_y: {column: forward_gain, unit: ft/s²}
  acceleration_z: {column: upward_gain, unit: ft/s²}
`

const southernProfile = `
name: southern
pitch_types: [eephus]
result_on: last_pitch
columns:
  date: {column: stamp, zone: UTC}
  game: {column: contest}
  inning: {column: frame}
  half: {column: part}
  plate_appearance: {column: order}
  pitch_number: {column: sequence}
  pitcher: {column: player}
  hand: {column: throws, values: [{from: 10, to: left}, {from: 20, to: right}]}
  batter: {column: opponent}
  side: {column: box, values: [{from: 1, to: left}, {from: 2, to: right}]}
  bunt: {column: bunt}
  extension: {column: reach_cm, unit: cm, missing: [-999]}
  spin_rate: {column: spin, unit: rpm, missing: [-999]}
  zone_top: {column: top_cm, unit: cm}
  zone_bottom: {column: bottom_cm, unit: cm}
  position_x: {column: across_m, unit: m, positive: pitcher_right, missing: [-999]}
  position_y: {column: out_m, unit: m, missing: [-999]}
  position_z: {column: up_m, unit: m, missing: [-999]}
  velocity_x: {column: across_m_per_s, unit: m/s, positive: pitcher_right, missing: [-999]}
  velocity_y: {column: out_m_per_s, unit: m/s, missing: [-999]}
  velocity_z: {column: up_m_per_s, unit: m/s, missing: [-999]}
  acceleration_x: {column: across_m_per_s2, unit: m/s², positive: pitcher_right, missing: [-999]}
  acceleration_y: {column: out_m_per_s2, unit: m/s², missing: [-999]}
  acceleration_z: {column: up_m_per_s2, unit: m/s², missing: [-999]}
`

// valueMap writes a category column of a profile for every word that a code
// maps to.
func valueMap(name, column string, words []string, code func(i int) any) string {
	var b strings.Builder
	fmt.Fprintf(&b, "  %s:\n    column: %s\n    values:\n", name, column)
	for i, w := range words {
		from, _ := json.Marshal(code(i + 1))
		fmt.Fprintf(&b, "      - {from: %s, to: %q}\n", from, w)
	}
	return b.String()
}

// typeWords are the pitch types of the demo league, of which both profiles declare one.
var typeWords = append(slices.Clone(pitch.Words("pitch_type")), "eephus")

// resultMap is valueMap of every result with its flags.
func resultMap(column string, code func(pitch.Result) any) string {
	var b strings.Builder
	fmt.Fprintf(&b, "  result:\n    column: %s\n    values:\n", column)
	for i := range 255 {
		if r := pitch.Result(i + 1); r.Valid() {
			from, _ := json.Marshal(code(r))
			fmt.Fprintf(&b, "      - {from: %s, to: [%s]}\n", from, strings.Join(r.Words(), ", "))
		}
	}
	return b.String()
}

// shout is northern's word for a canonical one.
func shout(w string) string { return strings.ToUpper(strings.ReplaceAll(w, "_", "/")) }

const metres = 0.3048 // in a foot, exactly (international foot, 1959)

// season plays a demo season and drops every pitch that lies within 1e-3 of a
// bin's edge in any variable, and those that a provider spoils.
func season(t *testing.T, pitches int, seed uint64) []demo.Thrown {
	t.Helper()
	o := demo.DefaultOptions()
	o.Pitches, o.Seed = pitches, seed
	var out []demo.Thrown
	err := demo.Play(context.Background(), demo.Lantern(), o, func(ts []demo.Thrown) error {
		for _, x := range ts {
			if x.Kind == demo.Regular && (x.Blemish == demo.Clean || x.Blemish == demo.Untracked || x.Blemish == demo.Repeated) && !nearEdge(t, &x) {
				out = append(out, x)
			}
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	return out
}

// everyTrajectory resolves a source that has the trajectory alone.
func trajectoryOnly(column string) bool {
	return slices.Contains([]string{"position_x", "position_y", "position_z", "velocity_x", "velocity_y", "velocity_z",
		"acceleration_x", "acceleration_y", "acceleration_z", "extension", "spin_rate", "zone_top", "zone_bottom"}, column)
}

func nearEdge(t *testing.T, x *demo.Thrown) bool {
	t.Helper()
	if pitch.IsMissing(x.Num[pitch.VelocityY]) || x.Blemish == demo.Untracked {
		return false
	}
	r, err := shape.NewResolver(trajectoryOnly, shape.DefaultSource())
	if err != nil {
		t.Fatal(err)
	}
	p := pitch.Pitch{Hand: x.Hand, Num: x.Num}
	for n := range p.Num {
		switch pitch.Number(n) {
		case pitch.PositionX, pitch.PositionY, pitch.PositionZ, pitch.VelocityX, pitch.VelocityY, pitch.VelocityZ,
			pitch.AccelerationX, pitch.AccelerationY, pitch.AccelerationZ, pitch.Extension, pitch.SpinRate, pitch.ZoneTop, pitch.ZoneBottom:
		default:
			p.Num[n] = pitch.Missing()
		}
	}
	if rule := r.Complete(&p, &shape.Quality{}); rule != "" {
		return true
	}
	for _, v := range r.Variables(shape.Variables) {
		if v.Name == "spin_rate" || v.Name == "extension" {
			continue // given as they are
		}
		scaled := v.Value(&p) / v.Width
		if math.Abs(scaled-math.Round(scaled))*v.Width < 1e-3 {
			return true
		}
	}
	return false
}

func maybe(v float64, tracked bool) *float64 {
	if !tracked || pitch.IsMissing(v) {
		return nil
	}
	return &v
}

// writeNorthern writes the season in northern's shape; round, unless nil,
// rounds every trajectory number as a provider would.
func writeNorthern(t *testing.T, dir string, pitches []demo.Thrown, round func(float64) float64) string {
	t.Helper()
	results := lastResults(pitches)
	var rows []northern
	for i := range pitches {
		x := &pitches[i]
		tracked := x.Blemish != demo.Untracked
		n := x.Num
		if round != nil {
			for _, k := range []pitch.Number{pitch.PositionX, pitch.PositionZ, pitch.VelocityX, pitch.VelocityY, pitch.VelocityZ,
				pitch.AccelerationX, pitch.AccelerationY, pitch.AccelerationZ} {
				n[k] = round(n[k])
			}
		}
		half := "top"
		if n[pitch.Half] == 2 {
			half = "bottom"
		}
		r := northern{
			Match: strconv.Itoa(int(x.Game)), Day: day(x.Day).Format("02-01-2006"), Inning: int32(n[pitch.Inning]), Half: half,
			Turn: int32(n[pitch.PlateAppearance]), Throw: int32(n[pitch.PitchNumber]), Thrower: strconv.FormatInt(x.Pitcher, 10),
			Arm: x.Hand.String() + " arm", Fielder: x.Fielder, Hitter: strconv.FormatInt(x.Batter, 10), Stands: x.Side.String() + " box",
			Sort: shout(x.Type.String()), Event: shout(x.Outcome.String()), Ending: shout(results[key(x)].String()), Bunted: x.Bunt,
			Reach: maybe(n[pitch.Extension], tracked), Spin: maybe(n[pitch.SpinRate], tracked), Top: n[pitch.ZoneTop], Bottom: n[pitch.ZoneBottom],
			Offset: maybe(n[pitch.PositionX], tracked), Height: maybe(n[pitch.PositionZ], tracked),
			Sideways: maybe(n[pitch.VelocityX], tracked), Forward: maybe(n[pitch.VelocityY], tracked), Upward: maybe(n[pitch.VelocityZ], tracked),
			Sidegain: maybe(n[pitch.AccelerationX], tracked), Foregain: maybe(n[pitch.AccelerationY], tracked), Upgain: maybe(n[pitch.AccelerationZ], tracked),
		}
		rows = append(rows, r)
		if x.Blemish == demo.Repeated {
			rows = append(rows, r)
		}
	}
	folder := filepath.Join(dir, "season="+strconv.Itoa(pitches[0].Season))
	writeParquet(t, filepath.Join(folder, "all.parquet"), rows)
	profile := northernProfile +
		valueMap("pitch_type", "sort", typeWords, func(i int) any { return shout(typeWords[i-1]) }) +
		valueMap("outcome", "event", pitch.Words("outcome"), func(i int) any { return shout(pitch.Outcome(i).String()) }) +
		resultMap("ending", func(r pitch.Result) any { return shout(r.String()) })
	return writeConfig(t, dir, profile)
}

// writeSouthern writes the season in southern's shape: the trajectory at its
// point of 40 ft, the result on the last pitch, position players by number.
func writeSouthern(t *testing.T, dir string, pitches []demo.Thrown) string {
	t.Helper()
	results := lastResults(pitches)
	last := map[[3]int32]int32{}
	for i := range pitches {
		x := &pitches[i]
		k := key(x)
		last[k] = max(last[k], int32(x.Num[pitch.PitchNumber]))
	}
	fielders := map[int64]bool{}
	var rows []southern
	for i := range pitches {
		x := &pitches[i]
		if x.Fielder {
			fielders[x.Pitcher] = true
		}
		n := at(x.Num, 40)
		tracked := x.Blemish != demo.Untracked && !pitch.IsMissing(n[pitch.VelocityY])
		given := func(v float64) float64 {
			if !tracked || pitch.IsMissing(v) {
				return -999
			}
			return v
		}
		ended := int32(-1)
		if k := key(x); last[k] == int32(n[pitch.PitchNumber]) && results[k] != pitch.NoResult {
			ended = int32(results[k])
		}
		var bunt int32
		if x.Bunt {
			bunt = 1
		}
		rows = append(rows, southern{
			Stamp: day(x.Day).Add(19 * time.Hour), Contest: int64(x.Game), Frame: int64(n[pitch.Inning]), Part: int8(n[pitch.Half]),
			Order: int64(n[pitch.PlateAppearance]), Sequence: int64(n[pitch.PitchNumber]), Player: x.Pitcher, Throws: 10 * int32(x.Hand),
			Opponent: x.Batter, Box: int32(x.Side), Class: 100 + int32(1+slices.Index(typeWords, x.Type.String())), Happened: 200 + int32(x.Outcome), Ended: ended, Bunt: bunt,
			Reach: given(n[pitch.Extension] * metres * 100), Spin: given(n[pitch.SpinRate]),
			Top: n[pitch.ZoneTop] * metres * 100, Bottom: n[pitch.ZoneBottom] * metres * 100,
			X: given(-n[pitch.PositionX] * metres), Y: given(n[pitch.PositionY] * metres), Z: given(n[pitch.PositionZ] * metres),
			VX: given(-n[pitch.VelocityX] * metres), VY: given(n[pitch.VelocityY] * metres), VZ: given(n[pitch.VelocityZ] * metres),
			AX: given(-n[pitch.AccelerationX] * metres), AY: given(n[pitch.AccelerationY] * metres), AZ: given(n[pitch.AccelerationZ] * metres),
		})
	}
	slices.Reverse(rows) // and in another order
	writeParquet(t, filepath.Join(dir, "part-1.parquet"), rows[:len(rows)/3])
	writeParquet(t, filepath.Join(dir, "part-2.parquet"), rows[len(rows)/3:])
	var ids []string
	for id := range fielders {
		ids = append(ids, strconv.FormatInt(id, 10))
	}
	slices.Sort(ids)
	profile := southernProfile
	profile +=
		valueMap("pitch_type", "class", typeWords, func(i int) any { return 100 + i }) + "    missing: [100]\n" +
			valueMap("outcome", "happened", pitch.Words("outcome"), func(i int) any { return 200 + i }) +
			resultMap("ended", func(r pitch.Result) any { return r }) + "    missing: [-1]\n"
	if len(ids) > 0 {
		profile += "exclude_pitchers: {ids: [" + strings.Join(ids, ", ") + "]}\n"
	}
	return writeConfig(t, dir, profile)
}

// at moves a trajectory to another y.
func at(n [pitch.Numbers]float64, y float64) [pitch.Numbers]float64 {
	vy, ay := n[pitch.VelocityY], n[pitch.AccelerationY]
	dt := (-vy - math.Sqrt(vy*vy-2*ay*(n[pitch.PositionY]-y))) / ay
	for _, axis := range [3][3]pitch.Number{
		{pitch.PositionX, pitch.VelocityX, pitch.AccelerationX},
		{pitch.PositionY, pitch.VelocityY, pitch.AccelerationY},
		{pitch.PositionZ, pitch.VelocityZ, pitch.AccelerationZ},
	} {
		n[axis[0]] += n[axis[1]]*dt + n[axis[2]]*dt*dt/2
		n[axis[1]] += n[axis[2]] * dt
	}
	n[pitch.PositionY] = y
	if pitch.IsMissing(vy) {
		n[pitch.PositionY] = pitch.Missing()
	}
	return n
}

func key(x *demo.Thrown) [3]int32 {
	return [3]int32{x.Game, int32(x.Num[pitch.PlateAppearance]), 0}
}

// lastResults is the result of each plate appearance.
func lastResults(pitches []demo.Thrown) map[[3]int32]pitch.Result {
	out := map[[3]int32]pitch.Result{}
	for i := range pitches {
		if r := pitches[i].Result; r != pitch.NoResult {
			out[key(&pitches[i])] = r
		}
	}
	return out
}

func day(d int32) time.Time { return time.Unix(int64(d)*86400, 0).UTC() }

func writeParquet[T any](t *testing.T, name string, rows []T) {
	t.Helper()
	if err := os.MkdirAll(filepath.Dir(name), 0o755); err != nil {
		t.Fatal(err)
	}
	var b bytes.Buffer
	w := parquet.NewGenericWriter[T](&b, parquet.Compression(&parquet.Zstd))
	if _, err := w.Write(rows); err != nil {
		t.Fatal(err)
	}
	if err := w.Close(); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(name, b.Bytes(), 0o644); err != nil {
		t.Fatal(err)
	}
}

func writeConfig(t *testing.T, dir, profile string) string {
	t.Helper()
	if err := os.WriteFile(filepath.Join(dir, "profile.yaml"), []byte(profile), 0o644); err != nil {
		t.Fatal(err)
	}
	file := filepath.Join(dir, "sill.yaml")
	if err := os.WriteFile(file, []byte("league: lantern\ninputs: [.]\nprofile: profile.yaml\n"), 0o644); err != nil {
		t.Fatal(err)
	}
	return file
}

// runQuick publishes what a configuration says with few replicates.
func runQuick(t *testing.T, file string, adjust func(*pipeline.Options)) *pipeline.Result {
	t.Helper()
	resolved, err := config.Load(nil, file, nil)
	if err != nil {
		t.Fatal(err)
	}
	o := resolved.Options
	o.Output = t.TempDir()
	o.Estimate.Replicates, o.Locate.Flips, o.Locate.MaxFlips = 200, 199, 199
	o.Created, _ = pipeline.Now("1")
	if adjust != nil {
		adjust(&o)
	}
	t.Cleanup(func() { writable(o.Output) })
	result, err := pipeline.Run(context.Background(), o)
	if err != nil {
		t.Fatal(err)
	}
	return result
}

// writable gives the owner back the read-only folders of published versions.
func writable(dir string) {
	filepath.WalkDir(dir, func(name string, d os.DirEntry, err error) error {
		if err == nil && d.IsDir() {
			os.Chmod(name, 0o755)
		}
		return nil
	})
}

// tableBytes are the published tables of a version in every format, by name.
func tableBytes(t *testing.T, dir string) map[string][]byte {
	t.Helper()
	out := map[string][]byte{}
	for _, resource := range []string{"thresholds", "verdicts", "zones", "curves", "bins", "contrasts", "references", "slopes", "opponents"} {
		for _, ext := range []string{"csv", "json", "parquet", "arrow"} {
			b, err := os.ReadFile(filepath.Join(dir, resource+"."+ext))
			if err != nil {
				t.Fatal(err)
			}
			out[resource+"."+ext] = b
		}
	}
	return out
}

// sameTables fails where two versions differ in a byte of a table.
func sameTables(t *testing.T, what, a, b string) {
	t.Helper()
	want, got := tableBytes(t, a), tableBytes(t, b)
	for name := range want {
		if !bytes.Equal(want[name], got[name]) {
			t.Errorf("%s: %s differs: %s", what, name, firstDifference(want[name], got[name]))
		}
	}
}

func firstDifference(a, b []byte) string {
	i := 0
	for i < len(a) && i < len(b) && a[i] == b[i] {
		i++
	}
	cut := func(x []byte) string { return string(x[max(0, i-60):min(len(x), i+60)]) }
	return fmt.Sprintf("at byte %d: %q, %q", i, cut(a), cut(b))
}

// TestTwoProviders: the same season through two profiles and no code gives the
// same tables; a provider's rounding moves only pitches near an edge.
func TestTwoProviders(t *testing.T) {
	if testing.Short() {
		t.Skip("plays a season")
	}
	pitches := season(t, 40_000, 5)
	dir := t.TempDir()
	north := runQuick(t, writeNorthern(t, filepath.Join(dir, "north"), pitches, nil), nil)
	south := runQuick(t, writeSouthern(t, filepath.Join(dir, "south"), pitches), nil)
	if north.Report.Duplicates == 0 || north.Report.Untracked == 0 {
		t.Errorf("the first provider's season has %d duplicates and %d untracked rows: it tests nothing", north.Report.Duplicates, north.Report.Untracked)
	}
	if north.Report.RowsUsed != south.Report.RowsUsed {
		t.Errorf("rows used: %d and %d", north.Report.RowsUsed, south.Report.RowsUsed)
	}
	sameTables(t, "two providers", north.Dir, south.Dir)
	rounded := runQuick(t, writeNorthern(t, filepath.Join(dir, "rounded"), pitches, func(v float64) float64 { return math.Round(v*1e3) / 1e3 }), nil)
	// Bins are 1 mph and more than 1e-3 ft/s moves no velocity beyond an edge
	// by much: only few pitches may change their bin.
	a, b := binned(north, "velocity"), binned(rounded, "velocity")
	moved, total := int64(0), int64(0)
	for k, n := range a {
		total += n
		if d := n - b[k]; d > 0 {
			moved += d
		}
	}
	if total == 0 || float64(moved) > .005*float64(total) {
		t.Errorf("rounding moved %d of %d pitches to another bin", moved, total)
	}
}

func binned(r *pipeline.Result, variable string) map[string]int64 {
	out := map[string]int64{}
	for _, b := range r.Tables.Bins {
		if b.Variable == variable && b.Lower != nil {
			out[fmt.Sprint(b.Key, *b.Lower)] = b.Pitches
		}
	}
	return out
}
