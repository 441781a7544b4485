// Package compare says how two published versions differ: which breakpoints and
// lines moved and by how much, what appeared or vanished, which verdicts are
// others now.
//
// Whether a breakpoint moved is read off the interval of the difference, never
// off the overlap of two intervals, which overlap even where the difference is
// plain (Schenker & Gentleman 2001, The American Statistician 55:182). Versions
// with pitchers in common are drawn again from their hand-over files, jointly,
// since the same pitchers err in the same direction.
//
// It reads rows and counts. It locates nothing anew and writes no files.
package compare

import (
	"cmp"
	"context"
	"fmt"
	"slices"
	"strings"

	"sill/pipeline/analysis/answer"
	"sill/pipeline/tally"
	"sill/pipeline/thresholds"
	"sill/stats"
)

// Side is one of two versions. Of the manifest it reads the name, the number,
// algorithm, seed, replicates, configuration, variables and inputs; of the tables
// the verdicts, zones and references.
type Side struct {
	Manifest thresholds.Manifest
	Tables   *thresholds.Tables
	Tally    *tally.Tally // the hand-over, nil where it is not kept
	Lost     string       // why it cannot be used though it is kept: "cannot be read here"
}

// Options say how versions are compared.
type Options struct {
	Discovery  float64 // share of false discoveries tolerated among what moved
	Replicates int     // joint draws at most, behind every correlation
}

// DefaultOptions returns a false discovery rate of 10 % and 500 joint draws,
// which tell a correlation to .04.
func DefaultOptions() Options { return Options{Discovery: answer.Discovery, Replicates: 500} }

// Bases of a comparison: what the error of a difference was taken from.
const (
	BasisNone        = "none"        // there is no earlier version
	BasisSameData    = "same_data"   // nothing can have moved
	BasisJoint       = "joint"       // pitchers in both, drawn jointly from both hand-overs
	BasisIndependent = "independent" // no pitcher in both
	BasisAssumed     = "assumed_independent"
	BasisUnknown     = "unknown" // inputs in common and a hand-over missing: no verdict
)

// Version names one of the two.
type Version struct {
	League    string `json:"league"`
	Version   string `json:"version"` // empty for the one that holds the comparison
	Pitchers  int    `json:"pitchers,omitempty"`
	ContentID string `json:"content_id,omitempty"`
}

// Setting is a setting that differs; a value that one side lacks is nil.
type Setting struct {
	Key  string `json:"key"`
	From any    `json:"from"`
	To   any    `json:"to"`
}

// Diff is what differs between two versions.
type Diff struct {
	From, To       Version
	Basis          string
	SharedPitchers int       // keys in both hand-overs
	Settings       []Setting // that are part of a version's identity and differ
	Notes          []string  // sentences that a reader must know
	Rows           []Row     // thresholds, verdicts, lines; each in the dictionary's order

	units map[string]thresholds.Variable
}

// First is the comparison of a version that has no earlier one; the notes say
// why, where it is not the first.
func First(to Side, notes ...string) *Diff {
	return &Diff{To: version(to), Basis: BasisNone, Notes: notes, Rows: []Row{}}
}

func version(s Side) Version {
	v := Version{League: s.Manifest.Name, Version: s.Manifest.Version, ContentID: s.Manifest.ContentID}
	if s.Tally != nil {
		v.Pitchers = len(s.Tally.Pitchers)
	}
	return v
}

// Compare says what differs in to from from.
func Compare(ctx context.Context, from, to Side, o Options) (*Diff, error) {
	for _, s := range []*Side{&from, &to} {
		if _, err := EstimateOptions(s.Manifest); s.Tally != nil && err != nil {
			s.Tally, s.Lost = nil, "cannot be used ("+err.Error()+")"
		}
	}
	d := &Diff{From: version(from), To: version(to), Rows: []Row{}, units: map[string]thresholds.Variable{}}
	for _, s := range []Side{from, to} {
		for _, v := range s.Manifest.Variables {
			d.units[v.Name] = v
		}
	}
	d.Settings = settingsBetween(from.Manifest, to.Manifest)
	d.base(from, to)
	pairs := d.edges(from, to)
	lines := d.lines(from, to)
	if d.Basis == BasisJoint {
		if err := correlate(ctx, from, to, pairs, lines, o); err != nil {
			return nil, fmt.Errorf("compare: %w", err)
		}
	}
	d.judge(pairs, o)
	d.judge(lines, o)
	for _, p := range pairs {
		d.Rows = append(d.Rows, p.Row)
	}
	d.Rows = append(d.Rows, verdicts(from, to)...)
	for _, l := range lines {
		d.Rows = append(d.Rows, l.Row)
	}
	return d, nil
}

