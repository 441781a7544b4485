package page

import (
	"bytes"
	"crypto/sha256"
	"encoding/base64"
	"fmt"
	"math"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"golang.org/x/net/html"

	"sill/pipeline/render/words"
	"sill/pipeline/thresholds"
)

// node is an element with what is asked of it.
type node struct{ *html.Node }

func parse(t *testing.T, page []byte) node {
	t.Helper()
	doc, err := html.Parse(bytes.NewReader(page))
	if err != nil {
		t.Fatal(err)
	}
	return node{doc}
}

func (n node) attr(key string) string {
	for _, a := range n.Attr {
		if a.Key == key {
			return a.Val
		}
	}
	return ""
}

func (n node) has(class string) bool { return slices.Contains(strings.Fields(n.attr("class")), class) }

// all lists the elements below that a test accepts; a "" tag is any.
func (n node) all(tag string, ok func(node) bool) []node {
	var out []node
	for d := range n.Descendants() {
		if e := (node{d}); d.Type == html.ElementNode && (tag == "" || d.Data == tag) && (ok == nil || ok(e)) {
			out = append(out, e)
		}
	}
	return out
}

func (n node) text() string {
	var b strings.Builder
	for d := range n.Descendants() {
		if d.Type == html.TextNode {
			b.WriteString(d.Data)
		}
	}
	return b.String()
}

func drawn(n node) bool { return n.attr("role") == "img" }

// TestFigures counts what is drawn and told against the tables.
func TestFigures(t *testing.T) {
	tables, m := fixture()
	doc := parse(t, written(t, tables, m))
	subjects, curves, cells := map[subject]bool{}, map[thresholds.Key]bool{}, 0
	for i := range tables.Verdicts {
		subjects[subjectOf(tables.Verdicts[i].Key)] = true
	}
	for i := range tables.Curves {
		if tables.Curves[i].Stratum == "" {
			curves[tables.Curves[i].Key] = true
		}
	}
	figures := doc.all("section", func(n node) bool { return n.has("f") })
	if len(figures) != len(subjects) {
		t.Errorf("%d figures of %d subjects", len(figures), len(subjects))
	}
	if got := len(doc.all("figure", nil)); got != 4*len(subjects) {
		t.Errorf("%d panels of %d subjects", got, len(subjects))
	}
	if got := len(doc.all("svg", drawn)); got != len(curves) {
		t.Errorf("%d drawings of %d curves", got, len(curves))
	}
	for _, table := range doc.all("table", func(n node) bool { return n.has("bins") }) {
		for _, td := range table.all("td", nil) {
			if strings.TrimSpace(td.text()) != "" {
				cells++
			}
		}
	}
	bins := 0
	for i := range tables.Bins {
		if tables.Bins[i].Stratum == "" {
			bins++
		}
	}
	if cells != bins {
		t.Errorf("%d numbers of %d bins", cells, bins)
	}
	if got := len(doc.all("tr", func(n node) bool { return n.attr("data-f") != "" })); got != len(subjects)-1+2 {
		t.Errorf("%d rows of boards, want one for each subject with something shown, and two at a glance", got)
	}
}

