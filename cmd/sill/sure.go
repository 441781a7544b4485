package main

import (
	"fmt"

	"sill/pipeline/render/terminal"
	"sill/pipeline/render/words"
	"sill/pipeline/shape"
	"sill/pipeline/thresholds"
)

// sure writes, for every breakpoint, what speaks for and against it, in plain
// words; nothing where there is none.
func (e *evidence) sure(p *terminal.Printer, v shape.Variable) {
	edges := edgesOf(zonesIf(e.Verdict))
	if len(edges) == 0 {
		return
	}
	m := metricOf(e.Verdict.Outcome)
	for _, b := range edges {
		p.Line(terminal.Bold, "How sure is this edge: %s", words.WithUnit(quantity(v)(b.at), v.Unit))
		for _, s := range b.sure(v, m.Delta) {
			p.Prose(terminal.Plain, "  ", "  ", sentence(s))
		}
		p.Blank()
	}
	grain := e.grain(v)
	for _, s := range grain {
		p.Prose(terminal.Plain, "", "", sentence(s))
	}
	if len(grain) > 0 {
		p.Blank()
	}
}

// sure says how firmly one breakpoint stands.
func (b breakpoint) sure(v shape.Variable, delta float64) []string {
	at := quantity(v)
	var out []string
	say := func(format string, args ...any) { out = append(out, fmt.Sprintf(format, args...)) }
	switch {
	case b.lo != nil && b.hi != nil:
		say("it lies between %s and %s, with 95 %% confidence", at(*b.lo), words.WithUnit(at(*b.hi), v.Unit))
	case b.lo != nil:
		say("it lies above %s, with 95 %% confidence; how far above is not pinned down", words.WithUnit(at(*b.lo), v.Unit))
	case b.hi != nil:
		say("it lies below %s, with 95 %% confidence; how far below is not pinned down", words.WithUnit(at(*b.hi), v.Unit))
	default:
		say("it is pinned down on neither side")
	}
	if b.minus != nil || b.plus != nil {
		say("were the line %s lower or higher it would lie at %s or %s", words.Rate(delta), words.OrDash(b.minus, at), words.OrDash(b.plus, at))
	}
	if b.support != nil {
		say("a matching zone turns up in %s of the leagues redrawn from these pitchers; this is for display, not evidence", words.Percent(*b.support))
	}
	if b.share != nil {
		say("the pitcher with most of the events in the two bins around it throws %s of them", words.Percent(*b.share))
		out = append(out, b.alone(v))
	}
	if b.weak {
		say("it was confirmed at low power: trust it less than its interval says")
	}
	return out
}

// alone says where the breakpoint would be without the pitcher who draws it most.
func (b breakpoint) alone(v shape.Variable) string {
	who := "without the one pitcher who draws it most it would "
	switch {
	case b.without == nil:
		return who + "be gone: it rests on him"
	case thresholds.RestsOnOne(&b.at, b.lo, b.hi, b.without):
		return who + "lie at " + words.WithUnit(quantity(v)(*b.without), v.Unit) + ", more than half the way to its limit: it rests on him"
	}
	return who + "lie at " + words.WithUnit(quantity(v)(*b.without), v.Unit)
}

// grain says how coarse the bins are for what they are to show.
func (e *evidence) grain(v shape.Variable) []string {
	var out []string
	for _, b := range e.Bins {
		if sd := e.Verdict.SD; sd != nil && b.Kind == "regular" && b.Lower != nil && b.Upper != nil {
			width := *b.Upper - *b.Lower
			s := fmt.Sprintf("bins are %s wide, the events spread by %s (standard deviation)", words.WithUnit(words.Number(width, v.Decimals), v.Unit), words.WithUnit(words.Number(*sd, v.Decimals+1), v.Unit))
			if width > *sd/2 {
				s += ": coarse for a sharp edge"
			}
			out = append(out, s)
			break
		}
	}
	if n := e.Verdict.ThinBins; n > 0 {
		out = append(out, words.Plural(n, "inner bin")+" too thin to show a rate; the smooth curve still uses its events")
	}
	return out
}
