package glyphs

import (
	"bytes"
	"slices"
	"testing"

	"codeberg.org/go-fonts/liberation/liberationsansbold"
	"codeberg.org/go-fonts/liberation/liberationsansregular"
	"golang.org/x/image/font"
	"golang.org/x/image/font/sfnt"
	"golang.org/x/image/math/fixed"
)

// text has composed glyphs (é, ½ of parts where the font makes it so), pairs that are
// kerned (AV, To, 11), a space and signs outside ASCII.
const text = "AV To 11.7 wOBA L-v-R ≥ 93.0 (91.9–93.9) − · ↑ → é Å ½ ÿ …"

// reader reads a font.
func reader(t *testing.T, b []byte) *sfnt.Font {
	t.Helper()
	f, err := sfnt.Parse(b)
	if err != nil {
		t.Fatal(err)
	}
	return f
}

// A reader finds the same outlines, widths and kerning in the subset.
func TestSubset(t *testing.T) {
	for _, whole := range [][]byte{liberationsansregular.TTF, liberationsansbold.TTF} {
		part, err := Subset(whole, []rune(text))
		if err != nil {
			t.Fatal(err)
		}
		if len(part) > 24_000 {
			t.Errorf("%d characters make %d bytes", len([]rune(text)), len(part))
		}
		a, b := reader(t, whole), reader(t, part)
		em := fixed.Int26_6(a.UnitsPerEm())
		if b.UnitsPerEm() != a.UnitsPerEm() || b.NumGlyphs() > len([]rune(text))+12 {
			t.Errorf("%d units, %d glyphs", b.UnitsPerEm(), b.NumGlyphs())
		}
		kerned, composed := 0, 0
		var buf sfnt.Buffer
		index := func(f *sfnt.Font, r rune) sfnt.GlyphIndex {
			g, err := f.GlyphIndex(&buf, r)
			if err != nil || g == 0 {
				t.Fatalf("%c: glyph %d, %v", r, g, err)
			}
			return g
		}
		for _, r := range text {
			ga, gb := index(a, r), index(b, r)
			sa, err := a.LoadGlyph(&buf, ga, em, nil)
			if err != nil {
				t.Fatal(err)
			}
			sa = slices.Clone(sa)
			sb, err := b.LoadGlyph(&buf, gb, em, nil)
			if err != nil || !slices.Equal(sa, sb) {
				t.Errorf("%c: another outline, %v", r, err)
			}
			s := subset{tables: tables(t, whole)}
			if places, _ := components(s.outline(uint16(ga))); len(places) > 1 {
				composed++
			}
			wa, errA := a.GlyphAdvance(&buf, ga, em, font.HintingNone)
			wb, errB := b.GlyphAdvance(&buf, gb, em, font.HintingNone)
			if wa != wb || errA != nil || errB != nil {
				t.Errorf("%c is %v wide, want %v (%v, %v)", r, wb, wa, errA, errB)
			}
			for _, next := range text {
				ka, errA := a.Kern(&buf, ga, index(a, next), em, font.HintingNone)
				kb, errB := b.Kern(&buf, gb, index(b, next), em, font.HintingNone)
				if ka != kb { // 0 where there is no such pair
					t.Errorf("%c%c is kerned by %v, want %v (%v, %v)", r, next, kb, ka, errB, errA)
				}
				if ka != 0 {
					kerned++
				}
			}
		}
		if kerned < 10 || composed < 2 {
			t.Errorf("%d pairs kerned, %d glyphs composed: the text tests neither", kerned, composed)
		}
		if g, err := b.GlyphIndex(&buf, 'q'); g != 0 || err != nil {
			t.Errorf("q, which the text does not have, is glyph %d, %v", g, err)
		}
		if notice, err := b.Name(&buf, sfnt.NameIDCopyright); err != nil || notice == "" {
			t.Errorf("the notice is lost: %v", err)
		}
	}
}

func tables(t *testing.T, b []byte) map[string][]byte {
	t.Helper()
	out, err := read(b)
	if err != nil {
		t.Fatal(err)
	}
	return out
}

// The bytes depend on what the text holds, not on its order, and hold true sums.
func TestBytes(t *testing.T) {
	runes := []rune(text + "\U0001F3BF") // one that the font lacks
	a, errA := Subset(liberationsansregular.TTF, runes)
	slices.Reverse(runes)
	b, errB := Subset(liberationsansregular.TTF, append(runes, runes...))
	if errA != nil || errB != nil || !bytes.Equal(a, b) {
		t.Errorf("the order of the text changes the bytes (%v, %v)", errA, errB)
	}
	if sum(a) != 0xb1b0afba {
		t.Errorf("the font's words add up to %x", sum(a))
	}
	for i := range int(be.Uint16(a[4:])) {
		entry := a[12+16*i:]
		name, table := string(entry[:4]), slices.Clone(a[be.Uint32(entry[8:]):][:be.Uint32(entry[12:])])
		if name == "head" {
			be.PutUint32(table[8:], 0)
		}
		if sum(table) != be.Uint32(entry[4:]) || be.Uint32(entry[8:])%4 != 0 {
			t.Errorf("table %s has the sum %x, not %x", name, be.Uint32(entry[4:]), sum(table))
		}
	}
	empty, err := Subset(liberationsansregular.TTF, nil)
	if err != nil || reader(t, empty).NumGlyphs() != 1 {
		t.Errorf("no text: %v", err)
	}
}

func TestNoFont(t *testing.T) {
	for _, b := range [][]byte{nil, []byte("no font"), append([]byte("OTTO"), liberationsansregular.TTF[4:]...)} {
		if _, err := Subset(b, []rune(text)); err == nil {
			t.Errorf("%.8q is taken for a font", b)
		}
	}
}
