package ingest

import (
	"math"
	"strconv"
	"strings"
	"time"

	"sill/pipeline/pitch"
)

// unmapped marks a category value that the profile does not map.
const unmapped = 0xFF

// state says what became of a source value.
type state uint8

const (
	given state = iota
	missing
	notANumber // NaN, which counts as missing
	rejected   // the profile maps it to reject
	unreadable // it is nothing that the column's kind can be
	unresolved // a side that needs a hand and has none
)

// reading is what one source value means in a canonical column.
type reading struct {
	state state
	code  uint8   // Category and YesNo
	rule  uint8   // the check that the value meets, 0 for none
	known bool    // it was worked out
	final bool    // num is in the canonical unit and frame
	id    int32   // Text: place in the slot's list
	num   float64 // Real and Whole; Day: the day
	text  string  // Text
}

// setFault records the first check that a row's values meet.
func (b *batch) setFault(row int, rule uint8, place int) {
	if rule != 0 && b.fault[row] == 0 {
		b.fault[row], b.faultPlace[row] = rule, int16(place)
	}
}

// convert turns the vectors into canonical columns.
func (d *decoder) convert() {
	d.fault, d.faultPlace = grow(d.fault, d.n), grow(d.faultPlace, d.n)
	d.filtered, d.nan = grow(d.filtered, d.n), grow(d.nan, d.n)
	clear(d.fault)
	clear(d.filtered)
	clear(d.nan)
	for _, s := range d.mapped {
		s.clear(d.n)
		if s.use >= 0 {
			d.fill(s, &d.vecs[s.use])
		}
		if s.place == sideAt {
			d.resolveSides()
		}
	}
	for _, i := range scopeChecks {
		for row := range d.n {
			if d.filtered[row] == 0 && Checks[i].scope(d, row) {
				d.filtered[row] = i
			}
		}
	}
	d.countUnknown()
}

// clear makes room for n rows without a value.
func (s *slot) clear(n int) {
	switch s.col.Kind {
	case pitch.Text:
		s.ids = filled(s.ids, n, -1)
	case pitch.Day:
		s.days = filled(s.days, n, pitch.NoDate)
	case pitch.Real, pitch.Whole:
		s.nums = filled(s.nums, n, pitch.Missing())
	default:
		s.codes = filled(s.codes, n, 0)
	}
}

func filled[T any](to []T, n int, v T) []T {
	to = grow(to, n)
	for i := range to {
		to[i] = v
	}
	return to
}

// fill works out a column's values in the rows at hand.
func (d *decoder) fill(s *slot, v *vector) {
	number := s.col.Kind.Number()
	for row := range d.n {
		r := s.reading(v, row)
		rule, x := r.rule, r.num
		switch {
		case r.state == notANumber:
			d.nan[row] = true
		case number && r.state == given:
			if s.byHand && !r.final {
				x *= pitch.Hand(d.slots[handAt].code(row) & 3).ArmSide()
			}
			x += 0 // no negative zero
			rule = brokenNumber(&s.col, x)
		}
		if r.state != given || rule != 0 {
			d.setFault(row, rule, s.place)
			continue
		}
		switch s.col.Kind {
		case pitch.Text:
			s.ids[row] = r.id
		case pitch.Day:
			s.days[row] = int32(x)
		case pitch.Real, pitch.Whole:
			s.nums[row] = x
		default:
			s.codes[row] = r.code
		}
	}
}

// reading returns what the source value at a row means. It is worked out once a
// text, and once a code of a column of words or identities.
func (s *slot) reading(v *vector, row int) *reading {
	r := &s.once
	switch {
	case v.null[row]:
		r = &s.null
	case v.typ.class == classText:
		code := int(v.code[row])
		for len(s.words) <= code {
			s.words = append(s.words, reading{})
		}
		r = &s.words[code]
	case s.integers != nil:
		if r = s.integers[v.i[row]]; r == nil {
			r = &reading{}
			s.integers[v.i[row]] = r
		}
	default:
		r.known = false
	}
	if !r.known {
		*r = s.read(v, row)
	}
	return r
}

// read works out the source value at a row.
func (s *slot) read(v *vector, row int) reading {
	r := reading{known: true, state: missing}
	null := v.null[row]
	// "" maps a missing value in columns of numbers, and of words that are text.
	mappable := !null || s.col.Kind.Number() || s.col.Kind != pitch.Text && v.typ.class == classText
	if mappable && s.missing.find(v, row) == none {
		if i := s.values.find(v, row); i != none {
			r = s.targets[i]
		} else if !null {
			s.interpret(&r, v, row)
		}
	}
	switch {
	case r.state != given:
		r.rule = brokenValue(&s.col, r)
	case s.col.Kind == pitch.Text:
		r.id = s.idOf(r.text)
	}
	return r
}

// idOf returns the place of a text in the slot's list.
func (s *slot) idOf(text string) int32 {
	id, ok := s.places[text]
	if !ok {
		id = int32(len(s.list))
		s.list = append(s.list, text)
		s.places[text] = id
	}
	return id
}

