package ingest

import (
	"context"
	"fmt"
	"slices"
	"strconv"
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
	d       *decoder
	global  map[string][]int32 // final index by local text id, −2 = not yet known
	pitches []pitch.Pitch
	counts  [ruleCount]int64
	other   map[string]int64 // rejects by rules of prepare
	used    int64
}

// Deliver reads the files again and hands every row in scope that breaks no
// rule to each counter in turn, in batches whose memory is reused afterwards.
// Before, prepare may complete a pitch; a rule code other than "" rejects it. All are
// called by several workers at once, each with its own number below
// Options.Workers, in no fixed order of rows.
//
// The error wraps ErrTooManyRejects where the share of rejected rows passes
// the limit or no row is left; the report is complete then.
func (s *Season) Deliver(ctx context.Context, prepare func(worker int, p *pitch.Pitch) string, counters ...pitch.Counter) (*Report, error) {
	tasks := s.tasks(false)
	n := s.options.workers()
	workers := make([]perWorker, n)
	states := make([]deliverState, n)
	rejects := make([][]Reject, len(tasks))
	defer func() {
		for i := range workers {
			workers[i].close()
		}
	}()
	err := forEach(ctx, n, len(tasks), func(w, i int) error {
		t := tasks[i]
		d, err := workers[w].decoder(s, t.file, false)
		if err != nil {
			return err
		}
		st := &states[w]
		if st.d != d {
			st.d, st.global = d, map[string][]int32{}
		}
		return d.readGroup(ctx, t.group, s.options.BatchRows, func(b *batch) error {
			status := s.status[s.offset[t.file]+b.first:][:b.n]
			rejects[i] = st.add(s, w, b, status, prepare, rejects[i])
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
	var counts [ruleCount]int64
	other := map[string]int64{}
	for i := range states {
		r.RowsUsed += states[i].used
		for rule, n := range states[i].counts {
			counts[rule] += n
		}
		for code, n := range states[i].other {
			other[code] += n
		}
	}
	counts[ruleNoKey] = s.noKey
	counts[ruleResultLost] += s.lost
	r.Untracked, r.Duplicates, r.Conflicts = counts[ruleUntracked], counts[ruleDuplicate], counts[ruleConflict]
	r.ResultsLost, r.ResultsWithoutPitch = counts[ruleResultLost], counts[ruleResultWithoutPitch]
	for i, c := range Checks {
		if counts[i] > 0 {
			r.Rules = append(r.Rules, RuleCount{c.Code, c.Effect, c.Meaning, counts[i]})
		}
		if c.Effect == Rejected {
			r.RowsRejected += counts[i]
		}
	}
	for _, code := range sortedKeys(other) {
		r.Rules = append(r.Rules, RuleCount{code, Rejected, "", other[code]})
		r.RowsRejected += other[code]
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
	slices.SortStableFunc(rules, func(a, b RuleCount) int { return int(min(max(b.Rows-a.Rows, -1), 1)) })
	var parts []string
	for _, c := range rules[:min(len(rules), 3)] {
		parts = append(parts, fmt.Sprintf("%s %d", c.Code, c.Rows))
	}
	return strings.Join(parts, ", ")
}

// add turns the rows of a batch into pitches, and appends its rejects.
func (st *deliverState) add(s *Season, worker int, b *batch, status []uint8, prepare func(int, *pitch.Pitch) string, rejects []Reject) []Reject {
	d := st.d
	st.pitches = grow(st.pitches, b.n)
	used := 0
	columns := st.columns(s)
	for row := range b.n {
		result := pitch.Result(status[row])
		if status[row] >= statusDuplicate {
			result = pitch.NoResult
		}
		quarantine := func(rule, column, value string) {
			rejects = append(rejects, Reject{d.file.Name, b.first + int64(row), rule, column, value})
			if result != pitch.NoResult && result != pitch.NotAppearance {
				st.counts[ruleResultLost]++
			}
		}
		switch status[row] {
		case statusDuplicate:
			st.counts[ruleDuplicate]++
			continue
		case statusSuperseded:
			st.counts[ruleSuperseded]++
			continue
		}
		if b.filtered[row] != 0 {
			st.counts[b.filtered[row]]++
			continue
		}
		if status[row] == statusConflict {
			st.counts[ruleConflict]++
			quarantine("conflict", "", fmt.Sprintf("game %s, plate appearance %d, pitch %d", d.textAt("game", b.game, row),
				int64(b.num[pitch.PlateAppearance][row]), int64(b.num[pitch.PitchNumber][row])))
			continue
		}
		if b.nan[row] {
			st.counts[ruleNaN]++
		}
		if !thrown(pitch.Outcome(b.outcome[row])) {
			st.counts[ruleNoPitch]++
			if result != pitch.NoResult && result != pitch.NotAppearance {
				st.counts[ruleResultWithoutPitch]++
			}
			continue
		}
		p := &st.pitches[used]
		st.fill(s, p, b, row, columns)
		p.Result = result
		rule, field := b.fault[row], int(b.faultField[row])
		if rule == 0 && p.Season == 0 {
			rule, field = ruleMissingValue, -1
		}
		if rule != 0 {
			st.counts[rule]++
			column, value := "season", ""
			if field >= 0 {
				column, value = d.fields[field].col.Name, ""
				if u := d.fields[field].use; u >= 0 {
					column, value = d.uses[u].name, d.vecs[u].value(row)
				}
			}
			quarantine(Checks[rule].Code, column, value)
			continue
		}
		untracked := pitch.IsMissing(p.Num[pitch.Velocity]) && !hasTrajectory(p)
		if prepare != nil {
			if code := prepare(worker, p); code != "" {
				st.reject(code)
				quarantine(code, "", "")
				continue
			}
		}
		if untracked {
			st.counts[ruleUntracked]++
		}
		if p.Type == pitch.UnknownType {
			st.counts[ruleUnknownType]++
		}
		used++
	}
	st.pitches = st.pitches[:used]
	return rejects
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

// reject counts a rejection by prepare.
func (st *deliverState) reject(code string) {
	for i, c := range Checks {
		if c.Code == code && c.Effect == Rejected {
			st.counts[i]++
			return
		}
	}
	if st.other == nil {
		st.other = map[string]int64{}
	}
	st.other[code]++
}

// textAt renders an identity for the quarantine.
func (d *decoder) textAt(column string, ids []int32, row int) string {
	for i := range d.fields {
		if d.fields[i].col.Name == column && ids[row] >= 0 {
			return d.texts[i].list[ids[row]]
		}
	}
	return strconv.Itoa(-1)
}

// idColumn maps one identity column's local ids to final indices.
type idColumn struct {
	list  []string
	final map[string]int32
	known []int32
}

// idColumns are the identity columns that a pitch carries; nil where unmapped.
type idColumns struct{ pitcher, batter, game, venue, level *idColumn }

// columns prepares the identity columns of the decoder.
func (st *deliverState) columns(s *Season) (out idColumns) {
	slots := map[string]**idColumn{"pitcher": &out.pitcher, "batter": &out.batter, "game": &out.game,
		"venue": &out.venue, "level": &out.level}
	for i := range st.d.fields {
		name := st.d.fields[i].col.Name
		slot, ok := slots[name]
		if !ok {
			continue
		}
		list := st.d.texts[i].list
		n := len(list)
		if name == "pitcher" {
			n *= 3
		}
		known := st.global[name]
		for len(known) < n {
			known = append(known, -2)
		}
		st.global[name] = known
		*slot = &idColumn{list, s.index[name], known}
	}
	return out
}

// at returns the final index of a local id, −1 for unknown.
func (c *idColumn) at(ids []int32, row int) int32 {
	if c == nil || ids[row] < 0 {
		return -1
	}
	k := ids[row]
	if c.known[k] == -2 {
		c.known[k] = lookupName(c.final, c.list[k])
	}
	return c.known[k]
}

// pitcher returns the final index of a pitcher's key.
func (c *idColumn) pitcher(ids []int32, row int, h pitch.Hand) int32 {
	if ids[row] < 0 {
		return -1
	}
	k := int(ids[row])*3 + int(h)
	if c.known[k] == -2 {
		c.known[k] = lookupName(c.final, pitch.PitcherKey{ID: c.list[ids[row]], Hand: h}.String())
	}
	return c.known[k]
}

func lookupName(m map[string]int32, name string) int32 {
	if i, ok := m[name]; ok {
		return i
	}
	return -1
}

// fill writes one row into p, all but the result.
func (st *deliverState) fill(s *Season, p *pitch.Pitch, b *batch, row int, columns idColumns) {
	*p = pitch.Pitch{Date: pitch.NoDate, Hand: pitch.Hand(b.hand[row]), Side: pitch.Side(b.side[row]),
		Type: pitch.Type(b.kind[row]), Outcome: pitch.Outcome(b.outcome[row])}
	if b.bunt != nil {
		p.Bunt = pitch.Flag(b.bunt[row])
	}
	if b.fielder != nil {
		p.Fielder = pitch.Flag(b.fielder[row])
	}
	if b.date != nil {
		p.Date = b.date[row]
	}
	p.Pitcher = columns.pitcher.pitcher(b.pitcher, row, p.Hand)
	p.Game = columns.game.at(b.game, row)
	p.Batter = columns.batter.at(b.batter, row)
	p.Venue = columns.venue.at(b.venue, row)
	p.Level = columns.level.at(b.level, row)
	for k := range p.Num {
		if c := b.num[k]; c != nil {
			p.Num[k] = c[row]
		} else {
			p.Num[k] = pitch.Missing()
		}
	}
	p.Season = s.seasonOf(p, b, row)
}

// seasonOf is the season column's value, else the year of the game's first
// date, else the year of the row's own date, else the profile's constant; 0 if
// none is known.
func (s *Season) seasonOf(p *pitch.Pitch, b *batch, row int) int16 {
	if b.season != nil && b.season[row] == b.season[row] {
		return int16(b.season[row])
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
