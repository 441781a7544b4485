package publish

import (
	"bufio"
	"encoding/csv"
	"fmt"
	"io"
	"reflect"
	"regexp"
	"slices"
	"strconv"
	"strings"

	"github.com/apache/arrow/go/v17/arrow"
	"github.com/apache/arrow/go/v17/arrow/array"
	"github.com/apache/arrow/go/v17/arrow/ipc"
	"github.com/apache/arrow/go/v17/arrow/memory"
	"github.com/parquet-go/parquet-go"

	"sill/pipeline/thresholds"
)

// Format is one way to write a resource.
type Format struct {
	Name      string
	Extension string
	MediaType string
	Optional  bool // written only where Version.Formats names it
	write     func(w io.Writer, t *table, v *Version) error
}

// Formats lists every format; a further one is one entry and its writer.
var Formats = []Format{
	{"csv", csvFormat, "text/csv", false, writeCSV},
	{"json", "json", "application/json", false, writeJSON},
	{"parquet", "parquet", "application/vnd.apache.parquet", false, writeParquet},
	{"arrow", "arrow", "application/vnd.apache.arrow.file", false, writeArrow},
	{"sql", "sql", "application/sql", true, writeSQL},
}

// formats lists what a version is written in.
func (v *Version) formats() []Format {
	return slices.DeleteFunc(slices.Clone(Formats), func(f Format) bool { return f.Optional && !slices.Contains(v.Formats, f.Name) })
}

// OptionalFormats lists the names that Version.Formats may hold.
func OptionalFormats() []string {
	var names []string
	for _, f := range Formats {
		if f.Optional {
			names = append(names, f.Name)
		}
	}
	return names
}

const (
	csvFormat = "csv"
	// rowGroup is the rows of a Parquet row group and of an Arrow record batch.
	rowGroup = 1 << 16
	// listSeparator parts the items of a list in CSV.
	listSeparator = ";"
)

// listItem is the form of a list's items: codes, never sentences.
var listItem = regexp.MustCompile(`^[a-z0-9_.:-]+$`)

// appendNumber writes a finite number in its shortest form, the way JSON of
// ECMAScript does, so that CSV and JSON agree byte for byte.
func appendNumber(b []byte, x float64) []byte {
	if x == 0 {
		return append(b, '0') // no negative zero
	}
	if a := max(x, -x); a < 1e-6 || a >= 1e21 {
		return strconv.AppendFloat(b, x, 'e', -1, 64)
	}
	return strconv.AppendFloat(b, x, 'f', -1, 64)
}

// writeCSV writes RFC 4180: a header, CRLF line ends. A null number is an
// empty field; a text is never null, so an empty text is an empty field too.
func writeCSV(w io.Writer, t *table, _ *Version) error {
	out := csv.NewWriter(w)
	out.UseCRLF = true
	record := make([]string, len(t.columns))
	for j, c := range t.columns {
		record[j] = c.Name
	}
	if err := out.Write(record); err != nil {
		return err
	}
	var b []byte
	for i := range t.len() {
		row := t.rows.Index(i)
		for j, c := range t.columns {
			v := c.Field(row)
			switch c.Type {
			case "text":
				record[j] = v.String()
			case "integer":
				record[j] = strconv.FormatInt(v.Int(), 10)
			case "boolean":
				record[j] = strconv.FormatBool(v.Bool())
			case "list":
				record[j] = strings.Join(texts(v), listSeparator)
			case "number":
				b = b[:0]
				if x, ok := number(v); ok {
					b = appendNumber(b, x)
				}
				record[j] = string(b)
			}
		}
		if err := out.Write(record); err != nil {
			return err
		}
	}
	out.Flush()
	return out.Error()
}

func texts(v reflect.Value) []string {
	out := make([]string, v.Len())
	for i := range out {
		out[i] = v.Index(i).String()
	}
	return out
}

// writeJSON writes one object: what the file is, its columns, then one row a
// line.
func writeJSON(w io.Writer, t *table, v *Version) error {
	head, err := canonicalJSON(resourceDocument{thresholds.SchemaVersion, t.name, t.meaning, append([]thresholds.Variable{}, v.Variables...), t.columns})
	if err != nil {
		return err
	}
	out := bufio.NewWriterSize(w, 1<<16)
	names := make([]string, len(t.columns))
	for j, c := range t.columns {
		names[j] = `"` + c.Name + `":`
	}
	out.Write(head[:len(head)-1])
	out.WriteString(",\"rows\":[")
	var b []byte
	for i := range t.len() {
		row := t.rows.Index(i)
		b = append(b[:0], ",\n{"...)
		if i == 0 {
			b = append(b[:0], "\n{"...)
		}
		for j, c := range t.columns {
			if j > 0 {
				b = append(b, ',')
			}
			b = append(b, names[j]...)
			if b, err = appendCell(b, c, c.Field(row)); err != nil {
				return err
			}
		}
		out.Write(append(b, '}'))
	}
	out.WriteString("\n]}\n")
	return out.Flush() // the writer keeps its first error until here
}

