package report

import (
	"context"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/cdproto/log"
	"github.com/chromedp/cdproto/network"
	"github.com/chromedp/cdproto/runtime"
	"github.com/chromedp/chromedp"
)

// browser is a page in Chromium and what it complained of and asked for.
type browser struct {
	*testing.T
	ctx    context.Context
	url    string
	mu     sync.Mutex
	faults []string
}

// browse opens a page in Debian's Chromium, or skips where there is none.
func browse(t *testing.T, page []byte) *browser {
	path, err := exec.LookPath("chromium")
	if err != nil && os.Getenv("SILL_BROWSER") != "required" {
		t.Skip("there is no chromium here")
	}
	if err != nil {
		t.Fatal(err)
	}
	file := filepath.Join(t.TempDir(), "page.html")
	if err := os.WriteFile(file, page, 0o600); err != nil {
		t.Fatal(err)
	}
	// It runs as root in CI; the page is ours.
	ctx, stop := chromedp.NewExecAllocator(context.Background(), append(chromedp.DefaultExecAllocatorOptions[:], chromedp.ExecPath(path), chromedp.NoSandbox)...)
	t.Cleanup(stop)
	ctx, stop = context.WithTimeout(ctx, time.Minute)
	t.Cleanup(stop)
	ctx, stop = chromedp.NewContext(ctx)
	t.Cleanup(stop)
	b := &browser{T: t, ctx: ctx, url: "file://" + file}
	err = chromedp.Listen(ctx, func(ev any) {
		b.mu.Lock()
		defer b.mu.Unlock()
		switch e := ev.(type) {
		case *network.EventRequestWillBeSent:
			if !strings.HasPrefix(e.Request.URL, b.url) {
				b.faults = append(b.faults, "it asks for "+e.Request.URL)
			}
		case *log.EventEntryAdded:
			b.faults = append(b.faults, "the log says "+e.Entry.Text)
		case *runtime.EventExceptionThrown:
			b.faults = append(b.faults, "the script fails: "+e.ExceptionDetails.Text)
		case *runtime.EventConsoleAPICalled:
			b.faults = append(b.faults, "the console is written to")
		}
	})
	if err != nil {
		t.Fatal(err)
	}
	if _, err := chromedp.Call(ctx, network.Enable, network.EnableParams{}); err != nil {
		t.Fatal(err)
	}
	return b
}

// open goes to the page at an address within it, anew.
func (b *browser) open(hash string) {
	b.Helper()
	if err := chromedp.Do(b.ctx, chromedp.Navigate("about:blank"), chromedp.Navigate(b.url+hash)); err != nil {
		b.Fatal(err)
	}
}

// told evaluates an expression in the page.
func told[T any](b *browser, expression string) T {
	b.Helper()
	v, err := chromedp.Run(b.ctx, chromedp.Evaluate[T](expression))
	if err != nil {
		b.Fatalf("%s: %v", expression, err)
	}
	return v
}

// do runs a script in the page.
func (b *browser) do(script string) {
	b.Helper()
	told[bool](b, "("+script+", true)")
}

// calm fails where the page complained or asked for anything.
func (b *browser) calm() {
	b.Helper()
	b.mu.Lock()
	defer b.mu.Unlock()
	for _, f := range b.faults {
		if f != "it asks for about:blank" {
			b.Error(f)
		}
	}
}

// choose sets a control as a reader would.
const choose = `(name, value) => { const c = document.forms[0].elements[name]; c.value = value; c.dispatchEvent(new Event('change', {bubbles: true})); }`

// seen lists the figures that are shown, with their panels.
const seen = `[...document.querySelectorAll('.f')].filter(f => !f.closest('[hidden]')).map(f => f.id + ' ' + [...f.querySelectorAll('figure')].filter(p => !p.hidden && getComputedStyle(p).display !== 'none').map(p => p.querySelector('h4').textContent).join(' '))`

