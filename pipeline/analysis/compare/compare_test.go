package compare

import (
	"bytes"
	"encoding/csv"
	"encoding/json"
	"math"
	"slices"
	"strings"
	"testing"

	"sill/pipeline/analysis/answer"
	"sill/pipeline/estimate"
	"sill/pipeline/thresholds"
	"sill/stats"
)

// TestSameVersion: nothing differs from itself.
func TestSameVersion(t *testing.T) {
	a := estimated(t, plainLeague().play(t), "one", nil)
	d := diffOf(t, a, a)
	if len(d.Rows) > 0 || d.Basis != BasisSameData || !strings.Contains(d.Summary(estimate.TypeMedian), "nothing changed") {
		t.Errorf("%d rows on basis %s: %s", len(d.Rows), d.Basis, d.Summary(estimate.TypeMedian))
	}
}

// TestSameDataIsReEstimated: with other draws the same data never move.
func TestSameDataIsReEstimated(t *testing.T) {
	counts := plainLeague().play(t)
	a := estimated(t, counts, "one", nil)
	b := estimated(t, counts, "one", func(o *estimate.Options) { o.Seed, o.Replicates = 9, 250 })
	d := diffOf(t, a, b)
	reEstimated := 0
	for _, r := range d.Rows {
		switch r.Change {
		case ReEstimated:
			reEstimated++
			if r.Rho != nil || r.P != nil {
				t.Errorf("tested though the data are the same: %+v", r)
			}
		case Moved, WithinError, CannotTell:
			t.Errorf("%s %s is %s though the data are the same", r.Kind, cellTitle(r.Key), r.Change)
		}
	}
	if reEstimated == 0 {
		t.Error("nothing was re-estimated")
	}
	if got := keys(d.Settings); got != "estimate.replicates, seed" {
		t.Errorf("settings that differ: %q", got)
	}
	// other draws change limits alone
	if s := d.Summary(estimate.TypeMedian); !strings.Contains(s, "Nothing can have moved") || !strings.Contains(s, " 0 of them to another value") {
		t.Error(s)
	}
	if s := string(d.Markdown(estimate.TypeMedian)); strings.Contains(s, "## Re-estimated") {
		t.Errorf("limits that changed are told one by one:\n%s", s)
	}
}

// TestPlantedMove moves the curve of one cell by 3 mph. Its breakpoint moved, and
// every interval of a difference holds the true one: that of the cell is 3 mph
// less what the line, in which the cell takes part, makes good; those of the
// other matchups move with the line alone. (Over 30 such leagues 117 of 119
// intervals held it; this is the first of them.)
func TestPlantedMove(t *testing.T) {
	l := plainLeague()
	l.pitchers, l.pitches, l.roster = 80, 600, 1000
	before := estimated(t, l.play(t), "one", nil)
	cellBefore, otherBefore := l.crossings()
	l.season, l.move, l.rested = 2, 3, 5
	after := estimated(t, l.play(t), "two", nil)
	cellAfter, otherAfter := l.crossings()
	d := diffOf(t, before, after)
	if d.Basis != BasisJoint || d.SharedPitchers != 150 {
		t.Fatalf("basis %s with %d pitchers", d.Basis, d.SharedPitchers)
	}
	rows := 0
	for _, r := range thresholdsOf(d) {
		if r.PitchType != "four_seam" {
			if r.Change == Moved {
				t.Errorf("%s moved: %s", cellTitle(r.Key), change(r, 2))
			}
			continue
		}
		rows++
		truth, planted := otherAfter-otherBefore, r.Hand == "left" && r.Side == "left"
		if planted {
			truth = cellAfter - cellBefore
		}
		t.Logf("%s: %s, true %+.2f, ρ %.2f", cellTitle(r.Key), change(r, 2), truth, answer.Or(r.Rho, 0))
		if answer.Or(r.Rho, 0) < .2 {
			t.Errorf("%s: ρ %.2f, though the pitchers are the same", cellTitle(r.Key), answer.Or(r.Rho, 0))
		}
		if planted && r.Change != Moved {
			t.Errorf("%s is %s", cellTitle(r.Key), r.Change)
		}
		if answer.Or(r.DifferenceLo, math.Inf(-1)) > truth || answer.Or(r.DifferenceHi, math.Inf(1)) < truth {
			t.Errorf("%s: %s, true %+.2f", cellTitle(r.Key), change(r, 2), truth)
		}
	}
	if rows < 4 || !d.AnyMoved(estimate.TypeMedian) {
		t.Errorf("%d breakpoints of four-seamers are compared", rows)
	}
	if back := thresholdsOf(diffOf(t, after, before)); *back[0].Difference != -*thresholdsOf(d)[0].Difference {
		t.Error("the way back is not the way there, turned")
	}
}

