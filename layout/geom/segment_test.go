package geom_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"spotjig/layout/geom"
)

// arcAt makes an arc from centre, radius, start and sweep in degrees, split in
// three so that no piece exceeds half a circle.
func arcAt(x, y, r, startDeg, sweepDeg float64) []geom.Segment {
	var out []geom.Segment
	at := func(deg float64) geom.Point {
		s, c := math.Sincos(deg * math.Pi / 180)
		return geom.Point{X: x + r*c, Y: y + r*s}
	}
	for i := 0.0; i < 3; i++ {
		out = append(out, geom.Segment{From: at(startDeg + sweepDeg*i/3), To: at(startDeg + sweepDeg*(i+1)/3), Bulge: math.Tan(sweepDeg / 3 * math.Pi / 720)})
	}
	return out
}

// Exact boxes of arcs: the ends and the quadrant points inside the sweep. The
// figures are elementary trigonometry, checked by sampling 20,000 points.
func TestArcBoxes(t *testing.T) {
	for _, tc := range []struct {
		x, y, r, start, sweep  float64
		xmin, ymin, xmax, ymax float64
	}{
		{0, 0, 10, 0, 90, 0, 0, 10, 10},
		{0, 0, 10, 30, 30, 5, 5, 8.660254, 8.660254},
		{0, 0, 10, 45, 90, -7.071068, 7.071068, 7.071068, 10},
		{0, 0, 10, -45, 90, 7.071068, -7.071068, 10, 7.071068},
		{0, 0, 10, 10, 350, -10, -10, 10, 10},
		{0, 0, 10, 0, 360, -10, -10, 10, 10},
		{0, 0, 10, 200, -150, -10, -3.420201, 6.427876, 10},
		{0, 0, 10, 300, -240, -10, -10, 5, 10},
		{100, 50, 25, 350, 20, 124.620194, 45.658796, 125, 54.341204},
		{0, 0, 10, 89.9, 0.2, -0.017453, 9.999985, 0.017453, 10},
		{0, 0, 10, 90.1, 0.2, -0.052360, 9.999863, -0.017453, 9.999985},
		{12.5, -3, 7.25, 135, 200, 5.25, -10.25, 19.070731, 2.126524},
		{5, 5, 2.5, 180, -180, 2.5, 5, 7.5, 7.5},
	} {
		b := geom.EmptyBox()
		for _, s := range arcAt(tc.x, tc.y, tc.r, tc.start, tc.sweep) {
			b = b.Union(s.Bounds())
			assertBox(t, s.Bounds(), s.Reversed().Bounds(), 1e-12)
		}
		assertBox(t, box(tc.xmin, tc.ymin, tc.xmax, tc.ymax), b, 1e-6)
	}
}

// Bulge = tan(sweep/4), positive counter-clockwise, as the DXF reference defines
// it for LWPOLYLINE (group code 42); centre, radius and box by elementary geometry.
func TestBulges(t *testing.T) {
	for _, tc := range []struct {
		x0, y0, x1, y1, bulge, sweepDeg, radius, cx, cy float64
		b                                               geom.Box
	}{
		{0, 0, 10, 0, 1, 180, 5, 5, 0, box(0, -5, 10, 0)},
		{0, 0, 10, 0, -1, -180, 5, 5, 0, box(0, 0, 10, 5)},
		{0, 0, 10, 0, 0.5, 106.2602, 6.25, 5, 3.75, box(0, -2.5, 10, 0)},
		{0, 0, 10, 0, -0.5, -106.2602, 6.25, 5, -3.75, box(0, 0, 10, 2.5)},
		{10, 0, 0, 10, 0.41421356, 90, 10, 0, 0, box(0, 0, 10, 10)},
		{0, 0, 10, 10, 0.41421356, 90, 10, 0, 10, box(0, 0, 10, 10)},
	} {
		s := geom.Segment{From: geom.Point{X: tc.x0, Y: tc.y0}, To: geom.Point{X: tc.x1, Y: tc.y1}, Bulge: tc.bulge}
		assert.InDelta(t, tc.sweepDeg, s.Sweep().Degrees(), 1e-4)
		assert.InDelta(t, tc.radius, s.Radius(), 1e-6)
		assert.InDelta(t, tc.cx, s.Center().X, 1e-6)
		assert.InDelta(t, tc.cy, s.Center().Y, 1e-6)
		assertBox(t, tc.b, s.Bounds(), 1e-6)
		assert.InDelta(t, tc.radius*math.Abs(tc.sweepDeg)*math.Pi/180, s.Length(), 1e-5)
	}
}

