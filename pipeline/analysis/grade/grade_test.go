package grade

import (
	"bytes"
	"encoding/csv"
	"encoding/json"
	"fmt"
	"math"
	"math/rand/v2"
	"reflect"
	"slices"
	"strings"
	"testing"

	"github.com/parquet-go/parquet-go"

	"sill/pipeline/analysis/answer"
	"sill/pipeline/pitch"
	"sill/pipeline/shape"
	"sill/pipeline/tally"
	"sill/pipeline/thresholds"
)

func near(t *testing.T, what string, got *float64, want, tolerance float64) {
	t.Helper()
	if got == nil || !(math.Abs(*got-want) <= tolerance) {
		t.Errorf("%s: got %v, want %v", what, show(got), want)
	}
}

func show(p *float64) any {
	if p == nil {
		return nil
	}
	return *p
}

// quality0 is the row of a pitcher's velocity by whiff rate.
func quality0(t *testing.T, r *Report, pitcher string) Quality {
	t.Helper()
	for _, q := range r.Qualities {
		if q.Pitcher == pitcher && q.Variable == "velocity" && q.Outcome == "whiff_rate" && q.Side == "left" {
			return q
		}
	}
	t.Fatalf("no quality of %s", pitcher)
	return Quality{}
}

// three is ten pitches each at 94.5, 93.2 and 91.4 mph: one third surely good, one
// third within the edge's interval, one third surely behind. The mean is 93.0333, the
// breakpoint 93; Σ(x−x̄)² = 10(1.4667² + .1667² + 1.6333²) = 48.4667. The mean expected
// advantage is .02·.0333.
func three(pitcher int) []some {
	return []some{
		{pitcher, pitch.LeftSide, pitch.FourSeam, 94.5, 10, 5, 0, 0},
		{pitcher, pitch.LeftSide, pitch.FourSeam, 93.2, 10, 2, 2, 3},
		{pitcher, pitch.LeftSide, pitch.FourSeam, 91.4, 10, 1, 1, 4},
	}
}

func TestByHand(t *testing.T) {
	y := yardstick(t)
	p := read(t, y, thrown(three(7)...))
	r := Grade(y, p, p)
	q := quality0(t, r, "p007")
	sd := math.Sqrt(48.466666667 / 29)
	near(t, "mean", q.Mean, 93.033333333, 1e-8)
	near(t, "sd", q.SD, sd, 1e-8)
	near(t, "certain", q.CertainShare, 1./3, 1e-12)
	near(t, "possible", q.PossibleShare, 2./3, 1e-12)
	near(t, "behind", q.BehindShare, 1./3, 1e-12)
	near(t, "beyond", q.BeyondShare, 0, 0)
	near(t, "breakpoint", q.Breakpoint, 93, 0)
	near(t, "distance", q.Distance, .033333333, 1e-8)
	// The breakpoint's limit above it is .5 away: the mean lies above.
	se := math.Hypot(sd/math.Sqrt(30), .5/1.959963985)
	near(t, "its error", q.DistanceSE, se, 1e-8)
	near(t, "in errors", q.DistanceInErrors, .033333333/se, 1e-7)
	near(t, "advantage", q.Advantage, .000666667, 1e-8)
	near(t, "lo", q.AdvantageLo, .000666667-half(), 1e-8)
	near(t, "hi", q.AdvantageHi, .000666667+half(), 1e-8)
	if q.Better != "above" || q.Verdict != "found" || q.Pitches != 30 || q.Percentile != nil || q.InSD != nil || q.Place != nil || !slices.Equal(q.Warnings, []string{"batters_unknown"}) {
		t.Errorf("%+v", q)
	}
	want := "Velocity 93.0\u00a0mph (30 pitches; 1 like pitcher, 12 needed for a percentile): too near the breakpoint 93.0\u00a0mph (92.6–93.5) to say on which side of it; whiff rate is better above it. " +
		"33\u00a0% of them lie where pitches surely beat the line, 67\u00a0% where they may."
	if q.Sentence != want {
		t.Errorf("%q", q.Sentence)
	}
	a := r.Arsenal[0]
	near(t, "whiffs seen", a.WhiffSeen, 8./30, 1e-12)
	near(t, "wOBA seen", a.WOBASeen, 3*.9/10, 1e-12)
	if a.Swings != 30 || a.Appearances != 10 || a.Share != 1 || a.Whiff != nil || a.EarlyShare != nil || a.Below != nil {
		t.Errorf("%+v", a)
	}

	// By counts the bin of 93.2 is split at 93.5, and the means are kept.
	p = counted(t, y, thrown(three(7)...))
	q = quality0(t, Grade(y, p, p), "p007")
	near(t, "mean of counts", q.Mean, 93.033333333, 1e-8)
	near(t, "sd of counts", q.SD, sd, 1e-6)
	near(t, "certain of counts", q.CertainShare, 1.5/3, 1e-12)
	near(t, "possible of counts", q.PossibleShare, 2./3, 1e-12)
	near(t, "advantage of counts", q.Advantage, .000666667, 1e-8)
}