// TestNumbers finds numbers of the tables where they belong.
func TestNumbers(t *testing.T) {
	tables, m := fixture()
	doc := parse(t, written(t, tables, m))
	find := func(id string) node {
		list := doc.all("", func(n node) bool { return n.attr("id") == id })
		if len(list) != 1 {
			t.Fatalf("%d elements are called %s", len(list), id)
		}
		return list[0]
	}
	f := find("four_seam/velocity/whiff_rate")
	b := tables.Bins[1]
	for _, want := range []string{
		"Found: beats the line from 93.2\u00a0mph\u00a0(92.6–93.9)\u00a0up.", "the line is .220 (.210–.232)", "3,911 swings by 54 pitchers",
		fmt.Sprintf("%s %s–%s %d/%d", words.Rate(*b.Rate), words.Rate(*b.Lo), words.Rate(*b.Hi), b.Events, b.Pitches), "bins 1–88", "zones 1–4", "verdicts 1–16",
		"upper third▼ never beats○ inconclusive· too few◆ ≥\u00a093.2 (92.6–93.9)",
	} {
		if !strings.Contains(f.text(), want) {
			t.Errorf("the figure does not say %q", want)
		}
	}
	if got := find("glance").text(); !strings.Contains(got, "≥\u00a093.2 92.6–93.9") || !strings.Contains(got, "moved by +0.8 (+0.2\u00a0to\u00a0+1.4)") {
		t.Errorf("at a glance: %q", got)
	}
	if got := find("quality").text(); !strings.Contains(got, "12,345 rows read, 12,000 used, 45 rejected") {
		t.Errorf("quality: %q", got)
	}
	if got := find("method").text(); !strings.Contains(got, "unless it shows a change as a whole: 2 of 4 families do.") {
		t.Errorf("method: %q", got)
	}
	if got := find("contrasts").text(); !strings.Contains(got, "−1.2\u00a0mph") || !strings.Contains(got, "1 of 1") {
		t.Errorf("contrasts: %q", got)
	}
	for _, clock := range []string{m.Created, m.Host} {
		if strings.Contains(doc.text(), clock) {
			t.Errorf("the page holds %q: its bytes depend on when and where it was made", clock)
		}
	}
	// The breakpoint stands where the numbers of the axis say.
	at := map[string]float64{}
	for _, n := range f.all("text", func(n node) bool { return n.has("x") }) {
		at[n.text()] = float(t, n.attr("x"))
	}
	want := at["90"] + 3.2/2*(at["92"]-at["90"])
	diamond := f.all("path", func(n node) bool { return n.has("di") })[0].attr("d")
	left, _, _ := strings.Cut(diamond[1:], " ")
	if got := float(t, left) + 6; math.Abs(got-want) > 1.5 {
		t.Errorf("the breakpoint at 93.2 is drawn at %g, by the numbers %v at %g", got, at, want)
	}
}

func float(t *testing.T, s string) float64 {
	t.Helper()
	x, err := strconv.ParseFloat(s, 64)
	if err != nil {
		t.Fatal(err)
	}
	return x
}

// pages are pages to hold against what every page must be.
func pages(t *testing.T) map[string][]byte {
	tables, m := fixture()
	bad, hm := hostile()
	return map[string][]byte{"plain": written(t, tables, m), "hostile": written(t, bad, hm)}
}

// TestSound holds names, links, descriptions and the policy of pages.
func TestSound(t *testing.T) {
	for name, page := range pages(t) {
		doc := parse(t, page)
		ids := map[string]bool{}
		for _, n := range doc.all("", func(n node) bool { return n.attr("id") != "" }) {
			id := n.attr("id")
			if ids[id] || strings.ContainsAny(id, " \t\n") {
				t.Errorf("%s: the name %q is used twice or holds a space", name, id)
			}
			ids[id] = true
		}
		files := regexp.MustCompile(`^\.\./harbour/v1\.1\.0/(verdicts|zones|curves|bins|contrasts|references|opponents)\.csv$|^\.\./harbour/v1\.1\.0/((quality|manifest|datapackage)\.json|quarantine\.parquet)$`)
		for _, n := range doc.all("", func(n node) bool { return n.attr("href") != "" }) {
			target := n.attr("href")
			if id, inside := strings.CutPrefix(target, "#"); inside && !ids[id] || !inside && !files.MatchString(target) {
				t.Errorf("%s: nothing is called %q", name, target)
			}
		}
		for _, n := range doc.all("svg", drawn) {
			for _, key := range []string{"aria-labelledby", "aria-describedby"} {
				list := strings.Fields(n.attr(key))
				if len(list) == 0 || slices.ContainsFunc(list, func(id string) bool { return !ids[id] }) {
					t.Errorf("%s: a drawing has %s %q", name, key, list)
				}
			}
		}
		for _, n := range doc.all("svg", func(n node) bool { return !drawn(n) }) {
			if n.attr("aria-hidden") != "true" {
				t.Errorf("%s: a decoration is read out", name)
			}
		}
		for _, n := range doc.all("", nil) {
			for _, a := range n.Attr {
				if strings.HasPrefix(a.Key, "on") || a.Key == "style" || a.Key == "src" {
					t.Errorf("%s: %s carries %s", name, n.Data, a.Key)
				}
			}
		}
		if outside := regexp.MustCompile(`(?i)https?://|//[a-z]+\.|@import|url\([^#]`).Find(page); outside != nil {
			t.Errorf("%s: it names %q", name, outside)
		}
		checkPolicy(t, name, doc)
	}
}

