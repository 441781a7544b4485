package shape

import (
	"math"

	"sill/pipeline/pitch"
)

// The flight is a constant-acceleration one, the nine parameters that tracking
// systems publish: position, velocity and acceleration at a stated y. The
// kinematics follow A. M. Nathan's notes on determining pitch movement from
// such trajectories (The Physics of Baseball, University of Illinois; from
// memory): times are roots of y(t), and the break over a flight of T seconds is
// ½aT² with gravity taken out of the vertical.

// ReferenceHeight is the height in feet at the front of the plate to which the
// height-neutral approach angle re-aims a pitch.
const ReferenceHeight = 2.5

// defaultRelease is the y of the release point in feet where the extension is
// unknown. Against the true release it costs up to 0.9 in of break.
const defaultRelease = 55.0

// A flight from release to the front of the plate outside these times in
// seconds is no pitch: at 110 mph it takes .34 s, at 30 mph, the slowest valid
// velocity, 1.2 s without drag.
const minFlight, maxFlight = .25, 1.6

// mphPerFootSecond converts ft/s to mph: 3600 s/h ÷ 5280 ft/mi.
const mphPerFootSecond = 3600.0 / 5280

// trajectory is position (ft), velocity (ft/s) and acceleration (ft/s²) at
// t = 0, in the package pitch's frame.
type trajectory struct {
	x, y, z, vx, vy, vz, ax, ay, az float64
}

// trajectoryOf returns the trajectory of a pitch, not ok where one of its nine
// parameters is missing.
func trajectoryOf(p *pitch.Pitch) (f trajectory, ok bool) {
	n := p.Num[pitch.PositionX : pitch.AccelerationZ+1 : pitch.AccelerationZ+1]
	for _, v := range n {
		if pitch.IsMissing(v) {
			return f, false
		}
	}
	return trajectory{n[0], n[1], n[2], n[3], n[4], n[5], n[6], n[7], n[8]}, true
}

// timeAt returns when the pitch, flying toward the plate, is at y: the root of
// y(t) nearest zero, negative before the stated point. Every y of one flight
// lies on the same branch, so the root for the plate is the smallest one after
// the root for the release. The form 2c/(−v+√d) cancels nothing for v < 0,
// whatever the sign of the acceleration (Numerical Recipes, section 5.6).
func (f *trajectory) timeAt(y float64) (t float64, ok bool) {
	c := f.y - y
	d := float64(f.vy*f.vy) - float64(2*f.ay*c)
	if !(f.vy < 0) || !(d > 0) {
		return 0, false
	}
	return 2 * c / (math.Sqrt(d) - f.vy), true
}

// velocityAt returns the velocity at time t in ft/s.
func (f *trajectory) velocityAt(t float64) (vx, vy, vz float64) {
	return f.vx + float64(f.ax*t), f.vy + float64(f.ay*t), f.vz + float64(f.az*t)
}

// speedAt returns the speed at time t in mph.
func (f *trajectory) speedAt(t float64) float64 {
	vx, vy, vz := f.velocityAt(t)
	return math.Sqrt(float64(vx*vx)+float64(vy*vy)+float64(vz*vz)) * mphPerFootSecond
}

// positionAt returns x and z at time t in ft.
func (f *trajectory) positionAt(t float64) (x, z float64) {
	return f.x + float64(t*(f.vx+float64(.5*f.ax*t))), f.z + float64(t*(f.vz+float64(.5*f.az*t)))
}

// anglesAt returns the vertical approach angle and the horizontal one toward
// +x at time t, in degrees.
func (f *trajectory) anglesAt(t float64) (vertical, towardX float64) {
	vx, vy, vz := f.velocityAt(t)
	return degrees(math.Atan2(vz, -vy)), degrees(math.Atan2(vx, -vy))
}

// flight is a trajectory with the times of its release and of its crossing the
// front of the plate.
type flight struct {
	trajectory
	release, plate float64 // s
}

// fly finds the flight from y = release to the front of the plate, not ok
// where there is none or its time is that of no pitch.
func (f trajectory) fly(release float64) (flight, bool) {
	from, okFrom := f.timeAt(release)
	to, okTo := f.timeAt(pitch.PlateFront)
	t := to - from
	return flight{f, from, to}, okFrom && okTo && t >= minFlight && t <= maxFlight
}

// at returns when the pitch is at a place that is stated.
func (f *flight) at(p Place) (t float64, ok bool) {
	switch p {
	case AtRelease:
		return f.release, true
	case AtPlateFront:
		return f.plate, true
	}
	return f.timeAt(float64(p))
}

// time returns the duration of the flight in seconds.
func (f *flight) time() float64 { return f.plate - f.release }

// breaks returns the vertical break with gravity removed and the break toward
// +x over t seconds, in inches.
func (f *flight) breaks(t float64) (induced, towardX float64) {
	half := 6 * t * t // ½ × 12 in/ft
	return (f.az + pitch.Gravity) * half, f.ax * half
}

// neutralAngle returns the vertical approach angle of the same pitch re-aimed
// from its release point to cross the front of the plate at ReferenceHeight:
// tilting the initial velocity moves the crossing by the tilt times the flight
// time. The raw angle mostly follows the height at which a pitch crosses, about
// 1.1° a foot.
func (f *flight) neutralAngle() float64 {
	_, vy, vz := f.velocityAt(f.plate)
	_, z := f.positionAt(f.plate)
	return degrees(math.Atan2(vz+(ReferenceHeight-z)/f.time(), -vy))
}
