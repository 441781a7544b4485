package page

import (
	"crypto/sha256"
	"encoding/hex"
	"math"
	"regexp"
	"slices"
	"strings"
	"unicode"

	"sill/pipeline/pitch"
	"sill/pipeline/render/curve"
	"sill/pipeline/render/words"
	"sill/pipeline/thresholds"
)

// qualityOf describes the quality along an axis.
func qualityOf(m *thresholds.Manifest, name, unit string) curve.Quality {
	q := curve.QualityOf(m.Variables, name, unit)
	q.Unit = short(q.Unit)
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

// per says what an outcome counts and which way is better.
func per(o curve.Outcome) string {
	switch {
	case o.Per == "":
		return "events of a rate"
	case o.Sign < 0:
		return o.Per + ", less is better"
	}
	return o.Per + ", more is better"
}

// verdictWord is a verdict with its sign, its short words and its meaning.
type verdictWord struct{ Code, Sign, Short, Meaning string }

// verdictWords are the verdicts in the order of a legend.
var verdictWords = []verdictWord{
	{"found", "◆", "found", "the rate changes along the quality, and a breakpoint where it passes the line is confirmed; its interval says how closely it is known"},
	{"always_beats", "▲", "always beats", "all along the central 90 % of the pitches the curve is shown to be on the better side of the line, " + words.ExceptSliver},
	{"never_beats", "▼", "never beats", "all along the central 90 % of the pitches it is shown to be on the worse side, " + words.ExceptSliver},
	{"edge_unresolved", "◇", "edge unresolved", "the rate changes, but no place where it passes the line is confirmed"},
	{"inconclusive", "○", "inconclusive", "no change could be shown; that does not prove that there is none"},
	{"too_few", "·", "too few", "not enough pitchers or pitches to judge"},
}

func verdictOf(code string) verdictWord {
	for _, v := range verdictWords {
		if v.Code == code {
			return v
		}
	}
	return verdictWord{Code: code, Sign: "?", Short: words.Spaced(slug(code))}
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

// sentence says in words what was decided about a curve.
func (p *panel) sentence(q curve.Quality) string {
	v := p.Verdict
	if v == nil {
		return "No verdict: no such pitch was thrown in this matchup, or the quality is not in the data."
	}
	edges := p.Where(q)
	switch v.Verdict {
	case "found":
		return "Found: " + edges + "."
	case "always_beats", "never_beats":
		text := words.Sentence(words.Spaced(v.Verdict)) + " the line over the central 90" + words.NoBreak + "% of the pitches"
		if v.Everywhere {
			text = words.Sentence(words.Spaced(v.Verdict)) + " the line at every value seen"
		}
		text += ", " + words.ExceptSliver
		if edges != "" {
			text += "; yet it " + edges
		}
		return text + "."
	case "edge_unresolved":
		trend := v.Trend
		if trend == "" || trend == "flat" {
			trend = "it changes"
		}
		return "Edge unresolved: " + trend + ", but no place where it passes the line is confirmed."
	case "inconclusive":
		return "Inconclusive: no change was shown."
	case "too_few":
		return "Too few pitches or pitchers for a verdict."
	}
	return words.Sentence(verdictOf(v.Verdict).Short) + "."
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
			return words.Number(v, d)
		}
	}
	return words.Number(v, most)
}
