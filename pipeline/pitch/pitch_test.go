package pitch

import (
	"cmp"
	"fmt"
	"slices"
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
	if len(outcomeWords) != Outcomes || len(resultWords) != Results {
		t.Errorf("%d outcomes, %d results have words", len(outcomeWords), len(resultWords))
	}
	if v, err := ParseType("two_seam"); err != nil || v != Sinker {
		t.Errorf("two_seam is %v, %v", v, err)
	}
}

// TestTypes: a type is its name, and stands in the order of the tables: the unknown one,
// the common ones, those declared by name, the rest.
func TestTypes(t *testing.T) {
	var list []Type
	for _, name := range []string{"eephus", "other", "slider", "knuckle_curve", "four_seam", "two_seam", "a_name_of_24_letters_000"} {
		typ, err := NamedType(name)
		if err != nil {
			t.Fatal(err)
		}
		if back, err := NamedType(typ.String()); back != typ || err != nil {
			t.Errorf("%s reads as %v, %v", name, back, err)
		}
		list = append(list, typ)
	}
	list = append(list, UnknownType)
	slices.SortFunc(list, Type.Compare)
	if got := fmt.Sprintf("%q", list); got != `["" "four_seam" "sinker" "slider" "a_name_of_24_letters_000" "eephus" "knuckle_curve" "other"]` {
		t.Errorf("types in the order %s", got)
	}
	for i, a := range list {
		for j, b := range list {
			if got := CompareTypes(a.String(), b.String()); got != cmp.Compare(i, j) {
				t.Errorf("%v and %v compare as %d", a, b, got)
			}
		}
	}
	for _, wrong := range []string{"", "Slurve", "knuckle curve", "7_iron", "_x", "slur\x00ve", "a_name_of_more_than_24_let", "é"} {
		if typ, err := NamedType(wrong); err == nil || typ != UnknownType {
			t.Errorf("%q is taken for a name", wrong)
		}
	}
	if _, err := ParseType("eephus"); err == nil {
		t.Error("a type that is not common is parsed without a declaration")
	}
	if _, err := LikelyType("slidr"); err == nil {
		t.Error("a slip in slider is taken for a type of its own")
	}
	if typ, err := LikelyType("eephus"); err != nil || typ.String() != "eephus" {
		t.Errorf("eephus is likely %v, %v", typ, err)
	}
	if eephus := typeNamed("eephus"); eephus.Common() || !eephus.Tested() || OtherType.Tested() || UnknownType.Tested() || !Sweeper.Common() {
		t.Error("which types are common, and which are tested")
	}
}

// TestResults: every result reads back from its words, listed or in one text; what
// cannot be names the flags that can.
func TestResults(t *testing.T) {
	for code := range 256 {
		r := Result(code)
		if !r.Valid() || r == NoResult {
			if int(r.Base()) < Results {
				if back, err := ParseResult(r.Words()...); err == nil {
					t.Errorf("%#x reads as %v", code, back)
				}
			}
			continue
		}
		if back, err := ParseResult(r.Words()...); err != nil || back != r {
			t.Errorf("%v reads as %v, %v", r.Words(), back, err)
		}
		if back, err := ParseWord("result", r.String()); err != nil || Result(back) != r {
			t.Errorf("%v reads as %v, %v", r, back, err)
		}
	}
	if len(flagWords) != 4 || !slices.Equal(FlagsOf("walk"), []string{"intentional"}) || FlagsOf("home_run") != nil {
		t.Errorf("flags %v, of a walk %v, of a home run %v", flagWords, FlagsOf("walk"), FlagsOf("home_run"))
	}
	for want, words := range map[string][]string{
		"a result is missing: use one of strikeout, walk":                              {},
		`unknown result "strikout" (did you mean "strikeout"?)`:                        {"strikout", "double_play"},
		`unknown flag of a result "doubleplay" (did you mean "double_play"?)`:          {"out", "doubleplay"},
		"double_play is a flag: name the result before it, such as [out, double_play]": {"double_play"},
		"double_play is no flag of walk: use intentional":                              {"walk", "double_play"},
		"intentional is no flag of out: use double_play, triple_play, bunt":            {"out", "bunt", "intentional"},
		"home_run has no flags, and so no bunt":                                        {"home_run", "bunt"},
		"out is either a double_play or a triple_play":                                 {"out", "triple_play", "double_play"},
	} {
		if _, err := ParseResult(words...); err == nil || !strings.HasPrefix(err.Error(), want) {
			t.Errorf("%v: %v, want %s", words, err, want)
		}
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