// TestBases: what is kept and shared decides on what a difference rests.
func TestBases(t *testing.T) {
	l := plainLeague()
	one := estimated(t, l.play(t), "one", nil)
	l.season = 2
	two := estimated(t, l.play(t), "two", nil)
	l.prefix = "q"
	other := estimated(t, l.play(t), "other", nil)
	without := func(s Side, input string) Side {
		s.Tally = nil
		if input != "" {
			s.Manifest.Inputs = slices.Clone(s.Manifest.Inputs)
			s.Manifest.Inputs = append(s.Manifest.Inputs, one.Manifest.Inputs...)
		}
		return s
	}
	for _, c := range []struct {
		name     string
		from, to Side
		basis    string
		note     string
	}{
		{"pitchers in both", one, two, BasisJoint, ""},
		{"another league", one, other, BasisIndependent, ""},
		{"a hand-over is missing", one, without(two, ""), BasisAssumed, "taken as independent"},
		{"a hand-over is missing, inputs in common", one, without(two, "one"), BasisUnknown, "nothing is said to have moved"},
	} {
		d := diffOf(t, c.from, c.to)
		if d.Basis != c.basis || !strings.Contains(strings.Join(d.Notes, " "), c.note) {
			t.Errorf("%s: basis %s, notes %q", c.name, d.Basis, d.Notes)
		}
		judged := 0
		for _, r := range thresholdsOf(d) {
			if r.P != nil {
				judged++
			}
			if r.Rho != nil && (*r.Rho != 0) != (c.basis == BasisJoint) {
				t.Errorf("%s: correlation %g", c.name, *r.Rho)
			}
		}
		if (judged > 0) == (c.basis == BasisUnknown) {
			t.Errorf("%s: %d rows are judged", c.name, judged)
		}
	}
}

// TestRedefined: a variable that is measured otherwise is not compared.
func TestRedefined(t *testing.T) {
	l := plainLeague()
	one := estimated(t, l.play(t), "one", nil)
	l.season = 2
	two := estimated(t, l.play(t), "two", nil)
	two.Manifest.Variables[0].Definition = "velocity/y50/mph"
	for _, r := range thresholdsOf(diffOf(t, one, two)) {
		if (r.From != nil && r.To != nil) && (r.Change != CannotTell || !strings.Contains(r.Note, "velocity/y50/mph")) {
			t.Errorf("%s is %s: %s", cellTitle(r.Key), r.Change, r.Note)
		}
	}
}

// TestSettingsReadBack: estimates are made again with the settings of the
// manifest; what this program does not know is refused.
func TestSettingsReadBack(t *testing.T) {
	s := estimated(t, plainLeague().play(t), "one", nil)
	s.Manifest.Configuration = append(s.Manifest.Configuration, setting("estimate.weights", []any{map[string]any{"result": "walks", "value": .7}}),
		setting("estimate.fixed", []any{map[string]any{"pitch_type": "slider", "outcome": "whiff_rate", "value": .3}}),
		setting("estimate.foul_tips_are_whiffs", true), setting("estimate.min_pitchers", 7.0), setting("locate.flips", 99))
	o, err := EstimateOptions(s.Manifest)
	if err != nil {
		t.Fatal(err)
	}
	if len(o.Weights) != 1 || o.Weights[0] != (estimate.Weight{Result: "walks", Value: .7}) || !o.FoulTipsAreWhiffs || o.MinPitchers != 7 ||
		len(o.Fixed) != 1 || o.Fixed[0] != (estimate.FixedLine{PitchType: "slider", Outcome: "whiff_rate", Value: .3}) {
		t.Errorf("read back %+v", o)
	}
	s.Manifest.Configuration = append(s.Manifest.Configuration, setting("estimate.unheard_of", 1))
	if _, err := EstimateOptions(s.Manifest); err == nil || !strings.Contains(err.Error(), "estimate.unheard_of") {
		t.Errorf("an unknown setting: %v", err)
	}
}

