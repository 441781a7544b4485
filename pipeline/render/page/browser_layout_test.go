package page

import (
	"bytes"
	"fmt"
	"image"
	"image/png"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/chromedp/cdproto/emulation"
	paper "github.com/chromedp/cdproto/page"
	"github.com/chromedp/chromedp"
)

// leagues are pages of whole leagues: an invented one, and the demo's where it was made.
func leagues(t *testing.T) map[string][]byte {
	t.Helper()
	tables, m := league(8)
	all := map[string][]byte{"invented": written(t, tables, m)}
	if demo := everyPage(t)["league"]; demo != nil {
		all["demo"] = demo
	}
	return all
}

// size makes the screen so large.
func (b *browser) size(width, height int64) {
	b.Helper()
	if err := chromedp.Do(b.ctx, chromedp.EmulateViewport(width, height)); err != nil {
		b.Fatal(err)
	}
}

// atFirst tells of the first screen: how many pitch types have their first numbers on
// it, whether the first of them is above all that can be pressed, and how high the page
// is in screens.
const atFirst = `(() => {
  const within = e => { const r = e.getBoundingClientRect(); return r.height > 0 && r.top >= 0 && r.bottom <= innerHeight; };
  const rows = [...document.querySelectorAll('#glance tbody')].filter(b => [...b.querySelectorAll('td b')].slice(0, 4).some(within) && within(b.querySelector('tr:not(.nm) .o')));
  const top = document.querySelector('#glance tbody td').getBoundingClientRect().bottom;
  const before = [...document.querySelectorAll('form, nav, details, .guide, figure')].filter(e => e.getClientRects().length && e.getBoundingClientRect().top < top).length;
  return [rows.length, before, document.documentElement.scrollHeight / innerHeight];
})()`

// TestBrowserFirstScreen demands the thresholds on the first screen of a phone, a
// tablet, a desk and a wall, before all that filters or leads elsewhere; and a page of
// at most thirty screens as it opens.
func TestBrowserFirstScreen(t *testing.T) {
	for name, text := range leagues(t) {
		b := browse(t, text)
		for _, c := range []struct {
			width, height int64
			types         float64 // at least so many on the first screen
		}{{390, 844, 2}, {768, 1024, 3}, {1280, 800, 4}, {1920, 1080, 6}} {
			b.size(c.width, c.height)
			b.open("")
			b.screen(fmt.Sprintf("first-%s-%d", name, c.width))
			got := told[[]float64](b, atFirst)
			if got[0] < c.types {
				t.Errorf("%s, %d wide: %g pitch types on the first screen, want %g", name, c.width, got[0], c.types)
			}
			if got[1] > 0 {
				t.Errorf("%s, %d wide: %g things stand before the first threshold", name, c.width, got[1])
			}
			if c.width == 1280 && got[2] > 30 {
				t.Errorf("%s: %.1f screens", name, got[2])
			}
		}
		if n := told[int](b, "document.querySelectorAll('.type[open]').length"); n != 1 {
			t.Errorf("%s: %d pitch types are open", name, n)
		}
		b.calm()
	}
}

// overlaps lists numbers that lie on another: in texts, boards and drawings. What is
// measured of a line is the height of its digits.
const overlaps = `(() => {
  const all = [], tree = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT), range = document.createRange();
  for (let n; (n = tree.nextNode());) {
    if (!/[0-9]/.test(n.data) || n.parentElement.closest('script, style, select, .defs')) continue;
    range.selectNodeContents(n);
    const boxes = n.parentElement.tagName === 'text' ? [n.parentElement.getBoundingClientRect()] : range.getClientRects();
    const cut = n.parentElement.closest('.cut')?.getBoundingClientRect(); // beyond it a long text is not seen
    for (const r of boxes) if (r.width > 1 && !(cut && r.bottom > cut.bottom + 1)) all.push({l: r.left, r: r.right, t: r.top + .22 * r.height, b: r.bottom - .22 * r.height, n});
  }
  all.sort((a, b) => a.t - b.t);
  const out = [];
  for (let i = 0; i < all.length; i++) {
    for (let k = i + 1; k < all.length && all[k].t < all[i].b; k++) {
      const a = all[i], b = all[k];
      if (a.n !== b.n && Math.min(a.r, b.r) - Math.max(a.l, b.l) > .5) out.push(a.n.data.trim() + ' on ' + b.n.data.trim() + ' in ' + (a.n.parentElement.closest('[id]') || document.body).id);
    }
  }
  return [String(all.length), ...out.slice(0, 4)];
})()`

// fonts are three that systems come with: wide, narrow, and with full stops as wide as digits.
var fonts = []string{"DejaVu Sans", "Liberation Sans", "DejaVu Sans Mono"}

