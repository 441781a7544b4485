package demo

import (
	"context"
	"fmt"
	"maps"
	"math"
	"slices"

	"sill/pipeline/pitch"
)

// finer is how many steps the estimand's grid has in one usual bin.
const finer = 8

// lineNames are the lines in the order of curves.
var lineNames = [4]string{TypeMedian, TypeRate, MatchupMedian, MatchupRate}

// qualify is how many events a pitcher needs to count for a median line.
const qualify = 25

// metric indexes the two outcomes of the estimand.
const (
	whiffRate = iota
	wobaAgainst
	metrics
)

var metricNames = [metrics]string{"whiff_rate", "woba_against"}

// metricSign is +1 where more is better for the pitcher.
var metricSign = [metrics]float64{+1, -1}

// census sums events and expected outcomes of one cell, on the grid of every
// quality and in all.
type census struct {
	n, y [metrics]float64
	grid [Qualities][]node
}

// node is one step of a grid: events, expected outcomes and Σx by metric.
type node struct{ n, y, x [metrics]float64 }

// record is what one pitcher did in one season with one pitch type.
type record struct{ n, y [metrics]float64 }

func (r *record) add(o record) {
	for m := range metrics {
		r.n[m] += o.n[m]
		r.y[m] += o.y[m]
	}
}

// mostTypes is more than the pitch types of a league.
const mostTypes = 12

// at is the place of a type among those of the league.
func (p *population) at(t pitch.Type) int { return slices.Index(p.types, t) }

// population is the census of many leagues drawn alike.
type population struct {
	types   []pitch.Type
	cells   [4][mostTypes]*census
	rates   [4][mostTypes][metrics][]float64 // qualified pitchers' rates by matchup
	overall [mostTypes][metrics][]float64    // and over all matchups
	pitches int
}

// Population plays so many first seasons of the scenario, each with people of
// its own, and returns the truth: the structure and the estimand. Per cell the
// curve is E[outcome | quality] over eligible events, from true probabilities
// rather than outcomes; the median lines are those of qualified pitchers (25
// swings or counted plate appearances in a season) as they turn out. A hundred
// seasons take a few minutes.
func Population(ctx context.Context, s Scenario, seed uint64, seasons int) (*Truth, error) {
	p := &population{}
	for _, k := range s.Kinds {
		p.types = append(p.types, k.Type)
		for i := range p.cells {
			c := &census{}
			for q := range Qualities {
				info := &qualityInfo[q]
				c.grid[q] = make([]node, int((info.Hi-info.Lo)/info.Width*finer+.5))
			}
			p.cells[i][p.at(k.Type)] = c
		}
	}
	for k := range seasons {
		o := DefaultOptions()
		o.Pitches, o.Seed = s.Pitches, seed+uint64(k)
		if err := p.add(ctx, s, o); err != nil {
			return nil, fmt.Errorf("measure population of %s: %w", s.Name, err)
		}
	}
	t := structure(&s)
	t.Population = &Measured{Seasons: seasons, Pitches: p.pitches, Seed: seed}
	p.estimand(t)
	return t, nil
}

// add plays one season and counts it.
func (p *population) add(ctx context.Context, s Scenario, o Options) error {
	records := map[int64]*[4][mostTypes]record{}
	err := Play(ctx, s, o, func(rows []Thrown) error {
		if rows[0].Kind != Regular {
			return nil
		}
		p.pitches += len(rows)
		for i := range rows {
			t := &rows[i]
			if t.Fielder || t.Type == pitch.UnknownType {
				continue
			}
			m := matchupIndex(t.Hand, t.Side)
			p.cells[m][p.at(t.Type)].add(t)
			r := records[t.Pitcher]
			if r == nil {
				r = &[4][mostTypes]record{}
				records[t.Pitcher] = r
			}
			r[m][p.at(t.Type)].observe(t)
		}
		return nil
	})
	if err != nil {
		return err
	}
	for _, id := range slices.Sorted(maps.Keys(records)) {
		for _, typ := range p.types {
			var all record
			for m := range 4 {
				r := records[id][m][p.at(typ)]
				all.add(r)
				for k := range metrics {
					if r.n[k] >= qualify {
						p.rates[m][p.at(typ)][k] = append(p.rates[m][p.at(typ)][k], r.y[k]/r.n[k])
					}
				}
			}
			for k := range metrics {
				if all.n[k] >= qualify {
					p.overall[p.at(typ)][k] = append(p.overall[p.at(typ)][k], all.y[k]/all.n[k])
				}
			}
		}
	}
	return nil
}

