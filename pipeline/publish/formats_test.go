package publish

import (
	"bytes"
	"encoding/csv"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"math"
	"math/big"
	"reflect"
	"regexp"
	"runtime"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/apache/arrow/go/v17/arrow"
	"github.com/apache/arrow/go/v17/arrow/array"
	"github.com/apache/arrow/go/v17/arrow/ipc"
	"github.com/google/go-cmp/cmp"
	"github.com/parquet-go/parquet-go"

	"sill/pipeline/thresholds"
)

// sheet is what a reader of any format sees: names and rows of nil, string,
// int64, float64, bool or []string.
type sheet struct {
	Names    []string
	Units    map[string]string
	Meanings map[string]string
	Rows     [][]any
}

// readers reads each format back with a library that is not the writer's own
// code path. A format without a reader here fails the suite.
var readers = map[string]func(b []byte, t table) (sheet, error){
	"csv": readCSV, "json": readJSON, "parquet": readParquet, "arrow": readArrow, "sql": readSQL,
}

// TestFormatsAgree reads every resource in every format: same names, rows,
// types, nulls, units and order.
func TestFormatsAgree(t *testing.T) {
	empty := small(0)
	empty.Tables, empty.Quarantine = &thresholds.Tables{}, nil
	versions := map[string]Version{"none": empty, "one": wide(1), "many": wide(300)}
	for name, v := range versions {
		for _, table := range append(v.tables(), v.quarantine()) {
			if err := table.check(); err != nil {
				t.Fatal(err)
			}
			conform(t, name, &v, table)
		}
	}
}

// TestFormatsAgreeOverGroups does the same past the end of a row group.
func TestFormatsAgreeOverGroups(t *testing.T) {
	if testing.Short() {
		t.Skip("long: more than one row group")
	}
	v := small(0)
	v.Tables = &thresholds.Tables{}
	v.Quarantine = wide(rowGroup/100 + 3).Quarantine
	for len(v.Quarantine) <= rowGroup {
		v.Quarantine = append(v.Quarantine, v.Quarantine...)
	}
	conform(t, "groups", &v, v.quarantine())
}

func conform(t *testing.T, name string, v *Version, table table) {
	t.Helper()
	want := sheet{Units: map[string]string{}, Meanings: map[string]string{}}
	for _, c := range table.columns {
		want.Names = append(want.Names, c.Name)
		want.Units[c.Name], want.Meanings[c.Name] = c.Unit, c.Meaning
	}
	for i := range table.len() {
		var row []any
		for _, c := range table.columns {
			row = append(row, plain(c.Field(table.rows.Index(i))))
		}
		want.Rows = append(want.Rows, row)
	}
	for _, f := range Formats {
		var b bytes.Buffer
		if err := f.write(&b, &table, v); err != nil {
			t.Fatalf("%s: %s.%s: %v", name, table.name, f.Extension, err)
		}
		got, err := readers[f.Name](b.Bytes(), table)
		if err != nil {
			t.Fatalf("%s: read %s.%s: %v", name, table.name, f.Extension, err)
		}
		if f.Name == "csv" {
			got.Units, got.Meanings = want.Units, want.Meanings // no place for them: datapackage.json holds them
		}
		if reflect.DeepEqual(want, got) {
			continue // Diff takes minutes over equal rows by the ten thousand
		}
		if d := cmp.Diff(want, got); d != "" {
			t.Fatalf("%s: %s.%s (-rows +file):\n%s", name, table.name, f.Extension, d)
		}
	}
}

// plain turns a row's field into what readers return.
func plain(v reflect.Value) any {
	switch x := v.Interface().(type) {
	case *float64:
		if x == nil {
			return nil
		}
		return *x
	case []string:
		return append([]string{}, x...)
	default:
		return x
	}
}

