package ingest

import (
	"errors"
	"fmt"
	"maps"
	"math"
	"path"
	"slices"
	"strings"
	"time"

	"sill/pipeline/pitch"
)

// Profile maps one provider's files onto the dictionary of package pitch. It is
// written as YAML and decoded by package config; the zero value maps nothing.
//
// A `from`, a sentinel and a filter value is compared by the type of the source
// column: text (quoted in YAML) also compares with numbers, booleans and dates
// by reading it as such, a bare number only with number columns. Bare dates and
// numbers with leading zeros, which YAML reads as other values, are refused
// where the YAML is read (package config).
type Profile struct {
	// Name says whose data this is; it is shown and has no other use.
	Name string `mapstructure:"name"`
	// Season is used where neither a season nor a date is mapped.
	Season int `mapstructure:"season"`
	// Columns maps canonical names (see pitch.Dictionary) to source columns.
	Columns map[string]Column `mapstructure:"columns"`
	// PitchTypes declares types besides the common ones of package pitch, by names
	// in small letters with underscores (knuckle_curve); words for people follow
	// from the name, and tables list them behind the common ones.
	PitchTypes []string `mapstructure:"pitch_types"`
	// ResultOn says where a plate appearance's result stands: "last_pitch"
	// (default) or "every_pitch", repeated on all its rows.
	ResultOn string `mapstructure:"result_on"`
	// SwitchSide resolves side "switch": "opposite_hand" of the pitcher, or
	// "reject" (default).
	SwitchSide string `mapstructure:"switch_side"`
	// Where leaves rows out by source columns; all filters must hold.
	Where []Filter `mapstructure:"where"`
	// GameTypes are the kinds of game that count where game_type is mapped:
	// by default only "regular"; "*" means all.
	GameTypes       []string  `mapstructure:"game_types"`
	ExcludePitchers Exclusion `mapstructure:"exclude_pitchers"`
	// PitchersBat says what becomes of pitches to batters who are pitchers:
	// "left_out" by the mark batter_is_pitcher, "counted", or "never" where there
	// are none, as with a designated hitter. Left empty they count, and where the
	// source has no mark either the run says that it cannot tell.
	PitchersBat string `mapstructure:"pitchers_bat"`
	// PreferFiles ranks files, best first, by patterns of their names (as in
	// path.Match; a pattern without a slash also matches the last part). Where
	// files disagree about a pitch the best-ranked one is used. Unranked files
	// come last. Empty: rows that disagree are set aside as conflicts.
	PreferFiles []string `mapstructure:"prefer_files"`
	// SpeedAt is where velocity is measured: "release" (default) or a y in ft.
	SpeedAt any `mapstructure:"speed_at"`
	// MovementFrom is where the interval of both breaks begins, up to the front
	// of the plate: "release" or a y in ft. There is no default: one pitch breaks
	// 16.35 in from release and 8.93 in from y = 40 ft. Left out, breaks are
	// derived from the trajectory, and refused where there is none.
	MovementFrom any `mapstructure:"movement_from"`
}

// Column maps one canonical column.
type Column struct {
	// Column is the source name, taken literally; parts of a nested column are
	// joined with dots. A key=value folder of the file's path is a column too,
	// where the file has none of that name.
	Column string `mapstructure:"column"`
	// FirstOf lists alternative names: each file uses the first it has.
	FirstOf []string `mapstructure:"first_of"`
	// Constant stands in where a file has none of the columns.
	Constant any `mapstructure:"constant"`
	// Unit of the source; see Units.
	Unit string `mapstructure:"unit"`
	// Positive says which way the source's positive values point, for lateral
	// columns: arm_side, glove_side, catcher_right or pitcher_right.
	Positive string `mapstructure:"positive"`
	// Values maps source values. A category's `to` is a canonical word, "" for
	// missing or "reject", a result's with flags a list: [strikeout, double_play].
	// A value not listed is an error there, and passes unchanged in other columns.
	Values []Value `mapstructure:"values"`
	// Missing lists further values that mean missing (empty text always does).
	Missing []any `mapstructure:"missing"`
	// Format of dates held as text or whole numbers: year-month-day (default),
	// day-month-year, month-day-year (each also with slashes or dots),
	// yearmonthday, timestamp (RFC 3339, with or without a zone), a layout with
	// % signs as in strftime, or a layout of Go's package time.
	Format string `mapstructure:"format"`
	// Zone is the time zone (such as America/Chicago) in which an instant is
	// turned into the game's date; UTC by default.
	Zone string `mapstructure:"zone"`
}

