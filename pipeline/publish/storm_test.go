package publish

import (
	"bufio"
	"errors"
	"fmt"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"slices"
	"strings"
	"sync"
	"syscall"
	"testing"
	"time"

	"sill/pipeline/thresholds"
)

// gated starts processes that publish one version each, all at the same moment, and
// returns the version that each of them names.
func gated(t *testing.T, dir string, contents []int) []string {
	t.Helper()
	gate := filepath.Join(t.TempDir(), "open")
	var all sync.WaitGroup
	named, ready := make([]string, len(contents)), make(chan struct{})
	for i, n := range contents {
		c := publisher(t, dir, n, 1)
		c.Env = append(c.Env, "SILL_TEST_GATE="+gate)
		var complaint strings.Builder
		c.Stderr = &complaint
		lines := scan(t, c)
		all.Go(func() {
			lines.Scan()
			ready <- struct{}{}
			lines.Scan()
			named[i] = lines.Text()
			if err := c.Wait(); err != nil {
				t.Errorf("%v: %s", err, &complaint)
			}
		})
	}
	for range contents {
		<-ready
	}
	if err := os.WriteFile(gate, nil, 0o644); err != nil {
		t.Fatal(err)
	}
	all.Wait()
	return named
}

// scan starts a process and returns its lines.
func scan(t *testing.T, c *exec.Cmd) *bufio.Scanner {
	t.Helper()
	out, err := c.StdoutPipe()
	if err == nil {
		err = c.Start()
	}
	if err != nil {
		t.Fatal(err)
	}
	return bufio.NewScanner(out)
}

// TestProcessesForOne: 40 processes race to publish the same content. One version
// comes of it, and all of them name it.
func TestProcessesForOne(t *testing.T) {
	dir := newStore(t)
	contents := make([]int, 40)
	if testing.Short() {
		contents = contents[:8]
	}
	named := gated(t, dir, contents)
	versions := checkStore(t, dir)
	if !slices.Equal(versions, []string{"v1.0.0"}) {
		t.Errorf("versions %v", versions)
	}
	for _, v := range named {
		if v != "v1.0.0" {
			t.Errorf("a process names %q", v)
		}
	}
	t.Logf("%d processes raced for one version: %d published, %d lost", len(contents), len(versions), 1-len(versions))
}

// TestProcessesForMany: 60 processes race, each with content of its own, while a
// reader looks on. Each gets a number of its own, none is lost, and the reader
// never sees a version that is not whole.
func TestProcessesForMany(t *testing.T) {
	dir := newStore(t)
	mustCommit(t, optionsFor(dir), small(0))
	contents := make([]int, 60)
	for i := range contents {
		contents[i] = i + 1
	}
	if testing.Short() {
		contents = contents[:8]
	}
	stop := reader(t, dir)
	named := gated(t, dir, contents)
	looks := stop()
	versions := checkStore(t, dir)
	lost := 0
	for _, v := range named {
		if !slices.Contains(versions, v) {
			lost++
			t.Errorf("a process named %q, which is not there", v)
		}
	}
	slices.Sort(named)
	if n := len(slices.Compact(named)); n != len(contents) || len(versions) != 1+n {
		t.Errorf("%d processes, %d numbers, %d versions", len(contents), n, len(versions))
	}
	t.Logf("%d processes raced for numbers of their own: %d versions, %d lost; %d reads, none of them partial", len(contents), len(versions)-1, lost, looks)
}

