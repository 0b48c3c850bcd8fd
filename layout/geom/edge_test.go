package geom_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"spotjig/layout/geom"
)

// What changes of single signs and terms showed to be untested. Figures are
// elementary geometry.

// Vertices nearer than 0.00001 mm to the one before are one, wherever they stand:
// at the start, along the way, and where a closed contour comes back to its start.
func TestRepeatedVerticesAreOne(t *testing.T) {
	want := outline(t, "0,0 10,0,0.5 10,10 0,10")
	for _, text := range []string{
		"0,0 0,0 10,0,0.5 10,10 0,10",
		"0,0 0.000009,0 10,0,0.5 10,10 0,10",
		"0,0 10,0,0.3 10,0,0.5 10,10 0,10",
		"0,0 10,0,0.5 10,10 0,10 0,0",
		"0,0 10,0,0.5 10,10 0,10 0,0.000009",
	} {
		c := outline(t, text)
		require.Equal(t, want.Len(), c.Len(), text)
		for i, v := range c.Vertices() {
			assert.InDelta(t, 0, v.At.Dist(want.Vertices()[i].At), 1e-5, text)
			assert.Equal(t, want.Vertices()[i].Bulge, v.Bulge, text)
		}
	}
	// An open chain that comes back to its start keeps its last vertex.
	assert.Equal(t, 4, chain(t, "0,0 10,0 10,10 0,10 0,0").Len())
	// 0.000011 mm apart are two.
	assert.Equal(t, 5, outline(t, "0,0 10,0 10,10 0,10 0,0.000011").Len())
	assert.Equal(t, 5, outline(t, "0,0 0.000011,0 10,0 10,10 0,10").Len())
}

func TestInfinitiesOfBothSignsAreRefused(t *testing.T) {
	for _, f := range []float64{math.NaN(), math.Inf(1), math.Inf(-1)} {
		for _, v := range []geom.Vertex{{At: geom.Point{X: f}}, {At: geom.Point{Y: f}}, {Bulge: f}} {
			_, err := geom.NewClosed(v, geom.Vertex{At: geom.Point{X: 10, Y: 10}})
			require.ErrorIs(t, err, geom.ErrShape, "%v", v)
		}
		_, err := geom.Rect(box(0, 0, 10, 10)).Offset(f)
		require.ErrorIs(t, err, geom.ErrShape, "%v", f)
	}
}

// The same chain walked backwards: every arc bulges to the other hand, so each
// point of the way is the same.
func TestReversedChainIsTheSameWay(t *testing.T) {
	c := chain(t, "0,0,0.3 10,0,1 10,10,-0.5 0,10,0.2 -5,20")
	r := c.Reversed()
	require.Equal(t, c.Len(), r.Len())
	for i := range c.Segments() {
		s, q := c.Segment(i), r.Segment(c.Len()-1-i)
		for f := 0.0; f <= 1; f += 0.125 {
			assert.InDelta(t, 0, s.At(f).Dist(q.At(1-f)), 1e-12, "segment %d at %g", i, f)
		}
	}
}

// The lowest vertex wins by 0.0001 mm, the last printed digit, though another lies
// further left.
func TestCanonicalStartTellsPrintedDigitsApart(t *testing.T) {
	c := outline(t, "0,0.0001 10,0 10,8 0,8")
	assert.Equal(t, geom.Point{X: 10, Y: 0}, c.Canonical().Start())
	d := outline(t, "0.0001,0 10,5 0,0 -5,5")
	assert.Equal(t, geom.Point{X: 0, Y: 0}, d.Canonical().Start())
}

// An open chain has no inside, even where its ends nearly meet.
func TestOpenChainHoldsNothing(t *testing.T) {
	c := chain(t, "0,0 10,0 10,10 0,10")
	assert.False(t, c.Contains(geom.Point{X: 5, Y: 5}))
	assert.False(t, c.Holds(geom.Circle(geom.Point{X: 5, Y: 5}, 1), 0))
}

