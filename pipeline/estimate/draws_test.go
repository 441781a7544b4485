package estimate

import (
	"slices"
	"testing"

	"sill/pipeline/pitch"
	"sill/pipeline/tally"
)

// TestDrawnAlong: two tallies estimated along each other draw every pitcher
// once for both, in one order, and one that is estimated alone draws as ever.
func TestDrawnAlong(t *testing.T) {
	throw := func(keys ...string) *tally.Tally {
		var pitches []pitch.Pitch
		for i, k := range keys {
			p := blank(int32(i))
			if k == "righty" {
				p.Hand = pitch.RightHand
			}
			pitches = append(pitches, p)
		}
		return count(t, pitches, tally.Names{Pitchers: keys})
	}
	a, b := throw("ash", "birch", "elm", "righty"), throw("alder", "birch", "elm", "fir")
	o := DefaultOptions()
	o.Replicates = 200
	along := func(t, with *tally.Tally) clusterSet {
		o := o
		o.Along = with
		return newClusterSet(t, pitch.LeftHand, o)
	}
	at := func(c clusterSet, t *tally.Tally, key string) int32 { return c.local[slices.Index(t.Pitchers, key)] }
	ca, cb := along(a, b), along(b, a)
	if ca.size != 5 || cb.size != 5 || !slices.Equal(ca.weights.Count, cb.weights.Count) {
		t.Fatalf("sets of %d and %d pitchers, want 5 drawn alike", ca.size, cb.size)
	}
	for i, key := range []string{"alder", "ash", "birch", "elm", "fir"} {
		for _, side := range []struct {
			c clusterSet
			t *tally.Tally
		}{{ca, a}, {cb, b}} {
			if slices.Contains(side.t.Pitchers, key) && at(side.c, side.t, key) != int32(i) {
				t.Errorf("%s is number %d, want %d", key, at(side.c, side.t, key), i)
			}
		}
	}
	if at(ca, a, "righty") != -1 {
		t.Error("a right-hander is drawn among the left-handers")
	}
	alone := along(a, nil)
	if alone.size != 3 || slices.Equal(alone.local, ca.local) {
		t.Errorf("alone %d pitchers are drawn, want 3", alone.size)
	}
}

// TestFittedIsThatOfTheGroup: a curve fitted by itself is the group's.
func TestFittedIsThatOfTheGroup(t *testing.T) {
	e, err := New(t.Context(), small(t), quickOptions())
	if err != nil {
		t.Fatal(err)
	}
	curves, err := e.Group(t.Context(), tally.AllStrata, 0, 0)
	if err != nil {
		t.Fatal(err)
	}
	fitted := 0
	for _, c := range curves {
		one, err := e.Fitted(c.Key, 0, 0)
		if err != nil {
			t.Fatal(err)
		}
		if (one == nil) != (c.Fit == nil) {
			t.Fatalf("%+v: fitted alone %v, in the group %v", c.Key, one != nil, c.Fit != nil)
		}
		if one != nil {
			fitted++
			if !slices.Equal(one.Fit.RepF, c.Fit.RepF) {
				t.Errorf("%+v: replicates differ", c.Key)
			}
		}
	}
	if fitted == 0 {
		t.Fatal("no curve was fitted")
	}
	rare, err := pitch.NamedType("screwball")
	if err != nil {
		t.Fatal(err)
	}
	if c, err := e.Fitted(CellKey{Type: rare}, 0, 0); c != nil || err != nil {
		t.Errorf("a cell without a pitch: %v, %v", c, err)
	}
}

func quickOptions() Options {
	o := DefaultOptions()
	o.Replicates = 100
	return o
}
