package trial

import (
	"bytes"
	"encoding/csv"
	"math"
	"math/rand/v2"
	"reflect"
	"strings"
	"testing"

	"sill/pipeline/pitch"
	"sill/pipeline/render/words"
	"sill/pipeline/tally"
	"sill/pipeline/thresholds"
	"sill/stats"
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

// byHand: five pitchers with ten swings on either side of 93 mph.
func byHand() []swings {
	var out []swings
	for p, w := range [5][2]int{{4, 2}, {5, 1}, {3, 3}, {4, 2}, {4, 2}} {
		out = append(out, swings{pitcher: int32(p), batter: -1, mph: 94.2, n: 10, whiffs: w[0]}, swings{pitcher: int32(p), batter: -1, mph: 91.3, n: 10, whiffs: w[1]})
	}
	return out
}

// Whiffs 20 and 10 of 50, so d = .2; ψ_in − ψ_out = (0, 2, −2, 0, 0)/40, so
// V = 4/5·8/1600 = .004; each side has V = 4/5·2/1600 and five effective pitchers,
// so df = 8 and t = 2.306004. Within: the five differences .2, .4, 0, .2, .2 weigh
// alike, so the error is that of their mean, √(.02/5), df = 4 and t = 2.776445.
func TestByHand(t *testing.T) {
	r := Try([]Claim{fast(atLeast(93))}, league(counted(t, byHand()))).Rows[0]
	near(t, "rate inside", r.RateIn, .4, 1e-12)
	near(t, "rate outside", r.RateOut, .2, 1e-12)
	near(t, "advantage", r.Advantage, .2, 1e-12)
	near(t, "df", r.DF, 8, 1e-9)
	near(t, "lo", r.AdvantageLo, .2-2.306004*math.Sqrt(.004), 1e-7)
	near(t, "hi", r.AdvantageHi, .2+2.306004*math.Sqrt(.004), 1e-7)
	near(t, "within", r.WithinD, .2, 1e-12)
	near(t, "within lo", r.WithinLo, .2-2.776445*math.Sqrt(.004), 1e-7)
	near(t, "within hi", r.WithinHi, .2+2.776445*math.Sqrt(.004), 1e-7)
	if r.Verdict != "holds_clearly" || r.Within != Shown || r.EventsIn != 50 || r.PitchersOut != 5 || r.Seasons != 1 || r.ByBatters || *r.Q != *r.P {
		t.Errorf("%+v", r.Columns)
	}
	// The other way round everything turns its sign.
	turned := Try([]Claim{fast(Region{Kind: AtMost, A: 93})}, league(counted(t, byHand()))).Rows[0]
	near(t, "turned", turned.AdvantageHi, -*r.AdvantageLo, 1e-12)
	near(t, "turned within", turned.WithinHi, -*r.WithinLo, 1e-12)
	if turned.Verdict != "does_not_hold" || !strings.Contains(turned.Sentence, "the other way round") {
		t.Errorf("%s: %s", turned.Verdict, turned.Sentence)
	}
}

// A region outside two bounds lies on both sides of them. Whiffs: 20 of 50 at 91.3
// mph, 10 of 50 at 93.5, 30 of 50 at 95.2; so outside 92 and 94 they are 50 of 100,
// against 10 of 50 between. Below 92 alone nothing would be gained: 20 of 50 against
// 40 of 100. A pitcher's own differences are .3, .45, .15, .3, .3 and weigh alike.
func TestOutsideByHand(t *testing.T) {
	var rows []swings
	for p, w := range [5][3]int{{4, 2, 6}, {5, 1, 6}, {3, 3, 6}, {4, 2, 6}, {4, 2, 6}} {
		for k, mph := range []float64{91.3, 93.5, 95.2} {
			rows = append(rows, swings{pitcher: int32(p), batter: -1, mph: mph, n: 10, whiffs: w[k]})
		}
	}
	c := fast(Region{Outside, 92, 94})
	for how, counts := range map[string]*tally.Tally{"by bins": counted(t, rows), "exactly": counted(t, rows, c)} {
		r := Try([]Claim{c}, league(counts)).Rows[0]
		if r.EventsIn != 100 || r.EventsOut != 50 || r.Tried != "outside 92 and 94" {
			t.Errorf("%s: %d events inside, %d outside, tried %s", how, r.EventsIn, r.EventsOut, r.Tried)
		}
		near(t, how+": rate inside", r.RateIn, .5, 1e-12)
		near(t, how+": rate outside", r.RateOut, .2, 1e-12)
		near(t, how+": advantage", r.Advantage, .3, 1e-12)
		near(t, how+": within", r.WithinD, .3, 1e-12)
		between := Try([]Claim{fast(Region{Between, 92, 94})}, league(counts)).Rows[0]
		if how == "by bins" {
			near(t, "between", between.Advantage, -.3, 1e-12)
		}
	}
}

// random is a league in which a pitcher's rate goes with his velocity.
func random(pitchers int) []swings {
	rng := rand.New(rand.NewPCG(3, 9))
	var out []swings
	for p := range pitchers {
		mean := 93 + 1.5*rng.NormFloat64()
		for range 60 {
			x := mean + .8*rng.NormFloat64()
			w := 0
			if rng.Float64() < .2+.02*(x-93) {
				w = 1
			}
			out = append(out, swings{pitcher: int32(p), batter: int32(rng.IntN(200)), mph: x, n: 1, whiffs: w})
		}
	}
	return out
}

// The same pitchers' difference is the slope on the indicator of the region, with
// its error.
func TestWithinIsTheSlopeInside(t *testing.T) {
	rows := random(40)
	r := Try([]Claim{fast(atLeast(93))}, league(counted(t, rows))).Rows[0]
	var x, y []float64
	var cluster []int
	sides := map[int32][2]int{}
	for _, s := range rows {
		side := sides[s.pitcher]
		k := 0
		if s.mph >= 93 {
			k = 1
		}
		side[k]++
		sides[s.pitcher] = side
	}
	both := 0
	for _, s := range sides {
		if s[0] > 0 && s[1] > 0 {
			both++
		}
	}
	for _, s := range rows {
		if side := sides[s.pitcher]; side[0] > 0 && side[1] > 0 {
			above := 0.
			if s.mph >= 93 {
				above = 1
			}
			x, y, cluster = append(x, above), append(y, float64(s.whiffs)), append(cluster, int(s.pitcher))
		}
	}
	want, err := stats.WithinBetween(x, y, nil, cluster)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "within", r.WithinD, want.Within.Value, 1e-9)
	if r.WithinBoth != int64(both) {
		t.Errorf("%d pitchers on both sides, want %d", r.WithinBoth, both)
	}
	weights := []float64{}
	for _, s := range sides {
		if s[0] > 0 && s[1] > 0 {
			weights = append(weights, float64(s[0]*s[1])/float64(s[0]+s[1]))
		}
	}
	half := stats.TQuantile(.975, stats.EffectiveNumber(weights)-1) * want.Within.SE
	near(t, "its limit", r.WithinHi, want.Within.Value+half, 1e-9)
}

