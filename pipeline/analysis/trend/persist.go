package trend

import (
	"math"
	"slices"

	"sill/pipeline/analysis/answer"
	"sill/pipeline/outcome"
	"sill/pipeline/pitch"
	"sill/stats"
)

// Persistence says how soon a number is the pitcher's own: how many events it takes
// until half of the variance between pitchers' observed values is that of their true
// ones (a reliability of .5). Of n events, n/(n + half) is the pitcher.
type Persistence struct {
	PitchType   string   `json:"pitch_type" doc:"pitch type"`
	Kind        string   `json:"kind" doc:"quality, outcome, or platoon_gap: the outcome against batters of the pitcher's own hand's side less that against the others"`
	Name        string   `json:"name" doc:"quality or outcome"`
	Unit        string   `json:"unit" doc:"unit of a quality"`
	Per         string   `json:"per" doc:"the events: swings or plate appearances; of a platoon gap, half of them against either side"`
	Pitchers    int64    `json:"pitchers" unit:"count" doc:"pitchers it is taken from"`
	Spread      *float64 `json:"spread" doc:"standard deviation of pitchers' true values; null where there are too few pitchers"`
	Half        *float64 `json:"half" unit:"count" doc:"events at which half is the pitcher; null where pitchers are not seen to differ"`
	HalfLo      *float64 `json:"half_lo" unit:"count" doc:"lower 95 % limit, pitchers left out in twenty groups"`
	HalfHi      *float64 `json:"half_hi" unit:"count" doc:"upper 95 % limit; null where it may be any number"`
	Typical     float64  `json:"typical_events" unit:"count" doc:"events of the median of these pitchers"`
	Reliability *float64 `json:"typical_reliability" unit:"share" doc:"share of what is seen of him that is the pitcher"`
}

// The kinds of Persistence.
const (
	OfQuality = "quality"
	OfOutcome = "outcome"
	OfGap     = "platoon_gap"
)

// persistEvents is how many events a pitcher needs to speak here.
const persistEvents = 5

// persistGroups is how many groups of pitchers are left out in turn.
const persistGroups = 20

// Persist tells the persistence of every quality, outcome and platoon gap of every
// pitch type in a window. Left and right-handed pitchers may differ in the mean of a
// quality or gap, which is not what tells one pitcher from another.
func Persist(w Window, scoring outcome.Scoring) []Persistence {
	vars, _ := shared(&w, &w)
	records := gather(&w, 0, vars, &scoring)
	keys := make([]thrower, 0, len(records))
	for k := range records {
		keys = append(keys, k)
	}
	slices.SortFunc(keys, thrower.compare)
	var out []Persistence
	for first := 0; first < len(keys); {
		typ, end := keys[first].typ, first
		for end < len(keys) && keys[end].typ == typ {
			end++
		}
		of := keys[first:end]
		first = end
		for v := range vars {
			p := Persistence{PitchType: typ.String(), Kind: OfQuality, Name: vars[v].Name, Unit: vars[v].Unit, Per: outcome.Metrics[outcome.Whiff].Events}
			var all []observed
			for _, k := range of {
				if s := records[k].qualities[v]; s.n >= persistEvents {
					all = append(all, observed{hand: k.hand, n: s.n, y: s.mean(), v: 1 / s.n, squares: s.squares(), df: s.n - 1})
				}
			}
			out = append(out, p.from(all, 1, ratio))
		}
		for m := range metrics {
			p := Persistence{PitchType: typ.String(), Kind: OfOutcome, Name: outcome.Metrics[m].Name, Per: outcome.Metrics[m].Events}
			gap := p
			gap.Kind = OfGap
			var all, gaps []observed
			for _, k := range of {
				s := records[k].outcomes
				same, other := s[pitch.LeftSide][m], s[pitch.RightSide][m]
				if k.hand == pitch.RightHand {
					same, other = other, same
				}
				var sum sums
				sum.add(same.n+other.n, same.x+other.x, same.xx+other.xx)
				if sum.n >= persistEvents {
					all = append(all, observed{hand: k.hand, n: sum.n, y: sum.mean(), v: 1 / sum.n, squares: sum.squares(), df: sum.n - 1, hits: sum.x})
				}
				if min(same.n, other.n) >= persistEvents {
					gaps = append(gaps, observed{hand: k.hand, n: sum.n, y: same.mean() - other.mean(), v: 1/same.n + 1/other.n,
						squares: same.squares() + other.squares(), df: sum.n - 2})
				}
			}
			how := ratio
			if m == outcome.Whiff {
				how = binomialRatio
			}
			out = append(out, p.from(all, 1, how), gap.from(gaps, 4, ratio))
		}
	}
	return out
}

