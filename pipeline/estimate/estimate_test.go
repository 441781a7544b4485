package estimate

import (
	"context"
	"encoding/csv"
	"encoding/json"
	"fmt"
	"math"
	"os"
	"slices"
	"strconv"
	"strings"
	"testing"

	"sill/pipeline/outcome"
	"sill/pipeline/pitch"
	"sill/pipeline/shape"
	"sill/pipeline/tally"
	"sill/stats"
)

// velocity is the variable of the tests.
func velocity(t testing.TB) shape.Variable {
	i := slices.IndexFunc(shape.Variables, func(v shape.Variable) bool { return v.Name == "velocity" })
	if i < 0 {
		t.Fatal("no velocity among the variables")
	}
	return shape.Variables[i]
}

// count builds a tally of pitches.
func count(t testing.TB, pitches []pitch.Pitch, names tally.Names) *tally.Tally {
	t.Helper()
	b, err := tally.NewBuilder([]shape.Variable{velocity(t)}, nil, names, 1)
	if err != nil {
		t.Fatal(err)
	}
	for i := 0; i < len(pitches); i += 8192 {
		if err := b.Add(0, pitches[i:min(i+8192, len(pitches))]); err != nil {
			t.Fatal(err)
		}
	}
	out, err := b.Tally()
	if err != nil {
		t.Fatal(err)
	}
	return out
}

// blank is a pitch of which nothing is known but its cell.
func blank(pitcher int32) pitch.Pitch {
	p := pitch.Pitch{Season: 2031, Date: pitch.NoDate, Game: -1, Pitcher: pitcher, Batter: -1, Venue: -1, Level: -1,
		Hand: pitch.LeftHand, Side: pitch.LeftSide, Type: pitch.FourSeam, Outcome: pitch.Ball}
	for i := range p.Num {
		p.Num[i] = pitch.Missing()
	}
	return p
}

// small reads the pitches of the reference cell.
func small(t testing.TB) *tally.Tally {
	t.Helper()
	f, err := os.Open("../../testdata/vectors/pipeline_small_pitches.csv")
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	rows, err := csv.NewReader(f).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	var pitches []pitch.Pitch
	pitchers := 0
	for _, r := range rows[1:] {
		n, err := strconv.Atoi(r[0])
		if err != nil {
			t.Fatal(err)
		}
		p := blank(int32(n - 1))
		pitchers = max(pitchers, n)
		if p.Num[pitch.Velocity], err = strconv.ParseFloat(r[1], 64); err != nil {
			t.Fatal(err)
		}
		switch r[2] + r[3] {
		case "10":
			p.Outcome = pitch.Foul
		case "11":
			p.Outcome = pitch.SwingingStrike
		}
		pitches = append(pitches, p)
	}
	var names tally.Names
	for i := range pitchers {
		names.Pitchers = append(names.Pitchers, fmt.Sprintf("%03d", i+1))
	}
	return count(t, pitches, names)
}

type vector struct {
	Bins []struct {
		Lo, Hi   float64
		N        int64
		Whiffs   uint32
		MeanX    float64 `json:"mean_x"`
		Rate     float64
		Pitchers int
		Geff     float64
		Lo95     float64
		Hi95     float64
	}
	PitcherMedian float64 `json:"pitcher_median"`
	Qualified     int     `json:"n_qualified"`
	CellRate      float64 `json:"cell_rate"`
	Lambda        float64
	FitTwice      []float64 `json:"fit_twice"`
	Geff          float64   `json:"geff_cell"`
	Replicates    []struct {
		Weights       []uint8
		Lambda        float64
		FitTwice      []float64 `json:"fit_twice"`
		CellRate      float64   `json:"cell_rate"`
		PitcherMedian float64   `json:"pitcher_median"`
	}
	Inference []struct {
		Ref      string
		M        float64
		GridX    []float64 `json:"grid_x"`
		GridT    []float64 `json:"grid_t"`
		DemoCrit float64   `json:"demo_crit"`
		Demo     []struct {
			X, Lo, Hi float64
			Up        bool
		} `json:"edges_at_demo_crit"`
	}
}

