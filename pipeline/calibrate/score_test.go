package calibrate

import (
	"math"
	"runtime"
	"slices"
	"testing"

	"gonum.org/v1/gonum/stat"

	"sill/pipeline/demo"
	"sill/pipeline/locate"
	"sill/pipeline/pitch"
	"sill/pipeline/thresholds"
	"sill/stats/calibrate"
)

var speed = thresholds.Key{Hand: "left", Side: "left", PitchType: "four_seam", Variable: "velocity", Outcome: "whiff_rate"}

// toy is the truth of one curve: bad below 90, good to 95, bad above.
func toy() *truth {
	c := curve{speed, demo.TypeMedian}
	level := c
	level.Variable = ""
	return &truth{
		crossings: map[curve][]crossing{c: {{90, true, .3}, {95, false, .02}}},
		lobes:     map[curve][]lobe{c: {{-1, 0, .3}, {+1, .3, .98}, {-1, .98, 1}}},
		levels:    map[curve]float64{level: .01},
		lines:     map[line]float64{{kind: "four_seam", outcome: "whiff_rate", reference: demo.TypeMedian}: .25},
	}
}

// table has one verdict and, where not nil, zones.
func table(verdict string, zones ...thresholds.Zone) *thresholds.Tables {
	one := func(v float64) *float64 { return &v }
	for i := range zones {
		zones[i].Key, zones[i].Reference = speed, demo.TypeMedian
	}
	return &thresholds.Tables{
		Verdicts: []thresholds.Verdict{{Key: speed, Reference: demo.TypeMedian, Verdict: verdict,
			LevelVerdict: locate.Below, LevelLo: one(-.03), LevelHi: one(-.01)}},
		Zones: zones,
		References: []thresholds.Reference{
			{PitchType: "four_seam", Outcome: "whiff_rate", Reference: demo.TypeMedian, Lo: one(.24), Hi: one(.26)},
			{PitchType: "four_seam", Outcome: "whiff_rate", Reference: "fixed", Lo: one(.24), Hi: one(.26)},
		},
	}
}

// rising is the zone above a breakpoint and the one below it.
func rising(x float64, lo, hi *float64, weak bool) []thresholds.Zone {
	return []thresholds.Zone{
		{Zone: 1, Sign: -1, LowerKind: "open", UpperKind: "edge", Upper: &x, UpperLo: lo, UpperHi: hi},
		{Zone: 2, Sign: +1, LowerKind: "edge", Lower: &x, LowerLo: lo, LowerHi: hi, UpperKind: "open", Weak: weak},
	}
}

func TestScore(t *testing.T) {
	lo, hi, past := 89., 91., 90.5
	told := crossingFound + demo.TypeMedian + ", " + speed.Outcome
	for name, c := range map[string]struct {
		zones []thresholds.Zone
		held  bool
		open  bool
	}{
		"holds":          {rising(90.2, &lo, &hi, false), true, false},
		"misses":         {rising(90.8, &past, &hi, false), false, false},
		"not pinned":     {rising(90.8, &lo, nil, true), true, true},
		"wrong way only": {[]thresholds.Zone{{Sign: -1, LowerKind: "edge", Lower: &past, LowerLo: &lo, LowerHi: &hi, UpperKind: "open"}}, false, false},
	} {
		s := calibrate.NewScores()
		edges := toy().score(table(locate.Found, c.zones...), s)
		if len(edges) != 1 { // told by two zones, it is one edge
			t.Fatalf("%s: %d edges, want 1", name, len(edges))
		}
		if a := edges[0]; a.held != c.held || a.edge.open() != c.open || a.edge.weak {
			t.Errorf("%s: %+v", name, a)
		}
		class := classes[0].name
		if c.open {
			class = classes[2].name
		}
		want := calibrate.Share{Of: 1}
		if c.held {
			want.Hits = 1
		}
		for _, of := range []string{"all", demo.TypeMedian, demo.TypeMedian + ", whiff_rate", "velocity", class} {
			measure := edgesHeld + of
			if got := s.Share(measure); got != want {
				t.Errorf("%s: %s %+v, want %+v", name, measure, got, want)
			}
		}
		want = calibrate.Share{Hits: 1, Of: 1}
		if name == "wrong way only" {
			want.Hits = 0
		}
		if got := s.Share(told); got != want {
			t.Errorf("%s: %s %+v, want the crossing at 90 alone: %+v", name, told, got, want)
		}
	}
	// The direction decides, not the distance: a fall at 90.5 answers to 95.
	fall := edge{x: 90.5}
	if at := toy().nearest(curve{speed, demo.TypeMedian}, fall); at != 1 {
		t.Errorf("a fall at 90.5 answers to crossing %d, want 1", at)
	}
	none, s := toy(), calibrate.NewScores()
	none.crossings[curve{speed, demo.TypeMedian}] = []crossing{}
	edges := none.score(table(locate.Found, rising(90, &lo, &hi, false)...), s)
	if len(edges) != 1 || edges[0].to != -1 || edges[0].held {
		t.Errorf("an edge of a flat curve: %+v, want a false one that is not held", edges)
	}
	if got := s.Share(falseEdge); got != (calibrate.Share{Hits: 1, Of: 1}) {
		t.Errorf("%+v edges are false, want 1 of 1", got)
	}
}