// interpret reads a value that the profile does not list, by the column's kind.
func (s *slot) interpret(r *reading, v *vector, row int) {
	class, number := v.typ.class, s.col.Kind.Number()
	switch {
	case class == classText && v.words.list[v.code[row]] == "":
		return
	case class == classFloat && v.f[row] != v.f[row]:
		if number {
			r.state = notANumber
		}
		return
	}
	ok := true
	switch s.col.Kind {
	case pitch.Text:
		r.text, ok = identityText(v, row)
	case pitch.Day:
		var day int64
		day, ok = s.dayOf(v, row)
		r.num, ok = float64(day), ok && day >= -1e6 && day <= 1e6
	case pitch.Real, pitch.Whole:
		var x float64
		x, ok = v.number(row)
		r.num = float64(x*s.mul) / s.div * s.sign
	default:
		r.code = s.codeOf(v.value(row))
	}
	switch {
	case !ok:
		r.state = unreadable
	case number && r.num != r.num:
		r.state = notANumber
	default:
		r.state = given
	}
}

// identityText returns an identity's canonical text; false for a number with a fraction.
func identityText(v *vector, row int) (string, bool) {
	switch v.typ.class {
	case classText:
		return v.words.list[v.code[row]], true
	case classFloat:
		x := v.f[row]
		return strconv.FormatInt(int64(x), 10), x == math.Trunc(x) && math.Abs(x) < 1<<53
	}
	return strconv.FormatInt(v.i[row], 10), true
}

// number returns the number at a row; false for text that is none.
func (v *vector) number(row int) (float64, bool) {
	switch v.typ.class {
	case classFloat:
		return v.f[row], true
	case classText:
		s := v.words.list[v.code[row]]
		x, err := strconv.ParseFloat(s, 64)
		return x, !strings.ContainsAny(s, "xX_") && (err == nil || math.IsInf(x, 0))
	}
	return float64(v.i[row]), true
}

// codeOf returns the code of a word that the profile does not list: unmapped, if
// it lists any.
func (s *slot) codeOf(word string) uint8 {
	if s.listed {
		return unmapped
	}
	if s.col.Kind == pitch.YesNo {
		switch strings.ToLower(word) {
		case "true", "1", "yes":
			return uint8(pitch.Yes)
		case "false", "0", "no":
			return uint8(pitch.No)
		}
		return unmapped
	}
	if code, err := parseWord(s.col.Name, s.terms, word); err == nil {
		return code
	}
	return unmapped
}

// dayOf returns the date at a row, in days since 1970-01-01.
func (s *slot) dayOf(v *vector, row int) (int64, bool) {
	switch v.typ.class {
	case classDate:
		return v.i[row], true
	case classTime:
		return s.instantDay(v.typ, v.i[row])
	}
	return parseDay(s.layout, v.value(row), s.zone)
}

// instantDay is the date of a timestamp: of an instant in the profile's zone,
// of a wall clock as it stands.
func (f *field) instantDay(t leafType, ticks int64) (int64, bool) {
	if t.utc && f.zone != time.UTC {
		s := floorDiv(ticks, int64(time.Second)/t.tick)
		return civilDay(time.Unix(s, 0).In(f.zone)), s >= -1e11 && s <= 1e11
	}
	return floorDiv(ticks, int64(24*time.Hour)/t.tick), true
}

func floorDiv(a, b int64) int64 {
	q := a / b
	if a%b < 0 {
		q--
	}
	return q
}

// resolveSides puts switch hitters on the side that faces the pitcher's hand,
// where the profile says so.
func (d *decoder) resolveSides() {
	s, hands := &d.slots[sideAt], &d.slots[handAt]
	opposite := map[pitch.Hand]pitch.Side{}
	if d.opposite {
		opposite = map[pitch.Hand]pitch.Side{pitch.LeftHand: pitch.RightSide, pitch.RightHand: pitch.LeftSide}
	}
	for row, code := range s.codes {
		if pitch.Side(code) != pitch.SwitchSide {
			continue
		}
		side := opposite[pitch.Hand(hands.code(row))]
		if s.codes[row] = uint8(side); side == pitch.UnknownSide {
			d.setFault(row, brokenValue(&s.col, reading{state: unresolved}), s.place)
		}
	}
}

// unwanted tells whether a where filter leaves a row out.
func (d *decoder) unwanted(row int) bool {
	for _, f := range d.filters {
		if (f.list.find(&d.vecs[f.use], row) != none) != f.in {
			return true
		}
	}
	return false
}

// otherKind tells whether a row's game is of a kind that the profile does not use.
func (d *decoder) otherKind(row int) bool {
	s := &d.slots[gameTypeAt]
	return d.types != nil && (s.id(row) < 0 || !d.types[s.text(row)])
}

// banishes tells whether the profile names a row's pitcher among those left out.
func (d *decoder) banishes(row int) bool {
	s := &d.slots[pitcherAt]
	return d.banned != nil && s.id(row) >= 0 && d.banned[s.text(row)]
}

// thrown tells whether a pitch was thrown on a row.
func (d *decoder) thrown(row int) bool {
	switch pitch.Outcome(d.slots[outcomeAt].code(row)) {
	case pitch.AutomaticBall, pitch.AutomaticStrike, pitch.NoPitch:
		return false
	}
	return true
}

// keyed tells whether a row names its game, plate appearance and pitch.
func (d *decoder) keyed(row int) bool {
	return d.slots[gameAt].id(row) >= 0 && d.slots[appearanceAt].count(row) >= 0 && d.slots[numberAt].count(row) >= 0
}

// countUnknown counts the values that the profile does not map, among rows
// that no check of scope leaves out.
func (d *decoder) countUnknown() {
	for _, s := range d.mapped {
		for row, c := range s.codes {
			if c != unmapped {
				continue
			}
			s.codes[row] = 0
			if d.filtered[row] == 0 {
				d.unknown[unknownKey{s.place, d.vecs[s.use].value(row)}]++
			}
		}
	}
}
