//go:build unix

package publish

import (
	"bytes"
	"encoding/hex"
	"errors"
	"fmt"
	"math"
	"os"
	"os/exec"
	"os/user"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"syscall"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
)

// database is one that TestSQL loads the tables into.
type database struct {
	name string
	run  func(t *testing.T, args ...string) string // SQL, or a file with "-f"
	cell map[string]string                         // expression that spells a column, by type; %s is its name
}

// bits spells a number as its IEEE 754 bits.
func bits(x float64) string {
	var b [8]byte
	for i, u := 0, math.Float64bits(x); i < 8; i++ {
		b[7-i] = byte(u >> (8 * i))
	}
	return strings.ToUpper(hex.EncodeToString(b[:]))
}

// TestSQL loads every table into SQLite and PostgreSQL, unchanged, and reads it
// back: the same rows, types, nulls and order as the row model. Where either is
// not installed it is skipped by name, unless SILL_SQL says that it must run.
func TestSQL(t *testing.T) {
	t.Run("sqlite", func(t *testing.T) { loadSQL(t, sqlite(t)) })
	t.Run("postgresql", func(t *testing.T) { loadSQL(t, postgresql(t)) })
}

func missing(t *testing.T, program string) {
	t.Helper()
	if os.Getenv("SILL_SQL") != "" {
		t.Fatalf("%s is not installed, and SILL_SQL demands it", program)
	}
	t.Skipf("%s is not installed", program)
}

func loadSQL(t *testing.T, db database) {
	v := wide(450) // more than two INSERTs
	empty := small(0)
	for _, table := range append(v.tables(), newTable("empty", "a table without rows", empty.Tables.Zones[:0])) {
		var b bytes.Buffer
		if err := writeSQL(&b, &table, &v); err != nil {
			t.Fatal(err)
		}
		file := filepath.Join(t.TempDir(), table.name+".sql")
		if err := os.WriteFile(file, b.Bytes(), 0o644); err != nil {
			t.Fatal(err)
		}
		db.run(t, "-f", file)
		var spelled []string
		for _, c := range table.columns {
			spelled = append(spelled, fmt.Sprintf(db.cell[c.Type], quoted(c.Name)))
		}
		got := db.run(t, fmt.Sprintf("SELECT %s FROM %s ORDER BY row_order", strings.Join(spelled, "||'|'||"), quoted(table.name)))
		var want strings.Builder
		for i := range table.len() {
			for j, c := range table.columns {
				if j > 0 {
					want.WriteByte('|')
				}
				want.WriteString(spell(db, plain(c.Field(table.rows.Index(i)))))
			}
			want.WriteByte('\n')
		}
		if d := cmp.Diff(strings.Split(want.String(), "\n"), strings.Split(got, "\n")); d != "" {
			t.Errorf("%s in %s (-rows +database):\n%s", table.name, db.name, d)
		}
	}
}

func spell(db database, x any) string {
	switch x := x.(type) {
	case nil:
		return "null"
	case string:
		if db.name == "SQLite" {
			x = strings.ReplaceAll(x, "\r\n", "\n") // its shell ends lines so
		}
		return "t" + strings.ToUpper(hex.EncodeToString([]byte(x)))
	case []string:
		return "t" + strings.ToUpper(hex.EncodeToString([]byte(strings.Join(x, ";"))))
	case int64:
		return "i" + strconv.FormatInt(x, 10)
	case bool:
		if x {
			return "b1"
		}
		return "b0"
	}
	return "f" + bits(x.(float64)+0) // no negative zero in any text format
}

func sqlite(t *testing.T) database {
	program, err := exec.LookPath("sqlite3")
	if err != nil {
		missing(t, "sqlite3")
	}
	file := filepath.Join(t.TempDir(), "tables.db")
	return database{name: "SQLite",
		run: func(t *testing.T, args ...string) string {
			t.Helper()
			if args[0] == "-f" {
				args = []string{".read '" + args[1] + "'"}
			}
			out, err := exec.Command(program, append([]string{"-batch", "-bail", file}, args...)...).CombinedOutput()
			if err != nil {
				t.Fatalf("%v: %s", err, out)
			}
			return string(out)
		},
		cell: map[string]string{
			"text":    "CASE typeof(%[1]s) WHEN 'text' THEN 't'||hex(%[1]s) END",
			"list":    "CASE typeof(%[1]s) WHEN 'text' THEN 't'||hex(%[1]s) END",
			"integer": "CASE typeof(%[1]s) WHEN 'integer' THEN 'i'||%[1]s END",
			"number":  "CASE typeof(%[1]s) WHEN 'null' THEN 'null' WHEN 'real' THEN 'f'||hex(ieee754_to_blob(%[1]s)) END",
			"boolean": "CASE typeof(%[1]s) WHEN 'integer' THEN 'b'||%[1]s END",
		}}
}

