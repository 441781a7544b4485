package main

import (
	"context"

	"github.com/spf13/cobra"

	"sill/config"
	"sill/pipeline"
	"sill/pipeline/ingest"
	"sill/pipeline/pitch"
	"sill/pipeline/render/terminal"
)

// question is what the commands share that read the pitches of a configuration
// again: where they are, and which answers are shown.
type question struct {
	file string
	only filters
	as   form
}

// flags registers the flags of a question.
func (q *question) flags(cmd *cobra.Command) {
	f := cmd.Flags()
	f.StringVarP(&q.file, "config", "c", "", "configuration `file` whose pitches are read (YAML)")
	q.only.flags(cmd, "type", "matchup", "outcome")
	q.as.flags(f, "")
}

// filtered tells whether some answers are left out.
func (q *question) filtered() bool {
	return len(q.only.types)+len(q.only.matchups)+len(q.only.outcomes) > 0
}

// wants reads the filters; the function that it returns tells what to show.
func (q *question) wants() (func(t pitch.Type, m pitch.Matchup, outcome string) bool, error) {
	if err := q.only.parse(nil, nil); err != nil {
		return nil, err
	}
	return func(t pitch.Type, m pitch.Matchup, outcome string) bool {
		return q.only.let(t.String(), m.String(), "", outcome)
	}, nil
}

// again loads a configuration whose pitches are read again; its inputs are there.
func again(t *terminal.Terminal, file string) (pipeline.Options, error) {
	resolved, err := config.Load(nil, file, t.Environ)
	if err != nil {
		return pipeline.Options{}, usageError{err}
	}
	o := resolved.Options
	if err := o.Validate(); err != nil {
		return o, usageError{err}
	}
	if _, err := ingest.Find(o.Inputs); err != nil {
		return o, usageError{err}
	}
	return o, nil
}

// open opens the pitches of the configuration; finish ends the last progress bar.
func (q *question) open(ctx context.Context, t *terminal.Terminal) (r *pipeline.Reading, finish func(), err error) {
	if q.file == "" {
		return nil, nil, usagef("setting --config is missing: name the configuration whose pitches are read, such as --config sill.yaml")
	}
	o, err := again(t, q.file)
	if err != nil {
		return nil, nil, err
	}
	o.Log, o.Progress, finish = watch(t, q.as.json || q.as.csv)
	r, err = pipeline.Reread(ctx, o)
	if err != nil {
		finish()
		return nil, nil, err
	}
	return r, finish, nil
}
