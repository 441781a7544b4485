package main

import (
	"context"
	"encoding/json"
	"fmt"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/parquet-go/parquet-go"
	"github.com/rogpeppe/go-internal/testscript"
	"github.com/santhosh-tekuri/jsonschema/v6"

	"sill/pipeline/analysis/compare"
	"sill/pipeline/analysis/quality"
	"sill/pipeline/publish"
	"sill/pipeline/render/screen/fixture"
	"sill/pipeline/thresholds"
)

func TestMain(m *testing.M) {
	testscript.Main(m, map[string]func(){"sill": func() { os.Exit(program()) }})
}

// TestScript runs the command line as a person would, in a folder of its own.
func TestScript(t *testing.T) {
	testscript.Run(t, testscript.Params{
		Dir:                 "testdata/script",
		UpdateScripts:       os.Getenv("SILL_GOLDEN") != "",
		RequireExplicitExec: true,
		RequireUniqueNames:  true,
		Setup: func(e *testscript.Env) error {
			e.Setenv("SOURCE_DATE_EPOCH", "1900000000")
			e.Setenv("LC_ALL", "C.UTF-8")
			e.Setenv("COLUMNS", "100")
			return nil
		},
		Condition: func(cond string) (bool, error) {
			switch cond {
			case "root":
				return os.Geteuid() == 0, nil
			}
			return false, fmt.Errorf("unknown condition %q", cond)
		},
		Cmds: map[string]func(ts *testscript.TestScript, neg bool, args []string){
			"code":      code,
			"conforms":  conforms,
			"pitches":   pitchesFile,
			"fixture":   publishFixture,
			"forge":     forge,
			"truncate":  truncate,
			"tamper":    tamper,
			"writable":  func(ts *testscript.TestScript, _ bool, args []string) { makeWritable(ts.MkAbs(args[0])) },
			"interrupt": interrupt,
		},
	})
}

// code runs a program and demands its exit code: code 3 sill run …
func code(ts *testscript.TestScript, _ bool, args []string) {
	want, err := strconv.Atoi(args[0])
	ts.Check(err)
	err = ts.Exec(args[1], args[2:]...)
	got := 0
	if err != nil {
		got = -1
		var exit interface{ ExitCode() int }
		if asExit(err, &exit) {
			got = exit.ExitCode()
		}
	}
	if got != want {
		ts.Fatalf("exit code %d, want %d", got, want)
	}
}

func asExit(err error, exit *interface{ ExitCode() int }) bool {
	e, ok := err.(interface{ ExitCode() int })
	*exit = e
	return ok
}

