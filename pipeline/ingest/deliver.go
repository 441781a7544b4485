package ingest

import (
	"cmp"
	"context"
	"fmt"
	"slices"
	"strings"
	"time"

	"sill/pipeline/pitch"
)

// Report says what became of every row.
type Report struct {
	RowsRead            int64       `json:"rows_read"`
	RowsUsed            int64       `json:"rows_used"` // delivered, untracked ones included
	RowsRejected        int64       `json:"rows_rejected"`
	Untracked           int64       `json:"untracked"`
	Duplicates          int64       `json:"duplicates"`
	Conflicts           int64       `json:"conflicts"`
	ResultsLost         int64       `json:"results_lost"`
	ResultsWithoutPitch int64       `json:"results_without_pitch"`
	Rules               []RuleCount `json:"rules"`             // rules that met at least one row, in the order of Checks
	Rejects             []Reject    `json:"rejects,omitempty"` // sorted by file name and row
}

// RuleCount is the number of rows that one rule met.
type RuleCount struct {
	Code    string `json:"code"`
	Effect  Effect `json:"effect"`
	Meaning string `json:"meaning"`
	Rows    int64  `json:"rows"`
}

// Reject is one row in quarantine.
type Reject struct {
	File   string `json:"file"`
	Row    int64  `json:"row"` // in the file, counted from 0
	Rule   string `json:"rule"`
	Column string `json:"column"` // source column, "" where none is concerned
	Value  string `json:"value"`  // as read, "" for a missing value
}

// deliverState is one worker's part of the second pass.
type deliverState struct {
	s       *Season
	d       *decoder
	final   [][]int32 // by identity: final index by local text id, −2 = not yet known
	pitches []pitch.Pitch
	counts  []int64 // by check
	used    int64
}

// Deliver reads the files again and hands every row in scope that breaks no
// rule to each counter in turn, in batches whose memory is reused afterwards.
// Before, prepare may complete a pitch; the code of a check other than "" rejects
// it. All are called by several workers at once, each with its own number below
// Options.Workers, in no fixed order of rows.
//
// The error wraps ErrTooManyRejects where the share of rejected rows passes
// the limit or no row is left; the report is complete then.
func (s *Season) Deliver(ctx context.Context, prepare func(worker int, p *pitch.Pitch) string, counters ...pitch.Counter) (*Report, error) {
	if prepare == nil {
		prepare = func(int, *pitch.Pitch) string { return "" }
	}
	states := make([]deliverState, s.options.workers())
	tasks := s.tasks(false)
	rejects := make([][]Reject, len(tasks))
	err := s.eachGroup(ctx, tasks, false, func(w, i int, d *decoder) error {
		st := &states[w]
		if st.d != d {
			st.s, st.d, st.final = s, d, make([][]int32, len(identities))
			st.counts = grow(st.counts, len(Checks))
		}
		return d.readGroup(ctx, tasks[i].group, s.options.BatchRows, func() error {
			status := s.status[s.offset[tasks[i].file]+d.first:]
			rejects[i] = st.add(status, func(p *pitch.Pitch) string { return prepare(w, p) }, rejects[i])
			if len(st.pitches) == 0 {
				return nil
			}
			st.used += int64(len(st.pitches))
			for _, c := range counters {
				if err := c.Add(w, st.pitches); err != nil {
					return err
				}
			}
			return nil
		})
	})
	if err != nil {
		return nil, err
	}
	return s.report(states, rejects)
}

// report sums up what the workers saw.
func (s *Season) report(states []deliverState, rejects [][]Reject) (*Report, error) {
	r := &Report{RowsRead: s.Rows(), Rules: []RuleCount{}, Rejects: append([]Reject{}, slices.Concat(rejects...)...)}
	counts := make([]int64, len(Checks))
	for _, st := range states {
		r.RowsUsed += st.used
		for check, n := range st.counts {
			counts[check] += n
		}
	}
	counts[checkAt("result_lost")] += s.lost
	for to, code := range map[*int64]string{&r.Untracked: "untracked", &r.Duplicates: "duplicate", &r.Conflicts: "conflict",
		&r.ResultsLost: "result_lost", &r.ResultsWithoutPitch: "result_without_pitch"} {
		*to = counts[checkAt(code)]
	}
	for i, c := range Checks {
		if counts[i] > 0 {
			r.Rules = append(r.Rules, RuleCount{c.Code, c.Effect, c.Meaning, counts[i]})
		}
		if c.Effect == Rejected {
			r.RowsRejected += counts[i]
		}
	}
	scope := r.RowsRejected + r.RowsUsed
	switch {
	case scope == 0:
		return r, fmt.Errorf("deliver input: %w: %d read: %s; %s", ErrNothingInScope, r.RowsRead, r.worst(SetAside), s.scopeHint)
	case r.RowsUsed == 0 || float64(r.RowsRejected) > s.options.MaxRejectShare*float64(scope):
		return r, fmt.Errorf("deliver input: %d of %d rows rejected (%.2f %%, limit %.2f %%): %s: %w", r.RowsRejected, scope,
			100*float64(r.RowsRejected)/float64(scope), 100*s.options.MaxRejectShare, r.worst(Rejected), ErrTooManyRejects)
	}
	return r, nil
}

