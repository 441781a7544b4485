// Package locate reads estimated curves: where an outcome beats its line and
// where it falls behind, with the breakpoints between, how sure each is, how
// matchups and pitch types differ, and what every row may claim.
//
// It knows lines, edges and verdicts. It does not count, smooth or resample
// (package estimate), nor write files.
package locate

import (
	"context"
	"fmt"
	"slices"
	"sync/atomic"

	"sill/pipeline/estimate"
	"sill/pipeline/outcome"
	"sill/pipeline/parallel"
	"sill/pipeline/tally"
	"sill/pipeline/thresholds"
	"sill/stats"
)

// Locate makes the rows of every table. The groups of curves run side by side
// and are put together in one order, so the rows depend on the counts and the
// options alone.
func Locate(ctx context.Context, e *estimate.Estimate, o Options) (*thresholds.Tables, error) {
	if err := o.Validate(); err != nil {
		return nil, err
	}
	groups := groupsOf(e)
	flat, err := testFlatness(ctx, e, groups, o)
	if err != nil {
		return nil, fmt.Errorf("locate: %w", err)
	}
	parts := make([]part, len(groups))
	var done atomic.Int64
	tasks := bundles(groups)
	err = parallel.Each(ctx, o.workers(), len(tasks), func(_, t int) error {
		var fits []fitted
		for _, i := range tasks[t] {
			g := groups[i]
			curves, err := e.Group(ctx, g.stratum, g.variable, g.metric)
			if err != nil {
				return err
			}
			parts[i] = read(e, g, curves, flat, i, o)
			fits = append(fits, parts[i].fits...)
			parts[i].fits = nil
			if n := int(done.Add(1)); o.Progress != nil {
				o.Progress(n, len(groups))
			}
		}
		if last := tasks[t][len(tasks[t])-1]; o.Contrasts && len(tasks[t]) > 1 {
			parts[last].contrasts = append(parts[last].contrasts, pairSeasons(fits, e.Variables()[groups[last].variable], o)...)
		}
		return nil
	})
	if err != nil {
		return nil, fmt.Errorf("locate: %w", err)
	}
	finishContrasts(parts, o)
	t := &thresholds.Tables{References: references(e)}
	var slopes []slope
	for i := range parts {
		p := &parts[i]
		t.Verdicts = append(t.Verdicts, p.verdicts...)
		t.Zones = append(t.Zones, p.zones...)
		t.Curves = append(t.Curves, p.curves...)
		t.Bins = append(t.Bins, p.bins...)
		for _, c := range p.contrasts {
			t.Contrasts = append(t.Contrasts, c.rows...)
		}
		slopes = append(slopes, p.slopes...)
		*p = part{}
	}
	addJoint(t)
	t.Thresholds = headline(t)
	t.Slopes = finishSlopes(slopes, o)
	var names []string
	for _, v := range e.Variables() {
		names = append(names, v.Name)
	}
	thresholds.Sort(t, names)
	return t, nil
}

// part is what one group contributes.
type part struct {
	verdicts  []thresholds.Verdict
	zones     []thresholds.Zone
	curves    []thresholds.CurvePoint
	bins      []thresholds.Bin
	contrasts []contrast
	slopes    []slope
	fits      []fitted // of seasons, until they are compared
}

// read makes the rows of one group.
func read(e *estimate.Estimate, g group, curves []*estimate.Curve, flat *flatness, at int, o Options) part {
	var out part
	var fits []fitted
	for k, c := range curves {
		r := reader{e: e, o: o, c: c, key: keyOf(e, c), out: &out,
			p: flat.p[at][k], q: flat.q[at][k], familyQ: flat.familyQ[at], alpha: flat.alpha[at]}
		r.warnings = r.caveats(flat, g)
		var lines []lineResult
		for _, l := range c.Lines {
			if res := r.line(l); l.Headline() && res != nil {
				lines = append(lines, *res)
			}
		}
		r.bins()
		if c.Testable() && c.Key.Stratum == tally.AllStrata {
			out.slopes = append(out.slopes, slopeOf(e, c, r.key))
		}
		if c.Fit != nil && len(lines) > 0 {
			fits = append(fits, fitted{curve: c, lines: lines, flat: r.q})
		}
	}
	if o.Contrasts {
		out.contrasts = pairUp(fits, e.Variables()[g.variable], o)
		if stratificationOf(g.stratum) == tally.Seasons {
			out.fits = fits
		}
	}
	return out
}

