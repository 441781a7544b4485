package shape

import (
	"fmt"
	"math"
	"testing"

	"sill/pipeline/pitch"
)

// typical are plain trajectories of three pitch types at release, thrown by a
// right-handed pitcher; x is mirrored for a left-handed one. A four-seamer at
// 93 mph, a curveball at 78, a changeup at 84.
var typical = map[string]struct {
	extension float64
	at        trajectory // y = release
}{
	"four_seam": {6.3, trajectory{x: -1.9, z: 5.9, vx: 6.2, vy: -136, vz: -4.9, ax: -11, ay: 27, az: -15.5}},
	"curveball": {6.0, trajectory{x: -1.7, z: 6.1, vx: 2.3, vy: -114, vz: 1.8, ax: 7.5, ay: 22, az: -39.5}},
	"changeup":  {6.5, trajectory{x: -2.0, z: 5.7, vx: 7.5, vy: -122, vz: -3.1, ax: -15, ay: 24, az: -24}},
}

func throw(name string, hand pitch.Hand) (f trajectory, extension float64) {
	t := typical[name]
	f = t.at
	f.y = pitch.RubberY - t.extension
	if hand == pitch.LeftHand {
		f.x, f.vx, f.ax = -f.x, -f.vx, -f.ax
	}
	return f, t.extension
}

// at re-expresses a trajectory at another y, as providers state it.
func (f trajectory) at(y float64) trajectory {
	t, ok := f.timeAt(y)
	if !ok {
		panic("no such y")
	}
	g := f
	g.x, g.z = f.positionAt(t)
	g.y = y
	g.vx, g.vy, g.vz = f.velocityAt(t)
	return g
}

func (f trajectory) pitch(hand pitch.Hand, extension float64) *pitch.Pitch {
	p := &pitch.Pitch{Hand: hand}
	for i := range p.Num {
		p.Num[i] = math.NaN()
	}
	copy(p.Num[pitch.PositionX:], []float64{f.x, f.y, f.z, f.vx, f.vy, f.vz, f.ax, f.ay, f.az})
	p.Num[pitch.Extension] = extension
	return p
}

var trajectoryColumns = []string{"position_x", "position_y", "position_z", "velocity_x", "velocity_y",
	"velocity_z", "acceleration_x", "acceleration_y", "acceleration_z"}

func having(columns ...string) func(string) bool {
	return func(c string) bool {
		for _, have := range columns {
			if c == have {
				return true
			}
		}
		return false
	}
}

func tracked(columns ...string) func(string) bool {
	return having(append(append([]string{}, trajectoryColumns...), columns...)...)
}

func complete(t *testing.T, p *pitch.Pitch, has func(string) bool, s Source) *Quality {
	t.Helper()
	r, err := NewResolver(has, s)
	if err != nil {
		t.Fatal(err)
	}
	q := &Quality{}
	if rule := r.Complete(p, q); rule != "" {
		t.Fatal(rule)
	}
	return q
}

func near(t *testing.T, what string, got, want, within float64) {
	t.Helper()
	if !(math.Abs(got-want) <= within) {
		t.Errorf("%s: %.12g, want %.12g within %g", what, got, want, within)
	}
}

// TestClosedForm works one pitch by hand. The release is chosen so that the
// flight lasts exactly .4 s: from y = 54.5 ft at −v with 30 ft/s² of drag,
// 54.5 − .4v + 15×.16 = 17/12.
func TestClosedForm(t *testing.T) {
	v := (54.5 - 17./12 + 2.4) / .4
	for hand, arm := range map[pitch.Hand]float64{pitch.RightHand: -1, pitch.LeftHand: 1} {
		f := trajectory{x: arm * 1.75, y: 54.5, z: 6, vx: -arm * 5, vy: -v, vz: -5, ax: arm * 10, ay: 30, az: -16.174}
		p := f.at(50).pitch(hand, 6)
		complete(t, p, tracked("extension"), DefaultSource())
		for n, want := range map[pitch.Number]float64{
			pitch.Velocity:             math.Sqrt(25+v*v+25) * 15 / 22,
			pitch.InducedVerticalBreak: 16 * .08 * 12, // ½ × (−16.174 + 32.174) × .16 ft
			pitch.HorizontalBreak:      10 * .08 * 12,
			pitch.ReleaseHeight:        6,
			pitch.ReleaseSide:          1.75,
			pitch.PlateHeight:          6 - 5*.4 - 16.174*.08,
			pitch.PlateSide:            1.75 - 5*.4 + 10*.08,
			// At the plate: vz = −5 − 16.174×.4, vx = −5 + 4 toward the arm,
			// vy = −v + 12.
			pitch.VerticalApproachAngle:   -math.Atan((5+16.174*.4)/(v-12)) * 180 / math.Pi,
			pitch.HorizontalApproachAngle: -math.Atan(1/(v-12)) * 180 / math.Pi,
			pitch.NeutralApproachAngle:    math.Atan((-5-16.174*.4+(2.5-(6-5*.4-16.174*.08))/.4)/(v-12)) * 180 / math.Pi,
		} {
			near(t, hand.String()+" "+numberName(n), p.Num[n], want, 1e-9)
		}
	}
}

