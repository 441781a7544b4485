package ingest

import (
	"cmp"
	"context"
	"math"
	"slices"
	"strings"

	"sill/pipeline/pitch"
)

// Inspection is what one file holds, and what a profile makes of it.
type Inspection struct {
	File      string       `json:"file"`
	Bytes     int64        `json:"bytes"`
	Rows      int64        `json:"rows"`
	RowGroups int          `json:"row_groups"`
	CreatedBy string       `json:"created_by"`
	PageCRC   bool         `json:"page_crc"`
	Columns   []ColumnInfo `json:"columns"`
	// Coverage has one line per column of the dictionary; without a profile
	// all are unmapped.
	Coverage []Coverage `json:"coverage"`
	// Problems are the faults of the profile against this file.
	Problems []string `json:"problems"`
}

// ColumnInfo describes one source column.
type ColumnInfo struct {
	Name  string `json:"name"`
	Class string `json:"class"` // integer, number, text, boolean, date, timestamp; "" if it is not read
	Type  string `json:"type"`  // as the file declares it
	Note  string `json:"note"`  // why it is not read, "" if it is
	Nulls int64  `json:"nulls"`
	NaNs  int64  `json:"nans"`
	// Min and Max are of numbers, dates and timestamps, "" without a value.
	Min string `json:"min"`
	Max string `json:"max"`
	// Distinct counts the values, up to maxDistinct; −1 beyond.
	Distinct int `json:"distinct"`
	// Values are the most frequent ones, at most 30.
	Values []ValueCount `json:"values"`

	lo, hi float64
}

// ValueCount is one value and how many rows hold it.
type ValueCount struct {
	Value string `json:"value"`
	Rows  int64  `json:"rows"`
}

// Coverage says where one canonical column comes from.
type Coverage struct {
	Column   string `json:"column"`
	Required bool   `json:"required"`
	// State is mapped, constant, absent (mapped, but the file lacks it),
	// derived (not mapped, sill can derive it) or unmapped.
	State    string       `json:"state"`
	Source   string       `json:"source"`
	Values   int64        `json:"values"` // rows with a value
	Faults   int64        `json:"faults"` // rows rejected on account of it
	Unmapped []ValueCount `json:"unmapped"`
}

const (
	maxDistinct = 10_000
	maxShown    = 30
)

// tallyOf counts the values of one source column.
type tallyOf struct {
	codes  []int64
	counts map[float64]int64 // integers, numbers and so on, by value
	many   bool
}

// Inspect reads one file through the guard and describes its columns; with a
// profile it also says how much of the dictionary the profile covers and which
// values it leaves unmapped. A profile that does not fit is no error but is
// told under Problems.
func Inspect(ctx context.Context, file File, p *Profile) (*Inspection, error) {
	src, err := open(file)
	if err != nil {
		return nil, err
	}
	defer src.close()
	in := &Inspection{File: file.Name, Bytes: src.size, Rows: src.pf.NumRows(), RowGroups: len(src.pf.RowGroups()),
		Problems: []string{}}
	err = recovered(file, func() error {
		in.CreatedBy = src.pf.Metadata().CreatedBy
		return in.describe(ctx, src)
	})
	if err != nil {
		return nil, err
	}
	return in, in.cover(ctx, src, p)
}

// describe reads every plain column.
func (in *Inspection) describe(ctx context.Context, src *source) error {
	pl, err := newPlan(src, &Profile{})
	if err != nil {
		return err
	}
	var shown []int
	for _, name := range src.names {
		leaf := src.leaves[name]
		info := ColumnInfo{Name: name, Type: leaf.Type().String(), lo: math.Inf(1), hi: math.Inf(-1), Values: []ValueCount{}}
		t, err := typeOf(leaf)
		if err != nil {
			info.Note = err.Error()
		} else {
			info.Class = t.class.String()
			pl.uses = append(pl.uses, use{name: name, typ: t, path: leaf.Path()})
			shown = append(shown, len(in.Columns))
		}
		in.Columns = append(in.Columns, info)
	}
	d, err := newDecoder(pl, true)
	if err != nil {
		return err
	}
	defer d.close()
	tallies := make([]tallyOf, len(pl.uses))
	for g := range pl.groups {
		err := d.readGroup(ctx, g, maxBatch, func() error {
			for i := range d.vecs {
				in.Columns[shown[i]].count(&d.vecs[i], d.n, &tallies[i])
			}
			return nil
		})
		if err != nil {
			return err
		}
	}
	in.PageCRC = d.crc
	for i := range d.vecs {
		in.Columns[shown[i]].finish(&d.vecs[i], &tallies[i])
	}
	return nil
}