// reader makes the rows of one curve.
type reader struct {
	e        *estimate.Estimate
	o        Options
	c        *estimate.Curve
	key      thresholds.Key
	out      *part
	p, q     float64
	familyQ  float64
	alpha    float64
	warnings []string
	thin     int64 // inner bins that are thin
	trend    string
	lambdas  []float64 // of the replicates, ascending
}

func keyOf(e *estimate.Estimate, c *estimate.Curve) thresholds.Key {
	return thresholds.Key{Hand: c.Key.Hand.String(), Side: c.Key.Side.String(), PitchType: c.Key.Type.String(),
		Stratum: c.Key.Stratum, Variable: e.Variables()[c.Variable].Name, Outcome: c.Outcome().Name}
}

// caveats lists the warnings that hold whatever the line.
func (r *reader) caveats(flat *flatness, g group) []string {
	c := r.c
	var out []string
	add := func(code string, when bool) {
		if when {
			out = append(out, code)
		}
	}
	gap := false
	for _, b := range c.Bins {
		if b.Kind == estimate.Regular && b.Thin && b.Events > 0 {
			r.thin++
		}
	}
	for _, empty := range c.Table.Gap {
		gap = gap || empty >= 2
	}
	v := r.e.Variables()[c.Variable]
	add(WarnDominated, c.Events > 0 && c.LargestShare > .25)
	add(WarnGap, gap)
	add(WarnWidth, v.Width() > c.SD/2)
	add(WarnComb, v.Comb())
	add(WarnBatters, c.Events > 0 && c.ByBatter == nil)
	add(WarnUnknownShare, float64(c.Known) < .9*float64(c.Pitches))
	for _, f := range flat.stratifications {
		add(WarnFlipsExhausted, f.Name == stratificationOf(g.stratum) && !f.Enough && c.Testable())
	}
	return append(out, r.o.caveats(r.key)...)
}

// line compares the curve with a line and adds the rows of that comparison. It
// returns nil where the cell or the line is too small to be compared.
func (r *reader) line(l *estimate.Line) *lineResult {
	c := r.c
	v := thresholds.Verdict{Key: r.key, Reference: l.Name, Headline: l.Headline(),
		Unit: r.e.Variables()[c.Variable].Unit, Pitches: c.Pitches, Known: c.Known, Events: c.Events,
		Pitchers: int64(c.Pitchers), EffectivePitchers: c.Geff, Batters: int64(c.Batters),
		EffectiveBatters: orNil(c.GeffBatters), LargestShare: c.LargestShare,
		SD: orNil(c.SD), ThinBins: r.thin, Qualified: int64(l.Qualified),
		Rate: c.Rate, Line: orNil(l.Value), LineLo: orNil(l.Lo), LineHi: orNil(l.Hi),
		P: orNil(r.p), Q: orNil(r.q), LevelVerdict: NotShown, Trend: Flat}
	if v.Q != nil {
		v.FamilyQ = orNil(r.familyQ)
	}
	v.Warnings = append(v.Warnings, r.warnings...)
	if l.RateAboveMedian() {
		v.Warnings = append(v.Warnings, WarnRateMedian)
	}
	ev := evidence{testable: c.Fit != nil, line: l.Usable(),
		rejected: r.q <= r.o.Discovery}
	var res *lineResult
	var edges stats.Edges
	seasons := len(r.e.Seasons())
	if ev.testable && ev.line {
		res = &lineResult{name: l.Name, band: c.Against(l)}
		if l.Name != estimate.MatchupRate { // which is the cell's own
			r.level(&v, l)
		}
		if r.lambdas == nil { // neither depends on the line
			r.trend = trend(c, res.band.Crit)
			r.lambdas = slices.Clone(c.Fit.RepLambda)
			slices.Sort(r.lambdas)
		}
		v.Trend, v.Lambda = r.trend, orNil(c.Fit.Lambda)
		v.LambdaLo, v.LambdaHi = orNil(r.lambdas[len(r.lambdas)/20]), orNil(r.lambdas[len(r.lambdas)-1-len(r.lambdas)/20])
		edges = res.band.Edges()
		if l.Outside() { // a line taken inside the cell cannot be beaten by all of it
			ev.always, v.Everywhere = res.band.Throughout()
		}
		ev.edges = len(edges.Confirmed)
		if ev.rejected {
			res.edges = edges.Confirmed
			r.zones(&v, l, res, edges, ev)
		}
	}
	v.Verdict = ev.verdict()
	if v.Verdict != AlwaysBeats && v.Verdict != NeverBeats {
		v.Everywhere = false
	}
	if res != nil && r.restsOnThin(v.Verdict, res.band, edges) {
		v.Warnings = append(v.Warnings, WarnThin)
	}
	switch v.Verdict {
	case TooFew:
		v.Settle = tooFewText(c, l, seasons)
	case Inconclusive:
		v.Settle = inconclusiveText(c, r.p, r.alpha, seasons)
	case EdgeUnresolved:
		v.Settle = unresolvedText(res.band, c, seasons)
	}
	r.out.verdicts = append(r.out.verdicts, v)
	if res != nil && l.Headline() {
		r.curve(res)
	}
	if v.Verdict == TooFew {
		return nil
	}
	return res
}