// Value maps one source value.
type Value struct {
	From any `mapstructure:"from"`
	To   any `mapstructure:"to"`
}

// Filter keeps rows by a source column. Exactly one of In and NotIn is given;
// the empty text stands for a missing value.
type Filter struct {
	Column string `mapstructure:"column"`
	In     []any  `mapstructure:"in"`
	NotIn  []any  `mapstructure:"not_in"`
}

// Exclusion leaves pitchers out.
type Exclusion struct {
	// IDs are pitchers by the source's identity.
	IDs []any `mapstructure:"ids"`
	// PositionPlayers leaves out rows whose position_player is yes.
	PositionPlayers bool `mapstructure:"position_players"`
}

// Point is a place on the way to the plate: the release point, or a y in ft.
type Point struct {
	Release bool
	Y       float64 // NaN at release
}

// Speed returns where the source measures velocity.
func (p *Profile) Speed() Point { pt, _ := point(p.SpeedAt); return pt }

// Movement returns where the source's interval of both breaks begins.
func (p *Profile) Movement() Point { pt, _ := point(p.MovementFrom); return pt }

func point(v any) (Point, error) {
	release := Point{Release: true, Y: math.NaN()}
	if v == nil || v == "" || v == "release" {
		return release, nil
	}
	y, ok := asFloat(v)
	if !ok || !(y > pitch.PlateFront && y <= pitch.RubberY) {
		return release, fmt.Errorf("%v is no place: use release or a y in ft above %.2f and at most %.1f", v, pitch.PlateFront, pitch.RubberY)
	}
	return Point{Y: y}, nil
}

// The choices of the profile's keywords.
var (
	resultPlaces = []string{"last_pitch", "every_pitch"}
	batting      = []string{leftOut, "counted", "never"}
	switchRules  = []string{"opposite_hand", "reject"}
	positives    = []string{"arm_side", "glove_side", "catcher_right", "pitcher_right"}
)

// leftOut is the pitchers_bat that drops rows.
const leftOut = "left_out"

// reject is the `to` that quarantines a row.
const reject = "reject"

// sources returns the source names of a column, best first.
func (c Column) sources() []string {
	if c.Column != "" {
		return []string{c.Column}
	}
	return c.FirstOf
}

