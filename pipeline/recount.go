package pipeline

import (
	"cmp"
	"context"

	"sill/pipeline/ingest"
	"sill/pipeline/shape"
	"sill/pipeline/tally"
)

// Recount reads the inputs once and counts by the variables that derive makes of
// those the source can tell. Rows are checked and read as Run does; nothing is
// published.
func Recount(ctx context.Context, o Options, derive func([]shape.Variable) []shape.Variable) (*tally.Tally, error) {
	if err := o.Validate(); err != nil {
		return nil, err
	}
	o.Variables = nil
	o = o.shared()
	say := teller{o.Log, o.Progress}
	files, err := ingest.Find(o.Inputs)
	if err != nil {
		return nil, err
	}
	say.stage("index", "files", len(files))
	season, err := ingest.Index(ctx, files, o.Profile, o.Ingest)
	if err != nil {
		return nil, err
	}
	resolver, variables, _, err := resolve(season, o)
	if err != nil {
		return nil, cmp.Or(rejected(ctx, season), err)
	}
	variables = derive(variables)
	say.stage("count", "rows", season.Rows(), "variables", len(variables))
	counts, _, _, _, err := count(ctx, season, resolver, variables, o)
	return counts, err
}
