package main

import (
	"cmp"
	"errors"
	"fmt"
	"math"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"sill/pipeline/analysis/compare"
	"sill/pipeline/analysis/trend"
	"sill/pipeline/estimate"
	"sill/pipeline/render/words"
	"sill/pipeline/shape"
	"sill/pipeline/thresholds"
)

// newTrend is the command that follows pitchers from one season or window to another.
func newTrend(t *terminal) *cobra.Command {
	var at place
	var w windows
	var types, variables, outcomes, pitchers []string
	var all, persistence, asJSON, asCSV bool
	cmd := &cobra.Command{
		Use:   "trend [A B]",
		Short: "Follow pitchers from one season or window to another",
		Long: `trend follows every pitcher who threw in both of two windows: which qualities of
his pitches moved, what became of whiff rate and wOBA-against by batter side, and
what the league would expect of such a change, where it shows it. Both ends are drawn toward the
league and toward each other, so that luck that ran out is no change.

A quality moved where it changed by at least the smallest change of interest (1 mph,
1 in, 0.25°, else a bin) against the rest of the league, beyond chance, with 10 %
false discoveries among all pitchers. What the whole league moved by is told apart:
that is likelier an instrument than the pitchers.

A and B are published versions, named as in sill diff, whose kept counts are
compared; one version that holds several seasons is split with --from and --to. With
--config the pitches are read again, and windows are dates or halves of a season.
--persistence says instead how many pitches it takes until half of what is seen of a
pitcher is the pitcher.`,
		Example: `  sill trend v1.0.0 v1.1.0                 # two versions of the only league
  sill trend lantern@v1.0.0 lantern@v1.1.0 --type four_seam --variable velocity
  sill trend v1.0.0 v1.1.0 --pitcher 400640
  sill trend lantern --from 2031 --to 2032 # two seasons of one version
  sill trend --config demo/sill.yaml --halves
  sill trend --config demo/sill.yaml --from 2031-04-01..2031-05-31 --to 2031-08-01..2031-09-30
  sill trend lantern --persistence         # how many pitches until it is the pitcher`,
		Args: atMost("A", "B"),
		RunE: func(cmd *cobra.Command, words []string) error {
			if asJSON && asCSV {
				return usagef("trend: choose one of --json and --csv")
			}
			keep, err := trendFilter(types, variables, outcomes, pitchers)
			if err != nil {
				return err
			}
			if persistence {
				if types, err = parseAll(types, parseType); err != nil {
					return err
				}
				return printPersistence(t, &at, &w, words, types, asJSON, asCSV)
			}
			from, to, o, notes, err := w.open(cmd.Context(), t, &at, words, asJSON || asCSV)
			if err != nil {
				return err
			}
			found, err := trend.Follow(from, to, o.Scoring())
			if errors.Is(err, trend.ErrNothing) {
				return usagef("trend: %s and %s have no pitcher with the same key, or no quality, in common", from.Name, to.Name)
			}
			if err != nil {
				return err
			}
			found.Notes = append(notes, found.Notes...)
			if len(pitchers) > 0 && !slices.ContainsFunc(found.Rows, func(r trend.Row) bool { return slices.Contains(pitchers, r.Pitcher) }) {
				return usagef("trend: none of %s threw a pitch type in both windows; keys are those of the input's pitcher column", listed(pitchers))
			}
			shown := func(r *trend.Row) bool {
				return keep(r) && (all || len(pitchers) > 0 || r.Verdict == trend.Moved)
			}
			switch {
			case asJSON:
				return writeJSON(t.out, trendDocument{head("trend"), found.Body(shown)})
			case asCSV:
				return thresholds.CSV(t.out, found.Body(shown).Rows)
			}
			p := newPrinter(t)
			printTrend(p, found, shown, keep, all || len(pitchers) > 0)
			return p.close()
		},
	}
	f := cmd.Flags()
	at.flags(f)
	_ = f.MarkHidden("version") // A and B name theirs
	w.flags(f)
	f.StringSliceVar(&pitchers, "pitcher", nil, "these pitchers, by their `keys`, whether they moved or not")
	filterFlags(cmd, &types, nil, &variables, &outcomes)
	f.BoolVar(&all, "all", false, "list every pitcher and quality, moved or not")
	f.BoolVar(&persistence, "persistence", false, "say how many pitches it takes until half of what is seen is the pitcher")
	f.BoolVar(&asJSON, "json", false, "print JSON")
	f.BoolVar(&asCSV, "csv", false, "print the rows as CSV")
	return cmd
}