// add counts the expected outcomes of one pitch.
func (c *census) add(t *Thrown) {
	n := [metrics]float64{t.SwingChance, t.EndChance}
	y := [metrics]float64{t.SwingChance * t.WhiffChance, t.EndChance * t.EndValue}
	if n[0] == 0 && n[1] == 0 {
		return
	}
	for m := range metrics {
		c.n[m] += n[m]
		c.y[m] += y[m]
	}
	for q := range Qualities {
		info := &qualityInfo[q]
		x := t.Value(Quality(q))
		k := int(math.Floor((x - info.Lo) / info.Width * finer))
		if k < 0 || k >= len(c.grid[q]) {
			continue
		}
		d := &c.grid[q][k]
		for m := range metrics {
			d.n[m] += n[m]
			d.y[m] += y[m]
			d.x[m] += n[m] * x
		}
	}
}

// observe counts what really happened.
func (r *record) observe(t *Thrown) {
	if t.Swing() {
		r.n[whiffRate]++
		if t.Outcome == pitch.SwingingStrike {
			r.y[whiffRate]++
		}
	}
	if worth, counted := t.Worth(); counted && t.Outcome != pitch.NoPitch {
		r.n[wobaAgainst]++
		r.y[wobaAgainst] += worth
	}
}

// Swing tells whether the batter swung; bunt attempts, pitchouts and catcher
// interference are no swings.
func (t *Thrown) Swing() bool {
	switch t.Outcome {
	case pitch.SwingingStrike, pitch.Foul, pitch.FoulTip:
		return true
	case pitch.InPlay:
		return !t.Bunt && t.Result != pitch.CatcherInterference
	}
	return false
}

// Worth returns the linear weight of the plate appearance that the row ended,
// and whether it counts (AB + BB − IBB + SF + HBP).
func (t *Thrown) Worth() (worth float64, counted bool) {
	switch t.Result.Base() {
	case pitch.NoResult, pitch.SacrificeBunt, pitch.CatcherInterference, pitch.NotAppearance:
		return 0, false
	case pitch.Walk:
		if t.Result.Has(pitch.Intentional) {
			return 0, false
		}
		return worthWalk, true
	case pitch.HitByPitch:
		return worthHit, true
	case pitch.Single:
		return contactWorth[1], true
	case pitch.Double:
		return contactWorth[2], true
	case pitch.Triple:
		return contactWorth[3], true
	case pitch.HomeRun:
		return contactWorth[4], true
	case pitch.ReachedOnError:
		return contactWorth[5], true
	}
	return 0, true
}

// estimand fills the truth's lines and zones.
func (p *population) estimand(t *Truth) {
	for m := range metrics {
		for _, typ := range p.types {
			n, y := 0., 0.
			for i := range 4 {
				n += p.cells[i][p.at(typ)].n[m]
				y += p.cells[i][p.at(typ)].y[m]
			}
			if n == 0 {
				continue
			}
			pooled := [2]float64{median(p.overall[p.at(typ)][m]), y / n}
			t.Lines = append(t.Lines,
				TrueLine{Outcome: metricNames[m], Reference: TypeMedian, Type: typ.String(), Value: round(pooled[0], 1e5)},
				TrueLine{Outcome: metricNames[m], Reference: TypeRate, Type: typ.String(), Value: round(pooled[1], 1e5)})
			for i := range 4 {
				c := p.cells[i][p.at(typ)]
				if c.n[m] == 0 {
					continue
				}
				own := [2]float64{median(p.rates[i][p.at(typ)][m]), c.y[m] / c.n[m]}
				name := pitch.Matchups[i].String()
				t.Lines = append(t.Lines,
					TrueLine{Outcome: metricNames[m], Reference: MatchupMedian, Type: typ.String(), Matchup: name, Value: round(own[0], 1e5)},
					TrueLine{Outcome: metricNames[m], Reference: MatchupRate, Type: typ.String(), Matchup: name, Value: round(own[1], 1e5)})
				for q := range Qualities {
					x, f, mass := curve(c.grid[q], m, qualityInfo[q].Width)
					for k, line := range []float64{pooled[0], pooled[1], own[0], own[1]} {
						t.Zones = append(t.Zones, TrueZones{Type: typ.String(), Matchup: name, Variable: qualityInfo[q].Name,
							Outcome: metricNames[m], Reference: lineNames[k], Lobes: lobes(x, f, mass, line, metricSign[m])})
					}
				}
			}
		}
	}
}

