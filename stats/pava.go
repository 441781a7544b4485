package stats

// Isotonic returns the non-decreasing fit that minimises Σ w(y − f)², by pooling
// adjacent violators: neighbours that fall are replaced by their weighted mean
// until none do. w are positive weights, one per y; nil weighs all alike.
// Panics on lengths that differ or a weight that is not positive.
//
// Source: Ayer et al. 1955, Annals of Mathematical Statistics 26:641.
func Isotonic(y, w []float64) []float64 {
	if w != nil && len(w) != len(y) {
		panic("stats: Isotonic needs one weight per value")
	}
	type block struct {
		mean, weight float64
		size         int
	}
	var blocks []block
	for i, v := range y {
		b := block{v, 1, 1}
		if w != nil {
			b.weight = w[i]
		}
		if !(b.weight > 0) {
			panic("stats: Isotonic needs positive weights")
		}
		for len(blocks) > 0 && blocks[len(blocks)-1].mean > b.mean {
			last := blocks[len(blocks)-1]
			blocks = blocks[:len(blocks)-1]
			weight := last.weight + b.weight
			b.mean = (float64(last.weight*last.mean) + float64(b.weight*b.mean)) / weight
			b.weight, b.size = weight, b.size+last.size
		}
		blocks = append(blocks, b)
	}
	fit := make([]float64, 0, len(y))
	for _, b := range blocks {
		for range b.size {
			fit = append(fit, b.mean)
		}
	}
	return fit
}

// Antitonic is Isotonic for a non-increasing fit.
func Antitonic(y, w []float64) []float64 {
	negative := make([]float64, len(y))
	for i, v := range y {
		negative[i] = -v
	}
	fit := Isotonic(negative, w)
	for i := range fit {
		fit[i] = -fit[i]
	}
	return fit
}
