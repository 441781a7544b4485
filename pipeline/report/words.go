package report

import (
	"crypto/sha256"
	"encoding/hex"
	"math"
	"regexp"
	"slices"
	"strings"
	"unicode"

	"sill/pipeline/pitch"
	"sill/pipeline/thresholds"
	"sill/pipeline/wording"
)

// quality describes the quality along an axis.
type quality struct {
	name, title, unit string
	width             float64 // of a bin
	decimals          int
}

func qualityOf(m *thresholds.Manifest, name, unit string) quality {
	q := quality{name: name, title: wording.Spaced(name), unit: unit, width: 1}
	for _, v := range m.Variables {
		if v.Name == name {
			q.title, q.unit, q.width = v.Title, v.Unit, v.Width
		}
	}
	q.unit = short(q.unit)
	switch {
	case q.width >= 50:
	case q.width >= 1:
		q.decimals = 1
	default:
		q.decimals = 2
	}
	return q
}

// short brings a unit to what can stand behind a number: no marks that turn the
// direction of reading, and no more than a few letters.
func short(s string) string {
	out := strings.Map(func(r rune) rune {
		if unicode.IsGraphic(r) {
			return r
		}
		return -1
	}, s)
	if letters := []rune(out); len(letters) > 12 {
		return string(letters[:12]) + "…"
	}
	return out
}

func (q quality) number(x float64) string { return wording.Number(x, q.decimals) }

func (q quality) withUnit(s string) string {
	if q.unit == "" {
		return s
	}
	return s + wording.NoBreak + q.unit
}

// axis names the quality with its unit.
func (q quality) axis() string {
	if q.unit == "" {
		return q.title
	}
	return q.title + ", " + q.unit
}

// interval formats the interval of a breakpoint; a limit that is not pinned is
// a question mark.
func (q quality) interval(lo, hi *float64) string {
	text := func(p *float64) string {
		if p == nil {
			return "?"
		}
		return q.number(*p)
	}
	return span(text(lo), text(hi))
}

func span(lo, hi string) string {
	if strings.ContainsAny(lo+hi, "−?+") {
		return lo + wording.NoBreak + "to" + wording.NoBreak + hi
	}
	return lo + "–" + hi
}

// outcome describes an outcome.
type outcome struct {
	name, title, per, events string
	sign                     int // +1 if more is better for the pitcher, −1 if less is
}

var outcomes = []outcome{
	{"whiff_rate", "whiff rate", "misses per swing, more is better", "swings", 1},
	{"woba_against", "wOBA-against", "value to the batter per plate appearance, less is better", "plate appearances", -1},
}

func outcomeOf(name string) outcome {
	for _, o := range outcomes {
		if o.name == name {
			return o
		}
	}
	return outcome{name: name, title: wording.Spaced(name), per: "events of a rate", events: "events", sign: 1}
}

// verdictWord is a verdict with its sign, its short words and its meaning.
type verdictWord struct{ Code, Sign, Short, Meaning string }

// verdictWords are the verdicts in the order of a legend.
var verdictWords = []verdictWord{
	{"found", "◆", "found", "the rate changes along the quality, and it passes the line at a place that is pinned down"},
	{"always_beats", "▲", "always beats", "all along the central 90 % of the pitches the curve is on the better side of the line"},
	{"never_beats", "▼", "never beats", "all along the central 90 % of the pitches it is on the worse side"},
	{"edge_unresolved", "◇", "edge unresolved", "the rate changes, but where it passes the line, or whether it does, is not pinned down"},
	{"inconclusive", "○", "inconclusive", "no change could be shown; that does not prove that there is none"},
	{"too_few", "·", "too few", "not enough pitchers or pitches to judge"},
}

func verdictOf(code string) verdictWord {
	for _, v := range verdictWords {
		if v.Code == code {
			return v
		}
	}
	return verdictWord{Code: code, Sign: "?", Short: wording.Spaced(slug(code))}
}

// signOf is the place of a verdict in the legend; one that is not there comes
// after the last.
func signOf(code string) int {
	for i, v := range verdictWords {
		if v.Code == code {
			return i
		}
	}
	return len(verdictWords)
}

// part names a part of the pitches behind a quality.
func part(stratum string) string {
	if stratum == "" {
		return ""
	}
	return " · " + wording.Spaced(strings.ReplaceAll(stratum, ":", ", "))
}

// shown tells whether a verdict says something of where the curve lies or runs.
func shown(code string) bool {
	switch code {
	case "found", "always_beats", "never_beats", "edge_unresolved":
		return true
	}
	return false
}

