package main

import (
	"io"
	"os"
	"strconv"
	"strings"

	"golang.org/x/term"
)

// terminal is where a command writes and what that place can show.
type terminal struct {
	out, err io.Writer
	width    int      // columns of out
	colour   bool     // whether out shows colours
	ascii    bool     // whether only ASCII is safe
	bars     bool     // whether err is a terminal that can redraw a line
	environ  []string // the environment, for the configuration
}

// The widths of output: where out is no terminal, and the widest one used.
const (
	defaultWidth = 100
	maxWidth     = 140
	minWidth     = 40
)

// processTerminal describes the streams of a process. Colours are off where
// out is no terminal, NO_COLOR is set or TERM is dumb; ASCII is used where the
// locale names another character set than UTF-8.
func processTerminal(out, err *os.File, environ []string) *terminal {
	env := lookup(environ)
	dumb := env("TERM") == "dumb"
	isTerm := term.IsTerminal(int(out.Fd()))
	t := &terminal{
		out: out, err: err, environ: environ, width: defaultWidth,
		colour: isTerm && !dumb && env("NO_COLOR") == "",
		ascii:  dumb || !utf8Locale(env),
		bars:   term.IsTerminal(int(err.Fd())) && !dumb,
	}
	if w, _, e := term.GetSize(int(out.Fd())); isTerm && e == nil {
		t.width = w
	}
	if w, e := strconv.Atoi(env("COLUMNS")); e == nil {
		t.width = w
	}
	t.width = min(max(t.width, minWidth), maxWidth)
	return t
}

// lookup returns a reader of an environment; the last of equal names counts.
func lookup(environ []string) func(string) string {
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
