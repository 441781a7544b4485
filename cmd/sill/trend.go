package main

import (
	"errors"
	"slices"

	"github.com/spf13/cobra"

	"sill/pipeline/analysis/compare"
	"sill/pipeline/analysis/trend"
	"sill/pipeline/estimate"
	"sill/pipeline/render/screen"
	"sill/pipeline/render/terminal"
	"sill/pipeline/render/words"
	"sill/pipeline/shape"
)

// newTrend is the command that follows pitchers from one season or window to another.
func newTrend(t *terminal.Terminal) *cobra.Command {
	var at place
	var w windows
	var only filters
	var pitchers []string
	var all, persistence bool
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
  sill trend v1.0.0 v1.1.0 --pitcher p0668
  sill trend lantern --from 2031 --to 2032 # two seasons of one version
  sill trend --config demo/sill.yaml --halves
  sill trend --config demo/sill.yaml --from 2031-04-01..2031-05-31 --to 2031-08-01..2031-09-30
  sill trend lantern --persistence         # how many pitches until it is the pitcher`,
		Args: atMost("A", "B"),
		RunE: func(cmd *cobra.Command, named []string) error {
			if err := errors.Join(w.as.check(cmd), only.parse(nil, shape.Names(shape.Variables))); err != nil {
				return err
			}
			keep := func(r *trend.Row) bool {
				return only.let(r.PitchType, "", r.Variable, r.Outcome) && in(pitchers, r.Pitcher)
			}
			if persistence {
				return printPersistence(t, &at, &w, named, only.types)
			}
			from, to, o, notes, err := w.open(cmd.Context(), t, &at, named)
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
				return usagef("trend: none of %s threw a pitch type in both windows; keys are those of the input's pitcher column", words.Commas(pitchers))
			}
			shown := func(r *trend.Row) bool {
				return keep(r) && (all || len(pitchers) > 0 || r.Verdict == trend.Moved)
			}
			body := found.Body(shown)
			return w.as.print(t, trendDocument{head("trend"), body}, csvOf(body.Rows), func(p *terminal.Printer) {
				screen.Trend(p, found, shown, keep, all || len(pitchers) > 0)
			})
		},
	}
	f := cmd.Flags()
	at.flags(f)
	_ = f.MarkHidden("version") // A and B name theirs
	w.flags(f)
	f.StringSliceVar(&pitchers, "pitcher", nil, "these pitchers, by their `keys`, whether they moved or not")
	only.flags(cmd, "type", "variable", "outcome")
	f.BoolVar(&all, "all", false, "list every pitcher and quality, moved or not")
	f.BoolVar(&persistence, "persistence", false, "say how many pitches it takes until half of what is seen is the pitcher")
	w.as.flags(f, "print the rows as CSV")
	return cmd
}

// trendDocument is what `trend --json` prints.
type trendDocument struct {
	document
	trend.Body
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
