package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"slices"

	"github.com/spf13/cobra"

	"sill/pipeline"
	"sill/pipeline/analysis/compare"
	"sill/pipeline/analysis/trial"
	"sill/pipeline/render/screen"
	"sill/pipeline/render/terminal"
	"sill/pipeline/shape"
	"sill/pipeline/thresholds"
)

// The gates of trial: what makes it exit with exitNo.
var trialGates = []string{"fails", "unsettled"}

// newTrial is the command that tries stated cutoffs in a league.
func newTrial(t *terminal.Terminal) *cobra.Command {
	var at place
	var of, file, gate string
	var example, brief bool
	var as form
	cmd := &cobra.Command{
		Use:   "trial CLAIMS",
		Short: "Try stated cutoffs, from a file or another league's thresholds, in a league",
		Long: `trial asks of each claim ("four-seam L-v-R, velocity at least 93 mph") whether the
pitch does better inside the region than outside it, by how much, and whether
pitchers who throw on both sides show it themselves. Claims come from a file, YAML
or CSV (--example prints one), or are the thresholds of a published version (--of).

They are tried on the counts that a published version keeps, which takes seconds:
a cutoff is then moved to the nearest edge of a bin, and the output says so. With
--config the pitches are read again and each cutoff is tried as it stands. A bound
belongs to what is above it: at most 5 is everything below 5.

A claim holds where the 95 % interval of the difference, pitchers and batters
being the clusters, lies above 0 and reaches the smallest advantage of interest,
and where the claim stays with 10 % false discoveries among the claims tried
together. It does not hold where the interval stays below that advantage and
reaches 0. Any cut through a slope holds: the output also says where the league's
own breakpoint lies.`,
		Example: `  sill trial --example >claims.yaml             # cutoffs of the trade, to start from
  sill trial claims.yaml --league kestrel
  sill trial --of lantern --league kestrel      # do lantern's thresholds hold there?
  sill trial claims.yaml --config demo/sill.yaml # exact, from the pitches
  sill trial claims.yaml --league kestrel --gate || echo "a claim fails"`,
		Args: cobra.ArbitraryArgs,
		RunE: func(cmd *cobra.Command, words []string) error {
			if example {
				_, err := fmt.Fprint(t.Out, trial.Example)
				return err
			}
			// `--gate unsettled` leaves its word among the arguments, since --gate
			// stands alone too.
			if cmd.Flags().Changed("gate") {
				if i := slices.IndexFunc(words, func(w string) bool { return slices.Contains(trialGates, w) }); i >= 0 && (len(words) > 1 || of != "") {
					gate = words[i]
					words = slices.Delete(words, i, i+1)
				}
				if !slices.Contains(trialGates, gate) {
					return unknown("gate", gate, trialGates)
				}
			}
			if err := as.check(cmd); err != nil {
				return err
			}
			claims, from, err := at.claims(cmd, words, of)
			if err != nil {
				return err
			}
			league, notes, err := at.ground(cmd.Context(), t, claims, from, file, as.json || as.csv)
			if err != nil {
				return err
			}
			tried := trial.Try(claims, league)
			doc := trialDocument{head("trial"), append([]string{}, notes...), tried.Body()}
			rows := func(to io.Writer) error { return trial.CSV(to, tried.Rows) }
			err = as.print(t, doc, rows, func(p *terminal.Printer) { screen.Trial(p, tried, notes, brief) })
			switch {
			case err != nil || !cmd.Flags().Changed("gate"):
				return err
			case tried.Fails():
				return fmt.Errorf("%w: a claim does not hold", errNo)
			case gate == "unsettled" && tried.Unsettled():
				return fmt.Errorf("%w: a claim cannot be told yet", errNo)
			}
			return nil
		},
	}
	f := cmd.Flags()
	at.flags(f)
	f.StringVarP(&file, "config", "c", "", "configuration `file`: read the pitches again, so that cutoffs are exact")
	f.StringVar(&of, "of", "", "`version` whose thresholds are the claims: lantern, lantern@v1.0.0, or a folder")
	f.BoolVar(&example, "example", false, "print a file of claims: cutoffs of the trade")
	f.BoolVar(&brief, "brief", false, "print one line a claim")
	f.StringVar(&gate, "gate", "", fmt.Sprintf("exit %d where a claim `fails` (the default) or is unsettled, for scripts", exitNo))
	f.Lookup("gate").NoOptDefVal = trialGates[0]
	as.flags(f, "print every row as CSV")
	complete(cmd, "gate", trialGates)
	return cmd
}