// pitchesFile writes a small Parquet file of an invented provider:
// pitches FILE [rows=N] [pitchers=N] [without=COLUMN] [text=COLUMN]
// [flag=COLUMN] [type=WORD] [call=WORD] [speed=NUMBER]. Every value that is not given is
// plausible and varies with the row; a speed stands on every other row.
func pitchesFile(ts *testscript.TestScript, _ bool, args []string) {
	opt := map[string]string{"rows": "400", "pitchers": "20", "type": "fast", "call": "", "speed": "", "without": "", "text": "", "flag": ""}
	for _, a := range args[1:] {
		k, v, _ := strings.Cut(a, "=")
		if _, ok := opt[k]; !ok {
			ts.Fatalf("pitches: unknown option %q", k)
		}
		opt[k] = v
	}
	rows, err := strconv.Atoi(opt["rows"])
	ts.Check(err)
	pitchers, err := strconv.Atoi(opt["pitchers"])
	ts.Check(err)
	calls := []string{"miss", "foul", "ball", "called", "play"}
	value := map[string]func(i int) any{
		"thrower": func(i int) any { return fmt.Sprintf("p%02d", i%pitchers) },
		"batter":  func(i int) any { return fmt.Sprintf("b%02d", i%37) },
		"arm":     func(i int) any { return []string{"L", "R"}[i%pitchers%2] },
		"stance":  func(i int) any { return []string{"L", "R"}[i%3%2] },
		"kind":    func(int) any { return opt["type"] },
		"game":    func(i int) any { return fmt.Sprintf("g%d", i/200) },
		"turn":    func(i int) any { return int64(i % 200 / 4) },
		"nth":     func(i int) any { return int64(i%4 + 1) },
		"call": func(i int) any {
			if opt["call"] != "" {
				return opt["call"]
			}
			return calls[(i*7+i/11)%len(calls)]
		},
		"speed": func(i int) any {
			if opt["speed"] != "" && i%2 == 0 {
				f, err := strconv.ParseFloat(opt["speed"], 64)
				ts.Check(err)
				return f
			}
			return 88 + 10*math.Abs(math.Sin(float64(i)))
		},
		"ended": func(i int) any {
			if i%4 < 3 {
				return ""
			}
			return []string{"out", "single", "strikeout", "walk"}[i/4%4]
		},
	}
	delete(value, opt["without"])
	group := parquet.Group{}
	for name, f := range value {
		switch f(0).(type) {
		case string:
			group[name] = parquet.String()
		case int64:
			group[name] = parquet.Int(64)
		default:
			group[name] = parquet.Leaf(parquet.DoubleType)
		}
		switch name {
		case opt["text"]:
			group[name] = parquet.String()
		case opt["flag"]:
			group[name] = parquet.Leaf(parquet.BooleanType)
		}
	}
	schema := parquet.NewSchema("pitches", group)
	out, err := os.Create(ts.MkAbs(args[0]))
	ts.Check(err)
	w := parquet.NewGenericWriter[any](out, schema)
	for i := range rows {
		row := make(parquet.Row, 0, len(value))
		for c, path := range schema.Columns() {
			v := value[path[0]](i)
			switch path[0] {
			case opt["text"]:
				v = fmt.Sprint("about ", v)
			case opt["flag"]:
				v = i%2 == 0
			}
			row = append(row, parquet.ValueOf(v).Level(0, 0, c))
		}
		_, err := w.WriteRows([]parquet.Row{row})
		ts.Check(err)
	}
	ts.Check(w.Close())
	ts.Check(out.Close())
}

// publishFixture publishes the fixture as the league's next version:
// fixture STORE [seed [moved]]. Moved is the season after.
func publishFixture(ts *testscript.TestScript, _ bool, args []string) {
	seed := uint64(1)
	if len(args) > 1 {
		n, err := strconv.ParseUint(args[1], 10, 64)
		ts.Check(err)
		seed = n
	}
	v := publish.Version{Algorithm: "1", Seed: seed, Replicates: 2000, Tables: fixture.Tables(),
		Variables: []thresholds.Variable{{Name: "velocity", Title: "velocity", Unit: "mph", Width: 1, Definition: "velocity/release/mph"}},
		Inputs:    []thresholds.Input{{Name: "season.parquet", Bytes: 1, SHA256: strings.Repeat("0", 64), Rows: 1}},
		Families:  []thresholds.Tested{{Name: "headline", Tests: 16, Flips: 9999, Families: 4, Selected: 2}},
		Rows:      thresholds.Rows{FirstDay: "2030-01-05", LastDay: "2030-03-10"}}
	if len(args) > 2 {
		v.Tables, v.Inputs[0].SHA256 = movedFixture(), strings.Repeat("1", 64)
	}
	_, err := publish.Commit(context.Background(), publish.Options{Dir: ts.MkAbs(args[0]), Created: time.Unix(1_900_000_000, 0).UTC()}, v)
	ts.Check(err)
	ts.Defer(func() { makeWritable(ts.MkAbs(args[0])) })
}