// trendDocument is what `trend --json` prints.
type trendDocument struct {
	document
	trend.Body
}

// trendFilter reads the filters; the function that it returns tells which rows they
// leave.
func trendFilter(types, variables, outcomes, pitchers []string) (func(*trend.Row) bool, error) {
	types, err := parseAll(types, parseType)
	if err != nil {
		return nil, err
	}
	if variables, err = parseAll(variables, parseWord("variable", variableNames())); err != nil {
		return nil, err
	}
	if outcomes, err = parseAll(outcomes, parseWord("outcome", outcomeNames())); err != nil {
		return nil, err
	}
	return func(r *trend.Row) bool {
		return in(types, r.PitchType) && in(variables, r.Variable) && in(outcomes, r.Outcome) && in(pitchers, r.Pitcher)
	}, nil
}

// listedPitches is how many pitches of pitchers who moved are printed unasked.
const listedPitches = 12

// printTrend writes a trend for a person: the rows shown, and of the league what the
// filters leave.
func printTrend(p *printer, found *trend.Trend, shown, keep func(*trend.Row) bool, all bool) {
	p.line(bold, "%s → %s", found.From, found.To)
	p.blank()
	p.prose(bold, "", "", found.Summary())
	for _, n := range found.Notes {
		p.prose(dim, "", "  ", "Note: "+n)
	}
	p.blank()
	printShifts(p, found, keep)
	pitches := movers(found, shown)
	switch {
	case len(pitches) == 0:
		p.line(plain, "No pitcher moved among these pitch types and qualities; --all lists everyone.")
		p.blank()
	case all:
	case len(pitches) > listedPitches:
		p.prose(dim, "", "", fmt.Sprintf("The %d pitches that moved farthest, of %s; --all lists everyone, --pitcher KEY one of them, --csv prints every row.", listedPitches, words.Count(int64(len(pitches)))))
		p.blank()
		pitches = pitches[:listedPitches]
	}
	for _, m := range pitches {
		m.print(p)
	}
	if len(pitches) > 0 {
		p.prose(dim, "", "", "Values are drawn toward the league's, the more the fewer the events. Beside a change of an outcome without a word nothing is shown. "+
			"Expected is his own change times what goes with it from pitch to pitch inside the same pitcher, over the league's pitchers of his hand, against that side; "+
			"not shown: the league does not show what this change does, with 10 % false discoveries among all that it is asked.")
		p.blank()
	}
	printLaws(p, found, keep)
	printRelabelled(p, found)
	p.prose(plain, "", "", found.Caution())
}

// mover is one pitcher's pitch type with the qualities that are shown of it.
type mover struct {
	rows     []*trend.Row
	farthest float64 // change of his own over the smallest of interest, at most
}

// movers gathers rows by pitcher and pitch type, the farthest first.
func movers(found *trend.Trend, shown func(*trend.Row) bool) []*mover {
	var out []*mover
	at := map[[3]string]*mover{}
	for i := range found.Rows {
		r := &found.Rows[i]
		if !shown(r) {
			continue
		}
		k := [3]string{r.Pitcher, r.Hand, r.PitchType}
		m := at[k]
		if m == nil {
			m = &mover{}
			at[k] = m
			out = append(out, m)
		}
		m.rows = append(m.rows, r)
		if r.Own != nil {
			m.farthest = max(m.farthest, math.Abs(*r.Own)/r.Smallest)
		}
	}
	slices.SortStableFunc(out, func(a, b *mover) int { return cmp.Compare(b.farthest, a.farthest) })
	return out
}

