package quality

import (
	"testing"

	"sill/pipeline/pitch"
)

func TestSpan(t *testing.T) {
	var a, b Span
	a.add(pitch.NoDate)
	if a.First() != "" || a.Last() != "" {
		t.Errorf("no date: %q to %q", a.First(), a.Last())
	}
	b.add(22375)
	b.add(-1)
	a.join(b)
	a.join(Span{})
	a.add(3)
	if a.First() != "1969-12-31" || a.Last() != "2031-04-06" {
		t.Errorf("%s to %s", a.First(), a.Last())
	}
}