// On the edges of bins both ways of counting agree; off them the exact one is exact
// and the other says what it tried.
func TestExact(t *testing.T) {
	rows := random(40)
	for _, x := range []float64{92, 93, 93.4, 94} { // on the bounds
		rows = append(rows, swings{pitcher: 1, batter: 1, mph: x, n: 3, whiffs: 1})
	}
	for _, region := range []Region{atLeast(93), {Kind: AtMost, A: 92}, {Between, 92, 94}, {Outside, 92, 94}} {
		c := fast(region)
		binned := Try([]Claim{c}, league(counted(t, rows))).Rows[0]
		exact := Try([]Claim{c}, league(counted(t, rows, c))).Rows[0]
		if !reflect.DeepEqual(binned.Columns, exact.Columns) {
			t.Errorf("%v: by bins %+v, exactly %+v", region, binned.Columns, exact.Columns)
		}
	}
	c := fast(atLeast(93.4))
	binned := Try([]Claim{c}, league(counted(t, rows))).Rows[0]
	exact := Try([]Claim{c}, league(counted(t, rows, c, fast(Region{Between, 90, 93.4})))).Rows[0]
	above := int64(0)
	for _, s := range rows {
		if s.mph >= 93.4 {
			above += int64(s.n)
		}
	}
	if exact.EventsIn != above || exact.Rounded || exact.Tried != "at least 93.4" {
		t.Errorf("exactly: %d events of %d, tried %s", exact.EventsIn, above, exact.Tried)
	}
	if binned.EventsIn <= above || !binned.Rounded || binned.Tried != "at least 93" || len(binned.Cautions) != 1 {
		t.Errorf("by bins: %d events, tried %s, %q", binned.EventsIn, binned.Tried, binned.Cautions)
	}
}

