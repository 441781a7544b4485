package publish

import (
	"bufio"
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"os/exec"
	"os/signal"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"sync"
	"syscall"
	"testing"
	"time"

	"sill/pipeline/thresholds"
)

// TestMain lets the test binary stand in for a publishing process. It says when it
// is ready, waits for the file of its gate where it has one, and names each version
// that it published; an interrupt cancels it, as it does the program.
func TestMain(m *testing.M) {
	if dir := os.Getenv("SILL_TEST_PUBLISH"); dir != "" {
		ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
		defer stop()
		first, _ := strconv.Atoi(os.Getenv("SILL_TEST_FIRST"))
		count, _ := strconv.Atoi(os.Getenv("SILL_TEST_COUNT"))
		fmt.Println("ready")
		for gate := os.Getenv("SILL_TEST_GATE"); gate != ""; time.Sleep(time.Millisecond) {
			if _, err := os.Stat(gate); err == nil {
				break
			}
		}
		for n := first; n < first+count; n++ {
			c, err := Commit(ctx, onDisk(dir), small(n))
			if err != nil {
				fmt.Fprintln(os.Stderr, err)
				os.Exit(1)
			}
			fmt.Println(c.Version)
		}
		os.Exit(0)
	}
	os.Exit(m.Run())
}

// publisher is a process that publishes count versions, numbered from first.
func publisher(t *testing.T, dir string, first, count int) *exec.Cmd {
	t.Helper()
	self, err := os.Executable()
	if err != nil {
		t.Fatal(err)
	}
	c := exec.Command(self)
	c.Env = append(os.Environ(), "SILL_TEST_PUBLISH="+dir, fmt.Sprint("SILL_TEST_FIRST=", first), fmt.Sprint("SILL_TEST_COUNT=", count))
	return c
}

// reader opens the newest version again and again until it is stopped, and tells
// how often it did. None may be unwhole, none older than the one before.
func reader(t *testing.T, dir string) (stop func() int) {
	t.Helper()
	halt, looks := make(chan struct{}), make(chan int)
	go func() {
		n, last := 0, thresholds.Semver{}
		defer func() { looks <- n }()
		for {
			select {
			case <-halt:
				return
			default:
			}
			table, err := thresholds.Open(dir)
			if err != nil {
				t.Errorf("reader: %v", err)
				return
			}
			v, _ := thresholds.ParseSemver(table.Version())
			if v.Compare(last) < 0 {
				t.Errorf("reader: %s after %s", v, last)
			}
			last, n = v, n+1
		}
	}()
	return func() int { close(halt); return <-looks }
}

// checkStore verifies every logged version and that the derived views and the
// log agree. It returns the versions in the order of the log.
func checkStore(t *testing.T, dir string) []string {
	t.Helper()
	log, err := thresholds.ReadLog(os.DirFS(dir))
	if err != nil {
		t.Fatal(err)
	}
	var versions []string
	contents := map[string]string{}
	for _, e := range log {
		if e.Action != thresholds.Publish {
			continue
		}
		if slices.Contains(versions, e.Version) {
			t.Errorf("%s is logged twice", e.Version)
		}
		versions = append(versions, e.Version)
		if other := contents[e.ContentID]; other != "" {
			t.Errorf("%s and %s hold the same", other, e.Version)
		}
		contents[e.ContentID] = e.Version
		if _, err := thresholds.OpenFS(os.DirFS(dir), thresholds.WithVersion(e.Version)); err != nil {
			t.Error(err)
		}
	}
	if len(versions) == 0 {
		return nil
	}
	newest := thresholds.Newest(thresholds.Releases(log)).Version
	latest, err := os.ReadFile(filepath.Join(dir, latestFile))
	if err != nil || string(latest) != newest+"\n" {
		t.Errorf("LATEST is %q, want %s (%v)", latest, newest, err)
	}
	raw, err := os.ReadFile(filepath.Join(dir, catalogFile))
	if err != nil {
		t.Fatal(err)
	}
	var c catalogue
	if err := json.Unmarshal(raw, &c); err != nil || len(c.Versions) != len(versions) || c.Latest != newest {
		t.Errorf("catalogue is of %d versions, latest %s; want %d, %s (%v)", len(c.Versions), c.Latest, len(versions), newest, err)
	}
	return versions
}

