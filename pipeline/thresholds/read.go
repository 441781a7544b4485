package thresholds

import (
	"encoding/json"
	"errors"
	"fmt"
	"iter"
	"slices"
	"sync"
)

// Resource is one published table and its columns.
type Resource struct {
	Name    string   `json:"name"`
	Columns []Column `json:"columns"`
	Since   string   `json:"since,omitempty"` // schema version that added it, "" for the first
}

// Resources describes every table of a version.
func Resources() []Resource {
	var out []Resource
	for _, r := range resources() {
		out = append(out, r.Resource)
	}
	return out
}

// resource is a Resource and what is done with its rows.
type resource struct {
	Resource
	load  func(t *Table, to *Tables) error
	round func(t *Tables)
}

// resources lists every table of a version; a further one is one line.
func resources() []resource {
	return []resource{
		of("thresholds", "", func(t *Tables) *[]Threshold { return &t.Thresholds }),
		of("verdicts", "", func(t *Tables) *[]Verdict { return &t.Verdicts }),
		of("zones", "", func(t *Tables) *[]Zone { return &t.Zones }),
		of("curves", "", func(t *Tables) *[]CurvePoint { return &t.Curves }),
		of("bins", "", func(t *Tables) *[]Bin { return &t.Bins }),
		of("contrasts", "", func(t *Tables) *[]Contrast { return &t.Contrasts }),
		of("stretches", stretchesSince, func(*Tables) *[]Stretch { return new([]Stretch) }), // in the zones
		of("references", "", func(t *Tables) *[]Reference { return &t.References }),
		of("slopes", "1.2", func(t *Tables) *[]Slope { return &t.Slopes }),
		of("opponents", "1.2", func(t *Tables) *[]Opponent { return &t.Opponents }),
	}
}

// stretchesSince is the schema version that added the stretches. An older version
// told one a zone.
const stretchesSince = "1.3"

func of[T any](name, since string, rows func(*Tables) *[]T) resource {
	return resource{
		Resource: Resource{Name: name, Columns: Columns[T](), Since: reached(since, name)},
		load: func(t *Table, to *Tables) (err error) {
			*rows(to), err = rowsOf[T](t, name)
			return err
		},
		round: func(t *Tables) { roundRows(*rows(t)) },
	}
}

// Thresholds walks the headline view.
func (t *Table) Thresholds() iter.Seq2[Threshold, error] { return each[Threshold](t, "thresholds") }

// Verdicts walks the verdicts.
func (t *Table) Verdicts() iter.Seq2[Verdict, error] { return each[Verdict](t, "verdicts") }

// Zones walks the zones.
func (t *Table) Zones() iter.Seq2[Zone, error] { return each[Zone](t, "zones") }

// Stretches walks the certain stretches, those of Zone.Certain. A version before
// schema 1.3 told one a zone.
func (t *Table) Stretches() iter.Seq2[Stretch, error] {
	return func(yield func(Stretch, error) bool) {
		zones, err := rowsOf[Zone](t, "zones")
		if err != nil {
			yield(Stretch{}, err)
			return
		}
		for _, s := range Stretches(zones) {
			if !yield(s, nil) {
				return
			}
		}
	}
}

// Stretches makes the rows of the stretches resource.
func Stretches(zones []Zone) []Stretch {
	var out []Stretch
	for _, z := range zones {
		for _, s := range z.Certain {
			out = append(out, Stretch{Key: z.Key, Reference: z.Reference, Zone: z.Zone, Sign: z.Sign, Lo: s.Lo, Hi: s.Hi})
		}
	}
	return out
}

// Curves walks the points of all curves.
func (t *Table) Curves() iter.Seq2[CurvePoint, error] { return each[CurvePoint](t, "curves") }

// Bins walks the bins.
func (t *Table) Bins() iter.Seq2[Bin, error] { return each[Bin](t, "bins") }

// Contrasts walks the contrasts.
func (t *Table) Contrasts() iter.Seq2[Contrast, error] { return each[Contrast](t, "contrasts") }

// References walks the lines.
func (t *Table) References() iter.Seq2[Reference, error] { return each[Reference](t, "references") }

// Slopes walks the slopes inside and between pitchers; a version before schema 1.2
// has none.
func (t *Table) Slopes() iter.Seq2[Slope, error] { return each[Slope](t, "slopes") }