func readCSV(b []byte, t table) (sheet, error) {
	// every line ends in CRLF (RFC 4180); Go's reader would forgive others
	if bytes.Count(b, []byte("\n")) != bytes.Count(b, []byte("\r\n")) {
		return sheet{}, errors.New("a line ends without CR")
	}
	// Go's reader turns CRLF inside quotes into LF; keep it apart
	records, err := csv.NewReader(bytes.NewReader(b)).ReadAll()
	if err != nil {
		return sheet{}, err
	}
	s := sheet{Names: records[0]}
	for _, record := range records[1:] {
		var row []any
		for j, text := range record {
			x, err := parseCell(t.columns[j], text)
			if err != nil {
				return s, err
			}
			row = append(row, x)
		}
		s.Rows = append(s.Rows, row)
	}
	return s, nil
}

func parseCell(c thresholds.Column, text string) (any, error) {
	switch c.Type {
	case "integer":
		return strconv.ParseInt(text, 10, 64)
	case "boolean":
		return strconv.ParseBool(text)
	case "number":
		if text == "" && c.Nullable {
			return nil, nil
		}
		return strconv.ParseFloat(text, 64)
	case "list":
		if text == "" {
			return []string{}, nil
		}
		return strings.Split(text, ";"), nil
	}
	return strings.ReplaceAll(text, "two\nlines", "two\r\nlines"), nil
}

func readJSON(b []byte, t table) (sheet, error) {
	var doc struct {
		SchemaVersion string              `json:"schema_version"`
		Resource      string              `json:"resource"`
		Columns       []thresholds.Column `json:"columns"`
		Rows          []json.RawMessage   `json:"rows"`
	}
	if err := json.Unmarshal(b, &doc); err != nil {
		return sheet{}, err
	}
	if doc.Resource != t.name || doc.SchemaVersion != thresholds.SchemaVersion {
		return sheet{}, errors.New("header is of " + doc.Resource + " " + doc.SchemaVersion)
	}
	s := sheet{Units: map[string]string{}, Meanings: map[string]string{}}
	for _, c := range doc.Columns {
		s.Names = append(s.Names, c.Name)
		s.Units[c.Name], s.Meanings[c.Name] = c.Unit, c.Meaning
	}
	for _, raw := range doc.Rows {
		var cells map[string]json.RawMessage
		if err := json.Unmarshal(raw, &cells); err != nil {
			return s, err
		}
		if len(cells) != len(doc.Columns) {
			return s, errors.New("a row has more or fewer cells than columns")
		}
		var row []any
		for _, c := range doc.Columns {
			var err error
			var x any
			switch c.Type {
			case "integer":
				var n int64
				err = json.Unmarshal(cells[c.Name], &n)
				x = n
			case "list":
				var l []string
				err = json.Unmarshal(cells[c.Name], &l)
				x = l
			default:
				err = json.Unmarshal(cells[c.Name], &x)
			}
			if err != nil {
				return s, err
			}
			row = append(row, x)
		}
		s.Rows = append(s.Rows, row)
	}
	return s, nil
}

func readParquet(b []byte, _ table) (sheet, error) {
	f, err := parquet.OpenFile(bytes.NewReader(b), int64(len(b)))
	if err != nil {
		return sheet{}, err
	}
	s := sheet{Units: map[string]string{}, Meanings: map[string]string{}}
	raw, _ := f.Lookup("sill.columns")
	var columns []thresholds.Column
	if err := json.Unmarshal([]byte(raw), &columns); err != nil {
		return s, err
	}
	for _, c := range columns {
		s.Units[c.Name], s.Meanings[c.Name] = c.Unit, c.Meaning
	}
	list := map[int]bool{}
	for i, path := range f.Schema().Columns() {
		s.Names = append(s.Names, path[0])
		list[i] = len(path) > 1
		leaf, _ := f.Schema().Lookup(path...)
		if optional := leaf.Node.Optional(); optional != columns[i].Nullable {
			return s, errors.New(path[0] + " is optional where it should not be, or the reverse")
		}
	}
	for _, group := range f.RowGroups() {
		if group.NumRows() > rowGroup {
			return s, errors.New("row group too large")
		}
		rows := group.Rows()
		defer rows.Close()
		buffer := make([]parquet.Row, 64)
		for {
			n, err := rows.ReadRows(buffer)
			for _, r := range buffer[:n] {
				row := make([]any, len(s.Names))
				for _, v := range r {
					j := v.Column()
					switch {
					case list[j]:
						l, _ := row[j].([]string)
						if l = append([]string{}, l...); !v.IsNull() {
							l = append(l, v.String())
						}
						row[j] = l
					case v.IsNull():
					case v.Kind() == parquet.Double:
						row[j] = v.Double()
					case v.Kind() == parquet.Int64:
						row[j] = v.Int64()
					case v.Kind() == parquet.Boolean:
						row[j] = v.Boolean()
					case v.Kind() == parquet.ByteArray:
						row[j] = string(v.ByteArray())
					}
				}
				s.Rows = append(s.Rows, row)
			}
			if err == io.EOF {
				break
			}
			if err != nil {
				return s, err
			}
		}
	}
	return s, nil
}

