package tally

import (
	"context"

	"sill/pipeline/pitch"
	"sill/pipeline/shape"
)

// Pitches can be read as often as a question needs: the same pitches each time,
// in any order.
type Pitches interface {
	Names() Names
	Variables() []shape.Variable // that the source can tell
	// Each hands every pitch to sink in batches, which are not to be kept, from
	// several workers at once, 0 ≤ worker < Workers().
	Each(ctx context.Context, sink func(worker int, batch []pitch.Pitch) error) error
	Workers() int
}

// Count reads the pitches once and counts them.
func Count(ctx context.Context, p Pitches, vars []shape.Variable, strata ...Stratum) (*Tally, error) {
	b, err := NewBuilder(vars, strata, p.Names(), p.Workers())
	if err != nil {
		return nil, err
	}
	if err := p.Each(ctx, b.Add); err != nil {
		return nil, err
	}
	return b.Tally()
}

// Held are pitches in memory.
type Held struct {
	List   []pitch.Pitch
	Listed Names
	Shapes []shape.Variable
}

// Names returns the name lists that the pitches index.
func (h *Held) Names() Names { return h.Listed }

// Variables returns the variables that are to be told of them.
func (h *Held) Variables() []shape.Variable { return h.Shapes }

// Workers returns 1.
func (h *Held) Workers() int { return 1 }

// Each hands all pitches to sink at once.
func (h *Held) Each(_ context.Context, sink func(worker int, batch []pitch.Pitch) error) error {
	return sink(0, h.List)
}
