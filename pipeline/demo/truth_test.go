package demo

import (
	"bytes"
	"compress/gzip"
	"context"
	"encoding/json"
	"flag"
	"math"
	"math/bits"
	"os"
	"path/filepath"
	"testing"
	"time"
)

var measure = flag.Bool("measure", false, "measure the estimands of the leagues anew and write them to truth/")
var measureLeague = flag.String("league", "", "measure this league alone")
var measureSeasons = flag.Int("seasons", 100, "size of a measured population, in seasons of the Lantern League")

// TestMeasureTruth is the command that writes the truth files; without its
// flag it does nothing.
func TestMeasureTruth(t *testing.T) {
	if !*measure {
		t.Skip("run with -measure to write the truth files anew")
	}
	for _, s := range []Scenario{Lantern(), TradeFacts(), Kestrel()} {
		if *measureLeague != "" && *measureLeague != s.Name {
			continue
		}
		seasons := *measureSeasons * Lantern().Pitches / s.Pitches
		start := time.Now()
		truth, err := Population(context.Background(), s, 1_000_000, seasons)
		if err != nil {
			t.Fatal(err)
		}
		text, err := json.Marshal(truth)
		if err != nil {
			t.Fatal(err)
		}
		var b bytes.Buffer
		z, _ := gzip.NewWriterLevel(&b, gzip.BestCompression)
		if _, err := z.Write(text); err != nil {
			t.Fatal(err)
		}
		if err := z.Close(); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(filepath.Join("truth", s.Name+".json.gz"), b.Bytes(), 0o644); err != nil {
			t.Fatal(err)
		}
		t.Logf("%s: %d seasons, %d pitches, %d bytes, %v", s.Name, seasons, truth.Population.Pitches, b.Len(), time.Since(start))
	}
}

// TestMeasuredTruth measures a small population again, from other seeds, and
// holds the embedded estimand against it: every line, and the edges of strong
// curves, within what so small a population can tell.
func TestMeasuredTruth(t *testing.T) {
	if testing.Short() {
		t.Skip("plays three seasons")
	}
	s := Lantern()
	truth, err := TruthOf(s)
	if err != nil {
		t.Fatal(err)
	}
	again, err := Population(context.Background(), s, 77, 3)
	if err != nil {
		t.Fatal(err)
	}
	if len(truth.Lines) == 0 || len(truth.Lines) != len(again.Lines) || len(truth.Zones) != len(again.Zones) {
		t.Fatalf("%d lines and %d curves, measured again %d and %d", len(truth.Lines), len(truth.Zones), len(again.Lines), len(again.Zones))
	}
	for i, l := range truth.Lines {
		m := again.Lines[i]
		l.Value, m.Value = 0, 0
		if l != m {
			t.Fatalf("line %+v stands where %+v is measured", l, m)
		}
		far := .02 // lines of a matchup rest on few pitchers
		if l.Matchup != "" {
			far = .06
		}
		if d := truth.Lines[i].Value - again.Lines[i].Value; math.Abs(d) > far {
			t.Errorf("%+v is off by %.3f", truth.Lines[i], d)
		}
	}
	compared := 0
	for i, z := range truth.Zones {
		a := again.Zones[i]
		if z.Type != a.Type || z.Matchup != a.Matchup || z.Variable != a.Variable || z.Outcome != a.Outcome || z.Reference != a.Reference {
			t.Fatalf("curve %d: %+v against %+v", i, z, a)
		}
		// Strong curves of big cells: two stretches, each high and wide.
		strong := z.Variable == "velocity" && len(z.Lobes) == 2 && (z.Type == "four_seam" || z.Type == "sinker") && z.Outcome == "whiff_rate"
		for _, l := range z.Lobes {
			strong = strong && l.Peak > .05 && l.Share > .2
		}
		if !strong {
			continue
		}
		compared++
		edges, sign := a.main()
		if len(edges) != 1 || sign != z.Lobes[0].Sign || math.Abs(edges[0]-z.Lobes[1].Lower) > .8 {
			t.Errorf("%s %s %s: %+v, measured again %+v", z.Type, z.Matchup, z.Reference, z.Lobes, a.Lobes)
		}
	}
	if compared < 10 {
		t.Errorf("only %d strong curves were compared", compared)
	}
}

