package trial

import (
	"strings"
	"testing"
)

// both claims whiff rate and wOBA-against at once at 93 mph and above.
func both() Claim {
	c := fast(atLeast(93))
	c.Both, c.Smallest = true, 0
	return c
}

// faster are thirty pitchers on either side of 93 mph, of whose 60 pitches so many miss,
// and of whose 30 plate appearances so many are walks, above and below.
func faster(whiffs, walks [2]int) []swings {
	var out []swings
	for p := range int32(30) {
		more := int(p % 3) // pitchers differ
		for side, mph := range [2]float64{94.2, 91.3} {
			out = append(out, swings{pitcher: p, batter: -1, mph: mph, n: 60, whiffs: whiffs[side] + more, ended: 30, walks: walks[side] + more})
		}
	}
	return out
}

// TestBoth: a claim on both outcomes holds where it holds in each, with the larger p;
// the worse verdict stands, and each outcome keeps its own.
func TestBoth(t *testing.T) {
	for name, c := range map[string]struct {
		rows  []swings
		want  string
		parts [2]string
	}{
		"both":          {faster([2]int{16, 8}, [2]int{2, 9}), "holds_clearly", [2]string{"holds_clearly", "holds_clearly"}},
		"whiffs alone":  {faster([2]int{16, 8}, [2]int{9, 2}), "does_not_hold", [2]string{"holds_clearly", "does_not_hold"}},
		"wOBA alone":    {faster([2]int{8, 16}, [2]int{2, 9}), "does_not_hold", [2]string{"does_not_hold", "holds_clearly"}},
		"no appearance": {byHand(), "underpowered", [2]string{"holds_clearly", "underpowered"}},
	} {
		r := Try([]Claim{both()}, league(counted(t, c.rows))).Rows[0]
		if r.Verdict != c.want || r.Outcome != "joint" || len(r.Parts) != 2 || r.Parts[0].Verdict != c.parts[0] || r.Parts[1].Verdict != c.parts[1] {
			t.Errorf("%s: %s: %s", name, r.Verdict, r.Sentence)
			continue
		}
		if r.RateIn != nil || r.Advantage != nil {
			t.Errorf("%s: both at once have a rate", name)
		}
		if c.want != "underpowered" && (r.P == nil || *r.P != max(*r.Parts[0].P, *r.Parts[1].P)) {
			t.Errorf("%s: p %v", name, show(r.P))
		}
		for _, p := range r.Parts {
			if alone := Try([]Claim{alone(p.Outcome)}, league(counted(t, c.rows))).Rows[0]; alone.Verdict != p.Verdict || alone.Sentence != p.Sentence {
				t.Errorf("%s: %s in both, %s alone", name, p.Sentence, alone.Sentence)
			}
		}
	}
}

// alone claims one outcome at 93 mph and above.
func alone(outcome string) Claim {
	c := fast(atLeast(93))
	if outcome == "woba_against" {
		c.Metric, c.Smallest = 1, .015
	}
	return c
}

// TestBothAmongMany: each outcome may hold among many claims while both at once may be
// chance, since theirs is the larger p of either.
func TestBothAmongMany(t *testing.T) {
	r := Row{claim: both(), parts: make([]Row, 2)}
	r.Q = new(float64)
	*r.Q = .2
	strong := Try([]Claim{fast(atLeast(93))}, league(counted(t, faster([2]int{16, 8}, [2]int{2, 9})))).Rows[0]
	r.parts[0], r.parts[1] = strong, strong
	if r.concludeBoth(40); r.Verdict != "underpowered" || !strings.Contains(r.Sentence, "Among 40 claims") {
		t.Errorf("%s: %s", r.Verdict, r.Sentence)
	}
}

// TestReadBoth reads an outcome of both, which has no smallest advantage of its own.
func TestReadBoth(t *testing.T) {
	const text = "claims:\n  - {pitch_type: four_seam, variable: velocity, region: at least 93, outcome: joint"
	claims, err := Read("c.yaml", []byte(text+"}\n"), nil)
	if err != nil || len(claims) != 1 || !claims[0].Both || claims[0].Smallest != 0 {
		t.Errorf("%+v, %v", claims, err)
	}
	if _, err := Read("c.yaml", []byte(text+", smallest: .02}\n"), nil); err == nil || !strings.Contains(err.Error(), "leave it out") {
		t.Errorf("a smallest advantage of both: %v", err)
	}
}