// postgresql starts a server of its own in a temporary folder, as a user
// without rights where the test runs as root, and stops it afterwards.
func postgresql(t *testing.T) database {
	bin := func(program string) string {
		if p, err := exec.LookPath(program); err == nil {
			return p
		}
		found, _ := filepath.Glob("/usr/lib/postgresql/*/bin/" + program)
		if len(found) == 0 {
			missing(t, program)
		}
		return slices.Max(found)
	}
	initdb, server, client := bin("initdb"), bin("postgres"), bin("psql")
	dir, err := os.MkdirTemp("", "sill-sql-") // short: it holds the socket
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { os.RemoveAll(dir) })
	as := &syscall.SysProcAttr{}
	if os.Geteuid() == 0 {
		u, err := user.Lookup("nobody")
		if err != nil {
			t.Skip("no user without rights:", err)
		}
		uid, _ := strconv.Atoi(u.Uid)
		gid, _ := strconv.Atoi(u.Gid)
		as.Credential = &syscall.Credential{Uid: uint32(uid), Gid: uint32(gid)}
		if err := os.Chown(dir, uid, gid); err != nil {
			t.Fatal(err)
		}
	}
	data := filepath.Join(dir, "data")
	start := func(program string, args ...string) (*exec.Cmd, *bytes.Buffer) {
		c, out := exec.Command(program, args...), new(bytes.Buffer)
		c.Dir, c.SysProcAttr, c.Stdout, c.Stderr = dir, as, out, out
		if err := c.Start(); err != nil {
			t.Fatal(err)
		}
		return c, out
	}
	c, out := start(initdb, "-D", data, "-U", "sill", "-A", "trust", "-E", "UTF8", "--locale=C", "--no-sync")
	if err := c.Wait(); err != nil {
		t.Fatalf("initdb: %v: %s", err, out)
	}
	c, out = start(server, "-D", data, "-k", dir, "-c", "listen_addresses=", "-F")
	t.Cleanup(func() {
		c.Process.Signal(os.Interrupt) // "fast shutdown"
		if err := c.Wait(); err != nil {
			t.Errorf("postgres: %v: %s", err, out)
		}
	})
	query := func(args ...string) ([]byte, error) {
		return exec.Command(client, append([]string{"-X", "-q", "-A", "-t", "-v", "ON_ERROR_STOP=1", "-h", dir, "-U", "sill", "-d", "postgres"}, args...)...).CombinedOutput()
	}
	var said []byte
	err = errors.New("never tried")
	for range 300 {
		if said, err = query("-c", "SELECT 1"); err == nil {
			break
		}
		time.Sleep(100 * time.Millisecond)
	}
	if err != nil {
		t.Fatalf("no answer: %v: %s", err, said)
	}
	return database{name: "PostgreSQL",
		run: func(t *testing.T, args ...string) string {
			t.Helper()
			if args[0] != "-f" {
				args = append([]string{"-c"}, args...)
			}
			out, err := query(args...)
			if err != nil {
				t.Fatalf("%v: %s", err, out)
			}
			return string(out)
		},
		cell: map[string]string{
			"text":    "CASE pg_typeof(%[1]s)::text WHEN 'text' THEN 't'||upper(encode(convert_to(%[1]s,'UTF8'),'hex')) END",
			"list":    "CASE pg_typeof(%[1]s)::text WHEN 'text' THEN 't'||upper(encode(convert_to(%[1]s,'UTF8'),'hex')) END",
			"integer": "CASE pg_typeof(%[1]s)::text WHEN 'bigint' THEN 'i'||%[1]s END",
			"number":  "CASE WHEN %[1]s IS NULL THEN 'null' WHEN pg_typeof(%[1]s)::text='double precision' THEN 'f'||upper(encode(float8send(%[1]s),'hex')) END",
			"boolean": "CASE pg_typeof(%[1]s)::text WHEN 'boolean' THEN 'b'||%[1]s::int END",
		}}
}
