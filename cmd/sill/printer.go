package main

import (
	"bufio"
	"encoding/json"
	"fmt"
	"io"
	"strings"

	"sill/pipeline/render/words"
)

// printer writes results for people: it fits them to the terminal's characters
// and remembers the first error of writing.
type printer struct {
	w      *bufio.Writer
	width  int
	colour bool
	ascii  bool
}

func newPrinter(t *terminal) *printer {
	return &printer{w: bufio.NewWriter(t.out), width: t.width, colour: t.colour, ascii: t.ascii}
}

// asciiGlyphs spells the characters of our sentences in ASCII; a chart has its
// own set.
var asciiGlyphs = strings.NewReplacer("≥", ">=", "≤", "<=", "–", "-", "−", "-", "·", "-", "±", "+/-",
	"→", "->", "…", "...", "°", " deg", "²", "2", "³", "3", "λ", "lambda", "δ", "delta", "Σ", "sum ", "×", "x",
	"’", "'", "“", `"`, "”", `"`)

// glyphs returns s in the characters that the terminal shows.
func (p *printer) glyphs(s string) string {
	if p.ascii {
		return asciiGlyphs.Replace(s)
	}
	return s
}

// styled returns s in a style, s itself where colours are off.
func (p *printer) styled(st style, s string) string {
	if !p.colour || st == plain {
		return s
	}
	return "\x1b[" + string(st) + "m" + s + "\x1b[0m"
}

// line writes one line.
func (p *printer) line(st style, format string, args ...any) {
	s := p.glyphs(strings.ReplaceAll(fmt.Sprintf(format, args...), words.NoBreak, " "))
	_, _ = p.w.WriteString(p.styled(st, s) + "\n") // the error is kept by w and returned by close
}

// prose writes text broken to the width, lines after the first hanging.
func (p *printer) prose(st style, indent, hang, text string) {
	for i, l := range wrap(p.glyphs(text), p.width-len(indent)-len(hang)) {
		if i > 0 {
			l = hang + l
		}
		_, _ = p.w.WriteString(p.styled(st, indent+l) + "\n")
	}
}

func (p *printer) blank() { _ = p.w.WriteByte('\n') }

func (p *printer) table(t *table, indent int) {
	for _, l := range t.render(p, indent) {
		_, _ = p.w.WriteString(l + "\n")
	}
}

// close writes what is buffered and returns the first error of writing.
func (p *printer) close() error { return p.w.Flush() }

// schemaVersion is the version of the JSON that the commands print. A field
// removed or changed in meaning raises it; a new field does not.
const schemaVersion = 1

// document is the head of every JSON document that a command prints.
type document struct {
	SchemaVersion int    `json:"schema_version"`
	Command       string `json:"command"`
}

func head(command string) document { return document{schemaVersion, command} }

// writeJSON writes v as one indented JSON document.
func writeJSON(w io.Writer, v any) error {
	e := json.NewEncoder(w)
	e.SetIndent("", "  ")
	e.SetEscapeHTML(false)
	return e.Encode(v)
}

// jsonError is what a failed command with --json writes to standard error.
type jsonError struct {
	SchemaVersion int    `json:"schema_version"`
	Error         string `json:"error"`
	ExitCode      int    `json:"exit_code"`
}