func numberName(n pitch.Number) string {
	for _, c := range pitch.Dictionary {
		if c.Number == n && c.Kind == pitch.Real {
			return c.Name
		}
	}
	return "neutral_approach_angle"
}

// integrate steps a constant acceleration by the classical Runge-Kutta method
// until the ball is at y, and returns its state and the time.
func integrate(s [6]float64, accel func(s [6]float64) [3]float64, y, dt float64) ([6]float64, float64) {
	derive := func(s [6]float64) [6]float64 {
		a := accel(s)
		return [6]float64{s[3], s[4], s[5], a[0], a[1], a[2]}
	}
	step := func(s [6]float64, h float64) [6]float64 {
		add := func(k [6]float64, by float64) (out [6]float64) {
			for i := range out {
				out[i] = s[i] + by*k[i]
			}
			return out
		}
		k1 := derive(s)
		k2 := derive(add(k1, h/2))
		k3 := derive(add(k2, h/2))
		k4 := derive(add(k3, h))
		for i := range s {
			s[i] += h / 6 * (k1[i] + 2*k2[i] + 2*k3[i] + k4[i])
		}
		return s
	}
	t := 0.0
	for {
		next := step(s, dt)
		if (next[1]-y)*(s[1]-y) <= 0 {
			break
		}
		s, t = next, t+dt
	}
	lo, hi := 0.0, dt
	for range 80 {
		mid := (lo + hi) / 2
		if (step(s, mid)[1]-y)*(s[1]-y) > 0 {
			lo = mid
		} else {
			hi = mid
		}
	}
	return step(s, lo), t + lo
}

// TestAgainstIntegration compares every derived number with a stepwise
// integration of the same motion from y = 50, back to release and on to the
// plate; breaks with the crossing of a ball that gravity and drag alone move.
func TestAgainstIntegration(t *testing.T) {
	for name := range typical {
		for hand, arm := range map[pitch.Hand]float64{pitch.RightHand: -1, pitch.LeftHand: 1} {
			f, extension := throw(name, hand)
			f = f.at(50)
			p := f.pitch(hand, extension)
			complete(t, p, tracked("extension"), DefaultSource())

			full := func([6]float64) [3]float64 { return [3]float64{f.ax, f.ay, f.az} }
			spinless := func([6]float64) [3]float64 { return [3]float64{0, f.ay, -pitch.Gravity} }
			start := [6]float64{f.x, f.y, f.z, f.vx, f.vy, f.vz}
			release, before := integrate(start, full, pitch.RubberY-extension, -1e-3)
			plate, flight := integrate(release, full, pitch.PlateFront, 1e-3)
			plain, _ := integrate(release, spinless, pitch.PlateFront, 1e-3)
			if before >= 0 {
				t.Fatalf("%s: release at %v s", name, before)
			}
			tilted := release
			tilted[5] += (ReferenceHeight - plate[2]) / flight
			again, _ := integrate(tilted, full, pitch.PlateFront, 1e-3)
			near(t, name+" re-aimed height", again[2], ReferenceHeight, 1e-9)

			deg := func(a, b float64) float64 { return math.Atan(a/b) * 180 / math.Pi }
			for n, want := range map[pitch.Number]float64{
				pitch.Velocity:                math.Hypot(math.Hypot(release[3], release[4]), release[5]) * 3600 / 5280,
				pitch.InducedVerticalBreak:    (plate[2] - plain[2]) * 12,
				pitch.HorizontalBreak:         arm * (plate[0] - plain[0]) * 12,
				pitch.VerticalApproachAngle:   deg(plate[5], -plate[4]),
				pitch.HorizontalApproachAngle: arm * deg(plate[3], -plate[4]),
				pitch.NeutralApproachAngle:    deg(again[5], -again[4]),
				pitch.ReleaseHeight:           release[2],
				pitch.ReleaseSide:             arm * release[0],
				pitch.PlateHeight:             plate[2],
				pitch.PlateSide:               arm * plate[0],
			} {
				near(t, name+" "+hand.String()+" "+numberName(n), p.Num[n], want, 1e-6)
			}
		}
	}
}