// count adds a batch.
func (c *ColumnInfo) count(v *vector, n int, t *tallyOf) {
	if t.counts == nil {
		t.counts = map[float64]int64{}
	}
	for row := range n {
		if v.null[row] {
			c.Nulls++
			continue
		}
		var x float64
		switch v.typ.class {
		case classText:
			k := int(v.code[row])
			for len(t.codes) <= k {
				t.codes = append(t.codes, 0)
			}
			t.codes[k]++
			continue
		case classFloat:
			if x = v.f[row]; x != x {
				c.NaNs++
				continue
			}
		default:
			x = float64(v.i[row])
		}
		c.lo, c.hi = min(c.lo, x), max(c.hi, x)
		if _, ok := t.counts[x]; ok || len(t.counts) < maxDistinct {
			t.counts[x]++
		} else {
			t.many = true
		}
	}
}

// finish renders ranges and the most frequent values.
func (c *ColumnInfo) finish(v *vector, t *tallyOf) {
	render := func(x float64) string {
		one := vector{typ: v.typ, null: []bool{false}, i: []int64{int64(x)}, f: []float64{x}}
		return one.value(0)
	}
	var all []ValueCount
	if v.typ.class == classText {
		byText := map[string]int64{}
		for k, n := range t.codes {
			byText[v.words.list[k]] += n
		}
		for s, n := range byText {
			all = append(all, ValueCount{s, n})
		}
		t.many = len(all) > maxDistinct
	} else {
		for x, n := range t.counts {
			all = append(all, ValueCount{render(x), n})
		}
		if c.lo <= c.hi {
			c.Min, c.Max = render(c.lo), render(c.hi)
		}
	}
	sortCounts(all)
	c.Distinct = len(all)
	if t.many {
		c.Distinct = -1
	}
	c.Values = append(c.Values, all[:min(len(all), maxShown)]...)
}

func sortCounts(v []ValueCount) {
	slices.SortFunc(v, func(a, b ValueCount) int {
		return cmp.Or(cmp.Compare(b.Rows, a.Rows), strings.Compare(a.Value, b.Value))
	})
}

// cover holds the profile against the file.
func (in *Inspection) cover(ctx context.Context, src *source, p *Profile) error {
	in.Coverage = make([]Coverage, len(pitch.Dictionary))
	for i, c := range pitch.Dictionary {
		in.Coverage[i] = Coverage{Column: c.Name, Required: c.Required, State: "unmapped", Unmapped: []ValueCount{}}
		if c.Derived != "" {
			in.Coverage[i].State = "derived"
		}
	}
	if p == nil {
		return nil
	}
	if err := p.Validate(); err != nil {
		in.problems(err)
		return nil
	}
	var pl *plan
	err := recovered(src.file, func() (err error) {
		pl, err = newPlan(src, p)
		return err
	})
	if pl == nil {
		return err
	}
	for i := range pl.fields {
		f := &pl.fields[i]
		c := &in.Coverage[f.place]
		switch {
		case f.use < 0:
			c.State, c.Source = "absent", strings.Join(p.Columns[f.col.Name].sources(), ", ")
		case pl.uses[f.use].path == nil:
			c.State, c.Source = "constant", pl.uses[f.use].name
		default:
			c.State, c.Source = "mapped", pl.uses[f.use].name
		}
	}
	if err != nil {
		in.problems(err)
		return nil
	}
	d, err := newDecoder(pl, false)
	if err != nil {
		return err
	}
	defer d.close()
	for g := range pl.groups {
		err := d.readGroup(ctx, g, maxBatch, func() error {
			for _, s := range d.mapped {
				in.Coverage[s.place].Values += d.values(s)
			}
			for row, check := range d.fault {
				if check != 0 && d.filtered[row] == 0 {
					in.Coverage[d.faultPlace[row]].Faults++
				}
			}
			return nil
		})
		if err != nil {
			return err
		}
	}
	for k, n := range d.unknown {
		c := &in.Coverage[k.place]
		c.Unmapped = append(c.Unmapped, ValueCount{k.value, n})
	}
	for i := range in.Coverage {
		sortCounts(in.Coverage[i].Unmapped)
	}
	return nil
}

// problems lists the parts of a joined error.
func (in *Inspection) problems(err error) {
	if joined, ok := err.(interface{ Unwrap() []error }); ok {
		for _, e := range joined.Unwrap() {
			in.problems(e)
		}
		return
	}
	in.Problems = append(in.Problems, err.Error())
}
