package main

import (
	"context"
	"slices"

	"github.com/spf13/cobra"

	"sill/config"
	"sill/pipeline"
	"sill/pipeline/ingest"
	"sill/pipeline/pitch"
)

// question is what the commands share that read the pitches of a configuration
// again: where they are, and which answers are shown.
type question struct {
	file                      string
	types, matchups, outcomes []string
	asJSON                    bool
}

// flags registers the flags of a question.
func (q *question) flags(cmd *cobra.Command) {
	f := cmd.Flags()
	f.StringVarP(&q.file, "config", "c", "", "configuration `file` whose pitches are read (YAML)")
	f.StringSliceVar(&q.types, "type", nil, "show these pitch types, such as `four_seam,sinker`")
	f.StringSliceVar(&q.matchups, "matchup", nil, "show these matchups, such as `L-v-L,L-v-R`")
	f.StringSliceVar(&q.outcomes, "outcome", nil, "show these outcomes: `whiff_rate,woba_against`")
	f.BoolVar(&q.asJSON, "json", false, "print JSON")
	complete(cmd, "type", typeWords())
	complete(cmd, "matchup", matchupNames())
	complete(cmd, "outcome", outcomeNames())
}

// filtered tells whether some answers are left out.
func (q *question) filtered() bool { return len(q.types)+len(q.matchups)+len(q.outcomes) > 0 }

// wants reads the filters; the function that it returns tells what to show.
func (q *question) wants() (func(t pitch.Type, m pitch.Matchup, outcome string) bool, error) {
	types, err := parseAll(q.types, parseType)
	if err != nil {
		return nil, err
	}
	matchups, err := parseAll(q.matchups, parseMatchup)
	if err != nil {
		return nil, err
	}
	outcomes, err := parseAll(q.outcomes, parseWord("outcome", outcomeNames()))
	if err != nil {
		return nil, err
	}
	in := func(list []string, word string) bool { return len(list) == 0 || slices.Contains(list, word) }
	return func(t pitch.Type, m pitch.Matchup, outcome string) bool {
		return in(types, t.String()) && in(matchups, m.String()) && in(outcomes, outcome)
	}, nil
}

// open opens the pitches of the configuration; finish ends the last progress bar.
func (q *question) open(ctx context.Context, t *terminal) (r *pipeline.Reading, finish func(), err error) {
	if q.file == "" {
		return nil, nil, usagef("setting --config is missing: name the configuration whose pitches are read, such as --config sill.yaml")
	}
	resolved, err := config.Load(nil, q.file, t.environ)
	if err != nil {
		return nil, nil, usageError{err}
	}
	o := resolved.Options
	if err := o.Validate(); err != nil {
		return nil, nil, usageError{err}
	}
	if _, err := ingest.Find(o.Inputs); err != nil {
		return nil, nil, usageError{err}
	}
	o.Log, o.Progress, finish = watch(t, q.asJSON)
	r, err = pipeline.Reread(ctx, o)
	if err != nil {
		finish()
		return nil, nil, err
	}
	return r, finish, nil
}
