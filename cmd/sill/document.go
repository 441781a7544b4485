package main

import (
	"encoding/json"
	"io"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"sill/pipeline/render/terminal"
	"sill/pipeline/thresholds"
)

// schemaVersion is the version of the JSON that the commands print. A field
// removed or changed in meaning raises it; a new field does not.
const schemaVersion = 1

// document is the head of every JSON document that a command prints.
type document struct {
	SchemaVersion int    `json:"schema_version"`
	Command       string `json:"command"`
}

func head(command string) document { return document{schemaVersion, command} }

// writeJSON writes v as one indented JSON document.
func writeJSON(w io.Writer, v any) error {
	e := json.NewEncoder(w)
	e.SetIndent("", "  ")
	e.SetEscapeHTML(false)
	return e.Encode(v)
}

// form is how an answer is printed: for people, as JSON, or its rows as CSV.
type form struct{ json, csv bool }

// flags registers --json, and --csv where usage says what it prints.
func (o *form) flags(f *pflag.FlagSet, csv string) {
	f.BoolVar(&o.json, "json", false, "print JSON")
	if csv != "" {
		f.BoolVar(&o.csv, "csv", false, csv)
	}
}

// check refuses both at once.
func (o *form) check(cmd *cobra.Command) error {
	if o.json && o.csv {
		return usagef("%s: choose one of --json and --csv", cmd.Name())
	}
	return nil
}

// print writes the document, its rows or what page writes.
func (o *form) print(t *terminal.Terminal, document any, rows func(io.Writer) error, page func(*terminal.Printer)) error {
	switch {
	case o.json:
		return writeJSON(t.Out, document)
	case o.csv:
		return rows(t.Out)
	}
	p := terminal.NewPrinter(t)
	page(p)
	return p.Close()
}

// csvOf writes rows as CSV.
func csvOf[T any](rows []T) func(io.Writer) error {
	return func(w io.Writer) error { return thresholds.CSV(w, rows) }
}

// jsonError is what a failed command with --json writes to standard error.
type jsonError struct {
	SchemaVersion int    `json:"schema_version"`
	Error         string `json:"error"`
	ExitCode      int    `json:"exit_code"`
}
