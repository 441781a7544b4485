package publish

import (
	"bufio"
	"fmt"
	"io"
	"strconv"
	"strings"

	"sill/pipeline/thresholds"
)

// sqlBatch is the rows of one INSERT.
const sqlBatch = 200

// sqlTypes are names that SQLite and PostgreSQL both take; a list is a text
// with its items parted as in CSV.
var sqlTypes = map[string]string{"text": "TEXT", "integer": "BIGINT", "number": "DOUBLE PRECISION",
	"boolean": "BOOLEAN", "list": "TEXT"}

// writeSQL writes one table, to be loaded unchanged into an empty database of
// SQLite (3.23 or later) or PostgreSQL. Tables of SQL have no order, so the
// column row_order numbers the rows from 1. Units and meanings are comments.
func writeSQL(w io.Writer, t *table, _ *Version) error {
	out := bufio.NewWriterSize(w, 1<<16)
	fmt.Fprintf(out, "-- %s: %s\n-- published by sill, schema %s; ORDER BY row_order gives the order of the other formats\n",
		t.name, t.meaning, thresholds.SchemaVersion)
	fmt.Fprintf(out, "BEGIN;\nCREATE TABLE %s (\n  \"row_order\" BIGINT NOT NULL PRIMARY KEY", quoted(t.name))
	for _, c := range t.columns {
		null := " NOT NULL"
		if c.Nullable {
			null = ""
		}
		note := c.Meaning
		if c.Unit != "" {
			note += " [" + c.Unit + "]"
		}
		fmt.Fprintf(out, ",\n  -- %s\n  %s %s%s", strings.Join(strings.Fields(note), " "), quoted(c.Name), sqlTypes[c.Type], null)
	}
	out.WriteString("\n);\n")
	var b []byte
	for i := range t.len() {
		switch {
		case i%sqlBatch == 0 && i > 0:
			fmt.Fprintf(out, ";\nINSERT INTO %s VALUES\n", quoted(t.name))
		case i == 0:
			fmt.Fprintf(out, "INSERT INTO %s VALUES\n", quoted(t.name))
		default:
			out.WriteString(",\n")
		}
		b = strconv.AppendInt(append(b[:0], '('), int64(i)+1, 10)
		row := t.rows.Index(i)
		for _, c := range t.columns {
			b = appendSQL(append(b, ','), c.Value(row))
		}
		out.Write(append(b, ')'))
	}
	if t.len() > 0 {
		out.WriteString(";\n")
	}
	out.WriteString("COMMIT;\n")
	return out.Flush() // the writer keeps its first error until here
}

// quoted is a name as a delimited identifier.
func quoted(name string) string { return `"` + strings.ReplaceAll(name, `"`, `""`) + `"` }

func appendSQL(b []byte, value any) []byte {
	text := string(thresholds.AppendValue(nil, value))
	switch value.(type) {
	case nil:
		text = "NULL"
	case bool:
		text = strings.ToUpper(text)
	case string, []string:
		text = "'" + strings.ReplaceAll(text, "'", "''") + "'"
	}
	return append(b, text...)
}