// Of a curve that is inconclusive no zone is told and no standing; its expectation is.
func TestInconclusive(t *testing.T) {
	y := yardstick(t)
	p := read(t, y, thrown(three(7)...))
	for _, q := range Grade(y, p, p).Qualities {
		if q.Outcome != "woba_against" || q.Variable != "velocity" {
			continue
		}
		if q.CertainShare != nil || q.Breakpoint != nil || q.InSD != nil || q.Place != nil || q.Advantage == nil || q.Verdict != "inconclusive" {
			t.Errorf("%+v", q)
		}
		return
	}
	t.Error("no row")
}

// Values that no one throws enough of are beyond the data: no position, and no
// advantage where most lie there.
func TestBeyond(t *testing.T) {
	y := yardstick(t)
	p := read(t, y, thrown(some{1, pitch.LeftSide, pitch.FourSeam, 97, 20, 0, 0, 0}, some{1, pitch.LeftSide, pitch.FourSeam, 95, 10, 0, 0, 0}))
	q := quality0(t, Grade(y, p, p), "p001")
	near(t, "beyond", q.BeyondShare, 2./3, 1e-12)
	near(t, "certain", q.CertainShare, 1./3, 1e-12)
	if q.Advantage != nil {
		t.Errorf("advantage %v of pitches beyond the data", *q.Advantage)
	}
	if !strings.Contains(q.Sentence, "beyond what the league throws") {
		t.Error(q.Sentence)
	}
}

// Splitting a bin at the cuts of a curve gives what very many values spread evenly
// over it give.
func TestSharesOfBins(t *testing.T) {
	y := yardstick(t)
	of := &y.curves[answer.Cell{Hand: pitch.LeftHand, Side: pitch.LeftSide, Type: pitch.FourSeam}][0]
	rng := rand.New(rand.NewPCG(1, 2))
	for range 200 {
		lo := 89 + 8*rng.Float64()
		hi := lo + .1 + 2*rng.Float64()
		var split, values against
		split.add(of, 1, lo, hi, (lo+hi)/2)
		const n = 4000
		for i := range n {
			x := lo + (hi-lo)*(float64(i)+.5)/n
			values.add(of, 1./n, x, x, x)
		}
		sum := 0.0
		for p := range split.positions {
			sum += split.positions[p]
			if math.Abs(split.positions[p]-values.positions[p]) > 3./n {
				t.Fatalf("%g to %g, %v: %g against %g", lo, hi, thresholds.Position(p), split.positions[p], values.positions[p])
			}
		}
		if math.Abs(sum-1) > 1e-12 || math.Abs(split.possible-values.possible) > 3./n || split.possible < split.positions[thresholds.Inside]-1e-12 {
			t.Fatalf("%g to %g: sum %g, possible %g against %g", lo, hi, sum, split.possible, values.possible)
		}
	}
}

