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
	"sill/pipeline/shape"
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
		if tables.Verdicts[i].Outcome != thresholds.Joint { // which stands in boards alone
			subjects[subjectOf(tables.Verdicts[i].Key)] = true
		}
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
	if got := len(doc.all("tr", func(n node) bool { return n.attr("data-f") != "" })); got != len(subjects)-1+3 {
		t.Errorf("%d lines of boards, want one for each subject with something shown, and three at a glance", got)
	}
	if got := len(doc.all("tr", func(n node) bool { return n.has("j") })); got != 2 {
		t.Errorf("%d lines of both outcomes at once, want that of the four-seam's velocity in its board and at a glance", got)
	}
}

// TestPlaces demands the first pitch type open and the others closed, and location in
// a section of its own behind them.
func TestPlaces(t *testing.T) {
	tables, m := fixture()
	doc := parse(t, written(t, tables, m))
	var ids, open []string
	for _, n := range doc.all("details", func(n node) bool { return n.has("type") }) {
		ids = append(ids, n.attr("id"))
		if slices.ContainsFunc(n.Attr, func(a html.Attribute) bool { return a.Key == "open" }) {
			open = append(open, n.attr("id"))
		}
		for _, f := range n.all("section", func(n node) bool { return n.has("f") }) {
			if located := strings.Contains(f.attr("id"), "/plate_side/"); located != (n.attr("id") == "location") {
				t.Errorf("%s stands in %s", f.attr("id"), n.attr("id"))
			}
		}
	}
	if !slices.Equal(ids, []string{"four_seam", "slider", "location"}) || !slices.Equal(open, ids[:1]) {
		t.Errorf("sections %q, open %q", ids, open)
	}
	var order []string
	for _, n := range doc.all("", func(n node) bool {
		return n.has("board") || n.attr("id") == "guide" || n.Data == "nav" || n.Data == "form"
	}) {
		order = append(order, n.Data)
	}
	if !slices.Equal(order[:5], []string{"table", "h2", "nav", "form", "table"}) {
		t.Errorf("in the order %q", order)
	}
}

