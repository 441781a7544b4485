package ingest

import (
	"fmt"
	"maps"
	"math"
	"slices"
	"strconv"
	"strings"
	"time"
	"unicode"

	"sill/pipeline/pitch"
)

// guesses are words by which a source column may be recognised, besides its
// canonical name: a column is taken when its name holds all words of one of the
// alternatives.
var guesses = map[string][]string{
	"pitcher":                   {"pitcher id", "thrower id", "thrower", "hurler"},
	"hand":                      {"pitcher hand", "throws", "throwing hand", "pitcher throws", "arm"},
	"side":                      {"batter side", "batter hand", "bats", "bat side"},
	"pitch_type":                {"pitch name", "pitch kind", "pitch class"},
	"outcome":                   {"pitch outcome", "pitch result", "pitch call", "call"},
	"result":                    {"plate appearance result", "appearance result", "play result"},
	"batter":                    {"batter id", "hitter id", "hitter"},
	"game":                      {"game id", "game code", "game key", "game number", "match id", "match code"},
	"season":                    {"year"},
	"date":                      {"game date", "game day", "day", "played on"},
	"game_type":                 {"game kind", "season type"},
	"venue":                     {"park", "ballpark", "stadium"},
	"home_club":                 {"home team", "home"},
	"away_club":                 {"away team", "visitor", "away"},
	"half":                      {"inning half", "top bottom"},
	"plate_appearance":          {"appearance", "at bat"},
	"pitch_number":              {"pitch no", "pitch of appearance"},
	"bunt":                      {"bunted"},
	"batter_is_pitcher":         {"pitcher bats", "pitcher batting"},
	"velocity":                  {"speed", "pitch speed"},
	"induced_vertical_break":    {"vertical break", "vertical movement", "rise"},
	"horizontal_break":          {"horizontal movement", "sweep"},
	"vertical_approach_angle":   {"vertical approach"},
	"horizontal_approach_angle": {"horizontal approach"},
	"spin_rate":                 {"spin"},
	"spin_axis":                 {"spin direction"},
	"plate_height":              {"height at plate"},
	"plate_side":                {"side at plate"},
}

// wordGuesses are trade words by which a source value may be recognised.
var wordGuesses = map[string]string{
	"l": "left", "lefty": "left", "r": "right", "righty": "right", "both": "switch", "s": "switch",
	"fastball": "four_seam", "fourseam": "four_seam", "twoseam": "sinker", "two_seam": "sinker", "curve": "curveball",
	"change": "changeup", "change_up": "changeup", "split": "splitter", "cut": "cutter",
	"strike_swinging": "swinging_strike", "swing_and_miss": "swinging_strike", "whiff": "swinging_strike",
	"strike_called": "called_strike", "hit_batter": "hit_by_pitch",
	"k": "strikeout", "homer": "home_run", "base_on_balls": "walk", "error": "reached_on_error", "groundout": "out",
	"flyout": "out", "lineout": "out", "popout": "out",
}

