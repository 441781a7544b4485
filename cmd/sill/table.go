package main

import (
	"strings"

	"github.com/rivo/uniseg"

	"sill/pipeline/render/words"
)

// style is how a piece of text looks, as the parameters of an ANSI escape;
// empty for plain. It is never the only cue.
type style string

// The styles. Colour tells matchups apart and nothing else.
const (
	plain style = ""
	bold  style = "1"
	dim   style = "2"
)

// cell is one field of a table: text that is broken into lines at spaces (not
// at no-break spaces) and at line feeds.
type cell struct {
	text  string
	style style
	right bool // aligned to the right
}

// table is a grid of text. Columns are as wide as their widest cell, up to a
// limit; the first column names the row.
type table struct {
	rows [][]cell
	// limit is the greatest width of each column, 0 for none.
	limit []int
	// fit is the column, counted from 1, that takes what the others leave of
	// the page; 0 for none.
	fit int
}

// gap separates columns.
const gap = "  "

func (t *table) add(cells ...cell) { t.rows = append(t.rows, cells) }

// render returns the lines of the table, each indented by some columns.
func (t *table) render(p *printer, indent int) []string {
	columns := 0
	for _, row := range t.rows {
		columns = max(columns, len(row))
	}
	lines := make([][][]string, len(t.rows)) // row, column, line
	width := make([]int, columns)
	left := p.width - indent - (columns-1)*len(gap)
	layout := func(c, limit int) {
		for r, row := range t.rows {
			if c >= len(row) {
				continue
			}
			ls := wrap(p.glyphs(row[c].text), limit)
			for _, l := range ls {
				width[c] = max(width[c], uniseg.StringWidth(l))
			}
			lines[r][c] = ls
		}
		left -= width[c]
	}
	for r, row := range t.rows {
		lines[r] = make([][]string, len(row))
	}
	for c := range columns {
		if c+1 != t.fit {
			layout(c, t.limitOf(c))
		}
	}
	if t.fit > 0 && t.fit <= columns {
		layout(t.fit-1, max(left, 16))
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
					pad += len(gap)
				}
				if i >= len(ls) || ls[i] == "" {
					pad += width[c]
					continue
				}
				free := width[c] - uniseg.StringWidth(ls[i])
				if t.rows[r][c].right {
					pad, free = pad+free, 0
				}
				b.WriteString(strings.Repeat(" ", pad))
				b.WriteString(p.styled(t.rows[r][c].style, ls[i]))
				pad = free
			}
			out = append(out, b.String())
		}
	}
	return out
}

func (t *table) limitOf(column int) int {
	if column < len(t.limit) {
		return t.limit[column]
	}
	return 0
}

// wrap breaks text into lines of at most limit columns (0 for no limit) at
// spaces; a word that is longer stands alone and sticks out.
func wrap(text string, limit int) []string {
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