// TestFalseMoves compares independent seasons of leagues that do not change:
// hardly any breakpoint moved, and the intervals of the differences hold 0 about
// as often as they say.
func TestFalseMoves(t *testing.T) {
	if testing.Short() {
		t.Skip("a simulation")
	}
	const pairs = 20
	moved, judged, held, any := 0, 0, 0, 0
	for i := range uint64(pairs) {
		l := plainLeague()
		l.roster, l.season, l.prefix = 100+i, 1, "p"
		one := estimated(t, l.play(t), "one", nil)
		l.roster, l.season, l.prefix = 200+i, 2, "q"
		two := estimated(t, l.play(t), "two", nil)
		d := diffOf(t, one, two)
		n := 0
		for _, r := range thresholdsOf(d) {
			if r.P == nil {
				continue
			}
			judged++
			if *r.P > .05 {
				held++
			}
			if r.Change == Moved {
				n++
			}
		}
		moved += n
		if n > 0 {
			any++
		}
	}
	share := func(k, n int) (p, se float64) {
		p = float64(k) / float64(n)
		return p, math.Sqrt(p * (1 - p) / float64(n))
	}
	p, se := share(moved, judged)
	a, ase := share(any, pairs)
	h, hse := share(held, judged)
	t.Logf("%d breakpoints: false moves %.3f ± %.3f, pairs with one %.2f ± %.2f, intervals that hold 0 %.3f ± %.3f", judged, p, se, a, ase, h, hse)
	// the breakpoints of a pair go together: the error of the pairs counts
	slack := 3 * math.Sqrt(.1*.9/pairs)
	if judged < 5*pairs {
		t.Errorf("only %d breakpoints were judged", judged)
	}
	if p > .10 || a > .10+slack || h < .95-3*math.Sqrt(.05*.95/pairs) {
		t.Errorf("false moves %.3f, pairs with one %.2f, intervals that hold 0 %.3f", p, a, h)
	}
}

// TestSamePitchersCancel: where most pitchers throw in both seasons, the joint
// interval of a difference is narrower than the independent one and still holds
// 0 as often as it should; the independent one holds it nearly always.
func TestSamePitchersCancel(t *testing.T) {
	if testing.Short() {
		t.Skip("a simulation")
	}
	const pairs = 12
	judged, joint, independent := 0, 0, 0
	ratio, rho := 0.0, 0.0
	for i := range uint64(pairs) {
		l := plainLeague()
		l.roster, l.season, l.talent = 300+i, 1, .5
		one := estimated(t, l.play(t), "one", nil)
		l.season, l.rested = 2, 5
		two := estimated(t, l.play(t), "two", nil)
		alone := two
		alone.Tally = nil
		together, apart := thresholdsOf(diffOf(t, one, two)), thresholdsOf(diffOf(t, one, alone))
		for k, r := range together {
			s := apart[k]
			if r.DifferenceLo == nil || r.DifferenceHi == nil {
				continue
			}
			judged++
			ratio += (*r.DifferenceHi - *r.DifferenceLo) / (*s.DifferenceHi - *s.DifferenceLo)
			rho += *r.Rho
			if *r.DifferenceLo <= 0 && 0 <= *r.DifferenceHi {
				joint++
			}
			if *s.DifferenceLo <= 0 && 0 <= *s.DifferenceHi {
				independent++
			}
		}
	}
	n := float64(judged)
	t.Logf("%d breakpoints: width %.2f of the independent one, ρ %.2f, hold 0: joint %.3f, independent %.3f", judged, ratio/n, rho/n, float64(joint)/n, float64(independent)/n)
	if ratio/n > .9 {
		t.Errorf("the joint interval is %.2f as wide as the independent one", ratio/n)
	}
	if float64(joint)/n < .95-3*math.Sqrt(.05*.95/pairs) {
		t.Errorf("joint intervals hold 0 in %.3f", float64(joint)/n)
	}
}

// TestWritten: the JSON, the CSV and the text hold every row and are the same
// bytes each time.
func TestWritten(t *testing.T) {
	l := plainLeague()
	before := estimated(t, l.play(t), "one", nil)
	l.season, l.move = 2, 3
	after := estimated(t, l.play(t), "two", nil)
	d, again := diffOf(t, before, after), diffOf(t, before, after)
	raw, err := d.JSON(estimate.TypeMedian)
	if err != nil {
		t.Fatal(err)
	}
	second, _ := again.JSON(estimate.TypeMedian)
	if !bytes.Equal(raw, second) || !bytes.Equal(d.Markdown(estimate.TypeMedian), again.Markdown(estimate.TypeMedian)) {
		t.Error("the same comparison is written otherwise the second time")
	}
	var doc Document
	if err := json.Unmarshal(raw, &doc); err != nil {
		t.Fatal(err)
	}
	if len(doc.Rows) != len(d.Rows) || doc.SchemaVersion != thresholds.SchemaVersion || doc.Summary == "" || len(doc.Columns) == 0 {
		t.Errorf("diff.json holds %d of %d rows", len(doc.Rows), len(d.Rows))
	}
	counted := 0
	for _, c := range doc.Counts {
		counted += c.Rows
	}
	if counted != len(d.Rows) {
		t.Errorf("%d rows are counted, there are %d", counted, len(d.Rows))
	}
	var b bytes.Buffer
	if err := thresholds.CSV(&b, d.Rows); err != nil {
		t.Fatal(err)
	}
	records, err := csv.NewReader(&b).ReadAll()
	if err != nil || len(records) != 1+len(d.Rows) || len(records[0]) != len(doc.Columns) {
		t.Errorf("CSV of %d records, want %d: %v", len(records), 1+len(d.Rows), err)
	}
	text := string(d.Markdown(estimate.TypeMedian))
	for _, want := range []string{"# harbour: Changes since v1.0.0", "## Moved · whiff rate", "four-seam L-v-L", "medical staff"} {
		if !strings.Contains(text, want) {
			t.Errorf("CHANGES.md lacks %q:\n%s", want, text)
		}
	}
	first := First(after)
	raw, err = first.JSON(estimate.TypeMedian)
	if err != nil || !strings.Contains(string(raw), `"rows": []`) || !strings.Contains(string(first.Markdown(estimate.TypeMedian)), "first version") {
		t.Errorf("of a first version: %v\n%s", err, raw)
	}
}