// Of evenly spaced pitchers the middle one stands at their mean and at the 50th
// percentile; limits stand where pitchers with such advantages would.
func TestStanding(t *testing.T) {
	y := yardstick(t)
	var rows []some
	for i := range 41 {
		rows = append(rows, some{i, pitch.LeftSide, pitch.FourSeam, 92 + .05*float64(i), 30, 0, 0, 0})
	}
	p := read(t, y, thrown(rows...))
	r := Grade(y, p, p)
	sd := .05 * math.Sqrt(41*42/12.) // of the numbers 0 to 40, in twentieths of a mph
	for i := range 41 {
		q := quality0(t, r, p.Pitchers[i][:4])
		near(t, "percentile", q.Percentile, 100*(float64(i)+.5)/41, 1e-9)
		near(t, "in SD", q.InSD, (.05*float64(i)-1)/sd, 1e-9)
		near(t, "place", q.Place, 100*(float64(i)+.5)/41, 1e-9)
		// An advantage of .02 a mph makes .001 from one pitcher to the next.
		near(t, "in SD, lower", q.InSDLo, (.05*float64(i)-1-half()/.02)/sd, 1e-6)
		near(t, "in SD, upper", q.InSDHi, (.05*float64(i)-1+half()/.02)/sd, 1e-6)
		near(t, "place, lower", q.PlaceLo, 100*max(0, math.Ceil(float64(i)-half()/.001))/41, 1e-9)
		near(t, "place, upper", q.PlaceHi, 100*min(41, math.Ceil(float64(i)+half()/.001))/41, 1e-9)
	}
	p030 := quality0(t, r, "p030")
	if got, want := p030.Standing(), "+0.8\u00a0SD\u00a0(−0.9\u00a0to\u00a0+2.6), 74th\u00a0percentile\u00a0(24th–99th) of 41"; got != want {
		t.Errorf("%q, want %q", got, want)
	}
	// By wOBA-against, which is not shown to change, there is an expectation and no standing.
	for _, q := range r.Qualities {
		if q.Variable == "velocity" && q.Outcome == "woba_against" && (q.InSD != nil || q.Place != nil || q.Standing() != "" || q.Advantage == nil || q.Percentile == nil) {
			t.Fatalf("%+v", q)
		}
	}
	if got := p030.Among(); got != "74th percentile of 41" {
		t.Errorf("%q", got)
	}
	// Nothing holds a far better one back; he is graded by the same peers.
	far := read(t, y, thrown(some{99, pitch.LeftSide, pitch.FourSeam, 95.9, 30, 0, 0, 0}))
	q := quality0(t, Grade(y, far, p), "p099")
	near(t, "far better", q.InSD, 2.9/sd, 1e-9)
	near(t, "best", q.Place, 100, 0)
	near(t, "fastest", q.Percentile, 100, 0)
	// Of twelve, one throws beyond the curve: eleven have an advantage.
	few := read(t, y, thrown(append(rows[:11:11], some{50, pitch.LeftSide, pitch.FourSeam, 97, 30, 0, 0, 0})...))
	if q := quality0(t, Grade(y, few, few), "p000"); q.InSD != nil || q.Percentile == nil || q.Standing() != "11 like pitchers, 12 needed" {
		t.Errorf("%+v", q)
	}
	// Eleven are no league: values and counts are told.
	few = read(t, y, thrown(rows[:11]...))
	if q := quality0(t, Grade(y, few, few), "p000"); q.InSD != nil || q.Place != nil || q.Percentile != nil || q.LikePitchers != 11 || q.PlacePitchers != 11 ||
		q.Mean == nil || q.Advantage == nil || q.Standing() != "" || q.Among() != "92.0\u00a0mph, 30 pitches; 11 like pitchers, 12 needed" {
		t.Errorf("%+v", q)
	}
}

