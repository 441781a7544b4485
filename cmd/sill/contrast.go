package main

import (
	"slices"

	"github.com/spf13/cobra"

	"sill/pipeline/locate"
	"sill/pipeline/render/screen"
	"sill/pipeline/render/terminal"
	"sill/pipeline/render/words"
	"sill/pipeline/thresholds"
)

// contrastDocument is what `contrast --json` prints.
type contrastDocument struct {
	document
	League  string                `json:"league"`
	Version string                `json:"version"`
	Rows    []thresholds.Contrast `json:"rows"`
}

// newContrast is the command that says where curves differ.
func newContrast(t *terminal.Terminal) *cobra.Command {
	var at place
	var only filters
	var as form
	var pairs []string
	var all bool
	cmd := &cobra.Command{
		Use:   "contrast",
		Short: "Say where the curves of two matchups, pitch types or seasons differ",
		Long: `contrast compares curves along each quality: same-handed with opposite-handed
batters, left-handed with right-handed pitchers, two pitch types, and, where
seasons were counted apart (sill run --strata season), a season with the one
before. A contrast differs where that is shown for the whole curve, allowing for
all contrasts of the kind; then it is said where and by how much. With one pitch
type and one quality the differences are drawn.`,
		Example: `  sill contrast                                     # what is shown to differ
  sill contrast --type four_seam --variable velocity --outcome whiff_rate
  sill contrast --pair mirror_same --all
  sill contrast --pair season_before
  sill contrast --csv >contrasts.csv`,
		Args: args(),
		RunE: func(cmd *cobra.Command, _ []string) error {
			if err := as.check(cmd); err != nil {
				return err
			}
			v, err := at.open()
			if err != nil {
				return err
			}
			warnDeprecated(t, v)
			s, err := only.selection(v.tables, thresholds.HeadlineReference)
			if err != nil {
				return err
			}
			if pairs, err = parseAll(pairs, parseWord("pair", words.PairWords())); err != nil {
				return err
			}
			if err := v.more(); err != nil {
				return err
			}
			rows := slices.DeleteFunc(slices.Clone(v.tables.Contrasts), func(c thresholds.Contrast) bool {
				own := c.Stratum == s.Stratum || s.Stratum == "" && c.Pair == "season_before"
				return !own || c.Kind == locate.KindPlatoon || !in(s.Types, c.TypeA) && !in(s.Types, c.TypeB) || !in(s.Variables, c.Variable) ||
					!in(s.Outcomes, c.Outcome) || !in(pairs, c.Pair) || c.Reference != "" && c.Reference != thresholds.HeadlineReference
			})
			return as.print(t, contrastDocument{head("contrast"), v.league, v.version, rows}, csvOf(rows), func(p *terminal.Printer) {
				if len(pairs) == 0 { // hundreds of them: on demand
					rows = slices.DeleteFunc(rows, func(c thresholds.Contrast) bool { return c.Pair == "pitch_types" })
				}
				v.title(p)
				screen.Contrasts(p, screen.PairsOf(rows), all, len(s.Types) == 1 && len(s.Variables) == 1)
			})
		},
	}
	f := cmd.Flags()
	at.flags(f)
	only.flags(cmd, "type", "variable", "outcome", "stratum")
	as.flags(f, "print every row as CSV")
	f.StringSliceVar(&pairs, "pair", nil, "pairs, such as `left_same_opposite,mirror_same`")
	f.BoolVar(&all, "all", false, "also list what is not shown to differ")
	complete(cmd, "pair", words.PairWords())
	return cmd
}
