// Package glyphs cuts a TrueType font down to the glyphs of a text, so that a figure
// can carry it. Outlines, widths and kerning stay as they are; what a figure does not
// need (hints, ligatures, the names of glyphs) is left out. The font's own name table,
// which holds its notice and licence, stays whole.
package glyphs

import (
	"cmp"
	"encoding/binary"
	"errors"
	"fmt"
	"maps"
	"slices"

	"golang.org/x/image/font/sfnt"
)

// be is the byte order of a font.
var be = binary.BigEndian

// Subset returns the font with the glyphs of the runes alone, by the same characters.
// A rune that the font does not have is drawn as any that is missing. The same runes
// in any order give the same bytes. The font is a program's own: a table with false
// places inside panics.
func Subset(font []byte, runes []rune) ([]byte, error) {
	parsed, err := sfnt.Parse(font) // which sees that the tables lie within the font
	if err != nil {
		return nil, fmt.Errorf("glyphs: %w", err)
	}
	tables, err := read(font)
	if err != nil {
		return nil, err
	}
	s := subset{tables: tables, glyph: map[rune]uint16{}, at: map[uint16]uint16{0: 0}}
	for _, r := range runes {
		g, err := parsed.GlyphIndex(nil, r)
		if err != nil {
			return nil, fmt.Errorf("glyphs: %w", err)
		}
		if g != 0 {
			s.glyph[r] = uint16(g)
			s.need(uint16(g))
		}
	}
	s.kept = slices.Sorted(maps.Keys(s.at))
	for i, g := range s.kept {
		s.at[g] = uint16(i)
	}
	return s.write(), nil
}

// subset is a font on its way to fewer glyphs.
type subset struct {
	tables map[string][]byte
	glyph  map[rune]uint16   // of the whole font
	at     map[uint16]uint16 // a kept glyph's number in the subset
	kept   []uint16          // ascending
}

// read returns the tables of a font with TrueType outlines.
func read(font []byte) (map[string][]byte, error) {
	if be.Uint32(font) != 0x00010000 {
		return nil, errors.New("glyphs: not a font with TrueType outlines")
	}
	tables := map[string][]byte{}
	for i := range int(be.Uint16(font[4:])) {
		entry := font[12+16*i:]
		from, size := be.Uint32(entry[8:]), be.Uint32(entry[12:])
		tables[string(entry[:4])] = font[from:][:size]
	}
	for _, name := range []string{"cmap", "glyf", "head", "hhea", "hmtx", "loca", "maxp"} {
		if tables[name] == nil {
			return nil, fmt.Errorf("glyphs: the font has no table %s", name)
		}
	}
	return tables, nil
}

// outline returns the description of a glyph, which is empty for a space.
func (s *subset) outline(g uint16) []byte {
	loca, i := s.tables["loca"], int(g)
	if be.Uint16(s.tables["head"][50:]) == 0 { // offsets are halved
		return s.tables["glyf"][2*int(be.Uint16(loca[2*i:])) : 2*int(be.Uint16(loca[2*i+2:]))]
	}
	return s.tables["glyf"][be.Uint32(loca[4*i:]):be.Uint32(loca[4*i+4:])]
}

// need keeps a glyph and those that it is composed of.
func (s *subset) need(g uint16) {
	if _, ok := s.at[g]; ok {
		return
	}
	s.at[g] = 0
	places, _ := components(s.outline(g))
	for _, at := range places {
		s.need(be.Uint16(s.outline(g)[at+2:]))
	}
}

// Flags of a component, by the OpenType specification, table glyf.
const (
	wordArguments = 1 << 0
	scaled        = 1 << 3
	more          = 1 << 5
	scaledApart   = 1 << 6
	twoByTwo      = 1 << 7
	instructed    = 1 << 8
)