// Crossings come in order along the first segment, drawn either way. A circle of
// radius 5 about 0,0 is met by y = 3 at x = -4 and 4 (3-4-5), and by the circle of
// radius 5 about 0,6 at the same two points.
func TestCrossingsComeInOrder(t *testing.T) {
	line := geom.Segment{From: geom.Point{X: -9, Y: 3}, To: geom.Point{X: 9, Y: 3}}
	half := geom.Segment{From: geom.Point{X: 5}, To: geom.Point{X: -5}, Bulge: 1}
	other := geom.Segment{From: geom.Point{X: -5, Y: 6}, To: geom.Point{X: 5, Y: 6}, Bulge: 1}
	for _, tc := range []struct {
		name string
		s, o geom.Segment
		x    float64
	}{
		{"line", line, half, -4},
		{"line back", line.Reversed(), half, 4},
		{"arc and line", half, line, 4},
		{"arc back and line", half.Reversed(), line, -4},
		{"arcs", half, other, 4},
		{"arc back and arc", half.Reversed(), other, -4},
		{"arcs, second first", other, half, -4},
	} {
		p := tc.s.Crossings(tc.o)
		require.Len(t, p, 2, tc.name)
		assert.InDelta(t, 0, p[0].Dist(geom.Point{X: tc.x, Y: 3}), 1e-9, tc.name)
		assert.InDelta(t, 0, p[1].Dist(geom.Point{X: -tc.x, Y: 3}), 1e-9, tc.name)
	}
}

// Half a disc of radius 10 made smaller by 1: the arc has radius 9 and is cut back
// where it meets the line y = 1, at x = ±sqrt(81 - 1). By Pythagoras and the
// circular segment, r²(w - sin w)/2 with w = pi - 2 asin(1/9).
func TestOffsetCutsArcsBack(t *testing.T) {
	half := outline(t, "10,0,1 -10,0")
	w := math.Pi - 2*math.Asin(1.0/9)
	x := math.Sqrt(80)
	for _, v := range variants(half) {
		o, err := v.c.Offset(-v.sign)
		require.NoError(t, err, v.name)
		assert.Equal(t, 2, o.Len(), v.name)
		assert.InDelta(t, 9*w+2*x, o.Length(), 1e-9, v.name)
		assert.InDelta(t, 81*(w-math.Sin(w))/2, math.Abs(o.Area()), 1e-9, v.name)
	}
	o, err := half.Offset(-1)
	require.NoError(t, err)
	assertBox(t, box(-x, 1, x, 9), o.Bounds(), 1e-9)
}

// A tombstone, its half circle of radius 10 about 0,10 joined smoothly on the right
// and coming to a corner on the left, made smaller by 1: on the left the arc is cut
// back where the circle x² + (y-10)² = 81 meets the line x + y = sqrt(2), which lies
// 1 beside x + y = 0. With c = 10 - sqrt(2), 2x² + 2cx + c² = 81.
func TestOffsetCutsOneEndOfAnArcBack(t *testing.T) {
	stone := outline(t, "0,0 10,0 10,10,1 -10,10")
	c := 10 - math.Sqrt2
	x := (-c - math.Sqrt(162-c*c)) / 2
	cut := geom.Point{X: x, Y: math.Sqrt2 - x}
	sweep := math.Pi - math.Atan2(cut.Y-10, -cut.X)
	foot := geom.Point{X: math.Sqrt2 - 1, Y: 1} // where y = 1 meets x + y = sqrt(2)
	want := 9*sweep + cut.Dist(foot) + (9 - foot.X) + 9
	for _, v := range variants(stone) {
		o, err := v.c.Offset(-v.sign)
		require.NoError(t, err, v.name)
		assert.Equal(t, 4, o.Len(), v.name)
		assert.InDelta(t, want, o.Length(), 1e-9, v.name)
	}
}