// checkPolicy holds the policy against the style and script that are there.
func checkPolicy(t *testing.T, name string, doc node) {
	var policy string
	for _, n := range doc.all("meta", nil) {
		if n.attr("http-equiv") == "Content-Security-Policy" {
			policy = n.attr("content")
		}
	}
	if !strings.HasPrefix(policy, "default-src 'none'; ") {
		t.Errorf("%s: the policy is %q", name, policy)
	}
	for _, tag := range []string{"style", "script"} {
		list := doc.all(tag, nil)
		if len(list) != 1 {
			t.Fatalf("%s: %d elements %s", name, len(list), tag)
		}
		sum := sha256.Sum256([]byte(list[0].text()))
		if want := tag + "-src 'sha256-" + base64.StdEncoding.EncodeToString(sum[:]) + "'"; !strings.Contains(policy, want) {
			t.Errorf("%s: the policy %q lacks %s", name, policy, want)
		}
	}
}

// TestHostile demands that nasty texts stay texts, set apart from their
// neighbours' direction.
func TestHostile(t *testing.T) {
	tables, m := hostile()
	doc := parse(t, written(t, tables, m))
	if n := len(doc.all("img", nil)); n > 0 {
		t.Errorf("%d images came of texts", n)
	}
	seen := 0
	for d := range doc.Descendants() {
		if d.Type != html.TextNode || !strings.Contains(d.Data, "\u202e") {
			continue
		}
		seen++
		apart := false
		for p := d.Parent; p != nil; p = p.Parent {
			apart = apart || slices.Contains([]string{"bdi", "option", "title"}, p.Data) // an option is a box of its own
		}
		if !apart {
			t.Errorf("a nasty text runs on in %s of class %q", d.Parent.Data, node{d.Parent}.attr("class"))
		}
	}
	if seen < 20 {
		t.Errorf("only %d nasty texts are told", seen)
	}
}

// TestSame demands the same bytes from the same tables.
func TestSame(t *testing.T) {
	tables, m := fixture()
	first := written(t, tables, m)
	m.Created, m.Host = "2032-01-01T00:00:00Z", "elsewhere"
	for range 3 {
		if !bytes.Equal(first, written(t, tables, m)) {
			t.Fatal("another clock and host give other bytes")
		}
	}
	tables.Bins[1].Pitches++
	if bytes.Equal(first, written(t, tables, m)) {
		t.Error("another pitch gives the same bytes")
	}
}