// Order and sharing out of the pitches do not change a bit of any row.
func TestOrder(t *testing.T) {
	y := yardstick(t)
	rng := rand.New(rand.NewPCG(3, 4))
	var pitches []pitch.Pitch
	for range 4000 {
		p := blank()
		p.Pitcher = int32(rng.IntN(20))
		p.Side = []pitch.Side{pitch.LeftSide, pitch.RightSide}[rng.IntN(2)]
		p.Type = []pitch.Type{pitch.FourSeam, pitch.Slider}[rng.IntN(2)]
		p.Outcome = []pitch.Outcome{pitch.SwingingStrike, pitch.Foul, pitch.Ball, pitch.Pitchout}[rng.IntN(4)]
		p.Num[pitch.Velocity] = 92 + 2*rng.NormFloat64()
		p.Num[pitch.BallsBefore], p.Num[pitch.StrikesBefore] = float64(rng.IntN(4)), float64(rng.IntN(3))
		p.Num[pitch.PlateHeight], p.Num[pitch.ZoneTop], p.Num[pitch.ZoneBottom] = 1+3*rng.Float64(), 3.4, 1.6
		p.Num[pitch.PlateSide] = rng.NormFloat64()
		pitches = append(pitches, p)
	}
	text := func(workers int, order []int) string {
		r, _ := y.Read(fastOnly(t), workers)
		for i, at := range order {
			if err := r.Add(i%workers, pitches[at:at+1]); err != nil {
				t.Fatal(err)
			}
		}
		p, err := r.Population("harbour", names.Pitchers, theBook)
		if err != nil {
			t.Fatal(err)
		}
		b, err := json.Marshal(Grade(y, p, p).Body())
		if err != nil {
			t.Fatal(err)
		}
		return string(b)
	}
	forward := make([]int, len(pitches))
	for i := range forward {
		forward[i] = i
	}
	one := text(1, forward)
	if shuffled := text(3, rng.Perm(len(pitches))); shuffled != one {
		t.Error("another order, other rows")
	}
	// By counts what is thrown and done is the same but for pitchouts, which no bin
	// holds, and the means are the same within a quarter of a bin, though bins hold a pitch or two here.
	a, b := read(t, y, pitches), counted(t, y, pitches)
	exact, binned := Grade(y, a, a), Grade(y, b, b)
	for i := range exact.Qualities {
		x, z := &exact.Qualities[i], &binned.Qualities[i]
		if x.Mean != nil && (x.Pitches != z.Pitches || math.Abs(*x.Mean-*z.Mean) > .25*answer.Variable(x.Variable).Width) {
			t.Errorf("%s: %d pitches, mean %g by pitch; %d, %g by counts", x.Variable, x.Pitches, *x.Mean, z.Pitches, *z.Mean)
		}
	}
	for i := range exact.Arsenal {
		x, z := &exact.Arsenal[i], &binned.Arsenal[i]
		if x.Swings != z.Swings || x.Pitches >= z.Pitches || x.EarlyShare == nil || z.EarlyShare != nil {
			t.Errorf("%+v\n%+v", x, z)
		}
		for _, shares := range [][]*float64{{x.Below, x.Lower, x.Middle, x.Upper, x.Above}, {z.OffGlove, z.Glove, z.Centre, z.Arm, z.OffArm}} {
			sum := 0.0
			for _, s := range shares {
				sum += *s
			}
			if math.Abs(sum-1) > 1e-12 {
				t.Errorf("shares sum to %g", sum)
			}
		}
	}
}

// Shares by count are of the pitches in such counts; early ones have at most one ball
// or strike before them.
func TestCounts(t *testing.T) {
	y := yardstick(t)
	var pitches []pitch.Pitch
	add := func(kind pitch.Type, balls, strikes float64, n int) {
		for range n {
			p := blank()
			p.Type = kind
			p.Num[pitch.BallsBefore], p.Num[pitch.StrikesBefore] = balls, strikes
			pitches = append(pitches, p)
		}
	}
	add(pitch.FourSeam, 0, 0, 6)
	add(pitch.FourSeam, 1, 0, 2)
	add(pitch.Slider, 0, 1, 2)
	add(pitch.FourSeam, 3, 1, 5)
	add(pitch.FourSeam, 0, 2, 1)
	add(pitch.Slider, 3, 2, 3)
	p := read(t, y, pitches)
	for _, a := range Grade(y, p, p).Arsenal {
		switch a.PitchType {
		case "four_seam":
			near(t, "early", a.EarlyShare, .8, 1e-12)
			near(t, "two strikes", a.TwoStrikeShare, .25, 1e-12)
			near(t, "all", &a.Share, 14./19, 1e-12)
		case "slider":
			near(t, "early", a.EarlyShare, .2, 1e-12)
			near(t, "two strikes", a.TwoStrikeShare, .75, 1e-12)
		}
	}
}

