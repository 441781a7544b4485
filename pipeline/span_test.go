package pipeline

import (
	"testing"

	"sill/pipeline/pitch"
)

func TestSpan(t *testing.T) {
	var a, b span
	a.add(pitch.NoDate)
	if a.first() != "" || a.last() != "" {
		t.Errorf("no date: %q to %q", a.first(), a.last())
	}
	b.add(22375)
	b.add(-1)
	a.join(b)
	a.join(span{})
	a.add(3)
	if a.first() != "1969-12-31" || a.last() != "2031-04-06" {
		t.Errorf("%s to %s", a.first(), a.last())
	}
}
