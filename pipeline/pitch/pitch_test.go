package pitch

import (
	"strings"
	"testing"
)

// TestWords: every word of a category reads back as itself, once.
func TestWords(t *testing.T) {
	for column, read := range map[string]func(string) (string, error){
		"hand":       func(s string) (string, error) { v, err := ParseHand(s); return v.String(), err },
		"side":       func(s string) (string, error) { v, err := ParseSide(s); return v.String(), err },
		"pitch_type": func(s string) (string, error) { v, err := ParseType(s); return v.String(), err },
		"outcome":    func(s string) (string, error) { v, err := parse[Outcome]("outcome", s); return v.String(), err },
		"result":     func(s string) (string, error) { v, err := parse[Result]("result", s); return v.String(), err },
	} {
		seen := map[string]bool{}
		for _, w := range Words(column) {
			if got, err := read(w); err != nil || got != w || seen[w] {
				t.Errorf("%s %q reads as %q, %v (twice: %v)", column, w, got, err, seen[w])
			}
			seen[w] = true
		}
		if _, err := read(""); err == nil {
			t.Errorf("%s: the empty word is accepted", column)
		}
		near := Words(column)[0] + "x"
		if _, err := read(near); err == nil || !strings.Contains(err.Error(), "did you mean") {
			t.Errorf("%s %q: %v", column, near, err)
		}
	}
	if len(typeWords) != Types || len(outcomeWords) != Outcomes || len(resultWords) != Results {
		t.Errorf("%d types, %d outcomes, %d results have words", len(typeWords), len(outcomeWords), len(resultWords))
	}
	if v, err := ParseType("two_seam"); err != nil || v != Sinker {
		t.Errorf("two_seam is %v, %v", v, err)
	}
}

// TestDictionary: names are unique, categories have words, numbers a range and
// a place of their own, sides a frame.
func TestDictionary(t *testing.T) {
	names, numbers := map[string]bool{}, map[Number]string{}
	for _, c := range Dictionary {
		if names[c.Name] || c.Meaning == "" {
			t.Errorf("%s: given twice, or without a meaning", c.Name)
		}
		names[c.Name] = true
		if (c.Kind == Category) != (Words(c.Name) != nil) {
			t.Errorf("%s: category %v, words %v", c.Name, c.Kind == Category, Words(c.Name))
		}
		if c.Kind == Real || c.Kind == Whole && c.Number != NoNumber {
			if other, taken := numbers[c.Number]; taken {
				t.Errorf("%s and %s are the same number", c.Name, other)
			}
			numbers[c.Number] = c.Name
			if c.Min >= c.Max {
				t.Errorf("%s: range %g to %g", c.Name, c.Min, c.Max)
			}
		}
		if (c.Kind == Real) != (c.Dimension != Dimensionless) || (c.Dimension != Dimensionless) != (c.Unit != "") {
			t.Errorf("%s: kind %d, dimension %d, unit %q", c.Name, c.Kind, c.Dimension, c.Unit)
		}
		if got, ok := Lookup(c.Name); !ok || got != c {
			t.Errorf("%s is not looked up", c.Name)
		}
	}
	if _, ok := Lookup("spped"); ok {
		t.Error("a name that is none is found")
	}
}

// TestNearest: a slip of a letter or two is mended, another word is not.
func TestNearest(t *testing.T) {
	for word, want := range map[string]string{"velocty": "velocity", "VELOCITY": "", "four_seem": "four_seam", "xyz": ""} {
		if got := Nearest(word, []string{"velocity", "four_seam", "sinker"}); got != want {
			t.Errorf("nearest to %q is %q, want %q", word, got, want)
		}
	}
}

func TestMatchups(t *testing.T) {
	var names []string
	for _, m := range Matchups {
		names = append(names, m.String())
		if m.Same() != (m.String()[0] == m.String()[4]) {
			t.Errorf("%v: same side %v", m, m.Same())
		}
	}
	if got := strings.Join(names, " "); got != "L-v-L L-v-R R-v-L R-v-R" {
		t.Errorf("matchups %s", got)
	}
	// x runs to the catcher's right, which is a left-hander's arm side.
	if LeftHand.ArmSide() != 1 || RightHand.ArmSide() != -1 || UnknownHand.ArmSide() != 0 {
		t.Error("arm sides")
	}
}