// Batters as clusters widen the interval where they differ.
func TestBatters(t *testing.T) {
	rows := random(40)
	for i := range rows { // two batters miss everything slow, or everything fast
		if b := rows[i].batter; b < 8 {
			rows[i].whiffs = int(b) % 2
			if rows[i].mph >= 93 {
				rows[i].whiffs = 1 - int(b)%2
			}
		}
		rows[i].batter %= 8
	}
	l := league(counted(t, rows))
	two := Try([]Claim{fast(atLeast(93))}, l).Rows[0]
	l.Batters = false
	one := Try([]Claim{fast(atLeast(93))}, l).Rows[0]
	if !two.ByBatters || one.ByBatters || !(*two.AdvantageHi > *one.AdvantageHi) || *two.Advantage != *one.Advantage {
		t.Errorf("two ways %v, one %v", *two.AdvantageHi, *one.AdvantageHi)
	}
	if len(two.Cautions) != 0 || len(one.Cautions) != 1 {
		t.Errorf("cautions %q and %q", two.Cautions, one.Cautions)
	}
}

// Too few data give a verdict and no number; a variable that is not counted, or
// counted otherwise, gives neither.
func TestTooFew(t *testing.T) {
	l := league(counted(t, byHand()))
	high, spin, other := fast(atLeast(99)), fast(atLeast(2200)), fast(atLeast(93))
	spin.Variable, other.Definition = "spin_rate", "velocity/50ft/mph"
	tried := Try([]Claim{high, spin, other, fast(atLeast(93))}, l)
	for i, want := range []string{"underpowered", "not_measured", "not_measured", "holds_clearly"} {
		r := tried.Rows[i]
		if r.Verdict != want || r.Sentence == "" {
			t.Errorf("claim %d: %s: %s", i+1, r.Verdict, r.Sentence)
		}
		if i == 3 {
			break
		}
		for _, n := range []*float64{r.RateIn, r.RateOut, r.Advantage, r.AdvantageLo, r.AdvantageHi, r.P, r.Q, r.DF, r.WithinD} {
			if n != nil {
				t.Errorf("claim %d has a number: %+v", i+1, r.Columns)
			}
		}
	}
	if !tried.Rows[0].TooFew || tried.Fails() || !tried.Unsettled() {
		t.Errorf("%s", tried.Summary())
	}
	// Neither is a test of the family.
	if q, p := *tried.Rows[3].Q, *tried.Rows[3].P; q != p {
		t.Errorf("q %v of p %v: the family is one claim", q, p)
	}
}

// One claim that would hold alone does not among many.
func TestFamily(t *testing.T) {
	l := league(counted(t, byHand()))
	alone := Try([]Claim{fast(atLeast(93))}, l).Rows[0]
	if alone.Verdict != "holds" && alone.Verdict != "holds_clearly" {
		t.Fatalf("%s (%v to %v)", alone.Verdict, *alone.AdvantageLo, *alone.AdvantageHi)
	}
	many := []Claim{fast(atLeast(93))}
	for range 30 {
		many = append(many, fast(Region{Kind: AtMost, A: 93}))
	}
	tried := Try(many, l)
	if r := tried.Rows[0]; r.Verdict != "underpowered" || !strings.Contains(r.Sentence, "among 31 claims") {
		t.Errorf("%s: %s", r.Verdict, r.Sentence)
	} else if want := "cannot tell yet after allowing for 31 comparisons, q " + words.Plain(words.Probability(*r.Q)); r.InWords() != want {
		t.Errorf("%q, want %q", r.InWords(), want)
	}
	if got := tried.Rows[1].InWords(); strings.Contains(got, "q ") {
		t.Errorf("where the interval says so itself: %q", got)
	}
	ps := make([]float64, len(many))
	for i := range ps {
		ps[i] = *tried.Rows[i].P
	}
	for i, q := range stats.BenjaminiHochberg(ps) {
		near(t, "q", tried.Rows[i].Q, q, 0)
	}
}

