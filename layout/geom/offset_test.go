package geom_test

import (
	"math"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"spotjig/layout/geom"
)

// Kerf figures by elementary geometry: k = 0.18, the path runs k/2 outside an
// outline and inside an opening. Rounded rectangle 100 x 50 r 10: perimeter
// 280 - 80 + 20 pi = 282.831853 before, 2·(80+30) + 2·pi·10.09 = 283.397340 after.
func TestOffsetOfKnownShapes(t *testing.T) {
	for _, tc := range []struct {
		name         string
		c            geom.Contour
		d            float64
		length, area float64
		box          geom.Box
		segments     int
	}{
		{"rounded rectangle outwards", rounded(100, 50, 10), 0.09, 283.397340, 4914.159265 + 282.831853*0.09 + math.Pi*0.0081, box(-0.09, -0.09, 100.09, 50.09), 8},
		{"rounded rectangle inwards", rounded(100, 50, 10), -0.09, 282.831853 - 2*math.Pi*0.09, 4914.159265 - 282.831853*0.09 + math.Pi*0.0081, box(0.09, 0.09, 99.91, 49.91), 8},
		{"sharp rectangle outwards", geom.Rect(box(0, 0, 100, 50)), 0.09, 300 + 2*math.Pi*0.09, 5000 + 300*0.09 + math.Pi*0.0081, box(-0.09, -0.09, 100.09, 50.09), 8},
		{"sharp rectangle inwards", geom.Rect(box(0, 0, 100, 50)), -0.09, 300 - 8*0.09, 99.82 * 49.82, box(0.09, 0.09, 99.91, 49.91), 4},
		{"ball hole, clockwise", geom.Circle(geom.Point{X: 5, Y: 7}, 57.15/2).Reversed(), 0.09, math.Pi * 56.97, -math.Pi * 56.97 * 56.97 / 4, box(5-28.485, 7-28.485, 5+28.485, 7+28.485), 2},
		{"slot, clockwise", slot(40, 3.1), 0.09, 80 + math.Pi*2.92, -(40*2.92 + math.Pi*2.92*2.92/4), box(-1.46, -1.46, 41.46, 1.46), 4},
	} {
		t.Run(tc.name, func(t *testing.T) {
			o, err := tc.c.Offset(tc.d)
			require.NoError(t, err)
			assert.InDelta(t, tc.length, o.Length(), 1e-6)
			assert.InDelta(t, tc.area, o.Area(), 1e-6)
			assertBox(t, tc.box, o.Bounds(), 1e-9)
			assert.Equal(t, tc.segments, o.Len())
		})
	}
}

// A 100 x 50 plate with a 10 mm hole, both grown into the waste by -0.1 (the
// plate grows, the hole shrinks): exact area 100·50 + 300·0.1 + pi·0.01 of the
// plate less pi·4.9² of the hole = 4954.601776.
func TestOffsetOfPlateWithHole(t *testing.T) {
	plate, err := geom.Rect(box(0, 0, 100, 50)).Offset(0.1)
	require.NoError(t, err)
	hole, err := geom.Circle(geom.Point{X: 50, Y: 25}, 5).Reversed().Offset(0.1)
	require.NoError(t, err)
	assert.InDelta(t, 4954.601776, plate.Area()+hole.Area(), 1e-6)
}

// Inside corner r 2.5 -> path r 2.41 and outside corner r 10 -> 10.09 at k 0.18.
func TestOffsetOfFilletAndCorner(t *testing.T) {
	c := outline(t, "0,0 100,0 100,80 60,80 60,42.5,-0.414213562373095 57.5,40 0,40")
	o, err := c.Offset(0.09)
	require.NoError(t, err)
	var radii []float64
	for _, s := range o.Segments() {
		if s.IsArc() && s.Bulge < 0 {
			radii = append(radii, s.Radius())
		}
	}
	require.Len(t, radii, 1)
	assert.InDelta(t, 2.41, radii[0], 1e-9)
}

func TestOffsetIsTheSameHoweverDrawn(t *testing.T) {
	for name, c := range map[string]geom.Contour{
		"rounded": rounded(100, 50, 10), "slot": slot(40, 3.1), "dovetail": dovetail(t),
		"notch with arcs": outline(t, "0,0 100,0 100,50,0.2 60,50 55,42,-0.9 45,42 40,50,0.1 0,50"),
	} {
		for _, d := range []float64{0.05, 0.175, -0.05, -0.175} {
			want, err := c.Offset(d)
			require.NoError(t, err, name)
			for _, v := range variants(c) {
				got, err := v.c.Offset(d * v.sign)
				require.NoError(t, err, "%s %s", name, v.name)
				assert.InDelta(t, want.Length(), got.Length(), 1e-8, "%s %s", name, v.name)
				assert.InDelta(t, math.Abs(want.Area()), math.Abs(got.Area()), 1e-6, "%s %s", name, v.name)
				assert.Equal(t, want.Len(), got.Len(), "%s %s", name, v.name)
			}
		}
	}
}