// base settles what the error of a difference is taken from.
func (d *Diff) base(from, to Side) {
	a, b := hashes(from.Manifest), hashes(to.Manifest)
	shared := slices.ContainsFunc(a, func(h string) bool { return slices.Contains(b, h) })
	var missing []string
	if from.Tally == nil {
		missing = append(missing, "The hand-over file of the earlier version "+cmp.Or(from.Lost, "is not kept")+".")
	}
	if to.Tally == nil {
		missing = append(missing, "The hand-over file of the later version "+cmp.Or(to.Lost, "is not kept")+".")
	}
	note := func(text string) { d.Notes = append(d.Notes, strings.Join(append(missing, text), " ")) }
	switch {
	case slices.Equal(a, b):
		d.Basis = BasisSameData
	case len(missing) == 0:
		for _, k := range from.Tally.Pitchers {
			if _, ok := slices.BinarySearch(to.Tally.Pitchers, k); ok {
				d.SharedPitchers++
			}
		}
		d.Basis = BasisIndependent
		if d.SharedPitchers > 0 {
			d.Basis = BasisJoint
		}
	case shared:
		d.Basis = BasisUnknown
		note("Both versions count some of the same pitches: how far their errors go together cannot be told, so nothing is said to have moved.")
	default:
		d.Basis = BasisAssumed
		note("The versions are taken as independent. Where the same pitchers threw in both, the interval of a difference is then usually too wide.")
	}
	if d.Basis != BasisSameData && len(d.Settings) > 0 {
		d.Notes = append(d.Notes, "Settings differ too, so a difference may be theirs: "+keys(d.Settings)+".")
	}
	if from.Manifest.Algorithm != to.Manifest.Algorithm {
		d.Notes = append(d.Notes, fmt.Sprintf("The estimators are of another version (%s, then %s), so a difference may be theirs.", from.Manifest.Algorithm, to.Manifest.Algorithm))
	}
}

// hashes lists the inputs of a version by content, sorted.
func hashes(m thresholds.Manifest) []string {
	var out []string
	for _, in := range m.Inputs {
		out = append(out, in.SHA256)
	}
	slices.Sort(out)
	return out
}

// judge gives pairs their differences, and those that can be tested their
// verdict. The pairs against one line are a family: those against the other line
// are nearly the same breakpoints, and would count twice, and so would those of both
// outcomes at once, which are a family of their own.
func (d *Diff) judge(pairs []*pair, o Options) {
	type family struct {
		reference string
		joint     bool
	}
	families := map[family][]*pair{}
	for _, p := range pairs {
		if p.Change == "" && d.measure(p) { // else appeared, vanished, or not comparable
			of := family{p.Reference, p.Outcome == thresholds.Joint}
			families[of] = append(families[of], p)
		}
	}
	for _, family := range families {
		ps := make([]float64, len(family))
		for i, p := range family {
			ps[i] = *p.P
		}
		for i, q := range stats.BenjaminiHochberg(ps) {
			p := family[i]
			p.Q, p.Together = answer.Null(q), int64(len(family))
			switch {
			case q <= o.Discovery && p.apart:
				p.Change = Moved
			case p.DifferenceLo != nil && p.DifferenceHi != nil:
				p.Change = WithinError
			default:
				p.Change, p.Note = CannotTell, noteOpen
			}
		}
	}
}

// measure gives a pair its difference; false where it cannot be tested.
func (d *Diff) measure(p *pair) bool {
	diff := stats.Mover(p.to, p.from, p.rho)
	p.Difference = answer.Null(diff.Estimate)
	switch d.Basis {
	case BasisSameData:
		p.Change = ReEstimated
		return false
	case BasisUnknown:
		p.Change, p.Note = CannotTell, "inputs in common and no hand-over"
		return false
	}
	p.DifferenceLo, p.DifferenceHi, p.Rho = answer.Null(diff.Lo), answer.Null(diff.Hi), answer.Null(p.rho)
	p.P, p.apart = answer.Null(diff.P(p.df)), diff.Lo > 0 || diff.Hi < 0
	if p.P == nil { // the limit on the side of 0 is open
		p.Change, p.Note = CannotTell, noteOpen
	}
	return p.P != nil
}

const noteOpen = "a limit is open"