// components returns the places of the components in the description of a composite
// glyph, each its flags, its glyph and how it is laid, and where the last one ends.
func components(outline []byte) (places []int, end int) {
	if len(outline) == 0 || int16(be.Uint16(outline)) >= 0 {
		return nil, 0
	}
	at := 10
	for {
		places = append(places, at)
		flags := be.Uint16(outline[at:])
		at += 6
		if flags&wordArguments != 0 {
			at += 2
		}
		switch {
		case flags&scaled != 0:
			at += 2
		case flags&scaledApart != 0:
			at += 4
		case flags&twoByTwo != 0:
			at += 8
		}
		if flags&more == 0 {
			return places, at
		}
	}
}

// plain returns the description of a glyph without its hints, and with the components'
// numbers in the subset.
func (s *subset) plain(g uint16) []byte {
	outline := slices.Clone(s.outline(g))
	if len(outline) == 0 {
		return nil
	}
	if contours := int(int16(be.Uint16(outline))); contours >= 0 {
		at := 10 + 2*contours
		hints := int(be.Uint16(outline[at:]))
		be.PutUint16(outline[at:], 0)
		return slices.Delete(outline, at+2, at+2+hints)
	}
	places, end := components(outline)
	for _, at := range places {
		be.PutUint16(outline[at:], be.Uint16(outline[at:])&^instructed)
		be.PutUint16(outline[at+2:], s.at[be.Uint16(outline[at+2:])])
	}
	return outline[:end]
}

// write puts the tables of the subset together.
func (s *subset) write() []byte {
	out := map[string][]byte{"cmap": s.characters(), "kern": s.kerning()}
	for _, name := range []string{"head", "hhea", "maxp", "name", "OS/2", "post"} {
		out[name] = slices.Clone(s.tables[name])
	}
	var glyf, loca, hmtx []byte
	wide := int(be.Uint16(s.tables["hhea"][34:])) // glyphs with a width of their own
	for _, g := range s.kept {
		loca = be.AppendUint32(loca, uint32(len(glyf)))
		glyf = append(glyf, s.plain(g)...)
		for len(glyf)%4 != 0 {
			glyf = append(glyf, 0)
		}
		widths, i := s.tables["hmtx"], int(g)
		hmtx = append(hmtx, widths[4*min(i, wide-1):][:2]...)
		if i < wide {
			hmtx = append(hmtx, widths[4*i+2:][:2]...)
		} else {
			hmtx = append(hmtx, widths[4*wide+2*(i-wide):][:2]...)
		}
	}
	out["glyf"], out["loca"], out["hmtx"] = glyf, be.AppendUint32(loca, uint32(len(glyf))), hmtx
	be.PutUint16(out["head"][50:], 1) // offsets are whole
	be.PutUint16(out["hhea"][34:], uint16(len(s.kept)))
	be.PutUint16(out["maxp"][4:], uint16(len(s.kept)))
	if post := out["post"]; len(post) >= 32 {
		be.PutUint32(post, 0x00030000) // names no glyph
		out["post"] = post[:32]
	}
	maps.DeleteFunc(out, func(_ string, table []byte) bool { return len(table) == 0 })
	return join(out)
}

