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

func at(x, y float64) machine.Axes { return machine.Axes{X: x, Y: y} }

// TestOneBlock holds single blocks from rest to rest against the trapezoid worked out by
// hand from mechanics: with vp² = a·D, t = 2·vp/a below the cap V, else V/a + D/V.
func TestOneBlock(t *testing.T) {
	for _, c := range []struct{ d, v, a, want float64 }{
		{100, 50, 500, 2.1}, {2, 50, 500, 0.126491}, {5, 50, 500, 0.2}, {1000, 200, 1000, 5.2},
		{0.5, 20, 500, 0.063246}, {30, 100, 300, 0.632456}, {1270, 300, 2000, 4.383333},
	} {
		t.Run(fmt.Sprint(c), func(t *testing.T) {
			p := motion.NewPlanner(motion.Limits{AccelCut: c.a}, machine.Axes{})
			p.Line(at(c.d, 0), machine.Feed(c.v), true)
			got := p.Finish()
			assert.InDelta(t, c.want, got.Total, 1e-6)
			assert.InDelta(t, c.want, got.Beam, 1e-6)
		})
	}
}

// TestCorner finds the speed through a corner from the time over two long legs. The speeds
// are those of the circle that passes the corner at 0.01 mm, a 500 mm/s².
func TestCorner(t *testing.T) {
	for _, c := range []struct{ turn, want float64 }{
		{30, 11.9054}, {45, 7.7901}, {60, 5.6851}, {90, 3.4743}, {120, 2.2361}, {150, 1.3214}, {180, 0},
	} {
		t.Run(fmt.Sprint(c.turn), func(t *testing.T) {
			p := motion.NewPlanner(motion.Limits{AccelCut: 500, Junction: 0.01}, machine.Axes{})
			p.Line(at(50, 0), 50, false)
			s, cos := math.Sincos(c.turn * math.Pi / 180)
			p.Line(at(50+50*cos, 50*s), 50, false)
			// Two legs from rest to v: t = (2V-v)/a + (50-(2V²-v²)/(2a))/V each, V 50, a 500.
			total := p.Finish().Total / 2
			want := 2*50.0/500 + (50-2*50*50/(2*500.0))/50 - c.want/500 + c.want*c.want/(2*500*50)
			assert.InDelta(t, want, total, 1e-6)
		})
	}
}

// TestThreeLegs: (0,0) (50,0) (50,50) (100,50) at 50 mm/s, a 500, deviation 0.01, and with a stop at each corner.
func TestThreeLegs(t *testing.T) {
	run := func(exact bool) float64 {
		p := motion.NewPlanner(motion.Limits{AccelCut: 500, Junction: 0.01}, machine.Axes{})
		p.Exact(exact)
		p.Line(at(50, 0), 50, false)
		p.Line(at(50, 50), 50, false)
		p.Line(at(100, 50), 50, false)
		return p.Finish().Total
	}
	assert.InDelta(t, 3.273171, run(false), 1e-6)
	assert.InDelta(t, 3.3, run(true), 1e-6)
}

// TestWholeJob: rapids at 200 mm/s and 1000 mm/s², cuts at 20 and 500, a stop between
// features: a circle of radius 10 and a rounded rectangle of 100 x 50, r 10.
func TestWholeJob(t *testing.T) {
	p := motion.NewPlanner(motion.Limits{Rapid: 200, AccelCut: 500, AccelRap: 1000, Junction: 0.01}, machine.Axes{})
	arc := func(to, c machine.Axes, sweep float64) {
		p.Arc(motion.Arc{To: to, Center: c, Axis: 2, Sweep: sweep}, 20, true)
	}
	p.Rapid(at(60, 25), false)
	p.Stop()
	arc(at(60, 25), at(50, 25), 2*math.Pi)
	p.Stop()
	p.Rapid(at(10, 0), false)
	p.Stop()
	q := math.Pi / 2
	p.Line(at(90, 0), 20, true)
	arc(at(100, 10), at(90, 10), q)
	p.Line(at(100, 40), 20, true)
	arc(at(90, 50), at(90, 40), q)
	p.Line(at(10, 50), 20, true)
	arc(at(0, 40), at(10, 40), q)
	p.Line(at(0, 10), 20, true)
	arc(at(10, 0), at(10, 10), q)
	p.Stop()
	p.Rapid(at(0, 0), false)
	got := p.Finish()
	assert.InDelta(t, 18.567694, got.Total, 1e-5)
	assert.InDelta(t, 3.181593+14.181593, got.Beam, 1e-5)
}