func readArrow(b []byte, t table) (sheet, error) {
	r, err := ipc.NewFileReader(bytes.NewReader(b))
	if err != nil {
		return sheet{}, err
	}
	defer r.Close()
	s := sheet{Units: map[string]string{}, Meanings: map[string]string{}}
	for j, f := range r.Schema().Fields() {
		if f.Nullable != t.columns[j].Nullable {
			return s, errors.New(f.Name + " is nullable where it should not be, or the reverse")
		}
		s.Names = append(s.Names, f.Name)
		s.Units[f.Name], _ = f.Metadata.GetValue("unit")
		s.Meanings[f.Name], _ = f.Metadata.GetValue("meaning")
	}
	for i := range r.NumRecords() {
		record, err := r.Record(i)
		if err != nil {
			return s, err
		}
		start := len(s.Rows)
		for range record.NumRows() {
			s.Rows = append(s.Rows, make([]any, record.NumCols()))
		}
		for j, column := range record.Columns() {
			for k := range column.Len() {
				if column.IsNull(k) {
					continue
				}
				s.Rows[start+k][j] = arrowCell(column, k)
			}
		}
	}
	return s, nil
}

func arrowCell(column arrow.Array, k int) any {
	switch c := column.(type) {
	case *array.String:
		return strings.Clone(c.Value(k))
	case *array.Int64:
		return c.Value(k)
	case *array.Float64:
		return c.Value(k)
	case *array.Boolean:
		return c.Value(k)
	case *array.List:
		out := []string{}
		from, to := c.ValueOffsets(k)
		for i := from; i < to; i++ {
			out = append(out, strings.Clone(c.ListValues().(*array.String).Value(int(i))))
		}
		return out
	}
	return "no such type"
}

// sqlColumn is a column of a CREATE TABLE with the comment above it.
var sqlColumn = regexp.MustCompile(`(?m)^  -- (.*?)(?: \[([^]]*)\])?\n  "([a-z0-9_]+)" ([A-Z ]+?)( NOT NULL)?,?$`)

// sqlTokens parts the rows of an INSERT into values and the ends of rows.
func sqlTokens(s string, yield func(token string) error) error {
	for s != "" {
		n := strings.IndexAny(s, "(),;\n'")
		switch {
		case n < 0:
			return fmt.Errorf("strange end %q", s)
		case s[0] == '\'':
			for n = 1; ; n += 2 {
				end := strings.IndexByte(s[n:], '\'')
				if end < 0 {
					return errors.New("a text without an end")
				}
				if n += end; !strings.HasPrefix(s[n:], "''") {
					n++
					break
				}
			}
		case n == 0:
			n = 1
			if s[0] != ')' {
				s = s[1:]
				continue
			}
		}
		if err := yield(s[:n]); err != nil {
			return err
		}
		s = s[n:]
	}
	return nil
}