// TestSmallVector reproduces the reference cell that R computed end to end
// (testdata/vectors/README.md): bins, lines, λ, curve, replicates from explicit
// weights, T along the grid and the edges. Batters are unknown there, so the
// variance is one-way.
func TestSmallVector(t *testing.T) {
	raw, err := os.ReadFile("../../testdata/vectors/pipeline_small.json")
	if err != nil {
		t.Fatal(err)
	}
	var want vector
	if err := json.Unmarshal(raw, &want); err != nil {
		t.Fatal(err)
	}
	o := DefaultOptions()
	o.LambdaSteps, o.Replicates = 4, 100
	e, err := New(t.Context(), small(t), o)
	if err != nil {
		t.Fatal(err)
	}
	// the vector's own draws in place of ours
	var draws []uint8
	for _, r := range want.Replicates {
		draws = append(draws, r.Weights...)
	}
	e.options.Replicates = len(want.Replicates)
	e.pitchers[pitch.LeftHand].weights = stats.NewWeights(len(want.Replicates[0].Weights), draws)
	e.lines_, e.index = nil, map[lineKey]*Line{}
	if err := e.addLines(t.Context()); err != nil {
		t.Fatal(err)
	}
	curves, err := e.Group(t.Context(), tally.AllStrata, 0, outcome.Whiff)
	if err != nil || len(curves) != 1 {
		t.Fatalf("%d curves, %v", len(curves), err)
	}
	c := curves[0]
	if c.Fit == nil {
		t.Fatalf("curve not fitted: %+v", c.Shortfalls())
	}
	if c.Second != nil || c.Batters != 0 {
		t.Error("batters known, want one-way variance")
	}
	near := func(what string, got, want, tol float64) {
		t.Helper()
		if !(math.Abs(got-want) <= tol) {
			t.Errorf("%s is %.12g, want %.12g", what, got, want)
		}
	}
	if len(c.Bins) != len(want.Bins) {
		t.Fatalf("%d bins, want %d", len(c.Bins), len(want.Bins))
	}
	for i, w := range want.Bins {
		b := c.Bins[i]
		if b.Events != w.N || b.Counts.Whiffs != w.Whiffs || b.Pitchers != w.Pitchers {
			t.Errorf("bin %d: %d events, %d whiffs, %d pitchers, want %d, %d, %d", i, b.Events, b.Counts.Whiffs, b.Pitchers, w.N, w.Whiffs, w.Pitchers)
		}
		near("mean", b.Mean, w.MeanX, 1e-9)
		near("rate", b.Rate, w.Rate, 1e-12)
		near("effective pitchers", b.Geff, w.Geff, 1e-9)
		near("lower limit", b.Lo, w.Lo95, 1e-9)
		near("upper limit", b.Hi, w.Hi95, 1e-9)
		if i > 0 {
			near("lower edge", b.Lower, w.Lo, 0)
		}
		if i < len(want.Bins)-1 {
			near("upper edge", b.Upper, w.Hi, 0)
		}
	}
	if c.Bins[0].Kind != OpenLow || c.Bins[len(c.Bins)-1].Kind != OpenHigh {
		t.Errorf("end bins are %s and %s", c.Bins[0].Kind, c.Bins[len(c.Bins)-1].Kind)
	}
	lines := map[string]*Line{}
	for _, l := range c.Lines {
		lines[l.Name] = l
	}
	median, rate := lines[TypeMedian], lines[TypeRate]
	near("median", median.Value, want.PitcherMedian, 1e-12)
	near("rate", rate.Value, want.CellRate, 1e-12)
	if median.Qualified != want.Qualified {
		t.Errorf("%d qualified, want %d", median.Qualified, want.Qualified)
	}
	near("lambda", c.Fit.Lambda, want.Lambda, 1e-9*want.Lambda)
	near("effective pitchers of the cell", c.Geff, want.Geff, 1e-9)
	for b, f := range want.FitTwice {
		near("curve", c.Fit.F[b], f, 1e-9)
	}
	for r, w := range want.Replicates {
		near("replicate's lambda", c.Fit.RepLambda[r], w.Lambda, 1e-9*w.Lambda)
		near("replicate's median", median.Rep[r], w.PitcherMedian, 1e-12)
		near("replicate's rate", rate.Rep[r], w.CellRate, 1e-12)
		for b, f := range w.FitTwice {
			near("replicate's curve", c.Fit.RepF[r*len(c.Fit.X)+b], f, 1e-8)
		}
	}
	for _, inf := range want.Inference {
		l := median
		if inf.Ref == "cell" {
			l = rate
		}
		band := c.Against(l)
		for i := range inf.GridX {
			near("grid", band.X[i], inf.GridX[i], 1e-9)
			near("T", band.T[i], inf.GridT[i], 1e-6)
		}
		edges := band.EdgesAt(inf.DemoCrit).Confirmed
		if len(edges) != len(inf.Demo) {
			t.Errorf("%s: %d edges, want %d", inf.Ref, len(edges), len(inf.Demo))
			continue
		}
		for i, w := range inf.Demo {
			near("edge", edges[i].X, w.X, 1e-6)
			near("edge's lower limit", edges[i].Lo, w.Lo, 1e-5)
			near("edge's upper limit", edges[i].Hi, w.Hi, 1e-5)
		}
	}
}