func num(x float64) *float64 { return &x }

// zonesOf are those of a league whose four-seamers beat the line from x on.
func zonesOf(x float64, lo, hi *float64) []thresholds.Zone {
	k := thresholds.Key{Hand: "left", Side: "left", PitchType: "four_seam", Variable: "velocity", Outcome: "whiff_rate"}
	return []thresholds.Zone{
		{Key: k, Reference: Reference, Sign: -1, LowerKind: "open", UpperKind: "edge", Upper: &x, UpperLo: lo, UpperHi: hi},
		{Key: k, Reference: Reference, Sign: +1, LowerKind: "edge", Lower: &x, LowerLo: lo, LowerHi: hi, UpperKind: "open"}}
}

// band are those of a league whose four-seamers fall behind the line from a to b
// alone.
func band(a, b float64) []thresholds.Zone {
	z := zonesOf(0, nil, nil)
	out := []thresholds.Zone{z[1], z[0], z[1]}
	out[0].LowerKind, out[0].Lower, out[0].UpperKind = "open", nil, "edge"
	out[1].LowerKind = "edge"
	for i, x := range []float64{a, b} {
		out[i].Upper, out[i].UpperLo, out[i].UpperHi = num(x), num(x-.5), num(x+.5)
		out[i+1].Lower, out[i+1].LowerLo, out[i+1].LowerHi = num(x), num(x-.5), num(x+.5)
	}
	return out
}

func TestOwnBreakpoint(t *testing.T) {
	l := league(counted(t, byHand()))
	for _, c := range []struct {
		zones  []thresholds.Zone
		region Region
		want   string
		says   string
	}{
		{zonesOf(93.2, num(92.6), num(93.9)), atLeast(93), Inside, "93.2 (92.6–93.9), agrees"},
		{zonesOf(94.2, num(93.6), num(94.9)), atLeast(93), Elsewhere, "Any cut on a slope holds"},
		{zonesOf(94.2, nil, num(94.9)), atLeast(93), Inside, "94.2 (?–94.9), is not pinned"},
		{zonesOf(93.2, num(92.6), num(93.9)), Region{Kind: AtMost, A: 93}, NoneOwn, "no confirmed breakpoint"},
		{zonesOf(93.2, num(92.6), num(93.9)), Region{Between, 93, 95}, Mixed, "93.2 (92.6–93.9)"},
		{band(92, 94), Region{Outside, 92.2, 94.1}, Inside, "92.0 (91.5–92.5) and 94.0 (93.5–94.5)"},
		{band(92, 94), Region{Outside, 92.2, 96}, Mixed, "92.0 (91.5–92.5) and 94.0 (93.5–94.5)"},
		{band(92, 94), Region{Outside, 90, 94}, Mixed, "92.0 (91.5–92.5) and 94.0 (93.5–94.5)"},
		{[]thresholds.Zone{}, atLeast(93), NoneOwn, "where it begins is not known"},
		{nil, atLeast(93), Unknown, ""},
	} {
		l.Zones = c.zones
		r := Try([]Claim{fast(c.region)}, l).Rows[0]
		if r.Breakpoint != c.want || !strings.Contains(r.Own(), c.says) || c.says == "" && r.Own() != "" {
			t.Errorf("%v: %s, %q; want %s, %q", c.region, r.Breakpoint, r.Own(), c.want, c.says)
		}
	}
	all := fast(atLeast(93))
	all.Hand, all.Side = pitch.UnknownHand, pitch.UnknownSide
	l.Zones = zonesOf(93.2, num(92.6), num(93.9))
	if r := Try([]Claim{all}, l).Rows[0]; r.Breakpoint != Mixed || len(r.Breakpoints) != 1 || *r.Advantage <= 0 {
		t.Errorf("all matchups: %+v", r.Columns)
	}
}