func TestCommit(t *testing.T) {
	dir := storeOnDisk(t)
	o := onDisk(dir)
	if c, err := Current(o, small(0)); c != nil || err != nil {
		t.Fatalf("current of an absent store: %v, %v", c, err)
	}
	c := mustCommit(t, o, small(0))
	if c.Version != "v1.0.0" || c.Unchanged || c.Parent != "" {
		t.Errorf("first: %+v", c)
	}
	if c := mustCommit(t, o, small(0)); !c.Unchanged || c.Version != "v1.0.0" {
		t.Errorf("same content: %+v", c)
	}
	headless := small(0)
	headless.Tables = nil
	if c, err := Current(o, headless); err != nil || c == nil || !c.Unchanged {
		t.Errorf("current: %+v, %v", c, err)
	}
	local := small(0)
	local.Configuration[2].Value = 64 // workers: recorded, no part of the content
	if c := mustCommit(t, o, local); !c.Unchanged {
		t.Errorf("another number of workers: %+v", c)
	}
	if c := mustCommit(t, o, small(1)); c.Version != "v1.1.0" || c.Parent != "v1.0.0" || c.Bump != Minor {
		t.Errorf("other content: %+v", c)
	}
	checkStore(t, dir)
	for name, want := range map[string]fs.FileMode{"": fs.ModeDir | 0o555, "bins.csv": 0o444, "manifest.json": 0o444, "SHA256SUMS": 0o444} {
		info, err := os.Stat(filepath.Join(c.Dir, name))
		if err != nil || info.Mode() != want {
			t.Errorf("mode of %q: %v, want %v (%v)", name, info.Mode(), want, err)
		}
	}
	if left, _ := os.ReadDir(filepath.Join(dir, stagingDir)); len(left) != 0 {
		t.Errorf("staging holds %v", left)
	}
}

func TestHandover(t *testing.T) {
	dir := newStore(t)
	v := small(0)
	v.Handover = []byte("tally")
	mustCommit(t, optionsFor(dir), v)
	v = small(1)
	v.Handover = []byte("tally")
	mustCommit(t, optionsFor(dir), v) // kept once
	table, err := thresholds.Open(dir)
	if err != nil {
		t.Fatal(err)
	}
	b, err := os.ReadFile(filepath.Join(dir, handoverDir, table.Manifest().Handover))
	if err != nil || string(b) != "tally" {
		t.Errorf("hand-over is %q, %v", b, err)
	}
}

// TestBump computes the step of the version number from what changed.
func TestBump(t *testing.T) {
	for name, c := range map[string]struct {
		change func(*Version)
		want   string
	}{
		"another seed, same rows": {func(v *Version) { v.Seed++ }, "v1.0.1"},
		"another row":             {func(v *Version) { v.Seed++; v.Tables.Verdicts[0].Rate = .3 }, "v1.1.0"},
		"a further variable": {func(v *Version) {
			v.Seed++
			v.Variables = append(v.Variables, thresholds.Variable{Name: "extension", Unit: "ft", Definition: "extension/ft"})
		}, "v1.1.0"},
		"another bin width":  {func(v *Version) { v.Seed++; v.Variables[0].Width = .5 }, "v1.1.0"},
		"another definition": {func(v *Version) { v.Seed++; v.Variables[0].Definition = "velocity/50ft/mph" }, "v2.0.0"},
		"another unit":       {func(v *Version) { v.Seed++; v.Variables[0].Unit = "km/h" }, "v2.0.0"},
		"a variable is gone": {func(v *Version) { v.Seed++; v.Variables = nil }, "v2.0.0"},
	} {
		dir := newStore(t)
		mustCommit(t, optionsFor(dir), small(0))
		v := small(0)
		c.change(&v)
		if got := mustCommit(t, optionsFor(dir), v); got.Version != c.want {
			t.Errorf("%s: %s %v, want %s", name, got.Version, got.Reasons, c.want)
		}
	}
}

