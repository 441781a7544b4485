package main

import (
	"slices"

	"github.com/spf13/cobra"

	"sill/pipeline/pitch"
	"sill/pipeline/render/screen"
	"sill/pipeline/render/terminal"
	"sill/pipeline/thresholds"
)

// platoonDocument is what `platoon --json` prints.
type platoonDocument struct {
	document
	League  string          `json:"league"`
	Version string          `json:"version"`
	Rows    []screen.GapRow `json:"rows"`
}

// newPlatoon is the command that says which qualities travel across hands.
func newPlatoon(t *terminal.Terminal) *cobra.Command {
	var at place
	only := filters{outcomes: []string{"woba_against"}}
	var as form
	var hand string
	var all bool
	cmd := &cobra.Command{
		Use:   "platoon",
		Short: "Say which qualities travel across hands and which split",
		Long: `platoon compares each pitch against same-handed batters with the same pitch
against opposite-handed ones, in the lowest, middle and highest third of each
quality. Where the gap changes the quality splits: it is worth more against one
side. Where the gap is shown to stay the quality travels: more of it helps
against both. Else it cannot be told.`,
		Example: `  sill platoon                                # the latest version, by wOBA-against
  sill platoon --type changeup --outcome whiff_rate
  sill platoon --variable arm_slot,horizontal_break --all
  sill platoon --json                         # rows for a program`,
		Args: args(),
		RunE: func(*cobra.Command, []string) error {
			v, err := at.open()
			if err != nil {
				return err
			}
			warnDeprecated(t, v)
			s, err := only.selection(v.tables, thresholds.HeadlineReference)
			if err != nil {
				return err
			}
			if hand != "" {
				if hand, err = parseWord("hand", pitch.Words("hand"))(hand); err != nil {
					return err
				}
			}
			if err := v.more(); err != nil {
				return err
			}
			rows := slices.DeleteFunc(screen.GapsOf(v.tables.Contrasts), func(r screen.GapRow) bool {
				return r.Stratum != s.Stratum || hand != "" && r.Hand != hand || !only.let(r.PitchType, "", r.Variable, r.Outcome)
			})
			return as.print(t, platoonDocument{head("platoon"), v.league, v.version, rows}, nil, func(p *terminal.Printer) {
				v.title(p)
				screen.Gaps(p, rows, all || len(s.Variables) > 0)
			})
		},
	}
	f := cmd.Flags()
	at.flags(f)
	only.flags(cmd, "type", "variable", "outcome", "stratum")
	as.flags(f, "")
	f.StringVar(&hand, "hand", "", "pitchers' `hand`: left or right")
	f.BoolVar(&all, "all", false, "also list qualities of which nothing can be told")
	complete(cmd, "hand", pitch.Words("hand"))
	return cmd
}
