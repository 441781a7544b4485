package opponents

import (
	"testing"
)

// BenchmarkSeason counts and measures as many events as a season has.
func BenchmarkSeason(b *testing.B) {
	list, _ := league(1, 420, 230, 1000, .05, 0)
	for b.Loop() {
		c := NewCounter(1)
		c.Add(0, list)
		Measure(c.Pairs(), &book, 420, 230)
	}
	b.ReportMetric(float64(len(list)), "events")
}
