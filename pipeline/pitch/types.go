package pitch

import (
	"bytes"
	"cmp"
	"fmt"
	"slices"
	"strings"
)

// Type is a pitch type: its name, held in place, so that a pitch holds no pointer. The
// zero value is the type that is not known.
//
// A few types are common to all sources. Others stand in a source under one name or
// another, or not at all: its profile declares them (see ingest.Profile).
type Type [typeLetters]byte

// typeLetters is the most letters that the name of a pitch type has.
const typeLetters = 24

// The common pitch types.
var (
	UnknownType Type
	FourSeam    = typeNamed("four_seam")
	Sinker      = typeNamed("sinker")
	Cutter      = typeNamed("cutter")
	Slider      = typeNamed("slider")
	Sweeper     = typeNamed("sweeper")
	Curveball   = typeNamed("curveball")
	Changeup    = typeNamed("changeup")
	Splitter    = typeNamed("splitter")
	OtherType   = typeNamed("other")
)

// commonTypes lists them in the order of every table, by family: fastballs, breaking
// balls, off-speed. Declared types follow by name, and then the rest.
var commonTypes = []Type{FourSeam, Sinker, Cutter, Slider, Sweeper, Curveball, Changeup, Splitter, OtherType}

// typeWords are the words of the common types, behind that of the unknown one.
func typeWords() []string {
	words := []string{""}
	for _, t := range commonTypes {
		words = append(words, t.String())
	}
	return slices.Clip(words)
}

// typeAliases are other trade words for a pitch type.
var typeAliases = map[string]string{"two_seam": "sinker"}

func typeNamed(name string) (t Type) {
	copy(t[:], name)
	return t
}

// String returns the type's word, "" for the type that is not known.
func (t Type) String() string { return strings.TrimRight(string(t[:]), "\x00") }

// MarshalText writes the type's word.
func (t Type) MarshalText() ([]byte, error) { return []byte(t.String()), nil }

// Compare orders types as every table does, the unknown one first.
func (t Type) Compare(o Type) int {
	return cmp.Or(cmp.Compare(t.rank(), o.rank()), bytes.Compare(t[:], o[:]))
}

// rank is the place of a common type; declared ones share that before the last.
func (t Type) rank() int {
	switch i := slices.Index(commonTypes, t); {
	case t == UnknownType:
		return 0
	case t == OtherType:
		return i + 2
	case i < 0:
		return len(commonTypes)
	default:
		return i + 1
	}
}

// Common tells whether a type needs no declaration.
func (t Type) Common() bool { return slices.Contains(commonTypes, t) }

// Tested tells whether a type is one of its own, neither unknown nor the rest.
func (t Type) Tested() bool { return t != UnknownType && t != OtherType }

// ParseType returns the common pitch type of a canonical word or of its alias.
func ParseType(s string) (Type, error) {
	code, err := ParseWord("pitch_type", s)
	if err != nil {
		return UnknownType, err
	}
	return commonTypes[code-1], nil
}

// NamedType returns the type of a name, common or declared. It refuses what is no name:
// one is of small letters, digits and underscores, at most 24, and begins with a letter.
func NamedType(s string) (Type, error) {
	if t, err := ParseType(s); err == nil {
		return t, nil
	}
	wrong := func(r rune) bool { return !(r == '_' || r >= 'a' && r <= 'z' || r >= '0' && r <= '9') }
	if s == "" || len(s) > typeLetters || s[0] < 'a' || s[0] > 'z' || strings.ContainsFunc(s, wrong) {
		return UnknownType, fmt.Errorf("%q is no name of a pitch type: use small letters, digits and underscores, at most %d, a letter first", s, typeLetters)
	}
	return typeNamed(s), nil
}

// LikelyType returns the type of a name that someone wrote where no source says which
// are declared: any, but one that looks like a slip in a common type's.
func LikelyType(s string) (Type, error) {
	t, err := ParseType(s)
	if err == nil || Nearest(s, Words("pitch_type")) != "" {
		return t, err
	}
	return NamedType(s)
}

// CompareTypes orders the words of types as Type.Compare does.
func CompareTypes(a, b string) int {
	return cmp.Or(typeNamed(a).Compare(typeNamed(b)), strings.Compare(a, b))
}