// level sets the advantage of the cell as a whole and its verdict.
func (r *reader) level(v *thresholds.Verdict, l *estimate.Line) {
	level := r.c.Fit.Level(l.Stats(), r.c.Sign(), r.c.Second)
	v.Level, v.LevelLo, v.LevelHi = orNil(level.D), orNil(level.Lo), orNil(level.Hi)
	v.LevelVerdict = levelWords[1+level.Verdict]
}

// zones adds the zones of a rejected flat curve.
func (r *reader) zones(v *thresholds.Verdict, l *estimate.Line, res *lineResult, edges stats.Edges, ev evidence) {
	b := res.band
	delta := r.c.Outcome().Delta
	shifted := func(s stats.Side, by float64) *float64 {
		if s.Edge < 0 {
			return nil
		}
		return orNil(b.EdgeShifted(edges, s.Edge, by))
	}
	depends := make([]estimate.Dependence, len(edges.Confirmed))
	exception, one := false, false
	for k, e := range edges.Confirmed {
		d := r.e.Depend(r.c, l, e)
		depends[k] = d
		one = one || thresholds.RestsOnOne(&e.X, orNil(e.Lo), orNil(e.Hi), orNil(d.Without))
	}
	zones := b.Zones(edges)
	for i, z := range zones {
		row := thresholds.Zone{Key: r.key, Reference: res.name, Zone: int64(i + 1), Sign: int64(z.Sign),
			LowerKind: endWords[z.Lower.End], Lower: orNil(z.Lower.X), UpperKind: endWords[z.Upper.End], Upper: orNil(z.Upper.X),
			LowerMinus: shifted(z.Lower, -delta), LowerPlus: shifted(z.Lower, delta),
			UpperMinus: shifted(z.Upper, -delta), UpperPlus: shifted(z.Upper, delta),
			PossibleLo: orNil(z.PossibleLo), PossibleHi: orNil(z.PossibleHi),
			EventShare: z.Mass, Support: orNil(b.Support(z))}
		for _, s := range z.Certain {
			row.Certain = append(row.Certain, thresholds.Span(s))
		}
		if n := len(z.Certain); n > 0 {
			row.CertainLo, row.CertainHi = orNil(z.Certain[0].Lo), orNil(z.Certain[n-1].Hi)
		}
		if k := z.Lower.Edge; k >= 0 {
			e := edges.Confirmed[k]
			row.LowerLo, row.LowerHi = orNil(e.Lo), orNil(e.Hi)
			row.LowerLargestShare, row.LowerWithoutOne = orNil(depends[k].LargestShare), orNil(depends[k].Without)
			row.Weak = row.Weak || e.Weak
			row.BeyondLower = courseWords[b.Beyond(z, edges, false, delta).Course]
		}
		if k := z.Upper.Edge; k >= 0 {
			e := edges.Confirmed[k]
			row.UpperLo, row.UpperHi = orNil(e.Lo), orNil(e.Hi)
			row.UpperLargestShare, row.UpperWithoutOne = orNil(depends[k].LargestShare), orNil(depends[k].Without)
			row.Weak = row.Weak || e.Weak
			row.BeyondUpper = courseWords[b.Beyond(z, edges, true, delta).Course]
		}
		exception = exception || ev.always != 0 && z.Sign != ev.always
		r.out.zones = append(r.out.zones, row)
	}
	if hints(zones, edges.Confirmed) {
		v.Warnings = append(v.Warnings, WarnWeak)
	}
	if one {
		v.Warnings = append(v.Warnings, WarnOnePitcher)
	}
	if exception {
		v.Warnings = append(v.Warnings, WarnExceptions)
	}
}