// TestWhereverStated: one trajectory stated at y = 40, 50, 55 and at release
// gives the same numbers.
func TestWhereverStated(t *testing.T) {
	for name := range typical {
		f, extension := throw(name, pitch.LeftHand)
		want := f.pitch(pitch.LeftHand, extension)
		complete(t, want, tracked("extension"), DefaultSource())
		for _, y := range []float64{40, 50, 55} {
			got := f.at(y).pitch(pitch.LeftHand, extension)
			complete(t, got, tracked("extension"), DefaultSource())
			for i := range completed {
				n := completed[i].number
				near(t, name+" "+completed[i].column, got.Num[n], want.Num[n], 1e-9)
			}
			near(t, name+" neutral", got.Num[pitch.NeutralApproachAngle], want.Num[pitch.NeutralApproachAngle], 1e-9)
		}
	}
}

// TestTipAgainstFront: taking the angle at the rear tip of the plate, y = 0,
// makes a four-seamer .09° steeper and a curveball .31°; as a provider's
// angle, stated to be taken there, it is moved back to the front.
func TestTipAgainstFront(t *testing.T) {
	for name, want := range map[string]float64{"four_seam": .09, "curveball": .31} {
		f, extension := throw(name, pitch.RightHand)
		front := f.pitch(pitch.RightHand, extension)
		complete(t, front, tracked("extension"), DefaultSource())
		at, ok := f.timeAt(0)
		if !ok {
			t.Fatal(name)
		}
		tip, tipX := f.anglesAt(at)
		steeper := front.Num[pitch.VerticalApproachAngle] - tip
		if math.Abs(steeper-want) > .03 {
			t.Errorf("%s: %.3f° steeper at the tip, want about %v", name, steeper, want)
		}
		p := f.pitch(pitch.RightHand, extension)
		p.Num[pitch.VerticalApproachAngle], p.Num[pitch.HorizontalApproachAngle] = tip, -tipX
		s := DefaultSource()
		s.AnglesAt = 0
		complete(t, p, tracked("extension", "vertical_approach_angle", "horizontal_approach_angle"), s)
		near(t, name, p.Num[pitch.VerticalApproachAngle], front.Num[pitch.VerticalApproachAngle], 1e-12)
		near(t, name, p.Num[pitch.HorizontalApproachAngle], front.Num[pitch.HorizontalApproachAngle], 1e-12)
	}
}

// quadratic returns the least-squares a + bt + ct²/2 of samples, the fit by
// which tracking systems state nine parameters.
func quadratic(ts, xs []float64) (a, b, c float64) {
	var m [3][4]float64
	for i, t := range ts {
		row := [3]float64{1, t, t * t / 2}
		for j := range row {
			for k := range row {
				m[j][k] += row[j] * row[k]
			}
			m[j][3] += row[j] * xs[i]
		}
	}
	for i := range m {
		for j := range m {
			if i != j {
				by := m[j][i] / m[i][i]
				for k := range m[j] {
					m[j][k] -= by * m[i][k]
				}
			}
		}
	}
	return m[0][3] / m[0][0], m[1][3] / m[1][1], m[2][3] / m[2][2]
}

