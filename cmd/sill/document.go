package main

import (
	"encoding/json"
	"io"
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

// jsonError is what a failed command with --json writes to standard error.
type jsonError struct {
	SchemaVersion int    `json:"schema_version"`
	Error         string `json:"error"`
	ExitCode      int    `json:"exit_code"`
}
