package ingest

import (
	"context"
	"fmt"
	"math/rand/v2"
	"path/filepath"
	"runtime"
	"testing"

	"github.com/parquet-go/parquet-go"

	"sill/pipeline/pitch"
)

// seasonColumns makes a season of n tracked pitches in 40 columns.
func seasonColumns(n int) ([]column, *Profile) {
	r := rand.New(rand.NewPCG(1, 2))
	p := profile()
	var cols []column
	add := func(name string, node parquet.Node, value func(i int) any) {
		c := column{name: name, node: node, values: make([]any, n)}
		for i := range c.values {
			c.values[i] = value(i)
		}
		cols = append(cols, c)
	}
	text := func(format string, of func(i int) int) func(int) any {
		return func(i int) any { return fmt.Sprintf(format, of(i)) }
	}
	dict := optional(parquet.Encoded(parquet.String(), &parquet.RLEDictionary))
	game := func(i int) int { return i / 300 }
	add("match", dict, text("game-%05d", game))
	add("turn", intNode, func(i int) any { return int64(i % 300 / 4) })
	add("throw", intNode, func(i int) any { return int64(i%300%4 + 1) })
	add("frame", intNode, func(i int) any { return int64(i%300/34 + 1) })
	add("upper", dict, func(i int) any { return []string{"top", "bottom"}[i%300/17%2] })
	add("hurler", dict, text("p%04d", func(i int) int { return (i/90)*7919%420 + 1000 }))
	add("arm", dict, func(i int) any { return []string{"L", "R"}[i/90*7919%420%2] })
	add("hitter", dict, text("b%04d", func(i int) int { return i / 4 * 31 % 500 }))
	add("stand", dict, func(i int) any { return []string{"L", "R"}[i/4%2] })
	add("kind", dict, func(int) any { return []string{"fast", "bend"}[r.IntN(2)] })
	add("call", dict, func(int) any { return []string{"taken", "miss", "hit"}[r.IntN(3)] })
	add("end", dict, func(i int) any { return []string{"K", "1B", "BB"}[i/4%3] })
	add("day", dict, func(i int) any { return fmt.Sprintf("2031-%02d-%02d", 4+game(i)/300%6, 1+game(i)/15%28) })
	add("phase", dict, func(int) any { return "league" })
	numbers := 0
	for _, c := range pitch.Dictionary {
		if c.Kind != pitch.Real {
			continue
		}
		source := map[string]string{"velocity": "speed", "induced_vertical_break": "rise", "horizontal_break": "sweep"}[c.Name]
		if source == "" {
			source = "m_" + c.Name
		}
		mid, span := (c.Min+c.Max)/2, (c.Max-c.Min)/4
		add(source, doubleNode, func(int) any {
			if r.IntN(50) == 0 {
				return nil
			}
			return float64(int((mid+span*(r.Float64()-.5))*1000)) / 1000
		})
		m := Column{Column: source, Unit: c.Unit}
		if c.Lateral != pitch.NotLateral {
			m.Positive = "catcher_right"
		}
		p.Columns[c.Name] = m
		numbers++
	}
	p.ResultOn = "every_pitch"
	return cols, p
}

// BenchmarkSeason reads 500,000 rows × 40 columns in both passes.
func BenchmarkSeason(b *testing.B) {
	const n, files = 500_000, 4
	cols, p := seasonColumns(n)
	dir := b.TempDir()
	var in []File
	for k := range files {
		part := make([]column, len(cols))
		for i, c := range cols {
			part[i] = column{c.name, c.node, c.values[k*n/files : (k+1)*n/files]}
		}
		name := fmt.Sprintf("part%d.parquet", k)
		writeColumns(b, filepath.Join(dir, name), part, parquet.MaxRowsPerRowGroup(60_000))
		in = append(in, File{Path: filepath.Join(dir, name), Name: name})
	}
	b.Logf("%d columns", len(cols))
	clear(cols)
	cols = nil
	runtime.GC()
	for b.Loop() {
		s, err := Index(context.Background(), in, p, DefaultOptions())
		if err != nil {
			b.Fatal(err)
		}
		var peak runtime.MemStats
		runtime.ReadMemStats(&peak)
		r, err := s.Deliver(context.Background(), nil, pitch.CounterFunc(func(int, []pitch.Pitch) error { return nil }))
		if err != nil {
			b.Fatal(err)
		}
		if r.RowsUsed != n {
			b.Fatalf("%d rows used", r.RowsUsed)
		}
		b.ReportMetric(float64(peak.HeapInuse)/1e6, "MB-inuse")
	}
	b.ReportMetric(float64(b.Elapsed().Seconds())*1e9/float64(b.N)/n, "ns/row")
}
