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
	Predicate     struct {
		BuildDefinition struct {
			BuildType          string `json:"buildType"`
			ExternalParameters struct {
				Configuration map[string]any `json:"configuration" doc:"settings that are part of the version's identity; paths and workers are not"`
			} `json:"externalParameters"`
			InternalParameters struct {
				Algorithm  string `json:"algorithm"`
				Seed       uint64 `json:"seed"`
				Replicates int    `json:"replicates"`
			} `json:"internalParameters"`
			ResolvedDependencies []artifact `json:"resolvedDependencies"`
		} `json:"buildDefinition"`
		RunDetails struct {
			Builder struct {
				ID      string            `json:"id"`
				Version map[string]string `json:"version"`
			} `json:"builder"`
			Metadata struct {
				InvocationID string `json:"invocationId" doc:"content id of the version"`
				FinishedOn   string `json:"finishedOn" doc:"RFC 3339, UTC"`
			} `json:"metadata"`
		} `json:"runDetails"`
	} `json:"predicate"`
}

type artifact struct {
	Name   string            `json:"name"`
	Digest map[string]string `json:"digest"`
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
	build, run := &s.Predicate.BuildDefinition, &s.Predicate.RunDetails
	build.BuildType = buildType
	build.ExternalParameters.Configuration = map[string]any{}
	for _, c := range m.Configuration {
		if !c.Local {
			build.ExternalParameters.Configuration[c.Key] = c.Value
		}
	}
	build.InternalParameters.Algorithm = m.Algorithm
	build.InternalParameters.Seed = m.Seed
	build.InternalParameters.Replicates = m.Replicates
	build.ResolvedDependencies = []artifact{}
	for _, in := range m.Inputs {
		build.ResolvedDependencies = append(build.ResolvedDependencies, artifactOf(thresholds.File{Path: in.Name, SHA256: in.SHA256}))
	}
	run.Builder.ID = builderID
	run.Builder.Version = map[string]string{"sill": m.Tool.Version, "commit": m.Tool.Commit, "go": m.Tool.Go,
		"goarch": m.Tool.GOARCH, "goamd64": m.Tool.GOAMD64}
	run.Metadata.InvocationID, run.Metadata.FinishedOn = m.ContentID, m.Created
	return s
}
