package compare

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"sill/pipeline/analysis/answer"
	"sill/pipeline/render/words"
	"sill/pipeline/thresholds"
)

// Section is a table for people, with what it means.
type Section struct {
	Title, Meaning string
	Head           []string
	Rows           [][]string
	Detail         bool // for those who ask for every row
}

// leagues tells whether two leagues are compared, not two states of one.
func (d *Diff) leagues() bool { return d.From.League != d.To.League }

// rows are those of a kind against a line.
func (d *Diff) rows(kind, reference string) []Row {
	return slices.DeleteFunc(slices.Clone(d.Rows), func(r Row) bool { return r.Kind != kind || r.Reference != reference })
}

// tallyOf counts the rows of a kind against a line by change. Those of both outcomes
// at once follow from the others and are not counted.
func (d *Diff) tallyOf(kind, reference string) map[string]int {
	n := map[string]int{}
	for _, r := range d.rows(kind, reference) {
		if r.Outcome != thresholds.Joint {
			n[r.Change]++
		}
	}
	return n
}

// AnyMoved tells whether a breakpoint or the line itself moved beyond its error.
func (d *Diff) AnyMoved(reference string) bool {
	return d.tallyOf(KindThreshold, reference)[Moved]+d.tallyOf(KindLine, reference)[Moved] > 0
}

// Summary says the whole in a sentence or two.
func (d *Diff) Summary(reference string) string {
	t, l := d.tallyOf(KindThreshold, reference), d.tallyOf(KindLine, reference)
	v := d.tallyOf(KindVerdict, reference)
	verdicts := v[VerdictChanged] + v[Appeared] + v[Vanished]
	switch d.Basis {
	case BasisNone:
		if len(d.Notes) > 0 {
			return "There is no earlier version to compare with."
		}
		return "This is the first version: there is no earlier one to compare with."
	case BasisSameData:
		if len(d.Rows) == 0 && len(d.Settings) == 0 {
			return "Same data, same settings, same rows: nothing changed."
		}
		how := "estimated again"
		if len(d.Settings) > 0 {
			how = "other settings (" + keys(d.Settings) + ")"
		}
		elsewhere := answer.Count(d.rows(KindThreshold, reference), func(r *Row) bool {
			return r.Outcome != thresholds.Joint && r.elsewhere()
		})
		return fmt.Sprintf("Same data, %s: %s re-estimated, %d of them to another value, the others in their limits only; %d appeared, %d vanished, %s changed. Nothing can have moved.",
			how, count(t[ReEstimated], "breakpoint"), elsewhere, t[Appeared], t[Vanished], count(verdicts, "verdict"))
	}
	both := t[Moved] + t[WithinError] + t[CannotTell]
	var s string
	if both == 0 {
		s = "No breakpoint stands in both"
	} else {
		s = fmt.Sprintf("Of %s in both, %d %s beyond error, %d stayed within it", count(both, "breakpoint"), t[Moved], d.moved(), t[WithinError])
		if d.leagues() {
			s = fmt.Sprintf("Of %s in both, %d %s beyond error, %d agree within it", count(both, "breakpoint"), t[Moved], d.moved(), t[WithinError])
		}
		if t[CannotTell] > 0 {
			s += fmt.Sprintf(", %d cannot be told", t[CannotTell])
		}
	}
	if d.leagues() {
		s += fmt.Sprintf("; %d stand in %s only, %d in %s only", t[Vanished], d.From.League, t[Appeared], d.To.League)
	} else {
		s += fmt.Sprintf("; %d appeared, %d vanished", t[Appeared], t[Vanished])
	}
	s += fmt.Sprintf("; %s changed", count(verdicts, "verdict"))
	if d.leagues() {
		s = strings.TrimSuffix(s, " changed") + " differ"
	}
	lines := l[Moved] + l[WithinError] + l[CannotTell]
	return s + fmt.Sprintf("; %d of %s %s.", l[Moved], count(lines, "line"), d.moved())
}

// elsewhere tells whether a breakpoint was re-estimated to another value.
func (r *Row) elsewhere() bool { return r.Change == ReEstimated && answer.Or(r.Difference, 0) != 0 }

func (d *Diff) moved() string {
	if d.leagues() {
		return "differ"
	}
	return "moved"
}

