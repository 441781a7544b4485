package tally

import (
	"math"
	"slices"
	"strings"
	"testing"

	"sill/pipeline/outcome"
	"sill/pipeline/pitch"
	"sill/pipeline/shape"
)

type partKey struct {
	cell     Cell
	variable int
	part     int32
}

// partsOf turns a tally's parts into a map.
func partsOf(t *Tally) map[partKey]outcome.Counts {
	out := map[partKey]outcome.Counts{}
	for i := range t.Cells {
		for v := range t.Cells[i].Curves {
			for _, p := range t.Cells[i].Curves[v].Parts {
				out[partKey{t.Cells[i].Cell, v, p.Part}] = p.Counts
			}
		}
	}
	return out
}

// TestPartsAgainstPlainCount: quarters of bins are those of a plain count, and they
// sum to each bin.
func TestPartsAgainstPlainCount(t *testing.T) {
	l := newLeague(6000, 25, 30)
	got := mustBuild(t, l, nil, 2, noFold, nil)
	want := map[partKey]outcome.Counts{}
	var p pitch.Pitch
	for i := range l.pitches {
		l.fill(&p, i)
		if !outcome.Shaped(p.Outcome) {
			continue
		}
		swing := outcome.SwingOf(&p)
		class, counted := outcome.ClassOf(p.Result)
		for v := range shape.Variables {
			q, ok := shape.Variables[v].Quantize(shape.Variables[v].Value(&p))
			if !ok {
				continue
			}
			w := float64(got.Variables[v].WidthQ)
			d := float64(q) - math.Floor(float64(q)/w)*w
			k := partKey{Cell{Season: p.Season, Hand: p.Hand, Side: p.Side, Type: p.Type}, v,
				int32(4*math.Floor(float64(q)/w) + math.Floor(4*d/w))}
			c := want[k]
			c.Pitches++
			if swing != outcome.NoSwing {
				c.Swings, c.SwingD, c.SwingD2 = c.Swings+1, c.SwingD+int64(d), c.SwingD2+int64(d*d)
			}
			switch swing {
			case outcome.Miss:
				c.Whiffs++
			case outcome.Tip:
				c.FoulTips++
			}
			if counted {
				c.Results[class]++
				c.ResultD, c.ResultD2 = c.ResultD+int64(d), c.ResultD2+int64(d*d)
			}
			want[k] = c
		}
	}
	have := partsOf(got)
	for k, c := range want {
		if have[k] != c {
			t.Fatalf("%+v: got %+v, want %+v", k, have[k], c)
		}
	}
	if len(have) != len(want) {
		t.Errorf("%d parts, want %d", len(have), len(want))
	}
	places := [PartsPerBin]int{}
	for i := range got.Cells {
		for v := range got.Cells[i].Curves {
			c := &got.Cells[i].Curves[v]
			sums := map[int32]outcome.Counts{}
			for k, p := range c.Parts {
				if k > 0 && c.Parts[k-1].Part >= p.Part {
					t.Fatalf("parts out of order: %d after %d", p.Part, c.Parts[k-1].Part)
				}
				places[p.Part-PartsPerBin*BinOf(p.Part)]++
				s := sums[BinOf(p.Part)]
				if err := s.Add(&p.Counts); err != nil {
					t.Fatal(err)
				}
				sums[BinOf(p.Part)] = s
			}
			for b := c.Known(); b < len(c.Bins); b++ {
				var bin outcome.Counts
				for _, r := range c.Bin(b) {
					if err := bin.Add(&r.Counts); err != nil {
						t.Fatal(err)
					}
				}
				if sums[c.Bins[b]] != bin {
					t.Fatalf("%+v, %s, bin %d: parts hold %+v, the bin %+v", got.Cells[i].Cell, got.Variables[v].Name, c.Bins[b], sums[c.Bins[b]], bin)
				}
			}
		}
	}
	if slices.Min(places[:]) < 1000 {
		t.Errorf("parts by place in the bin: %v", places)
	}
}

// TestPartsTravel: parts survive the hand-over and add up in a merge, in either
// order; a file of format 1, which has none, is read, and a merge with it has none
// where both hold pitches.
func TestPartsTravel(t *testing.T) {
	l := newLeague(4000, 15, 20)
	whole := partsOf(mustBuild(t, l, nil, 1, noFold, nil))
	var shards [2]*Tally
	for s := range shards {
		shards[s] = mustBuild(t, l, nil, 1, noFold, func(p *pitch.Pitch) bool { return int(p.Game)%2 == s })
		got, err := reread(t, written(t, shards[s]))
		if err != nil {
			t.Fatal(err)
		}
		sameParts(t, "read back", partsOf(got), partsOf(shards[s]))
		shards[s] = got
	}
	for _, order := range [][2]int{{0, 1}, {1, 0}} {
		m, err := Merge(shards[order[0]], shards[order[1]])
		if err != nil {
			t.Fatal(err)
		}
		sameParts(t, "merged", partsOf(m), whole)
	}

	file := written(t, shards[0])
	text := strings.Replace(metadata(t, file), `"format":2`, `"format":1`, 1)
	text = text[:strings.Index(text, `,"digest"`)] + "}"
	rows := slices.DeleteFunc(records(t, file), func(r record) bool { return r.Table == tablePart })
	old, err := reread(t, rewrite(t, rows, text))
	if err != nil {
		t.Fatal(err)
	}
	if n := len(partsOf(old)); n != 0 {
		t.Errorf("%d parts of a file that has none", n)
	}
	gotP, gotB := flatten(old)
	wantP, wantB := flatten(shards[0])
	sameMaps(t, "pitchers of format 1", gotP, wantP)
	sameMaps(t, "batters of format 1", gotB, wantB)
	for _, list := range [][]*Tally{{old, shards[1]}, {shards[1], old}} {
		m, err := Merge(list...)
		if err != nil {
			t.Fatal(err)
		}
		with := 0
		for i := range m.Cells {
			cell := &m.Cells[i]
			for v := range cell.Curves {
				a, b := old.Find(cell.Cell), shards[1].Find(cell.Cell)
				bare := a != nil && a.Curves[v].Known() < len(a.Curves[v].Bins) // pitches that no part holds
				if got := len(cell.Curves[v].Parts) > 0; got != (!bare && b != nil && len(b.Curves[v].Parts) > 0) {
					t.Fatalf("%+v, variable %d: parts %v", cell.Cell, v, got)
				}
				if len(cell.Curves[v].Parts) > 0 {
					with++
				}
			}
		}
		t.Logf("%d curves keep their parts", with)
	}
}

func sameParts(t *testing.T, what string, got, want map[partKey]outcome.Counts) {
	t.Helper()
	for k, c := range want {
		if got[k] != c {
			t.Errorf("%s: %+v: got %+v, want %+v", what, k, got[k], c)
			return
		}
	}
	if len(got) != len(want) || len(want) == 0 {
		t.Errorf("%s: %d parts, want %d", what, len(got), len(want))
	}
}
