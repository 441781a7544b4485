package pipeline_test

import (
	"go/parser"
	"go/token"
	"io/fs"
	"os"
	"path"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"
)

// anything marks a package that may import whatever it likes.
const anything = "*"

// layers says which packages each package may import besides the standard
// library: sill's own by their path in the module, others by a prefix of
// theirs. Tests may import more. A package that is absent fails the test.
var layers = map[string][]string{
	// The line, in order: a stage may import those before it.
	"pipeline/pitch":      {},
	"pipeline/parallel":   {"golang.org/x/sync/errgroup"},
	"pipeline/ingest":     {"pipeline/parallel", "pipeline/pitch", "github.com/parquet-go/parquet-go", "golang.org/x/text/unicode/norm"},
	"pipeline/shape":      {"pipeline/pitch"},
	"pipeline/outcome":    {"pipeline/pitch"},
	"pipeline/thresholds": {"pipeline/pitch"},
	"pipeline/tally":      {"stats", "pipeline/parallel", "pipeline/pitch", "pipeline/shape", "pipeline/outcome", "github.com/parquet-go/parquet-go"},
	"pipeline/estimate":   {"stats", "pipeline/parallel", "pipeline/pitch", "pipeline/tally", "pipeline/outcome", "pipeline/thresholds"},
	"pipeline/locate":     {"stats", "pipeline/parallel", "pipeline/pitch", "pipeline/tally", "pipeline/outcome", "pipeline/estimate", "pipeline/thresholds"},
	"pipeline/schema":     {"github.com/invopop/jsonschema"},
	"pipeline/publish":    {"pipeline/parallel", "pipeline/thresholds", "pipeline/schema", "github.com/parquet-go/parquet-go", "github.com/apache/arrow/go/v17", "golang.org/x/sys"},
	"pipeline":            slices.Concat(line, []string{"pipeline/analysis/compare", "pipeline/analysis/opponents", "pipeline/analysis/quality", "pipeline/render/page"}),

	// Questions put to counts, to pitches or to a version. They speak through words.
	"pipeline/analysis/answer":    slices.Concat(line, said),
	"pipeline/analysis/compare":   slices.Concat(line, said, answers),
	"pipeline/analysis/grade":     slices.Concat(line, said, answers, []string{"gonum.org/v1/gonum", "github.com/parquet-go/parquet-go"}),
	"pipeline/analysis/located":   slices.Concat(line, said, answers),
	"pipeline/analysis/opponents": slices.Concat(line, said, answers, []string{"gonum.org/v1/gonum"}),
	"pipeline/analysis/quality":   slices.Concat(line, said, answers, []string{"pipeline/analysis/opponents", "pipeline/analysis/trend"}),
	"pipeline/analysis/stacked":   slices.Concat(line, said, answers, []string{"gonum.org/v1/gonum"}),
	"pipeline/analysis/trend":     slices.Concat(line, said, answers),
	"pipeline/analysis/trial":     slices.Concat(line, said, answers, []string{"go.yaml.in/yaml/v3"}),

	// What people see. None of it estimates or counts.
	"pipeline/render/words":    {},
	"pipeline/render/terminal": {"pipeline/render/words", "github.com/rivo/uniseg", "golang.org/x/term"},
	"pipeline/render/glyphs":   {"golang.org/x/image/font/sfnt"},
	"pipeline/render/curve":    {"pipeline/render/words", "pipeline/thresholds"},
	"pipeline/render/page":     {"pipeline/render/curve", "pipeline/render/words", "pipeline/thresholds", "pipeline/pitch", "pipeline/shape"},
	"pipeline/render/screen": {"pipeline/analysis/compare", "pipeline/analysis/grade", "pipeline/analysis/located", "pipeline/analysis/opponents",
		"pipeline/analysis/stacked", "pipeline/analysis/trend", "pipeline/analysis/trial", "pipeline/estimate", "pipeline/ingest", "pipeline/locate",
		"pipeline/outcome", "pipeline/pitch", "pipeline/publish", "pipeline/render/curve", "pipeline/render/terminal", "pipeline/render/words",
		"pipeline/shape", "pipeline/tally", "pipeline/thresholds"},
	"pipeline/render/screen/fixture": {"pipeline/shape", "pipeline/thresholds", "pipeline/render/terminal", "github.com/google/go-cmp"},
	"pipeline/render/plot": {"pipeline/render/curve", "pipeline/render/glyphs", "pipeline/render/words", "pipeline/thresholds", "pipeline/pitch",
		"gonum.org/v1/plot"},

	"stats":              {"gonum.org/v1/gonum"},
	"stats/calibrate":    {"stats", "gonum.org/v1/gonum"},
	"pipeline/demo":      {"pipeline/parallel", "pipeline/pitch", "github.com/parquet-go/parquet-go", "gonum.org/v1/gonum", "golang.org/x/sync/errgroup"},
	"pipeline/calibrate": {anything},
	"config":             {"pipeline", "pipeline/ingest", "pipeline/thresholds", "go.yaml.in/yaml/v3", "github.com/spf13/viper", "github.com/spf13/pflag", "github.com/go-viper/mapstructure/v2", "pipeline/pitch"},
	"cmd/calibrate":      {anything},
	"cmd/sill":           {anything},
}

