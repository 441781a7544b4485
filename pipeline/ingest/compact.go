package ingest

import "errors"

// compact walks Thrift's compact protocol, in which Parquet writes its footer
// and page headers, without building anything: it exists so that every length
// is known to lie inside the bytes at hand before a decoder allocates for it.
type compact struct {
	b []byte
	i int
}

var (
	errThriftShort = errors.New("metadata ends early")
	errThriftBad   = errors.New("metadata is malformed")
)

// The wire types of the compact protocol.
const (
	wireTrue = iota + 1
	wireFalse
	wireI8
	wireI16
	wireI32
	wireI64
	wireDouble
	wireBinary
	wireList
	wireSet
	wireMap
	wireStruct
)

func (c *compact) byte() (byte, error) {
	if c.i >= len(c.b) {
		return 0, errThriftShort
	}
	c.i++
	return c.b[c.i-1], nil
}

func (c *compact) uvarint() (uint64, error) {
	var v uint64
	for shift := uint(0); shift < 64; shift += 7 {
		x, err := c.byte()
		if err != nil {
			return 0, err
		}
		v |= uint64(x&0x7f) << shift
		if x < 0x80 {
			return v, nil
		}
	}
	return 0, errThriftBad
}

// int reads a zigzag number.
func (c *compact) int() (int64, error) {
	u, err := c.uvarint()
	return int64(u>>1) ^ -int64(u&1), err
}

func (c *compact) advance(n uint64) error {
	if n > uint64(len(c.b)-c.i) {
		return errThriftShort
	}
	c.i += int(n)
	return nil
}

// fields calls f for each field of the struct at hand; f must consume it.
func (c *compact) fields(f func(id int16, wire byte) error) error {
	last := int64(0)
	for {
		b, err := c.byte()
		if err != nil {
			return err
		}
		if b == 0 {
			return nil
		}
		if d := b >> 4; d != 0 {
			last += int64(d)
		} else if last, err = c.int(); err != nil {
			return err
		}
		if err := f(int16(last), b&0xf); err != nil {
			return err
		}
	}
}

// skip consumes one value. Lists may hold no more elements than there are
// bytes for them: one a scalar, three a struct (the smallest that Parquet's
// metadata knows).
func (c *compact) skip(wire byte, depth int) error {
	if depth > 32 {
		return errThriftBad
	}
	switch wire {
	case wireTrue, wireFalse:
		return nil
	case wireI8:
		return c.advance(1)
	case wireI16, wireI32, wireI64:
		_, err := c.uvarint()
		return err
	case wireDouble:
		return c.advance(8)
	case wireBinary:
		n, err := c.uvarint()
		if err != nil {
			return err
		}
		return c.advance(n)
	case wireList, wireSet:
		b, err := c.byte()
		if err != nil {
			return err
		}
		n, elem := uint64(b>>4), b&0xf
		if n == 15 {
			if n, err = c.uvarint(); err != nil {
				return err
			}
		}
		least := uint64(1)
		if elem == wireStruct {
			least = 3
		}
		if n > uint64(len(c.b)-c.i)/least {
			return errThriftShort
		}
		for ; n > 0; n-- {
			if elem == wireTrue || elem == wireFalse {
				err = c.advance(1)
			} else {
				err = c.skip(elem, depth+1)
			}
			if err != nil {
				return err
			}
		}
		return nil
	case wireStruct:
		return c.fields(func(_ int16, w byte) error { return c.skip(w, depth+1) })
	}
	return errThriftBad // maps do not occur in Parquet's metadata
}
