package screen

import (
	"fmt"
	"slices"

	"sill/pipeline/render/terminal"
	"sill/pipeline/render/words"
	"sill/pipeline/shape"
	"sill/pipeline/thresholds"
)

// breakpoint is one edge of the zones, with its ends at the line ± delta and
// how the advantage goes on past it.
type breakpoint struct {
	at                      float64
	lo, hi, minus, plus     *float64
	rising                  bool // whether the outcome beats the line above it
	beyondGood, beyondWorse string
	share, without          *float64 // of single pitchers (see thresholds.Zone)
	support                 *float64 // of the zone that beats the line, else of the other
	weak, good              bool     // good: it ends a zone that beats the line
}

// edgesOf lists the breakpoints of zones, each once, in their order: one that
// ends a zone and starts the next is one breakpoint.
func edgesOf(zones []thresholds.Zone) []breakpoint {
	var out []breakpoint
	put := func(b breakpoint) {
		for i := range out {
			if out[i].at == b.at {
				out[i].beyondGood += b.beyondGood
				out[i].beyondWorse += b.beyondWorse
				out[i].weak = out[i].weak || b.weak
				if out[i].minus == nil && out[i].plus == nil {
					out[i].minus, out[i].plus = b.minus, b.plus
				}
				if b.good || out[i].support == nil {
					out[i].support = b.support
				}
				return
			}
		}
		out = append(out, b)
	}
	for _, z := range zones {
		add := func(kind string, at, lo, hi, minus, plus, share, without *float64, rising bool, beyond string) {
			if kind != "edge" || at == nil {
				return
			}
			b := breakpoint{at: *at, lo: lo, hi: hi, minus: minus, plus: plus, rising: rising,
				share: share, without: without, support: z.Support, weak: z.Weak, good: z.Sign > 0}
			if z.Sign > 0 {
				b.beyondGood = beyond
			} else {
				b.beyondWorse = beyond
			}
			put(b)
		}
		add(z.LowerKind, z.Lower, z.LowerLo, z.LowerHi, z.LowerMinus, z.LowerPlus, z.LowerLargestShare, z.LowerWithoutOne, z.Sign > 0, z.BeyondLower)
		add(z.UpperKind, z.Upper, z.UpperLo, z.UpperHi, z.UpperMinus, z.UpperPlus, z.UpperLargestShare, z.UpperWithoutOne, z.Sign < 0, z.BeyondUpper)
	}
	slices.SortFunc(out, func(a, b breakpoint) int {
		if a.at < b.at {
			return -1
		}
		return 1
	})
	return out
}

// words says where a breakpoint lies and how it behaves.
func (b breakpoint) words(v shape.Variable) string {
	format := quantity(v)
	s := words.WithUnit(format(b.at), v.Unit) + " " + words.Interval(b.lo, b.hi, format)
	if b.rising {
		s += ", better above"
	} else {
		s += ", better below"
	}
	if b.beyondGood != "" {
		s += "; further in, the advantage " + beyondWords(b.beyondGood)
	}
	return s
}

func beyondWords(code string) string {
	if code == "cannot_tell" {
		return "may rise or fall: cannot tell"
	}
	return words.Spaced(code)
}

// sure writes, for every breakpoint, what speaks for and against it, in plain
// words; nothing where there is none.
func (e *Evidence) sure(p *terminal.Printer, v shape.Variable) {
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
		say("it lies above %s, with 95 %% confidence; how far above is not known", words.WithUnit(at(*b.lo), v.Unit))
	case b.hi != nil:
		say("it lies below %s, with 95 %% confidence; how far below is not known", words.WithUnit(at(*b.hi), v.Unit))
	default:
		say("it has a limit on neither side: where it lies is not known")
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
		say("it was confirmed at low power: another season may well not confirm it")
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
func (e *Evidence) grain(v shape.Variable) []string {
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