// characters writes the table of characters: for the basic plane in runs of one glyph
// each (format 4), and for all of Unicode (format 12).
func (s *subset) characters() []byte {
	runes := slices.Sorted(maps.Keys(s.glyph))
	var ends, starts, deltas, groups []byte
	n := 0
	for _, r := range runes {
		groups = be.AppendUint32(be.AppendUint32(be.AppendUint32(groups, uint32(r)), uint32(r)), uint32(s.at[s.glyph[r]]))
		if r < 0xffff {
			n++
			ends, starts = be.AppendUint16(ends, uint16(r)), be.AppendUint16(starts, uint16(r))
			deltas = be.AppendUint16(deltas, s.at[s.glyph[r]]-uint16(r))
		}
	}
	n++ // the table ends with a run of nothing
	ends, starts, deltas = be.AppendUint16(ends, 0xffff), be.AppendUint16(starts, 0xffff), be.AppendUint16(deltas, 1)
	size := 16 + 8*n
	out := be.AppendUint16(nil, 0)
	out = be.AppendUint16(out, 2)
	for _, t := range []struct{ platform, encoding, at uint32 }{{3, 1, 20}, {3, 10, uint32(20 + size)}} {
		out = be.AppendUint32(be.AppendUint32(out, t.platform<<16|t.encoding), t.at)
	}
	out = be.AppendUint16(be.AppendUint16(be.AppendUint16(out, 4), uint16(size)), 0)
	out = searched(out, n, 2)
	out = append(append(append(out, ends...), 0, 0), starts...)
	out = append(append(out, deltas...), make([]byte, 2*n)...)
	out = be.AppendUint32(be.AppendUint32(out, 12<<16), uint32(16+len(groups)))
	return append(be.AppendUint32(be.AppendUint32(out, 0), uint32(len(runes))), groups...)
}

// searched appends a number of entries of a size with what a search by halves needs,
// as the OpenType specification lays it down; a run of characters counts twice.
func searched(out []byte, n, size int) []byte {
	power, log := 1, 0
	for power*2 <= n {
		power, log = power*2, log+1
	}
	count := n
	if size == 2 {
		count = 2 * n
	}
	out = be.AppendUint16(be.AppendUint16(out, uint16(count)), uint16(power*size))
	return be.AppendUint16(be.AppendUint16(out, uint16(log)), uint16((n-power)*size))
}

// kerning writes the distances of the pairs of kept glyphs; nothing where the font
// has none in the plain form (version 0, format 0).
func (s *subset) kerning() []byte {
	kern := s.tables["kern"]
	if len(kern) < 18 || be.Uint16(kern) != 0 || be.Uint16(kern[8:])>>8 != 0 {
		return nil
	}
	var pairs [][]byte
	for i := range int(be.Uint16(kern[10:])) {
		pair := slices.Clone(kern[18+6*i:][:6])
		l, first := s.at[be.Uint16(pair)]
		r, second := s.at[be.Uint16(pair[2:])]
		if first && second {
			be.PutUint16(pair, l)
			be.PutUint16(pair[2:], r)
			pairs = append(pairs, pair)
		}
	}
	slices.SortFunc(pairs, func(a, b []byte) int { return cmp.Compare(be.Uint32(a), be.Uint32(b)) })
	out := be.AppendUint16(be.AppendUint16(be.AppendUint16(nil, 0), 1), 0)
	out = be.AppendUint16(be.AppendUint16(out, uint16(14+6*len(pairs))), 1) // horizontal
	return append(searched(out, len(pairs), 6), slices.Concat(pairs...)...)
}

// join writes a font of tables, with their sums.
func join(tables map[string][]byte) []byte {
	names := slices.Sorted(maps.Keys(tables))
	out := searched(be.AppendUint32(nil, 0x00010000), len(names), 16)
	at := len(out) + 16*len(names)
	var body []byte
	head := 0
	for _, name := range names {
		table := tables[name]
		if name == "head" {
			be.PutUint32(table[8:], 0)
			head = at + len(body)
		}
		out = be.AppendUint32(append(out, name...), sum(table))
		out = be.AppendUint32(be.AppendUint32(out, uint32(at+len(body))), uint32(len(table)))
		body = append(body, table...)
		for len(body)%4 != 0 {
			body = append(body, 0)
		}
	}
	out = append(out, body...)
	be.PutUint32(out[head+8:], 0xb1b0afba-sum(out))
	return out
}

// sum adds the words of a table, as its checksum.
func sum(table []byte) uint32 {
	var total uint32
	for len(table) >= 4 {
		total += be.Uint32(table)
		table = table[4:]
	}
	var rest [4]byte
	copy(rest[:], table)
	return total + be.Uint32(rest[:])
}
