package publish

import (
	"encoding/json"
	"fmt"
	"slices"

	"sill/pipeline/thresholds"
)

// Bump is a step of a version number.
type Bump int

// The steps.
const (
	Auto Bump = iota // whatever the change needs
	Patch
	Minor
	Major
)

var bumpWords = []string{"auto", "patch", "minor", "major"}

// String returns "auto", "patch", "minor" or "major".
func (b Bump) String() string { return bumpWords[b] }

// ParseBump reads one of the words of String.
func ParseBump(s string) (Bump, error) {
	if i := slices.Index(bumpWords, s); i >= 0 {
		return Bump(i), nil
	}
	return Auto, fmt.Errorf("unknown bump %q: want auto, patch, minor or major", s)
}

// next returns v one step on.
func (b Bump) next(v thresholds.Semver) thresholds.Semver {
	switch b {
	case Major:
		return thresholds.Semver{Major: v.Major + 1}
	case Minor:
		return thresholds.Semver{Major: v.Major, Minor: v.Minor + 1}
	}
	v.Patch++
	return v
}

// needed computes the step from the parent, and why it is no smaller. A reader
// of the parent breaks where a resource, column, variable or word is gone or
// means something else: major. Equal rows are a patch, all else is minor.
func needed(parent *thresholds.Table, p *prepared) (Bump, []string, error) {
	old, err := readDescriptor(parent)
	if err != nil {
		return Auto, nil, err
	}
	if why := breaks(old, p.descriptor); len(why) > 0 {
		return Major, why, nil
	}
	before := parent.Manifest()
	same := slices.Equal(before.Variables, p.m.Variables)
	for _, r := range p.descriptor.Resources {
		if r.Schema != nil {
			same = same && sumOf(p.files, r.Path) == sumOf(before.Outputs, r.Path)
		}
	}
	if same {
		return Patch, []string{"the rows are the parent's"}, nil
	}
	return Minor, []string{"new data or another estimate"}, nil
}

// readDescriptor reads the descriptor of a version.
func readDescriptor(t *thresholds.Table) (descriptor, error) {
	var d descriptor
	raw, err := t.Bytes(thresholds.DescriptorFile)
	if err != nil {
		return d, err
	}
	if err := json.Unmarshal(raw, &d); err != nil {
		return d, fmt.Errorf("read %s of %s: %w", thresholds.DescriptorFile, t.Version(), err)
	}
	return d, nil
}

func sumOf(files []thresholds.File, name string) string {
	i := slices.IndexFunc(files, func(f thresholds.File) bool { return f.Path == name })
	if i < 0 {
		return ""
	}
	return files[i].SHA256
}

// breaks lists what a reader of old would miss in new.
func breaks(old, new descriptor) []string {
	var why []string
	for _, r := range old.Resources {
		if r.Schema == nil {
			continue
		}
		i := slices.IndexFunc(new.Resources, func(n resource) bool { return n.Name == r.Name })
		if i < 0 {
			why = append(why, "resource "+r.Name+" is gone")
			continue
		}
		for _, f := range r.Schema.Fields {
			j := slices.IndexFunc(new.Resources[i].Schema.Fields, func(n field) bool { return n.Name == f.Name })
			column := "column " + r.Name + "." + f.Name
			if j < 0 {
				why = append(why, column+" is gone")
				continue
			}
			n := new.Resources[i].Schema.Fields[j]
			if n.Type != f.Type {
				why = append(why, fmt.Sprintf("%s changed its type from %s to %s", column, f.Type, n.Type))
			}
			if n.Unit != f.Unit {
				why = append(why, fmt.Sprintf("%s changed its unit from %q to %q", column, f.Unit, n.Unit))
			}
			if f.Constraints.Required && !n.Constraints.Required {
				why = append(why, column+" may now be null")
			}
			for _, w := range f.Constraints.Enum {
				if n.Constraints.Enum != nil && !slices.Contains(n.Constraints.Enum, w) {
					why = append(why, fmt.Sprintf("%s no longer knows %q", column, w))
				}
			}
		}
	}
	for _, o := range old.Variables {
		i := slices.IndexFunc(new.Variables, func(n thresholds.Variable) bool { return n.Name == o.Name })
		if i < 0 {
			why = append(why, "variable "+o.Name+" is gone")
			continue
		}
		if n := new.Variables[i]; n.Unit != o.Unit || n.Definition != o.Definition {
			why = append(why, fmt.Sprintf("variable %s changed from %s [%s] to %s [%s]", o.Name, o.Definition, o.Unit, n.Definition, n.Unit))
		}
	}
	return why
}
