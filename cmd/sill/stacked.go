package main

import (
	"errors"
	"strings"

	"github.com/spf13/cobra"

	"sill/pipeline/analysis/stacked"
	"sill/pipeline/render/terminal"
	"sill/pipeline/render/words"
	"sill/pipeline/shape"
)

// newStacked is the command that asks how many good qualities a pitch needs.
func newStacked(t *terminal.Terminal) *cobra.Command {
	var q question
	var qualities []string
	var reference string
	var possible, full bool
	cmd := &cobra.Command{
		Use:   "stacked",
		Short: "Ask how many of a pitch's qualities must be good: one, several or all",
		Long: `stacked counts, for each pitch, how many of its qualities lie in their good zones,
and compares whiff rate and wOBA-against by that number, per pitch type and
matchup: is one outlier enough, does each further one add, or must all be there?

The pitches are read again, twice. The pitchers are dealt into two halves, each
hand apart; each half's good zones are found as sill run finds them, and each
pitch is held against the zones of the other half, so no pitcher is judged by
zones that he helped to find. A zone runs from breakpoint to breakpoint, or to
where the evidence fades; a pitch within the limits of a breakpoint is left out,
since nobody can tell its side. A quality counts where both halves found a zone.

Intervals are at 95 %, pitchers and batters being the clusters; comparisons hold
at 10 % false discoveries among all that are made, shown or not.`,
		Example: `  sill stacked --config demo/sill.yaml                  # a line for each answer
  sill stacked --config demo/sill.yaml --type four_seam # with rates and zones
  sill stacked --config demo/sill.yaml --quality velocity,induced_vertical_break,extension
  sill stacked --config demo/sill.yaml --reference matchup_median --json`,
		Args: args(),
		RunE: func(cmd *cobra.Command, _ []string) error {
			wants, err := q.wants()
			if err != nil {
				return err
			}
			o := stacked.DefaultOptions()
			if o.Qualities, err = parseAll(qualities, parseWord("variable", shape.Names(shape.Variables))); err != nil {
				return err
			}
			if o.Reference, err = parseWord("reference", stacked.References())(reference); err != nil {
				return err
			}
			o.Possible = possible
			if err := o.Validate(); err != nil {
				return usageError{err}
			}
			r, finish, err := q.open(cmd.Context(), t)
			if err != nil {
				return err
			}
			o.Estimate, o.Locate = r.Options.Estimate, r.Options.Locate
			report, err := stacked.Measure(cmd.Context(), r, o)
			finish()
			if errors.Is(err, stacked.ErrQualities) {
				return usageError{err}
			}
			if err != nil {
				return err
			}
			shown := report.Only(wants)
			if q.asJSON {
				return writeJSON(t.Out, stackedDocument{head("stacked"), r.Options.League, shown.Body()})
			}
			p := terminal.NewPrinter(t)
			printStacked(p, report, shown, full || q.filtered())
			return p.Close()
		},
	}
	q.flags(cmd)
	f := cmd.Flags()
	f.StringSliceVar(&qualities, "quality", stacked.DefaultQualities, "qualities to stack, two to eight `variables`")
	f.StringVar(&reference, "reference", defaultReference, "`line` that a good zone beats")
	f.BoolVar(&possible, "possible", false, "count as good as far as the limits of breakpoints allow")
	f.BoolVar(&full, "full", false, "print rates, comparisons and zones of every answer")
	complete(cmd, "quality", shape.Names(shape.Variables))
	complete(cmd, "reference", stacked.References())
	return cmd
}

// stackedDocument is what `stacked --json` prints.
type stackedDocument struct {
	document
	League string `json:"league"`
	stacked.Body
}

