package ingest

import (
	"encoding/binary"
	"errors"
	"fmt"
	"io"
	"math"
	"math/big"
	"strconv"
	"strings"
	"time"

	"github.com/parquet-go/parquet-go"
	"github.com/parquet-go/parquet-go/format"
	"golang.org/x/text/unicode/norm"
)

// class is what a source column holds, whatever its physical type.
type class uint8

const (
	classInt class = iota
	classFloat
	classText
	classBool
	classDate // days
	classTime // ticks
)

var classNames = [...]string{"integer", "number", "text", "boolean", "date", "timestamp"}

func (c class) String() string { return classNames[c] }

// leafType is the resolved type of a source column.
type leafType struct {
	class   class
	kind    parquet.Kind
	length  int     // bytes of a fixed-length value
	decimal bool    // a scaled integer
	scale   float64 // 10^scale of a decimal
	tick    int64   // nanoseconds of a timestamp's tick
	utc     bool    // the timestamp is an instant, not a wall clock
	wide    bool    // unsigned 64-bit
	narrow  bool    // unsigned 32-bit
}

// typeOf resolves a leaf's type.
func typeOf(leaf *parquet.Column) (leafType, error) {
	t := leaf.Type()
	out := leafType{kind: t.Kind(), length: t.Length()}
	var logical format.LogicalTypeValue
	if l := t.LogicalType(); l != nil {
		logical = l.Value
	}
	if leaf.MaxRepetitionLevel() > 0 {
		return out, errors.New("is a list: only plain columns are read")
	}
	if d, ok := logical.(*format.DecimalType); ok {
		if d.Scale < 0 || d.Scale > 38 {
			return out, fmt.Errorf("is a decimal with scale %d", d.Scale)
		}
		switch {
		case out.kind == parquet.Int32, out.kind == parquet.Int64, out.kind == parquet.ByteArray,
			out.kind == parquet.FixedLenByteArray && out.length > 0 && out.length <= 32:
			out.class, out.decimal, out.scale = classFloat, true, math.Pow10(int(d.Scale))
			return out, nil
		}
		return out, fmt.Errorf("is a decimal stored as %s", t)
	}
	ok := false
	switch out.kind {
	case parquet.Boolean:
		out.class, ok = classBool, true
	case parquet.Float, parquet.Double:
		out.class, ok = classFloat, true
	case parquet.Int32, parquet.Int64:
		switch l := logical.(type) {
		case nil:
			out.class, ok = classInt, true
		case *format.IntType:
			out.class, ok = classInt, true
			out.narrow = !l.IsSigned && out.kind == parquet.Int32
			out.wide = !l.IsSigned && out.kind == parquet.Int64
		case *format.DateType:
			out.class, ok = classDate, out.kind == parquet.Int32
		case *format.TimestampType:
			out.class, out.utc = classTime, l.IsAdjustedToUTC
			switch l.Unit.Value.(type) {
			case *format.MilliSeconds:
				out.tick = 1e6
			case *format.MicroSeconds:
				out.tick = 1e3
			case *format.NanoSeconds:
				out.tick = 1
			}
			ok = out.kind == parquet.Int64 && out.tick > 0
		}
	case parquet.ByteArray:
		out.class = classText
		switch logical.(type) {
		case nil, *format.StringType, *format.EnumType, *format.JsonType:
			ok = true
		}
	case parquet.FixedLenByteArray:
		out.class, ok = classText, logical == nil && out.length > 0
	}
	if !ok {
		return out, fmt.Errorf("is of type %s, which is not read", t)
	}
	return out, nil
}

// words interns the texts of one source column of one file: a row holds a
// number, and what a text means is worked out once.
type words struct {
	index map[string]int32
	list  []string // canonical text: trimmed, NFC
}

func (w *words) code(b []byte) int32 {
	if c, ok := w.index[string(b)]; ok {
		return c
	}
	if w.index == nil {
		w.index = map[string]int32{}
	}
	raw := string(b)
	c := int32(len(w.list))
	w.list = append(w.list, canonicalText(raw))
	w.index[raw] = c
	return c
}

// canonicalText is text as identities and words are compared: without space
// around it, in Unicode normal form C.
func canonicalText(s string) string { return norm.NFC.String(strings.TrimSpace(s)) }

// vector holds the values of one source column for one batch of rows. Which
// slice is filled follows from the class: i for integers, booleans, dates and
// timestamps, f for numbers, code for text.
type vector struct {
	typ   leafType
	null  []bool
	i     []int64
	f     []float64
	code  []int32
	words words
}