// TestWords holds the numbers of people.
func TestWords(t *testing.T) {
	x := func(v float64) *float64 { return &v }
	edge := Row{Kind: KindThreshold, Edge: "from", From: x(93.04), To: x(94), Difference: x(.96), DifferenceLo: x(-.049), Rho: x(.2)}
	line := Row{Kind: KindLine, From: x(.221), Difference: x(-.0042), DifferenceLo: x(-.012), DifferenceHi: x(.003), Rho: x(.2)}
	moved := func(change string, lo, hi *float64, q float64) Row {
		return Row{Kind: KindThreshold, Change: change, Difference: x(-1.8), DifferenceLo: lo, DifferenceHi: hi, Rho: x(.2), Q: x(q), Together: 96}
	}
	for _, c := range []struct{ got, want string }{
		{change(moved(Moved, x(-3.8), x(-1), .02), 1), "−1.8 (−3.8 to −1.0), q\u00a0.020"},
		{change(moved(WithinError, x(-3.8), x(-1), .14), 1), "−1.8 (−3.8 to −1.0) after allowing for 96 comparisons, q\u00a0.140"},
		{change(moved(WithinError, x(-3.8), x(1), .14), 1), "−1.8 (−3.8 to +1.0)"},
		{change(moved(CannotTell, nil, x(-1), .14), 1), "−1.8 (? to −1.0) after allowing for 96 comparisons, q\u00a0.140"},
		{edge.value(edge.From, 1), "≥ 93.0"},
		{change(edge, 1), "+1.0 (0.0 to ?)"},
		{change(line, 3), "−.004 (−.012 to +.003)"},
		{line.value(line.From, 3), ".221"},
		{edge.within(x(93), x(92), nil, 1), "≥ 93.0 (92.0–?)"},
		{edge.within(x(-4), x(-5), x(-3), 1), "≥ −4.0 (−5.0 to −3.0)"},
	} {
		if c.got != c.want {
			t.Errorf("%q, want %q", c.got, c.want)
		}
	}
}

// TestOverlapIsNoTest: intervals that overlap can be of breakpoints that differ;
// an open limit on the far side does not hide it, one on the near side does; and
// one small p among many is no discovery.
func TestOverlapIsNoTest(t *testing.T) {
	inf := math.Inf(1)
	pairOf := func(from, to stats.Interval) *pair {
		return &pair{from: from, to: to, df: 60, Row: Row{Kind: KindThreshold, Reference: estimate.TypeMedian}}
	}
	before := stats.Interval{Estimate: 93, Lo: 92.5, Hi: 93.5}
	for _, c := range []struct {
		name string
		to   stats.Interval
		want string
	}{
		{"overlap, yet apart", stats.Interval{Estimate: 93.8, Lo: 93.3, Hi: 94.3}, Moved},
		{"close by", stats.Interval{Estimate: 93.6, Lo: 93.1, Hi: 94.1}, WithinError},
		{"open above", stats.Interval{Estimate: 93.8, Lo: 93.3, Hi: inf}, Moved},
		{"close by, open above", stats.Interval{Estimate: 93.6, Lo: 93.1, Hi: inf}, CannotTell},
		{"open below", stats.Interval{Estimate: 99, Lo: -inf, Hi: 99.5}, CannotTell},
	} {
		p := pairOf(before, c.to)
		(&Diff{Basis: BasisIndependent}).judge([]*pair{p}, DefaultOptions())
		if p.Change != c.want {
			t.Errorf("%s: %s (%s), want %s", c.name, p.Change, change(p.Row, 2), c.want)
		}
	}
	many := []*pair{pairOf(before, stats.Interval{Estimate: 93.8, Lo: 93.3, Hi: 94.3})}
	for range 19 {
		many = append(many, pairOf(before, stats.Interval{Estimate: 93.1, Lo: 92.6, Hi: 93.6}))
	}
	(&Diff{Basis: BasisIndependent}).judge(many, DefaultOptions())
	if many[0].Change != WithinError {
		t.Errorf("one of 20 with p %.3f and q %.3f is %s", *many[0].P, *many[0].Q, many[0].Change)
	}
}
