package locate

import (
	"math/rand/v2"
	"testing"

	"sill/pipeline/estimate"
	"sill/pipeline/pitch"
	"sill/pipeline/shape"
	"sill/pipeline/tally"
)

// benchLeague is one season of 500,000 pitches: 420 pitchers, 8 pitch types, every
// variable.
func benchLeague(b testing.TB) *tally.Tally {
	b.Helper()
	l := smallLeague()
	l.pitchers, l.pitches, l.batters = 210, 1190, 200
	l.types = []pitch.Type{pitch.FourSeam, pitch.Sinker, pitch.Cutter, pitch.Slider, pitch.Sweeper, pitch.Curveball, pitch.Changeup, pitch.Splitter}
	l.variables = shape.Names(shape.Variables)
	rng := rand.New(rand.NewPCG(3, 4))
	l.edit = func(p *pitch.Pitch) {
		v := p.Num[pitch.Velocity]
		for n := range p.Num {
			if pitch.IsMissing(p.Num[n]) {
				p.Num[n] = rng.NormFloat64()
			}
		}
		p.Num[pitch.InducedVerticalBreak] = 14 + 4*rng.NormFloat64()
		p.Num[pitch.HorizontalBreak] = 8 + 5*rng.NormFloat64()
		p.Num[pitch.SpinRate] = 2200 + 250*rng.NormFloat64() + 20*(v-93)
		p.Num[pitch.SpinAxis] = 360 * rng.Float64()
		p.Num[pitch.ArmAngle] = 45 + 20*rng.NormFloat64()
		p.Num[pitch.ZoneTop], p.Num[pitch.ZoneBottom], p.Num[pitch.PlateHeight] = 3.4, 1.6, 2.5+.8*rng.NormFloat64()
	}
	return l.play(b)
}

// BenchmarkSeason estimates and locates that season with 2,000 replicates and
// 9,999 flips.
func BenchmarkSeason(b *testing.B) {
	counts := benchLeague(b)
	e, err := estimate.New(b.Context(), counts, estimate.DefaultOptions())
	if err != nil {
		b.Fatal(err)
	}
	all, err := Stratifications(b.Context(), e, DefaultOptions())
	if err != nil {
		b.Fatal(err)
	}
	b.ReportAllocs()
	for b.Loop() {
		e, err := estimate.New(b.Context(), counts, estimate.DefaultOptions())
		if err != nil {
			b.Fatal(err)
		}
		if _, err := Locate(b.Context(), e, DefaultOptions()); err != nil {
			b.Fatal(err)
		}
	}
	b.ReportMetric(float64(all[0].Tests), "tests")
	b.ReportMetric(float64(all[0].Flips), "flips")
}
