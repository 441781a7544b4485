package stacked

import (
	"bytes"
	"cmp"
	"context"
	"math"
	"math/bits"
	"slices"

	"sill/pipeline/analysis/answer"
	"sill/pipeline/estimate"
	"sill/pipeline/outcome"
	"sill/pipeline/pitch"
	"sill/pipeline/shape"
	"sill/pipeline/tally"
	"sill/pipeline/thresholds"
)

// Halves deals the pitchers into half 0 and half 1, by turns within each throwing
// hand, in the order of a hash of seed and key: the halves differ by one pitcher a
// hand at most, and a pitcher's name says nothing about his half.
func Halves(pitchers []string, seed uint64) []uint8 {
	type drawn struct {
		hand  pitch.Hand
		order [32]byte
		at    int
	}
	list := make([]drawn, len(pitchers))
	for i, key := range pitchers {
		hand := pitch.ParsePitcherKey(key).Hand
		list[i] = drawn{hand, estimate.StreamKey(seed, "half", key), i}
	}
	slices.SortFunc(list, func(a, b drawn) int {
		return cmp.Or(cmp.Compare(a.hand, b.hand), bytes.Compare(a.order[:], b.order[:]))
	})
	half := make([]uint8, len(pitchers))
	for i := range list {
		half[list[i].at] = uint8(i & 1)
	}
	return half
}

// Zone is a stretch of a quality that beats the line; an end that has no limit is
// infinite.
type Zone struct{ Lo, Hi float64 }

// found are one half's zones of one cell and outcome, by quality.
type found [][]Zone

// halves are what each half found in one cell and outcome.
type halves [2]found

// zoned holds each half's zones, by outcome and cell. A value in a good zone is good,
// one in an open zone alone is neither good nor bad: the half cannot tell.
type zoned struct {
	by   [2][]map[answer.Cell]found
	open [2][]map[answer.Cell]found
}

// findZones counts the two halves of the pitchers apart and seeks zones in each.
func findZones(ctx context.Context, p tally.Pitches, qualities []shape.Variable, half []uint8, o Options) (*zoned, error) {
	counts, err := countHalves(ctx, p, qualities, half)
	if err != nil {
		return nil, err
	}
	z := &zoned{}
	for h, t := range counts {
		_, rows, err := answer.Zones(ctx, t, o.Estimate, o.Locate)
		if err != nil {
			return nil, err
		}
		z.by[h], z.open[h] = gather(rows, qualities, o)
	}
	return z, nil
}

// countHalves reads the pitches once into a tally for each half.
func countHalves(ctx context.Context, p tally.Pitches, vars []shape.Variable, half []uint8) (counts [2]*tally.Tally, err error) {
	var builders [2]*tally.Builder
	for h := range builders {
		if builders[h], err = tally.NewBuilder(vars, nil, p.Names(), p.Workers()); err != nil {
			return counts, err
		}
	}
	parts := make([][2][]pitch.Pitch, p.Workers())
	err = p.Each(ctx, func(worker int, batch []pitch.Pitch) error {
		part := &parts[worker]
		for h := range part {
			part[h] = part[h][:0]
		}
		for i := range batch {
			h := half[batch[i].Pitcher]
			part[h] = append(part[h], batch[i])
		}
		for h := range part {
			if err := builders[h].Add(worker, part[h]); err != nil {
				return err
			}
		}
		return nil
	})
	for h := range builders {
		if err == nil {
			counts[h], err = builders[h].Tally()
		}
	}
	return counts, err
}

