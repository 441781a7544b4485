package calibrate

import (
	"math"
	"slices"
	"strings"
	"testing"

	"sill/pipeline/analysis/quality"
	"sill/pipeline/pitch"
	"sill/pipeline/shape"
	"sill/stats/calibrate"
)

func TestNeeds(t *testing.T) {
	sets := 40
	if testing.Short() {
		sets = 12
	}
	findings := reduced(t, needs, needSets, sets)
	if m := missed(findings); m != nil {
		t.Errorf("missed: %s", m)
	}
	for _, n := range needQuestions() {
		if !slices.ContainsFunc(findings, func(f calibrate.Finding) bool {
			return strings.HasPrefix(f.Design, n.name+", ") && f.Measure == "settled with as many pitchers"
		}) {
			t.Errorf("%s: no league states a number", n.name)
		}
	}
}

func TestLines(t *testing.T) {
	if m := missed(reduced(t, lines, lineSets, 40)); m != nil {
		t.Errorf("missed: %s", m)
	}
}

// plain compares venues by the means of pitchers at home and elsewhere, each pitcher
// counted alike: another way than the program's, which the study can hold as well.
func plain(pitches []pitch.Pitch, _ []shape.Variable, names []string) (out []quality.VenueOffset, named []bool) {
	type sums struct{ n, x float64 }
	at := map[[2]int32]sums{}
	all := map[int32]sums{}
	for i := range pitches {
		p := &pitches[i]
		x := p.Num[pitch.Velocity]
		s, a := at[[2]int32{p.Pitcher, p.Venue}], all[p.Pitcher]
		at[[2]int32{p.Pitcher, p.Venue}], all[p.Pitcher] = sums{s.n + 1, s.x + x}, sums{a.n + 1, a.x + x}
	}
	for v := range names {
		var n, sum, squares float64
		for p := range int32(len(all)) {
			s, a := at[[2]int32{p, int32(v)}], all[p]
			if s.n > 0 && s.n < a.n {
				d := s.x/s.n - (a.x-s.x)/(a.n-s.n)
				n, sum, squares = n+1, sum+d, squares+d*d
			}
		}
		mean := sum / n
		e := math.Sqrt((squares - n*mean*mean) / (n - 1) / n)
		out = append(out, quality.VenueOffset{Venue: names[v], Offset: mean, Error: e})
		named = append(named, math.Abs(mean) > 1 && math.Abs(mean) > 3*e)
	}
	return out, named
}

// The study of venues notices errors that are half too small, offsets that are not
// warned of, and warnings without one.
func TestVenues(t *testing.T) {
	if testing.Short() {
		t.Skip("plays seasons with faults")
	}
	study := func(change func(offset *quality.VenueOffset, named *bool)) []string {
		return missed(reduced(t, venues(func(p []pitch.Pitch, v []shape.Variable, names []string) ([]quality.VenueOffset, []bool) {
			out, named := plain(p, v, names)
			for i := range out {
				change(&out[i], &named[i])
			}
			return out, named
		}), venueSets, 24))
	}
	if m := study(func(*quality.VenueOffset, *bool) {}); m != nil {
		t.Errorf("missed: %s", m)
	}
	for what, change := range map[string]func(offset *quality.VenueOffset, named *bool){
		"held within two standard errors": func(o *quality.VenueOffset, _ *bool) { o.Error /= 2 },
		"planted offset warned of":        func(_ *quality.VenueOffset, named *bool) { *named = false },
		"without an offset is warned of":  func(_ *quality.VenueOffset, named *bool) { *named = true },
	} {
		if m := study(change); !slices.ContainsFunc(m, func(s string) bool { return strings.Contains(s, what) }) {
			t.Errorf("%q is not missed: %s", what, m)
		}
	}
}