func TestValidate(t *testing.T) {
	if err := DefaultOptions().Validate(); err != nil {
		t.Error(err)
	}
	for name, o := range map[string]func(*Options){
		"replicates": func(o *Options) { o.Replicates = 5 },
		"pitchers":   func(o *Options) { o.MinPitchers = 1 },
		"lambda":     func(o *Options) { o.LambdaSteps = 0 },
		"type":       func(o *Options) { o.Fixed = []FixedLine{{"splinter", "whiff_rate", .2}} },
		"outcome":    func(o *Options) { o.Fixed = []FixedLine{{"sinker", "miss_rate", .2}} },
		"value":      func(o *Options) { o.Fixed = []FixedLine{{"sinker", "whiff_rate", math.NaN()}} },
		"twice":      func(o *Options) { o.Fixed = []FixedLine{{"sinker", "whiff_rate", .2}, {"sinker", "whiff_rate", .3}} },
		"no name":    func(o *Options) { o.WeightsName = "" },
		"result":     func(o *Options) { o.Weights, o.WeightsName = []Weight{{"dunks", 2}}, "own" },
		"old name":   func(o *Options) { o.Weights = []Weight{{"walks", .7}} },
		"weight":     func(o *Options) { o.Weights, o.WeightsName = []Weight{{"walks", -1}}, "own" },
	} {
		opt := DefaultOptions()
		o(&opt)
		if opt.Validate() == nil {
			t.Errorf("%s: fault not reported", name)
		}
		if _, err := New(context.Background(), &tally.Tally{}, opt); err == nil {
			t.Errorf("%s: estimate made all the same", name)
		}
	}
}

func TestStreamKeys(t *testing.T) {
	a := StreamKey(1, "ab", "c")
	for _, other := range [][32]byte{StreamKey(1, "a", "bc"), StreamKey(2, "ab", "c"), StreamKey(1, "abc"), StreamKey(1, "ab", "c", "")} {
		if a == other {
			t.Error("two streams share a key")
		}
	}
}

// TestLinesCountEveryEvent gives a line the events whose velocity is unknown,
// and the curve none of them.
func TestLinesCountEveryEvent(t *testing.T) {
	var pitches []pitch.Pitch
	names := tally.Names{}
	for i := range int32(20) {
		names.Pitchers = append(names.Pitchers, fmt.Sprintf("%02d", i))
		for k := range 60 {
			p := blank(i)
			p.Outcome = pitch.Foul
			if k%3 == 0 {
				p.Outcome = pitch.SwingingStrike
			} else if k%2 == 0 {
				p.Num[pitch.Velocity] = 90 + float64(k%7)
			}
			if i < 3 && k >= 24 {
				break // not qualified: 24 swings
			}
			pitches = append(pitches, p)
		}
	}
	o := DefaultOptions()
	o.Replicates = 100
	e, err := New(t.Context(), count(t, pitches, names), o)
	if err != nil {
		t.Fatal(err)
	}
	curves, err := e.Group(t.Context(), tally.AllStrata, 0, outcome.Whiff)
	if err != nil || len(curves) != 1 {
		t.Fatal(len(curves), err)
	}
	c := curves[0]
	for _, l := range c.Lines[:2] {
		if l.Events != int64(len(pitches)) || l.Qualified != 17 || math.Abs(l.Value-1./3) > 1e-12 {
			t.Errorf("%s: %d events, %d qualified, value %g", l.Name, l.Events, l.Qualified, l.Value)
		}
	}
	if c.Pitches != int64(len(pitches)) || c.Events != c.Known || c.Rate != 0 || c.Events == 0 {
		t.Errorf("%d pitches, %d known, %d events, rate %g", c.Pitches, c.Known, c.Events, c.Rate)
	}
	if last := c.Bins[len(c.Bins)-1]; last.Kind != Missing || int64(last.Counts.Pitches)+c.Known != c.Pitches {
		t.Errorf("missing bin: %+v", last)
	}
}