// printStacked writes the answers for a person.
func printStacked(p *terminal.Printer, all, shown *stacked.Report, full bool) {
	p.Prose(terminal.Bold, "", "", all.Summary())
	if len(all.Stacks) == 0 {
		return
	}
	p.Blank()
	switch {
	case len(shown.Stacks) == 0:
		p.Prose(terminal.Plain, "", "", "None of them is among these pitch types, matchups and outcomes.")
	case full:
		for i := range shown.Stacks {
			printStack(p, all, &shown.Stacks[i])
		}
	default:
		t := &terminal.Table{Fit: 4}
		t.Add(terminal.Cell{Text: "pitch", Style: terminal.Dim}, terminal.Cell{Text: "matchup", Style: terminal.Dim}, terminal.Cell{Text: "outcome", Style: terminal.Dim}, terminal.Cell{Text: "good zones of", Style: terminal.Dim}, terminal.Cell{Text: "answer", Style: terminal.Dim})
		for i := range shown.Stacks {
			s := &shown.Stacks[i]
			t.Add(terminal.Cell{Text: s.Type()}, terminal.Cell{Text: s.Matchup()}, terminal.Cell{Text: s.Outcome().Title}, terminal.Cell{Text: strings.Join(s.Names(), ", ")}, terminal.Cell{Text: s.InWords()})
		}
		p.Table(t, 0)
		p.Blank()
	}
	p.Prose(terminal.Plain, "", "", all.Caution())
}

// stackedWidth is how wide the rates of a stack are with their limits beside them.
const stackedWidth = 116

func printStack(p *terminal.Printer, all *stacked.Report, s *stacked.Stack) {
	p.Prose(terminal.Bold, "", "  ", s.Title())
	p.Prose(terminal.Plain, "  ", "", s.Sentence())
	if text := s.Trend(); text != "" {
		p.Prose(terminal.Plain, "  ", "", text)
	}
	of := map[string]map[int]stacked.Comparison{}
	var alone []stacked.Comparison
	for _, c := range s.Comparisons() {
		if c.Of == stacked.Alone {
			alone = append(alone, c)
			continue
		}
		if of[c.Of] == nil {
			of[c.Of] = map[int]stacked.Comparison{}
		}
		of[c.Of][c.Good] = c
	}
	apart := words.NoBreak // between a number and its limits
	tab := &terminal.Table{}
	if p.Width < stackedWidth {
		apart, tab.Limit = "\n", []int{16}
	}
	gain := func(c stacked.Comparison) string {
		if c.Gain == nil {
			return ""
		}
		return words.SignedRate(*c.Gain) + apart + strings.ReplaceAll(words.Interval(c.Lo, c.Hi, words.SignedRate), " ", words.NoBreak)
	}
	tab.Add(terminal.Cell{Text: "good", Style: terminal.Dim}, terminal.Cell{Text: s.Outcome().Events, Style: terminal.Dim, Right: true}, terminal.Cell{Text: "pitchers", Style: terminal.Dim, Right: true},
		terminal.Cell{Text: s.Outcome().Title, Style: terminal.Dim}, terminal.Cell{Text: "gain on none", Style: terminal.Dim}, terminal.Cell{Text: "gain on one fewer", Style: terminal.Dim})
	for _, l := range s.Levels() {
		rate := "too few"
		if l.Rate != nil {
			rate = words.Rate(*l.Rate) + apart + words.Interval(l.Lo, l.Hi, words.Rate)
		}
		name := s.LevelName(l.Good)
		tab.Add(terminal.Cell{Text: name}, terminal.Cell{Text: words.Count(l.Events), Right: true}, terminal.Cell{Text: words.Count(l.Pitchers), Right: true}, terminal.Cell{Text: rate},
			terminal.Cell{Text: gain(of[stacked.None][l.Good])}, terminal.Cell{Text: gain(of[stacked.Step][l.Good])})
	}
	if len(alone) > 1 {
		for _, c := range alone {
			text := gain(c)
			if text == "" {
				text = "too few"
			}
			tab.Add(terminal.Cell{Text: "only " + variableOf(c.Quality, "").Title}, terminal.Cell{}, terminal.Cell{}, terminal.Cell{}, terminal.Cell{Text: text})
		}
	}
	p.Table(tab, 2)
	for _, z := range s.Zones(all.Qualities) {
		p.Prose(terminal.Dim, "  ", "  ", words.Sentence(z)+".")
	}
	if n := s.Unknown(); n > 0 {
		p.Prose(terminal.Dim, "  ", "  ", "Left out: "+words.Count(n)+" pitches within the limits of a breakpoint, or of which a quality is unknown.")
	}
	p.Blank()
}