// A kept split by count tells the shares with two strikes and no early ones.
func TestCountsKept(t *testing.T) {
	y := yardstick(t)
	strata, err := tally.StrataNamed([]string{"count"})
	if err != nil {
		t.Fatal(err)
	}
	b, err := tally.NewBuilder(fastOnly(t), strata, names, 1)
	if err != nil {
		t.Fatal(err)
	}
	var pitches []pitch.Pitch
	for i := range 12 {
		p := blank()
		p.Type = []pitch.Type{pitch.FourSeam, pitch.Slider}[i%2]
		p.Num[pitch.Velocity], p.Num[pitch.BallsBefore], p.Num[pitch.StrikesBefore] = 93, 1, float64(i%3)
		if i%6 == 5 {
			p.Type = pitch.FourSeam
		}
		pitches = append(pitches, p)
	}
	if err := b.Add(0, pitches); err != nil {
		t.Fatal(err)
	}
	counts, err := b.Tally()
	if err != nil {
		t.Fatal(err)
	}
	p, _, err := y.Of("harbour", counts, theBook)
	if err != nil {
		t.Fatal(err)
	}
	for _, a := range Grade(y, p, p).Arsenal {
		want := map[string]float64{"four_seam": 1, "slider": 0}[a.PitchType]
		near(t, a.PitchType+" with two strikes", a.TwoStrikeShare, want, 0)
		if a.EarlyShare != nil || a.Pitches != map[string]int64{"four_seam": 8, "slider": 4}[a.PitchType] {
			t.Errorf("%+v", a)
		}
	}
}

// Where a pitch went: thirds of the zone, and of the plate.
func TestLocations(t *testing.T) {
	y := yardstick(t)
	var pitches []pitch.Pitch
	for _, at := range [][2]float64{{1.5, -1}, {1.7, -.5}, {2.5, 0}, {2.5, .1}, {3.3, .5}, {3.5, .71}} {
		p := blank()
		p.Num[pitch.PlateHeight], p.Num[pitch.ZoneTop], p.Num[pitch.ZoneBottom], p.Num[pitch.PlateSide] = at[0], 3.4, 1.6, at[1]
		pitches = append(pitches, p)
	}
	p := read(t, y, pitches)
	a := Grade(y, p, p).Arsenal[0]
	for i, c := range []struct {
		got  *float64
		want float64
	}{{a.Below, 1}, {a.Lower, 1}, {a.Middle, 2}, {a.Upper, 1}, {a.Above, 1}, {a.OffGlove, 1}, {a.Glove, 1}, {a.Centre, 2}, {a.Arm, 1}, {a.OffArm, 1}} {
		near(t, []string{"below", "lower", "middle", "upper", "above", "off glove", "glove", "centre", "arm", "off arm"}[i], c.got, c.want/6, 1e-12)
	}
}

// placed is a pitch at a share of the batter's zone and so many feet to the arm side;
// NaN is unknown.
func placed(pitcher int32, side pitch.Side, share, across float64) pitch.Pitch {
	p := blank()
	p.Pitcher, p.Side = pitcher, side
	p.Num[pitch.ZoneBottom], p.Num[pitch.ZoneTop] = 1.5, 3.5
	p.Num[pitch.PlateHeight], p.Num[pitch.PlateSide] = 1.5+2*share, across
	return p
}

// placesOf are where an arsenal's pitches went, from low to high and from the glove
// side to the arm side.
func placesOf(a *Arsenal) [2][]*float64 {
	return [2][]*float64{{a.Below, a.Lower, a.Middle, a.Upper, a.Above}, {a.OffGlove, a.Glove, a.Centre, a.Arm, a.OffArm}}
}

// The stretches begin where they should: pitches a ten-thousandth below a third of
// the zone and above it are told apart, and so at the thirds of a plate 17 inches
// wide (Official Baseball Rules 2.02), ± 2.8333 and ± 8.5 inches from its middle.
func TestBordersOfPlaces(t *testing.T) {
	y := yardstick(t)
	for v, values := range [2][]struct {
		x    float64
		want int
	}{
		{{-.3, 0}, {-.0001, 0}, {0, 1}, {.3333, 1}, {.3334, 2}, {.6666, 2}, {.6667, 3}, {.9999, 3}, {1.0001, 4}, {1.4, 4}},
		{{-2, 0}, {-.7084, 0}, {-.7083, 1}, {-.2362, 1}, {-.2361, 2}, {0, 2}, {.2361, 2}, {.2362, 3}, {.7083, 3}, {.7084, 4}, {2, 4}},
	} {
		for _, c := range values {
			xs := [2]float64{.5, 0}
			xs[v] = c.x
			p := read(t, y, []pitch.Pitch{placed(7, pitch.LeftSide, xs[0], xs[1])})
			for i, got := range placesOf(&Grade(y, p, p).Arsenal[0])[v] {
				want := 0.
				if i == c.want {
					want = 1
				}
				near(t, fmt.Sprintf("%s %g, stretch %d", []string{"height", "across"}[v], c.x, i), got, want, 0)
			}
		}
	}
}