// TestEndsPoolAsTables holds the pooled end bins against those of the statistics
// package, which pools tables of events.
func TestEndsPoolAsTables(t *testing.T) {
	e, err := New(t.Context(), small(t), DefaultOptions())
	if err != nil {
		t.Fatal(err)
	}
	bins := merged(e.cells[0].tables, 0)
	table := &stats.Table{Start: []int32{0}, Clusters: len(e.tally.Pitchers)}
	for _, b := range bins {
		by := stats.NewSums(table.Clusters)
		if err := e.fill(&Bin{}, []binned{b}, outcome.Whiff, &by); err != nil {
			t.Fatal(err)
		}
		if by.Events() > 0 {
			by.Flush(table, mean(e.tally.Variables[0], []binned{b}, outcome.Whiff), nil)
		}
	}
	first, last, ok := table.EndBins(50, 5)
	want := table.Merge(first, last)
	curves, err := e.Sample(tally.AllStrata, 0, outcome.Whiff)
	if err != nil || !ok {
		t.Fatal(ok, err)
	}
	got := curves[0].Table
	if got.Bins() != want.Bins() {
		t.Fatalf("%d nodes, want %d", got.Bins(), want.Bins())
	}
	gn, gy := got.Sums()
	wn, wy := want.Sums()
	for b := range gn {
		if gn[b] != wn[b] || gy[b] != wy[b] || math.Abs(got.X[b]-want.X[b]) > 1e-9 {
			t.Errorf("node %d: %g of %g at %g, want %g of %g at %g", b, gy[b], gn[b], got.X[b], wy[b], wn[b], want.X[b])
		}
	}
}

// TestLineScopes computes every line of a small league by hand.
func TestLineScopes(t *testing.T) {
	type cell struct {
		hand    pitch.Hand
		side    pitch.Side
		kind    pitch.Type
		pitcher int
	}
	whiffs := map[cell]int{}
	const swings, each = 30, 7
	var pitches []pitch.Pitch
	var names tally.Names
	for i := range 2 * each {
		names.Pitchers = append(names.Pitchers, fmt.Sprintf("%02d", i))
		hand := pitch.LeftHand
		if i >= each {
			hand = pitch.RightHand
		}
		for _, side := range []pitch.Side{pitch.LeftSide, pitch.RightSide} {
			for k, kind := range []pitch.Type{pitch.Sinker, pitch.Curveball} {
				number := []int{2, 7}[k]
				c := cell{hand, side, kind, i}
				whiffs[c] = (i*i+5*int(hand)+3*int(side)+7*number)%11 + number
				for k := range swings {
					p := blank(int32(i))
					p.Hand, p.Side, p.Type, p.Outcome = hand, side, kind, pitch.Foul
					if k < whiffs[c] {
						p.Outcome = pitch.SwingingStrike
					}
					p.Num[pitch.Velocity] = 90
					pitches = append(pitches, p)
				}
			}
		}
	}
	o := DefaultOptions()
	o.Replicates = 100
	e, err := New(t.Context(), count(t, pitches, names), o)
	if err != nil {
		t.Fatal(err)
	}
	want := func(keep func(cell) bool) (median, rate float64) {
		n, y := map[int]float64{}, map[int]float64{}
		var sn, sy float64
		for c, k := range whiffs {
			if keep(c) {
				n[c.pitcher] += swings
				y[c.pitcher] += float64(k)
				sn += swings
				sy += float64(k)
			}
		}
		var rates []float64
		for i := range n {
			rates = append(rates, y[i]/n[i])
		}
		slices.Sort(rates)
		k := len(rates)
		return (rates[(k-1)/2] + rates[k/2]) / 2, sy / sn
	}
	seen := map[string]int{}
	for _, l := range e.Lines() {
		if l.Metric != outcome.Whiff {
			continue
		}
		seen[l.Name]++
		median, rate := want(func(c cell) bool {
			return (l.Type == pitch.UnknownType || c.kind == l.Type) &&
				(l.Hand == pitch.UnknownHand || c.hand == l.Hand) && (l.Side == pitch.UnknownSide || c.side == l.Side)
		})
		value := rate
		if strings.HasSuffix(l.Name, "median") {
			value = median
		}
		if math.Abs(l.Value-value) > 1e-12 || math.Abs(l.RateMinusMedian-(rate-median)) > 1e-12 {
			t.Errorf("%s of %s, %s, %s is %g, want %g", l.Name, l.Type, l.Hand, l.Side, l.Value, value)
		}
		if !(l.Lo < l.Value && l.Value < l.Hi) {
			t.Errorf("%s: limits %g to %g around %g", l.Name, l.Lo, l.Hi, l.Value)
		}
	}
	for name, n := range map[string]int{TypeMedian: 2, TypeRate: 2, HandMedian: 4, HandRate: 4, MatchupMedian: 8, MatchupRate: 8, LeagueMedian: 1, LeagueRate: 1} {
		if seen[name] != n {
			t.Errorf("%d lines %s, want %d", seen[name], name, n)
		}
	}
}