// TestKill kills publishing processes at 200 random instants spread over a publish.
// After each the store opens, and what a process has named as published is there.
// (A process that dies leaves what it wrote to the system, on a disk or not;
// TestDurable is about the power.)
func TestKill(t *testing.T) {
	if runtime.GOOS == "windows" {
		t.Skip("no kill on windows")
	}
	kills := 200
	if testing.Short() {
		kills = 10
	}
	dir := newStore(t)
	start := time.Now()
	for n := range 3 {
		mustCommit(t, onDisk(dir), small(-1-n))
	}
	publish := time.Since(start) / 3
	r := rand.New(rand.NewPCG(3, 4)) // instants only; no result depends on them
	staged, unlogged, between, acknowledged, lost := 0, 0, 0, 0, 0
	for i := range kills {
		c := publisher(t, dir, 1+i*10, 10)
		lines := scan(t, c)
		lines.Scan() // ready
		before := staging(t, dir)
		time.AfterFunc(time.Duration(r.Int64N(int64(3*publish))), func() { _ = c.Process.Kill() })
		var named []string
		for lines.Scan() {
			named = append(named, lines.Text())
		}
		_ = c.Wait() // killed
		if _, err := thresholds.Open(dir); err != nil {
			t.Fatalf("after kill %d: %v", i+1, err)
		}
		log := mustLog(t, dir)
		for _, v := range named {
			acknowledged++
			if !slices.ContainsFunc(log, func(e thresholds.Entry) bool { return e.Version == v }) {
				lost++
				t.Errorf("kill %d: %s was named as published and is not", i+1, v)
			}
		}
		strange, err := (&store{dir: dir}).unlogged(log)
		if err != nil {
			t.Fatal(err)
		}
		switch {
		case len(strange) > 0:
			unlogged++
		case staging(t, dir) > before:
			staged++
		default:
			between++
		}
	}
	entries := len(mustLog(t, dir))
	repaired, err := Repair(onDisk(dir), time.Time{}, false)
	if err != nil {
		t.Fatal(err)
	}
	checkStore(t, dir)
	again, err := Repair(onDisk(dir), time.Time{}, false)
	if err != nil || len(again.Adopted)+len(again.Removed)+len(again.Rewritten) > 0 {
		t.Errorf("repaired twice: %+v, %v", again, err)
	}
	if c := mustCommit(t, onDisk(dir), small(1_000_000)); c.Unchanged {
		t.Error("nothing published after the repair")
	}
	t.Logf("%d kills: %d with files in staging, %d with a version in place and not in the log, %d at other moments; %d log entries; %d versions acknowledged, %d of them lost; repair adopted %d and removed %d",
		kills, staged, unlogged, between, entries, acknowledged, lost, len(repaired.Adopted), len(repaired.Removed))
}

// staging counts what lies in a store's staging.
func staging(t *testing.T, dir string) int {
	t.Helper()
	list, err := os.ReadDir(filepath.Join(dir, stagingDir))
	if err != nil && !errors.Is(err, os.ErrNotExist) {
		t.Fatal(err)
	}
	return len(list)
}

// TestSignals interrupts publishing processes at random instants. Each ends by
// itself, tidies up, and leaves a store that needs no repair.
func TestSignals(t *testing.T) {
	if runtime.GOOS == "windows" {
		t.Skip("no signals on windows")
	}
	signals := 20
	if testing.Short() {
		signals = 4
	}
	dir := newStore(t)
	start := time.Now()
	mustCommit(t, onDisk(dir), small(0))
	publish := time.Since(start)
	r := rand.New(rand.NewPCG(5, 6))
	stopped := 0
	for i := range signals {
		c := publisher(t, dir, 1+i*100, 100)
		var complaint strings.Builder
		c.Stderr = &complaint
		lines := scan(t, c)
		lines.Scan() // ready
		signal := []os.Signal{syscall.SIGTERM, os.Interrupt}[i%2]
		time.AfterFunc(time.Duration(r.Int64N(int64(2*publish))), func() { _ = c.Process.Signal(signal) })
		for lines.Scan() {
		}
		if err := c.Wait(); err != nil && c.ProcessState.ExitCode() == 1 && strings.Contains(complaint.String(), "context canceled") {
			stopped++
		} else {
			t.Errorf("%s: %v: %s", signal, err, &complaint)
		}
		checkStore(t, dir)
		if n := staging(t, dir); n > 0 {
			t.Errorf("%s: %d left in staging", signal, n)
		}
		if _, err := thresholds.Open(dir); err != nil {
			t.Error(err)
		}
	}
	if got, err := Repair(onDisk(dir), time.Time{}, true); err != nil || len(got.Adopted)+len(got.Removed)+len(got.Rewritten) > 0 {
		t.Errorf("to repair: %+v, %v", got, err)
	}
	t.Logf("%d signals, %d processes stopped by them, %d versions", signals, stopped, len(mustLog(t, dir)))
}