// TestBrowserOverlap demands that no number lies on another, at any width and in fonts
// of different widths.
func TestBrowserOverlap(t *testing.T) {
	for name, text := range everyPage(t) {
		if name == "hostile" { // whose texts are cut
			continue
		}
		b := browse(t, text)
		b.open("")
		b.do(unfold)
		b.do(`document.querySelectorAll('.type > .figs > .fold, .type > .figs .num').forEach(e => e.remove())`) // tables of the browser's own making
		widths := map[float64]bool{}
		for _, font := range fonts {
			b.do(`document.body.style.fontFamily = '"` + font + `"'`)
			for width := int64(320); width <= 1920; width += 64 {
				b.size(width, 900)
				got := told[[]string](b, overlaps)
				if len(got[0]) < 3 {
					t.Fatalf("%s: %s numbers were measured", name, got[0])
				}
				for _, what := range got[1:] {
					t.Errorf("%s, %d wide, %s: %s", name, width, font, what)
				}
			}
			widths[told[float64](b, `(s => { s.textContent = '≥ 93.0 91.9–93.9'; document.body.append(s); return s.getBoundingClientRect().width; })(document.createElement('span'))`)] = true
		}
		if len(widths) != len(fonts) && os.Getenv("SILL_BROWSER") == "required" {
			t.Errorf("of the fonts %q only %d are here", fonts, len(widths))
		}
		b.do(`document.querySelector('#glance td b').style.marginLeft = '-3em'`)
		b.do(`document.querySelectorAll('svg[role] .x text')[1].setAttribute('x', document.querySelectorAll('svg[role] .x text')[0].getAttribute('x'))`)
		if got := told[[]string](b, overlaps); len(got) < 2 {
			t.Errorf("%s: a number that was laid on another is not found", name)
		}
	}
}

// signs gathers how each sign of the guides looks, by its classes: one that looks like
// another has two meanings.
const signs = `[...document.querySelectorAll('[data-s]')].map(d => {
  const looks = [...d.querySelectorAll('.sw *')].map(e => {
    const t = e.tagName === 'use' ? document.querySelector(e.getAttribute('href')) : e, s = getComputedStyle(t), r = e.getBBox();
    return [t.tagName === 'rect' ? r.height : t.getAttribute('d') || '', s.fill, s.stroke, s.strokeWidth, s.strokeDasharray, s.opacity].join(' ');
  });
  return d.dataset.s + ': ' + looks.join(', ');
})`

// drawnAs lists the classes of all that is drawn, and texts with marks of their own.
const drawnAs = `[...new Set([...document.querySelectorAll('svg:not(.sw) :is(path, rect, line, use)')].filter(e => !e.closest('defs')).map(e => (e.tagName === 'use' ? document.querySelector(e.getAttribute('href')) : e).getAttribute('class') || ''))].sort()`

// TestBrowserSigns demands one meaning of each sign: all that is drawn is told in one
// guide, each as nothing else, and no letter of a text is a sign.
func TestBrowserSigns(t *testing.T) {
	for name, text := range everyPage(t) {
		b := browse(t, text)
		for _, scheme := range []string{"light", "dark"} {
			b.in("", scheme)
			b.open("")
			var classes []string
			looks := map[string]string{}
			for _, s := range told[[]string](b, signs) {
				class, look, _ := strings.Cut(s, ": ")
				classes = append(classes, strings.Fields(class)...)
				if other, same := looks[look]; same || look == "" {
					t.Errorf("%s, %s: %q looks like %q: %s", name, scheme, class, other, look)
				}
				looks[look] = class
			}
			slices.Sort(classes)
			if twice := slices.Compact(slices.Clone(classes)); len(twice) != len(classes) {
				t.Errorf("%s: a sign has two meanings: %q", name, classes)
			}
			for _, class := range told[[]string](b, drawnAs) {
				if bare := []string{"", "gr", "ti"}; !slices.Contains(bare, class) && !slices.Contains(classes, class) { // groups, grid and ticks
					t.Errorf("%s: no guide tells of the sign %q", name, class)
				}
			}
		}
		if got := told[string](b, `(document.body.textContent + [...document.querySelectorAll('*')].map(e => getComputedStyle(e, '::before').content + getComputedStyle(e, '::after').content).join('')).match(/[\u2190-\u21ff\u25a0-\u27bf\u2b00-\u2bff*†‡]/g)?.join('') || ''`); strings.Trim(got, "*") != "" {
			t.Errorf("%s: signs among the letters: %s", name, got)
		}
	}
}