// print writes the qualities of a pitch, and its outcomes with what the quality that
// moved farthest lets expect.
func (m *mover) print(p *printer) {
	first := m.rows[0]
	p.line(bold, "%s, %s-handed · %s", first.Pitcher, first.Hand, typeTitle(first.PitchType))
	t := &table{fit: 1}
	t.add(cell{text: "quality", style: dim}, cell{text: "before", style: dim, right: true}, cell{text: "after", style: dim, right: true},
		cell{text: "change", style: dim}, cell{text: "of it his own", style: dim}, cell{})
	seen := ""
	for _, r := range m.rows {
		if r.Variable == seen {
			continue
		}
		seen = r.Variable
		v := variableOf(r.Variable, r.Unit)
		at := quantity(v)
		by := func(x float64) string { return words.Signed(x, v.Decimals) }
		said := map[string]string{trend.Moved: "moved", trend.Stayed: "stayed", trend.CannotTell: "cannot tell", trend.TooFew: "too few swings"}[r.Verdict]
		name := v.Title
		if v.Unit != "" {
			name += "," + words.NoBreak + v.Unit
		}
		t.add(cell{text: name}, cell{text: orDash(r.Before, at), right: true}, cell{text: orDash(r.After, at), right: true},
			cell{text: solid(withLimits(r.Change, r.ChangeLo, r.ChangeHi, by))}, cell{text: solid(withLimits(r.Own, r.OwnLo, r.OwnHi, by))}, cell{text: said})
	}
	p.table(t, 2)
	main := m.main()
	out := &table{fit: 1}
	out.add(cell{text: "outcome", style: dim}, cell{text: "before", style: dim, right: true}, cell{text: "after", style: dim, right: true},
		cell{text: "change", style: dim}, cell{}, cell{text: "expected from " + solid(variableOf(main, "").Title), style: dim})
	for _, r := range m.rows {
		if r.Variable != main {
			continue
		}
		went := map[string]string{trend.Rose: "rose", trend.Fell: "fell", trend.TooFew: solid("too few")}[r.Went]
		out.add(cell{text: strings.NewReplacer(" rate", "", "-against", "").Replace(metricOf(r.Outcome).Title) + " v" + words.NoBreak + r.Side}, cell{text: orDash(r.RateA, words.Rate), right: true}, cell{text: orDash(r.RateB, words.Rate), right: true},
			cell{text: solid(withLimits(r.RateD, r.RateDLo, r.RateDHi, words.SignedRate))}, cell{text: went}, cell{text: expectation(r)})
	}
	p.table(out, 2)
	p.blank()
}

// expectation writes what the league lets expect of an outcome.
func expectation(r *trend.Row) string {
	if r.Expects == trend.NotShown {
		return solid("not shown")
	}
	return solid(withLimits(r.Expect, r.ExpectLo, r.ExpectHi, words.SignedRate))
}

// main is the quality that moved farthest, by its smallest change of interest.
func (m *mover) main() string {
	best, farthest := m.rows[0].Variable, -1.0
	for _, r := range m.rows {
		if r.Own != nil && math.Abs(*r.Own)/r.Smallest > farthest {
			best, farthest = r.Variable, math.Abs(*r.Own)/r.Smallest
		}
	}
	return best
}

// withLimits writes a number with its interval, a dash where there is none.
func withLimits(x, lo, hi *float64, format func(float64) string) string {
	if x == nil {
		return "–"
	}
	return format(*x) + " " + span(lo, hi, format)
}

// solid keeps a text on one line.
func solid(s string) string { return strings.ReplaceAll(s, " ", words.NoBreak) }

// printShifts writes what the league moved by in common, where it is worth a look.
func printShifts(p *printer, found *trend.Trend, keep func(*trend.Row) bool) {
	t := &table{fit: 2}
	t.add(cell{text: "pitch", style: dim}, cell{text: "quality", style: dim}, cell{text: "the league", style: dim}, cell{text: "pitchers", style: dim, right: true}, cell{})
	for _, s := range found.Shifts {
		if s.Shift == nil || math.Abs(*s.Shift) < s.Smallest/2 || *s.ShiftLo <= 0 && *s.ShiftHi >= 0 ||
			!keepsLeague(found, keep, s) {
			continue
		}
		v := variableOf(s.Variable, s.Unit)
		by := func(x float64) string { return words.Signed(x, v.Decimals) }
		note := ""
		if s.Suspect {
			note = "check the instruments"
		}
		pitch := typeTitle(s.PitchType)
		if s.Hand != "" {
			pitch += " of " + s.Hand + "-handers"
		}
		t.add(cell{text: pitch}, cell{text: v.Title}, cell{text: solid(withUnit(by(*s.Shift), v) + " " + span(s.ShiftLo, s.ShiftHi, by))},
			cell{text: words.Count(s.Pitchers), right: true}, cell{text: note})
	}
	if len(t.rows) == 1 {
		p.prose(plain, "", "", "The league as a whole stayed where it was: within the same pitchers, no quality of a pitch type shifted by half the smallest change of interest.")
		p.blank()
		return
	}
	p.line(bold, "What the league moved by in common, within the same pitchers")
	p.table(t, 2)
	p.prose(dim, "  ", "", "Pitchers are judged by what they moved beyond that.")
	p.blank()
}

