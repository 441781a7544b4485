package publish

import (
	"sill/pipeline/thresholds"
)

// statement is an in-toto Statement v1 whose predicate is SLSA provenance v1
// (in-toto.io/Statement/v1, slsa.dev/provenance/v1; field names from memory).
type statement struct {
	Type          string     `json:"_type"`
	Subject       []artifact `json:"subject"`
	PredicateType string     `json:"predicateType"`
	Predicate     provenance `json:"predicate"`
}

type artifact struct {
	Name   string            `json:"name"`
	Digest map[string]string `json:"digest"`
}

type provenance struct {
	BuildDefinition buildDefinition `json:"buildDefinition"`
	RunDetails      runDetails      `json:"runDetails"`
}

type buildDefinition struct {
	BuildType            string             `json:"buildType"`
	ExternalParameters   externalParameters `json:"externalParameters"`
	InternalParameters   internalParameters `json:"internalParameters"`
	ResolvedDependencies []artifact         `json:"resolvedDependencies"`
}

type externalParameters struct {
	Configuration map[string]any `json:"configuration" doc:"settings that are part of the version's identity; paths and workers are not"`
}

type internalParameters struct {
	Algorithm  string `json:"algorithm"`
	Seed       uint64 `json:"seed"`
	Replicates int    `json:"replicates"`
}

type runDetails struct {
	Builder  builder  `json:"builder"`
	Metadata metadata `json:"metadata"`
}

type builder struct {
	ID      string            `json:"id"`
	Version map[string]string `json:"version"`
}

type metadata struct {
	InvocationID string `json:"invocationId" doc:"content id of the version"`
	FinishedOn   string `json:"finishedOn" doc:"RFC 3339, UTC"`
}

// Names of our own, as tag URIs (RFC 4151), which no host has to answer for.
const (
	buildType = "tag:sill,2026:run/v1"
	builderID = "tag:sill,2026:program"
)

func artifactOf(f thresholds.File) artifact {
	return artifact{f.Path, map[string]string{"sha256": f.SHA256}}
}

// provenanceOf states which files came of which inputs and settings. The
// manifest and checksums are no subjects: they name this file.
func provenanceOf(m *thresholds.Manifest, files []thresholds.File) statement {
	s := statement{Type: "https://in-toto.io/Statement/v1", PredicateType: "https://slsa.dev/provenance/v1"}
	for _, f := range files {
		s.Subject = append(s.Subject, artifactOf(f))
	}
	configuration := map[string]any{}
	for _, c := range m.Configuration {
		if !c.Local {
			configuration[c.Key] = c.Value
		}
	}
	inputs := []artifact{}
	for _, in := range m.Inputs {
		inputs = append(inputs, artifactOf(thresholds.File{Path: in.Name, SHA256: in.SHA256}))
	}
	s.Predicate = provenance{
		BuildDefinition: buildDefinition{BuildType: buildType, ExternalParameters: externalParameters{configuration},
			InternalParameters: internalParameters{m.Algorithm, m.Seed, m.Replicates}, ResolvedDependencies: inputs},
		RunDetails: runDetails{
			Builder: builder{builderID, map[string]string{"sill": m.Tool.Version, "commit": m.Tool.Commit, "go": m.Tool.Go,
				"goarch": m.Tool.GOARCH, "goamd64": m.Tool.GOAMD64}},
			Metadata: metadata{m.ContentID, m.Created}},
	}
	return s
}
