// Package shape turns a pitch into the shape variables that thresholds are
// sought in: velocity, breaks, approach angles, release and location.
//
// Every variable has one source in a run, the provider's column or the
// trajectory, never one or the other row by row (Resolver). Values are rounded
// once to whole quanta and binned as integers (Variable.Quantize, Bin), so that
// a value stored in another unit or as a 32-bit number lands in its own bin.
//
// It knows geometry and units, and nothing of outcomes or of statistics.
package shape

import (
	"errors"
	"fmt"
	"maps"
	"math"
	"slices"
	"strings"

	"sill/pipeline/pitch"
)

// Variable is one quality of a pitch that thresholds are sought in.
type Variable struct {
	Name       string
	Title      string  // for people: "induced vertical break"
	Short      string  // in a column of nine characters
	Rank       Rank    // where it stands for people
	Unit       string  // "mph", "in", "deg", "ft", "rpm", "" for a share
	Width      float64 // bin width in Unit, a multiple of Quantum
	Quantum    float64 // values are rounded once to whole quanta; 1/Quantum is a whole number
	Decimals   int     // digits shown to people
	Definition string  // what exactly is measured, such as "velocity/release/mph"
	// Value returns the quality of p in Unit, NaN where it is unknown. It
	// reads only what Resolver.Complete has completed.
	Value func(p *pitch.Pitch) float64

	from *provenance // nil: the provider's column, if it has one
}

// Rank is where a variable stands in what people see.
type Rank uint8

// The ranks, in their order.
const (
	Main     Rank = iota // what a pitcher is told of first
	Further              // how the pitch came about
	Location             // where it went, which is no quality of a pitch
)

// RankOf is the rank of a variable by name; one that is not known is Further.
func RankOf(name string) Rank {
	for i := range Variables {
		if Variables[i].Name == name {
			return Variables[i].Rank
		}
	}
	return Further
}

// fine is the quantum of most variables; it is far below any provider's step
// and above the error of a 32-bit number in any unit.
const fine = 1e-4

// Variables lists every variable in its order in every table, with default bin
// widths. The widths of extension and of the release point are multiples of
// the tenth of a foot in which some sources round them: other widths would
// make a comb.
var Variables = []Variable{
	{"velocity", "velocity", "velocity", Main, "mph", 1, fine, 1, "velocity/release/mph", number(pitch.Velocity), velocity},
	{"induced_vertical_break", "induced vertical break", "v. break", Main, "in", 1, fine, 1, "induced_vertical_break/release/plate_front/in", number(pitch.InducedVerticalBreak), inducedBreak},
	{"horizontal_break", "horizontal break", "h. break", Main, "in", 1, fine, 1, "horizontal_break/release/plate_front/arm_side/in", number(pitch.HorizontalBreak), sideBreak},
	{"vertical_approach_angle", "vertical approach angle", "v. angle", Main, "deg", .25, fine, 2, "vertical_approach_angle/plate_front/deg", number(pitch.VerticalApproachAngle), verticalAngle},
	{"neutral_approach_angle", "height-neutral approach angle", "neutral", Further, "deg", .25, fine, 2, "neutral_approach_angle/plate_front/2.5ft/deg", number(pitch.NeutralApproachAngle), neutralAngle},
	{"horizontal_approach_angle", "horizontal approach angle", "h. angle", Main, "deg", .5, fine, 2, "horizontal_approach_angle/plate_front/arm_side/deg", number(pitch.HorizontalApproachAngle), sideAngle},
	{"release_height", "release height", "rel. ht", Further, "ft", .2, fine, 2, "release_height/release/ft", number(pitch.ReleaseHeight), releaseHeight},
	{"release_side", "release side", "rel. side", Further, "ft", .2, fine, 2, "release_side/release/arm_side/ft", number(pitch.ReleaseSide), releaseSide},
	{"extension", "extension", "extension", Further, "ft", .2, fine, 2, "extension/rubber/ft", number(pitch.Extension), nil},
	{"spin_rate", "spin rate", "spin", Further, "rpm", 100, .1, 0, "spin_rate/rpm", number(pitch.SpinRate), nil},
	{"plate_height", "plate height, share of the zone", "plate ht", Location, "", .1, fine, 2, "plate_height/plate_front/zone_share", plateShare, plateHeight},
	{"plate_side", "plate side", "plate sd", Location, "ft", .2, fine, 2, "plate_side/plate_front/arm_side/ft", number(pitch.PlateSide), plateSide},
	{"axis_gap", "gap between movement and spin axis", "axis gap", Further, "deg", 5, .01, 1, "axis_gap/movement_minus_spin/arm_side/deg", axisGap, gapOrigin},
	{"arm_slot", "arm slot", "arm slot", Further, "deg", 5, fine, 1, "arm_slot/above_horizontal/deg", number(pitch.ArmAngle), slotOrigin},
}

// MaxQuanta is the largest size of a value in quanta; no physical quality
// comes near it.
const MaxQuanta = math.MaxInt32

// PerUnit returns the number of quanta in one unit.
func (v *Variable) PerUnit() int64 { return int64(math.Round(1 / v.Quantum)) }

// WidthQ returns the bin width in quanta.
func (v *Variable) WidthQ() int64 { return int64(math.Round(v.Width * float64(v.PerUnit()))) }

