package main

import (
	"io"
	"log/slog"
	"sync"
	"time"

	"github.com/schollz/progressbar/v3"

	"sill/pipeline/render/terminal"
)

// newLog returns the log of a command: plain text lines on standard error.
func newLog(w io.Writer) *slog.Logger {
	return slog.New(slog.NewTextHandler(w, &slog.HandlerOptions{Level: slog.LevelInfo}))
}

// progress draws one bar a stage, with rate and time left where the stage says
// how much there is to do. It may be told from any goroutine.
type progress struct {
	w     io.Writer
	ascii bool

	mu    sync.Mutex
	stage string
	total int64 // 0 while it is not known
	bar   *progressbar.ProgressBar
}

// watch returns how a long command tells what it does: bars and no log where
// standard error is a terminal, else a log and no bars; neither where quiet, for
// programs that read errors there. The last function ends the last bar.
func watch(t *terminal.Terminal, quiet bool) (*slog.Logger, func(stage string, done, total int64), func()) {
	if quiet {
		return nil, nil, func() {}
	}
	if !t.Bars {
		return newLog(t.Err), nil, func() {}
	}
	g := &progress{w: t.Err, ascii: t.ASCII}
	return nil, g.report, g.finish
}

// report is told that done of total units of a stage are done; total is 0
// where it is not known.
func (g *progress) report(stage string, done, total int64) {
	g.mu.Lock()
	defer g.mu.Unlock()
	if stage != g.stage || total != g.total {
		g.end()
		g.begin(stage, total)
	}
	_ = g.bar.Set64(done) // a bar that cannot be drawn stops nothing
}

// begin draws a turning wheel where it is not known how much there is to do.
func (g *progress) begin(stage string, total int64) {
	g.stage, g.total = stage, total
	theme := progressbar.Theme{Saucer: "█", SaucerPadding: "░"} // glyphs that every font has
	if g.ascii {
		theme = progressbar.ThemeASCII
	}
	options := []progressbar.Option{progressbar.OptionSetWriter(g.w), progressbar.OptionSetDescription(stage),
		progressbar.OptionSetWidth(30), progressbar.OptionSetTheme(theme), progressbar.OptionThrottle(100 * time.Millisecond),
		progressbar.OptionClearOnFinish()}
	if total > 0 {
		options = append(options, progressbar.OptionShowIts(), progressbar.OptionShowCount(), progressbar.OptionSetPredictTime(true))
	} else {
		total = -1
	}
	g.bar = progressbar.NewOptions64(total, options...)
	_ = g.bar.RenderBlank()
}

// finish ends the last stage.
func (g *progress) finish() {
	g.mu.Lock()
	defer g.mu.Unlock()
	g.end()
}

func (g *progress) end() {
	if g.bar != nil {
		_ = g.bar.Finish()
		g.stage, g.bar = "", nil
	}
}
