package tally

import (
	"bytes"
	"runtime"
	"sync"
	"testing"

	"sill/pipeline/pitch"
	"sill/pipeline/shape"
)

// BenchmarkSeason counts a season of 500,000 pitches, 420 pitchers and 450
// batters in 14 variables with two workers. Its metrics are the heap that the
// process holds beyond the pitches themselves, in MB, and the rows.
func BenchmarkSeason(b *testing.B) {
	const pitches = 500_000
	l := newLeague(pitches, 420, 450)
	season := make([]pitch.Pitch, pitches)
	for i := range season {
		l.fill(&season[i], i)
	}
	b.ReportAllocs()
	for b.Loop() {
		runtime.GC()
		var before, after runtime.MemStats
		runtime.ReadMemStats(&before)
		builder, err := NewBuilder(shape.Variables, nil, l.names, 2)
		if err != nil {
			b.Fatal(err)
		}
		var group sync.WaitGroup
		for w := range 2 {
			group.Go(func() {
				for i := w * pitches / 2; i < (w+1)*pitches/2; i += 5000 {
					if err := builder.Add(w, season[i:i+5000]); err != nil {
						b.Error(err)
					}
				}
			})
		}
		group.Wait()
		t, err := builder.Tally()
		if err != nil {
			b.Fatal(err)
		}
		runtime.ReadMemStats(&after)
		rows, batters := 0, 0
		for _, c := range t.Cells {
			for v := range c.Curves {
				rows += len(c.Curves[v].Rows)
				batters += len(c.Curves[v].BatterCounts)
			}
		}
		// Everything allocated, freed or not: an upper bound of the peak.
		b.ReportMetric(float64(after.TotalAlloc-before.TotalAlloc)/(1<<20), "MB-allocated")
		b.ReportMetric(float64(rows), "rows")
		b.ReportMetric(float64(batters), "batter-counts")
	}
}

type countingWriter int64

func (c *countingWriter) Write(p []byte) (int, error) {
	*c += countingWriter(len(p))
	return len(p), nil
}

// BenchmarkWrite writes the hand-over file of a season.
func BenchmarkWrite(b *testing.B) {
	l := newLeague(500_000, 420, 450)
	t, err := l.build(shape.Variables, nil, 2, foldAt, nil)
	if err != nil {
		b.Fatal(err)
	}
	var size countingWriter
	b.ReportAllocs()
	for b.Loop() {
		size = 0
		if err := Write(&size, t); err != nil {
			b.Fatal(err)
		}
	}
	b.ReportMetric(float64(size)/(1<<20), "MB")
}

// BenchmarkRead reads it back.
func BenchmarkRead(b *testing.B) {
	l := newLeague(500_000, 420, 450)
	t, err := l.build(shape.Variables, nil, 2, foldAt, nil)
	if err != nil {
		b.Fatal(err)
	}
	var file bytes.Buffer
	if err := Write(&file, t); err != nil {
		b.Fatal(err)
	}
	b.ReportAllocs()
	for b.Loop() {
		if _, err := Read(bytes.NewReader(file.Bytes()), int64(file.Len())); err != nil {
			b.Fatal(err)
		}
	}
}