// TestCurveHasParts: the table of a curve holds the events in quarters of bins, over
// seasons together, at their mean values; none where a season leaves them out.
func TestCurveHasParts(t *testing.T) {
	var pitches []pitch.Pitch
	names := tally.Names{}
	type part struct{ n, y, x float64 }
	want := map[[2]int]*part{} // by whole mph and quarter
	for i := range 30 {
		names.Pitchers = append(names.Pitchers, fmt.Sprintf("%02d", i))
		for k := range 90 {
			p := blank(int32(i))
			tenths := (7*i + 13*k) % 50
			p.Season, p.Num[pitch.Velocity] = int16(2030+k%2), 90+float64(tenths)/10
			switch k % 4 {
			case 0:
				p.Outcome = pitch.SwingingStrike
			case 1, 2:
				p.Outcome = pitch.Foul
			}
			pitches = append(pitches, p)
			if k%4 == 3 {
				continue // no swing
			}
			at := [2]int{90 + tenths/10, tenths % 10 * 4 / 10}
			if want[at] == nil {
				want[at] = &part{}
			}
			want[at].n++
			want[at].x += p.Num[pitch.Velocity]
			if k%4 == 0 {
				want[at].y++
			}
		}
	}
	o := DefaultOptions()
	o.Replicates = 100
	counts := count(t, pitches, names)
	curve := func() *Curve {
		e, err := New(t.Context(), counts, o)
		if err != nil {
			t.Fatal(err)
		}
		curves, err := e.Group(t.Context(), tally.AllStrata, 0, outcome.Whiff)
		if err != nil || len(curves) != 1 {
			t.Fatal(len(curves), err)
		}
		return curves[0]
	}
	got := curve().Table.Parts
	if got == nil || len(got.X) != len(want) || len(want) != 20 || !slices.IsSorted(got.X) {
		t.Fatalf("parts %+v, want %d", got, len(want))
	}
	for i, x := range got.X {
		whole := int(x)
		w := want[[2]int{whole, int((x - float64(whole)) * 4)}]
		if w == nil || got.N[i] != w.n || got.Y[i] != w.y || math.Abs(x-w.x/w.n) > 1e-9 {
			t.Errorf("part at %g: %g of %g, want %+v", x, got.Y[i], got.N[i], w)
		}
	}
	if len(counts.Cells) != 2 {
		t.Fatalf("%d cells, want one a season", len(counts.Cells))
	}
	counts.Cells[1].Curves[0].Parts = nil
	if got := curve().Table.Parts; got != nil {
		t.Errorf("parts of one season of two: %+v", got)
	}
}