// value renders the value at a row, for messages and the quarantine.
func (v *vector) value(row int) string {
	if v == nil || v.null[row] {
		return ""
	}
	switch v.typ.class {
	case classText:
		return v.words.list[v.code[row]]
	case classFloat:
		return formatFloat(v.f[row])
	case classBool:
		return strconv.FormatBool(v.i[row] != 0)
	case classDate:
		return dayText(v.i[row])
	case classTime:
		return time.Unix(0, 0).UTC().Add(time.Duration(v.i[row]) * time.Duration(v.typ.tick)).Format(time.RFC3339Nano)
	}
	return strconv.FormatInt(v.i[row], 10)
}

// key returns the value at a row for a lookup: text, number or integer.
func (v *vector) key(row int) any {
	switch v.typ.class {
	case classText:
		return v.words.list[v.code[row]]
	case classFloat:
		return v.f[row]
	}
	return v.i[row]
}

func dayText(days int64) string {
	return time.Unix(0, 0).UTC().AddDate(0, 0, int(min(max(days, -1e6), 1e7))).Format(time.DateOnly)
}

func formatFloat(f float64) string { return strconv.FormatFloat(f, 'g', -1, 64) }

// resize makes room for n rows.
func (v *vector) resize(n int) {
	v.null = grow(v.null, n)
	switch v.typ.class {
	case classText:
		v.code = grow(v.code, n)
	case classFloat:
		v.f = grow(v.f, n)
	default:
		v.i = grow(v.i, n)
	}
}

func grow[T any](s []T, n int) []T {
	if cap(s) < n {
		return make([]T, n)
	}
	return s[:n]
}

// cursor reads one column chunk in batches of rows.
type cursor struct {
	pages    *parquet.FilePages
	max      byte // definition level of a value, 0 for a required column
	page     parquet.Page
	row, val int // position in the page
	rows     int
	levels   []byte
	flat     vector // the page's (or dictionary's) values without nulls
	codes    []int32
	dict     parquet.Dictionary
	dictVals vector
}

func (c *cursor) close() {
	if c.page != nil {
		parquet.Release(c.page)
		c.page = nil
	}
	if c.pages != nil {
		c.pages.Close()
		c.pages = nil
	}
}

var errShort = errors.New("fewer values than rows")

// read fills v with the next n rows.
func (c *cursor) read(v *vector, n int) error {
	v.resize(n)
	for at := 0; at < n; {
		if c.row == c.rows {
			if err := c.next(v); errors.Is(err, io.EOF) {
				return errShort
			} else if err != nil {
				return err
			}
			continue
		}
		k := min(n-at, c.rows-c.row)
		if err := c.copyRows(v, at, k); err != nil {
			return err
		}
		at += k
	}
	return nil
}

// end checks that the chunk holds no further row.
func (c *cursor) end(v *vector) error {
	if c.row < c.rows {
		return errors.New("more values than rows")
	}
	for {
		switch err := c.next(v); {
		case errors.Is(err, io.EOF):
			return nil
		case err != nil:
			return err
		case c.rows > 0:
			return errors.New("more values than rows")
		}
	}
}

// next takes up the next page.
func (c *cursor) next(v *vector) error {
	if c.page != nil {
		parquet.Release(c.page)
		c.page = nil
	}
	c.row, c.val, c.rows = 0, 0, 0
	page, err := c.pages.ReadPage()
	if err != nil {
		return err
	}
	c.page = page
	rows := page.NumRows()
	if rows < 0 || rows > maxPageValues || page.NumValues() != rows {
		return errShort
	}
	c.rows = int(rows)
	c.levels = page.DefinitionLevels()
	values := c.rows
	if c.max > 0 {
		if len(c.levels) != c.rows {
			return errShort
		}
		values = 0
		for _, l := range c.levels {
			if l == c.max {
				values++
			} else if l > c.max {
				return errors.New("impossible definition level")
			}
		}
	}
	c.flat.typ = v.typ
	if dict := page.Dictionary(); dict != nil {
		if dict != c.dict {
			c.dict, c.dictVals.typ = dict, v.typ
			if err := c.dictVals.load(dict.Page(), dict.Len(), &v.words); err != nil {
				return err
			}
		}
		data := page.Data()
		c.codes = data.Int32()
		if len(c.codes) < values {
			return errShort
		}
		n := int32(dict.Len())
		for _, k := range c.codes[:values] {
			if uint32(k) >= uint32(n) {
				return errors.New("a value points outside its dictionary")
			}
		}
		return nil
	}
	c.codes = nil
	return c.flat.load(page, values, &v.words)
}

