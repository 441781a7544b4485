package compare

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"sill/pipeline/analysis/answer"
	"sill/pipeline/estimate"
	"sill/pipeline/locate"
	"sill/pipeline/outcome"
	"sill/pipeline/thresholds"
	"sill/stats"
)

// References are the headline lines, the only ones that are compared.
var References = []string{estimate.TypeMedian, estimate.TypeRate}

func isCompared(reference string) bool { return slices.Contains(References, reference) }

// curveKey names a curve against a line.
type curveKey struct {
	thresholds.Key
	reference string
}

// compared tells whether a row belongs to what is compared: all pitches, an outcome
// that this program knows or both at once, a headline line.
func compared(k thresholds.Key, reference string) bool {
	return k.Stratum == "" && isCompared(reference) && (outcome.MetricIndex(k.Outcome) >= 0 || k.Outcome == thresholds.Joint)
}

// edgesOf gathers the confirmed breakpoints of a version by curve, from left to
// right. Two zones share the one between them.
func edgesOf(t *thresholds.Tables) map[curveKey][]stats.Edge {
	out := map[curveKey][]stats.Edge{}
	for i := range t.Zones {
		if z := &t.Zones[i]; compared(z.Key, z.Reference) {
			k := curveKey{z.Key, z.Reference}
			out[k] = answer.AddEdges(out[k], z)
		}
	}
	for _, edges := range out {
		slices.SortStableFunc(edges, func(a, b stats.Edge) int { return cmp.Compare(a.X, b.X) })
	}
	return out
}

// verdictsOf indexes the compared verdicts of a version.
func verdictsOf(t *thresholds.Tables) map[curveKey]*thresholds.Verdict {
	out := map[curveKey]*thresholds.Verdict{}
	for i := range t.Verdicts {
		if v := &t.Verdicts[i]; compared(v.Key, v.Reference) {
			out[curveKey{v.Key, v.Reference}] = v
		}
	}
	return out
}

// curves lists the compared curves of either version in the dictionary's order.
func curves(from, to Side) []curveKey {
	var all thresholds.Tables
	seen := map[curveKey]bool{}
	var names []string
	for _, s := range []Side{from, to} {
		for _, v := range s.Manifest.Variables {
			if !slices.Contains(names, v.Name) {
				names = append(names, v.Name)
			}
		}
		for _, v := range s.Tables.Verdicts {
			k := curveKey{v.Key, v.Reference}
			if compared(v.Key, v.Reference) && !seen[k] {
				seen[k] = true
				all.Verdicts = append(all.Verdicts, v)
			}
		}
	}
	thresholds.Sort(&all, names)
	out := make([]curveKey, len(all.Verdicts))
	for i, v := range all.Verdicts {
		out[i] = curveKey{v.Key, v.Reference}
	}
	return out
}

// edges pairs the breakpoints of both versions, each direction by itself: one
// from which a quality helps is not the same as one up to which it does.
func (d *Diff) edges(from, to Side) []*pair {
	before, after := edgesOf(from.Tables), edgesOf(to.Tables)
	verdictsBefore, verdictsAfter := verdictsOf(from.Tables), verdictsOf(to.Tables)
	redefined := redefinitions(from.Manifest, to.Manifest)
	var out []*pair
	for _, k := range curves(from, to) {
		u, v := verdictsBefore[k], verdictsAfter[k]
		df := min(freedom(u), freedom(v))
		for _, up := range []bool{true, false} {
			a, b := directed(before[k], up), directed(after[k], up)
			matches := locate.MatchEdges(a, b)
			if len(matches) == 0 { // all of one side, or as many as cannot be paired
				for i := range max(len(a), len(b)) {
					p := d.pair(k, up, df, u, v)
					if i < len(a) {
						p.setFrom(interval(a[i]))
					}
					if i < len(b) {
						p.setTo(interval(b[i]))
					}
					switch {
					case len(a) == 0:
						p.Change = Appeared
					case len(b) == 0:
						p.Change = Vanished
					default:
						p.Change, p.Note = CannotTell, fmt.Sprintf("%d breakpoints, then %d: which became which cannot be told", len(a), len(b))
					}
					out = append(out, p)
				}
			}
			for _, m := range matches {
				if d.Basis == BasisSameData && m[0] == m[1] {
					continue
				}
				p := d.pair(k, up, df, u, v)
				p.setFrom(interval(m[0]))
				p.setTo(interval(m[1]))
				if why := redefined[k.Variable]; why != "" {
					p.Change, p.Note = CannotTell, why
				}
				out = append(out, p)
			}
		}
	}
	return out
}

func directed(edges []stats.Edge, up bool) []stats.Edge {
	return slices.DeleteFunc(slices.Clone(edges), func(e stats.Edge) bool { return e.Up != up })
}

