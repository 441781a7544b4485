package stats

// Table holds the clustered counts of one curve, sparse by bin. Only bins with
// at least one event are nodes. Read only once built.
type Table struct {
	X        []float64 // node of each bin: mean of the variable over its events, ascending
	Gap      []int32   // empty bins between node b and b+1, len Bins()−1; nil: none
	Start    []int32   // entries of bin b are Start[b] … Start[b+1]−1, len Bins()+1
	Cluster  []int32   // per entry, 0 ≤ cluster < Clusters, ascending within a bin
	N, Y     []float64 // per entry: number of events, sum of their values
	YY       []float64 // per bin: Σy² over events; nil where values are 0 or 1 (then YY = Y)
	Clusters int       // clusters of the numbering, with an event or not
}

// Bins returns the number of nodes.
func (t *Table) Bins() int { return len(t.X) }

// Sums returns events and sum of values by bin.
func (t *Table) Sums() (n, y []float64) { panic("todo") }

// ByCluster returns events and sum of values by cluster.
func (t *Table) ByCluster() (n, y []float64) { panic("todo") }

// Active returns the number of clusters with an event.
func (t *Table) Active() int { panic("todo") }

// EffectiveClusters returns (ΣN)²/ΣN² over clusters, Kish's effective number;
// 0 without an event.
func (t *Table) EffectiveClusters() float64 { panic("todo") }

// EndBins finds the open end bins: from each end bins are taken until they hold
// minEvents events and minClusters clusters. Bins 0…first and last…Bins()−1 are
// the two blocks. ok is false where an end never holds enough or the blocks
// meet: the table is then too small to pool.
func (t *Table) EndBins(minEvents float64, minClusters int) (first, last int, ok bool) { panic("todo") }

// Merge returns the table with bins 0…first as one and last…Bins()−1 as one,
// nodes at the mean of their events. Panics unless first < last.
func (t *Table) Merge(first, last int) *Table { panic("todo") }

// Kind says what an event's value is.
type Kind int

// The kinds of values.
const (
	Proportion Kind = iota // 0 or 1
	Mean                   // any number
)

// Bin describes one bin of a table.
type Bin struct {
	N, Y, Rate float64
	Clusters   int     // clusters with an event
	Effective  float64 // (Σn)²/Σn² over clusters
	Largest    float64 // share of the largest cluster
	VJ         float64 // Σ[(Y_p − r·n_p)/(n − n_p)]²; NaN where one cluster holds all
	Extra      float64 // max(0, V_second − V_event); 0 without a second kind of cluster
	DEff       float64 // design effect (Proportion); NaN for Mean
	T          float64 // Student quantile used; NaN where fewer than 2 clusters
	Lo, Hi     float64 // 95 % limits; NaN where fewer than 2 clusters
}

// Bin describes bin b and gives its 95 % interval. second is the same bins by
// a second kind of cluster, or nil.
func (t *Table) Bin(b int, kind Kind, second *Table) Bin { panic("todo") }