// TestDamage: a store whose log, or whose newest version, is not what it was is
// neither read nor written, and nothing in it changes.
func TestDamage(t *testing.T) {
	base := newStore(t)
	mustCommit(t, optionsFor(base), small(0))
	mustCommit(t, optionsFor(base), small(1))
	for file, byteOf := range map[string]func(b []byte) int{
		thresholds.EntryName(1):   func(b []byte) int { return len(b) / 2 },
		thresholds.EntryName(2):   func(b []byte) int { return len(b) - 3 },
		"v1.1.0/bins.parquet":     func(b []byte) int { return 50 },
		"v1.1.0/manifest.json":    func(b []byte) int { return len(b) / 2 },
		"v1.1.0/SHA256SUMS":       func([]byte) int { return 0 },
		"v1.1.0/datapackage.json": func(b []byte) int { return len(b) / 3 },
	} {
		dir := newStore(t)
		if err := os.CopyFS(dir, os.DirFS(base)); err != nil {
			t.Fatal(err)
		}
		b, err := os.ReadFile(filepath.Join(dir, file))
		if err != nil {
			t.Fatal(err)
		}
		b[byteOf(b)] ^= 4
		os.Remove(filepath.Join(dir, file))
		if err := os.WriteFile(filepath.Join(dir, file), b, 0o444); err != nil {
			t.Fatal(err)
		}
		before := fingerprint(t, dir)
		_, open := thresholds.Open(dir)
		_, commit := Commit(t.Context(), optionsFor(dir), small(2))
		for act, err := range map[string]error{"open": open, "commit": commit} {
			var fault *thresholds.FileError
			if !errors.As(err, &fault) || fault.File != file {
				t.Errorf("%s with %s damaged: %v", act, file, err)
			}
		}
		if strings.HasPrefix(file, thresholds.LogDir) {
			_, repair := Repair(optionsFor(dir), time.Time{}, false)
			mark := Mark(optionsFor(dir), thresholds.Retract, "v1.1.0", "x")
			for act, err := range map[string]error{"repair": repair, "mark": mark} {
				if !errors.Is(err, thresholds.ErrIntegrity) {
					t.Errorf("%s with %s damaged: %v", act, file, err)
				}
			}
		}
		if after := fingerprint(t, dir); after != before {
			t.Errorf("%s damaged: the store changed", file)
		}
		if file == "v1.1.0/bins.parquet" { // an earlier whole one may still be pinned
			mustOpen(t, dir, thresholds.WithVersion("v1.0.0"))
		}
	}
}

// fingerprint is the sha256 of all names and contents of a store.
func fingerprint(t *testing.T, dir string) string {
	t.Helper()
	var all strings.Builder
	for _, name := range filesOf(t, dir) {
		b, err := os.ReadFile(filepath.Join(dir, name))
		if err != nil {
			t.Fatal(err)
		}
		fmt.Fprintln(&all, name, hashOf(b))
	}
	return hashOf([]byte(all.String()))
}