func TestScoreVerdicts(t *testing.T) {
	for _, c := range []struct {
		verdict string
		lobes   []lobe
		wrong   bool
	}{
		{locate.AlwaysBeats, []lobe{{-1, 0, .3}, {+1, .3, 1}}, true},
		{locate.AlwaysBeats, []lobe{{-1, 0, .05}, {+1, .05, 1}}, false}, // outside the central nine tenths
		{locate.AlwaysBeats, []lobe{{-1, 0, .06}, {+1, .06, 1}}, false}, // a sliver
		{locate.AlwaysBeats, []lobe{{+1, 0, .92}, {-1, .92, 1}}, true},
		{locate.NeverBeats, []lobe{{-1, 0, 1}}, false},
		{locate.NeverBeats, []lobe{{+1, 0, 1}}, true},
		{locate.Found, []lobe{{-1, 0, .3}, {+1, .3, 1}}, false},
	} {
		truth, s := toy(), calibrate.NewScores()
		truth.lobes[curve{speed, demo.TypeMedian}] = c.lobes
		truth.score(table(c.verdict), s)
		want := calibrate.Share{Of: 1}
		if c.wrong {
			want.Hits = 1
		}
		if got := s.Share(wrongOfTested); got != want {
			t.Errorf("%s of %v: wrong %+v, want %+v", c.verdict, c.lobes, got, want)
		}
		if got := s.Share(wrongOfSaid); c.verdict != locate.Found && got != want {
			t.Errorf("%s of %v: wrong of those said %+v, want %+v", c.verdict, c.lobes, got, want)
		}
	}
	s := calibrate.NewScores()
	toy().score(table(locate.Found), s)
	never, always := calibrate.Share{Of: 1}, calibrate.Share{Hits: 1, Of: 1}
	if s.Share(wronglyBelow) != always || s.Share(wronglyAbove) != never || s.Share(levelHeld) != never {
		t.Errorf("a level of .01 said to be below: wrongly %+v, above %+v, held %+v",
			s.Share(wronglyBelow), s.Share(wronglyAbove), s.Share(levelHeld))
	}
	if got := s.Share(linesHeld + demo.TypeMedian); got != always {
		t.Errorf("lines %+v, want one that holds .25", got)
	}
}

// TestFewEdges: too few confirmed edges fail the run, whatever they cover.
func TestFewEdges(t *testing.T) {
	c := curve{speed, demo.TypeMedian}
	toys := func() *scored {
		r := scored{edges: make([][]answer, 2)}
		var results calibrate.Results
		for i := range r.edges {
			results = append(results, calibrate.NewScores())
			for range 900 {
				a := answer{curve: c, held: true}
				a.score(results[i])
				r.edges[i] = append(r.edges[i], a)
			}
		}
		r.Sheet = results.Sheet("toy")
		return &r
	}
	if err := toys().tell(1); err == nil {
		t.Error("1,800 edges pass, want an error")
	}
	if err := toys().tell(.1); err != nil {
		t.Errorf("at a tenth of the size 1,800 edges fail: %v", err)
	}
}

// TestTruthOf: every planted effect has its curve in the truth, and the empty
// qualities have no crossing.
func TestTruthOf(t *testing.T) {
	truth, err := truthOf(demo.Lantern())
	if err != nil {
		t.Fatal(err)
	}
	crossed, curves, both := 0, 0, 0
	for c, x := range truth.crossings {
		if isEmpty(c) && len(x) > 0 {
			t.Errorf("%v has crossings", c)
		}
		if c.Outcome == thresholds.Joint {
			both += len(x)
			continue
		}
		if c.reference == demo.TypeMedian {
			curves++
			if len(x) > 0 {
				crossed++
			}
		}
	}
	if curves != 14*4*8*2 || crossed < 300 || both < 100 {
		t.Errorf("%d curves, %d cross the median line; %d crossings of both lines at once", curves, crossed, both)
	}
	if len(truth.levels) != 2*4*8*2 {
		t.Errorf("%d levels", len(truth.levels))
	}
	s := demo.Lantern()
	s.BatterSpread++
	if _, err := truthOf(s); err == nil {
		t.Error("a league that was not measured has a truth")
	}
}