// TestArcCap: on an arc the speed is held to sqrt(a·r): 22.3607 at r 1, 50 at r 5, 119.5303 at r 28.575 with a 500.
func TestArcCap(t *testing.T) {
	for _, c := range []struct{ r, v float64 }{{1, 22.3607}, {5, 50}, {28.575, 119.5303}, {30, 122.4745}} {
		p := motion.NewPlanner(motion.Limits{AccelCut: 500}, at(c.r, 0))
		p.Arc(motion.Arc{To: at(c.r, 0), Axis: 2, Sweep: 2 * math.Pi}, 1000, false)
		d := 2 * math.Pi * c.r
		want := 2*c.v/500 + (d-c.v*c.v/500)/c.v
		assert.InDelta(t, want, p.Finish().Total, 1e-4, c.r)
	}
}

// TestChain: sixty blocks of 0.1 mm in one line take the 0.22 s of one block of 6 mm at 50 mm/s and 500 mm/s².
func TestChain(t *testing.T) {
	p := motion.NewPlanner(motion.Limits{AccelCut: 500}, machine.Axes{})
	for i := 1; i <= 60; i++ {
		p.Line(at(float64(i)/10, 0), 50, i%2 == 0)
	}
	got := p.Finish()
	assert.InDelta(t, 0.22, got.Total, 1e-9)
	assert.Less(t, got.Beam, got.Total)
}

// TestLookAheadBound: with a look-ahead of N blocks of length l the speed stays below
// sqrt(2·a·N·l), whatever the feed; and it comes near.
func TestLookAheadBound(t *testing.T) {
	const l, a, n = 0.01, 500.0, 20000
	p := motion.NewPlanner(motion.Limits{AccelCut: a}, machine.Axes{})
	for i := 1; i <= n; i++ {
		p.Line(at(float64(i)*l, 0), 10000, true)
	}
	fastest := math.Sqrt(2 * a * motion.LookAhead * l)
	got := p.Finish().Total
	assert.Greater(t, got, n*l/fastest)
	assert.Less(t, got, 1.02*(n*l/fastest+fastest/a))
}

// TestDwellAndStop: a dwell is added as it is and stops the machine.
func TestDwellAndStop(t *testing.T) {
	p := motion.NewPlanner(motion.Limits{AccelCut: 500}, machine.Axes{})
	p.Line(at(50, 0), 50, true)
	p.Dwell(2, true)
	p.Line(at(100, 0), 50, false)
	got := p.Finish()
	assert.InDelta(t, 1.1+2+1.1, got.Total, 1e-9)
	assert.InDelta(t, 1.1+2, got.Beam, 1e-9)
	assert.InDelta(t, 2, got.Dwell, 1e-9)
	assert.Equal(t, at(100, 0), p.At())
}

// TestNothingKnown: without accelerations the time is length over speed; without a speed there is none.
func TestNothingKnown(t *testing.T) {
	p := motion.NewPlanner(motion.Limits{Feed: 100, Rapid: 200}, machine.Axes{})
	p.Line(at(100, 0), 50, false)
	p.Line(at(200, 0), 500, false) // held to 100
	p.Line(at(300, 0), 0, false)   // as fast as it goes
	p.Rapid(at(500, 0), false)
	assert.InDelta(t, 2+1+1+1, p.Finish().Total, 1e-9)
	q := motion.NewPlanner(motion.Limits{AccelCut: 500}, machine.Axes{})
	q.Line(at(100, 0), 0, false)
	assert.Zero(t, q.Finish().Total)
}

// slowTime plans a list of blocks the long way: a backward and a forward pass over the
// next look blocks for every block, as a controller would.
func slowTime(d, v, corner []float64, a float64, look int) float64 {
	entry, total := 0.0, 0.0
	for i := range d {
		end := min(i+look, len(d))
		allowed := 0.0 // squared, at the end of what is known
		for k := end - 1; k > i; k-- {
			allowed = math.Min(corner[k], allowed+2*a*d[k])
		}
		exit := math.Min(allowed, entry+2*a*d[i])
		peak := math.Min(v[i]*v[i], a*d[i]+(entry+exit)/2)
		up, down := (peak-entry)/(2*a), (peak-exit)/(2*a)
		total += (math.Sqrt(peak)-math.Sqrt(entry))/a + (math.Sqrt(peak)-math.Sqrt(exit))/a + math.Max(0, d[i]-up-down)/math.Sqrt(peak)
		entry = exit
	}
	return total
}