// TestBrowser reads the page as a person does: it filters, follows links,
// presses Tab, and looks at it on a phone and on a wall.
func TestBrowser(t *testing.T) {
	tables, m := fixture()
	b := browse(t, written(t, tables, m))
	all := "L-v-L L-v-R R-v-L R-v-R"

	b.open("")
	if got := told[[]string](b, seen); len(got) != 5 {
		t.Errorf("%d figures at first: %q", len(got), got)
	}
	b.do("(" + choose + ")('type', 'slider')")
	if got := told[[]string](b, seen); !slices.Equal(got, []string{"slider/velocity/whiff_rate " + all, "slider/extension/woba_against " + all}) {
		t.Errorf("slider: %q", got)
	}
	b.do("(" + choose + ")('verdict', 'too_few')")
	if got := told[[]string](b, seen); !slices.Equal(got, []string{"slider/velocity/whiff_rate L-v-R", "slider/extension/woba_against L-v-R R-v-R"}) {
		t.Errorf("slider, too few: %q", got)
	}
	b.do(`document.querySelector('input[value="L-v-R"]').click()`)
	if got := told[[]string](b, seen); !slices.Equal(got, []string{"slider/extension/woba_against R-v-R"}) {
		t.Errorf("slider, too few, not L-v-R: %q", got)
	}
	hash := told[string](b, "location.hash")
	if want := "#slider/*/*/L-v-L,R-v-L,R-v-R/too_few"; hash != want {
		t.Errorf("the address ends in %q, want %q", hash, want)
	}
	b.open(hash)
	if got := told[[]string](b, seen); !slices.Equal(got, []string{"slider/extension/woba_against R-v-R"}) {
		t.Errorf("the address gives back %q", got)
	}
	b.do("document.querySelector('button').focus()")
	if err := chromedp.Do(b.ctx, chromedp.KeyEvent("\r")); err != nil {
		t.Fatal(err)
	}
	if got := told[[]string](b, seen); len(got) != 5 {
		t.Errorf("after showing all: %q", got)
	}

	// A link to a figure shows it alone, in view, be it folded or not.
	for _, id := range []string{"four_seam/velocity/woba_against", "slider/extension/woba_against"} {
		b.open("#" + id)
		if got := told[[]string](b, seen); !slices.Equal(got, []string{id + " " + all}) {
			t.Errorf("#%s shows %q", id, got)
		}
		if at := told[float64](b, "document.getElementById('"+id+"').getBoundingClientRect().top"); at < 0 || at > 400 {
			t.Errorf("#%s stands at %g", id, at)
		}
	}

	// What is read stays where it is when others go, in a browser too that does
	// not see to that itself.
	b.open("")
	b.do(`document.documentElement.style.overflowAnchor = 'none'`)
	b.do(`document.getElementById('slider').scrollIntoView()`)
	before := told[float64](b, "document.getElementById('slider').getBoundingClientRect().top")
	b.do("(" + choose + ")('type', 'slider')")
	if after := told[float64](b, "document.getElementById('slider').getBoundingClientRect().top"); after-before > 2 || before-after > 2 {
		t.Errorf("the section went from %g to %g", before, after)
	}

	// Tab reaches every control, and shows where it is.
	b.open("")
	var reached []string
	for range 60 {
		if err := chromedp.Do(b.ctx, chromedp.KeyEvent("\t")); err != nil {
			t.Fatal(err)
		}
		reached = append(reached, told[string](b, `(e => e.name || e.type || e.tagName)(document.activeElement)`))
		if told[string](b, `getComputedStyle(document.activeElement).outlineStyle`) == "none" {
			t.Errorf("%s shows no focus", reached[len(reached)-1])
		}
	}
	for _, want := range []string{"A", "type", "variable", "outcome", "verdict", "m", "button", "SUMMARY"} {
		if !slices.Contains(reached, want) {
			t.Errorf("Tab does not reach %s: %q", want, reached)
		}
	}
	b.calm()
}

// TestBrowserWidths demands that no page is wider than its screen, all of it
// unfolded, whatever its texts.
func TestBrowserWidths(t *testing.T) {
	for name, page := range pages(t) {
		b := browse(t, page)
		for _, width := range []int64{390, 1280, 1920} {
			if err := chromedp.Do(b.ctx, chromedp.EmulateViewport(width, 900)); err != nil {
				t.Fatal(err)
			}
			b.open("")
			b.do(`document.querySelectorAll('details').forEach(d => { d.open = true; })`)
			if got := told[float64](b, "document.documentElement.scrollWidth"); got > float64(width) {
				t.Errorf("%s: %g wide on a screen of %d: %s", name, got, width, told[string](b,
					`[...document.querySelectorAll('body *')].filter(e => e.getBoundingClientRect().right > innerWidth && !e.closest('.scroll, svg')).slice(0, 3).map(e => e.outerHTML.slice(0, 80)).join(' | ')`))
			}
		}
		b.calm()
	}
}

// TestBrowserPlain demands that the page reads fully without its script.
func TestBrowserPlain(t *testing.T) {
	tables, m := fixture()
	b := browse(t, written(t, tables, m))
	if _, err := chromedp.Call(b.ctx, emulation.SetScriptExecutionDisabled, emulation.SetScriptExecutionDisabledParams{Value: true}); err != nil {
		t.Fatal(err)
	}
	b.open("")
	if !told[bool](b, "document.forms[0].hidden") {
		t.Error("the filter shows although nothing would answer")
	}
	if got := told[[]string](b, seen); len(got) != 5 {
		t.Errorf("without script: %q", got)
	}
}
