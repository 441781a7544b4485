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
	r, err := Reread(ctx, o)
	if err != nil {
		return nil, err
	}
	return tally.Count(ctx, r, derive(r.Variables()))
}