// line are the stages and what they count with, which a question may build on.
var line = []string{"stats", "pipeline/pitch", "pipeline/ingest", "pipeline/shape", "pipeline/outcome", "pipeline/tally",
	"pipeline/estimate", "pipeline/locate", "pipeline/thresholds", "pipeline/publish", "pipeline/parallel"}

// said is what a question puts its answer into words with.
var said = []string{"pipeline/render/words"}

// answers is what the answers to all questions are made of.
var answers = []string{"pipeline/analysis/answer"}

// TestLayers holds the import table against the source itself (parsed, not
// asked of the go command, whose cached answer would miss a new violation).
func TestLayers(t *testing.T) {
	root := ".."
	err := filepath.WalkDir(root, func(name string, d fs.DirEntry, err error) error {
		if err != nil {
			return err
		}
		if d.IsDir() {
			base := d.Name()
			if name != root && (base == "testdata" || base == "outputs" || strings.HasPrefix(base, ".")) {
				return filepath.SkipDir
			}
			return nil
		}
		if !strings.HasSuffix(name, ".go") || strings.HasSuffix(name, "_test.go") {
			return nil
		}
		rel, err := filepath.Rel(root, name)
		if err != nil {
			return err
		}
		src, err := os.ReadFile(name)
		if err != nil {
			return err
		}
		for _, fault := range violations(path.Dir(filepath.ToSlash(rel)), src) {
			t.Errorf("%s: %s", rel, fault)
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
}

// violations lists what is wrong with the imports of one source file of pkg.
func violations(pkg string, src []byte) []string {
	allowed, known := layers[pkg]
	if !known {
		return []string{"package " + pkg + " is not in the table of layers"}
	}
	f, err := parser.ParseFile(token.NewFileSet(), "", src, parser.ImportsOnly)
	if err != nil {
		return []string{err.Error()}
	}
	var out []string
	for _, imp := range f.Imports {
		p, err := strconv.Unquote(imp.Path.Value)
		if err != nil {
			return []string{err.Error()}
		}
		own, isOwn := strings.CutPrefix(p, "sill/")
		first, _, _ := strings.Cut(p, "/")
		switch {
		case slices.Contains(allowed, anything):
		case isOwn && slices.Contains(allowed, own):
		case !isOwn && !strings.Contains(first, "."): // the standard library
		case !isOwn && slices.ContainsFunc(allowed, func(a string) bool {
			return p == a || strings.HasPrefix(p, a+"/")
		}):
		default:
			out = append(out, pkg+" may not import "+p)
		}
	}
	return out
}

// TestLayersSeeViolations plants the faults that TestLayers is there to find.
func TestLayersSeeViolations(t *testing.T) {
	for _, c := range []struct {
		pkg, imports string
		bad          bool
	}{
		{"stats", `import "math"`, false},
		{"stats", `import "gonum.org/v1/gonum/mat"`, false},
		{"stats", `import "sill/pipeline/pitch"`, true},
		{"pipeline/render/plot", `import "sill/pipeline/estimate"`, true},
		{"pipeline/analysis/trial", `import "sill/pipeline/render/page"`, true},
		{"pipeline/locate", `import "sill/pipeline/publish"`, true},
		{"pipeline/pitch", `import "sill/stats"`, true},
		{"pipeline/thresholds", `import "github.com/parquet-go/parquet-go"`, true},
		{"pipeline/publish", `import "github.com/parquet-go/parquet-gopher"`, true},
		{"pipeline/ingest", `import "github.com/spf13/viper"`, true},
		{"pipeline/unheard_of", `import "math"`, true},
		{"cmd/sill", `import "github.com/spf13/cobra"`, false},
	} {
		got := violations(c.pkg, []byte("package x\n"+c.imports+"\n"))
		if (len(got) > 0) != c.bad {
			t.Errorf("%s with %s: violations %q, want bad %v", c.pkg, c.imports, got, c.bad)
		}
	}
}