// How says what the intervals of the differences rest on.
func (d *Diff) How() string {
	switch d.Basis {
	case BasisJoint:
		if d.leagues() {
			return fmt.Sprintf("Of the ids of %d and %d pitchers %d are the same: they were drawn together. Should they name other people in the other league, it changes little.",
				d.From.Pitchers, d.To.Pitchers, d.SharedPitchers)
		}
		return fmt.Sprintf("Of %d and %d pitchers %d are the same: they were drawn together, so that what is theirs in both versions cancels.",
			d.From.Pitchers, d.To.Pitchers, d.SharedPitchers)
	case BasisIndependent:
		return "No pitcher threw in both: the versions are independent."
	}
	return ""
}

// Sections lays the comparison against one line out for people, what matters
// most first.
func (d *Diff) Sections(reference string) []Section {
	appeared, vanished := "Appeared", "Vanished"
	held := "Within error"
	if d.leagues() {
		appeared, vanished = "In "+d.To.League+" only", "In "+d.From.League+" only"
	}
	breakpoints := d.rows(KindThreshold, reference)
	untested := "Confirmed in one of the two only. That alone shows no difference: the other may have missed it."
	var out, details []Section
	add := func(s Section) {
		switch {
		case len(s.Rows) == 0:
		case s.Detail:
			details = append(details, s)
		default:
			out = append(out, s)
		}
	}
	for _, c := range []struct {
		change, title, meaning string
		detail                 bool
	}{
		{Moved, strings.ToUpper(d.moved()[:1]) + d.moved()[1:], "The 95 % interval of the difference excludes 0, and q, which allows for all that are compared, is at most .100: up to one in ten such rows is expected to be chance.", false},
		{ReEstimated, "Re-estimated", "The same pitches, estimated otherwise: the league did not move. Those whose limits alone changed are left out.", false},
		{Appeared, appeared, untested, false},
		{Vanished, vanished, untested, false},
		{WithinError, held, "No move is shown, which does not prove that there was none: the interval of the difference holds 0, or q says that it may leave it out by chance.", true},
		{CannotTell, "Cannot tell", "A limit is open (?), or the two cannot be compared.", true},
	} {
		for _, o := range words.BothAndEach() {
			s := Section{Title: c.title + " · " + o.Title, Meaning: c.meaning, Detail: c.detail,
				Head: []string{"", "", "before", "after", "change (95 %)"}}
			if c.change == Appeared || c.change == Vanished {
				s.Head = []string{"", "", "before", "after"}
			}
			for _, r := range breakpoints {
				if r.Change == c.change && r.Outcome == o.Name && (r.Change != ReEstimated || r.elsewhere()) {
					s.Rows = append(s.Rows, d.thresholdCells(r))
				}
			}
			add(s)
		}
	}
	add(d.lineSection(reference, Moved))
	add(d.verdictSection(reference))
	add(d.lineSection(reference, WithinError))
	out = append(out, details...)
	said := ""
	for i := range out {
		if out[i].Meaning == said { // once is enough
			out[i].Meaning = ""
		} else {
			said = out[i].Meaning
		}
		d.name(out[i].Head)
	}
	return out
}

// name puts the names of two leagues into the heads of columns.
func (d *Diff) name(head []string) {
	if d.leagues() {
		for k, h := range head {
			head[k] = strings.NewReplacer("before", d.From.League, "after", d.To.League, "change", "difference").Replace(h)
		}
	}
}

// Only returns the comparison with only some of its rows.
func (d *Diff) Only(keep func(Row) bool) *Diff {
	part := *d
	part.Rows = slices.DeleteFunc(slices.Clone(d.Rows), func(r Row) bool { return !keep(r) })
	return &part
}

// thresholdCells makes the cells of one breakpoint.
func (d *Diff) thresholdCells(r Row) []string {
	digits := decimals(d.units[r.Variable])
	cells := []string{cellTitle(r.Key), d.quality(r.Variable)}
	if r.Change == Appeared || r.Change == Vanished {
		before, after := r.within(r.From, r.FromLo, r.FromHi, digits), r.within(r.To, r.ToLo, r.ToHi, digits)
		return append(cells, cmp.Or(before, d.instead(r.FromVerdict)), cmp.Or(after, d.instead(r.ToVerdict)))
	}
	text := change(r, digits)
	if r.Note != "" && r.Note != noteOpen {
		text = strings.TrimSpace(text + " " + r.Note)
	}
	return append(cells, r.value(r.From, digits), r.value(r.To, digits), text)
}

