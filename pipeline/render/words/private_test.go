package words_test

import (
	"go/ast"
	"go/parser"
	"go/token"
	"io/fs"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"sill/pipeline/locate"
	"sill/pipeline/render/words"
)

// private are words of the program's own making, which tell a reader nothing, and what
// no breakpoint with an open limit may be said to be.
var private = regexp.MustCompile(`(?i)\bcomb\b|zone is claimed|width.vs.sd|rate.above.median|flips.exhausted|pinned down|within delta`)

// TestPrivateWords: none of them stands in what people read: in the words and the
// meanings of codes, in the texts of the packages that write, and in what their golden
// files hold. A text that is a code itself may be one.
func TestPrivateWords(t *testing.T) {
	seen := 0
	look := func(where, text string) {
		seen++
		if found := private.FindString(text); found != "" {
			t.Errorf("%s says %q: %s", where, found, text)
		}
	}
	var codes []string
	for _, w := range locate.Warnings() {
		codes = append(codes, w.Code)
		look(w.Code, w.Meaning)
		c := words.CaveatOf(w.Code)
		look(w.Code, c.Word+", "+c.Legend)
	}
	for _, v := range words.Verdicts {
		look(v.Word, strings.Join([]string{v.Short, v.Cell, v.Told, v.Meaning, v.Legend}, ", "))
	}
	for _, l := range words.Lists() {
		for _, w := range l.Words {
			look(w.Word, w.Meaning)
		}
	}
	for _, dir := range []string{"../../render", "../../analysis", "../../../cmd/sill"} {
		err := filepath.WalkDir(dir, func(name string, d fs.DirEntry, err error) error {
			if err != nil || d.IsDir() {
				return err
			}
			switch ext := filepath.Ext(name); {
			case ext == ".go" && !strings.HasSuffix(name, "_test.go"):
				for _, text := range texts(t, name) {
					if !slices.Contains(codes, text) {
						look(name, text)
					}
				}
			case ext == ".tmpl" || ext == ".js" || (ext == ".txt" || ext == ".txtar") && strings.Contains(name, "testdata"):
				b, err := os.ReadFile(name)
				if err != nil {
					return err
				}
				for line := range strings.Lines(string(b)) {
					look(name, line)
				}
			}
			return nil
		})
		if err != nil {
			t.Fatal(err)
		}
	}
	if seen < 3000 {
		t.Errorf("only %d texts were looked at", seen)
	}
}

// texts lists the literal texts of a source file.
func texts(t *testing.T, name string) []string {
	t.Helper()
	f, err := parser.ParseFile(token.NewFileSet(), name, nil, parser.SkipObjectResolution)
	if err != nil {
		t.Fatal(err)
	}
	var out []string
	ast.Inspect(f, func(n ast.Node) bool {
		if l, ok := n.(*ast.BasicLit); ok && l.Kind == token.STRING {
			text, err := strconv.Unquote(l.Value)
			if err != nil {
				t.Fatal(err)
			}
			out = append(out, text)
		}
		return true
	})
	return out
}
