package main

import (
	"errors"
	"strings"

	"github.com/spf13/cobra"

	"sill/pipeline/analysis/stacked"
	"sill/pipeline/render/words"
)

// newStacked is the command that asks how many good qualities a pitch needs.
func newStacked(t *terminal) *cobra.Command {
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
			if o.Qualities, err = parseAll(qualities, parseWord("variable", variableNames())); err != nil {
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
				return writeJSON(t.out, stackedDocument{head("stacked"), r.Options.League, shown.Body()})
			}
			p := newPrinter(t)
			printStacked(p, report, shown, full || q.filtered())
			return p.close()
		},
	}
	q.flags(cmd)
	f := cmd.Flags()
	f.StringSliceVar(&qualities, "quality", stacked.DefaultQualities, "qualities to stack, two to eight `variables`")
	f.StringVar(&reference, "reference", defaultReference, "`line` that a good zone beats")
	f.BoolVar(&possible, "possible", false, "count as good as far as the limits of breakpoints allow")
	f.BoolVar(&full, "full", false, "print rates, comparisons and zones of every answer")
	complete(cmd, "quality", variableNames())
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
func printStacked(p *printer, all, shown *stacked.Report, full bool) {
	p.prose(bold, "", "", all.Summary())
	if len(all.Stacks) == 0 {
		return
	}
	p.blank()
	switch {
	case len(shown.Stacks) == 0:
		p.prose(plain, "", "", "None of them is among these pitch types, matchups and outcomes.")
	case full:
		for i := range shown.Stacks {
			printStack(p, all, &shown.Stacks[i])
		}
	default:
		t := &table{fit: 4}
		t.add(cell{text: "pitch", style: dim}, cell{text: "matchup", style: dim}, cell{text: "outcome", style: dim}, cell{text: "good zones of", style: dim}, cell{text: "answer", style: dim})
		for i := range shown.Stacks {
			s := &shown.Stacks[i]
			t.add(cell{text: s.Type()}, cell{text: s.Matchup()}, cell{text: s.Outcome().Title}, cell{text: strings.Join(s.Names(), ", ")}, cell{text: s.InWords()})
		}
		p.table(t, 0)
		p.blank()
	}
	p.prose(plain, "", "", all.Caution())
}

// stackedWidth is how wide the rates of a stack are with their limits beside them.
const stackedWidth = 116

func printStack(p *printer, all *stacked.Report, s *stacked.Stack) {
	p.prose(bold, "", "  ", s.Title())
	p.prose(plain, "  ", "", s.Sentence())
	if text := s.Trend(); text != "" {
		p.prose(plain, "  ", "", text)
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
	tab := &table{}
	if p.width < stackedWidth {
		apart, tab.limit = "\n", []int{16}
	}
	gain := func(c stacked.Comparison) string {
		if c.Gain == nil {
			return ""
		}
		return words.SignedRate(*c.Gain) + apart + strings.ReplaceAll(span(c.Lo, c.Hi, words.SignedRate), " ", words.NoBreak)
	}
	tab.add(cell{text: "good", style: dim}, cell{text: s.Outcome().Events, style: dim, right: true}, cell{text: "pitchers", style: dim, right: true},
		cell{text: s.Outcome().Title, style: dim}, cell{text: "gain on none", style: dim}, cell{text: "gain on one fewer", style: dim})
	for _, l := range s.Levels() {
		rate := "too few"
		if l.Rate != nil {
			rate = words.Rate(*l.Rate) + apart + span(l.Lo, l.Hi, words.Rate)
		}
		name := s.LevelName(l.Good)
		tab.add(cell{text: name}, cell{text: words.Count(l.Events), right: true}, cell{text: words.Count(l.Pitchers), right: true}, cell{text: rate},
			cell{text: gain(of[stacked.None][l.Good])}, cell{text: gain(of[stacked.Step][l.Good])})
	}
	if len(alone) > 1 {
		for _, c := range alone {
			text := gain(c)
			if text == "" {
				text = "too few"
			}
			tab.add(cell{text: "only " + variableOf(c.Quality, "").Title}, cell{}, cell{}, cell{}, cell{text: text})
		}
	}
	p.table(tab, 2)
	for _, z := range s.Zones(all.Qualities) {
		p.prose(dim, "  ", "  ", words.Sentence(z)+".")
	}
	if n := s.Unknown(); n > 0 {
		p.prose(dim, "  ", "  ", "Left out: "+words.Count(n)+" pitches within the limits of a breakpoint, or of which a quality is unknown.")
	}
	p.blank()
}