// TestStaleStaging: whatever an earlier writer left in staging stands in nobody's
// way, and is removed with nothing outside of it.
func TestStaleStaging(t *testing.T) {
	dir := newStore(t)
	mustCommit(t, optionsFor(dir), small(0))
	left := filepath.Join(dir, stagingDir)
	if err := errors.Join(
		os.CopyFS(filepath.Join(left, "version-123"), os.DirFS(filepath.Join(dir, "v1.0.0"))),
		os.Mkdir(filepath.Join(left, "version-124"), 0o555),
		os.WriteFile(filepath.Join(left, "half"), []byte("half"), 0o444)); err != nil {
		t.Fatal(err)
	}
	if err := os.Symlink(filepath.Join(dir, "v1.0.0"), filepath.Join(left, "version-125")); err != nil {
		t.Log("no symbolic links here:", err)
	}
	before := staging(t, dir)
	if c := mustCommit(t, optionsFor(dir), small(1)); c.Version != "v1.1.0" {
		t.Errorf("%+v", c)
	}
	if n := staging(t, dir); n != before {
		t.Errorf("a writer removed what is not its own: %d of %d left", n, before)
	}
	removed, err := cleanStaging(optionsFor(dir), time.Time{})
	if err != nil || len(removed) != before || staging(t, dir) != 0 {
		t.Errorf("removed %v, %v", removed, err)
	}
	checkStore(t, dir)
}

// TestNewestCompatible: newest, pinned, and newest of the major that a reader
// was written for; a retracted version is none of them.
func TestNewestCompatible(t *testing.T) {
	dir := newStore(t)
	other := small(3) // speed measured elsewhere breaks a reader: v2.0.0
	other.Variables[0].Definition = "velocity/50ft/mph"
	for _, v := range []Version{small(0), small(1), small(2), other} {
		mustCommit(t, optionsFor(dir), v)
	}
	if err := Mark(optionsFor(dir), thresholds.Retract, "v1.2.0", "wrong season"); err != nil {
		t.Fatal(err)
	}
	for want, opts := range map[string][]thresholds.Option{
		"v2.0.0": nil,
		"v1.0.0": {thresholds.WithVersion("v1.0.0")},
		"v1.1.0": {thresholds.WithMajor(1)},
	} {
		if got := mustOpen(t, dir, opts...).Version(); got != want {
			t.Errorf("opened %s, want %s", got, want)
		}
	}
	if _, err := thresholds.Open(dir, thresholds.WithMajor(3)); !errors.Is(err, thresholds.ErrNoVersion) {
		t.Errorf("major 3: %v", err)
	}
}

// TestVerifyFindsEveryByte flips one random bit of a random byte of each file of a
// store in turn; Verify names that file, and only that, unless other files tell of
// it by checksum.
func TestVerifyFindsEveryByte(t *testing.T) {
	dir := newStore(t)
	v := small(0)
	v.Handover = []byte("tally")
	mustCommit(t, optionsFor(dir), v)
	v.Seed++
	mustCommit(t, optionsFor(dir), v)
	r := rand.New(rand.NewPCG(7, 8))
	flips := 0
	for _, name := range filesOf(t, dir) {
		file := filepath.Join(dir, name)
		good, err := os.ReadFile(file)
		if err != nil {
			t.Fatal(err)
		}
		bad := slices.Clone(good)
		at, bit := r.IntN(len(bad)), r.IntN(8)
		bad[at] ^= 1 << bit
		write := func(b []byte) {
			if err := errors.Join(os.Chmod(file, 0o644), os.WriteFile(file, b, 0o444)); err != nil {
				t.Fatal(err)
			}
		}
		write(bad)
		got, err := Verify(dir, "")
		if err != nil || !slices.ContainsFunc(got.Faults, func(f Fault) bool { return f.File == name }) {
			t.Errorf("%s, bit %d of byte %d flipped: %v, %v", name, bit, at, got, err)
		}
		if err := got.Err(); !errors.Is(err, thresholds.ErrIntegrity) {
			t.Errorf("%s: %v", name, err)
		}
		write(good)
		flips++
	}
	if got, err := Verify(dir, ""); err != nil || len(got.Faults) > 0 {
		t.Errorf("whole again: %v, %v", got, err)
	}
	t.Logf("%d files, one flipped bit each, all found and named", flips)
}