// TestBrowserPlain demands that without its script all of the page is there: open, or
// one press away.
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
	hidden := `[...document.querySelectorAll('.f, .board, main p, main h3, .num')].filter(e => !e.checkVisibility({contentVisibilityAuto: true})).map(e => e.id || e.textContent.slice(0, 40))`
	closed := told[[]string](b, hidden)
	if !slices.Contains(closed, "slider/velocity/whiff_rate") || slices.Contains(closed, "four_seam/velocity/whiff_rate") {
		t.Errorf("closed are %q", closed)
	}
	b.do(`document.querySelectorAll('.type:not([open]) > summary').forEach(s => s.click())`)
	if got := told[[]string](b, `[...document.querySelectorAll('.f')].filter(e => !e.closest('.fold') && !e.checkVisibility()).map(e => e.id)`); len(got) > 0 {
		t.Errorf("after one press on each pitch type %q cannot be seen", got)
	}
	b.do(`document.querySelectorAll('details:not([open]) > summary').forEach(s => s.click())`)
	if got := told[[]string](b, hidden); len(got) > 0 {
		t.Errorf("pressed open, %q cannot be seen", got)
	}
	b.open("")
	b.in("print", "light")
	if got := told[[]string](b, hidden); len(got) > 0 {
		t.Errorf("on paper %q cannot be seen", got)
	}
}

// TestBrowserPrint prints pages: dark paper is none, closed parts are printed too, and
// few sheets are left blank in large parts.
func TestBrowserPrint(t *testing.T) {
	pdftoppm, err := exec.LookPath("pdftoppm")
	if err != nil && os.Getenv("SILL_BROWSER") != "required" {
		t.Skip("there is no pdftoppm here")
	}
	if err != nil {
		t.Fatal(err)
	}
	for name, text := range everyPage(t) {
		b := browse(t, text)
		b.in("", "dark")
		b.open("")
		b.screen(name + "-dark")
		if got := told[string](b, "getComputedStyle(document.body).backgroundColor"); got == "rgb(255, 255, 255)" {
			t.Errorf("%s: in the dark the paper is %s", name, got)
		}
		b.in("print", "dark")
		if got := told[string](b, "getComputedStyle(document.body).backgroundColor"); got != "rgb(255, 255, 255)" {
			t.Errorf("%s: the paper is printed %s", name, got)
		}
		pdf, err := chromedp.Call(b.ctx, paper.PrintToPDF, paper.PrintToPDFParams{PreferCSSPageSize: new(true)})
		if err != nil {
			t.Fatal(err)
		}
		folder := t.TempDir()
		cmd := exec.CommandContext(b.ctx, pdftoppm, "-r", "20", "-gray", "-png", "-", filepath.Join(folder, "sheet"))
		cmd.Stdin = bytes.NewReader(pdf.Data)
		if out, err := cmd.CombinedOutput(); err != nil {
			t.Fatalf("%v: %s", err, out)
		}
		sheets, err := filepath.Glob(filepath.Join(folder, "sheet*.png"))
		if err != nil {
			t.Fatal(err)
		}
		slices.Sort(sheets)
		var full []float64
		for i, s := range sheets {
			full = append(full, filled(t, s))
			if i < len(sheets)-1 && full[i] < .6 {
				t.Errorf("%s: sheet %d of %d is filled to %.0f %%", name, i+1, len(sheets), 100*full[i])
			}
		}
		if mean := sum(full[:len(full)-1]) / float64(len(full)-1); len(full) > 1 && mean < .85 {
			t.Errorf("%s: sheets are filled to %.0f %%", name, 100*mean)
		}
		t.Logf("%s: %d sheets", name, len(sheets))
		b.calm()
	}
}

func sum(all []float64) (s float64) {
	for _, x := range all {
		s += x
	}
	return s
}

// filled is how far down a printed sheet there is ink, as a share of the room between
// its margins.
func filled(t *testing.T, name string) float64 {
	t.Helper()
	raw, err := os.ReadFile(name)
	if err != nil {
		t.Fatal(err)
	}
	img, err := png.Decode(bytes.NewReader(raw))
	if err != nil {
		t.Fatal(err)
	}
	const margin = 11. / 297 // of the sheet's height
	box := img.Bounds()
	for y := box.Max.Y - 1; y > box.Min.Y; y-- {
		for x := box.Min.X; x < box.Max.X; x++ {
			if grey(img, x, y) < 0xe000 {
				return (float64(y)/float64(box.Dy()) - margin) / (1 - 2*margin)
			}
		}
	}
	return 0
}

func grey(img image.Image, x, y int) uint32 {
	r, _, _, _ := img.At(x, y).RGBA()
	return r
}
