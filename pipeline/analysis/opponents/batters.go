package opponents

import (
	"maps"
	"math"

	"sill/pipeline/outcome"
	"sill/pipeline/pitch"
	"sill/stats"
)

// minBatters is the fewest batters whose spread is estimated.
const minBatters = 20

// batters are the batters of one side against pitchers of one hand, by one outcome.
// A batter's rate is how far his events lie above the level of their own pitch type
// in this matchup: an ordinary batter who sees many sliders is ordinary.
type batters struct {
	metric   int
	level    float64                // ΣY/Σn over all pitch types
	types    map[pitch.Type]float64 // level of each type against batters alike
	n, s     []float64              // events and Σ(y − level of the type) by batter
	duos     []duo                  // the same by pitcher and batter
	at       map[[2]int32]int32     // index into duos by pitcher and batter
	variance float64                // of single events within batters, σ²
	prior    float64                // σ²/τ²: events that weigh like the league; +Inf where batters do not differ
}

// duo is what befell one batter against one pitcher, on all pitch types.
type duo struct {
	pitcher, batter int32
	n, s            float64
}

// newBatters takes the pairs of one matchup, of all pitch types. Nil without an
// event.
//
// Levels of pitch types and rates of batters are fitted together by least squares,
// so that a type which is thrown to the better batters does not hide it. The true
// rates are taken to be normal with variance τ² (normal-normal, restricted maximum
// likelihood), each one's own error to be σ²/n.
func newBatters(pairs []Pair, metric int, s *outcome.Scoring, known int) *batters {
	b := &batters{metric: metric, n: make([]float64, known), s: make([]float64, known), at: map[[2]int32]int32{}, prior: math.Inf(1)}
	if !b.fit(pairs, s) {
		return nil
	}
	var events, squares float64
	for i := range pairs {
		p := &pairs[i]
		k, v, vv := p.values(metric, s)
		if k == 0 {
			continue
		}
		m := b.types[p.Type]
		d := &b.duos[b.duo(p.Pitcher, p.Batter)]
		d.n += k
		d.s += v - float64(m*k)
		events += k
		squares += vv - float64(2*m*v) + float64(float64(m*m)*k)
	}
	var rates, variances []float64
	for i, k := range b.n {
		if k > 0 {
			squares -= float64(b.s[i]*b.s[i]) / k
			rates = append(rates, b.s[i]/k)
		}
	}
	if b.variance = squares / (events - float64(len(rates))); !(b.variance > 0) {
		b.variance = 0
		return b
	}
	if len(rates) < minBatters {
		return b
	}
	for _, k := range b.n {
		if k > 0 {
			variances = append(variances, b.variance/k)
		}
	}
	if m, err := stats.FitNormalNormal(rates, variances); err == nil && m.Tau2 > 0 {
		b.prior = b.variance / m.Tau2
	}
	return b
}

// The fit goes round between types and batters until no level moves by more than
// fitted, at most fitRounds times; it comes near fast, since every batter sees most
// types.
const (
	fitRounds = 200
	fitted    = 1e-12
)

// fit finds the levels of the types and every batter's events and sum above them,
// the events' mean of which is 0.
func (b *batters) fit(pairs []Pair, s *outcome.Scoring) bool {
	type cellSum struct {
		batter int32
		kind   pitch.Type
		n      float64
	}
	n, y := map[pitch.Type]float64{}, map[pitch.Type]float64{}
	var events, values float64
	total := make([]float64, len(b.s))
	type seen struct {
		batter int32
		kind   pitch.Type
	}
	at := map[seen]int{}
	var cells []cellSum
	for i := range pairs {
		p := &pairs[i]
		k, v, _ := p.values(b.metric, s)
		if k == 0 {
			continue
		}
		n[p.Type] += k
		y[p.Type] += v
		b.n[p.Batter] += k
		total[p.Batter] += v
		events, values = events+k, values+v
		key := seen{p.Batter, p.Type}
		j, ok := at[key]
		if !ok {
			j = len(cells)
			at[key] = j
			cells = append(cells, cellSum{p.Batter, p.Type, 0})
		}
		cells[j].n += k
	}
	if events == 0 {
		return false
	}
	b.level = values / events
	b.types = map[pitch.Type]float64{}
	for t := range n {
		b.types[t] = y[t] / n[t]
	}
	above := func() { // every batter's sum above the levels of the types
		copy(b.s, total)
		for _, c := range cells {
			b.s[c.batter] -= float64(b.types[c.kind] * c.n)
		}
	}
	for range fitRounds {
		above()
		sum := 0.0
		for _, v := range b.s {
			sum += v
		}
		shift := sum / events // the events' mean stays 0
		next := maps.Clone(y)
		for _, c := range cells {
			next[c.kind] -= float64((b.s[c.batter]/b.n[c.batter] - shift) * c.n)
		}
		moved := 0.0
		for t := range next {
			next[t] /= n[t]
			moved = max(moved, math.Abs(next[t]-b.types[t]))
		}
		b.types = next
		if moved <= fitted {
			break
		}
	}
	above()
	return true
}

// duo returns the index of a pitcher and a batter, a new one where they are new.
func (b *batters) duo(pitcher, batter int32) int32 {
	key := [2]int32{pitcher, batter}
	i, ok := b.at[key]
	if !ok {
		i = int32(len(b.duos))
		b.at[key] = i
		b.duos = append(b.duos, duo{pitcher: pitcher, batter: batter})
	}
	return i
}

// without returns the batter's events against all pitchers but the duo's, his rate
// above the level there, and that rate shrunk toward 0:
//
//	(S_b − S_bp)/(n_b − n_bp)  and  (S_b − S_bp)/(n_b − n_bp + M),  M = σ²/τ²
func (b *batters) without(d *duo) (n, rate, shrunk float64) {
	if n = b.n[d.batter] - d.n; n <= 0 {
		return 0, 0, 0
	}
	s := b.s[d.batter] - d.s
	return n, s / n, s / (n + b.prior)
}