// curve adds the points of the smooth curve.
func (r *reader) curve(res *lineResult) {
	b := res.band
	every := stats.Substeps / r.o.CurvePoints
	rate := r.c.Fit.Against(stats.Line{}, 1, r.c.Second) // the curve itself, with its own error
	for i := 0; i < len(b.X); i += every {
		half := float64(rate.Crit * rate.SE[i])
		r.out.curves = append(r.out.curves, thresholds.CurvePoint{Key: r.key, Reference: res.name,
			X: b.X[i], Rate: rate.D[i], Lo: rate.D[i] - half, Hi: rate.D[i] + half, D: b.D[i], T: b.T[i]})
	}
}

// bins adds the bins of the curve, the missing row last.
func (r *reader) bins() {
	for _, b := range r.c.Bins {
		n := &b.Counts
		row := thresholds.Bin{Key: r.key, Kind: b.Kind, Lower: orNil(b.Lower), Upper: orNil(b.Upper), Mean: orNil(b.Mean),
			Pitches: int64(n.Pitches), Events: b.Events, Whiffs: int64(n.Whiffs), FoulTips: int64(n.FoulTips),
			Strikeouts: int64(n.Results[outcome.Strikeout]), Walks: int64(n.Results[outcome.Walk]),
			HitByPitch: int64(n.Results[outcome.HitByPitch]), Singles: int64(n.Results[outcome.Single]),
			Doubles: int64(n.Results[outcome.Double]), Triples: int64(n.Results[outcome.Triple]),
			HomeRuns: int64(n.Results[outcome.HomeRun]), ReachedOnError: int64(n.Results[outcome.ReachedOnError]),
			SacrificeFlies: int64(n.Results[outcome.SacrificeFly]), OtherOuts: int64(n.Results[outcome.OtherOut]),
			Pitchers: int64(b.Pitchers), EffectivePitchers: b.Geff, LargestShare: b.LargestShare,
			Rate: orNil(b.Rate), Lo: orNil(b.Lo), Hi: orNil(b.Hi), BootLo: orNil(b.BootLo), BootHi: orNil(b.BootHi), Thin: b.Thin}
		if b.Thin {
			row.Warnings = append(row.Warnings, WarnThin)
		}
		if b.Events > 0 && b.Geff < 2 {
			row.Warnings = append(row.Warnings, WarnDominated)
		}
		r.out.bins = append(r.out.bins, row)
	}
}

// references makes the rows of every line.
func references(e *estimate.Estimate) []thresholds.Reference {
	var out []thresholds.Reference
	for _, l := range e.Lines() {
		r := thresholds.Reference{PitchType: l.Type.String(), Hand: l.Hand.String(), Side: l.Side.String(),
			Outcome: outcome.Metrics[l.Metric].Name, Reference: l.Name, Value: orNil(l.Value), Lo: orNil(l.Lo), Hi: orNil(l.Hi),
			Qualified: int64(l.Qualified), Pitchers: int64(l.Pitchers), Events: l.Events, RateMinusMedian: orNil(l.RateMinusMedian)}
		if l.Stratum != "" {
			r.Reference += "@" + l.Stratum
		}
		if l.RateAboveMedian() {
			r.Warnings = append(r.Warnings, WarnRateMedian)
		}
		out = append(out, r)
	}
	return out
}
