package ingest

import (
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"slices"
	"strings"
	"time"

	"github.com/parquet-go/parquet-go"

	"sill/pipeline/pitch"
)

// plan is a profile resolved against one file. It is read-only once made, and
// shared by the workers.
type plan struct {
	file    File
	size    int64
	modTime time.Time
	rows    int64
	groups  []int64 // rows of each row group
	schema  string  // fingerprint
	uses    []use
	fields  []field // in the dictionary's order
	filters []filter
	banned  map[string]bool // pitchers left out
	types   map[string]bool // kinds of game used, nil for all
	// ban drops rows of position players, benched those of pitchers who bat;
	// opposite resolves switch hitters.
	ban, benched, opposite bool
}

// use is one source column to read, or a constant in its place.
type use struct {
	name     string
	typ      leafType
	path     []string // of the leaf, nil for a constant
	constant any
}

// field maps one canonical column to a use.
type field struct {
	col     pitch.Column
	place   int      // of col in the dictionary
	terms   []string // of a category, each with its code, from 1
	use     int      // index into plan.uses, −1 where the file has nothing
	values  *lookup
	targets []reading
	missing *lookup
	mul     float64
	div     float64
	sign    float64
	byHand  bool
	layout  string
	zone    *time.Location
	hint    string // the nearest name, where the file has none of the names
	listed  bool   // the profile lists values: others are errors in a category
}

type filter struct {
	use  int
	list *lookup
	in   bool
}

// newPlan resolves the profile against an open file. All faults are joined.
func newPlan(s *source, p *Profile) (*plan, error) {
	info, err := s.f.Stat()
	if err != nil {
		return nil, s.file.fail(-1, "", "", err, "cannot be read")
	}
	pl := &plan{file: s.file, size: s.size, modTime: info.ModTime(), rows: s.pf.NumRows(), schema: s.fingerprint(),
		ban: p.ExcludePitchers.PositionPlayers, benched: p.PitchersBat == leftOut, opposite: p.SwitchSide == "opposite_hand"}
	for _, g := range s.pf.Metadata().RowGroups {
		pl.groups = append(pl.groups, g.NumRows)
	}
	var errs []error
	for place, col := range pitch.Dictionary {
		spec, mapped := p.Columns[col.Name]
		if !mapped {
			continue
		}
		f, err := pl.field(s, place, spec, p.words(col.Name))
		if err != nil {
			errs = append(errs, err)
			continue
		}
		pl.fields = append(pl.fields, f)
	}
	for _, w := range p.Where {
		u, t, err := pl.use(s, []string{w.Column}, nil)
		if err == nil && u < 0 {
			err = s.file.fail(-1, w.Column, s.nearest(w.Column, "correct the filter's column"), nil, "a where filter needs this column, and the file has none")
		}
		if err != nil {
			errs = append(errs, err)
			continue
		}
		list, err := newLookup(append(slices.Clone(w.In), w.NotIn...), t)
		if err != nil {
			errs = append(errs, s.file.fail(-1, w.Column, "correct the where filter", err, "a filter value does not fit"))
			continue
		}
		pl.filters = append(pl.filters, filter{use: u, list: list, in: len(w.In) > 0})
	}
	if len(p.ExcludePitchers.IDs) > 0 {
		pl.banned = map[string]bool{}
		for _, v := range p.ExcludePitchers.IDs {
			id, quoted, err := idText(v)
			if f := pl.find("pitcher"); err == nil && !quoted && f != nil && f.use >= 0 && pl.uses[f.use].typ.class == classText {
				err = fmt.Errorf("pitchers are text here and %v is not quoted: quote it, \"%v\"", v, v)
			}
			if err != nil {
				errs = append(errs, s.file.fail(-1, "pitcher", "correct exclude_pitchers.ids", err, "an excluded pitcher does not fit"))
			}
			pl.banned[id] = true
		}
	}
	if f := pl.find("game_type"); f != nil && f.use >= 0 && !slices.Contains(p.GameTypes, "*") {
		pl.types = map[string]bool{"regular": len(p.GameTypes) == 0}
		for _, t := range p.GameTypes {
			pl.types[canonicalText(t)] = true
		}
	}
	return pl, errors.Join(errs...)
}

func (pl *plan) find(name string) *field {
	for i := range pl.fields {
		if pl.fields[i].col.Name == name {
			return &pl.fields[i]
		}
	}
	return nil
}

// field resolves one canonical column.
func (pl *plan) field(s *source, place int, spec Column, words []string) (field, error) {
	col := pitch.Dictionary[place]
	f := field{col: col, place: place, terms: words, use: -1}
	names := spec.sources()
	u, t, err := pl.use(s, names, spec.Constant)
	if err != nil {
		return f, err
	}
	if f.use = u; u < 0 {
		if col.Required {
			return f, s.file.fail(-1, strings.Join(names, ", "), s.nearest(names[0], "map another column, or give a constant"), nil,
				"the file has no such column, and %s is required", col.Name)
		}
		f.hint = s.nearest(names[0], "")
		return f, nil
	}
	label := pl.uses[u].name
	if fix := accepts(col, t, spec, words); fix != "" {
		return f, s.file.fail(-1, label, fix, nil, "is of type %s, which %s cannot be read from", t.class, col.Name)
	}
	from := make([]any, len(spec.Values))
	for i, v := range spec.Values {
		from[i] = v.From
		to, err := targetOf(col, words, v.To)
		if err != nil {
			return f, s.file.fail(-1, label, "correct values", err, "columns.%s", col.Name)
		}
		f.targets = append(f.targets, to)
	}
	if f.values, err = newLookup(from, t); err == nil {
		f.missing, err = newLookup(spec.Missing, t)
	}
	if err != nil {
		return f, s.file.fail(-1, label, "correct values or missing of columns."+col.Name, err, "a mapped value does not fit")
	}
	f.listed = len(spec.Values) > 0
	unit := unitOf(col.Dimension, spec.Unit)
	f.mul, f.div = unit.mul, unit.div
	f.sign, f.byHand = lateralSign(col.Lateral, spec.Positive)
	if f.layout, err = layoutOf(spec.Format); err != nil {
		return f, s.file.fail(-1, label, "correct format", err, "columns.%s", col.Name)
	}
	if f.zone, err = time.LoadLocation(spec.Zone); err != nil {
		return f, s.file.fail(-1, label, "correct zone", err, "columns.%s", col.Name)
	}
	return f, nil
}