// TestPlannerAgainstPasses runs random walks through the planner and through plain passes. No two blocks go
// on in one line, so none are held as one and the look-ahead is the same.
func TestPlannerAgainstPasses(t *testing.T) {
	for seed := int64(1); seed <= 8; seed++ {
		rnd := rand.New(rand.NewSource(seed))
		const a, dev = 700.0, 0.02
		n := 2500
		p := motion.NewPlanner(motion.Limits{AccelCut: a, Junction: dev}, machine.Axes{})
		var d, v, corner []float64
		x, y, dir, lastV := 0.0, 0.0, 0.0, 0.0
		for i := 0; i < n; i++ {
			turn := (0.02 + rnd.Float64()) * math.Pow(10, -3*rnd.Float64())
			dir += turn
			l := math.Pow(10, -2+3*rnd.Float64()*float64(seed)/8)
			speed := 20 + 100*rnd.Float64()
			x, y = x+l*math.Cos(dir), y+l*math.Sin(dir)
			p.Line(at(x, y), machine.Feed(speed), false)
			d, v = append(d, l), append(v, speed)
			low := math.Min(speed, lastV)
			s := math.Cos(turn / 2)
			c := low * low
			if math.Cos(turn) < 1-1e-6 {
				c = math.Min(c, a*dev*s/(1-s))
			}
			corner = append(corner, c)
			lastV = speed
		}
		want := slowTime(d, v, corner, a, motion.LookAhead)
		require.InDelta(t, want, p.Finish().Total, 1e-3*want, "seed %d", seed)
	}
}

// TestCloneGoesOnAlone: a copy made half way ends as the original does, and neither moves the other.
func TestCloneGoesOnAlone(t *testing.T) {
	p := motion.NewPlanner(motion.Limits{AccelCut: 500, Junction: 0.01}, machine.Axes{})
	p.Line(at(10, 0), 50, true)
	q := p.Clone()
	p.Line(at(10, 10), 50, true)
	q.Line(at(10, 10), 50, true)
	assert.Equal(t, p.Finish(), q.Finish())
}

func TestLimitsOf(t *testing.T) {
	m := machine.Profile{FeedMax: 1, RapidMax: 2, AccelCut: 3, AccelRap: 4, Junction: 5}
	assert.Equal(t, motion.Limits{Feed: 1, Rapid: 2, AccelCut: 3, AccelRap: 4, Junction: 5}, motion.LimitsOf(m))
}

// TestRowIsLines gives the same rows as rows and as lines: both take the same time.
func TestRowIsLines(t *testing.T) {
	rnd := rand.New(rand.NewSource(5))
	lim := motion.Limits{Feed: 120, Rapid: 300, AccelCut: 800, AccelRap: 2000, Junction: 0.02}
	for range 200 {
		row, line := motion.NewPlanner(lim, machine.Axes{}), motion.NewPlanner(lim, machine.Axes{})
		x, y, way := 0.0, 0.0, 1.0
		for range 1 + rnd.Intn(30) {
			xs := make([]float64, rnd.Intn(200))
			for i := range xs {
				switch rnd.Intn(40) {
				case 0:
					way = -way
				case 1: // the same place again
				default:
					x += way * (0.05 + rnd.Float64()/5)
				}
				xs[i] = x
			}
			feed, beam := machine.Feed(20+rnd.Intn(150)), rnd.Intn(2) == 0
			row.Row(xs, feed, beam)
			for _, x := range xs {
				line.Line(at(x, y), feed, beam)
			}
			require.Equal(t, line.At(), row.At())
			if y += 0.1; rnd.Intn(3) == 0 {
				row.Rapid(at(x, y), false)
				line.Rapid(at(x, y), false)
			} else {
				row.Line(at(x, y), feed, beam)
				line.Line(at(x, y), feed, beam)
			}
		}
		want, got := line.Finish(), row.Finish()
		require.InEpsilon(t, want.Total, got.Total, 1e-9)
		require.InDelta(t, want.Beam, got.Beam, 1e-9*want.Total)
	}
}