// TestNeutralAngle compares the height-neutral angle with a flight in which
// drag and lift grow with the square of the speed and turn with the velocity:
// the same pitch, thrown from the same point at the same speed but aimed to
// cross at 1 to 4 ft, has the angle of the one that crosses at 2.5 ft to
// within .10°. Drag and lift per (ft/s)² are 5.4e-3 times coefficients of .35
// and .1 to .2 (Nathan, from memory).
func TestNeutralAngle(t *testing.T) {
	const drag = 5.4e-3 * .35
	for name, pitchShape := range map[string]struct {
		speed     float64 // ft/s
		lift, run float64 // per (ft/s)²
	}{
		"four_seam": {137, 5.4e-3 * .20, 5.4e-3 * .10},
		"curveball": {115, -5.4e-3 * .18, -5.4e-3 * .08},
		"changeup":  {123, 5.4e-3 * .10, 5.4e-3 * .16},
	} {
		fly := func(s [6]float64) [3]float64 {
			v := math.Sqrt(s[3]*s[3] + s[4]*s[4] + s[5]*s[5])
			// Unit vectors across the velocity: up and toward −x.
			h := math.Hypot(s[3], s[4])
			up := [3]float64{-s[3] * s[5] / (v * h), -s[4] * s[5] / (v * h), h / v}
			side := [3]float64{s[4] / h, -s[3] / h, 0}
			var a [3]float64
			for i := range a {
				a[i] = -drag*v*s[3+i] + v*v*(pitchShape.lift*up[i]+pitchShape.run*side[i])
			}
			a[2] -= pitch.Gravity
			return a
		}
		const extension = 6.2
		// throwAt aims from the release point to cross at height z.
		throwAt := func(z float64) (start [6]float64) {
			aim := func(angle float64) [6]float64 {
				return [6]float64{-1.8, pitch.RubberY - extension, 5.9, 4, -pitchShape.speed * math.Cos(angle), pitchShape.speed * math.Sin(angle)}
			}
			lo, hi := -.3, .3
			for range 60 {
				mid := (lo + hi) / 2
				if end, _ := integrate(aim(mid), fly, pitch.PlateFront, 2e-3); end[2] < z {
					lo = mid
				} else {
					hi = mid
				}
			}
			return aim(lo)
		}
		// track states the flight as nine fitted parameters.
		track := func(z float64) *pitch.Pitch {
			s := throwAt(z)
			_, flight := integrate(s, fly, pitch.PlateFront, 2e-3)
			var ts, xs, ys, zs []float64
			for i := range 101 {
				at := after(s, fly, flight*float64(i)/100)
				ts, xs, ys, zs = append(ts, flight*float64(i)/100), append(xs, at[0]), append(ys, at[1]), append(zs, at[2])
			}
			var f trajectory
			f.x, f.vx, f.ax = quadratic(ts, xs)
			f.y, f.vy, f.ay = quadratic(ts, ys)
			f.z, f.vz, f.az = quadratic(ts, zs)
			p := f.pitch(pitch.RightHand, extension)
			complete(t, p, tracked("extension"), DefaultSource())
			return p
		}
		want := track(ReferenceHeight).Num[pitch.VerticalApproachAngle]
		raw := 0.0
		for _, z := range []float64{1, 1.5, 2, 2.5, 3, 3.5, 4} {
			p := track(z)
			near(t, fmt.Sprintf("%s at %g ft", name, z), p.Num[pitch.NeutralApproachAngle], want, .10)
			raw = max(raw, math.Abs(p.Num[pitch.VerticalApproachAngle]-want))
		}
		if raw < 1 {
			t.Errorf("%s: the raw angle differs by %.2f° only", name, raw)
		}
	}
}

// after returns the state after a time, in fixed steps.
func after(s [6]float64, accel func([6]float64) [3]float64, time float64) [6]float64 {
	n := int(time/2e-3) + 1
	h := time / float64(n)
	for range n {
		a := accel(s)
		mid := s
		for i := range 3 {
			mid[i] += h / 2 * s[3+i]
			mid[3+i] += h / 2 * a[i]
		}
		b := accel(mid)
		for i := range 3 {
			s[i] += h * mid[3+i]
			s[3+i] += h * b[i]
		}
	}
	return s
}

