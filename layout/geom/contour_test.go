package geom_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"github.com/peterstace/simplefeatures/geom"

	plane "spotjig/layout/geom"
)

// The rounded rectangle 100 x 50 r 10 by elementary geometry: perimeter
// 2·(80+30) + 20 pi = 282.831853, area 5000 - (4 - pi)·100.
func TestRoundedRectangle(t *testing.T) {
	for _, v := range variants(rounded(100, 50, 10)) {
		assert.InDelta(t, 282.831853, v.c.Length(), 1e-6, v.name)
		assert.InDelta(t, 4914.159265*v.sign, v.c.Area(), 1e-6, v.name)
	}
	assertBox(t, box(0, 0, 100, 50), rounded(100, 50, 10).Bounds(), 1e-12)
}

func TestZeroContour(t *testing.T) {
	var c plane.Contour
	assert.True(t, c.IsEmpty())
	assert.False(t, c.Closed())
	assert.Zero(t, c.Len())
	assert.Zero(t, c.Length())
	assert.Zero(t, c.Area())
	assert.Equal(t, plane.Point{}, c.Start())
	assert.Equal(t, plane.Point{}, c.End())
	assert.True(t, c.Bounds().IsEmpty())
	assert.False(t, c.Contains(plane.Point{}))
	assert.Empty(t, c.Segments())
	assert.Empty(t, c.Vertices())
}

func TestNewContourRefuses(t *testing.T) {
	nan := math.NaN()
	v := func(x, y, b float64) plane.Vertex {
		return plane.Vertex{At: plane.Point{X: x, Y: y}, Bulge: b}
	}
	for _, tc := range []struct {
		name string
		in   []plane.Vertex
		ok   bool
		says string
	}{
		{"two points", []plane.Vertex{v(0, 0, 1), v(10, 0, 1)}, true, ""},
		{"one point", []plane.Vertex{v(0, 0, 0)}, false, "fewer than two"},
		{"none", nil, false, "fewer than two"},
		{"the same point twice", []plane.Vertex{v(0, 0, 0), v(0, 0.000009, 0)}, false, "fewer than two"},
		{"just two points", []plane.Vertex{v(0, 0, 0), v(0, 0.000011, 0)}, true, ""},
		{"half a circle", []plane.Vertex{v(0, 0, -1), v(10, 0, 0)}, true, ""},
		{"more than half", []plane.Vertex{v(0, 0, 0), v(10, 0, 1.000001)}, false, "vertex 1 starts an arc"},
		{"not a number", []plane.Vertex{v(0, 0, 0), v(nan, 0, 0)}, false, "vertex 1 is not finite"},
		{"infinite", []plane.Vertex{v(0, math.Inf(1), 0), v(1, 0, 0)}, false, "vertex 0 is not finite"},
		{"bulge not a number", []plane.Vertex{v(0, 0, nan), v(1, 0, 0)}, false, "vertex 0 is not finite"},
	} {
		t.Run(tc.name, func(t *testing.T) {
			_, err := plane.NewClosed(tc.in...)
			if tc.ok {
				require.NoError(t, err)
				return
			}
			require.ErrorIs(t, err, plane.ErrShape)
			assert.Contains(t, err.Error(), tc.says)
		})
	}
	assert.Panics(t, func() { plane.MustClosed() })
	assert.Panics(t, func() { plane.MustOpen(v(0, 0, 0)) })
}

func TestContoursAreCopies(t *testing.T) {
	in := []plane.Vertex{{At: plane.Point{X: 0, Y: 0}}, {At: plane.Point{X: 10, Y: 0}}, {At: plane.Point{X: 0, Y: 10}}}
	c := plane.MustClosed(in...)
	in[1].At.X = 99
	c.Vertices()[1].At.X = 99
	c.Segments()[1].From.X = 99
	assert.InDelta(t, 50.0, c.Area(), 1e-12)
}