// sentence says in words what was decided about a curve.
func (p *panel) sentence(q quality) string {
	v := p.verdict
	if v == nil {
		return "No verdict: no such pitch was thrown in this matchup, or the quality is not in the data."
	}
	edges := p.zonesInWords(q)
	switch v.Verdict {
	case "found":
		return "Found: " + edges + "."
	case "always_beats", "never_beats":
		text := wording.Sentence(wording.Spaced(v.Verdict)) + " the line over the central 90" + wording.NoBreak + "% of the pitches"
		if v.Everywhere {
			text = wording.Sentence(wording.Spaced(v.Verdict)) + " the line at every value seen"
		}
		if edges != "" {
			text += "; yet it " + edges
		}
		return text + "."
	case "edge_unresolved":
		trend := v.Trend
		if trend == "" || trend == "flat" {
			trend = "it changes"
		}
		return "Edge unresolved: " + trend + ", but no place where it passes the line is pinned down."
	case "inconclusive":
		return "Inconclusive: no change was shown."
	case "too_few":
		return "Too few pitches or pitchers for a verdict."
	}
	return wording.Sentence(verdictOf(v.Verdict).Short) + "."
}

// zonesInWords says where the curve beats the line, or else where it falls
// behind; "" where no edge is confirmed.
func (p *panel) zonesInWords(q quality) string {
	for _, sign := range []int64{1, -1} {
		var parts []string
		for _, z := range p.zones {
			if z.Sign == sign {
				if s := zoneInWords(q, z); s != "" {
					parts = append(parts, s)
				}
			}
		}
		if len(parts) > 0 {
			verb := "beats the line "
			if sign < 0 {
				verb = "falls behind the line "
			}
			return verb + strings.Join(parts, " and ")
		}
	}
	return ""
}

func zoneInWords(q quality, z *thresholds.Zone) string {
	edge := func(kind string, x, lo, hi *float64) string {
		if kind != "edge" || x == nil {
			return ""
		}
		return q.withUnit(q.number(*x)) + " (" + q.interval(lo, hi) + ")"
	}
	lower, upper := edge(z.LowerKind, z.Lower, z.LowerLo, z.LowerHi), edge(z.UpperKind, z.Upper, z.UpperLo, z.UpperHi)
	var text string
	switch {
	case lower != "" && upper != "":
		text = "from " + lower + " to " + upper
	case lower != "":
		text = "from " + lower + wording.NoBreak + "up"
	case upper != "":
		text = "up to " + upper
	default:
		return ""
	}
	switch {
	case z.LowerKind == "unresolved" && z.Lower != nil:
		text += ", sure from " + q.number(*z.Lower)
	case z.UpperKind == "unresolved" && z.Upper != nil:
		text += ", sure to " + q.number(*z.Upper)
	}
	if z.Weak {
		text += ", weakly supported"
	}
	return text
}

// typeTitle is a pitch type as it is spoken of.
func typeTitle(word string) string {
	switch word {
	case "":
		return "all pitch types"
	case "four_seam":
		return "four-seam"
	}
	return wording.Spaced(word)
}

// lineTitle says what a line is.
func lineTitle(name string) string {
	i := strings.LastIndex(name, "_")
	if i < 0 {
		return wording.Spaced(name)
	}
	whose := map[string]string{
		"pitch_type": "of the pitch type over all matchups",
		"hand":       "of the pitch type from the pitcher's hand",
		"matchup":    "of the pitch type in the same matchup",
		"league":     "over all pitch types",
		"stratum":    "of the pitch type in this split",
	}[name[:i]]
	kind := map[string]string{"median": "rate of the median pitcher ", "rate": "pooled rate "}[name[i+1:]]
	if whose == "" || kind == "" {
		return wording.Spaced(name)
	}
	return kind + whose
}

// handed says a matchup in full.
func handed(m pitch.Matchup) string {
	return m.Hand.String() + "-handed pitchers against " + m.Side.String() + "-handed batters"
}

// plain is what may stand in an identifier as it is.
var plain = regexp.MustCompile(`^[A-Za-z0-9][A-Za-z0-9_.-]{0,63}$`)

// slug is a word of an identifier: the name itself where it is plain, else a
// digest of it.
func slug(name string) string {
	if plain.MatchString(name) {
		return name
	}
	sum := sha256.Sum256([]byte(name))
	return "x" + hex.EncodeToString(sum[:8])
}

// tick formats a round value with no more decimals than the ticks need.
func tick(v float64, all []float64, most int) string {
	for d := range most {
		if !slices.ContainsFunc(all, func(t float64) bool {
			scaled := t * math.Pow10(d)
			return math.Abs(scaled-math.Round(scaled)) >= 1e-6
		}) {
			return wording.Number(v, d)
		}
	}
	return wording.Number(v, most)
}