// TestMeetings: both outcomes beat their lines where a stretch of one meets one of the
// other; an end of the data is no crossing.
func TestMeetings(t *testing.T) {
	inf := math.Inf(1)
	got := meetings([]span{{-inf, 90}, {93, inf}}, []span{{88, 95}, {97, 98}})
	want := []crossing{{x: 88, up: true}, {x: 90}, {x: 93, up: true}, {x: 95}, {x: 97, up: true}, {x: 98}}
	if !slices.Equal(got, want) {
		t.Errorf("%+v", got)
	}
	if got := meetings([]span{{-inf, 90}}, []span{{90, inf}}); len(got) != 0 {
		t.Errorf("stretches that only touch meet: %+v", got)
	}
}

// TestFactsOf: each edge of a fact has a crossing of its direction within reach.
func TestFactsOf(t *testing.T) {
	truth, err := truthOf(demo.TradeFacts())
	if err != nil {
		t.Fatal(err)
	}
	list := factsOf(truth)
	if len(list) != 20 {
		t.Errorf("%d edges of facts, want 20", len(list))
	}
	for i, f := range list {
		at := []edge{{x: f.x + .9*f.near, up: f.up}, {x: f.x + .1*f.near, up: f.up}, {x: f.x, up: !f.up}, {x: f.x + 2*f.near, up: f.up}}
		if e := list[i].among(at); e != &at[1] {
			t.Errorf("%s: answers to %+v, want the nearest of its direction", f.name, e)
		}
	}
}

// TestFlatLeague: the stand-ins leave planted variables alone, stay alike within
// a pitcher, and do not depend on what they replace.
func TestFlatLeague(t *testing.T) {
	throw := func(speed, spin float64) (pitches []pitch.Pitch) {
		l := newFlatLeague(demo.Lantern(), 1)
		for i := range 4000 {
			p := pitch.Pitch{Pitcher: int32(i % 40), Hand: pitch.LeftHand, Side: pitch.LeftSide, Type: pitch.FourSeam}
			p.Num[pitch.Velocity], p.Num[pitch.SpinRate], p.Num[pitch.Extension] = speed, spin, pitch.Missing()
			l.alter(&p)
			pitches = append(pitches, p)
		}
		return pitches
	}
	a, b := throw(92, 2000), throw(95, 2500)
	var all, means []float64
	own := make([][]float64, 40)
	for i := range a {
		if a[i].Num[pitch.Velocity] != 92 || !pitch.IsMissing(a[i].Num[pitch.Extension]) {
			t.Fatalf("pitch %d: velocity %g is planted and extension %g missing, want both as they are", i, a[i].Num[pitch.Velocity], a[i].Num[pitch.Extension])
		}
		if a[i].Num[pitch.SpinRate] != b[i].Num[pitch.SpinRate] {
			t.Fatalf("pitch %d: the stand-in depends on what it replaces", i)
		}
		all = append(all, a[i].Num[pitch.SpinRate])
		own[i%40] = append(own[i%40], a[i].Num[pitch.SpinRate])
	}
	within := 0.0
	for _, x := range own {
		mean, sd := stat.MeanStdDev(x, nil)
		means, within = append(means, mean), within+sd/40
	}
	if _, between := stat.MeanStdDev(means, nil); between < 90 || between > 170 || within < 65 || within > 75 {
		t.Errorf("spin spreads by %.0f rpm between pitchers and %.0f within, want about 130 and 70", between, within)
	}
	if mean := stat.Mean(all, nil); mean < 2100 || mean > 2300 {
		t.Errorf("mean spin is %.0f", mean)
	}
	l := newFlatLeague(demo.Lantern(), 1)
	flat := speed
	flat.Variable = "extension"
	if l.flat(curve{speed, demo.TypeMedian}) || !l.flat(curve{flat, demo.TypeMedian}) {
		t.Error("velocity of left-handed four-seamers is planted, extension flat")
	}
	if !l.live["velocity"] || l.live["extension"] || l.live["release_side"] || l.live["spin_rate"] || len(l.live) != 4 {
		t.Errorf("live variables %v", l.live)
	}
}

// TestStudies runs every study but those of whole seasons and large leagues at a
// small size; bars give way by four Monte Carlo errors.
func TestStudies(t *testing.T) {
	if testing.Short() {
		t.Skip("plays leagues")
	}
	for name, sets := range map[string]float64{"leagues": 4. / leagueSets, "flat_leagues": 4. / flatSets} {
		at := slices.IndexFunc(Studies(), func(s calibrate.Study) bool { return s.Name == name })
		findings, err := Studies()[at].Run(t.Context(), calibrate.Options{Scale: sets, Workers: runtime.GOMAXPROCS(0), Seed: 7})
		if err != nil {
			t.Fatal(err)
		}
		for _, f := range findings {
			t.Logf("%s: %s %.4f ± %.4f of %d %s", name, f.Measure, f.Value, f.SE, f.Of, f.Bar)
			if f.Verdict(4) == calibrate.Missed {
				t.Errorf("%s: %s is %.4f ± %.4f of %d, want %s", name, f.Measure, f.Value, f.SE, f.Of, f.Bar)
			}
		}
	}
}
