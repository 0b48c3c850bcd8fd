package motion_test

import (
	"fmt"
	"math"
	"math/rand"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"spotjig/cam/machine"
	"spotjig/cam/motion"
)

// What changes of single signs and terms showed to be untested. All figures are
// elementary mechanics: from rest to rest over D at V and a, V/a + D/V.

// inPlane turns plane coordinates into those of the plane square to axis 0, 1, 2, in
// the order in which a turn from the first to the second is positive.
func inPlane(axis int, u, w, n float64) machine.Axes {
	var v [3]float64
	v[(axis+1)%3], v[(axis+2)%3], v[axis] = u, w, n
	return machine.Axes{X: v[0], Y: v[1], Z: v[2]}
}

// A move in space has the length of its diagonal: 3, 4, 12 make 13.
func TestMovesInSpace(t *testing.T) {
	for _, to := range []machine.Axes{{X: 13}, {Y: -13}, {Z: 13}, {Z: -13}, {X: 3, Y: 4, Z: 12}, {X: -5, Z: 12}, {Y: 5, Z: -12}} {
		from := machine.Axes{X: 7, Y: -2, Z: 11}
		p := motion.NewPlanner(motion.Limits{AccelCut: 500}, from)
		p.Line(machine.Axes{X: from.X + to.X, Y: from.Y + to.Y, Z: from.Z + to.Z}, 50, false)
		assert.InDelta(t, 0.1+13.0/50, p.Finish().Total, 1e-9, "%v", to)
	}
}

// A corner costs the same in every plane and a straight way on costs nothing.
func TestCornersInEveryPlane(t *testing.T) {
	for axis := range 3 {
		run := func(u, w float64) float64 {
			p := motion.NewPlanner(motion.Limits{AccelCut: 500, Junction: 0.01}, machine.Axes{})
			p.Line(inPlane(axis, 50, 0, 0), 50, false)
			p.Line(inPlane(axis, 50+u, w, 0), 50, false)
			return p.Finish().Total
		}
		assert.InDelta(t, 2.1, run(50, 0), 1e-9, "axis %d on", axis)
		assert.InDelta(t, 2.2, run(-50, 0), 1e-9, "axis %d back", axis)
		// 3.4743 mm/s through a right angle, as in TestCorner.
		const v = 3.4743
		assert.InDelta(t, 2.2-2*v/500+2*v*v/(2*500*50), run(0, 50), 1e-6, "axis %d left", axis)
		assert.InDelta(t, run(0, 50), run(0, -50), 1e-9, "axis %d right", axis)
	}
}

// A line, a quarter of a circle that it touches, and a line that touches that again are
// one way without a stop, in every plane, both ways round, rising or not. Entered the
// other way round there is a stop at both ends of the arc.
func TestArcsGoOnWhereTheyTouch(t *testing.T) {
	const r, q = 30.0, math.Pi / 2
	for axis := range 3 {
		for _, sign := range []float64{1, -1} {
			for _, rise := range []float64{0, 12} {
				round := math.Hypot(r*q, rise)
				lu, ln := r*q/round*50, rise/round*50 // a leg of 50 mm along the helix's slope
				run := func(sweep float64) float64 {
					p := motion.NewPlanner(motion.Limits{AccelCut: 500, Junction: 0.01}, machine.Axes{})
					p.Line(inPlane(axis, lu, 0, ln), 50, false)
					p.Arc(motion.Arc{To: inPlane(axis, lu+r, sign*r, ln+rise), Center: inPlane(axis, lu, sign*r, 99), Axis: axis, Sweep: sweep}, 50, false)
					p.Line(inPlane(axis, lu+r, sign*(r+lu), 2*ln+rise), 50, false)
					return p.Finish().Total
				}
				name := fmt.Sprintf("axis %d sign %g rise %g", axis, sign, rise)
				assert.InDelta(t, 0.1+(100+round)/50, run(sign*q), 1e-9, name)
				if rise == 0 {
					assert.InDelta(t, 0.3+(100+3*r*q)/50, run(-sign*3*q), 1e-9, name+" the long way, against the lines")
				}
			}
		}
	}
}

// An arc of no length and one about its own start are no arcs.
func TestArcsThatAreNone(t *testing.T) {
	p := motion.NewPlanner(motion.Limits{AccelCut: 500}, machine.Axes{})
	p.Arc(motion.Arc{To: machine.Axes{}, Center: machine.Axes{}, Axis: 2, Sweep: 2 * math.Pi}, 50, false)
	assert.Zero(t, p.Finish().Total)
	p.Arc(motion.Arc{To: at(50, 0), Center: machine.Axes{}, Axis: 2, Sweep: 1}, 50, false)
	assert.InDelta(t, 1.1, p.Finish().Total, 1e-9)
	assert.Equal(t, at(50, 0), p.At())
}

// Without a speed of its own a rapid goes at the greatest feed.
func TestRapidWithoutItsOwnSpeed(t *testing.T) {
	p := motion.NewPlanner(motion.Limits{Feed: 100}, machine.Axes{})
	p.Rapid(at(100, 0), false)
	assert.InDelta(t, 1, p.Finish().Total, 1e-9)
	q := motion.NewPlanner(motion.Limits{Feed: 100, Rapid: 0.5}, machine.Axes{})
	q.Rapid(at(100, 0), false)
	assert.InDelta(t, 200, q.Finish().Total, 1e-9)
}

