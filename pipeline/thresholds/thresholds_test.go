package thresholds_test

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"maps"
	"math"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"
	"testing/fstest"

	"github.com/google/go-cmp/cmp"

	"sill/pipeline/thresholds"
)

// golden is a store that package publish wrote; its league is invented.
const golden = "testdata/harbour"

func open(t testing.TB, opts ...thresholds.Option) *thresholds.Table {
	t.Helper()
	table, err := thresholds.Open(golden, opts...)
	if err != nil {
		t.Fatal(err)
	}
	return table
}

// memory copies the golden store into memory.
func memory(t testing.TB) fstest.MapFS {
	t.Helper()
	m := fstest.MapFS{}
	err := fs.WalkDir(os.DirFS(golden), ".", func(name string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() {
			return err
		}
		b, err := os.ReadFile(filepath.Join(golden, name))
		m[name] = &fstest.MapFile{Data: b}
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	return m
}

// alone returns the version's folder as a root of its own.
func alone(t testing.TB) fstest.MapFS {
	t.Helper()
	out := fstest.MapFS{}
	for name, f := range memory(t) {
		if rest, ok := strings.CutPrefix(name, "v1.0.0/"); ok {
			out[rest] = f
		}
	}
	return out
}

// seal lists the manifest's sha256 anew after a test changed the manifest.
func seal(m fstest.MapFS, manifest []byte) {
	m[thresholds.ManifestFile] = &fstest.MapFile{Data: manifest}
	sums, _ := thresholds.ParseSums(m[thresholds.SumsFile].Data)
	h := sha256.Sum256(manifest)
	sums[thresholds.ManifestFile] = hex.EncodeToString(h[:])
	var b bytes.Buffer
	for _, name := range slices.Sorted(maps.Keys(sums)) {
		fmt.Fprintf(&b, "%s  %s\n", sums[name], name)
	}
	m[thresholds.SumsFile] = &fstest.MapFile{Data: b.Bytes()}
}

func TestOpenEveryWay(t *testing.T) {
	sub, err := fs.Sub(os.DirFS(golden), "v1.0.0")
	if err != nil {
		t.Fatal(err)
	}
	for name, open := range map[string]func() (*thresholds.Table, error){
		"store":        func() (*thresholds.Table, error) { return thresholds.Open(golden) },
		"version":      func() (*thresholds.Table, error) { return thresholds.Open(golden + "/v1.0.0/") },
		"pinned":       func() (*thresholds.Table, error) { return thresholds.Open(golden, thresholds.WithVersion("v1.0.0")) },
		"major":        func() (*thresholds.Table, error) { return thresholds.Open(golden, thresholds.WithMajor(1)) },
		"store, fs":    func() (*thresholds.Table, error) { return thresholds.OpenFS(memory(t)) },
		"version, fs":  func() (*thresholds.Table, error) { return thresholds.OpenFS(alone(t)) },
		"version, sub": func() (*thresholds.Table, error) { return thresholds.OpenFS(sub) },
		"same meaning": func() (*thresholds.Table, error) { return thresholds.Open(golden, meaning("velocity/release/mph")) },
		"other variable": func() (*thresholds.Table, error) {
			return thresholds.Open(golden, thresholds.WithDefinitions(map[string]string{"tilt": "x"}))
		},
	} {
		table, err := open()
		if err != nil {
			t.Errorf("%s: %v", name, err)
			continue
		}
		tables, err := table.Load()
		if err != nil {
			t.Errorf("%s: %v", name, err)
			continue
		}
		if table.Version() != "v1.0.0" || len(tables.Verdicts) != 13 || len(tables.Curves) != 105 || len(tables.Zones) != 5 ||
			len(tables.Bins) != 18 || len(tables.Contrasts) != 1 || len(tables.References) != 6 || len(tables.Thresholds) != 1 {
			t.Errorf("%s: %s with %d verdicts", name, table.Version(), len(tables.Verdicts))
		}
	}
}

func meaning(velocity string) thresholds.Option {
	return thresholds.WithDefinitions(map[string]string{"velocity": velocity})
}

func TestOpenRefuses(t *testing.T) {
	for name, c := range map[string]struct {
		open func() (*thresholds.Table, error)
		want error
		text string
	}{
		"absent":          {func() (*thresholds.Table, error) { return thresholds.Open("testdata/nowhere") }, thresholds.ErrNoVersion, "neither manifest.json"},
		"unknown version": {func() (*thresholds.Table, error) { return thresholds.Open(golden, thresholds.WithVersion("v1.0.9")) }, thresholds.ErrNoVersion, "v1.0.9 is not in the log"},
		"path trick":      {func() (*thresholds.Table, error) { return thresholds.Open(golden, thresholds.WithVersion("../v1.0.0")) }, nil, "want a name such as v1.2.0"},
		"unknown major":   {func() (*thresholds.Table, error) { return thresholds.Open(golden, thresholds.WithMajor(2)) }, thresholds.ErrNoVersion, ""},
		"other meaning":   {func() (*thresholds.Table, error) { return thresholds.Open(golden, meaning("velocity/50ft/mph")) }, thresholds.ErrDefinition, `published as "velocity/release/mph"`},
		"newer schema": {func() (*thresholds.Table, error) {
			m := alone(t)
			seal(m, bytes.Replace(m[thresholds.ManifestFile].Data, []byte(`"schema_version": "`+thresholds.SchemaVersion+`"`), []byte(`"schema_version": "2.0"`), 1))
			return thresholds.OpenFS(m)
		}, thresholds.ErrSchema, "has schema 2.0, this reader knows " + thresholds.SchemaVersion},
		"no schema": {func() (*thresholds.Table, error) {
			m := alone(t)
			seal(m, []byte("{}"))
			return thresholds.OpenFS(m)
		}, thresholds.ErrIntegrity, "no schema version"},
		"manifest changed, sums too": {func() (*thresholds.Table, error) {
			m := alone(t)
			seal(m, bytes.Replace(m[thresholds.ManifestFile].Data, []byte(`"bins.csv"`), []byte(`"../bins.csv"`), 1))
			return thresholds.OpenFS(m)
		}, thresholds.ErrIntegrity, `a file named "../bins.csv"`},
		"link in place of a file": {func() (*thresholds.Table, error) {
			m := memory(t)
			m["v1.0.0/bins.csv"] = &fstest.MapFile{Data: []byte("v1.0.0/zones.csv"), Mode: fs.ModeSymlink}
			return thresholds.OpenFS(m)
		}, thresholds.ErrIntegrity, "v1.0.0/bins.csv: is not a regular file"},
		"log with a hole": {func() (*thresholds.Table, error) {
			m := memory(t)
			m[thresholds.EntryName(2)] = m[thresholds.EntryName(1)]
			delete(m, thresholds.EntryName(1))
			return thresholds.OpenFS(m)
		}, thresholds.ErrIntegrity, "_log/00000001.json: missing"},
		"log entry under another serial": {func() (*thresholds.Table, error) {
			m := memory(t)
			m[thresholds.EntryName(2)] = m[thresholds.EntryName(1)]
			return thresholds.OpenFS(m)
		}, thresholds.ErrIntegrity, "holds serial 1"},
		"version that was never logged": {func() (*thresholds.Table, error) {
			m := memory(t)
			delete(m, thresholds.EntryName(1))
			m[thresholds.LogDir] = &fstest.MapFile{Mode: fs.ModeDir}
			return thresholds.OpenFS(m)
		}, thresholds.ErrNoVersion, ""},
	} {
		_, err := c.open()
		if err == nil || c.want != nil && !errors.Is(err, c.want) || !strings.Contains(err.Error(), c.text) {
			t.Errorf("%s: error %v, want %v with %q", name, err, c.want, c.text)
		}
	}
}

// TestChangedAfterOpen: a resource that changes between Open and its first use
// is refused too.
func TestChangedAfterOpen(t *testing.T) {
	m := memory(t)
	table, err := thresholds.OpenFS(m)
	if err != nil {
		t.Fatal(err)
	}
	m["v1.0.0/bins.json"].Data[200] ^= 1
	for _, err := range table.Bins() {
		if !errors.Is(err, thresholds.ErrIntegrity) {
			t.Errorf("error %v", err)
		}
		return
	}
	t.Error("no row and no error")
}

func TestIterators(t *testing.T) {
	table := open(t)
	tables, err := table.Load()
	if err != nil {
		t.Fatal(err)
	}
	var zones []thresholds.Zone
	for z, err := range table.Zones() {
		if err != nil {
			t.Fatal(err)
		}
		zones = append(zones, z)
	}
	if d := cmp.Diff(tables.Zones, zones); d != "" {
		t.Error(d)
	}
	n := 0
	for range table.Curves() {
		if n++; n == 5 {
			break
		}
	}
	if n != 5 {
		t.Errorf("walked %d points", n)
	}
}

// TestLookup: the fixture's left-on-left four-seam breaks even at 93 [92.25,
// 93.75], observed from 88 to 98, and is certain up to 95.25 and from 95.75; the other cells have each another verdict.
func TestLookup(t *testing.T) {
	table := open(t)
	nan := math.NaN()
	for _, c := range []struct {
		hand, side, pitchType string
		x                     float64
		verdict               string
		position              thresholds.Position
		nearest, rate         float64
	}{
		{"left", "left", "four_seam", 88, "found", thresholds.Outside, 93, .1},
		{"left", "left", "four_seam", 92.25, "found", thresholds.Outside, 93, .185},
		{"left", "left", "four_seam", 92.5, "found", thresholds.Unresolved, 93, .19},
		{"left", "left", "four_seam", 93.5, "found", thresholds.Unresolved, 93, .21},
		{"left", "left", "four_seam", 93.75, "found", thresholds.Inside, 93, .215},
		{"left", "left", "four_seam", 95.25, "found", thresholds.Inside, 93, .245},
		{"left", "left", "four_seam", 95.5, "found", thresholds.Unresolved, 93, .25},
		{"left", "left", "four_seam", 95.75, "found", thresholds.Inside, 93, .255},
		{"left", "left", "four_seam", 98, "found", thresholds.Inside, 93, .3},
		{"left", "left", "four_seam", 98.01, "found", thresholds.BeyondData, 93, nan},
		{"left", "left", "four_seam", 87.99, "found", thresholds.BeyondData, 93, nan},
		{"left", "left", "four_seam", nan, "found", thresholds.NoThreshold, nan, nan},
		{"left", "right", "four_seam", 93, "too_few", thresholds.NoThreshold, nan, nan},
		{"right", "right", "sinker", 93, "inconclusive", thresholds.NoThreshold, nan, .2},
		{"right", "right", "cutter", 93, "always_beats", thresholds.Inside, nan, .2},
		{"right", "right", "cutter", 99, "always_beats", thresholds.BeyondData, nan, nan},
		{"left", "left", "cutter", 93, "never_beats", thresholds.Outside, nan, .2},
		{"right", "left", "sinker", 93, "edge_unresolved", thresholds.Unresolved, nan, .2},
		{"right", "left", "sinker", 95, "edge_unresolved", thresholds.Inside, nan, .24},
		{"right", "left", "splitter", 95, "", thresholds.NoThreshold, nan, nan},
	} {
		key := thresholds.Key{Hand: c.hand, Side: c.side, PitchType: c.pitchType, Variable: "velocity", Outcome: "whiff_rate"}
		for _, reference := range []string{"pitch_type_median", ""} {
			a, err := table.Lookup(key, reference, c.x)
			if err != nil {
				t.Fatal(err)
			}
			same := func(a, b float64) bool { return math.Abs(a-b) < 1e-12 || math.IsNaN(a) && math.IsNaN(b) }
			if a.Verdict != c.verdict || a.Position != c.position || !same(a.Nearest, c.nearest) || !same(a.Distance, c.x-c.nearest) || !same(a.Rate, c.rate) {
				t.Errorf("%v at %g: %+v, want %s, %s, nearest %g, rate %g", key, c.x, a, c.verdict, c.position, c.nearest, c.rate)
			}
			if !math.IsNaN(a.Rate) && !same(a.Hi-a.Lo, .04) {
				t.Errorf("%v at %g: band [%g, %g]", key, c.x, a.Lo, a.Hi)
			}
		}
	}
}

// TestLookupJoint: both outcomes at once, which have no curve, take their range from the
// first outcome; always_beats that holds in the centre only says so.
func TestLookupJoint(t *testing.T) {
	table := open(t)
	key := thresholds.Key{Hand: "left", Side: "left", PitchType: "four_seam", Variable: "velocity", Outcome: "joint"}
	for x, want := range map[float64]thresholds.Position{94: thresholds.Inside, 92: thresholds.Unresolved, 96: thresholds.Unresolved, 97.5: thresholds.Outside, 99: thresholds.BeyondData} {
		a, err := table.Lookup(key, "pitch_type_median", x)
		if err != nil || a.Verdict != "found" || a.Position != want || !math.IsNaN(a.Rate) {
			t.Errorf("%g: %+v, %v", x, a, err)
		}
	}
	key.Hand, key.Side, key.PitchType, key.Outcome = "right", "right", "cutter", "whiff_rate"
	if a, err := table.Lookup(key, "", 93); err != nil || !slices.Equal(a.Warnings, []string{"batters_unknown", thresholds.CentralRange}) {
		t.Errorf("%+v, %v", a, err)
	}
}

// TestLookupOtherLine: a line without a curve of its own is placed by verdict and
// zones within the range of the cell's curve, and has no rate; with no curve at
// all, certain stretches tell how far the data reach.
func TestLookupOtherLine(t *testing.T) {
	m := alone(t)
	for _, file := range []string{"zones.json", "stretches.json"} {
		swap(m, file, bytes.ReplaceAll(m[file].Data, []byte("pitch_type_median"), []byte("pitch_type_rate")))
	}
	other, err := thresholds.OpenFS(m)
	if err != nil {
		t.Fatal(err)
	}
	bare := alone(t)
	swap(bare, "curves.json", regexp.MustCompile(`"rows":(?s:.*)`).ReplaceAll(bare["curves.json"].Data, []byte(`"rows":[]}`)))
	none, err := thresholds.OpenFS(bare)
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		table           *thresholds.Table
		hand, pitchType string
		reference       string
		x               float64
		position        thresholds.Position
		nearest         float64
	}{
		{other, "left", "four_seam", "pitch_type_rate", 95, thresholds.Inside, 93},
		{other, "left", "four_seam", "pitch_type_rate", 90, thresholds.Outside, 93},
		{other, "left", "four_seam", "pitch_type_rate", 93.5, thresholds.Unresolved, 93},
		{other, "left", "four_seam", "pitch_type_rate", 95.5, thresholds.Unresolved, 93},
		{other, "left", "four_seam", "pitch_type_rate", 98.01, thresholds.BeyondData, 93},
		{other, "right", "cutter", "pitch_type_rate", 93, thresholds.Inside, math.NaN()},
		{other, "right", "cutter", "pitch_type_rate", 99, thresholds.BeyondData, math.NaN()},
		{other, "right", "sinker", "pitch_type_rate", 93, thresholds.NoThreshold, math.NaN()},
		{none, "left", "four_seam", "", 95, thresholds.Inside, 93},
		{none, "left", "four_seam", "", 88, thresholds.Outside, 93},
		{none, "left", "four_seam", "", 93, thresholds.Unresolved, 93},
		{none, "left", "four_seam", "", 98.01, thresholds.BeyondData, 93},
		{none, "right", "cutter", "", 93, thresholds.BeyondData, math.NaN()},
	} {
		key := thresholds.Key{Hand: c.hand, Side: c.hand, PitchType: c.pitchType, Variable: "velocity", Outcome: "whiff_rate"}
		a, err := c.table.Lookup(key, c.reference, c.x)
		if err != nil {
			t.Fatal(err)
		}
		known := math.IsNaN(c.nearest) && math.IsNaN(a.Nearest) || a.Nearest == c.nearest && a.Distance == c.x-c.nearest
		if a.Position != c.position || !known || !math.IsNaN(a.Rate) || !math.IsNaN(a.Lo) {
			t.Errorf("%+v: %+v", c, a)
		}
		if b, err := json.Marshal(a); err != nil || !strings.Contains(string(b), `"rate":null,"lo":null,"hi":null`) {
			t.Errorf("%s, %v", b, err)
		}
	}
}

func TestAnswerJSON(t *testing.T) {
	a, err := open(t).Lookup(thresholds.Key{}, "", 1)
	if err != nil {
		t.Fatal(err)
	}
	b, err := json.Marshal(a)
	want := `{"verdict":"","position":"no_threshold","nearest":null,"distance":null,"rate":null,"lo":null,"hi":null,"warnings":[]}`
	if err != nil || string(b) != want {
		t.Errorf("%s, %v", b, err)
	}
}

// TestGradeAllocates: a million pitches of one cell are graded without an allocation.
func TestGradeAllocates(t *testing.T) {
	curve, xs := preparedCurve(t)
	dst := make([]thresholds.Answer, len(xs))
	const rounds = 100
	n := testing.AllocsPerRun(1, func() {
		for range rounds {
			curve.Grade(dst, xs)
		}
	})
	if n != 0 {
		t.Errorf("%g allocations for %d pitches", n, rounds*len(xs))
	}
	t.Logf("%d pitches, %g allocations", rounds*len(xs), n)
}

func BenchmarkGrade(b *testing.B) {
	curve, xs := preparedCurve(b)
	dst := make([]thresholds.Answer, len(xs))
	for b.Loop() {
		curve.Grade(dst, xs)
	}
	b.ReportMetric(float64(b.N)*float64(len(xs))/b.Elapsed().Seconds(), "pitches/s")
}

func preparedCurve(t testing.TB) (*thresholds.Curve, []float64) {
	t.Helper()
	curve, err := open(t).Curve(thresholds.Key{Hand: "left", Side: "left", PitchType: "four_seam", Variable: "velocity", Outcome: "whiff_rate"}, "")
	if err != nil || curve == nil {
		t.Fatal(curve, err)
	}
	xs := make([]float64, 10_000)
	for i := range xs {
		xs[i] = 86 + float64(i)*14e-4
	}
	return curve, xs
}

func TestSort(t *testing.T) {
	key := func(pitchType, variable, outcome, hand, side, stratum string) thresholds.Key {
		return thresholds.Key{Hand: hand, Side: side, PitchType: pitchType, Stratum: stratum, Variable: variable, Outcome: outcome}
	}
	want := []thresholds.Zone{
		{Key: key("four_seam", "velocity", "whiff_rate", "left", "left", ""), Reference: "a", Zone: 1},
		{Key: key("four_seam", "velocity", "whiff_rate", "left", "left", ""), Reference: "a", Zone: 2},
		{Key: key("four_seam", "velocity", "whiff_rate", "left", "left", ""), Reference: "b", Zone: 1},
		{Key: key("four_seam", "velocity", "whiff_rate", "left", "left", "early"), Reference: "a", Zone: 1},
		{Key: key("four_seam", "velocity", "whiff_rate", "left", "right", ""), Reference: "a", Zone: 1},
		{Key: key("four_seam", "velocity", "whiff_rate", "right", "left", ""), Reference: "a", Zone: 1},
		{Key: key("four_seam", "velocity", "woba_against", "left", "left", ""), Reference: "a", Zone: 1},
		{Key: key("four_seam", "extension", "whiff_rate", "left", "left", ""), Reference: "a", Zone: 1},
		{Key: key("four_seam", "unknown_a", "whiff_rate", "left", "left", ""), Reference: "a", Zone: 1},
		{Key: key("four_seam", "unknown_b", "whiff_rate", "left", "left", ""), Reference: "a", Zone: 1},
		{Key: key("cutter", "velocity", "whiff_rate", "left", "left", ""), Reference: "a", Zone: 1},
		{Key: key("changeup", "velocity", "whiff_rate", "left", "left", ""), Reference: "a", Zone: 1},
	}
	got := slices.Clone(want)
	slices.Reverse(got)
	got = append(got[5:], got[:5]...)
	thresholds.Sort(&thresholds.Tables{Zones: got}, []string{"velocity", "extension"})
	if d := cmp.Diff(want, got); d != "" {
		t.Error(d)
	}
	low, high := 1.0, 2.0
	bins := []thresholds.Bin{{Kind: "missing"}, {Kind: "open_high", Lower: &high}, {Kind: "regular", Lower: &high}, {Kind: "regular", Lower: &low}, {Kind: "open_low"}}
	thresholds.Sort(&thresholds.Tables{Bins: bins}, nil)
	var kinds []string
	for _, b := range bins {
		kinds = append(kinds, b.Kind)
	}
	if d := cmp.Diff([]string{"open_low", "regular", "regular", "open_high", "missing"}, kinds); d != "" || *bins[1].Lower != 1 {
		t.Error(d)
	}
	faced := []thresholds.Opponent{{Variable: "velocity", Lower: &high}, {Variable: "velocity", Lower: &low}, {}}
	thresholds.Sort(&thresholds.Tables{Opponents: faced}, []string{"velocity"})
	if faced[0].Variable != "" || faced[1].Lower != &low || faced[2].Lower != &high {
		t.Errorf("opponents in the order %+v", faced)
	}
}

func TestSemver(t *testing.T) {
	for _, s := range []string{"", "1.0.0", "v1", "v1.0", "v01.0.0", "v1.0.0-x", "v1.0.0\n", "v1.0.-1", "../v1.0.0", "v1.0.1234567"} {
		if v, err := thresholds.ParseSemver(s); err == nil {
			t.Errorf("%q was read as %s", s, v)
		}
	}
	a, err1 := thresholds.ParseSemver("v1.2.10")
	b, err2 := thresholds.ParseSemver("v1.10.2")
	if err1 != nil || err2 != nil || a.Compare(b) != -1 || b.Compare(a) != 1 || a.Compare(a) != 0 || a.String() != "v1.2.10" {
		t.Errorf("%v %v %v %v", a, b, err1, err2)
	}
}

// FuzzOpen changes any file of a version and seals it again, so that the
// parsers behind the checksums are reached: Open and Load never panic.
func FuzzOpen(f *testing.F) {
	whole := alone(f)
	for _, name := range []string{thresholds.ManifestFile, thresholds.SumsFile, "verdicts.json", "zones.json", "curves.json"} {
		f.Add(name, whole[name].Data)
	}
	f.Add("curves.json", []byte(`{"schema_version":"1.0","resource":"curves","columns":[],"rows":[{"x":null}]}`))
	f.Fuzz(func(t *testing.T, name string, data []byte) {
		m := alone(t)
		if _, ok := m[name]; !ok {
			return
		}
		if name != thresholds.ManifestFile && name != thresholds.SumsFile {
			swap(m, name, data)
		} else if m[name] = (&fstest.MapFile{Data: data}); name == thresholds.ManifestFile {
			seal(m, data)
		}
		table, err := thresholds.OpenFS(m)
		if err != nil {
			return
		}
		if tables, err := table.Load(); err == nil {
			for _, v := range tables.Verdicts {
				if _, err := table.Lookup(v.Key, v.Reference, 93); err != nil {
					t.Error(err)
				}
			}
		}
	})
}

// swap puts other content in place of a file and seals the version again.
func swap(m fstest.MapFS, name string, data []byte) {
	old, now := hexOf(m[name].Data), hexOf(data)
	manifest := strings.Replace(string(m[thresholds.ManifestFile].Data), old, now, 1)
	manifest = strings.Replace(manifest, fmt.Sprintf("\"path\": %q,\n      \"bytes\": %d", name, len(m[name].Data)),
		fmt.Sprintf("\"path\": %q,\n      \"bytes\": %d", name, len(data)), 1)
	m[thresholds.SumsFile] = &fstest.MapFile{Data: []byte(strings.Replace(string(m[thresholds.SumsFile].Data), old, now, 1))}
	seal(m, []byte(manifest))
	m[name] = &fstest.MapFile{Data: data}
}

func hexOf(b []byte) string {
	h := sha256.Sum256(b)
	return hex.EncodeToString(h[:])
}
