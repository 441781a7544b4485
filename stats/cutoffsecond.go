package stats

// WithSecond adds what a second kind of cluster (the other party of every event)
// adds to the variance of the difference:
//
//	V = V_first + max(0, V_second − V_event)
//	V_event = Σ(y − r)²/(N(N − 1)), inside plus outside
//
// in and out are the events of the two sides by second cluster, as far as it is
// known. V_second is that of CompareCutoff with second clusters for first ones. The
// degrees of freedom are the smaller of the two kinds'. With fewer than two second
// clusters on a side nothing is added. Panics where the sides number their
// clusters differently.
//
// Source: Cameron, Gelbach & Miller 2011, JBES 29:238 (the sum; from memory).
func (c Cutoff) WithSecond(in, out *Sums) Cutoff {
	a, b := cutoffSide(in.Y, in.N), cutoffSide(out.Y, out.N)
	_, variance := DifferenceOfRatios(in.Y, in.N, out.Y, out.N)
	if a.Clusters < 2 || b.Clusters < 2 || a.Events < 2 || b.Events < 2 || !(c.SE > 0) {
		return c
	}
	c.second = &[2]CutoffSide{a, b}
	extra := max(0, variance-a.events(in.YY)-b.events(out.YY))
	return c.with(float64(c.SE*c.SE) + extra)
}

// events is the variance of the side's rate were its events independent.
func (s CutoffSide) events(yy float64) float64 {
	return max(0, yy-float64(float64(s.Rate*s.Rate)*s.Events)) / (s.Events * (s.Events - 1))
}
