package pipeline_test

import (
	"context"
	"path/filepath"
	"runtime"
	"testing"
	"time"

	"sill/config"
	"sill/pipeline"
	"sill/pipeline/demo"
)

// BenchmarkSeason runs the whole line on the demo season: 500,000 pitches, 14
// variables, 2,000 replicates, 9,999 flips and more where needed, published.
func BenchmarkSeason(b *testing.B) {
	d := demo.DefaultOptions()
	d.Dir = filepath.Join(b.TempDir(), "lantern")
	if _, err := demo.Write(context.Background(), d); err != nil {
		b.Fatal(err)
	}
	resolved, err := config.Load(nil, filepath.Join(d.Dir, "sill.yaml"), nil)
	if err != nil {
		b.Fatal(err)
	}
	b.ReportAllocs()
	for b.Loop() {
		o := resolved.Options
		o.Output, o.Created = b.TempDir(), time.Unix(1, 0)
		if _, err := pipeline.Run(context.Background(), o); err != nil {
			b.Fatal(err)
		}
		writable(o.Output)
	}
	var m runtime.MemStats
	runtime.ReadMemStats(&m)
	b.ReportMetric(float64(m.Sys)/(1<<20), "MiB-from-system")
}