// Starter writes a profile to begin with for an inspected file, in YAML: what
// names, ranges and values give away is filled in, everything else is a "?"
// that validation refuses with the list of choices. Nothing in it should be
// trusted unread.
func Starter(in *Inspection) []byte {
	var b strings.Builder
	fmt.Fprintf(&b, "# A starting point guessed from %s (%d rows).\n", in.File, in.Rows)
	b.WriteString("# Check every line; each ? must be replaced.\n")
	b.WriteString("name: \"\"\n")
	found := matchColumns(in.Columns)
	if _, ok := found["season"]; !ok {
		if _, ok := found["date"]; !ok {
			b.WriteString("season: 0  # neither a season nor a date was recognised: write the year\n")
		}
	}
	b.WriteString("result_on: last_pitch  # or every_pitch, where the result is repeated on all rows of a plate appearance\n")
	b.WriteString("switch_side: reject  # or opposite_hand\n")
	b.WriteString("# pitchers_bat: never  # where there is a designated hitter; left_out, by batter_is_pitcher; or counted\n")
	b.WriteString("speed_at: release  # or the y in ft at which velocity is measured\n")
	b.WriteString("movement_from: release  # or the y in ft from which breaks are measured\n")
	b.WriteString("# pitch_types: [slurve]  # declares types that the source tells apart, besides the common ones\n")
	b.WriteString("columns:\n")
	used := map[string]bool{}
	for _, col := range pitch.Dictionary {
		c, ok := found[col.Name]
		if !ok {
			if col.Required {
				fmt.Fprintf(&b, "  %s:  # required: %s\n    column: \"?\"\n", col.Name, col.Meaning)
			} else {
				fmt.Fprintf(&b, "  # %s: %s\n", col.Name, col.Meaning)
			}
			continue
		}
		used[c.Name] = true
		fmt.Fprintf(&b, "  %s:\n    column: %s  # %s%s\n", col.Name, strconv.Quote(c.Name), c.Class, rangeText(c))
		if units := UnitsOf(col.Dimension); len(units) > 0 {
			fmt.Fprintf(&b, "    unit: %s  # guessed from the range; one of %s\n", guessUnit(col, c, units), strings.Join(units, ", "))
		}
		if col.Lateral != pitch.NotLateral {
			fmt.Fprintf(&b, "    positive: \"?\"  # one of %s\n", strings.Join(positives, ", "))
		}
		if col.Kind == pitch.Day && c.Class != "date" && c.Class != "timestamp" {
			fmt.Fprintf(&b, "    format: %s\n", guessFormat(c))
		}
		writeValues(&b, col, c)
	}
	var rest []string
	for _, c := range in.Columns {
		if !used[c.Name] {
			rest = append(rest, c.Name)
		}
	}
	if len(rest) > 0 {
		b.WriteString("# Columns that were not recognised:\n")
		for _, n := range rest {
			fmt.Fprintf(&b, "#   %q\n", n)
		}
	}
	return []byte(b.String())
}

// nameWords splits a column name at odd characters and changes of case.
func nameWords(name string) []string {
	var b strings.Builder
	var prev rune
	for _, r := range name {
		switch {
		case !unicode.IsLetter(r) && !unicode.IsDigit(r):
			r = ' '
		case unicode.IsUpper(r) && unicode.IsLower(prev):
			b.WriteRune(' ')
		}
		b.WriteRune(unicode.ToLower(r))
		prev = r
	}
	return strings.Fields(b.String())
}

// matchColumns assigns source columns to canonical ones: the alternative with
// most words wins, then the source name with fewest words, then the dictionary's
// and the file's order. A source column is used once.
func matchColumns(columns []ColumnInfo) map[string]*ColumnInfo {
	type match struct{ score, col, src int }
	var matches []match
	for i, col := range pitch.Dictionary {
		alternatives := append([]string{strings.ReplaceAll(col.Name, "_", " ")}, guesses[col.Name]...)
		for j := range columns {
			if columns[j].Class == "" {
				continue
			}
			words := nameWords(columns[j].Name)
			best := 0
			for _, alt := range alternatives {
				need := strings.Fields(alt)
				all := true
				for _, w := range need {
					all = all && slices.Contains(words, w)
				}
				if all {
					best = max(best, 100*len(need)-len(words))
				}
			}
			if best > 0 && fits(col, &columns[j]) {
				matches = append(matches, match{best, i, j})
			}
		}
	}
	slices.SortStableFunc(matches, func(a, b match) int { return b.score - a.score })
	out := map[string]*ColumnInfo{}
	taken := map[int]bool{}
	for _, m := range matches {
		name := pitch.Dictionary[m.col].Name
		if _, ok := out[name]; !ok && !taken[m.src] {
			out[name] = &columns[m.src]
			taken[m.src] = true
		}
	}
	return out
}

// fits tells whether a source column can hold a canonical one at all.
func fits(col pitch.Column, c *ColumnInfo) bool {
	number := c.Class == "integer" || c.Class == "number"
	switch col.Kind {
	case pitch.Real:
		return number
	case pitch.Whole:
		return number || c.Class == "text" && col.Name == "half"
	case pitch.Day:
		return c.Class != "boolean" && c.Class != "number"
	case pitch.Category:
		return (c.Class == "text" || c.Class == "integer" || c.Class == "boolean") && c.Distinct >= 0 && c.Distinct <= 200
	case pitch.Text:
		return c.Class == "text" || c.Class == "integer"
	}
	return c.Class == "boolean" || c.Distinct >= 0 && c.Distinct <= 3
}

func rangeText(c *ColumnInfo) string {
	if c.Min == "" {
		return ""
	}
	return fmt.Sprintf(", %s to %s", c.Min, c.Max)
}

