package main

import (
	"bytes"
	"strings"
	"sync"
	"testing"

	"sill/pipeline/render/terminal"
)

// On a terminal each stage has a bar and the last one is wiped away; elsewhere
// there is one line of log and no bar.
func TestProgress(t *testing.T) {
	var b bytes.Buffer
	log, report, finish := watch(&terminal.Terminal{Err: &b, Bars: true}, false)
	if log != nil {
		t.Error("a log would tear the bar")
	}
	var wg sync.WaitGroup
	report("index", 0, 0)
	for worker := range 4 {
		wg.Add(1)
		go func() {
			defer wg.Done()
			for i := range 50 {
				report("locate", int64(worker*50+i), 200)
			}
		}()
	}
	wg.Wait()
	finish()
	if got := b.String(); !strings.Contains(got, "index") || !strings.Contains(got, "locate") {
		t.Errorf("stages missing in %q", got)
	}
	last := b.String()[strings.LastIndex(strings.TrimRight(b.String(), "\r"), "\r")+1:]
	if strings.Trim(last, " \r") != "" {
		t.Errorf("the last bar still stands: %q", last)
	}

	b.Reset()
	log, report, finish = watch(&terminal.Terminal{Err: &b}, false)
	if report != nil {
		t.Error("a bar without a terminal")
	}
	log.Info("index", "files", 3)
	finish()
	if got := b.String(); strings.Count(got, "\n") != 1 || !strings.Contains(got, "msg=index files=3") {
		t.Errorf("log %q", got)
	}
}
