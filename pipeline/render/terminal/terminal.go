// Package terminal lays results out for a terminal: its width and characters,
// styles, lines, tables and charts of characters.
package terminal

import (
	"io"
	"os"
	"strconv"
	"strings"

	"golang.org/x/term"
)

// Terminal is where a command writes and what that place can show.
type Terminal struct {
	Out, Err io.Writer
	Width    int      // columns of Out
	Colour   bool     // whether Out shows colours
	ASCII    bool     // whether only ASCII is safe
	Bars     bool     // whether Err is a terminal that can redraw a line
	Environ  []string // the environment, for the configuration
}

// The widths of output: where out is no terminal, and the widest one used.
const (
	defaultWidth = 100
	maxWidth     = 140
	minWidth     = 40
)

// Process describes the streams of a process. Colours are off where
// out is no terminal, NO_COLOR is set or TERM is dumb; ASCII is used where the
// locale names another character set than UTF-8.
func Process(out, err *os.File, environ []string) *Terminal {
	env := Lookup(environ)
	dumb := env("TERM") == "dumb"
	isTerm := term.IsTerminal(int(out.Fd()))
	t := &Terminal{
		Out: out, Err: err, Environ: environ, Width: defaultWidth,
		Colour: isTerm && !dumb && env("NO_COLOR") == "",
		ASCII:  dumb || !utf8Locale(env),
		Bars:   term.IsTerminal(int(err.Fd())) && !dumb,
	}
	if w, _, e := term.GetSize(int(out.Fd())); isTerm && e == nil {
		t.Width = w
	}
	if w, e := strconv.Atoi(env("COLUMNS")); e == nil {
		t.Width = w
	}
	t.Width = min(max(t.Width, minWidth), maxWidth)
	return t
}

// Lookup returns a reader of an environment; the last of equal names counts.
func Lookup(environ []string) func(string) string {
	return func(name string) string {
		value := ""
		for _, kv := range environ {
			if v, ok := strings.CutPrefix(kv, name+"="); ok {
				value = v
			}
		}
		return value
	}
}

// utf8Locale tells whether the locale allows UTF-8; one that is not set does.
func utf8Locale(env func(string) string) bool {
	for _, name := range []string{"LC_ALL", "LC_CTYPE", "LANG"} {
		if v := strings.ToLower(env(name)); v != "" {
			return strings.Contains(v, "utf-8") || strings.Contains(v, "utf8")
		}
	}
	return true
}