// The beam's share: of two halves of one straight way, run without a stop, each takes
// half the time; a dwell in the dark is none of it.
func TestBeamsShare(t *testing.T) {
	for _, first := range []bool{true, false} {
		p := motion.NewPlanner(motion.Limits{AccelCut: 500}, machine.Axes{})
		p.Line(at(50, 0), 50, first)
		p.Line(at(100, 0), 50, !first)
		p.Dwell(3, false)
		got := p.Finish()
		assert.InDelta(t, 2.1+3, got.Total, 1e-9)
		assert.InDelta(t, 1.05, got.Beam, 1e-9)
	}
}

// What comes after Finish starts from rest, and what came before does not count again.
func TestMovesAfterFinish(t *testing.T) {
	p := motion.NewPlanner(motion.Limits{AccelCut: 500}, machine.Axes{})
	for i := 1; i <= 3; i++ {
		p.Line(at(float64(i)*50, 0), 50, false)
		assert.InDelta(t, float64(i)*1.1, p.Finish().Total, 1e-9)
	}
}

// Long ways, on which the running sum is begun anew many times, against plain passes:
// legs of metres at speeds that need a good part of them.
func TestLongWaysAgainstPasses(t *testing.T) {
	rnd := rand.New(rand.NewSource(9))
	const a, dev = 700.0, 0.02
	p := motion.NewPlanner(motion.Limits{AccelCut: a, Junction: dev}, machine.Axes{})
	var d, v, corner []float64
	x, y, dir, lastV := 0.0, 0.0, 0.0, 0.0
	for range 3 * motion.LookAhead {
		turn := (0.02 + rnd.Float64()) * math.Pow(10, -3*rnd.Float64())
		dir += turn
		l := 300 * math.Pow(10, 2*rnd.Float64())
		speed := 500 + 4000*rnd.Float64()
		x, y = x+l*math.Cos(dir), y+l*math.Sin(dir)
		p.Line(at(x, y), machine.Feed(speed), false)
		low := math.Min(speed, lastV)
		s := math.Cos(turn / 2)
		c := low * low
		if math.Cos(turn) < 1-1e-6 {
			c = math.Min(c, a*dev*s/(1-s))
		}
		d, v, corner, lastV = append(d, l), append(v, speed), append(corner, c), speed
	}
	sum := 0.0
	for _, l := range d {
		sum += 2 * a * l
	}
	require.Greater(t, sum, 3e9)
	want := slowTime(d, v, corner, a, motion.LookAhead)
	assert.InDelta(t, want, p.Finish().Total, 1e-4*want)
}

// Into an arc and out of it through a turn of 60 degrees, in every plane and both ways
// round: 5.6851 mm/s, as in TestCorner, at both ends of it.
func TestCornersAtArcs(t *testing.T) {
	const r, q, v, a, corner = 30.0, math.Pi / 2, 50.0, 500.0, 5.6851
	leg := func(d, v0, v1 float64) float64 {
		return (2*v-v0-v1)/a + (d-(2*v*v-v0*v0-v1*v1)/(2*a))/v
	}
	sin, cos := math.Sincos(math.Pi / 3)
	s20, c20 := math.Sincos(math.Pi / 9) // so that no direction lies along an axis
	for axis := range 3 {
		for _, sign := range []float64{1, -1} {
			for _, turn := range []float64{1, -1} {
				pt := func(u, w float64) machine.Axes { return inPlane(axis, c20*u-s20*w, s20*u+c20*w, 0) }
				p := motion.NewPlanner(motion.Limits{AccelCut: a, Junction: 0.01}, pt(-50*cos, turn*50*sin))
				p.Line(pt(0, 0), v, false)
				p.Arc(motion.Arc{To: pt(r, sign*r), Center: pt(0, sign*r), Axis: axis, Sweep: sign * q}, v, false)
				p.Line(pt(r+turn*50*sin, sign*r+sign*50*cos), v, false)
				want := leg(50, 0, corner) + leg(r*q, corner, corner) + leg(50, corner, 0)
				assert.InDelta(t, want, p.Finish().Total, 1e-6, "axis %d sign %g turn %g", axis, sign, turn)
			}
		}
	}
}

// A rapid's acceleration and a cut's differ: the corner between them goes by the lesser.
func TestCornerBetweenRapidAndCut(t *testing.T) {
	// Through a right angle v² = a·dev·s/(1-s), s = sin 45 degrees: 3.4743² at a 500.
	const corner = 3.4743
	for _, back := range []bool{false, true} {
		p := motion.NewPlanner(motion.Limits{AccelCut: 500, AccelRap: 1000, Junction: 0.01, Rapid: 50}, machine.Axes{})
		if back {
			p.Line(at(50, 0), 50, false)
			p.Rapid(at(50, 50), false)
		} else {
			p.Rapid(at(50, 0), false)
			p.Line(at(50, 50), 50, false)
		}
		leg := func(a float64) float64 { return (100-corner)/a + (50-(5000-corner*corner)/(2*a))/50 }
		assert.InDelta(t, leg(500)+leg(1000), p.Finish().Total, 1e-6)
	}
}
