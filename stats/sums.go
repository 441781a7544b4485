package stats

import "slices"

// Sums are the events of one bin by cluster: their number N and the sum Y of their
// values, and over all clusters the sum YY of squared values. Make them by NewSums.
type Sums struct {
	N, Y []float64
	YY   float64
	seen []int32 // clusters with an event, in order of appearance
}

// NewSums returns empty sums of so many clusters.
func NewSums(clusters int) Sums {
	return Sums{N: make([]float64, clusters), Y: make([]float64, clusters)}
}

// Add adds n events of a cluster whose values sum to y and squared values to yy.
func (s *Sums) Add(cluster int32, n, y, yy float64) {
	if s.N[cluster] == 0 && n > 0 {
		s.seen = append(s.seen, cluster)
	}
	s.N[cluster] += n
	s.Y[cluster] += y
	s.YY += yy
}

// Join adds other sums of the same clusters.
func (s *Sums) Join(o *Sums) {
	for _, k := range o.seen {
		s.Add(k, o.N[k], o.Y[k], 0)
	}
	s.YY += o.YY
}

// Events is the number of events of all clusters.
func (s *Sums) Events() float64 { return total(s.N) }

func total(n []float64) float64 {
	sum := 0.0
	for _, v := range n {
		sum += v
	}
	return sum
}

// Concentration is that of the events over clusters.
func (s *Sums) Concentration() (clusters int, effective, largest float64) {
	n := make([]float64, len(s.seen))
	for i, k := range s.seen {
		n[i] = s.N[k]
	}
	return Concentration(n)
}

// Flush adds the sums to a table as its bin at x and clears them. Cluster k is number
// rename[k] there; nil keeps the numbers.
func (s *Sums) Flush(t *Table, x float64, rename []int32) {
	slices.Sort(s.seen)
	for _, k := range s.seen {
		name := k
		if rename != nil {
			name = rename[k]
		}
		t.Cluster, t.N, t.Y = append(t.Cluster, name), append(t.N, s.N[k]), append(t.Y, s.Y[k])
	}
	t.X, t.YY, t.Start = append(t.X, x), append(t.YY, s.YY), append(t.Start, int32(len(t.Cluster)))
	s.Clear()
}

// Clear empties the sums.
func (s *Sums) Clear() {
	for _, k := range s.seen {
		s.N[k], s.Y[k] = 0, 0
	}
	s.seen, s.YY = s.seen[:0], 0
}

// Table is the bin as a table, with the squares of its values where these are not
// hits and misses; nil without an event.
func (s *Sums) Table(kind Kind) *Table {
	if len(s.seen) == 0 {
		return nil
	}
	own := Sums{N: slices.Clone(s.N), Y: slices.Clone(s.Y), YY: s.YY, seen: slices.Clone(s.seen)}
	t := &Table{Clusters: len(s.N), Start: []int32{0}}
	own.Flush(t, 0, nil)
	if kind == Proportion {
		t.YY = nil
	}
	return t
}
