package pipeline

import (
	"errors"
	"fmt"
	"log/slog"
	"regexp"
	"runtime"
	"slices"
	"strings"
	"time"

	"sill/pipeline/estimate"
	"sill/pipeline/ingest"
	"sill/pipeline/locate"
	"sill/pipeline/publish"
	"sill/pipeline/shape"
	"sill/pipeline/tally"
	"sill/pipeline/thresholds"
)

// Options are the settings of a run. The tags of a field are its only
// description (see config.Reference): mapstructure gives its key, doc its
// meaning, flag a flag of its own; path marks paths and local marks what is no
// part of a version's identity. Untagged fields are set by the caller.
type Options struct {
	League      string           `mapstructure:"league" flag:"league" doc:"name of the league and of the folder of its published versions"`
	Inputs      []string         `mapstructure:"inputs" flag:"input" path:"true" local:"true" doc:"season Parquet: files, folders or globs"`
	ProfileFile string           `mapstructure:"profile" flag:"profile" path:"true" local:"true" doc:"source profile that maps the provider's columns"`
	Output      string           `mapstructure:"output" flag:"output" path:"true" local:"true" doc:"folder that holds the published leagues"`
	Seed        uint64           `mapstructure:"seed" flag:"seed" doc:"seed of every random draw"`
	Workers     int              `mapstructure:"workers" flag:"workers" local:"true" doc:"how many things to do at a time; 0 for one a core"`
	Formats     []string         `mapstructure:"formats" flag:"format" doc:"formats to publish beside CSV, JSON, Parquet and Arrow: sql"`
	Variables   []string         `mapstructure:"variables" flag:"variable" doc:"variables to seek thresholds in; empty for all that the data have"`
	Strata      []string         `mapstructure:"strata" flag:"strata" doc:"extra splits of every matchup and pitch type, each tested by itself: fastball_height_third, plate_height_third, zone_part, count, arm_slot_band, velocity_band, season, level; empty for none"`
	Widths      []Width          `mapstructure:"widths" doc:"bin widths other than the default: a list of {variable, width}"`
	Ingest      ingest.Options   `mapstructure:"ingest"`
	Estimate    estimate.Options `mapstructure:"estimate"`
	Locate      locate.Options   `mapstructure:"locate"`

	Profile  *ingest.Profile      // decoded from ProfileFile
	Settings []thresholds.Setting // how each value was resolved, for the manifest
	DryRun   bool                 // read and check the inputs, publish nothing
	Draft    bool                 // leave the finished version in staging, for publish.CommitDraft
	Bump     publish.Bump         // step of the version's number
	Created  time.Time            // recorded in the manifest and the log (see Now)
	Host     string               // recorded in the manifest, "" for none
	Tool     thresholds.Tool
	Log      *slog.Logger
	Progress func(stage string, done, total int64)
}

// Width overrides the bin width of one variable, in the variable's unit.
type Width struct {
	Variable string  `mapstructure:"variable"`
	Width    float64 `mapstructure:"width"`
}

// DefaultOptions returns the default settings, without inputs.
func DefaultOptions() Options {
	return Options{
		Inputs:    []string{},
		Output:    "outputs",
		Seed:      1,
		Formats:   []string{},
		Variables: []string{},
		Strata:    []string{tally.FastballThirds},
		Widths:    []Width{},
		Ingest:    ingest.DefaultOptions(),
		Estimate:  estimate.DefaultOptions(),
		Locate:    locate.DefaultOptions(),
	}
}

// plainName admits names that are one folder on every system.
var plainName = regexp.MustCompile(`^[A-Za-z0-9][A-Za-z0-9._-]{0,99}$`)

// Validate reports every fault of the settings, those of the stages included.
func (o Options) Validate() error {
	var faults []error
	missing := func(bad bool, key, fix string) {
		if bad {
			faults = append(faults, fmt.Errorf("setting %s is missing: %s", key, fix))
		}
	}
	missing(o.League == "", "league", "name the league, such as --league lantern")
	missing(len(o.Inputs) == 0, "inputs", "name files, folders or globs of Parquet, such as --input season/")
	missing(o.Profile == nil, "profile", "name a source profile; `sill inspect FILE --write profile.yaml` writes a first one")
	missing(o.Output == "", "output", "name the folder to publish in")
	if o.League != "" && !plainName.MatchString(o.League) {
		faults = append(faults, fmt.Errorf("setting league is %q: use letters, digits, dots, dashes and underscores, such as lantern; output names the folder above", o.League))
	}
	if o.Workers < 0 {
		faults = append(faults, fmt.Errorf("setting workers is %d: use 0 for one a core", o.Workers))
	}
	for _, f := range o.Formats {
		if !slices.Contains(publish.OptionalFormats(), f) {
			faults = append(faults, fmt.Errorf("setting formats holds %q: use %s; CSV, JSON, Parquet and Arrow are always there", f, strings.Join(publish.OptionalFormats(), ", ")))
		}
	}
	_, err := o.variables()
	_, strataErr := tally.StrataNamed(o.Strata)
	if strataErr != nil {
		strataErr = fmt.Errorf("setting strata: %w", strataErr)
	}
	faults = append(faults, err, strataErr, o.Ingest.Validate(), o.Estimate.Validate(), o.Locate.Validate())
	return errors.Join(faults...)
}

// variables returns the wanted variables at the wanted widths.
func (o Options) variables() ([]shape.Variable, error) {
	widths := make(map[string]float64, len(o.Widths))
	for _, w := range o.Widths {
		if _, twice := widths[w.Variable]; twice {
			return nil, fmt.Errorf("setting widths: %s is given twice", w.Variable)
		}
		widths[w.Variable] = w.Width
	}
	all, err := shape.WithWidths(shape.Variables, widths)
	if err != nil {
		return nil, fmt.Errorf("setting widths: %w", err)
	}
	if len(o.Variables) == 0 {
		return all, nil
	}
	return shape.Only(all, o.Variables)
}

// shared hands the settings of the whole run down to the stages.
func (o Options) shared() Options {
	if o.Workers == 0 {
		o.Workers = runtime.GOMAXPROCS(0)
	}
	o.Ingest.Workers, o.Locate.Workers, o.Estimate.Seed = o.Workers, o.Workers, o.Seed
	if o.Progress != nil {
		progress := o.Progress
		o.Estimate.Progress = func(done, of int) { progress("estimate", int64(done), int64(of)) }
		o.Locate.Progress = func(done, of int) { progress("locate", int64(done), int64(of)) }
	}
	return o
}

// source says how the profile's provider measures.
func source(p *ingest.Profile) shape.Source {
	s := shape.DefaultSource()
	place := func(at ingest.Point) shape.Place {
		if at.Release {
			return shape.AtRelease
		}
		return shape.Place(at.Y)
	}
	s.SpeedAt = place(p.Speed())
	if p.MovementFrom != nil {
		s.MovementFrom, s.MovementTo = place(p.Movement()), shape.AtPlateFront
	}
	return s
}
