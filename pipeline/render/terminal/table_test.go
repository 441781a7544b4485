package terminal

import (
	"bytes"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
)

// Columns line up by what a terminal shows, not by bytes or code points.
func TestTableWidths(t *testing.T) {
	term, _ := pageText(80, false, false)
	tab := &Table{}
	tab.Add(Cell{Text: "日本"}, Cell{Text: "right", Right: true}, Cell{Text: "x"})
	tab.Add(Cell{Text: "e\u0301t\u00e9"}, Cell{Text: "r", Right: true}, Cell{Text: "y"})
	tab.Add(Cell{Text: ""}, Cell{Text: ""}, Cell{Text: "z"})
	want := []string{
		"  日本  right  x",
		"  e\u0301t\u00e9       r  y",
		"               z",
	}
	if diff := cmp.Diff(want, tab.Render(NewPrinter(term), 2)); diff != "" {
		t.Error(diff)
	}
}

// A table without rows prints nothing; a fitted column takes what is left.
func TestTableFit(t *testing.T) {
	term, _ := pageText(30, false, false)
	p := NewPrinter(term)
	if got := (&Table{Fit: 2}).Render(p, 0); got != nil {
		t.Errorf("an empty table printed %q", got)
	}
	tab := &Table{Fit: 2}
	tab.Add(Cell{Text: "name"}, Cell{Text: "words that fill the line and more"}, Cell{Text: "end"})
	want := []string{
		"name  words that fill the  end",
		"      line and more",
	}
	if diff := cmp.Diff(want, tab.Render(p, 0)); diff != "" {
		t.Error(diff)
	}
}

func TestWrap(t *testing.T) {
	for _, c := range []struct {
		text  string
		limit int
		want  []string
	}{
		{"one two three", 0, []string{"one two three"}},
		{"one two three", 7, []string{"one two", "three"}},
		{"one\u00a0two three", 5, []string{"one two", "three"}},
		{"a\nb c", 1, []string{"a", "b", "c"}},
		{"", 5, []string{""}},
	} {
		if diff := cmp.Diff(c.want, Wrap(c.text, c.limit)); diff != "" {
			t.Errorf("%q at %d: %s", c.text, c.limit, diff)
		}
	}
}

func TestStylesAreOffWithoutColour(t *testing.T) {
	for _, colour := range []bool{false, true} {
		term, out := pageText(80, colour, false)
		p := NewPrinter(term)
		p.Line(Bold, "x")
		tab := &Table{}
		tab.Add(Cell{Text: "y", Style: Dim})
		p.Table(tab, 0)
		if err := p.Close(); err != nil {
			t.Fatal(err)
		}
		if got := strings.Contains(out.String(), "\x1b["); got != colour {
			t.Errorf("colour %v: escapes %v in %q", colour, got, out)
		}
	}
}

// pageText is a terminal that keeps what is printed.
func pageText(width int, colour, ascii bool) (*Terminal, *bytes.Buffer) {
	var b bytes.Buffer
	return &Terminal{Out: &b, Err: &b, Width: width, Colour: colour, ASCII: ascii}, &b
}