// TestFlightInterval: the break of one pitch over three flight intervals, and
// each rescaled to sill's own. It breaks 16.35 in from release, 13.94 from
// y = 50 and 8.93 from y = 40.
func TestFlightInterval(t *testing.T) {
	f, extension := throw("four_seam", pitch.RightHand)
	f.az = 16.35/(6*.404341752*.404341752) - pitch.Gravity
	own := f.pitch(pitch.RightHand, extension)
	complete(t, own, tracked("extension"), DefaultSource())
	near(t, "from release", own.Num[pitch.InducedVerticalBreak], 16.35, .005)
	for y, given := range map[Place]float64{50: 13.94, 40: 8.93} {
		p := f.at(50).pitch(pitch.RightHand, extension)
		p.Num[pitch.InducedVerticalBreak] = given
		s := DefaultSource()
		s.MovementFrom, s.MovementTo = y, AtPlateFront
		has := tracked("extension", "induced_vertical_break")
		q := complete(t, p, has, s)
		near(t, y.String(), p.Num[pitch.InducedVerticalBreak], 16.35, .01)
		if d := q.Disagreements(); len(d) != 1 || d[0].Compared != 1 || d[0].Beyond != 0 || d[0].Fit.MovementFrom != y.setting() {
			t.Errorf("%v: %+v", y, d)
		}
		// Without a trajectory there is nothing to rescale by.
		if _, err := NewResolver(having("extension", "induced_vertical_break"), s); err == nil {
			t.Errorf("%v: breaks over another interval passed", y)
		}
	}
	// Over the whole flight it is taken as it is, trajectory or not.
	s := DefaultSource()
	s.MovementFrom, s.MovementTo = AtRelease, AtPlateFront
	p := &pitch.Pitch{Hand: pitch.RightHand}
	p.Num[pitch.InducedVerticalBreak] = 16.35
	complete(t, p, having("induced_vertical_break"), s)
	near(t, "as given", p.Num[pitch.InducedVerticalBreak], 16.35, 0)
}

// TestNoFlight: trajectories that never arrive, fly away or take the time of no
// pitch are rejected.
func TestNoFlight(t *testing.T) {
	good, extension := throw("four_seam", pitch.RightHand)
	r, err := NewResolver(tracked("extension"), DefaultSource())
	if err != nil {
		t.Fatal(err)
	}
	for name, change := range map[string]func(*trajectory){
		"thrown away":  func(f *trajectory) { f.vy = 130 },
		"stops midway": func(f *trajectory) { f.ay = 300 },
		"too slow":     func(f *trajectory) { f.vy, f.ay = -30, 0 },
		"too fast":     func(f *trajectory) { f.vy, f.ay = -230, 10 },
	} {
		f := good
		change(&f)
		q := &Quality{}
		if rule := r.Complete(f.pitch(pitch.RightHand, extension), q); rule != NoFlight || q.NoFlight != 1 {
			t.Errorf("%s: rule %q", name, rule)
		}
	}
	q := &Quality{}
	p := good.pitch(pitch.RightHand, extension)
	p.Num[pitch.AccelerationZ] = math.NaN()
	if rule := r.Complete(p, q); rule != "" || q.Tracked != 0 || !math.IsNaN(p.Num[pitch.Velocity]) {
		t.Errorf("untracked: rule %q, %+v", rule, q)
	}
}

// TestLob: a pitch of 45 mph and one of 30, the slowest valid velocity, are pitches,
// thrown up so that they cross in the zone. Without drag or lift the flight time is the
// distance over the speed, and the velocity at the plate follows by hand.
func TestLob(t *testing.T) {
	r, err := NewResolver(tracked("extension"), DefaultSource())
	if err != nil {
		t.Fatal(err)
	}
	const extension, height = 5.5, 2.5
	for _, mph := range []float64{45, 30} {
		f := trajectory{x: -2, y: pitch.RubberY - extension, z: 6, vy: -mph / mphPerFootSecond, az: -pitch.Gravity}
		flies := (f.y - pitch.PlateFront) / -f.vy
		f.vz = (height-f.z)/flies + pitch.Gravity*flies/2
		p := f.pitch(pitch.RightHand, extension)
		var q Quality
		if rule := r.Complete(p, &q); rule != "" || q.Tracked != 1 || flies < .8 {
			t.Fatalf("%g mph, %.2f s: rule %q", mph, flies, rule)
		}
		near(t, "height", p.Num[pitch.PlateHeight], height, 1e-9)
		near(t, "velocity", p.Num[pitch.Velocity], math.Hypot(f.vy, f.vz)*mphPerFootSecond, 1e-9)
		near(t, "break", p.Num[pitch.InducedVerticalBreak], 0, 1e-9)
		c, _ := pitch.Lookup("vertical_approach_angle")
		angle := math.Atan2(f.vz-pitch.Gravity*flies, -f.vy) * 180 / math.Pi
		near(t, "angle", p.Num[pitch.VerticalApproachAngle], angle, 1e-9)
		if angle < c.Min {
			t.Errorf("%g mph: an angle of %.1f deg is refused", mph, angle)
		}
	}
}