// pair starts the row of a breakpoint.
func (d *Diff) pair(k curveKey, up bool, df float64, u, v *thresholds.Verdict) *pair {
	p := &pair{df: df, Row: Row{Kind: KindThreshold, Key: k.Key, Reference: k.reference, Unit: d.units[k.Variable].Unit, Edge: "to",
		FromVerdict: verdictWord(u), ToVerdict: verdictWord(v)}}
	if up {
		p.Edge = "from"
	}
	return p
}

func (p *pair) setFrom(i stats.Interval) {
	p.from = i
	p.From, p.FromLo, p.FromHi = answer.Null(i.Estimate), answer.Null(i.Lo), answer.Null(i.Hi)
}

func (p *pair) setTo(i stats.Interval) {
	p.to = i
	p.To, p.ToLo, p.ToHi = answer.Null(i.Estimate), answer.Null(i.Lo), answer.Null(i.Hi)
}

func interval(e stats.Edge) stats.Interval { return stats.Interval{Estimate: e.X, Lo: e.Lo, Hi: e.Hi} }

func verdictWord(v *thresholds.Verdict) string {
	if v == nil {
		return ""
	}
	return v.Verdict
}

// freedom is the degrees of freedom of a curve: effective clusters less 1.
func freedom(v *thresholds.Verdict) float64 {
	if v == nil {
		return 1
	}
	return max(1, min(v.EffectivePitchers, answer.Or(v.EffectiveBatters, math.Inf(1)))-1)
}

// redefinitions says of each variable that the versions define otherwise how.
func redefinitions(from, to thresholds.Manifest) map[string]string {
	out := map[string]string{}
	for _, a := range from.Variables {
		for _, b := range to.Variables {
			if a.Name == b.Name && (a.Definition != b.Definition || a.Unit != b.Unit) {
				out[a.Name] = fmt.Sprintf("defined otherwise: %s, then %s", a.Definition, b.Definition)
			}
		}
	}
	return out
}

// verdicts lists the verdicts that differ.
func verdicts(from, to Side) []Row {
	before, after := verdictsOf(from.Tables), verdictsOf(to.Tables)
	var out []Row
	for _, k := range curves(from, to) {
		u, v := before[k], after[k]
		r := Row{Kind: KindVerdict, Key: k.Key, Reference: k.reference, FromVerdict: verdictWord(u), ToVerdict: verdictWord(v)}
		switch {
		case r.FromVerdict == r.ToVerdict:
			continue
		case u == nil:
			r.Change = Appeared
		case v == nil:
			r.Change = Vanished
		default:
			r.Change = VerdictChanged
		}
		if (r.Change == Appeared || r.Change == Vanished) && (r.FromVerdict == locate.TooFew || r.ToVerdict == locate.TooFew) {
			continue // a handful of pitches come and go
		}
		out = append(out, r)
	}
	return out
}

// lineKey names a line.
type lineKey struct{ pitchType, outcome, reference string }

// lines pairs the headline lines of both versions.
func (d *Diff) lines(from, to Side) []*pair {
	collect := func(t *thresholds.Tables) map[lineKey]thresholds.Reference {
		out := map[lineKey]thresholds.Reference{}
		for _, r := range t.References {
			if isCompared(r.Reference) && r.Value != nil {
				out[lineKey{r.PitchType, r.Outcome, r.Reference}] = r
			}
		}
		return out
	}
	before, after := collect(from.Tables), collect(to.Tables)
	var out []*pair
	var done []lineKey
	for _, k := range curves(from, to) { // for their order
		l := lineKey{k.PitchType, k.Outcome, k.reference}
		a, was := before[l]
		b, is := after[l]
		if slices.Contains(done, l) || !was && !is {
			continue
		}
		done = append(done, l)
		if d.Basis == BasisSameData && was && is && *a.Value == *b.Value &&
			answer.Or(a.Lo, 0) == answer.Or(b.Lo, 0) && answer.Or(a.Hi, 0) == answer.Or(b.Hi, 0) {
			continue
		}
		p := &pair{df: max(1, float64(min(a.Qualified, b.Qualified)-1)),
			Row: Row{Kind: KindLine, Key: thresholds.Key{PitchType: l.pitchType, Outcome: l.outcome}, Reference: l.reference}}
		if was {
			p.setFrom(valueOf(a))
		}
		if is {
			p.setTo(valueOf(b))
		}
		switch {
		case !was:
			p.Change = Appeared
		case !is:
			p.Change = Vanished
		}
		out = append(out, p)
	}
	return out
}

func valueOf(r thresholds.Reference) stats.Interval {
	return stats.Interval{Estimate: *r.Value, Lo: answer.Or(r.Lo, math.Inf(-1)), Hi: answer.Or(r.Hi, math.Inf(1))}
}