// main returns the edges between the stretches that hold pitches, and the sign
// of the first: in a far tail, where hardly any is thrown, a curve may cross
// once more.
func (z *TrueZones) main() (edges []float64, sign int) {
	for _, l := range z.Lobes {
		if l.Share <= .02 {
			continue
		}
		if sign == 0 {
			sign = l.Sign
		} else {
			edges = append(edges, l.Lower)
		}
	}
	return edges, sign
}

// TestFactsStand holds the measured estimand of the Almanac League to the
// facts it was made for: right structure, each edge within a third of what
// its interval may be wide (2 mph, 2 in, .5 deg).
func TestFactsStand(t *testing.T) {
	truth, err := TruthOf(TradeFacts())
	if err != nil {
		t.Fatal(err)
	}
	if truth.Population == nil {
		t.Fatal("the facts are not measured: run the command in truth.go")
	}
	for _, f := range Facts() {
		found := false
		for _, z := range truth.Zones {
			if z.Type != f.Type.String() || z.Variable != f.Quality.String() || z.Outcome != "whiff_rate" || z.Reference != TypeMedian ||
				z.Matchup != matchupNames[bits.TrailingZeros8(uint8(f.Matchup))] {
				continue
			}
			found = true
			wide := 2.
			if f.Quality.Unit() == "deg" {
				wide = .5
			}
			edges, sign := z.main()
			if len(edges) != len(f.Edges) || sign != f.Sign {
				t.Errorf("%s: edges %v, want %v", f.Sentence, z.Lobes, f.Edges)
				continue
			}
			for i := range edges {
				if math.Abs(edges[i]-f.Edges[i]) > wide/3 {
					t.Errorf("%s: the estimand crosses at %v, want %v", f.Sentence, edges, f.Edges)
				}
			}
		}
		if !found {
			t.Errorf("%s: no such curve in the truth", f.Sentence)
		}
	}
}

// TestTruthOfAnother gives the structure alone for a scenario that was not
// measured, rather than the estimand of another one.
func TestTruthOfAnother(t *testing.T) {
	for _, s := range []Scenario{Lantern(), Kestrel(), TradeFacts()} {
		own, err := TruthOf(s)
		if err != nil || own.Population == nil || own.Structure != fingerprint(&s) {
			t.Errorf("%s is not measured under its present structure: run the command in truth.go (%v)", s.Name, err)
		}
		s.Effects = append([]Effect(nil), s.Effects...)
		s.Effects[0].At++
		other, err := TruthOf(s)
		if err != nil || other.Population != nil || len(other.Zones) != 0 {
			t.Errorf("%s, changed: the truth of another scenario is given", s.Name)
		}
	}
}

// TestLobes cuts curves that are known.
func TestLobes(t *testing.T) {
	x, f, mass := []float64{}, []float64{}, []float64{}
	for v := -4.; v <= 4.001; v += .25 {
		x, f, mass = append(x, v), append(f, .3+.1*math.Sin(v)), append(mass, (v+4)/8)
	}
	l := lobes(x, f, mass, .3, +1)
	if len(l) != 4 || l[0].Sign != +1 || math.Abs(l[1].Lower+math.Pi) > .01 || math.Abs(l[2].Lower) > .01 || math.Abs(l[3].Lower-math.Pi) > .01 {
		t.Errorf("a sine gives %+v", l)
	}
	for i, mirrored := range lobes(x, f, mass, .3, -1) {
		if mirrored.Sign != -l[i].Sign || mirrored.Lower != l[i].Lower {
			t.Errorf("turned round it gives %+v", mirrored)
		}
	}
	f[16] = .299 // a speck of noise at 0, where the curve crosses anyway
	f[20] = .2985
	l = lobes(x, f, mass, .3, +1)
	if len(l) != 4 || math.Abs(l[2].Lower) > .3 {
		t.Errorf("with noise it gives %+v", l)
	}
}
