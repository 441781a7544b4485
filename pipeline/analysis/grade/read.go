package grade

import (
	"math"

	"sill/pipeline/analysis/answer"
	"sill/pipeline/outcome"
	"sill/pipeline/pitch"
	"sill/pipeline/shape"
)

// Reader lays pitches against a yardstick one by one, where they can be read again:
// values are exact then, and counts of balls and strikes are known.
type Reader struct {
	yardstick *Yardstick
	variables []shape.Variable // as the source tells them
	index     []int            // of the yardstick's variables among them, −1 for none
	workers   []Population
}

// Read begins to lay pitches against the yardstick, by so many workers at once.
func (y *Yardstick) Read(variables []shape.Variable, workers int) (*Reader, []string) {
	r := &Reader{yardstick: y, variables: variables}
	var definitions []string
	for _, v := range variables {
		definitions = append(definitions, v.Definition)
	}
	var notes []string
	r.index, notes = y.shared(shape.Names(variables), definitions)
	for range workers {
		r.workers = append(r.workers, Population{owns: map[key]*own{}})
	}
	return r, notes
}

// Add takes a batch for one worker, 0 ≤ worker < workers; it is not kept.
func (r *Reader) Add(worker int, batch []pitch.Pitch) error {
	for i := range batch {
		if err := r.add(&r.workers[worker], &batch[i]); err != nil {
			return err
		}
	}
	return nil
}

func (r *Reader) add(p *Population, t *pitch.Pitch) error {
	if t.Type == pitch.UnknownType || !outcome.Shaped(t.Outcome) {
		return nil
	}
	o := p.of(key{t.Pitcher, answer.CellOfPitch(t)}, len(r.index))
	o.pitches++
	one := countOf(t)
	if err := o.counts.Add(&one); err != nil {
		return err
	}
	if balls, strikes := t.Num[pitch.BallsBefore], t.Num[pitch.StrikesBefore]; balls >= 0 && strikes >= 0 {
		o.counted++
		o.begun++
		if strikes == 2 {
			o.twoStrikes++
		}
		if balls+strikes <= 1 {
			o.early++
		}
	}
	if !graded(t.Type) {
		return nil
	}
	curves := r.yardstick.curves[answer.CellOfPitch(t)]
	for v, at := range r.index {
		if at < 0 {
			continue
		}
		x, q, ok := r.value(t, at)
		if !ok {
			continue
		}
		s := &o.qualities[v]
		s.n++
		s.sum += q
		s.sum2 += q * q
		for m := range s.by {
			if curves != nil {
				s.by[m].add(&curves[v*measures+m], 1, x, x, x)
			}
		}
		switch r.yardstick.Variables[v].Name {
		case heightVariable:
			spreadOver(&o.height, heightCuts, 1, x, x)
		case acrossVariable:
			spreadOver(&o.across, acrossCuts, 1, x, x)
		}
	}
	return nil
}

// value returns a variable's value, rounded to whole quanta as the tally does.
func (r *Reader) value(t *pitch.Pitch, at int) (x float64, q int64, ok bool) {
	v := &r.variables[at]
	if q, ok = v.Quantize(v.Value(t)); !ok {
		return math.NaN(), 0, false
	}
	return float64(q) / float64(v.PerUnit()), q, true
}

// countOf is the tally of one pitch.
func countOf(t *pitch.Pitch) (c outcome.Counts) {
	class, _ := outcome.ClassOf(t.Result)
	c.Count(outcome.SwingOf(t), class, 0) // one pitch fits
	return c
}

// Population ends the reading. pitchers are the names that pitches index.
func (r *Reader) Population(name string, pitchers []string, s outcome.Scoring) (*Population, error) {
	p := &Population{Name: name, Pitchers: pitchers, Exact: true, Scoring: s, owns: map[key]*own{}}
	for w := range r.workers {
		for k, o := range r.workers[w].owns {
			if err := p.of(k, len(r.index)).add(o); err != nil {
				return nil, err
			}
		}
	}
	return p, nil
}