func appendCell(b []byte, c thresholds.Column, v reflect.Value) ([]byte, error) {
	switch c.Type {
	case "integer":
		return strconv.AppendInt(b, v.Int(), 10), nil
	case "boolean":
		return strconv.AppendBool(b, v.Bool()), nil
	case "number":
		if x, ok := number(v); ok {
			return appendNumber(b, x), nil
		}
		return append(b, "null"...), nil
	case "text":
		return appendText(b, v.String())
	}
	b = append(b, '[')
	for i := range v.Len() {
		if i > 0 {
			b = append(b, ',')
		}
		var err error
		if b, err = appendText(b, v.Index(i).String()); err != nil {
			return b, err
		}
	}
	return append(b, ']'), nil
}

// appendText quotes a text; plain words, nearly all of them, skip the encoder.
func appendText(b []byte, s string) ([]byte, error) {
	for i := range len(s) {
		if c := s[i]; c < 0x20 || c >= 0x7f || c == '"' || c == '\\' {
			q, err := canonicalJSON(s)
			return append(b, q...), err
		}
	}
	b = append(b, '"')
	b = append(b, s...)
	return append(b, '"'), nil
}

// writeParquet writes zstd pages in row groups of fixed size; the columns'
// units and meanings stand in the file's metadata under "sill.columns".
func writeParquet(w io.Writer, t *table, _ *Version) error {
	columns, err := canonicalJSON(t.columns)
	if err != nil {
		return err
	}
	return t.parquet(w,
		parquet.Compression(&parquet.Zstd),
		parquet.MaxRowsPerRowGroup(rowGroup),
		parquet.CreatedBy("sill", thresholds.SchemaVersion+".0", "tables"),
		parquet.KeyValueMetadata("sill.schema_version", thresholds.SchemaVersion),
		parquet.KeyValueMetadata("sill.resource", t.name),
		parquet.KeyValueMetadata("sill.columns", string(columns)),
	)
}

// arrowSchema carries unit, meaning and decimals as metadata of each field.
func arrowSchema(t *table) *arrow.Schema {
	types := map[string]arrow.DataType{
		"text": arrow.BinaryTypes.String, "integer": arrow.PrimitiveTypes.Int64,
		"number": arrow.PrimitiveTypes.Float64, "boolean": arrow.FixedWidthTypes.Boolean,
		"list": arrow.ListOfField(arrow.Field{Name: "element", Type: arrow.BinaryTypes.String}),
	}
	fields := make([]arrow.Field, len(t.columns))
	for j, c := range t.columns {
		keys, values := []string{"unit", "meaning"}, []string{c.Unit, c.Meaning}
		if c.Decimals > 0 {
			keys, values = append(keys, "decimals"), append(values, strconv.Itoa(c.Decimals))
		}
		fields[j] = arrow.Field{Name: c.Name, Type: types[c.Type], Nullable: c.Nullable, Metadata: arrow.NewMetadata(keys, values)}
	}
	meta := arrow.NewMetadata([]string{"sill.schema_version", "sill.resource"}, []string{thresholds.SchemaVersion, t.name})
	return arrow.NewSchema(fields, &meta)
}

// writeArrow writes an uncompressed Arrow IPC file.
func writeArrow(w io.Writer, t *table, _ *Version) error {
	schema := arrowSchema(t)
	out, err := ipc.NewFileWriter(&offset{Writer: w}, ipc.WithSchema(schema))
	if err != nil {
		return err
	}
	for start := 0; start < t.len(); start += rowGroup {
		if err := writeBatch(out, schema, t, start, min(start+rowGroup, t.len())); err != nil {
			return err
		}
	}
	return out.Close()
}

// offset is a writer that knows its offset, all that arrow asks of Seek.
type offset struct {
	io.Writer
	n int64
}

func (o *offset) Write(b []byte) (int, error) {
	n, err := o.Writer.Write(b)
	o.n += int64(n)
	return n, err
}

func (o *offset) Seek(by int64, whence int) (int64, error) {
	if by != 0 || whence != io.SeekCurrent {
		return 0, fmt.Errorf("seek: not supported")
	}
	return o.n, nil
}

func writeBatch(out *ipc.FileWriter, schema *arrow.Schema, t *table, start, end int) error {
	b := array.NewRecordBuilder(memory.NewGoAllocator(), schema)
	defer b.Release()
	b.Reserve(end - start)
	for j, c := range t.columns {
		for i := start; i < end; i++ {
			v := c.Field(t.rows.Index(i))
			switch f := b.Field(j).(type) {
			case *array.StringBuilder:
				f.Append(v.String())
			case *array.Int64Builder:
				f.Append(v.Int())
			case *array.BooleanBuilder:
				f.Append(v.Bool())
			case *array.Float64Builder:
				if x, ok := number(v); ok {
					f.Append(x)
				} else {
					f.AppendNull()
				}
			case *array.ListBuilder:
				f.Append(true)
				for _, s := range texts(v) {
					f.ValueBuilder().(*array.StringBuilder).Append(s)
				}
			default:
				return fmt.Errorf("no arrow builder for column %s", c.Name)
			}
		}
	}
	record := b.NewRecord()
	defer record.Release()
	return out.Write(record)
}