// drawSegment draws a line or an arc of any size met on a sheet.
func drawSegment(t *rapid.T, name string) geom.Segment {
	p := func(n string) geom.Point {
		return geom.Point{X: rapid.Float64Range(-50, 50).Draw(t, name+n+"x"), Y: rapid.Float64Range(-50, 50).Draw(t, name+n+"y")}
	}
	s := geom.Segment{From: p("from"), To: p("to")}
	if s.From.Dist(s.To) < 0.01 {
		t.Skip("too short")
	}
	switch rapid.IntRange(0, 2).Draw(t, name+"kind") {
	case 1:
		s.Bulge = rapid.Float64Range(-1, 1).Draw(t, name+"bulge")
	case 2:
		s.Bulge = rapid.SampledFrom([]float64{1, -1, quarter, -quarter, 0.001}).Draw(t, name+"bulge")
	}
	if math.Abs(s.Bulge) < 1e-4 {
		s.Bulge = 0
	}
	return s
}

func TestSegmentLaws(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := drawSegment(t, "s")
		f := rapid.Float64Range(0.01, 0.99).Draw(t, "f")
		a, b := s.Split(f)
		assert.InDelta(t, s.Length(), a.Length()+b.Length(), 1e-8)
		assert.InDelta(t, s.Length()*f, a.Length(), 1e-8)
		assert.Equal(t, a.To, b.From)
		assert.InDelta(t, 0, a.To.Dist(s.At(f)), 1e-9)
		assert.InDelta(t, 0, s.Reversed().At(1-f).Dist(s.At(f)), 1e-8)
		u, v := s.Tangent(f), s.Reversed().Tangent(1-f)
		assert.InDelta(t, -1, u.Dot(v), 1e-9)
		// The tangent is where the next point lies.
		step := s.At(f + 1e-6).Sub(s.At(f)).Unit()
		assert.InDelta(t, 1, u.Dot(step), 1e-6)
		if s.IsArc() {
			assert.InDelta(t, s.Radius(), s.At(f).Dist(s.Center()), 1e-6)
		}
		b0 := s.Bounds().Grow(1e-9)
		for i := 0.0; i <= 1; i += 0.05 {
			assert.True(t, b0.Contains(s.At(i)))
		}
	})
}

// Nearest against a dense walk along the segment.
func TestNearestIsTheNearest(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := drawSegment(t, "s")
		p := geom.Point{X: rapid.Float64Range(-60, 60).Draw(t, "px"), Y: rapid.Float64Range(-60, 60).Draw(t, "py")}
		q, d := s.Nearest(p)
		assert.InDelta(t, d, p.Dist(q), 1e-9)
		best := math.Inf(1)
		const step = 0.05
		for _, w := range sampleSegment(s, step) {
			best = math.Min(best, p.Dist(w))
		}
		assert.LessOrEqual(t, d, best+1e-7)
		assert.GreaterOrEqual(t, d, best-step)
		_, onto := s.Nearest(q)
		assert.InDelta(t, 0, onto, 1e-7, "the nearest point lies on the segment")
	})
}