// TestBumpRefused: a step that hides a larger change is refused, a larger one
// is taken.
func TestBumpRefused(t *testing.T) {
	dir := newStore(t)
	o := optionsFor(dir)
	mustCommit(t, o, small(0))
	o.Bump = Patch
	if _, err := Commit(t.Context(), o, small(1)); !errors.Is(err, ErrBump) {
		t.Errorf("error %v, want ErrBump", err)
	}
	o.Bump = Major
	if c := mustCommit(t, o, small(1)); c.Version != "v2.0.0" {
		t.Errorf("got %s", c.Version)
	}
}

// TestBreaks: columns and words gone or changed break a reader.
func TestBreaks(t *testing.T) {
	v := small(0)
	files := []thresholds.File{{Path: "bins.csv"}, {Path: "zones.csv"}, {Path: "zones.json"}}
	old := describe(&v, files)
	if why := breaks(old, describe(&v, files)); len(why) > 0 {
		t.Errorf("equal descriptors: %v", why)
	}
	if why := breaks(old, describe(&v, append(files, thresholds.File{Path: "curves.csv"}))); len(why) > 0 {
		t.Errorf("a further resource: %v", why)
	}
	for want, change := range map[string]func(d *descriptor){
		"resource zones is gone":                              func(d *descriptor) { d.Resources = d.Resources[:1] },
		"column bins.hand is gone":                            func(d *descriptor) { d.Resources[0].Schema.Fields = d.Resources[0].Schema.Fields[1:] },
		"column bins.hand changed its type":                   func(d *descriptor) { d.Resources[0].Schema.Fields[0].Type = "integer" },
		"column bins.hand changed its unit":                   func(d *descriptor) { d.Resources[0].Schema.Fields[0].Unit = "share" },
		"column bins.hand may now be null":                    func(d *descriptor) { d.Resources[0].Schema.Fields[0].Constraints.Required = false },
		`column bins.hand no longer knows "right"`:            func(d *descriptor) { d.Resources[0].Schema.Fields[0].Constraints.Enum = []string{"", "left"} },
		"variable velocity changed from velocity/release/mph": func(d *descriptor) { d.Variables[0].Definition = "x" },
		"variable velocity is gone":                           func(d *descriptor) { d.Variables = nil },
	} {
		d := describe(&v, files)
		change(&d)
		if why := breaks(old, d); len(why) != 1 || !strings.HasPrefix(why[0], want) {
			t.Errorf("%v, want %q", why, want)
		}
	}
}

// TestNames: links and path tricks are refused.
func TestNames(t *testing.T) {
	base := filepath.Dir(newStore(t))
	for _, name := range []string{"", "..", ".", "a/..", ".hidden", "-x", "a b", "a\x00b"} {
		o := optionsFor(base + string(filepath.Separator) + name)
		if name == "" {
			o.Dir = ""
		}
		if _, err := Commit(t.Context(), o, small(0)); err == nil && name != "a/.." {
			t.Errorf("league %q was published", name)
		}
	}
	elsewhere := t.TempDir()
	link := filepath.Join(base, "linked")
	if err := os.Symlink(elsewhere, link); err != nil {
		t.Skip("no symbolic links here:", err)
	}
	if _, err := Commit(t.Context(), optionsFor(link), small(0)); !errors.Is(err, ErrConflict) {
		t.Errorf("linked league: %v", err)
	}
	for _, part := range []string{thresholds.LogDir, stagingDir, handoverDir} {
		dir := filepath.Join(base, "league-"+strings.Trim(part, "._"))
		os.MkdirAll(dir, 0o755)
		os.Symlink(elsewhere, filepath.Join(dir, part))
		if _, err := Commit(t.Context(), optionsFor(dir), small(0)); !errors.Is(err, ErrConflict) {
			t.Errorf("linked %s: %v", part, err)
		}
	}
	dir := filepath.Join(base, "league")
	mustCommit(t, optionsFor(dir), small(0))
	os.Symlink("v1.0.0", filepath.Join(dir, "v1.1.0")) // in the way of the next version
	if _, err := Commit(t.Context(), optionsFor(dir), small(1)); !errors.Is(err, ErrConflict) {
		t.Errorf("linked version: %v", err)
	}
	if left, _ := os.ReadDir(elsewhere); len(left) != 0 {
		t.Errorf("written through a link: %v", left)
	}
}