// readSQL reads what writeSQL writes and nothing else; TestSQL loads it into
// real databases.
func readSQL(b []byte, t table) (sheet, error) {
	s := sheet{Units: map[string]string{}, Meanings: map[string]string{}}
	text := string(b)
	head, rest, ok := strings.Cut(text, "\n);\n")
	if !ok || !strings.HasSuffix(rest, "COMMIT;\n") || !strings.Contains(head, "BEGIN;\nCREATE TABLE \""+t.name+"\" (") {
		return s, errors.New("no table, or no transaction around it")
	}
	types := map[string]string{"text": "TEXT", "list": "TEXT", "integer": "BIGINT", "number": "DOUBLE PRECISION", "boolean": "BOOLEAN"}
	for j, m := range sqlColumn.FindAllStringSubmatch(head, -1) {
		s.Names = append(s.Names, m[3])
		s.Meanings[m[3]], s.Units[m[3]] = m[1], m[2]
		if c := t.columns[j]; types[c.Type] != m[4] || c.Nullable != (m[5] == "") {
			return s, fmt.Errorf("column %s is %s%s", m[3], m[4], m[5])
		}
	}
	rest = strings.TrimSuffix(rest, "COMMIT;\n")
	rest = strings.ReplaceAll(rest, "INSERT INTO \""+t.name+"\" VALUES\n", "")
	var row []any
	err := sqlTokens(rest, func(token string) error {
		var c thresholds.Column
		switch j := len(row) - 1; {
		case token == ")":
			if row[0] != int64(len(s.Rows)+1) {
				return fmt.Errorf("row %d is numbered %v", len(s.Rows)+1, row[0])
			}
			s.Rows, row = append(s.Rows, row[1:]), nil
			return nil
		case j < 0:
			c.Type = "integer" // row_order
		default:
			c = t.columns[j]
		}
		if inner, ok := strings.CutPrefix(token, "'"); ok {
			token = strings.ReplaceAll(strings.TrimSuffix(inner, "'"), "''", "'")
		} else if token == "NULL" {
			token = ""
		}
		x, err := parseCell(c, token)
		row = append(row, x)
		return err
	})
	return s, err
}

// TestSameBytes publishes the same content under another clock, folder and
// number of workers: only the files that may hold a clock differ.
func TestSameBytes(t *testing.T) {
	v := wide(200)
	first, second := newStore(t), newStore(t)
	a := mustCommit(t, optionsFor(first), v)
	old := runtime.GOMAXPROCS(1)
	defer runtime.GOMAXPROCS(old)
	o := optionsFor(second)
	o.Created, o.Host = time.Date(2040, 1, 1, 0, 0, 0, 0, time.FixedZone("east", 3600)), "elsewhere"
	b := mustCommit(t, o, wide(200))
	if a.ContentID != b.ContentID {
		t.Error("content ids differ")
	}
	got, want := differing(contents(t, a.Dir), contents(t, b.Dir)), []string{"SHA256SUMS", "manifest.json", "provenance.intoto.json"}
	if !slices.Equal(got, want) {
		t.Errorf("files that differ: %v, want %v", got, want)
	}
}

