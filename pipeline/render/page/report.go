// Package page draws a version as one page of HTML: where each pitch beats
// the line, against whom, and how sure that is. The page needs no network and
// no script, and the same tables give the same bytes.
package page

import (
	"bytes"
	"cmp"
	"crypto/sha256"
	_ "embed" // the page's template, style and script
	"encoding/base64"
	"encoding/json"
	"errors"
	"fmt"
	"html/template"
	"io"
	"regexp"
	"strings"

	"sill/pipeline/render/curve"
	"sill/pipeline/render/words"
	"sill/pipeline/thresholds"
)

// Word is a word of the tables with its meaning.
type Word struct{ Code, Meaning string }

// Options say how a version is told.
type Options struct {
	// Base leads from the page to the folder of the version's files, as a relative
	// URL; "" where the page lies among them.
	Base string
	// Reference is the line that is drawn; "" for the median pitcher of the pitch type.
	Reference string
	// Changes is diff.json, or what marshals to it: what moved since the version
	// before. Nil leaves movement out.
	Changes any
	// Caveats are the codes of warnings with their meanings.
	Caveats []Word
}

// ErrNothing says that there is no verdict to tell.
var ErrNothing = errors.New("the tables hold no verdict")

//go:embed page.tmpl
var pageText string

//go:embed style.css
var styleText string

// style has the colours of every picture.
var style = strings.NewReplacer("$ink", curve.Ink, "$grey", curve.Grey, "$faint", curve.Faint,
	"$0", curve.Colours[0], "$1", curve.Colours[1], "$2", curve.Colours[2], "$3", curve.Colours[3]).Replace(styleText)

//go:embed script.js
var script string

var pageTemplate = template.Must(template.New("page").Funcs(template.FuncMap{
	"count":    words.Count,
	"count64":  func(n int) string { return words.Count(int64(n)) },
	"sentence": words.Sentence,
	"apart":    apart,
	"headed":   func(of string, m []matchupHead) headed { return headed{of, m} },
	"sign":     func(signs, means string) sign { return sign{signs, means} },
}).Parse(pageText))

// harmless texts need not be set apart.
var harmless = regexp.MustCompile(`^[A-Za-z0-9 .,:;()·%°−–/'\x{a0}-]{0,300}$`)

// apart sets a text apart from its neighbours, so that it can neither turn their
// direction nor push them away.
func apart(s string) template.HTML {
	safe := template.HTML(template.HTMLEscapeString(s)) //nolint:gosec // escaped right here
	if harmless.MatchString(s) {
		return safe
	}
	return `<bdi class="cut">` + safe + `</bdi>`
}

// headed are the heads of a board, with what its rows are.
type headed struct {
	Of       string
	Matchups []matchupHead
}

// sign is one or more marks of the drawings, by class, with what they mean.
type sign struct{ Signs, Means string }

// Each lists the marks.
func (s sign) Each() []string { return strings.Fields(s.Signs) }

// Write writes the page of a version. The tables are in the published order
// (see thresholds.Sort), so that the rows it points at are those of the files.
// Quality is the quality report, or what marshals to it. Neither the clock nor
// the host of the manifest is told. It fails where the tables hold no verdict
// against the line, or quality or changes are not what they should be.
func Write(w io.Writer, t *thresholds.Tables, m thresholds.Manifest, quality any, o Options) error {
	o.Reference = cmp.Or(o.Reference, thresholds.HeadlineReference)
	var q qualityReport
	if err := remarshal(quality, &q); err != nil {
		return fmt.Errorf("report: read the quality report: %w", err)
	}
	var c changes
	if err := remarshal(o.Changes, &c); err != nil {
		return fmt.Errorf("report: read the comparison with the version before: %w", err)
	}
	var b bytes.Buffer
	for step := range leavings {
		p := newPage(t, m, &q, &c, o, &room{step})
		if len(p.Sections) == 0 {
			return fmt.Errorf("report: %w against %s: choose another line, or run `sill verify`", ErrNothing, o.Reference)
		}
		b.Reset()
		if err := pageTemplate.Execute(&b, p); err != nil {
			return fmt.Errorf("report: %w", err)
		}
		if b.Len() <= mostBytes {
			break
		}
	}
	_, err := w.Write(b.Bytes())
	return err
}

// remarshal reads what marshals to JSON into dst; nil leaves it alone. A []byte
// is taken as JSON itself.
func remarshal(src, dst any) error {
	raw, isRaw := src.([]byte)
	if src == nil || isRaw && len(raw) == 0 {
		return nil
	}
	if !isRaw {
		var err error
		if raw, err = json.Marshal(src); err != nil {
			return err
		}
	}
	return json.Unmarshal(raw, dst)
}

// policy is the page's content policy: its own style and script and nothing else.
func policy() string {
	hash := func(s string) string {
		sum := sha256.Sum256([]byte(s))
		return "'sha256-" + base64.StdEncoding.EncodeToString(sum[:]) + "'"
	}
	return "default-src 'none'; style-src " + hash(style) + "; script-src " + hash(script) + "; base-uri 'none'; form-action 'none'"
}
