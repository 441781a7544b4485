//go:build linux

package publish

import (
	"errors"
	"io"
	"os"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
	"time"

	"golang.org/x/sys/unix"

	"sill/pipeline/thresholds"
)

// mounted returns a folder with a file system of its own, of size bytes in memory;
// it skips where the machine does not let us mount.
func mounted(t *testing.T, options string) string {
	t.Helper()
	dir := t.TempDir()
	if err := unix.Mount("tmpfs", dir, "tmpfs", 0, options); err != nil {
		t.Skip("no mounting here:", err)
	}
	t.Cleanup(func() {
		if err := unix.Unmount(dir, unix.MNT_DETACH); err != nil {
			t.Error(err)
		}
	})
	return dir
}

// TestFullDisk publishes on a real file system with ever more room left, from none
// to more than enough. A publish that does not fit fails, tidies up, and leaves the
// old version whole; once there is room, the same publish succeeds.
func TestFullDisk(t *testing.T) {
	disk := mounted(t, "size=6m")
	base := newStore(t)
	mustCommit(t, optionsFor(base), small(0))
	ballast := filepath.Join(disk, "ballast")
	step, full, fits := int64(24<<10), 0, 0
	if testing.Short() {
		step *= 4
	}
	for room := int64(0); fits < 2; room += step {
		dir := filepath.Join(disk, "harbour")
		if err := os.CopyFS(dir, os.DirFS(base)); err != nil {
			t.Fatal(err)
		}
		fill(t, disk, ballast, room)
		_, err := Commit(t.Context(), onDisk(dir), small(1))
		switch {
		case err == nil:
			fits++
		case errors.Is(err, syscall.ENOSPC):
			full++
		default:
			t.Errorf("%d bytes of room: %v", room, err)
		}
		published := err == nil || strings.Contains(err.Error(), "is published")
		if v := mustOpen(t, dir).Version(); v == "v1.1.0" != published {
			t.Errorf("%d bytes of room: opened %s after %v", room, v, err)
		}
		if n := staging(t, dir); n > 0 {
			t.Errorf("%d bytes of room: %d left in staging", room, n)
		}
		os.Remove(ballast)
		if c := mustCommit(t, onDisk(dir), small(1)); c.Version != "v1.1.0" {
			t.Errorf("%d bytes of room: %+v once there is more", room, c)
		}
		checkStore(t, dir)
		unlock(dir)
		if err := os.RemoveAll(dir); err != nil {
			t.Fatal(err)
		}
	}
	if full < 4 {
		t.Errorf("the disk was full %d times only", full)
	}
	t.Logf("%d publishes on a full disk, %d that fitted; no version lost", full, fits)
}

// fill writes a file that leaves room bytes of a file system.
func fill(t *testing.T, disk, file string, room int64) {
	t.Helper()
	var st unix.Statfs_t
	if err := unix.Statfs(disk, &st); err != nil {
		t.Fatal(err)
	}
	f, err := os.Create(file)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	if _, err := io.CopyN(f, zeros{}, int64(st.Bavail)*st.Bsize-room); err != nil {
		t.Fatal(err)
	}
}

type zeros struct{}

func (zeros) Read(b []byte) (int, error) { clear(b); return len(b), nil }

// TestReadOnlyDisk: a store on a real read-only file system is read and verified;
// whoever would write is told so, and nothing has changed when it is writable again.
func TestReadOnlyDisk(t *testing.T) {
	disk := mounted(t, "size=16m")
	dir := filepath.Join(disk, "harbour")
	o := onDisk(dir)
	mustCommit(t, o, small(0))
	t.Cleanup(func() { _ = unix.Mount("", disk, "", unix.MS_REMOUNT, "") })
	if err := unix.Mount("", disk, "", unix.MS_REMOUNT|unix.MS_RDONLY, ""); err != nil {
		t.Skip("no mounting here:", err)
	}
	before := fingerprint(t, dir)
	_, commit := Commit(t.Context(), o, small(1))
	mark := Mark(o, thresholds.Retract, "v1.0.0", "x")
	for act, err := range map[string]error{"commit": commit, "mark": mark} {
		if !errors.Is(err, syscall.EROFS) {
			t.Errorf("%s: %v", act, err)
		}
	}
	if c, err := Current(o, small(0)); err != nil || !c.Unchanged {
		t.Errorf("current: %+v, %v", c, err)
	}
	if _, err := Repair(o, time.Time{}, true); err != nil {
		t.Errorf("dry repair: %v", err)
	}
	if got, err := Verify(dir, ""); err != nil || len(got.Faults) > 0 {
		t.Errorf("verify: %+v, %v", got, err)
	}
	mustOpen(t, dir)
	if err := unix.Mount("", disk, "", unix.MS_REMOUNT, ""); err != nil {
		t.Fatal(err)
	}
	if fingerprint(t, dir) != before {
		t.Error("the store changed")
	}
	mustCommit(t, o, small(1))
	checkStore(t, dir)
}

// TestDenied lets a process without privileges publish into a store whose folders
// are, one after another, not its to write in. (Root is refused nothing, so a test
// that runs as root starts it as nobody.)
func TestDenied(t *testing.T) {
	top, err := os.MkdirTemp("", "sill-denied-")
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { unlock(top); os.RemoveAll(top) })
	program := filepath.Join(top, "publisher")
	self, err := os.Executable()
	if err != nil {
		t.Fatal(err)
	}
	raw, err := os.ReadFile(self)
	if err == nil {
		err = errors.Join(os.WriteFile(program, raw, 0o755), os.Chmod(top, 0o755), os.Mkdir(filepath.Join(top, "outputs"), 0o777))
	}
	if err != nil {
		t.Fatal(err)
	}
	const nobody = 65534
	root := os.Getuid() == 0
	if root {
		if err := os.Chown(filepath.Join(top, "outputs"), nobody, nobody); err != nil {
			t.Skip("no changing of owners here:", err)
		}
	}
	dir := filepath.Join(top, "outputs", "harbour")
	run := func(n int) (string, error) {
		c := publisher(t, dir, n, 1)
		c.Path, c.Dir = program, top
		if root {
			c.SysProcAttr = &syscall.SysProcAttr{Credential: &syscall.Credential{Uid: nobody, Gid: nobody}}
		}
		out, err := c.CombinedOutput()
		return string(out), err
	}
	if out, err := run(0); err != nil {
		t.Fatal(out, err)
	}
	denied := 0
	for n, part := range []string{"", thresholds.LogDir, stagingDir, "v1.0.0", "v1.0.0/manifest.json", thresholds.EntryName(1)} {
		mode := os.FileMode(0o555)
		if n >= 3 {
			mode = 0 // what cannot be read cannot be followed
		}
		path := filepath.Join(dir, part)
		info, err := os.Stat(path)
		if err == nil {
			err = os.Chmod(path, mode)
		}
		if err != nil {
			t.Fatal(err)
		}
		out, err := run(1)
		if err == nil || !strings.Contains(out, "permission denied") {
			t.Errorf("%q: %v: %s", part, err, out)
		} else {
			denied++
		}
		if err := os.Chmod(path, info.Mode()); err != nil {
			t.Fatal(err)
		}
		if v := mustOpen(t, dir).Version(); v != "v1.0.0" || len(mustLog(t, dir)) != 1 {
			t.Errorf("%q: opened %s", part, v)
		}
	}
	if out, err := run(1); err != nil || !strings.Contains(out, "v1.1.0") {
		t.Errorf("%v: %s", err, out)
	}
	checkStore(t, dir)
	t.Logf("%d of 6 denied", denied)
}
