package terminal

import (
	"strings"

	"github.com/rivo/uniseg"

	"sill/pipeline/render/words"
)

// Style is how a piece of text looks, as the parameters of an ANSI escape;
// empty for plain. It is never the only cue.
type Style string

// The styles. Colour tells matchups apart and nothing else.
const (
	Plain Style = ""
	Bold  Style = "1"
	Dim   Style = "2"
)

// Cell is one field of a table: text that is broken into lines at spaces (not
// at no-break spaces) and at line feeds.
type Cell struct {
	Text  string
	Style Style
	Right bool // aligned to the right
}

// Table is a grid of text. Columns are as wide as their widest cell, up to a
// limit; the first column names the row.
type Table struct {
	Rows [][]Cell
	// Limit is the greatest width of each column, 0 for none.
	Limit []int
	// Fit is the column, counted from 1, that takes what the others leave of
	// the page; 0 for none.
	Fit int
	// Gap is how many spaces separate columns, 0 for as many as Gap has.
	Gap int
}

// Gap separates columns.
const Gap = "  "

// Add appends a row.
func (t *Table) Add(cells ...Cell) { t.Rows = append(t.Rows, cells) }

// Render returns the lines of the table, each indented by some columns.
func (t *Table) Render(p *Printer, indent int) []string {
	gap := t.Gap
	if gap == 0 {
		gap = len(Gap)
	}
	columns := 0
	for _, row := range t.Rows {
		columns = max(columns, len(row))
	}
	lines := make([][][]string, len(t.Rows)) // row, column, line
	width := make([]int, columns)
	left := p.Width - indent - (columns-1)*gap
	layout := func(c, limit int) {
		for r, row := range t.Rows {
			if c >= len(row) {
				continue
			}
			ls := Wrap(p.Glyphs(row[c].Text), limit)
			for _, l := range ls {
				width[c] = max(width[c], uniseg.StringWidth(l))
			}
			lines[r][c] = ls
		}
		left -= width[c]
	}
	for r, row := range t.Rows {
		lines[r] = make([][]string, len(row))
	}
	for c := range columns {
		if c+1 != t.Fit {
			layout(c, t.limitOf(c))
		}
	}
	if t.Fit > 0 && t.Fit <= columns {
		layout(t.Fit-1, max(left, 16))
	}
	var out []string
	for r, cols := range lines {
		height := 1
		for _, ls := range cols {
			height = max(height, len(ls))
		}
		for i := range height {
			var b strings.Builder
			pad := indent
			for c, ls := range cols {
				if c > 0 {
					pad += gap
				}
				if i >= len(ls) || ls[i] == "" {
					pad += width[c]
					continue
				}
				free := width[c] - uniseg.StringWidth(ls[i])
				if t.Rows[r][c].Right {
					pad, free = pad+free, 0
				}
				b.WriteString(strings.Repeat(" ", pad))
				b.WriteString(p.Styled(t.Rows[r][c].Style, ls[i]))
				pad = free
			}
			out = append(out, b.String())
		}
	}
	return out
}

func (t *Table) limitOf(column int) int {
	if column < len(t.Limit) {
		return t.Limit[column]
	}
	return 0
}

// Wrap breaks text into lines of at most limit columns (0 for no limit) at
// spaces; a word that is longer stands alone and sticks out.
func Wrap(text string, limit int) []string {
	var out []string
	for _, paragraph := range strings.Split(text, "\n") {
		line := ""
		for i, word := range strings.Split(paragraph, " ") {
			switch {
			case i == 0:
				line = word
			case limit == 0 || uniseg.StringWidth(line)+1+uniseg.StringWidth(word) <= limit:
				line += " " + word
			default:
				out = append(out, line)
				line = word
			}
		}
		out = append(out, line)
	}
	for i := range out {
		out[i] = strings.ReplaceAll(out[i], words.NoBreak, " ")
	}
	return out
}