// TestFlippedByte flips one byte of each published file in turn; opening the
// version names that file.
func TestFlippedByte(t *testing.T) {
	dir := newStore(t)
	c := mustCommit(t, optionsFor(dir), small(0))
	unlock(c.Dir)
	list, err := os.ReadDir(c.Dir)
	if err != nil {
		t.Fatal(err)
	}
	var names []string
	for _, d := range list {
		if !d.IsDir() {
			names = append(names, slashed(c.Version, d.Name()))
		}
	}
	names = append(names, slashed(c.Version, schemaFile("manifest")))
	names = append(names, thresholds.EntryName(1))
	for _, name := range names {
		file := filepath.Join(dir, name)
		good, err := os.ReadFile(file)
		if err != nil {
			t.Fatal(err)
		}
		check := func(what string, bytes []byte) {
			os.Remove(file)
			if bytes != nil {
				os.WriteFile(file, bytes, 0o444)
			}
			_, err := thresholds.Open(dir)
			var fault *thresholds.FileError
			if !errors.As(err, &fault) || fault.File != name || !errors.Is(err, thresholds.ErrIntegrity) {
				t.Errorf("%s %s: error %v", name, what, err)
			}
		}
		for _, at := range []int{0, len(good) / 3, len(good) / 2, len(good) - 1} {
			bad := bytes.Clone(good)
			bad[at] ^= 1
			check(fmt.Sprint("byte ", at), bad)
		}
		check("cut", good[:len(good)-1])
		if name != thresholds.EntryName(1) { // without its only entry a store is empty
			check("gone", nil)
		}
		os.Remove(file)
		os.WriteFile(file, good, 0o444)
	}
	if _, err := thresholds.Open(dir); err != nil {
		t.Fatal(err)
	}
	os.WriteFile(filepath.Join(c.Dir, "extra.csv"), nil, 0o444)
	if _, err := thresholds.Open(dir); !errors.Is(err, thresholds.ErrIntegrity) || !strings.Contains(err.Error(), "v1.0.0/extra.csv") {
		t.Errorf("an extra file: %v", err)
	}
}

func slashed(parts ...string) string { return strings.Join(parts, "/") }

