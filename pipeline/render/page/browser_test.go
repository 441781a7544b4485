package page

import (
	"bytes"
	"context"
	"fmt"
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

	"sill/pipeline/locate"
	"sill/pipeline/thresholds"
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
func browse(t *testing.T, text []byte) *browser {
	path, err := exec.LookPath("chromium")
	if err != nil && os.Getenv("SILL_BROWSER") != "required" {
		t.Skip("there is no chromium here")
	}
	if err != nil {
		t.Fatal(err)
	}
	file := filepath.Join(t.TempDir(), "page.html")
	if err := os.WriteFile(file, text, 0o600); err != nil {
		t.Fatal(err)
	}
	// It runs as root in CI; the page is ours.
	ctx, stop := chromedp.NewExecAllocator(context.Background(), append(chromedp.DefaultExecAllocatorOptions[:], chromedp.ExecPath(path), chromedp.NoSandbox)...)
	t.Cleanup(stop)
	ctx, stop = context.WithTimeout(ctx, 15*time.Minute)
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
	v, err := chromedp.Run(b.ctx, chromedp.Evaluate[T](expression, chromedp.EvalAwaitPromise))
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
	if got := told[[]string](b, seen); len(got) != 6 {
		t.Errorf("%d figures at first: %q", len(got), got)
	}
	b.do("(" + choose + ")('type', 'slider')")
	if got := told[[]string](b, seen); !slices.Equal(got, []string{"slider/velocity/whiff_rate " + all, "slider/extension/woba_against " + all, "slider/plate_side/whiff_rate " + all}) {
		t.Errorf("slider: %q", got)
	}
	b.do("(" + choose + ")('verdict', 'too_few')")
	if got := told[[]string](b, seen); !slices.Equal(got, []string{"slider/velocity/whiff_rate L-v-R", "slider/extension/woba_against L-v-R R-v-R"}) {
		t.Errorf("slider, too few: %q", got)
	}
	b.do(`document.querySelector('input[value="L-v-R"]').click()`)
	left := []string{"slider/extension/woba_against R-v-R"}
	if got := told[[]string](b, seen); !slices.Equal(got, left) {
		t.Errorf("slider, too few, not L-v-R: %q", got)
	}
	hash := told[string](b, "location.hash")
	if want := "#slider/*/*/L-v-L,R-v-L,R-v-R/too_few"; hash != want {
		t.Errorf("the address ends in %q, want %q", hash, want)
	}
	b.open(hash)
	if got := told[[]string](b, seen); !slices.Equal(got, left) {
		t.Errorf("the address gives back %q", got)
	}
	b.do("document.querySelector('button').focus()")
	if err := chromedp.Do(b.ctx, chromedp.KeyEvent("\r")); err != nil {
		t.Fatal(err)
	}
	if got := told[[]string](b, seen); len(got) != 6 {
		t.Errorf("after showing all: %q", got)
	}

	// Words find pitches and qualities, as they are spelt or nearly; the first board
	// shows the quality that is chosen.
	for words, want := range map[string]int{"four seam": 3, "SLIDER extension": 1, "plate": 1, "extens": 2, "nothing": 0} {
		b.do("(" + choose + ")('q', '" + words + "')")
		if got := told[[]string](b, seen); len(got) != want {
			t.Errorf("%q finds %q", words, got)
		}
		b.open(told[string](b, "location.hash"))
		if got := told[string](b, "document.forms[0].q.value"); got != words {
			t.Errorf("the address gives back %q of %q", got, words)
		}
	}
	b.open("")
	b.do("(" + choose + ")('variable', 'extension')")
	if got := told[string](b, "document.querySelector('#glance').innerText"); !strings.Contains(got, "extension: the breakpoint") ||
		told[int](b, "document.querySelectorAll('#glance tbody').length") != 1 || !strings.Contains(got, "four-seam") {
		t.Errorf("at a glance by extension: %q", got)
	}
	b.do("(" + choose + ")('variable', '*')")
	if n := told[int](b, "document.querySelectorAll('#glance tbody').length"); n != 2 {
		t.Errorf("%d pitches at a glance", n)
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
	for _, want := range []string{"A", "q", "type", "variable", "outcome", "verdict", "m", "button", "SUMMARY"} {
		if !slices.Contains(reached, want) {
			t.Errorf("Tab does not reach %s: %q", want, reached)
		}
	}
	b.calm()
}

// unfold opens all that is closed and copies into each drawing what it shares with
// others, so that it can be measured.
const unfold = `(document.querySelectorAll('details').forEach(d => { d.open = true; }), document.querySelectorAll('svg[role] > use').forEach(u => {
  u.replaceWith(document.querySelector(u.getAttribute('href')).cloneNode(true));
}))`

// outside lists what does not fit: boxes wider than the screen, cells and captions
// whose text runs out of them, and texts of drawings beyond their frame.
const outside = `(() => {
  const say = e => e.closest('[id]').id + ': ' + e.outerHTML.slice(0, 80), out = [];
  if (document.documentElement.scrollWidth > innerWidth) {
    out.push(...[...document.querySelectorAll('body *')].filter(e => e.getBoundingClientRect().right > innerWidth && !e.closest('.scroll, svg')).map(say));
  }
  out.push(...[...document.querySelectorAll('.board td, .board th, figcaption, form label, nav a')].filter(e => e.clientWidth > 0 && e.scrollWidth > e.clientWidth + 1).map(say));
  for (const t of document.querySelectorAll('svg[role] text')) {
    const b = t.getBoundingClientRect(), f = t.closest('figure').getBoundingClientRect(), s = t.closest('svg[role]').getBoundingClientRect();
    if (b.width > 0 && (b.left < f.left - 1 || b.right > f.right + 1 || b.top < s.top - 1 || b.bottom > s.bottom + 1)) out.push(say(t));
  }
  return out.slice(0, 5);
})()`

// everyPage is pages and, where `make golden` left it and Chromium must be there, the
// demo league's, with which the tests take minutes.
func everyPage(t *testing.T) map[string][]byte {
	t.Helper()
	all := pages(t)
	table, err := thresholds.Open(filepath.Join(build, "golden", "lantern"))
	if err != nil || os.Getenv("SILL_BROWSER") != "required" {
		return all
	}
	tables, err := table.Load()
	if err != nil {
		t.Fatal(err)
	}
	var o Options
	for _, w := range locate.Warnings() {
		o.Caveats = append(o.Caveats, Word{w.Code, w.Meaning})
	}
	quality, err := table.Bytes("quality.json")
	if err != nil {
		t.Fatal(err)
	}
	if o.Changes, err = table.Bytes("diff.json"); err != nil {
		t.Fatal(err)
	}
	var b bytes.Buffer
	if err := Write(&b, tables, table.Manifest(), quality, o); err != nil {
		t.Fatal(err)
	}
	all["league"] = b.Bytes()
	return all
}

// screen keeps pictures of a page for people to look at.
func (b *browser) screen(name string) {
	b.Helper()
	folder := filepath.Join(build, "screens")
	if _, err := os.Stat(build); err != nil {
		return
	}
	png, err := chromedp.Run(b.ctx, chromedp.CaptureScreenshot())
	if err == nil {
		err = os.MkdirAll(folder, 0o755)
	}
	if err == nil {
		err = os.WriteFile(filepath.Join(folder, name+".png"), png, 0o644)
	}
	if err != nil {
		b.Error(err)
	}
}

// build is the folder of what was built here, which no version control keeps.
const build = "../../../.build"

// TestBrowserWidths demands that no page is wider than its screen, all of it
// unfolded, whatever its texts.
func TestBrowserWidths(t *testing.T) {
	for name, text := range everyPage(t) {
		b := browse(t, text)
		for _, width := range []int64{390, 1280, 1920} {
			if err := chromedp.Do(b.ctx, chromedp.EmulateViewport(width, 1300)); err != nil {
				t.Fatal(err)
			}
			b.open("")
			b.screen(fmt.Sprintf("%s-%d", name, width))
			b.do(unfold)
			for _, what := range told[[]string](b, outside) {
				t.Errorf("%s, %d wide: %s", name, width, what)
			}
			b.open("#four_seam/velocity/whiff_rate")
			b.screen(fmt.Sprintf("%s-figure-%d", name, width))
		}
		b.calm()
	}
}

// in sets how the page is shown: on a screen or on paper, light or dark.
func (b *browser) in(medium, scheme string) {
	b.Helper()
	_, err := chromedp.Call(b.ctx, emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{Media: medium,
		Features: []*emulation.MediaFeature{{Name: "prefers-color-scheme", Value: scheme}}})
	if err != nil {
		b.Fatal(err)
	}
}

// TestBrowserAccessible has the rules of axe-core judge every page, light on a
// phone and dark on a desk, all of it unfolded. CI lays axe-core into the
// build folder; elsewhere it is skipped.
func TestBrowserAccessible(t *testing.T) {
	axe, err := os.ReadFile(filepath.Join(build, "axe", "axe.min.js"))
	if err != nil {
		t.Skip("there is no axe-core in .build/axe")
	}
	for name, text := range everyPage(t) {
		b := browse(t, text)
		for scheme, width := range map[string]int64{"light": 390, "dark": 1280} {
			if err := chromedp.Do(b.ctx, chromedp.EmulateViewport(width, 900)); err != nil {
				t.Fatal(err)
			}
			b.in("", scheme)
			b.open("")
			b.do(`document.querySelectorAll('details').forEach(d => { d.open = true; })`)
			told[bool](b, string(axe)+"; true")
			for _, fault := range told[[]string](b, judge) {
				t.Errorf("%s, %d wide, %s: %s", name, width, scheme, fault)
			}
			if name == "plain" { // the rules see a picture without a name
				b.do(`document.querySelector('svg[role]').removeAttribute('aria-labelledby')`)
				if len(told[[]string](b, judge)) == 0 {
					t.Error("a picture without a name is no violation")
				}
			}
		}
	}
}

// judge lists the violations that axe-core finds, the first place of each.
const judge = `axe.run(document, {resultTypes: ['violations']}).then(r => r.violations.map(v => v.id + ', ' + v.nodes.length + ' places, such as ' + v.nodes[0].html.slice(0, 120)))`