// copyRows moves k rows of the page into v at row at.
func (c *cursor) copyRows(v *vector, at, k int) error {
	null := v.null[at : at+k]
	full := true
	if c.max == 0 {
		clear(null)
	} else {
		for i, l := range c.levels[c.row : c.row+k] {
			null[i] = l != c.max
			full = full && l == c.max
		}
	}
	from := &c.flat
	if c.codes != nil {
		from = &c.dictVals
	}
	switch v.typ.class {
	case classText:
		c.val = move(v.code[at:at+k], from.code, c.codes, null, full, c.val)
	case classFloat:
		c.val = move(v.f[at:at+k], from.f, c.codes, null, full, c.val)
	default:
		c.val = move(v.i[at:at+k], from.i, c.codes, null, full, c.val)
	}
	c.row += k
	return nil
}

func move[T any](dst, src []T, codes []int32, null []bool, full bool, val int) int {
	switch {
	case codes == nil && full:
		return val + copy(dst, src[val:val+len(dst)])
	case codes == nil:
		for i := range dst {
			if !null[i] {
				dst[i] = src[val]
				val++
			}
		}
	case full:
		for i, c := range codes[val : val+len(dst)] {
			dst[i] = src[c]
		}
		val += len(dst)
	default:
		for i := range dst {
			if !null[i] {
				dst[i] = src[codes[val]]
				val++
			}
		}
	}
	return val
}

// load converts the n values of a page without nulls.
func (v *vector) load(page parquet.Page, n int, w *words) error {
	v.resize(n)
	data := page.Data()
	switch v.typ.kind {
	case parquet.Boolean:
		bits := data.Boolean()
		if len(bits)*8 < n {
			return errShort
		}
		for i := range v.i {
			v.i[i] = int64(bits[i/8] >> (i % 8) & 1)
		}
		return nil
	case parquet.Int32:
		return loadIntegers(v, data.Int32(), n)
	case parquet.Int64:
		return loadIntegers(v, data.Int64(), n)
	case parquet.Float:
		return convertAll(v.f, data.Float(), n)
	case parquet.Double:
		return convertAll(v.f, data.Double(), n)
	case parquet.ByteArray:
		b, off := data.ByteArray()
		if len(off) < n+1 && n > 0 {
			return errShort
		}
		for i := range n {
			lo, hi := off[i], off[i+1]
			if lo > hi || int64(hi) > int64(len(b)) {
				return errors.New("a text lies outside its page")
			}
			v.text(i, b[lo:hi], w)
		}
		return nil
	case parquet.FixedLenByteArray:
		b, size := data.FixedLenByteArray()
		if size != v.typ.length || len(b) < n*size {
			return errShort
		}
		for i := range n {
			v.text(i, b[i*size:(i+1)*size], w)
		}
		return nil
	}
	return fmt.Errorf("type %v is not read", v.typ.kind)
}

// convertAll converts n values of one type to another.
func convertAll[D, S int32 | int64 | float32 | float64](to []D, from []S, n int) error {
	if len(from) < n {
		return errShort
	}
	for i, x := range from[:n] {
		to[i] = D(x)
	}
	return nil
}

// loadIntegers loads whole numbers, or a decimal's.
func loadIntegers[S int32 | int64](v *vector, from []S, n int) error {
	if v.typ.decimal {
		err := convertAll(v.f, from, n)
		for i := range v.f {
			v.f[i] /= v.typ.scale
		}
		return err
	}
	err := convertAll(v.i, from, n)
	for i, x := range v.i {
		switch {
		case v.typ.narrow:
			v.i[i] = int64(uint32(x))
		case v.typ.wide && x < 0 && err == nil:
			err = errors.New("an unsigned number passes 2^63")
		}
	}
	return err
}

// text stores a byte string: an interned text, or a decimal's digits.
func (v *vector) text(i int, b []byte, w *words) {
	if !v.typ.decimal {
		v.code[i] = w.code(b)
		return
	}
	v.f[i] = bigEndian(b) / v.typ.scale
}

// bigEndian reads a two's complement number of any length.
func bigEndian(b []byte) float64 {
	if len(b) == 0 {
		return 0
	}
	if len(b) <= 8 {
		var x [8]byte
		if b[0]&0x80 != 0 {
			x = [8]byte{255, 255, 255, 255, 255, 255, 255, 255}
		}
		copy(x[8-len(b):], b)
		return float64(int64(binary.BigEndian.Uint64(x[:])))
	}
	n := new(big.Int).SetBytes(b)
	if b[0]&0x80 != 0 {
		n.Sub(n, new(big.Int).Lsh(big.NewInt(1), uint(8*len(b))))
	}
	f, _ := new(big.Float).SetInt(n).Float64()
	return f
}
