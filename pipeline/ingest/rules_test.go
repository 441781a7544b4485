package ingest

import (
	"strings"
	"testing"
)

func TestOnePitch(t *testing.T) {
	s, r, lines := run(t, one(t, throw("G1", 1, 1, "end", "1B", "call", "hit")), profile(), DefaultOptions())
	want := "2031 2031-04-05 g=G1 p=P1|left b=B1 v=- l=- LR four_seam in_play result=single bunt=0 fielder=0" +
		" 0:93.4000 1:16.0000 2:8.5000 25:1.0000 26:1.0000 27:1.0000 28:1.0000"
	if len(lines) != 1 || lines[0] != want {
		t.Errorf("got %q\nwant %q", strings.Join(lines, "\n"), want)
	}
	if r.RowsRead != 1 || r.RowsUsed != 1 || len(r.Rejects) != 0 {
		t.Errorf("report %+v", r)
	}
	for col, want := range map[string]bool{"velocity": true, "result": true, "spin_rate": false, "half": true} {
		if s.Has(col) != want {
			t.Errorf("Has(%s) = %v", col, !want)
		}
	}
}