// Crossings and Distance against dense sampling: the sampled distance is never
// below the exact one and at most a step above it.
func TestDistanceIsTheLeast(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s, o := drawSegment(t, "s"), drawSegment(t, "o")
		d := s.Distance(o)
		assert.InDelta(t, d, o.Distance(s), 1e-7)
		assert.InDelta(t, d, s.Reversed().Distance(o.Reversed()), 1e-7)
		const step = 0.25
		best := math.Inf(1)
		ps, po := sampleSegment(s, step), sampleSegment(o, step)
		for _, p := range ps {
			for _, q := range po {
				best = math.Min(best, math.Hypot(p.X-q.X, p.Y-q.Y))
			}
		}
		assert.LessOrEqual(t, d, best+1e-7)
		assert.GreaterOrEqual(t, d, best-2*step)
		for _, x := range s.Crossings(o) {
			_, a := s.Nearest(x)
			_, b := o.Nearest(x)
			assert.InDelta(t, 0, a, 1e-6)
			assert.InDelta(t, 0, b, 1e-6)
		}
	})
}

func TestKnownDistances(t *testing.T) {
	line := func(x0, y0, x1, y1 float64) geom.Segment {
		return geom.Segment{From: geom.Point{X: x0, Y: y0}, To: geom.Point{X: x1, Y: y1}}
	}
	arc := func(x0, y0, x1, y1, b float64) geom.Segment {
		s := line(x0, y0, x1, y1)
		s.Bulge = b
		return s
	}
	for _, tc := range []struct {
		name      string
		s, o      geom.Segment
		d         float64
		crossings int
	}{
		{"parallel lines", line(0, 0, 10, 0), line(5, 3, 20, 3), 3, 0},
		{"lines in line", line(0, 0, 10, 0), line(13, 0, 20, 0), 3, 0},
		{"lines that overlap", line(0, 0, 10, 0), line(5, 0, 20, 0), 0, 0},
		{"crossing lines", line(0, 0, 10, 10), line(0, 10, 10, 0), 0, 1},
		{"lines that share an end", line(0, 0, 10, 0), line(10, 0, 10, 5), 0, 1},
		{"line beside a half circle", line(-10, 7, 10, 7), arc(5, 0, -5, 0, 1), 2, 0},
		{"line through a half circle", line(-10, 3, 10, 3), arc(5, 0, -5, 0, 1), 0, 2},
		{"line that touches a half circle", line(-10, 5, 10, 5), arc(5, 0, -5, 0, 1), 0, 1},
		{"line behind the gap", line(-10, -2, 10, -2), arc(5, 0, -5, 0, 1), 2, 0},
		{"line inside an arc", line(-1, 1, 1, 1), arc(5, 0, -5, 0, 1), 5 - math.Sqrt2, 0},
		{"arcs side by side", arc(5, 0, -5, 0, 1), arc(17, 0, 7, 0, 1), 2, 0},
		{"arcs back to back", arc(5, 0, -5, 0, 1), arc(-3, 10, 3, 10, 1), 2, 0},
		{"concentric arcs", arc(5, 0, -5, 0, 1), arc(3, 0, -3, 0, 1), 2, 0},
		{"arcs on one circle", arc(5, 0, 0, 5, quarter), arc(-5, 0, 0, -5, quarter), 5 * math.Sqrt2, 0},
		{"crossing arcs", arc(5, 0, -5, 0, 1), arc(8, 4, -2, 4, 1), 0, 1},
		{"arcs that cross twice", arc(5, 0, -5, 0, 1), arc(-4, 7, 4, 7, 1), 0, 2},
	} {
		t.Run(tc.name, func(t *testing.T) {
			assert.InDelta(t, tc.d, tc.s.Distance(tc.o), 1e-9)
			assert.InDelta(t, tc.d, tc.o.Distance(tc.s), 1e-9)
			assert.Len(t, tc.s.Crossings(tc.o), tc.crossings)
			assert.Len(t, tc.o.Crossings(tc.s), tc.crossings)
		})
	}
}