// Shares are of one pitcher's pitches to one side whose place is known; each axis has
// its own. By counts a bin that a border cuts is shared out by length: of the bin
// from .3 to .4 of the zone a third lies below 1/3; of that from −.8 to −.6 ft
// .09167/.2 lies beyond 8.5 inches, of that from .2 to .4 ft .03611/.2 within 8.5/3.
func TestMixOfPlaces(t *testing.T) {
	y := yardstick(t)
	none := math.NaN()
	pitches := []pitch.Pitch{
		placed(7, pitch.LeftSide, .35, -.75), placed(7, pitch.LeftSide, .35, .3), placed(7, pitch.LeftSide, .95, none), placed(7, pitch.LeftSide, -.05, none),
		placed(7, pitch.LeftSide, none, .3), placed(7, pitch.LeftSide, none, 0), placed(7, pitch.LeftSide, none, none),
		placed(7, pitch.RightSide, .65, none), placed(8, pitch.LeftSide, 1.2, 1.1),
	}
	type places [2][]float64
	for _, c := range []struct {
		how  string
		of   *Population
		want map[string]places
	}{
		{"by pitch", read(t, y, pitches), map[string]places{
			"p007 left":  {{1. / 4, 0, 2. / 4, 1. / 4, 0}, {1. / 4, 0, 1. / 4, 2. / 4, 0}},
			"p007 right": {{0, 0, 1, 0, 0}, nil},
			"p008 left":  {{0, 0, 0, 0, 1}, {0, 0, 0, 0, 1}},
		}},
		{"by counts", counted(t, y, pitches), map[string]places{
			"p007 left":  {{1. / 4, 2. / 3 / 4, 4. / 3 / 4, 1. / 4, 0}, {.458333333 / 4, .541666667 / 4, (1 + 2*.180555556) / 4, 2 * .819444444 / 4, 0}},
			"p007 right": {{0, 0, 2. / 3, 1. / 3, 0}, nil},
			"p008 left":  {{0, 0, 0, 0, 1}, {0, 0, 0, 0, 1}},
		}},
	} {
		rows := Grade(y, c.of, c.of).Arsenal
		if len(rows) != len(c.want) {
			t.Errorf("%s: %d rows", c.how, len(rows))
		}
		for i := range rows {
			who := rows[i].Pitcher + " " + rows[i].Side
			for v, got := range placesOf(&rows[i]) {
				for k, x := range got {
					what := fmt.Sprintf("%s, %s, axis %d, stretch %d", c.how, who, v, k)
					if want := c.want[who][v]; want != nil {
						near(t, what, x, want[k], 1e-8)
					} else if x != nil {
						t.Errorf("%s: %g of no pitch", what, *x)
					}
				}
			}
		}
	}
}

// A variable that is measured otherwise is not graded, and the notes say so.
func TestDefinitions(t *testing.T) {
	y := yardstick(t)
	vars := fastOnly(t)
	vars[0].Definition = "velocity/plate/mph"
	r, notes := y.Read(vars, 1)
	if len(notes) != 1 || !strings.Contains(notes[0], "velocity is not graded") || r.index[0] != -1 || r.index[1] != 1 {
		t.Error(notes, r.index)
	}
}

