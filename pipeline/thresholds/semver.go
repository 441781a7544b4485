package thresholds

import (
	"cmp"
	"fmt"
	"regexp"
	"strconv"
)

// Semver is the number of a published version (Semantic Versioning 2.0.0,
// without pre-releases).
type Semver struct{ Major, Minor, Patch int }

var semverForm = regexp.MustCompile(`^v(0|[1-9][0-9]{0,5})\.(0|[1-9][0-9]{0,5})\.(0|[1-9][0-9]{0,5})$`)

// ParseSemver reads "v1.2.0". It is strict, so that a version's name is always
// a plain folder name.
func ParseSemver(s string) (Semver, error) {
	m := semverForm.FindStringSubmatch(s)
	if m == nil {
		return Semver{}, fmt.Errorf("read version %q: want a name such as v1.2.0", s)
	}
	var n [3]int
	for i := range n {
		n[i], _ = strconv.Atoi(m[i+1]) // the form admits digits only
	}
	return Semver{n[0], n[1], n[2]}, nil
}

// String returns "v1.2.0".
func (v Semver) String() string { return fmt.Sprintf("v%d.%d.%d", v.Major, v.Minor, v.Patch) }

// Compare returns −1, 0 or +1 by precedence.
func (v Semver) Compare(w Semver) int {
	return cmp.Or(cmp.Compare(v.Major, w.Major), cmp.Compare(v.Minor, w.Minor), cmp.Compare(v.Patch, w.Patch))
}
