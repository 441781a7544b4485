package ingest

import (
	"fmt"
	"strings"
	"testing"
)

// TestDeclaredTypes: a type that the profile declares is one of its own, by a list of
// values or by its plain word.
func TestDeclaredTypes(t *testing.T) {
	rows := []row{throw("g", 1, 1, "kind", "wob"), throw("g", 1, 2, "kind", "fast"), throw("g", 1, 3, "kind", "drop")}
	p := profile()
	p.PitchTypes = []string{"slurve", "eephus"}
	p.edit("pitch_type", func(c *Column) { c.Values = append(c.Values, Value{"wob", "eephus"}, Value{"drop", "slurve"}) })
	if err := p.Validate(); err != nil && strings.Contains(err.Error(), "pitch_type") {
		t.Fatal(err)
	}
	_, _, lines := run(t, one(t, rows...), p, loose())
	all := strings.Join(lines, "\n")
	for _, want := range []string{" eephus ", " four_seam ", " slurve "} {
		if strings.Count(all, want) != 1 {
			t.Errorf("%d pitches of type%s in\n%s", strings.Count(all, want), want, all)
		}
	}
	// Without a list a plain word is read, and no other.
	p.edit("pitch_type", func(c *Column) { c.Values = nil })
	_, _, lines = run(t, one(t, throw("g", 1, 1, "kind", "slurve"), throw("g", 1, 2, "kind", "four_seam")), p, loose())
	if all = strings.Join(lines, "\n"); !strings.Contains(all, " slurve ") || !strings.Contains(all, " four_seam ") {
		t.Error(all)
	}
	if _, err := Index(t.Context(), one(t, throw("g", 1, 1, "kind", "gyro")), p, loose()); err == nil ||
		!strings.Contains(err.Error(), `"gyro" in 1 rows`) || !strings.Contains(err.Error(), "splitter, other, slurve, eephus") || !strings.Contains(err.Error(), "which pitch_types declares") {
		t.Errorf("gyro: %v", err)
	}
}

// TestUndeclaredTypes: the error says how to declare what is no slip, and what was meant
// by one that is.
func TestUndeclaredTypes(t *testing.T) {
	for to, want := range map[string]string{
		"eephus": `columns.pitch_type.values[4].to: unknown pitch type "eephus"; a type that is not common to all sources is declared in the profile: pitch_types: [eephus]`,
		"slidr":  `unknown pitch type "slidr" (did you mean "slider"?)`,
	} {
		p := profile().edit("pitch_type", func(c *Column) { c.Values = append(c.Values, Value{"x", to}) })
		if err := p.Validate(); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%s: %v", to, err)
		}
	}
	p := profile()
	for i := range maxPitchTypes + 1 {
		p.PitchTypes = append(p.PitchTypes, fmt.Sprintf("kind_%d", i))
	}
	p.PitchTypes[0], p.PitchTypes[1], p.PitchTypes[2], p.PitchTypes[3] = "Odd One", "sinker", "two_seam", "kind_4"
	err := p.Validate()
	for _, want := range []string{`pitch_types[0]: "Odd One" is no name`, "pitch_types[1]: sinker is common", "pitch_types[2]: sinker is common",
		`pitch_types[4]: "kind_4" is taken`, "at most 100 can be"} {
		if err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%v lacks %s", err, want)
		}
	}
}
