package pipeline

import (
	"context"

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
	season, resolver, variables, _, err := open(ctx, o, say)
	if err != nil {
		return nil, err
	}
	variables = derive(variables)
	say.stage("count", "rows", season.Rows(), "variables", len(variables))
	counts, _, _, _, err := count(ctx, season, resolver, variables, o)
	return counts, err
}