// Validate returns every fault of the profile, joined; each names its key and
// says what to write.
func (p *Profile) Validate() error {
	var errs []error
	say := func(key, format string, args ...any) {
		errs = append(errs, fmt.Errorf("profile: %s: "+format, append([]any{key}, args...)...))
	}
	word := func(key, v string, of []string) {
		if v != "" && !slices.Contains(of, v) {
			say(key, "%q is unknown%s: use %s", v, didYouMean(v, of), strings.Join(of, ", "))
		}
	}
	if len(p.Columns) == 0 {
		say("columns", "nothing is mapped: map at least pitcher, hand, side, pitch_type and outcome (sill inspect writes a starter)")
	}
	for _, name := range slices.Sorted(maps.Keys(p.Columns)) {
		col, ok := pitch.Lookup(name)
		if !ok {
			say("columns."+name, "no such canonical column%s", didYouMean(name, pitch.Names()))
			continue
		}
		for _, err := range p.Columns[name].validate(col, p.words(name)) {
			errs = append(errs, fmt.Errorf("profile: columns.%s%w", name, err))
		}
	}
	if len(p.Columns) > 0 {
		for _, col := range pitch.Dictionary {
			if _, ok := p.Columns[col.Name]; col.Required && !ok {
				say("columns."+col.Name, "is required: %s", col.Meaning)
			}
		}
		_, season := p.Columns["season"]
		_, date := p.Columns["date"]
		if !season && !date && p.Season == 0 {
			say("season", "the season is unknown: map the column season or date, or write season: and the year")
		}
	}
	if p.Season != 0 && (p.Season < 1900 || p.Season > 2200) {
		say("season", "%d is no season: use a year from 1900 to 2200", p.Season)
	}
	for i, name := range p.PitchTypes {
		key := fmt.Sprintf("pitch_types[%d]", i)
		switch t, err := pitch.NamedType(name); {
		case err != nil:
			say(key, "%v", err)
		case t.Common():
			say(key, "%s is common to all sources: leave it out", t)
		case name == reject || slices.Contains(p.PitchTypes[:i], name):
			say(key, "%q is taken", name)
		}
	}
	if len(p.PitchTypes) > maxPitchTypes {
		say("pitch_types", "%d are declared, at most %d can be", len(p.PitchTypes), maxPitchTypes)
	}
	word("result_on", p.ResultOn, resultPlaces)
	word("switch_side", p.SwitchSide, switchRules)
	word("pitchers_bat", p.PitchersBat, batting)
	if _, ok := p.Columns["batter_is_pitcher"]; p.PitchersBat == leftOut && !ok {
		say("pitchers_bat", "map the column batter_is_pitcher, or write counted or never")
	}
	if _, ok := p.Columns["result"]; ok && p.ResultOn == "every_pitch" {
		for _, key := range []string{"game", "plate_appearance", "pitch_number"} {
			if _, ok := p.Columns[key]; !ok {
				say("columns."+key, "is needed where result_on is every_pitch, to find the plate appearance's last pitch")
			}
		}
	}
	for i, f := range p.Where {
		key := fmt.Sprintf("where[%d]", i)
		if f.Column == "" {
			say(key+".column", "is missing: name a source column")
		}
		if (len(f.In) == 0) == (len(f.NotIn) == 0) {
			say(key, "give either in or not_in, as a list")
		}
		for _, v := range append(slices.Clone(f.In), f.NotIn...) {
			if err := checkScalar(v); err != nil {
				say(key, "%v", err)
			}
		}
	}
	for i, v := range p.ExcludePitchers.IDs {
		if _, _, err := idText(v); err != nil {
			say(fmt.Sprintf("exclude_pitchers.ids[%d]", i), "%v", err)
		}
	}
	if _, ok := p.Columns["position_player"]; p.ExcludePitchers.PositionPlayers && !ok {
		say("exclude_pitchers.position_players", "map the column position_player, or list ids")
	}
	if _, ok := p.Columns["game_type"]; len(p.GameTypes) > 0 && !ok {
		say("game_types", "map the column game_type, or leave game_types out")
	}
	for i, pat := range p.PreferFiles {
		if _, err := path.Match(pat, "x"); err != nil || pat == "" {
			say(fmt.Sprintf("prefer_files[%d]", i), "%q is no file pattern", pat)
		}
	}
	if _, err := point(p.SpeedAt); err != nil {
		say("speed_at", "%v", err)
	}
	if _, err := point(p.MovementFrom); err != nil {
		say("movement_from", "%v", err)
	}
	return errors.Join(errs...)
}

// maxPitchTypes keeps the code of a type within a byte.
const maxPitchTypes = 100

// words lists the words of a category: of pitch types, with those declared.
func (p *Profile) words(column string) []string {
	words := pitch.Words(column)
	if column == "pitch_type" {
		words = append(slices.Clone(words), p.PitchTypes...)
	}
	return words
}

// types lists the pitch types by their codes, the unknown one first.
func (p *Profile) types() []pitch.Type {
	out := []pitch.Type{pitch.UnknownType}
	for _, word := range p.words("pitch_type") {
		t, _ := pitch.NamedType(word) // Validate sees that it is a name
		out = append(out, t)
	}
	return out
}