// instead says what a version has where the other has a breakpoint.
func (d *Diff) instead(verdict string) string {
	if verdict == "found" {
		return "no such edge"
	}
	return verdictTitle(verdict)
}

// lineSection lists the lines that changed in a way.
func (d *Diff) lineSection(reference, how string) Section {
	s := Section{Title: "Lines that " + d.moved(), Meaning: "The line itself: what a pitch is measured against.",
		Head: []string{"", "", "before", "after", "change (95 %)"}}
	if how != Moved {
		s.Title, s.Meaning, s.Detail = "Lines within error", "", true
	}
	for _, r := range d.rows(KindLine, reference) {
		if r.Change == how {
			s.Rows = append(s.Rows, []string{cellTitle(r.Key), words.OutcomeOf(r.Outcome).Title,
				r.value(r.From, 3), r.value(r.To, 3), change(r, 3)})
		}
	}
	return s
}

// verdictSection counts the verdicts that changed, the most frequent first.
func (d *Diff) verdictSection(reference string) Section {
	type turn struct{ from, to string }
	n := map[turn]int{}
	var order []turn
	for _, r := range d.rows(KindVerdict, reference) {
		if r.Outcome == thresholds.Joint {
			continue
		}
		t := turn{verdictTitle(r.FromVerdict), verdictTitle(r.ToVerdict)}
		if n[t] == 0 {
			order = append(order, t)
		}
		n[t]++
	}
	slices.SortStableFunc(order, func(a, b turn) int { return cmp.Compare(n[b], n[a]) })
	s := Section{Title: "Verdicts, counted", Head: []string{"before", "after", "cells"},
		Meaning: "A verdict that is another one now need not mean that the league changed: a sample near the limit falls on either side."}
	for _, t := range order {
		s.Rows = append(s.Rows, []string{t.from, t.to, fmt.Sprint(n[t])})
	}
	return s
}

// Verdicts lists every verdict that changed, one by one.
func (d *Diff) Verdicts(reference string) Section {
	s := Section{Title: "Verdicts, one by one", Head: []string{"", "", "before", "after"}, Detail: true}
	for _, r := range d.rows(KindVerdict, reference) {
		s.Rows = append(s.Rows, []string{cellTitle(r.Key), d.quality(r.Variable) + " · " + words.OutcomeOf(r.Outcome).Title,
			verdictTitle(r.FromVerdict), verdictTitle(r.ToVerdict)})
	}
	d.name(s.Head)
	return s
}

// Markdown renders the comparison as CHANGES.md.
func (d *Diff) Markdown(reference string) []byte {
	var b strings.Builder
	title := "Changes"
	if d.From.Version != "" {
		title += " since " + d.From.Version
	}
	fmt.Fprintf(&b, "# %s: %s\n\n%s\n", d.To.League, title, d.Summary(reference))
	for _, p := range append([]string{d.How()}, d.Notes...) {
		if p != "" {
			fmt.Fprintf(&b, "\n%s\n", p)
		}
	}
	for _, s := range d.Sections(reference) {
		fmt.Fprintf(&b, "\n## %s\n\n", s.Title)
		if s.Meaning != "" {
			fmt.Fprintf(&b, "%s\n\n", s.Meaning)
		}
		row := func(cells []string) {
			fmt.Fprintf(&b, "| %s |\n", strings.ReplaceAll(strings.Join(cells, " | "), "\n", " "))
		}
		row(s.Head)
		fmt.Fprintf(&b, "|%s\n", strings.Repeat("---|", len(s.Head)))
		for _, r := range s.Rows {
			row(r)
		}
	}
	if d.Basis != BasisNone {
		fmt.Fprintf(&b, "\nEvery row, that against the pooled rate included, is in diff.json.\n%s\n", Caution)
	}
	return []byte(b.String())
}

// Caution stands under everything that a coach may read.
const Caution = "This describes what batters did; it does not say what a change would cause. " +
	"Workload and mechanics belong to the coaches and the medical staff."