// worst lists the rules of one effect that met most rows.
func (r *Report) worst(e Effect) string {
	var rules []RuleCount
	for _, c := range r.Rules {
		if c.Effect == e {
			rules = append(rules, c)
		}
	}
	slices.SortStableFunc(rules, func(a, b RuleCount) int { return cmp.Compare(b.Rows, a.Rows) })
	var parts []string
	for _, c := range rules[:min(len(rules), 3)] {
		parts = append(parts, fmt.Sprintf("%s %d", c.Code, c.Rows))
	}
	return strings.Join(parts, ", ")
}

// add turns the rows of a batch into pitches, and appends its rejects.
func (st *deliverState) add(status []uint8, prepare func(*pitch.Pitch) string, rejects []Reject) []Reject {
	d := st.d
	st.pitches = grow(st.pitches, d.n)
	used := 0
	for row := range d.n {
		r := examined{st: st, d: d, at: row, status: status[row], p: &st.pitches[used]}
		if r.status < statusDuplicate {
			r.result = pitch.Result(r.status)
		}
		verdict := r.verdict()
		if verdict < 0 {
			if r.refusal = prepare(r.filled()); r.refusal != "" {
				verdict = checkAt(r.refusal)
			}
		}
		if r.used = verdict < 0; r.used {
			used++
		} else {
			st.counts[verdict]++
			if r.rejected = Checks[verdict].Effect == Rejected; r.rejected {
				rejects = append(rejects, r.reject(Checks[verdict].Code))
			}
		}
		for _, check := range noteChecks {
			if r.meets(check) {
				st.counts[check]++
			}
		}
	}
	st.pitches = st.pitches[:used]
	return rejects
}

// reject is the row in quarantine, with the value that a check of values met, or
// the key that two rows share.
func (r *examined) reject(code string) Reject {
	d := r.d
	out := Reject{File: d.file.Name, Row: d.first + int64(r.at), Rule: code}
	switch {
	case r.status == statusConflict:
		out.Value = fmt.Sprintf("game %s, plate appearance %d, pitch %d", d.slots[gameAt].text(r.at),
			d.slots[appearanceAt].count(r.at), d.slots[numberAt].count(r.at))
	case r.refusal != "":
	case d.fault[r.at] == 0:
		out.Column = "season"
	default:
		s := &d.slots[d.faultPlace[r.at]]
		out.Column, out.Value = d.uses[s.use].name, d.vecs[s.use].value(r.at)
	}
	return out
}

// filled returns the row as a pitch.
func (r *examined) filled() *pitch.Pitch {
	if !r.ready {
		r.ready = true
		r.st.fill(r.p, r.at, r.result)
		r.untracked = pitch.IsMissing(r.p.Num[pitch.Velocity]) && !hasTrajectory(r.p)
	}
	return r.p
}

// hasTrajectory tells whether all nine trajectory parameters are known.
func hasTrajectory(p *pitch.Pitch) bool {
	for n := pitch.PositionX; n <= pitch.AccelerationZ; n++ {
		if pitch.IsMissing(p.Num[n]) {
			return false
		}
	}
	return true
}

// fill writes one row into p.
func (st *deliverState) fill(p *pitch.Pitch, row int, result pitch.Result) {
	slots := st.d.slots
	*p = pitch.Pitch{Date: slots[dateAt].day(row), Hand: pitch.Hand(slots[handAt].code(row)), Side: pitch.Side(slots[sideAt].code(row)),
		Type: st.s.types[slots[typeAt].code(row)], Outcome: pitch.Outcome(slots[outcomeAt].code(row)), Result: result,
		Bunt: pitch.Flag(slots[buntAt].code(row)), Fielder: pitch.Flag(slots[fielderAt].code(row))}
	for i := range identities {
		*identities[i].of(p) = st.indexOf(i, row, p.Hand)
	}
	for k := range p.Num {
		p.Num[k] = pitch.Missing()
	}
	for _, s := range st.d.mapped {
		if s.nums != nil && s.col.Number != pitch.NoNumber {
			p.Num[s.col.Number] = s.nums[row]
		}
	}
	p.Season = st.s.seasonOf(p, slots[seasonAt].num(row))
}

// indexOf returns the final index of an identity at a row, −1 where it is missing.
func (st *deliverState) indexOf(identity, row int, h pitch.Hand) int32 {
	is := &identities[identity]
	s := &st.d.slots[is.place]
	if s.id(row) < 0 {
		return -1
	}
	at, final := is.local(s.ids[row], uint8(h)), st.final[identity]
	for len(final) <= at {
		final = append(final, -2)
	}
	st.final[identity] = final
	if final[at] == -2 {
		final[at] = -1
		if i, ok := st.s.index[identity][is.name(s.text(row), uint8(h))]; ok {
			final[at] = i
		}
	}
	return final[at]
}

// seasonOf is the season column's value, else the year of the game's first
// date, else the year of the row's own date, else the profile's constant; 0 if
// none is known.
func (s *Season) seasonOf(p *pitch.Pitch, given float64) int16 {
	if given == given {
		return int16(given)
	}
	if p.Game >= 0 && s.year[p.Game] != 0 {
		return s.year[p.Game]
	}
	if p.Date != pitch.NoDate {
		return yearOf(p.Date)
	}
	return int16(s.profile.Season)
}

// yearOf is the year of a date, 0 where it is beyond any season.
func yearOf(day int32) int16 {
	y := time.Unix(int64(day)*86400, 0).UTC().Year()
	if y < 1900 || y > 2200 {
		return 0
	}
	return int16(y)
}