// TestScales demands under each ladder a scale that says where its breakpoint lies.
func TestScales(t *testing.T) {
	tables, m := fixture()
	doc := parse(t, written(t, tables, m))
	rows := doc.all("tbody", func(n node) bool { return n.attr("data-r") != "" })
	for _, row := range rows {
		scales := row.all("tr", func(n node) bool { return n.has("sc") })
		if len(scales) != 1 {
			t.Fatalf("%s has %d scales", row.attr("data-r"), len(scales))
		}
		for i, cell := range scales[0].all("td", nil)[1:] {
			ladders := row.all("td", func(n node) bool { return n.has(fmt.Sprintf("m%d", i)) && len(n.all("svg", nil)) > 0 })
			numbers := cell.all("text", nil)
			if len(ladders) == 0 {
				continue
			}
			if len(numbers) < 2 {
				t.Fatalf("%s: %d numbers under its ladders", row.attr("data-r"), len(numbers))
			}
			at := func(n node, key string) float64 { return float(t, strings.TrimSuffix(n.attr(key), "%")) }
			from, to := numbers[0], numbers[len(numbers)-1]
			unit := (at(to, "x") - at(from, "x")) / (float(t, to.text()) - float(t, from.text()))
			for _, l := range ladders {
				said := l.all("b", nil)
				for k, mark := range l.all("use", func(n node) bool { return n.attr("href") == "#bp" }) {
					x := float(t, strings.TrimLeft(said[min(k, len(said)-1)].text(), "≥≤\u00a0 fromtbehind"))
					if want := at(from, "x") + unit*(x-float(t, from.text())); math.Abs(at(mark, "x")-want) > .3 {
						t.Errorf("%s: the breakpoint at %g is drawn at %s, by the scale at %.1f %%", row.attr("data-r"), x, mark.attr("x"), want)
					}
				}
			}
		}
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
		"upper thirdneverinconclu\u00adsivetoo few≥\u00a093.2 (92.6–93.9)",
		"+.027 (+.015 to +.039) in the same pitcher, +.033 (+.026 to +.041) between pitchers; shown in both.", "slopes are for 1\u00a0mph more",
		"3,911 swings by 54 pitchers, uneven bins",
	} {
		if !strings.Contains(f.text(), want) {
			t.Errorf("the figure does not say %q", want)
		}
	}
	for _, want := range []string{"≥\u00a093.2 92.6–93.9", "moved by +0.8 (+0.2\u00a0to\u00a0+1.4)", "both≥\u00a093.6 92.9–94.1, sure to\u00a097.0 one\u00a0pitcher",
		"one pitcherwithout a single pitcher"} {
		if !strings.Contains(find("glance").text(), want) {
			t.Errorf("at a glance nothing says %q", want)
		}
	}
	if got := find("glance").text(); strings.Contains(got, "uneven") {
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
	for _, n := range f.all("g", func(n node) bool { return n.has("x") })[0].all("text", nil) {
		at[n.text()] = float(t, strings.TrimSuffix(n.attr("x"), "%"))
	}
	want := at["90"] + 3.2/2*(at["92"]-at["90"])
	mark := f.all("use", func(n node) bool { return n.attr("href") == "#bp" })[0].attr("x")
	if got := float(t, strings.TrimSuffix(mark, "%")); math.Abs(got-want) > .3 {
		t.Errorf("the breakpoint at 93.2 is drawn at %g %%, by the numbers %v at %g", got, at, want)
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
			list := strings.Fields(n.attr("aria-labelledby")) // of the figure, the matchup, what was found
			if len(list) != 3 || slices.ContainsFunc(list, func(id string) bool { return !ids[id] }) {
				t.Errorf("%s: a drawing is named by %q", name, list)
			}
		}
		for _, n := range doc.all("svg", func(n node) bool { return !drawn(n) }) {
			hidden := false
			for up := n.Node; up != nil; up = up.Parent {
				hidden = hidden || (node{up}).attr("aria-hidden") == "true" || drawn(node{up})
			}
			if !hidden {
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

// league is a version with as many figures as a full league of so many pitch types
// has: 28 for each, a breakpoint found in all of them.
func league(kinds int) (*thresholds.Tables, thresholds.Manifest) {
	one, m := found()
	var t thresholds.Tables
	for kind := range kinds {
		for _, quality := range shape.Names(shape.Variables) {
			named := func(k thresholds.Key) (thresholds.Key, bool) {
				ours := k.PitchType == "four_seam" && k.Variable == "velocity" && k.Stratum == ""
				k.PitchType, k.Variable = fmt.Sprintf("pitch_%d", kind), quality
				return k, ours
			}
			t.Verdicts = append(t.Verdicts, copied(one.Verdicts, func(v *thresholds.Verdict) (ok bool) { v.Key, ok = named(v.Key); return ok })...)
			t.Zones = append(t.Zones, copied(one.Zones, func(z *thresholds.Zone) (ok bool) { z.Key, ok = named(z.Key); return ok })...)
			t.Curves = append(t.Curves, copied(one.Curves, func(c *thresholds.CurvePoint) (ok bool) { c.Key, ok = named(c.Key); return ok })...)
			t.Bins = append(t.Bins, copied(one.Bins, func(b *thresholds.Bin) (ok bool) { b.Key, ok = named(b.Key); return ok })...)
			t.Slopes = append(t.Slopes, copied(one.Slopes, func(s *thresholds.Slope) (ok bool) { s.Key, ok = named(s.Key); return ok })...)
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

// TestSize bounds the page of any league of fourteen qualities, something found in
// every cell, and demands that it says what there was no room for; CI bounds that of the
// demo league.
func TestSize(t *testing.T) {
	const all = 15 // the common types and half a dozen that a source declares
	qualities := len(shape.Variables)
	for kinds, drawn := range map[int]int{4: 4 * qualities * 8, 8: 8 * 5 * 8, all: 0} { // eight drawings of a quality, of which five are main
		tables, m := league(kinds)
		page := written(t, tables, m)
		t.Logf("%d pitch types take %d bytes", kinds, len(page))
		if len(page) > 2_000_000 {
			t.Errorf("%d pitch types take %d bytes", kinds, len(page))
		}
		text := parse(t, page).text()
		for what, left := range map[string]bool{"the numbers of all other figures": drawn < 4*qualities*8, "the drawings of all but": drawn < 4*qualities*8, "the drawings of all other": drawn == 0} {
			if strings.Contains(text, what) != left {
				t.Errorf("%d pitch types: that %q are left out is told: %v", kinds, what, !left)
			}
		}
		if n := bytes.Count(page, []byte("role=img")); n != drawn {
			t.Errorf("%d pitch types: %d drawings, want %d", kinds, n, drawn)
		}
	}
}

// BenchmarkWrite writes the page of a full league.
func BenchmarkWrite(b *testing.B) {
	tables, m := league(8)
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
