package publish

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"slices"
	"strings"

	"sill/pipeline/thresholds"
)

// ContentID names what a version holds before it is computed: the sha256 of
// the canonical configuration (settings by key, local ones left out, with the
// seed and replicates), the sorted hashes of the inputs and the version of the
// algorithm. Paths, workers and the output folder have no part in it.
func ContentID(v Version) (string, error) {
	configuration, err := canonicalConfiguration(v)
	if err != nil {
		return "", err
	}
	hashes := make([]string, len(v.Inputs))
	for i, in := range v.Inputs {
		hashes[i] = in.SHA256
	}
	slices.Sort(hashes)
	b, err := canonicalJSON(struct {
		Algorithm     string          `json:"algorithm"`
		Configuration json.RawMessage `json:"configuration"`
		Inputs        []string        `json:"inputs"`
	}{v.Algorithm, configuration, hashes})
	if err != nil {
		return "", err
	}
	return hashOf(b), nil
}

func canonicalConfiguration(v Version) ([]byte, error) {
	type setting struct {
		Key   string `json:"key"`
		Value any    `json:"value"`
	}
	doc := struct {
		Replicates int       `json:"replicates"`
		Seed       uint64    `json:"seed"`
		Settings   []setting `json:"settings"`
	}{v.Replicates, v.Seed, nil}
	for _, s := range v.Configuration {
		if !s.Local {
			doc.Settings = append(doc.Settings, setting{s.Key, s.Value})
		}
	}
	slices.SortStableFunc(doc.Settings, func(a, b setting) int { return strings.Compare(a.Key, b.Key) })
	return canonicalJSON(doc)
}

// canonicalJSON encodes without white space, with map keys sorted, numbers in
// their shortest form and no escaping beyond what JSON needs. NaN is an error.
func canonicalJSON(v any) ([]byte, error) {
	var b bytes.Buffer
	e := json.NewEncoder(&b)
	e.SetEscapeHTML(false)
	if err := e.Encode(v); err != nil {
		return nil, fmt.Errorf("encode: %w", err)
	}
	return bytes.TrimSuffix(b.Bytes(), []byte("\n")), nil
}

// readableJSON is canonicalJSON, indented.
func readableJSON(v any) ([]byte, error) {
	b, err := canonicalJSON(v)
	if err != nil {
		return nil, err
	}
	var out bytes.Buffer
	if err := json.Indent(&out, b, "", "  "); err != nil {
		return nil, fmt.Errorf("encode: %w", err)
	}
	out.WriteByte('\n')
	return out.Bytes(), nil
}

func hashOf(b []byte) string {
	h := sha256.Sum256(b)
	return hex.EncodeToString(h[:])
}

// sums renders SHA256SUMS, as sha256sum reads it.
func sums(files []thresholds.File) []byte {
	var b bytes.Buffer
	for _, f := range files {
		fmt.Fprintf(&b, "%s  %s\n", f.SHA256, f.Path)
	}
	return b.Bytes()
}