// trialDocument is what `trial --json` prints.
type trialDocument struct {
	document
	Notes []string `json:"notes" doc:"what a reader must know"`
	trial.Body
}

// claims reads a file of claims, or a version's thresholds, whose manifest is
// returned then.
func (a *place) claims(cmd *cobra.Command, words []string, of string) ([]trial.Claim, *thresholds.Manifest, error) {
	if of == "" {
		if err := args("CLAIMS")(cmd, words); err != nil {
			return nil, nil, err
		}
		text, err := os.ReadFile(words[0])
		if err != nil {
			return nil, nil, usagef("read claims: %w; `sill trial --example` prints a file to start from", err)
		}
		claims, err := trial.Read(words[0], text, near)
		if err != nil {
			return nil, nil, usageError{err}
		}
		return claims, nil, nil
	}
	if len(words) > 0 {
		return nil, nil, usagef("trial: claims come from a file or from --of, not from both")
	}
	at, err := (&place{store: a.store}).named(of)
	if err != nil {
		return nil, nil, err
	}
	v, err := at.open()
	if err != nil {
		return nil, nil, err
	}
	m := v.table.Manifest()
	claims := trial.Of(m, v.tables)
	if len(claims) == 0 {
		return nil, nil, usagef("trial: %s %s has no threshold to try", v.league, v.version)
	}
	return claims, &m, nil
}

// ground makes ready what the claims are tried in: a version's kept counts, or,
// where a configuration is given, its pitches and the newest version of its league.
func (a *place) ground(ctx context.Context, t *terminal.Terminal, claims []trial.Claim, from *thresholds.Manifest, file string, quiet bool) (trial.League, []string, error) {
	var notes []string
	if file != "" {
		return recounted(ctx, t, claims, file, quiet)
	}
	side, err := a.kept()
	if err != nil {
		return trial.League{}, nil, err
	}
	m := side.Manifest
	name := m.Name + " " + m.Version
	if side.Tally == nil {
		why := "is not kept"
		if side.Lost != "" {
			why = side.Lost
		}
		return trial.League{}, nil, usagef("trial: the hand-over of %s %s; try the claims on its pitches with --config", name, why)
	}
	o, err := compare.EstimateOptions(m)
	if err != nil {
		return trial.League{}, nil, err
	}
	if from != nil && slices.ContainsFunc(from.Inputs, func(a thresholds.Input) bool {
		return slices.ContainsFunc(m.Inputs, func(b thresholds.Input) bool { return a.SHA256 == b.SHA256 })
	}) {
		notes = append(notes, "The thresholds were found in the very pitches they are tried on: they hold too easily here. Try them in another season or league.")
	}
	return trial.League{Name: name, Tally: side.Tally, Scoring: o.Scoring(), Batters: o.Batters,
		Zones: append([]thresholds.Zone{}, side.Tables.Zones...)}, notes, nil
}

// recounted counts the pitches of a configuration by the claims' own bounds.
func recounted(ctx context.Context, t *terminal.Terminal, claims []trial.Claim, file string, quiet bool) (trial.League, []string, error) {
	o, err := again(t, file)
	if err != nil {
		return trial.League{}, nil, err
	}
	var finish func()
	o.Log, o.Progress, finish = watch(t, quiet)
	counts, err := pipeline.Recount(ctx, o, func(vars []shape.Variable) []shape.Variable { return trial.Exactly(claims, vars) })
	finish()
	if err != nil {
		return trial.League{}, nil, err
	}
	l := trial.League{Name: o.League, Tally: counts, Scoring: o.Estimate.Scoring(), Batters: o.Estimate.Batters}
	published, err := (&place{store: o.Output, league: o.League}).open()
	var usage usageError
	switch {
	case errors.As(err, &usage): // nothing is published yet
		return l, []string{"The league has no published version, so nothing can be said of its own breakpoints."}, nil
	case err != nil:
		return l, nil, err
	}
	l.Zones = append([]thresholds.Zone{}, published.tables.Zones...)
	return l, []string{"Cutoffs are exact, counted from the pitches; breakpoints are those of " + published.league + " " + published.version + "."}, nil
}