// A half circle and its own chord meet at its ends, first at its start, however
// rounding puts them.
func TestCrossingsOfAHalfCircleAndItsChord(t *testing.T) {
	for deg := 0.0; deg < 360; deg += 3 {
		m := geom.Placement{X: 3.7, Y: -11.3, Turn: geom.FromDegrees(deg)}
		for _, b := range []float64{1, -1} {
			s := geom.Segment{From: m.Apply(geom.Point{X: 4.3}), To: m.Apply(geom.Point{X: -4.3}), Bulge: b}
			p := s.Crossings(geom.Segment{From: s.To, To: s.From})
			require.Len(t, p, 2, "turned by %g", deg)
			assert.InDelta(t, 0, p[0].Dist(s.From), 1e-7, "turned by %g", deg)
			assert.InDelta(t, 0, p[1].Dist(s.To), 1e-7, "turned by %g", deg)
		}
	}
}

// A corner that an offset cannot make is named in the contour as given: the step of
// 0.5 mm in one edge of the bar goes under in 1 mm, on whichever side that is.
func TestOffsetNamesTheCorner(t *testing.T) {
	c := outline(t, "0,0 40,0 40,10 20,10 20,10.5 0,10.5")
	_, right := c.Reversed().Offset(1)
	_, left := c.Offset(-1)
	require.ErrorIs(t, right, geom.ErrShape)
	require.ErrorIs(t, left, geom.ErrShape)
	for _, err := range []error{right, left} {
		assert.Regexp(t, `\((20\.0000, 10\.\d000|40\.0000, 10\.0000|0\.0000, 10\.5000)\)`, err.Error())
	}
}

// Boxes that lie off 0: width, height, what is empty, what touches.
func TestBoxesAwayFromZero(t *testing.T) {
	b := box(3, 20, 13, 25)
	assert.Equal(t, 10.0, b.Width())
	assert.Equal(t, 5.0, b.Height())
	assert.False(t, b.IsEmpty())
	assert.False(t, box(3, 20, 3, 20).IsEmpty(), "a point is something")
	assert.True(t, box(3, 20, 2, 25).IsEmpty())
	assert.True(t, box(3, 20, 13, 19).IsEmpty())
	assert.True(t, math.IsInf(geom.EmptyBox().Max.X, -1))
	assert.True(t, math.IsInf(geom.EmptyBox().Max.Y, -1))
	for _, c := range []geom.Box{box(13, 20, 15, 25), box(0, 20, 3, 25), box(3, 25, 13, 30), box(3, 10, 13, 20)} {
		assert.False(t, b.Overlaps(c), "%v only touches", c)
		assert.False(t, c.Overlaps(b), "%v only touches", c)
	}
}

// Whole turns and turns the other way, against the sine and cosine of the same angle.
func TestTurnsOfAnySign(t *testing.T) {
	for deg := -720.0; deg <= 720; deg += 15 {
		s, c := math.Sincos(deg * math.Pi / 180)
		got := geom.Placement{Turn: geom.FromDegrees(deg)}.Rotate(geom.Vec{X: 2, Y: 1})
		assert.InDelta(t, 2*c-s, got.X, 1e-12, "%g", deg)
		assert.InDelta(t, 2*s+c, got.Y, 1e-12, "%g", deg)
		if math.Mod(deg, 90) == 0 {
			assert.Equal(t, math.Round(got.X), got.X, "quarter turns are exact: %g", deg)
			assert.Equal(t, math.Round(got.Y), got.Y, "quarter turns are exact: %g", deg)
		}
		rest := geom.FromDegrees(deg).Rest()
		assert.InDelta(t, math.Mod(deg, 360), rest.Degrees(), 1e-9)
		if math.Mod(deg, 90) == 0 {
			assert.Equal(t, math.Mod(deg, 360)+0, rest.Degrees(), "%g", deg)
			assert.Equal(t, rest, (rest + 1e-13).Rest(), "a quarter turn within rounding: %g", deg)
			assert.NotEqual(t, rest, (rest + 1e-11).Rest(), "beyond rounding: %g", deg)
		}
	}
}

