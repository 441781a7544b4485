package stats

import (
	"errors"
	"math"

	"gonum.org/v1/gonum/stat/distuv"
)

// CutoffOptions say what a stated cutoff has to show.
type CutoffOptions struct {
	// Sign is +1 where a higher rate is better, −1 where a lower one is.
	Sign float64
	// Delta is the smallest advantage worth having, in units of the rate.
	Delta float64
	// MinEvents and MinClusters are needed on each side.
	MinEvents   float64
	MinClusters int
	// MinEffective is the least effective number of clusters on each side: with
	// fewer, one of them decides.
	MinEffective float64
	// FDR is the largest q at which a claim of a family is taken to hold.
	FDR float64
}

// DefaultCutoffOptions are those for a rate of which more is better.
func DefaultCutoffOptions() CutoffOptions {
	return CutoffOptions{Sign: 1, Delta: .020, MinEvents: 50, MinClusters: 5, MinEffective: 3, FDR: .10}
}

// Validate names every fault of the options.
func (o CutoffOptions) Validate() error {
	var faults []error
	add := func(bad bool, what string) {
		if bad {
			faults = append(faults, errors.New("stats: cutoff "+what))
		}
	}
	add(o.Sign != 1 && o.Sign != -1, "sign must be 1 or -1")
	add(!(o.Delta > 0), "delta must be above 0")
	add(!(o.MinEvents >= 0), "minimum of events must not be negative")
	add(o.MinClusters < 2, "minimum of clusters must be at least 2")
	add(!(o.MinEffective >= 1), "minimum of effective clusters must be at least 1")
	add(!(o.FDR > 0 && o.FDR < 1), "false discovery rate must lie between 0 and 1")
	return errors.Join(faults...)
}

// CutoffVerdict is what the data say of a stated cutoff.
type CutoffVerdict int

// The verdicts, from what says least to what says most.
const (
	CutoffUnderpowered CutoffVerdict = iota // the data cannot tell
	CutoffFails                             // the advantage is below delta and may be none
	CutoffSmall                             // there is an advantage, below delta
	CutoffHolds                             // there is an advantage, delta is possible
	CutoffHoldsClearly                      // the advantage is delta or more
)

var cutoffWords = [...]string{CutoffUnderpowered: "underpowered", CutoffFails: "does not hold",
	CutoffSmall: "real but small", CutoffHolds: "holds", CutoffHoldsClearly: "holds clearly"}

// String returns the verdict in words.
func (v CutoffVerdict) String() string { return cutoffWords[v] }

// CutoffShortage says why a cutoff cannot be judged whatever its interval.
type CutoffShortage int

// The shortages.
const (
	CutoffEnough      CutoffShortage = iota
	CutoffFewEvents                  // a side has too few events
	CutoffFewClusters                // a side has too few clusters
	CutoffDominated                  // one cluster decides a side
	CutoffNoVariation                // no cluster differs from the others: no error to judge by
)

// CutoffSide describes the events on one side of a cutoff.
type CutoffSide struct {
	Events    float64
	Clusters  int     // with an event on this side
	Effective float64 // (Σn)²/Σn² over clusters
	Rate      float64 // NaN without an event
	Variance  float64 // leave-one-cluster-out; +Inf for fewer than two clusters
}

// Cutoff is the advantage of the events inside a region over those outside it.
type Cutoff struct {
	Inside, Outside CutoffSide
	// D is sign·(inside − outside) with its standard error, degrees of freedom
	// and 95 % limits; the last three are NaN where a side lacks two clusters.
	D, SE, DF, Lo, Hi float64
	// P is the one-sided p-value of no advantage, for the family's q; 1 where
	// the cutoff cannot be judged.
	P        float64
	Shortage CutoffShortage

	options  CutoffOptions
	clusters int
	second   *[2]CutoffSide // by second clusters, inside and outside
}

// CompareCutoff tests a stated cutoff on clusters that are the same on both
// sides: Y and n by cluster for the events inside the region and outside it.
//
//	d = s·(r_in − r_out),  ψ_p = ψ_p,in − ψ_p,out,  V = (G−1)/G·Σψ²
//	df = (V_in+V_out)² / (V_in²/(geff_in−1) + V_out²/(geff_out−1))
//
// with ψ as in RatioInfluence, each geff−1 held at 1 or above, and the interval
// d ± t_.975(df)·√V. Panics on options that Validate refuses or on lengths that
// differ.
//
// Source: Satterthwaite 1946, Biometrics Bulletin 2:110, and Welch 1947,
// Biometrika 34:28, for df; the coverage is the simulation's.
func CompareCutoff(yIn, nIn, yOut, nOut []float64, o CutoffOptions) Cutoff {
	if o.Validate() != nil {
		panic("stats: CompareCutoff needs valid options")
	}
	c := Cutoff{options: o, P: 1, Inside: cutoffSide(yIn, nIn), Outside: cutoffSide(yOut, nOut)}
	d, variance := DifferenceOfRatios(yIn, nIn, yOut, nOut)
	for p := range nIn {
		if nIn[p] > 0 || nOut[p] > 0 {
			c.clusters++
		}
	}
	c.D = o.Sign * d
	switch in, out := &c.Inside, &c.Outside; {
	case min(in.Events, out.Events) < o.MinEvents:
		c.Shortage = CutoffFewEvents
	case min(in.Clusters, out.Clusters) < o.MinClusters:
		c.Shortage = CutoffFewClusters
	case min(in.Effective, out.Effective) < o.MinEffective:
		c.Shortage = CutoffDominated
	case variance == 0:
		c.Shortage = CutoffNoVariation
	}
	return c.with(variance)
}