// guessUnit returns the unit in which the column's middle lies nearest the
// middle of what pitches show; "?" where the column is empty.
func guessUnit(col pitch.Column, c *ColumnInfo, units []string) string {
	if c.lo > c.hi {
		return `"?"`
	}
	size := max(math.Abs(c.lo), math.Abs(c.hi))
	typical := map[pitch.Dimension]float64{pitch.Speed: 100, pitch.SmallLength: 22, pitch.Length: 6.5, pitch.Angle: 10,
		pitch.Rotation: 2900, pitch.Acceleration: 35, pitch.SpeedFeet: 20}[col.Dimension]
	switch col.Name {
	case "velocity_y":
		typical = 145
	case "spin_axis":
		typical = 360
	case "position_y":
		typical = 50
	case "arm_angle":
		typical = 60
	}
	best, bestD := units[0], math.Inf(1)
	for _, u := range units {
		f := unitOf(col.Dimension, u)
		if d := math.Abs(math.Log(size * f.mul / f.div / typical)); d < bestD-1e-9 {
			best, bestD = u, d
		}
	}
	return best
}

// guessFormat returns the date format that reads the most frequent values.
func guessFormat(c *ColumnInfo) string {
	for _, key := range slices.Sorted(maps.Keys(layouts)) {
		ok := len(c.Values) > 0
		for _, v := range c.Values {
			_, good := parseDay(layouts[key], v.Value, time.UTC)
			ok = ok && good
		}
		if ok {
			return key
		}
	}
	return `"?"`
}

// writeValues lists the values of columns that need a map.
func writeValues(b *strings.Builder, col pitch.Column, c *ColumnInfo) {
	words := pitch.Words(col.Name)
	if col.Kind != pitch.Category && (col.Name != "game_type" && col.Name != "half" || c.Class != "text") {
		return
	}
	b.WriteString("    values:")
	switch {
	case words != nil:
		fmt.Fprintf(b, "  # to: %s, \"\" for missing, or reject", strings.Join(words, ", "))
		if col.Name == "result" {
			fmt.Fprintf(b, "; with flags, such as [out, double_play]: %s", strings.Join(pitch.FlagWords(), ", "))
		}
	case col.Name == "half":
		b.WriteString("  # to: 1 for the top, 2 for the bottom")
	default:
		b.WriteString("  # to: regular for the games that count")
	}
	b.WriteString("\n")
	for _, v := range c.Values {
		if strings.TrimSpace(v.Value) == "" {
			continue
		}
		from := v.Value
		if c.Class == "text" || c.Class == "boolean" {
			from = strconv.Quote(v.Value)
		}
		fmt.Fprintf(b, "      - {from: %s, to: %s}  # %d rows\n", from, guessWord(v.Value, col.Name, words), v.Rows)
	}
	if c.Distinct > len(c.Values) {
		fmt.Fprintf(b, "      # and %d more values\n", c.Distinct-len(c.Values))
	}
}

// guessWord returns the canonical word of a source value, or "?".
func guessWord(value, column string, words []string) string {
	key := strings.Join(nameWords(value), "_")
	switch column {
	case "half":
		switch key {
		case "top", "t":
			return "1"
		case "bottom", "bot", "b":
			return "2"
		}
		return `"?"`
	case "game_type":
		if strings.Contains(key, "regular") {
			return "regular"
		}
		return `"?"`
	}
	if w := wordGuesses[key]; slices.Contains(words, w) {
		return w
	}
	if slices.Contains(words, key) {
		return key
	}
	if column == "result" {
		if r, ok := guessResult(key, words); ok {
			return r
		}
	}
	return `"?"`
}

// guessResult finds flags in a source value, and a result in what is left of it; a
// double or triple play is an out where nothing is.
func guessResult(key string, words []string) (string, bool) {
	var flags []string
	for _, flag := range pitch.FlagWords() {
		if before, after, ok := strings.Cut("_"+key+"_", "_"+flag+"_"); ok {
			flags, key = append(flags, flag), strings.Trim(before+"_"+after, "_")
		}
	}
	if key == "" && len(flags) == 1 && strings.HasSuffix(flags[0], "_play") {
		key = "out"
	}
	list := append([]string{strings.Trim(guessWord(key, "", words), `"`)}, flags...)
	_, err := pitch.ParseResult(list...)
	return "[" + strings.Join(list, ", ") + "]", len(flags) > 0 && err == nil
}