// league is a version with as many figures as a full league of eight pitch types
// has: 224, something shown in all of them.
func league() (*thresholds.Tables, thresholds.Manifest) {
	one, m := fixture()
	var t thresholds.Tables
	for kind := range 8 {
		for quality := range 14 {
			named := func(k thresholds.Key) (thresholds.Key, bool) {
				ours := k.PitchType == "four_seam" && k.Variable == "velocity" && k.Stratum == ""
				k.PitchType, k.Variable = fmt.Sprintf("pitch_%d", kind), fmt.Sprintf("velocity_%d", quality)
				return k, ours
			}
			t.Verdicts = append(t.Verdicts, copied(one.Verdicts, func(v *thresholds.Verdict) (ok bool) { v.Key, ok = named(v.Key); return ok })...)
			t.Zones = append(t.Zones, copied(one.Zones, func(z *thresholds.Zone) (ok bool) { z.Key, ok = named(z.Key); return ok })...)
			t.Curves = append(t.Curves, copied(one.Curves, func(c *thresholds.CurvePoint) (ok bool) { c.Key, ok = named(c.Key); return ok })...)
			t.Bins = append(t.Bins, copied(one.Bins, func(b *thresholds.Bin) (ok bool) { b.Key, ok = named(b.Key); return ok })...)
		}
	}
	return &t, m
}

// copied copies the rows that are wanted, changed.
func copied[T any](rows []T, want func(*T) bool) []T {
	var out []T
	for _, r := range rows {
		if want(&r) {
			out = append(out, r)
		}
	}
	return out
}

// TestSize bounds the page of a full league; CI bounds that of the demo league.
func TestSize(t *testing.T) {
	tables, m := league()
	if n := len(written(t, tables, m)); n > 2_000_000 {
		t.Errorf("a league takes %d bytes", n)
	}
}

// BenchmarkWrite writes the page of a full league.
func BenchmarkWrite(b *testing.B) {
	tables, m := league()
	for b.Loop() {
		written(b, tables, m)
	}
}

// TestRefused demands an error of what cannot be told.
func TestRefused(t *testing.T) {
	tables, m := fixture()
	for want, write := range map[string]func() error{
		"no verdict against fixed": func() error {
			return Write(&bytes.Buffer{}, tables, m, nil, Options{Reference: "fixed"})
		},
		"quality report": func() error { return Write(&bytes.Buffer{}, tables, m, []byte("{"), Options{}) },
		"version before": func() error { return Write(&bytes.Buffer{}, tables, m, nil, Options{Changes: []byte("[]")}) },
	} {
		if err := write(); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%v, want one about %q", err, want)
		}
	}
	if err := Write(&bytes.Buffer{}, tables, m, nil, Options{}); err != nil {
		t.Errorf("without quality and changes: %v", err)
	}
}

// TestContrast computes the contrast of the colours in light and dark (Web
// Content Accessibility Guidelines 2.1, criteria 1.4.3 and 1.4.11).
func TestContrast(t *testing.T) {
	sets := regexp.MustCompile(`:root\{--paper:[^}]*\}`).FindAllString(style, -1)
	if len(sets) != 3 {
		t.Fatalf("%d sets of colours, want light, dark and print", len(sets))
	}
	for _, set := range sets {
		colours := map[string]float64{}
		for _, c := range regexp.MustCompile(`--([a-z]+):#([0-9a-f]{3,6})`).FindAllStringSubmatch(set, -1) {
			colours[c[1]] = luminance(t, c[2])
		}
		for _, text := range []string{"ink", "grey", "a", "b", "c", "d"} {
			for _, under := range []string{"paper", "wash"} {
				a, b := max(colours[text], colours[under]), min(colours[text], colours[under])
				if got := (a + .05) / (b + .05); got < 4.5 {
					t.Errorf("%s on %s has a contrast of %.2f in %s", text, under, got, set)
				}
			}
		}
	}
}

// luminance is the relative luminance of a colour.
func luminance(t *testing.T, hex string) float64 {
	if len(hex) == 3 {
		hex = string([]byte{hex[0], hex[0], hex[1], hex[1], hex[2], hex[2]})
	}
	var l float64
	for i, weight := range []float64{.2126, .7152, .0722} {
		n, err := strconv.ParseUint(hex[2*i:2*i+2], 16, 8)
		if err != nil {
			t.Fatal(err)
		}
		v := float64(n) / 255
		if v <= .04045 {
			v /= 12.92
		} else {
			v = math.Pow((v+.055)/1.055, 2.4)
		}
		l += weight * v
	}
	return l
}