// keepsLeague tells whether the filters leave any row that a shift is told of.
func keepsLeague(found *trend.Trend, keep func(*trend.Row) bool, s trend.Shift) bool {
	return slices.ContainsFunc(found.Rows, func(r trend.Row) bool {
		return r.PitchType == s.PitchType && r.Variable == s.Variable && (s.Hand == "" || s.Hand == r.Hand) && keep(&r)
	})
}

// printLaws writes how outcomes went with the qualities in which most pitchers moved.
func printLaws(p *printer, found *trend.Trend, keep func(*trend.Row) bool) {
	moved := map[[2]string]int64{}
	for _, s := range found.Shifts {
		moved[[2]string{s.PitchType, s.Variable}] += s.Moved
	}
	laws := slices.DeleteFunc(slices.Clone(found.Laws), func(l trend.Law) bool {
		return moved[[2]string{l.PitchType, l.Variable}] == 0 || l.Changes == nil || !slices.ContainsFunc(found.Rows, func(r trend.Row) bool {
			return r.PitchType == l.PitchType && r.Variable == l.Variable && r.Outcome == l.Outcome && keep(&r)
		})
	})
	if len(laws) == 0 {
		return
	}
	slices.SortStableFunc(laws, func(a, b trend.Law) int {
		return cmp.Compare(moved[[2]string{b.PitchType, b.Variable}], moved[[2]string{a.PitchType, a.Variable}])
	})
	laws = laws[:min(len(laws), 8)]
	p.line(bold, "What goes with a change, over the whole league")
	t := &table{fit: 1}
	t.add(cell{text: "pitch, and what there is more of", style: dim}, cell{text: "outcome", style: dim}, cell{text: "from window to window", style: dim}, cell{text: "from pitch to pitch", style: dim})
	for _, l := range laws {
		v := variableOf(l.Variable, l.Unit)
		by := func(x float64) string { return words.SignedRate(x * step(v)) }
		t.add(cell{text: typeTitle(l.PitchType) + ", " + solid(withUnit(tickLabel(step(v), 4), v)) + " " + v.Title}, cell{text: solid(metricOf(l.Outcome).Title)},
			cell{text: solid(withLimits(l.Changes, l.ChangesLo, l.ChangesHi, by))}, cell{text: solid(withLimits(l.Within, l.WithinLo, l.WithinHi, by))})
	}
	p.table(t, 2)
	p.prose(dim, "  ", "", "From window to window: how the outcome changed with the quality over all pitchers in both. From pitch to pitch: inside the same pitcher and window, which is what is expected above.")
	p.blank()
}

// step is a change of a variable in whose unit a rate stays readable.
func step(v shape.Variable) float64 {
	if v.Width == 0 {
		return 1
	}
	return v.Width
}

// printRelabelled names pitches that probably changed their name only.
func printRelabelled(p *printer, found *trend.Trend) {
	if len(found.Relabelled) == 0 {
		return
	}
	p.line(bold, "Pitches that probably got another name")
	t := &table{fit: 2}
	for i, r := range found.Relabelled {
		if i == listedPitches {
			p.table(t, 2)
			t = &table{}
			p.prose(dim, "  ", "", fmt.Sprintf("and %d more; --json lists them", len(found.Relabelled)-i))
			break
		}
		t.add(cell{text: r.Pitcher + ", " + r.Hand + "-handed"}, cell{text: fmt.Sprintf("%s (%s of his pitches) is now %s (%s), at the same speed and break",
			typeTitle(r.From), percent(r.ShareA), typeTitle(r.To), percent(r.ShareB))})
	}
	p.table(t, 2)
	p.blank()
}

// sameScoring notes where two versions count their outcomes otherwise.
func sameScoring(a, b estimate.Options) []string {
	if a.Scoring() == b.Scoring() {
		return nil
	}
	return []string{"The two versions score outcomes otherwise; both are scored as the later one here."}
}

// optionsOf reads back how a version was estimated.
func optionsOf(s compare.Side) (estimate.Options, error) {
	if s.Tally == nil {
		why := "is not kept"
		if s.Lost != "" {
			why = s.Lost
		}
		return estimate.Options{}, usagef("trend: the hand-over of %s %s %s; follow its pitchers on the pitches with --config", s.Manifest.Name, s.Manifest.Version, why)
	}
	return compare.EstimateOptions(s.Manifest)
}
