package terminal

import (
	"bufio"
	"fmt"
	"strings"

	"sill/pipeline/render/words"
)

// Printer writes results for people: it fits them to the terminal's characters
// and remembers the first error of writing.
type Printer struct {
	w      *bufio.Writer
	Width  int
	Colour bool
	ASCII  bool
}

// NewPrinter returns a printer to the output of a terminal.
func NewPrinter(t *Terminal) *Printer {
	return &Printer{w: bufio.NewWriter(t.Out), Width: t.Width, Colour: t.Colour, ASCII: t.ASCII}
}

// asciiGlyphs spells the characters of our sentences in ASCII; a chart has its
// own set.
var asciiGlyphs = strings.NewReplacer("≥", ">=", "≤", "<=", "–", "-", "−", "-", "·", "-", "±", "+/-",
	"→", "->", "…", "...", "°", " deg", "²", "2", "³", "3", "λ", "lambda", "δ", "delta", "Σ", "sum ", "×", "x",
	"’", "'", "“", `"`, "”", `"`)

// Glyphs returns s in the characters that the terminal shows.
func (p *Printer) Glyphs(s string) string {
	if p.ASCII {
		return asciiGlyphs.Replace(s)
	}
	return s
}

// Styled returns s in a style, s itself where colours are off.
func (p *Printer) Styled(st Style, s string) string {
	if !p.Colour || st == Plain {
		return s
	}
	return "\x1b[" + string(st) + "m" + s + "\x1b[0m"
}

// Line writes one line.
func (p *Printer) Line(st Style, format string, args ...any) {
	s := p.Glyphs(strings.ReplaceAll(fmt.Sprintf(format, args...), words.NoBreak, " "))
	_, _ = p.w.WriteString(p.Styled(st, s) + "\n") // the error is kept by w and returned by close
}

// Wrapped lays text out as lines of the page's width.
func (p *Printer) Wrapped(st Style, text string) []string {
	lines := Wrap(p.Glyphs(text), p.Width)
	for i := range lines {
		lines[i] = p.Styled(st, lines[i])
	}
	return lines
}

// Prose writes text broken to the width, lines after the first hanging.
func (p *Printer) Prose(st Style, indent, hang, text string) {
	for i, l := range Wrap(p.Glyphs(text), p.Width-len(indent)-len(hang)) {
		if i > 0 {
			l = hang + l
		}
		_, _ = p.w.WriteString(p.Styled(st, indent+l) + "\n")
	}
}

// Blank writes an empty line.
func (p *Printer) Blank() { _ = p.w.WriteByte('\n') }

// Lines writes lines that are laid out already.
func (p *Printer) Lines(lines []string) {
	for _, l := range lines {
		_, _ = p.w.WriteString(l + "\n")
	}
}

// Table writes a table, indented by some columns.
func (p *Printer) Table(t *Table, indent int) {
	p.Lines(t.Render(p, indent))
}

// Close writes what is buffered and returns the first error of writing.
func (p *Printer) Close() error { return p.w.Flush() }
