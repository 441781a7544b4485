package tally

import "math/bits"

// digest sums a hash of each record, so that it does not depend on their order.
// It finds damage that the checksums of Parquet pages leave out (dictionaries,
// page headers); it is no defence against intent.
type digest struct {
	sum   uint64
	cell  record // the words of the record before
	words uint64 // and their hash
	names map[string]uint64
}

func newDigest() *digest { return &digest{names: map[string]uint64{}} }

// add adds a record.
func (d *digest) add(r *record) {
	c := &d.cell
	if d.words == 0 || !r.sameCurve(c) {
		*c = *r
		h := mix(0, uint64(uint32(r.Season)))
		for _, s := range [...]string{r.Table, r.Stratum, r.Hand, r.Side, r.PitchType, r.Variable} {
			h = mixText(h, s)
		}
		d.words = h
	}
	name, ok := d.names[r.Cluster]
	if !ok {
		name = mixText(1, r.Cluster)
		d.names[r.Cluster] = name
	}
	h := mix(d.words, name)
	if r.Bin != nil {
		h = mix(h, 1<<32|uint64(uint32(*r.Bin)))
	}
	for _, v := range r.numbers() {
		h = mix(h, uint64(*v))
	}
	d.sum += h
}

// mix adds a word to a hash: a multiplication to 128 bits, folded.
func mix(h, v uint64) uint64 {
	hi, lo := bits.Mul64(h^v^0x9e3779b97f4a7c15, 0xd6e8feb86659fd93)
	return hi ^ lo ^ bits.RotateLeft64(h, 23)
}

func mixText(h uint64, s string) uint64 {
	for i := range len(s) {
		h = mix(h, uint64(s[i]))
	}
	return mix(h, uint64(len(s)))
}