// sampleDistance is the oracle: the least distance from p to a dense sampling
// of the contour, by nothing but sine, cosine and Pythagoras.
func sampleDistance(c geom.Contour, p geom.Point, step float64) float64 {
	best := math.Inf(1)
	for _, s := range c.Segments() {
		for _, q := range sampleSegment(s, step) {
			best = math.Min(best, math.Hypot(p.X-q.X, p.Y-q.Y))
		}
	}
	return best
}

// sampleSegment walks a segment without the geometry under test: for an arc it
// rebuilds the circle from chord and rise.
func sampleSegment(s geom.Segment, step float64) []geom.Point {
	dx, dy := s.To.X-s.From.X, s.To.Y-s.From.Y
	chord := math.Hypot(dx, dy)
	n := int(chord*math.Pi/2/step) + 2
	out := make([]geom.Point, 0, n+1)
	if s.Bulge == 0 {
		for i := 0; i <= n; i++ {
			f := float64(i) / float64(n)
			out = append(out, geom.Point{X: s.From.X + f*dx, Y: s.From.Y + f*dy})
		}
		return out
	}
	sweep := 4 * math.Atan(s.Bulge)
	r := chord / 2 / math.Sin(math.Abs(sweep)/2)
	// The centre lies on the left of the chord for a counter-clockwise arc.
	h := r * math.Cos(sweep/2) * math.Copysign(1, sweep)
	cx := (s.From.X+s.To.X)/2 - h*dy/chord
	cy := (s.From.Y+s.To.Y)/2 + h*dx/chord
	a := math.Atan2(s.From.Y-cy, s.From.X-cx)
	for i := 0; i <= n; i++ {
		w := a + sweep*float64(i)/float64(n)
		out = append(out, geom.Point{X: cx + r*math.Cos(w), Y: cy + r*math.Sin(w)})
	}
	return out
}

// Every point of an offset lies d from the contour, and the contour is followed
// all the way round: every inner point of a segment has offset d away on its waste
// side unless a concave corner hides it.
func TestOffsetLiesAtItsDistance(t *testing.T) {
	for name, c := range map[string]geom.Contour{
		"rounded": rounded(30, 20, 4), "slot": slot(10, 3.1), "dovetail": dovetail(t).Scaled(0.3),
		"notch": outline(t, "0,0 20,0 20,10,0.2 14,10 13,8,-0.9 9,8 8,10,0.1 0,10"),
	} {
		t.Run(name, func(t *testing.T) {
			for _, d := range []float64{0.3, -0.3} {
				o, err := c.Offset(d)
				require.NoError(t, err)
				for _, s := range o.Segments() {
					for _, p := range sampleSegment(s, 1) {
						got := sampleDistance(c, p, 0.01)
						// Samples 0.01 apart see a distance of 0.3 at most
						// sqrt(0.3² + 0.005²) - 0.3 = 4.2e-5 too long.
						assert.InDelta(t, 0.3, got, 5e-5)
						assert.Equal(t, d > 0, c.Contains(p) != (c.Area() > 0), "side of %v", p)
					}
				}
			}
		})
	}
}

