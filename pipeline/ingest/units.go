package ingest

import "sill/pipeline/pitch"

// unit converts to the canonical unit of its dimension: value · mul / div.
// Both factors are exact definitions (1 in = 2.54 cm, 1 mile = 5280 ft), so a
// conversion is one rounding away from the true value.
type unit struct {
	name     string
	mul, div float64
}

const degPerRad = 57.29577951308232087679815481410517 // 180/π

// unitTable lists the units of each dimension, the canonical one first.
var unitTable = map[pitch.Dimension][]unit{
	pitch.Speed: {{"mph", 1, 1}, {"km/h", 1, 1.609344}, {"m/s", 3600, 1609.344}, {"ft/s", 3600, 5280}},
	pitch.SmallLength: {{"in", 1, 1}, {"ft", 12, 1}, {"cm", 1, 2.54}, {"mm", 1, 25.4},
		{"m", 100, 2.54}},
	pitch.Length: {{"ft", 1, 1}, {"in", 1, 12}, {"m", 1, .3048}, {"cm", 1, 30.48}, {"mm", 1, 304.8}},
	pitch.Angle:  {{"deg", 1, 1}, {"rad", degPerRad, 1}},
	pitch.Rotation: {{"rpm", 1, 1}, {"rev/s", 60, 1}, {"rad/s", 60 * degPerRad, 360},
		{"deg/s", 60, 360}},
	pitch.Acceleration: {{"ft/s²", 1, 1}, {"ft/s2", 1, 1}, {"m/s²", 1, .3048}, {"m/s2", 1, .3048}},
	pitch.SpeedFeet:    {{"ft/s", 1, 1}, {"m/s", 1, .3048}, {"mph", 5280, 3600}, {"km/h", 1, 1.09728}},
}

// UnitsOf returns the names of the units a dimension can be given in, the
// canonical one first; nil for dimensionless columns.
func UnitsOf(d pitch.Dimension) []string {
	var names []string
	for _, u := range unitTable[d] {
		names = append(names, u.name)
	}
	return names
}

func unitOf(d pitch.Dimension, name string) unit {
	for _, u := range unitTable[d] {
		if u.name == name {
			return u
		}
	}
	return unit{mul: 1, div: 1}
}

// lateralSign returns the factors that turn a source's lateral value into the
// canonical frame: sign, and whether it must be multiplied by the hand's
// ArmSide as well.
func lateralSign(axis pitch.Lateral, positive string) (sign float64, byHand bool) {
	sign = 1
	if positive == "glove_side" || positive == "pitcher_right" {
		sign = -1
	}
	handed := positive == "arm_side" || positive == "glove_side"
	switch axis {
	case pitch.ArmSideAxis:
		return sign, !handed
	case pitch.CatcherXAxis:
		return sign, handed
	}
	return 1, false
}