// accepts returns "" if a column of the dictionary can be read from a source
// type, else what to do.
func accepts(col pitch.Column, t leafType, spec Column, words []string) string {
	switch col.Kind {
	case pitch.Real, pitch.Whole:
		if t.class == classBool || t.class == classDate || t.class == classTime {
			return "map a number column"
		}
	case pitch.Text:
		if t.class == classDate || t.class == classTime || t.class == classBool && len(spec.Values) == 0 {
			return "map a column of text or whole numbers"
		}
	case pitch.Category:
		if t.class == classDate || t.class == classTime {
			return "map a column of words or codes"
		}
		if t.class != classText && len(spec.Values) == 0 {
			return "list values: from the codes to " + strings.Join(words, ", ")
		}
	case pitch.YesNo:
		if t.class == classDate || t.class == classTime {
			return "map a boolean, or list values"
		}
	case pitch.Day:
		if t.class == classBool || t.class == classFloat && !t.decimal {
			return "map a date, a timestamp or text"
		}
		if t.class != classText && t.class != classDate && t.class != classTime && spec.Format == "" {
			return "say how the number writes a date: format: yearmonthday"
		}
	}
	return ""
}

// use finds or adds the source column of the first name that the file has, else
// the constant; −1 if there is neither.
func (pl *plan) use(s *source, names []string, constant any) (int, leafType, error) {
	add := func(u use) int {
		if u.path != nil {
			for i := range pl.uses {
				if pl.uses[i].path != nil && pl.uses[i].name == u.name {
					return i
				}
			}
		}
		pl.uses = append(pl.uses, u)
		return len(pl.uses) - 1
	}
	for _, name := range names {
		if leaf, ok := s.leaves[name]; ok {
			t, err := typeOf(leaf)
			if err != nil {
				return -1, t, s.file.fail(-1, name, "map another column", nil, "%v", err)
			}
			return add(use{name: name, typ: t, path: leaf.Path()}), t, nil
		}
		if v, ok := s.file.Hive[name]; ok {
			t := leafType{class: classText}
			return add(use{name: name, typ: t, constant: v}), t, nil
		}
	}
	if constant == nil {
		return -1, leafType{}, nil
	}
	t := leafType{class: classText}
	switch x := constant.(type) {
	case bool:
		t.class = classBool
	case string:
	default:
		t.class = classFloat
		if f, _ := asFloat(x); f == float64(int64(f)) {
			t.class = classInt
		}
	}
	return add(use{name: "constant", typ: t, constant: constant}), t, nil
}

// fill makes v hold the constant in n rows.
func (u *use) fill(v *vector, n int) {
	v.resize(n)
	clear(v.null)
	switch x := u.constant.(type) {
	case string:
		c := v.words.code([]byte(x))
		for i := range v.code {
			v.code[i] = c
		}
	case bool:
		for i := range v.i {
			v.i[i] = int64(btoi(x))
		}
	default:
		f, _ := asFloat(x)
		for i := range n {
			if u.typ.class == classInt {
				v.i[i] = int64(f)
			} else {
				v.f[i] = f
			}
		}
	}
}

// absent returns an error for every mapped column that no file has: a misspelt
// optional column must not go missing in silence.
func absent(plans []*plan, p *Profile) error {
	var errs []error
	for i, f := range plans[0].fields {
		if slices.ContainsFunc(plans, func(pl *plan) bool { return pl.fields[i].use >= 0 }) {
			continue
		}
		fix := "correct the name or remove the mapping"
		if f.hint != "" {
			fix = f.hint
		}
		errs = append(errs, plans[0].file.fail(-1, strings.Join(p.Columns[f.col.Name].sources(), ", "), fix, nil,
			"no file has this column, which columns.%s names", f.col.Name))
	}
	return errors.Join(errs...)
}

// nearest is the fix of a missing column: the closest name that the file has.
func (s *source) nearest(name, otherwise string) string {
	if near := pitch.Nearest(name, s.names); near != "" {
		return fmt.Sprintf("did you mean %q?", near)
	}
	return otherwise
}

// fingerprint is a hash of the leaf columns' names and types.
func (s *source) fingerprint() string {
	h := sha256.New()
	for _, n := range s.names {
		fmt.Fprintf(h, "%s\x00%s\x00%d\n", n, s.leaves[n].Type(), s.leaves[n].MaxDefinitionLevel())
	}
	return hex.EncodeToString(h.Sum(nil))[:32]
}

// leaf returns the column of a use in an open file of the plan.
func (s *source) leaf(u *use) (*parquet.Column, error) {
	if leaf, ok := s.leaves[u.name]; ok {
		return leaf, nil
	}
	return nil, s.file.fail(-1, u.name, "do not change inputs during a run", nil, "the column is gone")
}