func TestContourDistanceAndHolds(t *testing.T) {
	plate := rounded(100, 50, 10)
	hole := geom.Circle(geom.Point{X: 20, Y: 25}, 5).Reversed()
	assert.InDelta(t, 15, plate.Distance(hole), 1e-9)
	assert.InDelta(t, 15, hole.Distance(plate), 1e-9)
	assert.True(t, plate.Holds(hole, 15))
	assert.False(t, plate.Holds(hole, 15.01))
	assert.False(t, hole.Holds(plate, 0))
	out := geom.Circle(geom.Point{X: 20, Y: 60}, 5)
	assert.InDelta(t, 5, plate.Distance(out), 1e-9)
	assert.False(t, plate.Holds(out, 0))
	over := geom.Circle(geom.Point{X: 20, Y: 50}, 5)
	assert.Zero(t, plate.Distance(over))
	assert.False(t, plate.Holds(over, 0))
	assert.True(t, math.IsInf(plate.Distance(geom.Contour{}), 1))
	assert.False(t, plate.Holds(geom.Contour{}, 0))
	require.True(t, plate.Holds(chain(t, "20,20 30,20"), 5))
}

func TestVecLaws(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		f := rapid.Float64Range(-1e6, 1e6)
		v := geom.Vec{X: f.Draw(t, "vx"), Y: f.Draw(t, "vy")}
		w := geom.Vec{X: f.Draw(t, "wx"), Y: f.Draw(t, "wy")}
		assert.Equal(t, v.Cross(w), -w.Cross(v))
		assert.Zero(t, v.Cross(v))
		assert.Equal(t, v.Dot(w), w.Dot(v))
		assert.Zero(t, v.Dot(v.Left()))
		assert.Equal(t, v.Scale(-1), v.Left().Left())
	})
	assert.Equal(t, geom.Vec{}, geom.Vec{}.Unit())
}

func TestPlacementLaws(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		draw := func(n string) geom.Placement {
			m := geom.Placement{X: rapid.Float64Range(-3000, 3000).Draw(t, n+"x"), Y: rapid.Float64Range(-3000, 3000).Draw(t, n+"y")}
			if rapid.Bool().Draw(t, n+"square") {
				m.Turn = 90 * geom.Degree * geom.Angle(rapid.IntRange(-8, 8).Draw(t, n+"quarters"))
			} else {
				m.Turn = geom.FromDegrees(rapid.Float64Range(-720, 720).Draw(t, n+"turn"))
			}
			return m
		}
		m, n := draw("m"), draw("n")
		p := geom.Point{X: rapid.Float64Range(-3000, 3000).Draw(t, "x"), Y: rapid.Float64Range(-3000, 3000).Draw(t, "y")}
		assert.InDelta(t, 0, m.Inverse().Apply(m.Apply(p)).Dist(p), 1e-8)
		assert.InDelta(t, 0, m.Then(n).Apply(p).Dist(n.Apply(m.Apply(p))), 1e-8)
	})
	// Quarter turns are exact.
	p := geom.Placement{Turn: 450 * geom.Degree}.Apply(geom.Point{X: 0.1, Y: 0.7})
	assert.Equal(t, geom.Point{X: -0.7, Y: 0.1}, p)
}

func TestBoxes(t *testing.T) {
	e := geom.EmptyBox()
	assert.True(t, e.IsEmpty())
	b := box(0, 0, 10, 5)
	assert.Equal(t, b, b.Union(e))
	assert.Equal(t, b, e.Union(b))
	assert.Equal(t, box(-1, -1, 11, 6), b.Grow(1))
	assert.Equal(t, 10.0, b.Width())
	assert.Equal(t, 5.0, b.Height())
	assert.Equal(t, geom.Point{X: 5, Y: 2.5}, b.Center())
	assert.True(t, b.Contains(geom.Point{X: 10, Y: 5}))
	assert.False(t, b.Contains(geom.Point{X: 10.01, Y: 5}))
	assert.True(t, b.Holds(box(0, 0, 10, 5)))
	assert.False(t, b.Holds(box(0, 0, 10, 5.01)))
	assert.False(t, b.Overlaps(box(10, 0, 20, 5)), "boxes that touch do not overlap")
	assert.True(t, b.Overlaps(box(9.99, 0, 20, 5)))
}