// with gives the difference its error, interval and p-value.
func (c Cutoff) with(variance float64) Cutoff {
	c.SE = math.Sqrt(variance)
	if !(variance > 0) || math.IsInf(variance, 1) || math.IsNaN(c.D) {
		c.DF, c.Lo, c.Hi = math.NaN(), math.NaN(), math.NaN()
		return c
	}
	c.DF = c.df(1)
	half := float64(student(c.DF).Quantile(.975) * c.SE)
	c.Lo, c.Hi = c.D-half, c.D+half
	if c.Shortage == CutoffEnough {
		c.P = student(c.DF).Survival(c.D / c.SE)
	}
	return c
}

func cutoffSide(y, n []float64) CutoffSide {
	sumY, sumN := ratioSums(y, n)
	clusters, effective, _ := Concentration(n)
	return CutoffSide{Events: sumN, Clusters: clusters, Effective: effective,
		Rate: sumY / sumN, Variance: JackknifeRatio(y, n)}
}

// df returns the degrees of freedom of a sample of factor times as many clusters
// alike, of either kind.
func (c Cutoff) df(factor float64) float64 {
	df := welch(c.Inside, c.Outside, factor)
	if c.second != nil {
		df = min(df, welch(c.second[0], c.second[1], factor))
	}
	return df
}

func welch(a, b CutoffSide, factor float64) float64 {
	in, out := a.Variance, b.Variance
	sum := in + out
	if sum == 0 {
		return max(1, factor*min(a.Effective, b.Effective)-1)
	}
	return sum * sum / (float64(in*in)/max(1, factor*a.Effective-1) +
		float64(out*out)/max(1, factor*b.Effective-1))
}

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

// Verdict judges the cutoff. q is its q-value in the family of claims tried
// together (see BenjaminiHochberg over P); for a single claim it is P.
//
//	lo > 0 and hi ≥ δ and q ≤ FDR   holds (clearly where lo ≥ δ)
//	lo > 0 and hi < δ               real but small
//	lo ≤ 0 and hi < δ               does not hold
//	anything else                   underpowered
func (c Cutoff) Verdict(q float64) CutoffVerdict {
	delta := c.options.Delta
	switch {
	case c.Shortage != CutoffEnough:
		return CutoffUnderpowered
	case c.Lo > 0 && c.Hi < delta:
		return CutoffSmall
	case c.Hi < delta:
		return CutoffFails
	case c.Lo > 0 && q <= c.options.FDR && c.Lo >= delta:
		return CutoffHoldsClearly
	case c.Lo > 0 && q <= c.options.FDR:
		return CutoffHolds
	default:
		return CutoffUnderpowered
	}
}

// CutoffNeed is a sample that would probably settle a cutoff.
type CutoffNeed struct {
	// Factor is how many times as large the sample has to be, the clusters being
	// like those seen and each with as many events: also the number of seasons
	// like this one. 0 where nothing can be said beyond the minimum numbers, +Inf
	// where no sample in reach is enough.
	Factor float64
	// Clusters have to be had in all, EventsInside and EventsOutside over them.
	Clusters, EventsInside, EventsOutside float64
}

// settlePower is the chance with which the sample that is asked for settles.
const settlePower = .80

// Settle returns the sample at which, were the advantage seen the true one, the
// interval has an 80 % chance to lie above 0 or below delta, whichever is easier:
//
//	(t_.975(df) + z_.80)·SE/√factor ≤ max(D, δ−D)
//
// It is never below the minimum numbers, nor below the sample at hand. The need
// is in more clusters: more events of the same clusters help less.
//
// Source: the usual normal approximation of power (Chow et al. 2008, Sample Size
// Calculations in Clinical Research, chapter 3, from memory).
func (c Cutoff) Settle() CutoffNeed {
	o := c.options
	// Fewest clusters and events by the minimum numbers.
	factor := 1.0
	for _, s := range []CutoffSide{c.Inside, c.Outside} {
		if s.Events == 0 {
			return CutoffNeed{Clusters: float64(max(o.MinClusters, c.clusters)),
				EventsInside:  max(o.MinEvents, c.Inside.Events),
				EventsOutside: max(o.MinEvents, c.Outside.Events)}
		}
		factor = max(factor, o.MinEvents/s.Events, float64(o.MinClusters)/float64(s.Clusters), o.MinEffective/s.Effective)
	}
	known := !math.IsNaN(c.Lo)
	if known {
		target := max(c.D, o.Delta-c.D)
		settled := func(k float64) bool {
			return (student(c.df(k)).Quantile(.975)+distuv.UnitNormal.Quantile(settlePower))*c.SE/math.Sqrt(k) <= target
		}
		lo, hi := factor, factor
		for !settled(hi) {
			lo, hi = hi, 2*hi
			if hi > 1e6 {
				return CutoffNeed{math.Inf(1), math.Inf(1), math.Inf(1), math.Inf(1)}
			}
		}
		for hi-lo > 1e-3*hi {
			if mid := (lo + hi) / 2; settled(mid) {
				hi = mid
			} else {
				lo = mid
			}
		}
		factor = hi
	}
	need := CutoffNeed{
		Factor:        factor,
		Clusters:      math.Ceil(factor * float64(c.clusters)),
		EventsInside:  math.Ceil(factor * c.Inside.Events),
		EventsOutside: math.Ceil(factor * c.Outside.Events),
	}
	if !known {
		need.Factor = 0
	}
	return need
}
