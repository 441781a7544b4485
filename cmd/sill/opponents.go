package main

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"sill/pipeline/analysis/opponents"
	"sill/pipeline/outcome"
	"sill/pipeline/render/terminal"
	"sill/pipeline/render/words"
	"sill/pipeline/shape"
	"sill/pipeline/thresholds"
)

// newOpponents is the command that asks who was facing the pitchers.
func newOpponents(t *terminal.Terminal) *cobra.Command {
	var at place
	var q question
	var variables []string
	var full bool
	cmd := &cobra.Command{
		Use:   "opponents",
		Short: "Ask who was facing: better or worse batters than the league's",
		Long: `opponents says of each pitch type and matchup whether the batters faced were better
or worse than those whom pitchers of that hand face from that side, and what the
rate would be against the league's: specialists and pinch hitters choose their
pitchers, and managers choose theirs. Each batter is judged by what he did against
that hand from that side, with the levels of pitch types held equal, and without
the pitcher concerned.

Each bin of a quality is asked about too, with 10 % false discoveries among all
bins. Without --config it reads a published version, with it the pitches.`,
		Example: `  sill opponents                          # of the newest published version
  sill opponents --type sinker --full     # every matchup, clear or not
  sill opponents --variable velocity      # along one quality
  sill opponents --config demo/sill.yaml  # from the pitches`,
		Args: args(),
		RunE: func(cmd *cobra.Command, _ []string) error {
			wants, err := q.wants()
			if err != nil {
				return err
			}
			named, err := parseAll(variables, parseWord("variable", shape.Names(shape.Variables)))
			if err != nil {
				return err
			}
			var league string
			var cells []opponents.Faced
			var along []opponents.Stretch
			if q.file == "" {
				v, err := at.open()
				if err != nil {
					return err
				}
				warnDeprecated(t, v)
				var rows []thresholds.Opponent
				if err := collect(&rows, v.table.Opponents()); err != nil {
					return err
				}
				league = v.league + " " + v.version
				cells, along = opponents.FromRows(rows)
			} else {
				r, finish, err := q.open(cmd.Context(), t)
				if err != nil {
					return err
				}
				vars := r.Variables()
				if len(named) > 0 {
					if vars, err = shape.Only(vars, named); err != nil {
						finish()
						return usageError{err}
					}
				}
				scoring := r.Options.Estimate.Scoring()
				cells, along, err = opponents.Along(cmd.Context(), r, vars, &scoring)
				finish()
				if err != nil {
					return err
				}
				league = r.Options.League
			}
			cells = slices.DeleteFunc(cells, func(f opponents.Faced) bool {
				return !wants(f.Type, f.Matchup(), outcome.Metrics[f.Metric].Name)
			})
			along = slices.DeleteFunc(along, func(s opponents.Stretch) bool {
				return !wants(s.Type, s.Matchup(), outcome.Metrics[s.Metric].Name) || len(named) > 0 && !slices.Contains(named, s.Variable.Name)
			})
			if q.asJSON {
				return writeJSON(t.Out, opponentsDocument{head("opponents"), league, opponents.Rows(cells, nil), opponents.Rows(nil, along)})
			}
			p := terminal.NewPrinter(t)
			p.Line(terminal.Bold, "%s", league)
			printOpponents(p, cells, along, full)
			return p.Close()
		},
	}
	q.flags(cmd)
	f := cmd.Flags()
	at.flags(f)
	f.StringSliceVar(&variables, "variable", nil, "`variables` along which batters are told (default all)")
	f.BoolVar(&full, "full", false, "print every pitch type and matchup, clear or not")
	complete(cmd, "variable", shape.Names(shape.Variables))
	return cmd
}

// opponentsDocument is what `opponents --json` prints.
type opponentsDocument struct {
	document
	League    string                `json:"league"`
	Cells     []thresholds.Opponent `json:"cells" doc:"who was facing in each pitch type and matchup"`
	Stretches []thresholds.Opponent `json:"stretches" doc:"who was facing in each bin of a quality"`
}

