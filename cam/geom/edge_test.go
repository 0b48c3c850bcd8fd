package geom_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"spotjig/cam/geom"
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