// filesOf lists the files of a version as slash paths.
func filesOf(t *testing.T, dir string) []string {
	t.Helper()
	var out []string
	err := fs.WalkDir(os.DirFS(dir), ".", func(name string, d fs.DirEntry, err error) error {
		if err == nil && !d.IsDir() {
			out = append(out, name)
		}
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	return out
}

// TestSums checks SHA256SUMS with the system's own sha256sum.
func TestSums(t *testing.T) {
	program, err := exec.LookPath("sha256sum")
	if err != nil {
		t.Skip("no sha256sum here")
	}
	c := mustCommit(t, optionsFor(newStore(t)), small(0))
	run := exec.Command(program, "--check", "--strict", thresholds.SumsFile)
	run.Dir = c.Dir
	out, err := run.CombinedOutput()
	files := len(filesOf(t, c.Dir)) - 1 // but for the checksums themselves
	if n := bytes.Count(out, []byte(": OK\n")); err != nil || n != files {
		t.Errorf("%d of %d files checked: %v\n%s", n, files, err, out)
	}
}

// TestDescriptor: every file but those written later stands in the descriptor
// with its hash, and each table's fields are its CSV header.
func TestDescriptor(t *testing.T) {
	c := mustCommit(t, optionsFor(newStore(t)), small(0))
	raw, err := os.ReadFile(filepath.Join(c.Dir, thresholds.DescriptorFile))
	if err != nil {
		t.Fatal(err)
	}
	var d descriptor
	if err := json.Unmarshal(raw, &d); err != nil {
		t.Fatal(err)
	}
	seen := map[string]bool{}
	for _, r := range d.Resources {
		b, err := os.ReadFile(filepath.Join(c.Dir, r.Path))
		if err != nil || r.Hash != "sha256:"+hashOf(b) || r.Bytes != int64(len(b)) {
			t.Errorf("%s: %v, %s, %d bytes", r.Path, err, r.Hash, r.Bytes)
		}
		seen[r.Path] = true
		if r.Schema == nil {
			continue
		}
		var names []string
		for _, f := range r.Schema.Fields {
			names = append(names, f.Name)
			if f.Description == "" {
				t.Errorf("%s.%s has no meaning", r.Name, f.Name)
			}
		}
		head, _ := bufio.NewReader(bytes.NewReader(b)).ReadString('\n')
		if strings.Join(names, ",")+"\r\n" != head {
			t.Errorf("%s: fields %v, header %q", r.Name, names, head)
		}
		for _, k := range r.Schema.PrimaryKey {
			if !slices.Contains(names, k) {
				t.Errorf("%s: no key %s", r.Name, k)
			}
		}
	}
	for _, name := range filesOf(t, c.Dir) {
		late := []string{thresholds.DescriptorFile, thresholds.ProvenanceFile, thresholds.ManifestFile, thresholds.SumsFile}
		if !seen[name] && !slices.Contains(late, name) {
			t.Errorf("%s is not described", name)
		}
	}
	if len(d.Variables) != 1 || d.Variables[0].Definition != "velocity/release/mph" {
		t.Errorf("variables %v", d.Variables)
	}
}

var errFault = errors.New("no space left on the test's disk")

// TestFaults makes each kind of step fail, in each way that a file system does,
// and with all after it (as a crash does). A step that writes is cut short half
// way. The old version stays whole, staging can be removed, and the next publisher
// succeeds.
func TestFaults(t *testing.T) {
	type step struct{ name, file string }
	var steps []step
	record := optionsFor(newStore(t))
	var lock sync.Mutex
	mustCommit(t, record, small(0))
	record.disk.fault = func(name, file string) error {
		lock.Lock()
		defer lock.Unlock()
		s := step{name, filepath.Base(file)}
		if strings.HasPrefix(s.file, "version-") {
			s.file = "version-"
		}
		if strings.HasSuffix(s.file, ".schema.json") {
			return nil // written as the quality report is
		}
		data := filepath.Ext(s.file) != "" && !slices.Contains([]string{"curves.parquet", "bins.csv", "quality.json", "datapackage.json", "provenance.intoto.json",
			"manifest.json", "00000002.json", "catalog.json"}, s.file) && !strings.HasPrefix(s.file, "v1.")
		if !data && !slices.Contains(steps, s) {
			steps = append(steps, s)
		}
		return nil
	}
	mustCommit(t, record, small(1))
	if len(steps) < 30 {
		t.Fatalf("only %d kinds of steps: %v", len(steps), steps)
	}
	base := newStore(t)
	mustCommit(t, optionsFor(base), small(0))
	kinds := []struct {
		err   error
		crash bool
	}{{syscall.ENOSPC, false}, {syscall.ENOSPC, true}, {syscall.EACCES, false}, {syscall.EROFS, false}}
	if testing.Short() {
		kinds = kinds[:1]
	}
	for _, s := range steps {
		for _, kind := range kinds {
			name := fmt.Sprintf("%s %s, %v, crash %v", s.name, s.file, kind.err, kind.crash)
			dir := newStore(t)
			if err := os.CopyFS(dir, os.DirFS(base)); err != nil {
				t.Fatal(err)
			}
			o := optionsFor(dir)
			failed := false
			o.disk.fault = func(name, file string) error {
				lock.Lock()
				defer lock.Unlock()
				if failed && kind.crash || !failed && name == s.name && strings.HasPrefix(filepath.Base(file), s.file) {
					failed = true
					return kind.err
				}
				return nil
			}
			_, err := Commit(t.Context(), o, small(1))
			if !failed {
				t.Fatalf("%s: the step never came", name)
			}
			// a failure to tidy up alone is no failure to publish
			if !errors.Is(err, kind.err) && s.name != "remove" {
				t.Errorf("%s: error %v", name, err)
			}
			table, err := thresholds.Open(dir)
			if err != nil {
				t.Errorf("%s: %v", name, err)
				continue
			}
			if v := table.Version(); v != "v1.0.0" && v != "v1.1.0" {
				t.Errorf("%s: version %s", name, v)
			}
			o.disk.fault = nil
			if _, err := cleanStaging(o, time.Time{}); err != nil {
				t.Errorf("%s: %v", name, err)
			}
			if left, _ := os.ReadDir(filepath.Join(dir, stagingDir)); len(left) > 0 {
				t.Errorf("%s: staging still holds %v", name, left)
			}
			if c, err := Commit(t.Context(), o, small(1)); err != nil || c.Version != "v1.1.0" {
				t.Errorf("%s: again: %+v, %v", name, c, err)
			}
			if got := checkStore(t, dir); !slices.Equal(got, []string{"v1.0.0", "v1.1.0"}) {
				t.Errorf("%s: versions %v", name, got)
			}
		}
	}
	t.Logf("%d faults: %d kinds of steps, each in %d ways; no version lost", len(steps)*len(kinds), len(steps), len(kinds))
}

// TestDurable: before a version's name appears, each of its files and folders
// was synced; before its log entry does, so was its name; and the entry's own
// name last. A power cut at any moment leaves either all of it or nothing that a
// reader would see.
func TestDurable(t *testing.T) {
	dir := newStore(t)
	mustCommit(t, optionsFor(dir), small(0))
	o := onDisk(dir)
	var lock sync.Mutex
	var steps []string
	unsynced := map[string]bool{}
	o.disk.fault = func(name, file string) error {
		lock.Lock()
		defer lock.Unlock()
		switch name {
		case "create":
			unsynced[file] = true
		case "sync", "sync folder", "remove":
			delete(unsynced, file)
			for f := range unsynced {
				if name == "remove" && strings.HasPrefix(f, file+string(filepath.Separator)) {
					delete(unsynced, f)
				}
			}
		case "mkdir":
			if filepath.Base(file) == thresholds.SchemasDir {
				unsynced[file] = true
			}
		case "rename", "link", "replace":
			if len(unsynced) > 0 {
				t.Errorf("%s %s with %v not synced", name, file, unsynced)
			}
		}
		if rel, _ := filepath.Rel(dir, file); name != "create" && name != "write" && name != "sync" && name != "mkdir" {
			if strings.HasPrefix(rel, stagingDir) {
				rel = stagingDir
			}
			steps = append(steps, name+" "+filepath.ToSlash(rel))
		}
		return nil
	}
	mustCommit(t, o, small(1))
	want := []string{"sync folder .staging", "rename v1.1.0", "sync folder .", "link _log/00000002.json", "sync folder _log", "replace LATEST", "sync folder ."}
	for _, step := range steps {
		if len(want) > 0 && step == want[0] {
			want = want[1:]
		}
	}
	if len(want) > 0 {
		t.Errorf("no %q, or not in its place, in %q", want, steps)
	}
}

// TestRace: 20 goroutines and 6 processes publish at once to a disk, each its own
// content, while a reader looks on. None is lost, none is seen half done.
func TestRace(t *testing.T) {
	dir := storeOnDisk(t)
	mustCommit(t, optionsFor(dir), small(0))
	stop := reader(t, dir)
	var all sync.WaitGroup
	for i := range 20 {
		all.Go(func() {
			if _, err := Commit(t.Context(), optionsFor(dir), small(i+1)); err != nil {
				t.Error(err)
			}
		})
	}
	const processes, each = 6, 2
	for i := range processes {
		c := publisher(t, dir, 100+i*each, each)
		all.Go(func() {
			if out, err := c.CombinedOutput(); err != nil {
				t.Errorf("%v: %s", err, out)
			}
		})
	}
	all.Wait()
	n := stop()
	versions := checkStore(t, dir)
	if len(versions) != 1+20+processes*each {
		t.Errorf("%d versions", len(versions))
	}
	t.Logf("%d versions by racing publishers, %d looks by a reader", len(versions), n)
}

// TestRaceForOne: many publishers of one content make one version.
func TestRaceForOne(t *testing.T) {
	dir := newStore(t)
	var all sync.WaitGroup
	var lock sync.Mutex
	wrote := 0
	for range 20 {
		all.Go(func() {
			c, err := Commit(t.Context(), optionsFor(dir), small(0))
			lock.Lock()
			defer lock.Unlock()
			if err != nil {
				t.Error(err)
			} else if !c.Unchanged {
				wrote++
			}
		})
	}
	all.Wait()
	if versions := checkStore(t, dir); len(versions) != 1 || wrote > 1 {
		t.Errorf("%d versions, %d writers", len(versions), wrote)
	}
}

func mustLog(t *testing.T, dir string) []thresholds.Entry {
	t.Helper()
	log, err := thresholds.ReadLog(os.DirFS(dir))
	if err != nil {
		t.Fatal(err)
	}
	return log
}

// TestRepair adopts a whole version without a log entry and removes a broken
// one; LATEST is rewritten where it is missing or ahead.
func TestRepair(t *testing.T) {
	dir := newStore(t)
	o := optionsFor(dir)
	kept := small(0)
	kept.Handover = []byte("tally")
	mustCommit(t, o, kept)
	orphan := slashed(handoverDir, "orphan")
	os.WriteFile(filepath.Join(dir, orphan), nil, 0o644)
	failing := o
	failing.disk.fault = func(step, path string) error {
		if step == "link" {
			return errFault
		}
		return nil
	}
	if _, err := Commit(t.Context(), failing, small(1)); !errors.Is(err, errFault) {
		t.Fatal(err)
	}
	os.Mkdir(filepath.Join(dir, "v3.0.0"), 0o755)
	os.Remove(filepath.Join(dir, latestFile))
	if v := mustOpen(t, dir).Version(); v != "v1.0.0" {
		t.Errorf("an unlogged version is seen: %s", v)
	}
	got, err := Repair(o, time.Time{}, false)
	if err != nil || !slices.Equal(got.Adopted, []string{"v1.1.0"}) || !slices.Contains(got.Removed, "v3.0.0") || !slices.Contains(got.Removed, orphan) {
		t.Errorf("repaired %+v, %v", got, err)
	}
	if b, err := os.ReadFile(filepath.Join(dir, handoverDir, hashOf(kept.Handover))); err != nil || string(b) != "tally" {
		t.Errorf("the hand-over file of a version: %q, %v", b, err)
	}
	checkStore(t, dir)
	os.WriteFile(filepath.Join(dir, latestFile), []byte("v9.0.0\n"), 0o644)
	if c := mustCommit(t, o, small(1)); !c.Unchanged || c.Version != "v1.1.0" {
		t.Errorf("LATEST ahead: %+v", c)
	}
	checkStore(t, dir)
}

func mustOpen(t *testing.T, dir string, opts ...thresholds.Option) *thresholds.Table {
	t.Helper()
	table, err := thresholds.Open(dir, opts...)
	if err != nil {
		t.Fatal(err)
	}
	return table
}

// TestMark: a deprecated version still opens; a retracted one does not, its
// number is not used again, and its content may be published anew.
func TestMark(t *testing.T) {
	dir := newStore(t)
	o := optionsFor(dir)
	mustCommit(t, o, small(0))
	mustCommit(t, o, small(1))
	for _, err := range []error{Mark(o, thresholds.Deprecate, "v1.0.0", "old"), Mark(o, thresholds.Retract, "v1.1.0", "wrong season")} {
		if err != nil {
			t.Fatal(err)
		}
	}
	if v := mustOpen(t, dir).Version(); v != "v1.0.0" {
		t.Errorf("opened %s", v)
	}
	if _, err := thresholds.Open(filepath.Join(dir, "v1.1.0")); !errors.Is(err, thresholds.ErrNoVersion) || !strings.Contains(err.Error(), "wrong season") {
		t.Errorf("a retracted version: %v", err)
	}
	if table := mustOpen(t, dir, thresholds.WithVersion("v1.0.0")); table.Deprecated() != "old" || table.Retracted() != "" {
		t.Errorf("a pinned deprecated version says %q, %q", table.Deprecated(), table.Retracted())
	}
	if table := mustOpen(t, dir, thresholds.WithVersion("v1.1.0"), thresholds.WithRetracted()); table.Retracted() != "wrong season" {
		t.Errorf("a retracted version says %q", table.Retracted())
	}
	if c := mustCommit(t, o, small(1)); c.Version != "v1.2.0" || c.Parent != "v1.0.0" {
		t.Errorf("published anew: %+v", c)
	}
	if err := Mark(o, thresholds.Retract, "v7.0.0", ""); !errors.Is(err, thresholds.ErrNoVersion) {
		t.Errorf("an unknown version: %v", err)
	}
}

// TestLazily: a changed file is found when it is read, not before; the manifest
// at once.
func TestLazily(t *testing.T) {
	dir := newStore(t)
	c := mustCommit(t, optionsFor(dir), small(0))
	filesWritable(t, c.Dir)
	spoil := func(name string) {
		file := filepath.Join(c.Dir, name)
		b, err := os.ReadFile(file)
		if err != nil {
			t.Fatal(err)
		}
		b[len(b)/2] ^= 1
		if err := os.WriteFile(file, b, 0o644); err != nil {
			t.Fatal(err)
		}
	}
	spoil("zones.json")
	table := mustOpen(t, dir, thresholds.Lazily())
	if _, err := table.Bytes("verdicts.json"); err != nil {
		t.Error(err)
	}
	for _, err := range table.Zones() {
		if !errors.Is(err, thresholds.ErrIntegrity) {
			t.Errorf("zones: %v", err)
		}
	}
	spoil(thresholds.ManifestFile)
	if _, err := thresholds.Open(dir, thresholds.Lazily()); !errors.Is(err, thresholds.ErrIntegrity) {
		t.Errorf("manifest: %v", err)
	}
}

// TestAppendRace: entries appended at once are all kept. (Publishing would hide
// a lost entry, since the next publisher logs what lies in place.)
func TestAppendRace(t *testing.T) {
	dir := newStore(t)
	o := optionsFor(dir)
	mustCommit(t, o, small(0))
	o.disk.fault = func(step, _ string) error {
		if step == "link" {
			time.Sleep(time.Millisecond) // others look at the log meanwhile, on one core too
		}
		return nil
	}
	const writers = 40
	var all sync.WaitGroup
	for i := range writers {
		all.Go(func() {
			if err := Mark(o, thresholds.Deprecate, "v1.0.0", fmt.Sprint("reason ", i)); err != nil {
				t.Error(err)
			}
		})
	}
	all.Wait()
	reasons := map[string]bool{}
	for _, e := range mustLog(t, dir) {
		reasons[e.Reason] = true
	}
	if len(reasons) != 1+writers {
		t.Errorf("%d of %d entries kept", len(reasons)-1, writers)
	}
}

// BenchmarkCommit writes a table of the size of a season's headline.
func BenchmarkCommit(b *testing.B) {
	v := wide(20_000)
	for i := range b.N {
		v.Seed = uint64(i)
		mustCommit(b, optionsFor(newStore(b)), v)
	}
}