// forge publishes a version that claims the same inputs, settings and seed as
// another one, and holds another verdict and note: forge STORE OTHER [another], for another program.
func forge(ts *testscript.TestScript, _ bool, args []string) {
	table, err := thresholds.Open(ts.MkAbs(args[0]), thresholds.WithVersion("v1.0.0"), thresholds.WithRetracted())
	ts.Check(err)
	tables, err := table.Load()
	ts.Check(err)
	m := table.Manifest()
	v := publish.Version{Tool: m.Tool, Algorithm: m.Algorithm, Seed: m.Seed, Replicates: m.Replicates, Configuration: m.Configuration,
		Variables: m.Variables, Warnings: m.Warnings, Families: m.Families, Inputs: m.Inputs, Rows: m.Rows, Notes: []string{"forged"}, Tables: tables,
		Files: map[string][]byte{}, Documents: map[string]any{"diff": compare.Document{}}}
	for _, name := range []string{"CHANGES.md", "diff.json"} {
		v.Files[name], err = table.Bytes(name)
		ts.Check(err)
	}
	raw, err := table.Bytes("quality.json")
	ts.Check(err)
	q := quality.Report{}
	ts.Check(json.Unmarshal(raw, &q))
	v.Quality = q
	for i := range v.Configuration {
		if v.Configuration[i].Key == "seed" {
			v.Configuration[i].Value = m.Seed // of which JSON's number lost a part
		}
	}
	tables.Verdicts[1].Rate += .001
	if len(args) > 2 {
		v.Tool = thresholds.Tool{Version: "0.0.1", Commit: m.Tool.Commit, Go: "go1.1", GOARCH: "riscv64", GOAMD64: m.Tool.GOAMD64}
	}
	_, err = publish.Commit(context.Background(), publish.Options{Dir: ts.MkAbs(args[1]), Created: time.Unix(1_900_000_000, 0).UTC()}, v)
	ts.Check(err)
	ts.Defer(func() { makeWritable(ts.MkAbs(args[1])) })
}

// conforms holds a JSON file, stdout or stderr against one of our schemas, and
// demands that the schema sees a further member: conforms NAME FILE.
func conforms(ts *testscript.TestScript, _ bool, args []string) {
	s := schemas()[args[0]]
	if s == nil {
		ts.Fatalf("no schema %s", args[0])
	}
	raw, err := json.Marshal(s)
	ts.Check(err)
	read := func(raw string) any {
		doc, err := jsonschema.UnmarshalJSON(strings.NewReader(raw))
		ts.Check(err)
		return doc
	}
	c := jsonschema.NewCompiler()
	ts.Check(c.AddResource("schema.json", read(string(raw))))
	compiled, err := c.Compile("schema.json")
	ts.Check(err)
	text := ts.ReadFile(args[1])
	ts.Check(compiled.Validate(read(text)))
	doc := read(text).(map[string]any)
	doc["stranger"] = true
	if compiled.Validate(doc) == nil {
		ts.Fatalf("%s lets anything pass", args[0])
	}
}

// truncate cuts a file to half: truncate FILE.
func truncate(ts *testscript.TestScript, _ bool, args []string) {
	info, err := os.Stat(ts.MkAbs(args[0]))
	ts.Check(err)
	ts.Check(os.Truncate(ts.MkAbs(args[0]), info.Size()/2))
}

// tamper changes one byte in the middle of a file, which a pattern may name:
// tamper FILE.
func tamper(ts *testscript.TestScript, _ bool, args []string) {
	found, err := filepath.Glob(ts.MkAbs(args[0]))
	ts.Check(err)
	if len(found) != 1 {
		ts.Fatalf("%d files are called %s", len(found), args[0])
	}
	name := found[0]
	ts.Check(os.Chmod(name, 0o644))
	b, err := os.ReadFile(name)
	ts.Check(err)
	b[len(b)/2] ^= 1
	ts.Check(os.WriteFile(name, b, 0o644))
}

// interrupt starts a program, sends it an interrupt once a file exists, and
// demands exit code 130: interrupt FILE sill …
func interrupt(ts *testscript.TestScript, _ bool, args []string) {
	cmd := exec.Command(args[1], args[2:]...)
	cmd.Dir = ts.Getenv("WORK")
	var stderr strings.Builder
	cmd.Stderr = &stderr
	ts.Check(cmd.Start())
	for range 1000 {
		if _, err := os.Stat(ts.MkAbs(args[0])); err == nil {
			break
		}
		time.Sleep(10 * time.Millisecond)
	}
	ts.Check(cmd.Process.Signal(os.Interrupt))
	_ = cmd.Wait()
	if got := cmd.ProcessState.ExitCode(); got != exitInterrupted {
		ts.Fatalf("exit code %d, want %d: %s", got, exitInterrupted, stderr.String())
	}
	if !strings.Contains(stderr.String(), "interrupted") {
		ts.Fatalf("says %q", stderr.String())
	}
}

// makeWritable makes a published folder removable.
func makeWritable(folder string) {
	_ = filepath.WalkDir(folder, func(name string, d os.DirEntry, err error) error {
		if err == nil && d.IsDir() {
			return os.Chmod(name, 0o755)
		}
		return nil
	})
}
