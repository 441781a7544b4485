package locate

import (
	"sill/pipeline/estimate"
	"sill/stats"
)

// restsOnThin tells whether half or more of a stretch that decides the verdict lies in
// bins too thin to show a rate: the interval of a breakpoint, where none is confirmed a
// stretch that is beyond the line, and where the cell always or never beats it the
// central nine tenths. A verdict that claims nothing rests on nothing.
func (r *reader) restsOnThin(verdict string, b *stats.Band, edges stats.Edges) bool {
	switch verdict {
	case Found:
		for _, e := range edges.Confirmed {
			if thinStretch(r.c.Bins, max(e.Lo, b.X[0]), min(e.Hi, b.X[len(b.X)-1])) {
				return true
			}
		}
	case EdgeUnresolved:
		for _, z := range b.Zones(edges) {
			for _, s := range z.Certain {
				if thinStretch(r.c.Bins, s.Lo, s.Hi) {
					return true
				}
			}
		}
	case AlwaysBeats, NeverBeats:
		lo, hi := b.Central()
		return thinStretch(r.c.Bins, lo, hi)
	}
	return false
}

// thinStretch tells whether half or more of [lo, hi], or the point that it is, lies in
// thin inner bins; an empty one is thin. No, where a limit is NaN.
func thinStretch(bins []estimate.Bin, lo, hi float64) bool {
	thin := 0.0
	for i := range bins {
		b := &bins[i]
		if b.Kind != estimate.Regular || !b.Thin {
			continue
		}
		if lo == hi && b.Lower <= lo && lo < b.Upper {
			return true
		}
		thin += max(0, min(hi, b.Upper)-max(lo, b.Lower))
	}
	return lo < hi && thin >= (hi-lo)/2
}