func TestOpenAndClosedEnds(t *testing.T) {
	c := chain(t, "0,0 10,0,1 10,10 0,10,0.5")
	assert.Equal(t, 3, c.Len())
	assert.Equal(t, plane.Point{X: 0, Y: 10}, c.End())
	assert.Zero(t, c.Area())
	assert.Zero(t, c.Vertices()[3].Bulge)
	assert.InDelta(t, 20+5*math.Pi, c.Length(), 1e-9)
	r := c.Reversed()
	assert.Equal(t, c.End(), r.Start())
	assert.Equal(t, c.Start(), r.End())
	assert.Equal(t, c.Vertices(), r.Reversed().Vertices())
	d := outline(t, "0,0 10,0,1 10,10 0,10,0.5")
	assert.Equal(t, d.Start(), d.Reversed().Start())
	assert.Equal(t, d.Vertices(), d.Reversed().Reversed().Vertices())
	assert.InDelta(t, -d.Area(), d.Reversed().Area(), 1e-9)
}

// A closed contour starts at its lowest, then leftmost, vertex, whichever it was drawn from.
func TestCanonicalStart(t *testing.T) {
	c := outline(t, "5,0 10,0 10,8 5,12 0,8")
	for i := 0; i < c.Len(); i++ {
		assert.Equal(t, c.Vertices(), c.StartAt(i).Canonical().Vertices())
	}
	// Equal to 1e-6 mm counts as equally low: the leftmost of the two starts.
	d := outline(t, "5,0.0000004 10,0 10,8")
	assert.Equal(t, 5.0, d.StartAt(1).Canonical().Start().X)
}

func TestTransformAndScale(t *testing.T) {
	c := dovetail(t)
	m := plane.Placement{X: 12, Y: -7, Turn: 37 * plane.Degree}
	assert.InDelta(t, c.Length(), c.Transform(m).Length(), 1e-9)
	assert.InDelta(t, c.Area(), c.Transform(m).Area(), 1e-8)
	assert.InDelta(t, c.Area()*1.002*1.002, c.Scaled(1.002).Area(), 1e-8)
	back := c.Transform(m).Transform(m.Inverse())
	for i, v := range back.Vertices() {
		assert.InDelta(t, 0, v.At.Dist(c.Vertices()[i].At), 1e-11)
	}
}

// polygon is the contour as a polygon of short chords for the oracle.
func polygon(t require.TestingT, c plane.Contour, step float64) geom.Polygon {
	var xy []float64
	for _, s := range c.Segments() {
		pts := sampleSegment(s, step)
		if s.Bulge == 0 {
			pts = []plane.Point{s.From, s.To}
		}
		for _, p := range pts[:len(pts)-1] {
			xy = append(xy, p.X, p.Y)
		}
	}
	xy = append(xy, xy[0], xy[1])
	ring := geom.NewLineString(geom.NewSequence(xy, geom.DimXY))
	return geom.NewPolygon([]geom.LineString{ring})
}

// Area, length and inside against github.com/peterstace/simplefeatures on a
// polygon of chords at most 0.02 mm long: on radius 2 a chord of 0.02 falls short
// of its arc by 2.5e-5 mm.
func TestAgainstPolygonLibrary(t *testing.T) {
	for name, c := range map[string]plane.Contour{
		"rounded": rounded(30, 20, 4), "slot": slot(10, 4), "dovetail": dovetail(t).Scaled(0.3),
		"notch": outline(t, "0,0 20,0 20,10,0.2 14,10 13,8,-0.9 9,8 8,10,0.1 0,10"),
	} {
		t.Run(name, func(t *testing.T) {
			p := polygon(t, c, 0.02)
			assert.InDelta(t, p.Area(), math.Abs(c.Area()), 1e-3)
			assert.InDelta(t, p.Boundary().Length(), c.Length(), 1e-3)
			b := c.Bounds()
			for i := 0; i <= 14; i++ {
				for k := 0; k <= 14; k++ {
					q := plane.Point{X: b.Min.X - 1 + (b.Width()+2)*(float64(i)+0.37)/15, Y: b.Min.Y - 1 + (b.Height()+2)*(float64(k)+0.41)/15}
					if _, d := c.Nearest(q); d < 0.001 {
						continue
					}
					in := geom.Intersects(p.AsGeometry(), geom.XY{X: q.X, Y: q.Y}.AsPoint().AsGeometry())
					assert.Equal(t, in, c.Contains(q), "%v", q)
				}
			}
		})
	}
}