// Opponents walks who was facing the pitchers of each cell; a version before schema
// 1.2 has none.
func (t *Table) Opponents() iter.Seq2[Opponent, error] { return each[Opponent](t, "opponents") }

// Load reads all resources. The slices are shared and must not be changed.
func (t *Table) Load() (*Tables, error) {
	var out Tables
	var errs []error
	for _, r := range resources() {
		errs = append(errs, r.load(t, &out))
	}
	if err := errors.Join(errs...); err != nil {
		return nil, err
	}
	return &out, nil
}

// read is what one resource's JSON file holds, read on first use.
type read struct {
	once sync.Once
	rows any
	err  error
}

// rowsOf returns the rows of a resource: zones with their certain stretches.
func rowsOf[T any](t *Table, name string) ([]T, error) {
	r := t.read[name]
	r.once.Do(func() {
		var rows []T
		if rows, r.err = readRows[T](t, name); r.err != nil {
			return
		}
		if zones, ok := any(rows).([]Zone); ok {
			r.err = t.addStretches(zones)
		}
		r.rows = rows
	})
	rows, _ := r.rows.([]T)
	return rows, r.err
}

// each walks the rows of a resource, which are read when the walk begins.
func each[T any](t *Table, name string) iter.Seq2[T, error] {
	return func(yield func(T, error) bool) {
		rows, err := rowsOf[T](t, name)
		if err != nil {
			var zero T
			yield(zero, err)
			return
		}
		for i := range rows {
			if !yield(rows[i], nil) {
				return
			}
		}
	}
}

// readRows reads the file of a resource; a version older than the resource has no
// rows of it.
func readRows[T any](t *Table, name string) ([]T, error) {
	all := resources()
	want := all[slices.IndexFunc(all, func(r resource) bool { return r.Name == name })]
	if before(t.manifest.SchemaVersion, want.Since) {
		return nil, nil
	}
	file := name + ".json"
	raw, err := t.Bytes(file)
	if err != nil {
		return nil, err
	}
	var doc struct {
		SchemaVersion string   `json:"schema_version"`
		Resource      string   `json:"resource"`
		Columns       []Column `json:"columns"`
		Rows          []T      `json:"rows"`
	}
	if err := json.Unmarshal(raw, &doc); err != nil {
		return nil, t.fault(file, err.Error())
	}
	if err := checkSchema(t.path(file), doc.SchemaVersion); err != nil {
		return nil, err
	}
	if doc.Resource != name {
		return nil, t.fault(file, fmt.Sprintf("holds resource %q", doc.Resource))
	}
	return doc.Rows, checkColumns(t.path(file), doc.SchemaVersion, doc.Columns, want.Columns)
}

// checkColumns refuses a file in which a column this reader relies on is
// missing or changed its type or unit. Further columns are a newer minor's, and
// one that came after the file's own schema version may be missing.
func checkColumns(file, version string, have, want []Column) error {
	for _, w := range want {
		i := slices.IndexFunc(have, func(h Column) bool { return h.Name == w.Name })
		if i < 0 && before(version, w.Since) {
			continue
		}
		if i < 0 {
			return &FileError{file, "has no column " + w.Name}
		}
		if h := have[i]; h.Type != w.Type || h.Unit != w.Unit {
			return &FileError{file, fmt.Sprintf("column %s is %s [%s], want %s [%s]", w.Name, h.Type, h.Unit, w.Type, w.Unit)}
		}
	}
	return nil
}

// addStretches gives each zone its certain stretches.
func (t *Table) addStretches(zones []Zone) error {
	stretches, err := readRows[Stretch](t, "stretches")
	if err != nil {
		return err
	}
	type zoneKey struct {
		curveKey
		zone int64
	}
	at := make(map[zoneKey]*Zone, len(zones))
	for i := range zones {
		z := &zones[i]
		z.Certain = nil // of the stretches alone
		at[zoneKey{curveKey{z.Key, z.Reference}, z.Zone}] = z
		if before(t.manifest.SchemaVersion, stretchesSince) && z.CertainLo != nil && z.CertainHi != nil {
			z.Certain = []Span{{*z.CertainLo, *z.CertainHi}}
		}
	}
	for _, s := range stretches {
		if z := at[zoneKey{curveKey{s.Key, s.Reference}, s.Zone}]; z != nil {
			z.Certain = append(z.Certain, Span{s.Lo, s.Hi})
		}
	}
	return nil
}