func TestOffsetRefusals(t *testing.T) {
	for _, tc := range []struct {
		name string
		c    geom.Contour
		d    float64
		ok   bool
		says string
	}{
		{"hole just large enough", geom.Circle(geom.Point{}, 1.00).Reversed(), 0.99, true, ""},
		{"hole swallowed", geom.Circle(geom.Point{}, 1.00).Reversed(), 1.00, false, "radius of only 1.0000 mm"},
		{"fillet just large enough", outline(t, "0,0 20,0 20,20 10,20 10,11,-0.414213562373095 9,10 0,10"), 0.99, true, ""},
		{"fillet swallowed", outline(t, "0,0 20,0 20,20 10,20 10,11,-0.414213562373095 9,10 0,10"), 1.01, false, "vertex 4 (10.0000, 11.0000)"},
		{"bar just wide enough", geom.Rect(box(0, 0, 20, 2)), -0.99, true, ""},
		{"bar too narrow", geom.Rect(box(0, 0, 20, 2)), -1.01, false, "vertex"},
		{"slot in an edge wide enough", outline(t, "0,0 30,0 30,20 16,20 16,5 14,5 14,20 0,20"), 0.99, true, ""},
		{"slot in an edge too narrow", outline(t, "0,0 30,0 30,20 16,20 16,5 14,5 14,20 0,20"), 1.01, false, "vertex"},
		{"neck closes far from any corner", outline(t, "0,0 30,0 30,20,-0.9 0,20"), -4, false, "comes within"},
		{"not a number", geom.Rect(box(0, 0, 1, 1)), math.NaN(), false, "not finite"},
		{"open chain", chain(t, "0,0 1,0"), 0.1, false, "open"},
		{"empty", geom.Contour{}, 0.1, false, "empty"},
	} {
		t.Run(tc.name, func(t *testing.T) {
			_, err := tc.c.Offset(tc.d)
			if tc.ok {
				require.NoError(t, err)
				return
			}
			require.ErrorIs(t, err, geom.ErrShape)
			assert.Contains(t, err.Error(), tc.says)
		})
	}
}

// The refusal names the vertex of the contour as given, on whichever side the offset is.
func TestOffsetNamesTheVertexOnEitherSide(t *testing.T) {
	c := outline(t, "0,0 20,0 20,20 10,20 10,11,-0.414213562373095 9,10 0,10")
	_, right := c.Offset(1.5)
	_, left := c.Reversed().Offset(-1.5)
	require.Error(t, right)
	require.Error(t, left)
	assert.Contains(t, right.Error(), "vertex 4 (10.0000, 11.0000)")
	// Drawn the other way the same arc starts at its other end.
	assert.Contains(t, left.Error(), "vertex 2 (9.0000, 10.0000)")
}

func TestOffsetByNothingIsTheContour(t *testing.T) {
	c := dovetail(t)
	o, err := c.Offset(0)
	require.NoError(t, err)
	assert.Equal(t, c.Vertices(), o.Vertices())
}

// Steiner's formula: a convex shape of perimeter P and area A grown by d has
// perimeter P + 2 pi d and area A + P d + pi d² (any text on convex geometry).
func TestOffsetOfConvexShapesObeysSteiner(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c := drawConvex(t)
		d := rapid.Float64Range(0.02, 5).Draw(t, "d")
		o, err := c.Offset(d)
		require.NoError(t, err)
		assert.InDelta(t, c.Length()+2*math.Pi*d, o.Length(), 1e-6)
		assert.InDelta(t, c.Area()+c.Length()*d+math.Pi*d*d, o.Area(), 1e-5)
		// Half of the way back; all the way would shrink the corner arcs to nothing.
		back, err := o.Offset(-d / 2)
		require.NoError(t, err)
		half, err := c.Offset(d / 2)
		require.NoError(t, err)
		assert.InDelta(t, half.Length(), back.Length(), 1e-6)
		assert.InDelta(t, half.Area(), back.Area(), 1e-5)
	})
}

// drawConvex draws a convex polygon on a circle of radius 20 to 200, some of
// its sides bulging outwards no further than the circle.
func drawConvex(t *rapid.T) geom.Contour {
	n := rapid.IntRange(3, 12).Draw(t, "n")
	r := rapid.Float64Range(20, 200).Draw(t, "r")
	var v []geom.Vertex
	gap := 2 * math.Pi / float64(n)
	var at []float64
	for i := 0; i < n; i++ {
		at = append(at, gap*(float64(i)+0.6*rapid.Float64Range(0, 1).Draw(t, "at")))
	}
	for i, a := range at {
		w := math.Mod(at[(i+1)%n]-a+2*math.Pi, 2*math.Pi)
		b := 0.0
		if rapid.Bool().Draw(t, "arc") && w < math.Pi {
			b = math.Tan(w/4) * rapid.Float64Range(0.1, 1).Draw(t, "share")
		}
		v = append(v, geom.Vertex{At: geom.Point{X: r * math.Cos(a), Y: r * math.Sin(a)}, Bulge: b})
	}
	return geom.MustClosed(v...)
}

func TestOffsetErrorIsOneLine(t *testing.T) {
	_, err := geom.Rect(box(0, 0, 20, 2)).Offset(-3)
	require.Error(t, err)
	assert.NotContains(t, strings.TrimSpace(err.Error()), "\n")
}