// TestDecimals: the texts of CSV, JSON and SQL hold no more decimals than the
// column states, which the descriptor and the file's own metadata tell too.
// (TestFormatsAgree holds all formats to the same numbers.)
func TestDecimals(t *testing.T) {
	v := wide(300)
	longest := map[string]bool{} // formats in which a number uses all that is stated
	for _, table := range v.tables() {
		fields := map[string]field{}
		for _, f := range schemaOf(table).Fields {
			fields[f.Name] = f
		}
		arrows := arrowSchema(&table)
		decimals := func(format, column, text string) {
			c := table.columns[slices.IndexFunc(table.columns, func(c thresholds.Column) bool { return c.Name == column })]
			if c.Type != "number" || text == "" || text == "null" || text == "NULL" {
				return
			}
			if c.Decimals == 0 || fields[column].Decimals != c.Decimals || fields[column].RoundedUp != c.RoundedUp {
				t.Fatalf("%s.%s states %d decimals, its descriptor %d", table.name, column, c.Decimals, fields[column].Decimals)
			}
			if at := arrows.FieldIndices(column); len(at) != 1 {
				t.Fatalf("%s: no arrow field %s", table.name, column)
			} else if n, _ := arrows.Field(at[0]).Metadata.GetValue("decimals"); n != strconv.Itoa(c.Decimals) {
				t.Fatalf("%s.%s states %d decimals, its arrow field %q", table.name, column, c.Decimals, n)
			}
			exact, ok := new(big.Rat).SetString(text)
			if !ok {
				t.Fatalf("%s: %s.%s holds %q", format, table.name, column, text)
			}
			exact.Mul(exact, new(big.Rat).SetInt64(int64(math.Pow10(c.Decimals))))
			if !exact.IsInt() {
				t.Fatalf("%s: %s.%s holds %s, more than %d decimals", format, table.name, column, text, c.Decimals)
			}
			longest[format] = longest[format] || !new(big.Rat).Quo(exact, big.NewRat(10, 1)).IsInt()
		}
		write := func(format string) []byte {
			var b bytes.Buffer
			at := slices.IndexFunc(Formats, func(f Format) bool { return f.Name == format })
			if err := Formats[at].write(&b, &table, &v); err != nil {
				t.Fatal(err)
			}
			return b.Bytes()
		}
		records, err := csv.NewReader(bytes.NewReader(write("csv"))).ReadAll()
		if err != nil {
			t.Fatal(err)
		}
		for _, r := range records[1:] {
			for j, text := range r {
				decimals("csv", records[0][j], text)
			}
		}
		var doc struct{ Rows []map[string]json.RawMessage }
		if err := json.Unmarshal(write("json"), &doc); err != nil {
			t.Fatal(err)
		}
		for _, r := range doc.Rows {
			for column, text := range r {
				decimals("json", column, string(text))
			}
		}
		_, inserts, _ := strings.Cut(string(write("sql")), "\n);\n")
		j := -1 // behind row_order
		err = sqlTokens(strings.ReplaceAll(strings.TrimSuffix(inserts, "COMMIT;\n"), "INSERT INTO \""+table.name+"\" VALUES\n", ""), func(token string) error {
			switch {
			case token == ")":
				j = -2
			case j >= 0:
				decimals("sql", table.columns[j].Name, token)
			}
			j++
			return nil
		})
		if err != nil {
			t.Fatal(err)
		}
	}
	if !longest["csv"] || !longest["json"] || !longest["sql"] {
		t.Errorf("no number uses all its decimals: %v", longest)
	}
}

// TestRefusedRows: what some format could not hold is refused before anything
// is written.
func TestRefusedRows(t *testing.T) {
	for want, spoil := range map[string]func(*Version){
		"rate: NaN is not a finite number": func(v *Version) { v.Tables.Verdicts[1].Rate = math.NaN() },
		"0.123456 is not rounded to 5":     func(v *Version) { v.Tables.Verdicts[1].Rate = .123456 },
		"1e-07 is not rounded to 6":        func(v *Version) { v.Tables.Verdicts[1].Q = ref(1e-7) },
		"line: +Inf is not":                func(v *Version) { v.Tables.Verdicts[0].Line = ref(math.Inf(1)) },
		`hand: "lefty" is not one of`:      func(v *Version) { v.Tables.Zones[0].Hand = "lefty" },
		"note: \"\\xff\" is not UTF-8":     func(v *Version) { v.Tables.Contrasts[0].Note = "\xff" },
		"is no plain code":                 func(v *Version) { v.Tables.Bins[0].Warnings = []string{"a;b"} },
		`file "../x": not a plain name`:    func(v *Version) { v.Files = map[string][]byte{"../x": nil} },
		`file "bins.csv"`:                  func(v *Version) { v.Files = map[string][]byte{"bins.csv": nil} },
		"holds a zero byte":                func(v *Version) { v.Tables.Contrasts[0].Note = "a\x00" },
		"unknown optional format":          func(v *Version) { v.Formats = []string{"csv"} },
		"without a name or definition":     func(v *Version) { v.Variables[0].Definition = "" },
		"no tables given":                  func(v *Version) { v.Tables = nil },
		"encode: json: unsupported value":  func(v *Version) { v.Quality = math.NaN() },
	} {
		v, dir := small(0), newStore(t)
		spoil(&v)
		_, err := Commit(t.Context(), optionsFor(dir), v)
		if err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("error %v, want one with %q", err, want)
		}
		if _, err := thresholds.Open(dir); err == nil {
			t.Errorf("%s: something was published", want)
		}
	}
}
