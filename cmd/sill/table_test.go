package main

import (
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
)

// Columns line up by what a terminal shows, not by bytes or code points.
func TestTableWidths(t *testing.T) {
	term, _ := pageText(80, false, false)
	tab := &table{}
	tab.add(cell{text: "日本"}, cell{text: "right", right: true}, cell{text: "x"})
	tab.add(cell{text: "e\u0301t\u00e9"}, cell{text: "r", right: true}, cell{text: "y"})
	tab.add(cell{text: ""}, cell{text: ""}, cell{text: "z"})
	want := []string{
		"  日本  right  x",
		"  e\u0301t\u00e9       r  y",
		"               z",
	}
	if diff := cmp.Diff(want, tab.render(newPrinter(term), 2)); diff != "" {
		t.Error(diff)
	}
}

// A table without rows prints nothing; a fitted column takes what is left.
func TestTableFit(t *testing.T) {
	term, _ := pageText(30, false, false)
	p := newPrinter(term)
	if got := (&table{fit: 2}).render(p, 0); got != nil {
		t.Errorf("an empty table printed %q", got)
	}
	tab := &table{fit: 2}
	tab.add(cell{text: "name"}, cell{text: "words that fill the line and more"}, cell{text: "end"})
	want := []string{
		"name  words that fill the  end",
		"      line and more",
	}
	if diff := cmp.Diff(want, tab.render(p, 0)); diff != "" {
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
		if diff := cmp.Diff(c.want, wrap(c.text, c.limit)); diff != "" {
			t.Errorf("%q at %d: %s", c.text, c.limit, diff)
		}
	}
}

func TestStylesAreOffWithoutColour(t *testing.T) {
	for _, colour := range []bool{false, true} {
		term, out := pageText(80, colour, false)
		p := newPrinter(term)
		p.line(bold, "x")
		tab := &table{}
		tab.add(cell{text: "y", style: dim})
		p.table(tab, 0)
		if err := p.close(); err != nil {
			t.Fatal(err)
		}
		if got := strings.Contains(out.String(), "\x1b["); got != colour {
			t.Errorf("colour %v: escapes %v in %q", colour, got, out)
		}
	}
}