// observed is one pitcher's value with n events behind it, whose sampling variance is
// v times that of one event, and what he tells of that: squares about his mean, and
// their degrees of freedom.
type observed struct {
	hand        pitch.Hand
	n, y, v     float64
	squares, df float64
	hits        float64 // of a whiff rate
}

// from fills a row: per is how many events' variance one event on both sides of a
// platoon gap has.
func (p Persistence) from(all []observed, per float64, how func([]observed) (own, spread float64)) Persistence {
	p.Pitchers = int64(len(all))
	if len(all) < minPitchers {
		return p
	}
	n := make([]float64, len(all))
	for i := range all {
		n[i] = all[i].n
	}
	slices.Sort(n)
	p.Typical = (n[(len(n)-1)/2] + n[len(n)/2]) / 2
	own, spread := how(all)
	if math.IsNaN(own) {
		return p
	}
	p.Spread = answer.Null(spread)
	if own > 0 {
		p.Half = answer.Null(per / own)
		p.Reliability = answer.Null(p.Typical / (p.Typical + *p.Half))
	}
	without := make([]float64, persistGroups)
	for g := range without {
		var rest []observed
		for i := range all {
			if i%persistGroups != g {
				rest = append(rest, all[i])
			}
		}
		if without[g], _ = how(rest); math.IsNaN(without[g]) {
			return p
		}
	}
	half := float64(stats.TQuantile(.975, persistGroups-1) * math.Sqrt(stats.JackknifeVariance(without)))
	p.HalfLo = answer.Null(per / (own + half))
	if own > half {
		p.HalfHi = answer.Null(per / (own - half))
	}
	return p
}

// ratio is the variance of true values over that of one event, and the standard
// deviation of the true values; hands are fitted apart and count by their pitchers.
func ratio(all []observed) (own, spread float64) {
	var squares, df float64
	for i := range all {
		squares += all[i].squares
		df += all[i].df
	}
	within := squares / df
	if !(within > 0) {
		return math.NaN(), math.NaN()
	}
	var tau2, pitchers float64
	for _, hand := range []pitch.Hand{pitch.LeftHand, pitch.RightHand} {
		var y, v []float64
		for i := range all {
			if all[i].hand == hand {
				y, v = append(y, all[i].y), append(v, within*all[i].v)
			}
		}
		if len(y) >= 3 {
			tau2 += float64(float64(len(y)) * stats.RestrictedTau2(y, v))
			pitchers += float64(len(y))
		}
	}
	return tau2 / pitchers / within, math.Sqrt(tau2 / pitchers)
}

// binomialRatio is ratio for rates: 1/M of a beta-binomial law, of which M events are
// worth as much as knowing the league.
func binomialRatio(all []observed) (own, spread float64) {
	k, n := make([]int, len(all)), make([]int, len(all))
	for i := range all {
		k[i], n[i] = int(math.Round(all[i].hits)), int(all[i].n)
	}
	b, err := stats.FitBetaBinomial(k, n)
	if err != nil || b.M == 0 {
		return math.NaN(), math.NaN()
	}
	return 1 / b.M, math.Sqrt(b.Mu * (1 - b.Mu) / (b.M + 1))
}