// gather sorts the zones that beat the line by outcome, cell and quality: good up to
// the limits of their breakpoints, open within these; or good as far as is possible.
// One without any end sets no pitch apart and is left out.
//
// What lies within the limits of a breakpoint counts neither as good nor as bad: were
// it bad, one of two qualities that are both needed would seem to gain; were it good,
// the second of two of which one is enough. Certain the zones need not be, as the other
// half's pitches judge them; certain stretches alone would leave out most pitches.
func gather(rows []thresholds.Zone, qualities []shape.Variable, o Options) (good, open []map[answer.Cell]found) {
	good, open = make([]map[answer.Cell]found, len(outcome.Metrics)), make([]map[answer.Cell]found, len(outcome.Metrics))
	for m := range good {
		good[m], open[m] = map[answer.Cell]found{}, map[answer.Cell]found{}
	}
	for i := range rows {
		r := &rows[i]
		if r.Reference != o.Reference || r.Sign < 0 || r.Stratum != tally.AllStrata {
			continue
		}
		z, wide := between(r)
		if o.Possible {
			z, wide = possible(r), possible(r)
		}
		m := outcome.MetricIndex(r.Outcome)
		if !z.bounded() || z.Lo > z.Hi || m < 0 { // a joint zone is no outcome's
			continue
		}
		q := slices.IndexFunc(qualities, func(v shape.Variable) bool { return v.Name == r.Variable })
		k, _ := answer.ParseCell(r.PitchType, r.Hand, r.Side)
		if good[m][k] == nil {
			good[m][k], open[m][k] = make(found, len(qualities)), make(found, len(qualities))
		}
		good[m][k][q] = append(good[m][k][q], z)
		open[m][k][q] = append(open[m][k][q], wide)
	}
	return good, open
}

// between is the zone of a row from breakpoint to breakpoint, or to where the evidence
// fades, without what lies within the limits of a breakpoint, and with it. An end where
// the data end takes in what lies beyond it: pitches beyond the last bin's mean were
// counted in that bin. A limit that is not pinned counts as the breakpoint itself.
func between(r *thresholds.Zone) (without, with Zone) {
	without, with = Zone{math.Inf(-1), math.Inf(1)}, Zone{math.Inf(-1), math.Inf(1)}
	if r.LowerKind != thresholds.EndOpen {
		lower := answer.Or(r.Lower, answer.NaN)
		without.Lo, with.Lo = answer.Or(r.LowerHi, lower), answer.Or(r.LowerLo, lower)
	}
	if r.UpperKind != thresholds.EndOpen {
		upper := answer.Or(r.Upper, answer.NaN)
		without.Hi, with.Hi = answer.Or(r.UpperLo, upper), answer.Or(r.UpperHi, upper)
	}
	return without, with
}

// possible is the possible zone of a row.
func possible(r *thresholds.Zone) Zone {
	return Zone{answer.Or(r.PossibleLo, math.Inf(-1)), answer.Or(r.PossibleHi, math.Inf(1))}
}

func (z Zone) bounded() bool { return !math.IsInf(z.Lo, -1) || !math.IsInf(z.Hi, 1) }

// used lists the qualities that have a good zone in both halves: only those can be
// stacked by every pitcher.
func (z *zoned) used(metric int, k answer.Cell) uint {
	mask := ^uint(0)
	for h := range z.by {
		own := uint(0)
		for q, zones := range z.by[h][metric][k] {
			if len(zones) > 0 {
				own |= 1 << q
			}
		}
		mask &= own
	}
	return mask
}

// mask is a variable whose value tells which of the used qualities of a pitch lie
// in the good zones that the other half of the pitchers found: bit q for quality
// q. It is unknown where one of them is, where that half cannot tell of one, and where
// none is used.
func (z *zoned) mask(qualities []shape.Variable, half []uint8, metric int) shape.Variable {
	used := map[answer.Cell]uint{}
	for k := range z.by[0][metric] {
		used[k] = z.used(metric, k)
	}
	return shape.Variable{
		Name: "good | " + outcome.Metrics[metric].Name, Title: "qualities in their good zones", Width: 1, Quantum: 1, Definition: "mask",
		Value: func(p *pitch.Pitch) float64 {
			k := answer.CellOfPitch(p)
			if used[k] == 0 {
				return math.NaN()
			}
			other := 1 - half[p.Pitcher]
			good, open := z.by[other][metric][k], z.open[other][metric][k]
			in := uint(0)
			for left := used[k]; left != 0; left &= left - 1 {
				q := bits.TrailingZeros(left)
				v := &qualities[q]
				n, ok := v.Quantize(v.Value(p))
				if !ok {
					return math.NaN()
				}
				x := float64(n) / float64(v.PerUnit())
				holds := func(z Zone) bool { return z.Lo <= x && x <= z.Hi }
				switch {
				case slices.ContainsFunc(good[q], holds):
					in |= 1 << q
				case slices.ContainsFunc(open[q], holds):
					return math.NaN()
				}
			}
			return float64(in)
		},
	}
}
