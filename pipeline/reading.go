package pipeline

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"io"
	"log/slog"
	"slices"
	"sync/atomic"

	"sill/pipeline/ingest"
	"sill/pipeline/locate"
	"sill/pipeline/pitch"
	"sill/pipeline/publish"
	"sill/pipeline/shape"
	"sill/pipeline/tally"
	"sill/pipeline/thresholds"
)

// ErrStratum marks a run that asks for a stratum which its source cannot tell.
var ErrStratum = errors.New("the source cannot be split by")

// Reading is a season that is open for questions which need its pitches, as often as
// they need them: rows are checked and read as Run does, and nothing is published.
type Reading struct {
	Options   Options // those of the run, handed down to the stages
	season    *ingest.Season
	resolver  *shape.Resolver
	variables []shape.Variable
	skipped   []string // variables that the source cannot tell
	say       teller
}

// Reread opens the inputs with every variable that they can tell.
func Reread(ctx context.Context, o Options) (*Reading, error) {
	if err := o.Validate(); err != nil {
		return nil, err
	}
	o.Variables = nil
	return open(ctx, o)
}

// open finds and indexes the inputs, and settles what they can tell.
func open(ctx context.Context, o Options) (*Reading, error) {
	o = o.shared()
	r := &Reading{Options: o, say: teller{o.Log, o.Progress}}
	files, err := ingest.Find(o.Inputs)
	if err != nil {
		return nil, err
	}
	r.say.stage("index", "files", len(files))
	if r.season, err = ingest.Index(ctx, files, o.Profile, o.Ingest); err != nil {
		return nil, err
	}
	if err := r.resolve(); err != nil {
		return nil, cmp.Or(r.rejected(ctx), err)
	}
	return r, nil
}

// resolve settles where each variable's values come from, once for the run.
func (r *Reading) resolve() error {
	wanted, err := r.Options.variables()
	if err != nil {
		return err
	}
	r.resolver, err = shape.NewResolver(r.season.Has, source(r.Options.Profile))
	if err != nil {
		return fmt.Errorf("%w: %w", ErrProfile, err)
	}
	for _, c := range r.resolver.Choices(wanted) {
		if c.Definition == "" {
			r.skipped = append(r.skipped, c.Variable)
		}
	}
	if r.variables = r.resolver.Variables(wanted); len(r.variables) == 0 {
		return fmt.Errorf("%w: the source has none of %v: map velocity, breaks or a trajectory", ErrProfile, shape.Names(wanted))
	}
	return nil
}

// rejected says whether so many rows are bad that nothing else needs to be said
// of the input.
func (r *Reading) rejected(ctx context.Context) error {
	_, err := r.season.Deliver(ctx, func(int, *pitch.Pitch) string { return "" })
	return err
}

// strata returns the named strata. Where the source lacks what a stratum needs, that
// is an error for one asked for by name and a note for the default.
func (r *Reading) strata(names []string) (strata []tally.Stratum, notes []string, err error) {
	absent := map[string]bool{}
	for _, c := range r.resolver.Choices(shape.Variables) {
		absent[c.Variable] = c.Definition == ""
	}
	has := func(name string) bool {
		if missing, variable := absent[name]; variable {
			return !missing
		}
		return r.season.Has(name)
	}
	all, err := tally.StrataNamed(names)
	asked := !slices.Equal(names, DefaultOptions().Strata)
	errs := []error{err}
	for _, s := range all {
		switch why := s.Lacks(r.variables, has); {
		case why == "":
			strata = append(strata, s)
		case asked:
			errs = append(errs, fmt.Errorf("%w %s: %s; map it in the profile, or leave the stratum out of the setting strata",
				ErrStratum, s.Name, why))
		default:
			notes = append(notes, fmt.Sprintf("no_stratum: %s was left out: %s", s.Name, why))
		}
	}
	return strata, notes, errors.Join(errs...)
}

// describe says what goes into a version, as far as it is known before the
// pitches are read.
func (r *Reading) describe() publish.Version {
	o := r.Options
	v := publish.Version{
		Tool: o.Tool, Algorithm: Algorithm, Seed: o.Seed, Replicates: o.Estimate.Replicates,
		Configuration: o.Settings, Formats: o.Formats, Warnings: locate.Warnings(),
	}
	for _, x := range r.variables {
		v.Variables = append(v.Variables, thresholds.Variable{Name: x.Name, Title: x.Title, Unit: x.Unit, Width: x.Width,
			Definition: x.Definition})
	}
	for _, in := range r.season.Inputs {
		v.Inputs = append(v.Inputs, thresholds.Input(in))
	}
	return v
}

// deliver reads the pitches once, completed by what their shape tells, and shows each
// to the counters.
func (r *Reading) deliver(ctx context.Context, counters ...pitch.Counter) (*shape.Quality, *ingest.Report, error) {
	shapes := make([]shape.Quality, r.Workers())
	complete := func(worker int, p *pitch.Pitch) string { return r.resolver.Complete(p, &shapes[worker]) }
	report, err := r.season.Deliver(ctx, complete, counters...)
	for i := range shapes[1:] {
		shapes[0].Add(&shapes[1+i])
	}
	return &shapes[0], report, err
}

// count reads the pitches once, counts them, and shows each to the counters too.
func (r *Reading) count(ctx context.Context, strata []tally.Stratum, counters ...pitch.Counter) (
	*tally.Tally, *shape.Quality, *ingest.Report, error,
) {
	builder, err := tally.NewBuilder(r.variables, strata, r.Names(), r.Workers())
	if err != nil {
		return nil, nil, nil, err
	}
	counters = append(counters, progress{r.season.Rows(), new(atomic.Int64), r.Options.Progress}, builder)
	shapes, report, err := r.deliver(ctx, counters...)
	if err != nil {
		return nil, nil, nil, err
	}
	counts, err := builder.Tally()
	return counts, shapes, report, err
}

// Names returns the name lists that the pitches index.
func (r *Reading) Names() tally.Names {
	n := r.season.Names
	return tally.Names{Pitchers: n.Pitchers, Batters: n.Batters, Games: n.Games, Levels: n.Levels}
}

// Variables returns the variables that the source can tell, at the run's widths.
func (r *Reading) Variables() []shape.Variable { return r.variables }

// Workers returns how many goroutines read at once.
func (r *Reading) Workers() int { return r.Options.Workers }

// Each reads the pitches once.
func (r *Reading) Each(ctx context.Context, sink func(worker int, batch []pitch.Pitch) error) error {
	r.say.stage("read", "rows", r.season.Rows())
	_, _, err := r.deliver(ctx, pitch.CounterFunc(sink))
	return err
}

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

// progress counts the pitches that have passed, for a progress bar.
type progress struct {
	of   int64
	done *atomic.Int64
	tell func(stage string, done, total int64)
}

// Add counts a batch.
func (p progress) Add(_ int, batch []pitch.Pitch) error {
	if n := p.done.Add(int64(len(batch))); p.tell != nil {
		p.tell("count", n, p.of)
	}
	return nil
}

// teller tells a terminal's progress bar and the log which stage begins.
type teller struct {
	log      *slog.Logger
	progress func(stage string, done, total int64)
}

func (t teller) stage(name string, facts ...any) {
	log := t.log
	if log == nil {
		log = slog.New(slog.NewTextHandler(io.Discard, nil))
	}
	log.Info(name, facts...)
	if t.progress != nil {
		t.progress(name, 0, 0)
	}
}