func TestOf(t *testing.T) {
	m := thresholds.Manifest{Name: "lantern", Version: "v1.0.0", Variables: []thresholds.Variable{{Name: "velocity", Definition: "velocity/release/mph"}}}
	zones := zonesOf(93.24, num(92.6), num(93.9))
	verdict := thresholds.Verdict{Key: zones[0].Key, Reference: Reference, Verdict: "found"}
	claims := Of(m, &thresholds.Tables{Verdicts: []thresholds.Verdict{verdict}, Zones: zones})
	want := fast(atLeast(93.2))
	want.Definition, want.Source = "velocity/release/mph", "lantern v1.0.0"
	if !reflect.DeepEqual(claims, []Claim{want}) {
		t.Errorf("%+v", claims)
	}
	edges := func(kinds ...string) []thresholds.Zone {
		var out []thresholds.Zone
		for i := 0; i < len(kinds); i += 2 {
			x := 90 + float64(i)
			out = append(out, thresholds.Zone{Key: verdict.Key, Reference: Reference, Sign: 1,
				LowerKind: kinds[i], Lower: num(x), UpperKind: kinds[i+1], Upper: num(x + 1)})
		}
		return out
	}
	for _, c := range []struct {
		zones []thresholds.Zone
		want  []Region
	}{
		{edges("edge", "edge"), []Region{{Between, 90, 91}}},
		{edges("open", "edge"), []Region{{Kind: AtMost, A: 91}}},
		{edges("open", "edge", "edge", "open"), []Region{{Outside, 91, 92}}},
		{edges("open", "edge", "edge", "edge"), []Region{{Kind: AtMost, A: 91}, {Between, 92, 93}}},
		{edges("open", "unresolved"), nil},
	} {
		if got := regions(&verdict, c.zones); !reflect.DeepEqual(got, c.want) {
			t.Errorf("%v, want %v", got, c.want)
		}
	}
	verdict.Verdict = "inconclusive"
	if got := Of(m, &thresholds.Tables{Verdicts: []thresholds.Verdict{verdict}, Zones: zones}); got != nil {
		t.Errorf("not found: %v", got)
	}
}

func TestCSV(t *testing.T) {
	tried := Try([]Claim{fast(atLeast(93)), fast(atLeast(99))}, league(counted(t, byHand())))
	var b bytes.Buffer
	if err := CSV(&b, tried.Rows); err != nil {
		t.Fatal(err)
	}
	rows, err := csv.NewReader(&b).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	at := map[string]int{}
	for j, name := range rows[0] {
		at[name] = j
	}
	if len(rows) != 3 || rows[1][at["advantage"]] != "0.2" || rows[2][at["advantage"]] != "" || rows[1][at["region"]] != "at least 93" || rows[2][at["too_few"]] != "true" {
		t.Errorf("%q", rows)
	}
	for _, c := range tried.Body().Columns {
		if c.Meaning == "" {
			t.Errorf("column %s has no meaning", c.Name)
		}
	}
}

// Strata and other cells are left out, seasons are added up.
func TestCells(t *testing.T) {
	counts := counted(t, byHand())
	one := counts.Cells[0]
	other, stratum := one, one
	other.Cell.Season++
	stratum.Cell.Stratum = "count:early"
	right := one
	right.Cell.Side = pitch.RightSide
	counts.Cells = []tally.CellTable{one, stratum, right, other}
	r := Try([]Claim{fast(atLeast(93))}, league(counts)).Rows[0]
	if r.EventsIn != 100 || r.Seasons != 2 || r.PitchersIn != 5 {
		t.Errorf("%d swings by %d pitchers in %d seasons", r.EventsIn, r.PitchersIn, r.Seasons)
	}
}
