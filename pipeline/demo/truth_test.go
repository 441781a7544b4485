package demo

import (
	"bytes"
	"compress/gzip"
	"context"
	"encoding/json"
	"flag"
	"os"
	"path/filepath"
	"testing"
	"time"
)

var measure = flag.Bool("measure", false, "measure the estimands of the leagues anew and write them to truth/")
var measureLeague = flag.String("league", "", "measure this league alone")
var measureSeasons = flag.Int("seasons", 100, "size of a measured population, in seasons of the Lantern League")

// TestMeasureTruth is the command that writes the truth files; without its
// flag it does nothing.
func TestMeasureTruth(t *testing.T) {
	if !*measure {
		t.Skip("run with -measure to write the truth files anew")
	}
	for _, s := range []Scenario{Lantern(), TradeFacts(), Kestrel()} {
		if *measureLeague != "" && *measureLeague != s.Name {
			continue
		}
		seasons := *measureSeasons * Lantern().Pitches / s.Pitches
		start := time.Now()
		truth, err := Population(context.Background(), s, 1_000_000, seasons)
		if err != nil {
			t.Fatal(err)
		}
		text, err := json.Marshal(truth)
		if err != nil {
			t.Fatal(err)
		}
		var b bytes.Buffer
		z, _ := gzip.NewWriterLevel(&b, gzip.BestCompression)
		if _, err := z.Write(text); err != nil {
			t.Fatal(err)
		}
		if err := z.Close(); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(filepath.Join("truth", s.Name+".json.gz"), b.Bytes(), 0o644); err != nil {
			t.Fatal(err)
		}
		t.Logf("%s: %d seasons, %d pitches, %d bytes, %v", s.Name, seasons, truth.Population.Pitches, b.Len(), time.Since(start))
	}
}