// parseWord returns the code of a word among those of a category: its place, from 1.
func parseWord(column string, words []string, s string) (uint8, error) {
	code, err := pitch.ParseWord(column, s)
	if i := slices.Index(words, s); err != nil && i >= 0 {
		return uint8(i + 1), nil
	}
	if _, name := pitch.NamedType(s); err != nil && column == "pitch_type" && name == nil {
		err = fmt.Errorf("%w; a type that is not common to all sources is declared in the profile: pitch_types: [%s]", err, s)
	}
	return code, err
}

// validate returns the faults of one column's mapping, each opening with
// ".key: " or ": ". The words are those of a category.
func (c Column) validate(col pitch.Column, words []string) []error {
	var errs []error
	say := func(key, format string, args ...any) {
		if key != "" {
			key = "." + key
		}
		errs = append(errs, fmt.Errorf("%s: "+format, append([]any{key}, args...)...))
	}
	if c.Column == "" && len(c.FirstOf) == 0 && c.Constant == nil {
		say("", "give column, first_of or constant")
	}
	if c.Column != "" && len(c.FirstOf) > 0 {
		say("first_of", "give either column or first_of")
	}
	if slices.Contains(c.FirstOf, "") {
		say("first_of", "a name is empty")
	}
	if c.Constant != nil {
		if err := checkScalar(c.Constant); err != nil {
			say("constant", "%v", err)
		}
	}
	units := UnitsOf(col.Dimension)
	switch {
	case len(units) == 0 && c.Unit != "":
		say("unit", "%s has no unit: leave it out", col.Name)
	case len(units) > 0 && c.Unit == "":
		say("unit", "is missing: use one of %s", strings.Join(units, ", "))
	case len(units) > 0 && !slices.Contains(units, c.Unit):
		say("unit", "%q is unknown for %s%s: use one of %s", c.Unit, col.Name, didYouMean(c.Unit, units), strings.Join(units, ", "))
	}
	switch {
	case col.Lateral == pitch.NotLateral && c.Positive != "":
		say("positive", "%s has no side: leave it out", col.Name)
	case col.Lateral != pitch.NotLateral && c.Positive == "":
		say("positive", "is missing: say which way positive values point, one of %s", strings.Join(positives, ", "))
	case col.Lateral != pitch.NotLateral && !slices.Contains(positives, c.Positive):
		say("positive", "%q is unknown%s: use one of %s", c.Positive, didYouMean(c.Positive, positives), strings.Join(positives, ", "))
	}
	if col.Kind != pitch.Day && c.Format != "" {
		say("format", "%s is no date: leave it out", col.Name)
	} else if c.Format != "" {
		if _, err := layoutOf(c.Format); err != nil {
			say("format", "%v", err)
		}
	}
	if col.Kind != pitch.Day && c.Zone != "" {
		say("zone", "%s is no date: leave it out", col.Name)
	} else if _, err := time.LoadLocation(c.Zone); err != nil {
		say("zone", "%q is unknown: use a name such as America/Chicago", c.Zone)
	}
	for i, v := range c.Missing {
		if err := checkScalar(v); err != nil {
			say(fmt.Sprintf("missing[%d]", i), "%v", err)
		}
	}
	for i, v := range c.Values {
		key := fmt.Sprintf("values[%d]", i)
		if err := checkScalar(v.From); err != nil {
			say(key+".from", "%v", err)
		} else if slices.ContainsFunc(c.Values[:i], func(w Value) bool { return checkScalar(w.From) == nil && w.From == v.From }) {
			say(key+".from", "%v is mapped twice", v.From)
		}
		if _, err := targetOf(col, words, v.To); err != nil {
			say(key+".to", "%v", err)
		}
	}
	return errs
}

func didYouMean(s string, of []string) string {
	if near := pitch.Nearest(s, of); near != "" {
		return fmt.Sprintf(" (did you mean %q?)", near)
	}
	return ""
}
