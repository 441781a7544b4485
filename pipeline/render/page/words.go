package page

import (
	"crypto/sha256"
	"encoding/hex"
	"regexp"
	"strings"
	"unicode"

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
	return cut(out, 12)
}

// cut brings a text to what a drawing has room for.
func cut(s string, most int) string {
	if letters := []rune(s); len(letters) > most {
		return string(letters[:most]) + "…"
	}
	return s
}

// way says which way an outcome is better.
func way(o words.Outcome) string {
	if o.Sign < 0 {
		return "less is better"
	}
	return "more is better"
}

// verdictOf returns the words of a verdict, which stay harmless where it is unknown.
func verdictOf(code string) words.Verdict { return words.VerdictOf(slug(code)) }

// sentence says in words what was decided about a curve.
func (p *panel) sentence(q curve.Quality) string {
	if v := p.Verdict; v != nil && words.VerdictAt(v.Verdict) == len(words.Verdicts) {
		return words.Sentence(verdictOf(v.Verdict).Short) + "."
	}
	return p.Sentence(q, true)
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

// slugs are words of identifiers.
func slugs(names []string) []string {
	out := make([]string, len(names))
	for i, n := range names {
		out[i] = slug(n)
	}
	return out
}

// caveat is a code of a warning with the word that tells it on the page.
type caveat struct{ Word, Code, Meaning string }

// caveats tells codes with their meanings.
func caveats(all []Word) []caveat {
	var out []caveat
	for _, w := range all {
		out = append(out, caveat{words.CaveatOf(slug(w.Code)).Word, w.Code, w.Meaning})
	}
	return out
}
