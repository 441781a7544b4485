package stats

// Sums are the events of one bin by cluster: their number N and the sum Y of their
// values, and over all clusters the sum YY of squared values.
type Sums struct {
	N, Y []float64
	YY   float64
}

// NewSums returns empty sums of so many clusters.
func NewSums(clusters int) Sums {
	return Sums{N: make([]float64, clusters), Y: make([]float64, clusters)}
}

// Add adds n events of a cluster whose values sum to y and squared values to yy.
func (s *Sums) Add(cluster int32, n, y, yy float64) {
	s.N[cluster] += n
	s.Y[cluster] += y
	s.YY += yy
}

// Join adds other sums of the same clusters.
func (s *Sums) Join(o *Sums) {
	for k, n := range o.N {
		s.N[k] += n
		s.Y[k] += o.Y[k]
	}
	s.YY += o.YY
}

// Events is the number of events of all clusters.
func (s *Sums) Events() float64 {
	sum := 0.0
	for _, n := range s.N {
		sum += n
	}
	return sum
}

// Table is the bin as a table, with the squares of its values where these are not
// hits and misses; nil without an event.
func (s *Sums) Table(kind Kind) *Table {
	t := &Table{Clusters: len(s.N), Start: []int32{0}}
	for k, n := range s.N {
		if n > 0 {
			t.Cluster, t.N, t.Y = append(t.Cluster, int32(k)), append(t.N, n), append(t.Y, s.Y[k])
		}
	}
	if len(t.N) == 0 {
		return nil
	}
	t.X, t.Start = []float64{0}, append(t.Start, int32(len(t.N)))
	if kind != Proportion {
		t.YY = []float64{s.YY}
	}
	return t
}
