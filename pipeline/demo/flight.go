package demo

import (
	"math"

	"sill/pipeline/pitch"
)

const (
	mph        = 5280. / 3600 // ft/s
	referenceY = 50.          // ft, where the trajectory's nine numbers hold
	drag       = .0015        // deceleration over speed squared, 1/ft (from memory)
	degree     = 180 / math.Pi
	// NeutralHeight is the height in feet that height-neutral approach angles
	// are stated at.
	NeutralHeight = 2.5
)

// throw is how a pitch leaves the hand and where it goes, in feet, inches and
// mph; lateral numbers are arm-side positive.
type throw struct {
	speed, rise, run                      float64
	releaseHeight, releaseSide, extension float64
	plateHeight, plateSide                float64
}

// fly fills the flight numbers of a pitch: the one constant acceleration that
// makes the throw leave with its speed, break as stated between release and
// the front of the plate, and cross at the stated place. It returns the
// height-neutral approach angle, in degrees.
//
// Under constant acceleration x(t) = x₀ + v·t + ½·a·t² on each axis, so with
// flight time T the break is ½(a_z+g)T² up and ½·a_x·T² sideways.
func fly(hand pitch.Hand, t throw, num *[pitch.Numbers]float64) (neutral float64) {
	arm := hand.ArmSide()
	yRel := pitch.RubberY - t.extension
	xRel, xPlate := arm*t.releaseSide, arm*t.plateSide
	speed := t.speed * mph
	ay := drag * speed * speed

	// The speed fixes |v|, whose forward part depends on the sideways and
	// upward parts, which depend on T: three rounds settle it to 1e-4 mph, and
	// the velocity recorded is the one reached.
	vy := -speed
	var T, vx, vz, ax, az float64
	for range 3 {
		T = (-vy - math.Sqrt(vy*vy-2*ay*(yRel-pitch.PlateFront))) / ay
		ax = arm * 2 * (t.run / 12) / (T * T)
		az = 2*(t.rise/12)/(T*T) - pitch.Gravity
		vx = (xPlate - xRel - ax*T*T/2) / T
		vz = (t.plateHeight - t.releaseHeight - az*T*T/2) / T
		vy = -math.Sqrt(speed*speed - vx*vx - vz*vz)
	}
	T = (-vy - math.Sqrt(vy*vy-2*ay*(yRel-pitch.PlateFront))) / ay
	ax = arm * 2 * (t.run / 12) / (T * T)
	az = 2*(t.rise/12)/(T*T) - pitch.Gravity
	vx = (xPlate - xRel - ax*T*T/2) / T
	vz = (t.plateHeight - t.releaseHeight - az*T*T/2) / T

	vyP, vzP, vxP := vy+ay*T, vz+az*T, vx+ax*T
	num[pitch.Velocity] = math.Sqrt(vx*vx+vy*vy+vz*vz) / mph
	num[pitch.InducedVerticalBreak] = t.rise
	num[pitch.HorizontalBreak] = t.run
	num[pitch.VerticalApproachAngle] = math.Atan2(vzP, -vyP) * degree
	num[pitch.HorizontalApproachAngle] = math.Atan2(arm*vxP, -vyP) * degree
	num[pitch.ReleaseHeight] = t.releaseHeight
	num[pitch.ReleaseSide] = t.releaseSide
	num[pitch.Extension] = t.extension
	num[pitch.PlateHeight] = t.plateHeight
	num[pitch.PlateSide] = t.plateSide

	// t0 is when y = 50 ft, the root nearer release; negative where the ball
	// was let go nearer the plate than that.
	t0 := (-vy - math.Sqrt(vy*vy-2*ay*(yRel-referenceY))) / ay
	num[pitch.PositionX] = xRel + vx*t0 + ax*t0*t0/2
	num[pitch.PositionY] = referenceY
	num[pitch.PositionZ] = t.releaseHeight + vz*t0 + az*t0*t0/2
	num[pitch.VelocityX] = vx + ax*t0
	num[pitch.VelocityY] = vy + ay*t0
	num[pitch.VelocityZ] = vz + az*t0
	num[pitch.AccelerationX] = ax
	num[pitch.AccelerationY] = ay
	num[pitch.AccelerationZ] = az
	return math.Atan2(vzP+(NeutralHeight-t.plateHeight)/T, -vyP) * degree
}