// printOpponents writes the answers for a person.
func printOpponents(p *terminal.Printer, cells []opponents.Faced, along []opponents.Stretch, full bool) {
	told, clear, largest := 0, 0, 0.0
	for i := range cells {
		if f := &cells[i]; !math.IsNaN(f.Difference) {
			told++
			if f.Clear() {
				clear++
			}
			if f.Lo > 0 || f.Hi < 0 {
				largest = max(largest, math.Abs(f.Difference))
			}
		}
	}
	text := fmt.Sprintf("Of %s of pitch type, matchup and outcome, ", words.Plural(int64(told), "combination"))
	switch {
	case told == 0:
		text = "Nothing can be told of the batters faced: too few pitchers, or no batter is known."
	case clear == 0:
		text += "in none were the batters faced clearly better or worse than the league's by .010 or more"
		if largest > 0 {
			text += "; the largest difference that is shown is " + words.Rate(largest)
		}
		text += "."
	default:
		text += fmt.Sprintf("in %d the batters faced were clearly better or worse than the league's by .010 or more.", clear)
	}
	p.Prose(terminal.Bold, "", "", text)
	for i := range cells {
		if cells[i].Clear() {
			p.Prose(terminal.Plain, "  ", "  ", words.Sentence(cells[i].Sentence()))
		}
	}
	if full && told > 0 {
		p.Blank()
		tab, apart := &terminal.Table{}, " "
		if p.Width < 88 {
			apart = "\n"
		}
		tab.Add(terminal.Cell{Text: "pitch", Style: terminal.Dim}, terminal.Cell{Text: "matchup", Style: terminal.Dim}, terminal.Cell{Text: "outcome", Style: terminal.Dim}, terminal.Cell{Text: "events", Style: terminal.Dim, Right: true},
			terminal.Cell{Text: "batters", Style: terminal.Dim, Right: true}, terminal.Cell{Text: "against the league's", Style: terminal.Dim}, terminal.Cell{Text: "rate", Style: terminal.Dim}, terminal.Cell{Text: "adjusted", Style: terminal.Dim})
		for i := range cells {
			f := &cells[i]
			limits, adjusted := "too few", ""
			if !math.IsNaN(f.Difference) {
				limits = words.SignedRate(f.Difference) + apart + strings.ReplaceAll(words.Interval(&f.Lo, &f.Hi, words.SignedRate), " ", words.NoBreak)
				adjusted = words.Rate(f.Adjusted)
			}
			tab.Add(terminal.Cell{Text: typeTitle(f.Type.String())}, terminal.Cell{Text: f.Matchup().String()}, terminal.Cell{Text: outcome.Metrics[f.Metric].Title},
				terminal.Cell{Text: words.Count(f.Events), Right: true}, terminal.Cell{Text: words.Count(f.Batters), Right: true}, terminal.Cell{Text: limits}, terminal.Cell{Text: words.Rate(f.Rate)}, terminal.Cell{Text: adjusted})
		}
		p.Table(tab, 0)
	}
	if len(along) > 0 {
		p.Blank()
		printStretches(p, along)
	}
	p.Blank()
	p.Prose(terminal.Plain, "", "", "A batter is compared with those who face the same hand from the same side; whether all of these are better than other batters is not asked. "+
		"Thresholds are found on the rates as they were: a warning `opponents` stands on those that this concerns.")
}

// printStretches lists the bins whose batters are clearly better or worse.
func printStretches(p *terminal.Printer, along []opponents.Stretch) {
	told, clear := 0, 0
	for i := range along {
		if !math.IsNaN(along[i].Q) {
			told++
		}
		if along[i].Clear() {
			clear++
		}
	}
	text := fmt.Sprintf("Along the qualities %s were asked about, ", words.Plural(int64(told), "bin"))
	if clear == 0 {
		p.Prose(terminal.Bold, "", "", text+"and in none were the batters clearly better or worse by .010 or more: no curve is bent by who was facing, as far as can be told.")
		return
	}
	p.Prose(terminal.Bold, "", "", text+fmt.Sprintf("and in %d the batters were clearly better or worse by .010 or more:", clear))
	for i := range along {
		if along[i].Clear() {
			p.Prose(terminal.Plain, "  ", "  ", words.Sentence(along[i].Sentence()))
		}
	}
}