// The exact area of a 100 x 50 plate with a 10 mm hole grown by 0.1 mm is
// 4954.601776 mm²; the polygon of the same offset comes close from below.
func TestOffsetAreaAgainstPolygonLibrary(t *testing.T) {
	plate, err := plane.Rect(box(0, 0, 100, 50)).Offset(0.1)
	require.NoError(t, err)
	hole, err := plane.Circle(plane.Point{X: 50, Y: 25}, 5).Reversed().Offset(0.1)
	require.NoError(t, err)
	diff, err := geom.Difference(polygon(t, plate, 0.002).AsGeometry(), polygon(t, hole, 0.002).AsGeometry())
	require.NoError(t, err)
	assert.InDelta(t, 4954.601776, diff.Area(), 1e-4)
	assert.InDelta(t, plate.Area()+hole.Area(), diff.Area(), 1e-4)
}

// Inside does not depend on where the contour starts or which way it runs, also
// for points level with its vertices.
func TestContainsIsTheSameHoweverDrawn(t *testing.T) {
	c := outline(t, "0,0 20,0 20,10,0.2 14,10 13,8,-0.9 9,8 8,10,0.1 0,10")
	for _, p := range []plane.Point{{X: 5, Y: 5}, {X: 10, Y: 9}, {X: 11, Y: 7}, {X: -1, Y: 10}, {X: 3, Y: 8}, {X: -5, Y: 0}, {X: 30, Y: 10}, {X: 17, Y: 10.5}, {X: 19, Y: 8}} {
		want := c.Contains(p)
		for i := 0; i < c.Len(); i++ {
			assert.Equal(t, want, c.StartAt(i).Contains(p), "%v start %d", p, i)
			assert.Equal(t, want, c.StartAt(i).Reversed().Contains(p), "%v start %d reversed", p, i)
		}
	}
}

// The middle of a circle lies on both of its chords, and was once outside.
func TestContainsOnTheChords(t *testing.T) {
	for _, turn := range []float64{0, 17, 45, 90, 135, 180, 211.3, 270} {
		m := plane.Placement{X: 100.3, Y: -7.9, Turn: plane.FromDegrees(turn)}
		c := plane.Circle(plane.Point{X: 3, Y: 4}, 2).Transform(m)
		for _, v := range variants(c)[:4] {
			b := v.c.Bounds()
			assert.True(t, v.c.Contains(b.Center()), "%v %s", turn, v.name)
		}
		for f := 0.05; f < 1; f += 0.05 {
			p := c.Segment(0).From.Add(c.Segment(0).To.Sub(c.Segment(0).From).Scale(f))
			assert.True(t, c.Contains(p), "%v", p)
			assert.True(t, c.Reversed().Contains(p), "%v", p)
		}
	}
	s := slot(20, 4)
	for _, p := range []plane.Point{{X: 0, Y: 0}, {X: 20, Y: 0}, {X: 10, Y: 0}, {X: 0, Y: 1}, {X: 20, Y: -1}} {
		assert.True(t, s.Contains(p), "%v", p)
	}
}

func TestContainsWithHalfCircles(t *testing.T) {
	c := plane.Circle(plane.Point{X: 3, Y: 4}, 2)
	rapid.Check(t, func(t *rapid.T) {
		p := plane.Point{X: rapid.Float64Range(0, 6).Draw(t, "x"), Y: rapid.Float64Range(1, 7).Draw(t, "y")}
		d := p.Dist(plane.Point{X: 3, Y: 4})
		if math.Abs(d-2) > 1e-9 {
			assert.Equal(t, d < 2, c.Contains(p))
			assert.Equal(t, d < 2, c.Reversed().Contains(p))
		}
	})
}

func TestNearestOnContour(t *testing.T) {
	c := rounded(100, 50, 10)
	for _, tc := range []struct {
		p, want plane.Point
		d       float64
	}{
		{plane.Point{X: 50, Y: -3}, plane.Point{X: 50, Y: 0}, 3},
		{plane.Point{X: 50, Y: 3}, plane.Point{X: 50, Y: 0}, 3},
		{plane.Point{X: 0, Y: 0}, plane.Point{X: 10 - 5*math.Sqrt2, Y: 10 - 5*math.Sqrt2}, 10*math.Sqrt2 - 10},
		{plane.Point{X: 110, Y: 25}, plane.Point{X: 100, Y: 25}, 10},
	} {
		got, d := c.Nearest(tc.p)
		assert.InDelta(t, tc.d, d, 1e-9)
		assert.InDelta(t, 0, got.Dist(tc.want), 1e-9)
	}
}
