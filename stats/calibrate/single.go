package calibrate

import (
	"context"
	"encoding/binary"
	"fmt"

	"sill/stats/simulate"
)

// singleStudies are those of one crew of clusters.
func singleStudies() []Study {
	return []Study{
		{"curves", "In a cell by itself, against its own line: does the interval of an edge hold the truth, how far off is the edge, and does the test keep its size and have power?", curves},
		{"bins", "Does the interval of a bin's raw rate hold the truth, however few clusters weigh in it?", bins},
		{"weak", "Does the interval of an edge hold the truth where only some data sets confirm the edge?", weak},
		{"size", "How far off is an edge, and how well is it covered, as the number of clusters grows?", size},
		{"flat", "How often does a flat curve get a zone, on the line and off it?", flat},
		{"levels", "How often is a curve wrongly said to lie above or below the line, throughout or as a whole?", levels},
		{"line", "Is the median line where the qualified clusters of an endless season would put it?", line},
		{"two_way", "Do intervals hold the truth where events share second clusters too?", twoWay},
		{"angle", "Does the interval of an edge hold the truth on an angle with bins of a quarter degree?", angle},
		{"cutoff", "Is a stated cutoff that has no effect said to hold, or one that has its effect said not to?", cutoff},
		{"events", "Does the harness notice that single events are resampled, where whole clusters should be?", events},
		{"discoveries", "What share of the curves of a table that are called not flat are flat?", discoveries},
		{"crew", "Are intervals as wide as they should be when the draws go over clusters that have no event in the cell?", crew},
	}
}

// The numbers of data sets at full size: of the first table of bars, of the
// others, and of designs with few confirmed edges.
const (
	many  = 1000
	some  = 600
	scant = 1200
)

// plan is a design that is to be judged.
type plan struct {
	name   string // in the report; also keys the design's stream
	design simulate.Design
	sets   int // at full size
	lines  []simulate.Reference
	oneWay bool
	cells  int    // judged; 0: all
	stream string // keys the stream in place of the name, for data sets that designs share
}

// The lines in their order, and their names in the report.
var (
	medianLine  = []simulate.Reference{simulate.MedianLine}
	pooledLine  = []simulate.Reference{simulate.PooledLine}
	bothLines   = []simulate.Reference{simulate.MedianLine, simulate.PooledLine}
	nameOfLines = map[simulate.Reference]string{simulate.MedianLine: "median line", simulate.PooledLine: "pooled line"}
)

// seed is that of a design's stream.
func (o Options) seed(study, what string) uint64 {
	key := simulate.Key(o.Seed, study+"/"+what, 0)
	return binary.LittleEndian.Uint64(key[:])
}

// judge runs the plans of a study and returns, by plan, a report for each line.
func (o Options) judge(ctx context.Context, study string, plans []plan) ([][]*simulate.Report, error) {
	judges := make([]*simulate.Judge, len(plans))
	outcomes := make([][]*simulate.Outcome, len(plans))
	var starts []int // number of the first set of each plan
	total := 0
	for i, p := range plans {
		starts = append(starts, total)
		outcomes[i] = make([]*simulate.Outcome, o.Sets(p.sets))
		total += len(outcomes[i])
	}
	quiet := o
	quiet.Progress = nil
	err := quiet.Each(ctx, len(plans), func(i int) error {
		p := plans[i]
		if err := p.design.Validate(); err != nil {
			return fmt.Errorf("%s: %w", p.name, err)
		}
		stream := p.stream
		if stream == "" {
			stream = p.name
		}
		s := simulate.DefaultOptions()
		s.Sets, s.Replicates, s.Flips, s.Seed = len(outcomes[i]), 500, 999, o.seed(study, stream)
		s.References, s.OneWay, s.Cells, s.Spoil = p.lines, p.oneWay, p.cells, o.spoil
		if p.design.Kind != 0 {
			s.MinEvents = 25
		}
		judges[i] = simulate.NewJudge(p.design, s)
		return nil
	})
	if err != nil {
		return nil, err
	}
	err = o.Each(ctx, total, func(k int) error {
		i := len(plans) - 1
		for starts[i] > k {
			i--
		}
		outcomes[i][k-starts[i]] = judges[i].Set(k - starts[i])
		return nil
	})
	if err != nil {
		return nil, err
	}
	var reports [][]*simulate.Report
	for i, j := range judges {
		reports = append(reports, j.Report(outcomes[i]))
	}
	return reports, nil
}

// underLine puts a curve in a cell of its own, with a bit more than a third of the
// events, under a line that other cells make with it. Clusters have twice the
// trials, so that the cell has about as many as a design of one cell. What
// decisions about batters and crews bring comes on top: second clusters that
// differ, of each cell its own, and clusters without events.
func underLine(d simulate.Design, others ...simulate.Curve) simulate.Design {
	const share = .35
	d.SizeMedian, d.SizeMin, d.SizeMax = 2*d.SizeMedian, 2*d.SizeMin, 2*d.SizeMax
	d.Cells[0].Share = share
	for _, c := range others {
		d.Cells = append(d.Cells, simulate.Cell{Curve: c, Share: (1 - share) / float64(len(others))})
	}
	d.Second, d.SecondSD, d.SecondByCell = 250, .28, true
	d.Bystanders = d.Clusters / 2
	return d
}

// sum adds up the confirmed edges of a cell.
func sum(edges []simulate.EdgeReport, of func(simulate.EdgeReport) simulate.Share) simulate.Share {
	var s simulate.Share
	for _, e := range edges {
		s = s.Plus(of(e))
	}
	return s
}

func confirmed(e simulate.EdgeReport) simulate.Share { return e.Confirmed }
func covered(e simulate.EdgeReport) simulate.Share   { return e.Covered }

// rmseFinding tells how far off an edge is.
func rmseFinding(design, measure string, e simulate.EdgeReport, bar Bar, earlier string) Finding {
	return Finding{Design: design, Measure: measure, Value: e.RMSE, SE: e.RMSESE, Of: e.Confirmed.Hits, Bar: bar, Earlier: earlier}
}

// ratios divides two series of numbers by data set.
func ratios(a, b []float64) []float64 {
	out := make([]float64, len(a))
	for i := range a {
		out[i] = a[i] / b[i]
	}
	return out
}