// Every table says the same in CSV and in Parquet.
func TestFormats(t *testing.T) {
	y := yardstick(t)
	var rows []some
	for i := range 15 {
		rows = append(rows, three(i)...)
		rows = append(rows, some{i, pitch.RightSide, pitch.FourSeam, 93, 40, i, 3, 9}, some{i, pitch.LeftSide, pitch.Slider, 84, 40, 3 * (i % 10), 2, 12})
	}
	p := read(t, y, thrown(rows...))
	r := Grade(y, p, p)
	held := func(table string, rows any, parquetRows func(*bytes.Reader) (any, error)) {
		t.Helper()
		var file, text bytes.Buffer
		if err := r.Parquet(&file, table); err != nil {
			t.Fatal(err)
		}
		if err := r.CSV(&text, table); err != nil {
			t.Fatal(err)
		}
		back, err := parquetRows(bytes.NewReader(file.Bytes()))
		if err != nil {
			t.Fatal(err)
		}
		a, _ := json.Marshal(rows)
		b, _ := json.Marshal(back)
		if s := strings.ReplaceAll(string(b), "null,", ""); len(s) == 0 || string(a) != string(b) {
			t.Errorf("%s: read back\n%.300s\nwant\n%.300s", table, b, a)
		}
		records, err := csv.NewReader(&text).ReadAll()
		if n := reflect.ValueOf(rows).Len(); err != nil || len(records) != n+1 || n == 0 {
			t.Errorf("%s: %d records of %d rows, %v", table, len(records), n, err)
		}
	}
	held("qualities", r.Qualities, func(b *bytes.Reader) (any, error) { return readAll[Quality](b) })
	held("arsenal", r.Arsenal, func(b *bytes.Reader) (any, error) { return readAll[Arsenal](b) })
	held("platoon", r.Platoon, func(b *bytes.Reader) (any, error) { return readAll[Platoon](b) })
	held("pairs", r.Pairs, func(b *bytes.Reader) (any, error) { return readAll[Pair](b) })
}

// readAll reads rows, with empty lists as they are written in JSON.
func readAll[T any](b *bytes.Reader) ([]T, error) {
	rows, err := parquet.Read[T](b, b.Size())
	for i := range rows {
		v := reflect.ValueOf(&rows[i]).Elem()
		for j := range v.NumField() {
			if f := v.Field(j); f.Kind() == reflect.Slice && f.IsNil() {
				f.Set(reflect.MakeSlice(f.Type(), 0, 0))
			}
		}
	}
	return rows, err
}

// Single pitches: every row in order, with the answers of the published table itself.
func TestSingle(t *testing.T) {
	table := harbour(t)
	y, err := NewYardstick(table)
	if err != nil {
		t.Fatal(err)
	}
	pitches := thrown(three(3)...)
	odd := blank()
	odd.Outcome = pitch.IntentionalBall
	unmeasured := blank()
	pitches = append(pitches, odd, unmeasured)
	write := func(format string) []byte {
		var b bytes.Buffer
		w, _, err := y.Pitches(&b, format, tally.Names{Pitchers: names.Pitchers}, []shape.Variable{fastOnly(t)[0]})
		if err != nil {
			t.Fatal(err)
		}
		if err := w.Add(0, pitches); err != nil {
			t.Fatal(err)
		}
		if err := w.Close(); err != nil {
			t.Fatal(err)
		}
		return b.Bytes()
	}
	records, err := csv.NewReader(bytes.NewReader(write(CSVFormat))).ReadAll()
	if err != nil || len(records) != 32 {
		t.Fatalf("%d records, %v", len(records), err)
	}
	head := records[0]
	at := func(name string) int { return slices.Index(head, name) }
	type row struct {
		Pitcher  string   `parquet:"pitcher"`
		Velocity *float64 `parquet:"velocity,optional"`
		Position string   `parquet:"velocity_whiff_rate_position"`
		Gain     *float64 `parquet:"velocity_whiff_rate_advantage,optional"`
	}
	file := write(ParquetFormat)
	rows, err := parquet.Read[row](bytes.NewReader(file), int64(len(file)))
	if err != nil || len(rows) != 31 {
		t.Fatalf("%d rows, %v", len(rows), err)
	}
	for i, r := range rows[:30] {
		x := pitches[i].Num[pitch.Velocity]
		answer, err := table.Lookup(key0("left", "velocity", "whiff_rate"), Reference, x)
		if err != nil {
			t.Fatal(err)
		}
		if r.Pitcher != "p003" || *r.Velocity != x || r.Position != answer.Position.String() || math.Abs(*r.Gain-.02*(x-93)) > .5000001e-6 {
			t.Errorf("%+v, want %v %s", r, x, answer.Position)
		}
		rec := records[i+1]
		if rec[at("pitcher")] != r.Pitcher || rec[at("velocity_whiff_rate_position")] != r.Position || rec[at("velocity_woba_against_position")] != "no_threshold" {
			t.Errorf("%q", rec)
		}
	}
	if last := rows[30]; last.Velocity != nil || last.Gain != nil || last.Position != "no_threshold" || records[31][at("velocity")] != "" {
		t.Errorf("%+v %q", last, records[31])
	}
}