// Quantize rounds x, in units, to whole quanta, half away from zero. It is not
// ok for a value that is missing, infinite or beyond MaxQuanta.
func (v *Variable) Quantize(x float64) (q int64, ok bool) {
	r := math.Round(x * float64(v.PerUnit()))
	if !(r >= -MaxQuanta && r <= MaxQuanta) {
		return 0, false
	}
	return int64(r), true
}

// Bin returns the bin of a value in quanta, floor(q / widthQ), and the offset
// of the value from the bin's lower edge, 0 ≤ d < widthQ.
func Bin(q, widthQ int64) (bin, d int64) {
	bin, d = q/widthQ, q%widthQ
	if d < 0 {
		bin, d = bin-1, d+widthQ
	}
	return bin, d
}

// Validate reports every fault of the variable's numbers.
func (v *Variable) Validate() error {
	var errs []error
	per := 1 / v.Quantum
	if !(v.Quantum > 0) || math.Abs(per-math.Round(per)) > 1e-9*per {
		errs = append(errs, fmt.Errorf("variable %s: quantum %g does not divide one unit", v.Name, v.Quantum))
	}
	w := v.Width * math.Round(per)
	if !(v.Width > 0) || math.IsInf(v.Width, 0) || math.Abs(w-math.Round(w)) > 1e-6 || w < 1 {
		errs = append(errs, fmt.Errorf("variable %s: bin width %g is not a multiple of %g", v.Name, v.Width, v.Quantum))
	}
	if v.Value == nil {
		errs = append(errs, fmt.Errorf("variable %s: no value function", v.Name))
	}
	return errors.Join(errs...)
}

// Names returns the names of variables in order.
func Names(vars []Variable) []string {
	out := make([]string, len(vars))
	for i, v := range vars {
		out[i] = v.Name
	}
	return out
}

// Only returns those of vars that names lists, in the order of vars. It fails
// on a name that vars does not hold.
func Only(vars []Variable, names []string) ([]Variable, error) {
	all := Names(vars)
	var errs []error
	for _, name := range names {
		if !slices.Contains(all, name) {
			errs = append(errs, unknown(name, all))
		}
	}
	keep := func(v Variable) bool { return !slices.Contains(names, v.Name) }
	return slices.DeleteFunc(slices.Clone(vars), keep), errors.Join(errs...)
}

func unknown(name string, names []string) error {
	if near := pitch.Nearest(name, names); near != "" {
		return fmt.Errorf("unknown variable %q (did you mean %q?)", name, near)
	}
	return fmt.Errorf("unknown variable %q (known: %s)", name, strings.Join(names, ", "))
}

// WithWidths returns vars with other bin widths, keyed by name. It fails on a
// name that Variables does not hold and on a width that is no multiple of the
// quantum; widths of variables that vars lacks are ignored.
func WithWidths(vars []Variable, widths map[string]float64) ([]Variable, error) {
	out := slices.Clone(vars)
	var errs []error
	for i := range out {
		if w, ok := widths[out[i].Name]; ok {
			out[i].Width = w
			errs = append(errs, out[i].Validate())
		}
	}
	names := Names(Variables)
	for _, name := range slices.Sorted(maps.Keys(widths)) {
		if !slices.Contains(names, name) {
			errs = append(errs, unknown(name, names))
		}
	}
	return out, errors.Join(errs...)
}

// Sideways tells whether a variable is measured toward the arm side, so that one shift
// of an instrument has opposite signs for left- and right-handers.
func Sideways(name string) bool {
	c, _ := pitch.Lookup(name)
	return c.Lateral == pitch.ArmSideAxis || name == "axis_gap"
}

func number(n pitch.Number) func(*pitch.Pitch) float64 {
	return func(p *pitch.Pitch) float64 { return p.Num[n] }
}

// plateShare is the height at the front of the plate as a share of the
// batter's zone: 0 at its bottom, 1 at its top.
func plateShare(p *pitch.Pitch) float64 {
	top, bottom := p.Num[pitch.ZoneTop], p.Num[pitch.ZoneBottom]
	if !(top > bottom) {
		return pitch.Missing()
	}
	return (p.Num[pitch.PlateHeight] - bottom) / (top - bottom)
}

// axisGap is the angle in degrees, within (−180, 180], from the direction of
// movement that the measured spin axis implies to the one observed, positive
// toward the arm side of a riding pitch for both hands.
//
// Directions are turned from straight up, clockwise as the pitcher sees. The
// axis implies axis − 180°. The movement lies at atan2(arm-side break, induced
// vertical break) toward the arm, which is clockwise for right-handed
// pitchers and the other way for left-handed ones.
func axisGap(p *pitch.Pitch) float64 {
	across, up := p.Num[pitch.HorizontalBreak], p.Num[pitch.InducedVerticalBreak]
	clockwise := -p.Hand.ArmSide()
	if across == 0 && up == 0 || clockwise == 0 {
		return pitch.Missing()
	}
	implied := clockwise * (p.Num[pitch.SpinAxis] - 180)
	gap := math.Remainder(degrees(math.Atan2(across, up))-implied, 360)
	if gap == -180 {
		gap = 180
	}
	return gap
}

// degrees converts from radians; the conversion keeps an inlined product from
// being fused with a sum.
func degrees(rad float64) float64 { return float64(rad * (180 / math.Pi)) }
