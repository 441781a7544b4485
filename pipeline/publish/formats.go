package publish

import (
	"bufio"
	"fmt"
	"io"
	"regexp"
	"slices"
	"strconv"

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
	{"csv", csvFormat, "text/csv", false, func(w io.Writer, t *table, _ *Version) error { return t.csv(w) }},
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
)

// listItem is the form of a list's items: codes, never sentences.
var listItem = regexp.MustCompile(`^[a-z0-9_.:-]+$`)

// writeJSON writes one object: what the file is, its columns, then one row a
// line.
func writeJSON(w io.Writer, t *table, v *Version) error {
	variables := append([]thresholds.Variable{}, v.Variables...)
	head, err := canonicalJSON(resourceDocument{thresholds.SchemaVersion, t.name, t.meaning, variables, t.columns})
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
			if b, err = appendJSON(b, c.Value(row)); err != nil {
				return err
			}
		}
		out.Write(append(b, '}'))
	}
	out.WriteString("\n]}\n")
	return out.Flush() // the writer keeps its first error until here
}

func appendJSON(b []byte, value any) (_ []byte, err error) {
	switch x := value.(type) {
	case nil:
		return append(b, "null"...), nil
	case string:
		return appendText(b, x)
	case []string:
		b = append(b, '[')
		for i, item := range x {
			if i > 0 {
				b = append(b, ',')
			}
			if b, err = appendText(b, item); err != nil {
				return b, err
			}
		}
		return append(b, ']'), nil
	}
	return thresholds.AppendValue(b, value), nil
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
			appendArrow(b.Field(j), c.Value(t.rows.Index(i)))
		}
	}
	record := b.NewRecord()
	defer record.Release()
	return out.Write(record)
}

// appendArrow appends a value to the builder of its column.
func appendArrow(to array.Builder, value any) {
	switch x := value.(type) {
	case nil:
		to.AppendNull()
	case string:
		to.(*array.StringBuilder).Append(x)
	case int64:
		to.(*array.Int64Builder).Append(x)
	case bool:
		to.(*array.BooleanBuilder).Append(x)
	case float64:
		to.(*array.Float64Builder).Append(x)
	case []string:
		list := to.(*array.ListBuilder)
		list.Append(true)
		list.ValueBuilder().(*array.StringBuilder).AppendValues(x, nil)
	}
}
