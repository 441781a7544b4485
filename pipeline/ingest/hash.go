package ingest

import (
	"crypto/sha256"
	"encoding/binary"
	"math"

	"sill/pipeline/pitch"
)

// widths are the bytes of a value in a content hash, by kind.
var widths = map[pitch.Kind]int{pitch.Text: 16, pitch.Category: 1, pitch.YesNo: 1, pitch.Day: 4, pitch.Real: 8, pitch.Whole: 8}

// hash computes each row's content hash: the first 128 bits of the SHA-256 of
// its canonical values, numbers rounded to 1e-4 of their unit.
func (st *indexState) hash(rows []entry) {
	const block = 128
	st.block = grow(st.block, block*st.stride)
	for lo := 0; lo < st.d.n; lo += block {
		hi := min(lo+block, st.d.n)
		at := 0
		for _, s := range st.d.mapped {
			for row := lo; row < hi; row++ {
				st.write(st.block[(row-lo)*st.stride+at:], s, row)
			}
			at += widths[s.col.Kind]
		}
		for row := lo; row < hi; row++ {
			rows[row].hash = shortSum(st.block[(row-lo)*st.stride:][:st.stride])
		}
	}
}

// write puts the value of a column at a row where its content is hashed.
func (st *indexState) write(to []byte, s *slot, row int) {
	switch s.col.Kind {
	case pitch.Text:
		var sum [16]byte
		if id := s.ids[row]; id >= 0 {
			digests := &st.digests[s.place]
			for len(*digests) <= int(id) {
				*digests = append(*digests, shortSum([]byte(s.list[len(*digests)])))
			}
			sum = (*digests)[id]
		}
		copy(to, sum[:])
	case pitch.Day:
		binary.LittleEndian.PutUint32(to, uint32(s.days[row]))
	case pitch.Real, pitch.Whole:
		q := int64(math.MinInt64)
		if v := s.nums[row]; v == v {
			q = int64(math.RoundToEven(v * 1e4))
		}
		binary.LittleEndian.PutUint64(to, uint64(q))
	default:
		to[0] = s.codes[row]
	}
}

func shortSum(b []byte) [16]byte {
	sum := sha256.Sum256(b)
	return [16]byte(sum[:16])
}
