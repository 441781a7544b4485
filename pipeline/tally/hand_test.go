package tally

import (
	"bytes"
	"io"
	"testing"

	"sill/pipeline/shape"
)

type countingWriter int64

func (c *countingWriter) Write(p []byte) (int, error) {
	*c += countingWriter(len(p))
	return len(p), nil
}

var _ io.Writer = (*countingWriter)(nil)

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