// A line as the arc it is not: no radius, its middle for a centre, and its ends
// returned exactly.
func TestLinesAsSegments(t *testing.T) {
	s := geom.Segment{From: geom.Point{X: 0.1, Y: 0.7}, To: geom.Point{X: 1.3, Y: -2.9}}
	assert.True(t, math.IsInf(s.Radius(), 1))
	assert.InDelta(t, 0, s.Center().Dist(geom.Point{X: 0.7, Y: -1.1}), 1e-12)
	for _, b := range []float64{0, 1, -0.3} {
		s.Bulge = b
		assert.Equal(t, s.From, s.At(0))
		assert.Equal(t, s.To, s.At(1))
	}
	p := geom.Point{X: 5, Y: 5}
	q, d := geom.Segment{From: p, To: p}.Nearest(geom.Point{X: 8, Y: 9})
	assert.Equal(t, p, q)
	assert.InDelta(t, 5, d, 1e-12)
	// A quarter circle's own centre is as far from all of it as its radius.
	arc := geom.Segment{From: geom.Point{X: 5}, To: geom.Point{Y: 5}, Bulge: quarter}
	_, d = arc.Nearest(geom.Point{})
	assert.InDelta(t, 5, d, 1e-9)
}

// Touching is not holding, and no room at all is not held.
func TestHoldsNeitherWhatTouchesNorNothing(t *testing.T) {
	plate := geom.Rect(box(0, 0, 20, 20))
	assert.False(t, plate.Holds(geom.Rect(box(0, 5, 10, 10)), 0), "shares a stretch of edge")
	assert.True(t, plate.Holds(geom.Rect(box(0.5, 5, 10, 10)), 0))
	assert.True(t, plate.Holds(geom.Rect(box(0.5, 5, 10, 10)), 0.5))
	assert.False(t, geom.Contour{}.Holds(plate, 0))
}

// Boxes may only save work: the distance of many-sided contours that stand in each
// direction from another is that of their nearest corners, 3 along and 4 across.
func TestDistanceInEveryDirection(t *testing.T) {
	star := rounded(10, 6, 2)
	for _, sx := range []float64{-1, 0, 1} {
		for _, sy := range []float64{-1, 0, 1} {
			if sx == 0 && sy == 0 {
				continue
			}
			o := geom.Rect(box(0, 0, 10, 6)).Transform(geom.Placement{X: sx * 13, Y: sy * 10})
			want := math.Hypot(sx*3, sy*4)
			if sx != 0 && sy != 0 { // from the corner's round of radius 2 about its centre
				want = math.Hypot(5, 6) - 2
			}
			assert.InDelta(t, want, star.Distance(o), 1e-9, "%g %g", sx, sy)
			assert.InDelta(t, want, o.Distance(star), 1e-9, "%g %g", sx, sy)
		}
	}
}

// A segment moved is the line or arc through its moved points.
func TestSegmentsMove(t *testing.T) {
	m := geom.Placement{X: 7, Y: -2, Turn: 30 * geom.Degree}
	for _, b := range []float64{0, 1, -0.4} {
		s := geom.Segment{From: geom.Point{X: 1, Y: 2}, To: geom.Point{X: 5, Y: -1}, Bulge: b}
		for f := 0.0; f <= 1; f += 0.25 {
			assert.InDelta(t, 0, s.Transform(m).At(f).Dist(m.Apply(s.At(f))), 1e-12)
		}
	}
	assert.Equal(t, geom.Vec{X: 4, Y: -7}, geom.Vec{X: 3, Y: -2}.Add(geom.Vec{X: 1, Y: -5}))
}