// curve smooths a grid: at every step with enough events around it the local
// line through its neighbours, Gaussian weights of a third of a bin. It
// returns the places, the curve and the share of events at or below each,
// within the central 99.9 % of events.
func curve(grid []node, m int, width float64) (x, f, mass []float64) {
	total := 0.
	for i := range grid {
		total += grid[i].n[m]
	}
	below := 0.
	band := width / 3
	for i := range grid {
		n := grid[i].n[m]
		mid := (below + n/2) / total
		below += n
		if n == 0 || mid < .0005 || mid > .9995 {
			continue
		}
		at := grid[i].x[m] / n
		var s0, s1, s2, t0, t1 float64
		for j := max(0, i-2*finer); j < min(len(grid), i+2*finer+1); j++ {
			nj := grid[j].n[m]
			if nj == 0 {
				continue
			}
			d := grid[j].x[m]/nj - at
			w := nj * math.Exp(-d*d/(2*band*band))
			y := grid[j].y[m] / nj
			s0, s1, s2 = s0+w, s1+w*d, s2+w*d*d
			t0, t1 = t0+w*y, t1+w*d*y
		}
		value := t0 / s0
		if det := s0*s2 - s1*s1; det > 1e-9*s0*s2 {
			value = (s2*t0 - s1*t1) / det
		}
		x, f, mass = append(x, at), append(f, value), append(mass, mid)
	}
	return x, f, mass
}

// smallest is the height below which a stretch on one side of the line is taken
// for noise of the population and given to its neighbours.
const smallest = .002

// lobes cuts a curve into stretches above and below the line, in the pitcher's
// view: Sign +1 is better than the line. Edges are linear between the places.
func lobes(x, f, mass []float64, line, sign float64) []Lobe {
	var out []Lobe
	for i := range x {
		d := sign * (f[i] - line)
		s := 1
		if d < 0 {
			s = -1
		}
		last := len(out) - 1
		if last < 0 || out[last].Sign != s {
			at := x[i]
			if last >= 0 {
				d0 := sign * (f[i-1] - line)
				at = x[i-1] + (x[i]-x[i-1])*d0/(d0-d)
				out[last].Upper = at
			}
			out = append(out, Lobe{Sign: s, Lower: at, from: i})
			last++
		}
		out[last].Peak = max(out[last].Peak, math.Abs(d))
		out[last].Upper, out[last].to = x[i], i
	}
	// A stretch too low to be told from noise joins its neighbours, the lowest
	// first.
	for len(out) > 1 {
		k := 0
		for i := range out {
			if out[i].Peak < out[k].Peak {
				k = i
			}
		}
		if out[k].Peak >= smallest {
			break
		}
		lo, hi := max(k-1, 0), min(k+1, len(out)-1)
		sum := out[lo]
		if lo == k {
			sum.Sign = out[hi].Sign
		}
		for _, l := range out[lo : hi+1] {
			sum.Peak = max(sum.Peak, l.Peak)
		}
		sum.Upper, sum.to = out[hi].Upper, out[hi].to
		out = slices.Replace(out, lo, hi+1, sum)
	}
	for i := range out {
		l := &out[i]
		l.Open = [2]bool{i == 0, i == len(out)-1}
		l.Share = round(mass[l.to]-mass[l.from], 1e2)
		l.Lower, l.Upper, l.Peak = round(l.Lower, 1e3), round(l.Upper, 1e3), round(l.Peak, 1e3)
	}
	return out
}

func median(x []float64) float64 {
	if len(x) == 0 {
		return math.NaN()
	}
	x = slices.Sorted(slices.Values(x))
	n := len(x)
	return (x[(n-1)/2] + x[n/2]) / 2
}

func round(x, perUnit float64) float64 { return math.Round(x*perUnit) / perUnit }
