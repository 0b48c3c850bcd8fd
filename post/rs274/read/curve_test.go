package read_test

import (
	"fmt"
	"math"
	"testing"

	"github.com/stretchr/testify/assert"

	"spotjig/post/rs274/read"
)

// TestCurveBox: exact boxes of circular arcs, from circle geometry: ends and quadrant
// points inside the sweep; each agrees with sampling at 20,000 points.
func TestCurveBox(t *testing.T) {
	for _, c := range []struct{ cx, cy, r, start, sweep, x0, y0, x1, y1 float64 }{
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
		t.Run(fmt.Sprint(c.start, c.sweep), func(t *testing.T) {
			for _, plane := range []read.Plane{read.XY, read.ZX, read.YZ} {
				u, v, n := plane.Axes()
				p := func(deg float64) (q read.Point) {
					s, cos := math.Sincos(deg * math.Pi / 180)
					q[u], q[v], q[n] = c.cx+c.r*cos, c.cy+c.r*s, 7
					return q
				}
				k := read.Curve{From: p(c.start), To: p(c.start + c.sweep), Plane: plane, Radius: c.r, RadiusTo: c.r, Sweep: c.sweep * math.Pi / 180}
				k.Center[u], k.Center[v], k.Center[n] = c.cx, c.cy, 7
				box := k.Box()
				assert.InDelta(t, c.x0, box[0][u], 1e-6)
				assert.InDelta(t, c.y0, box[0][v], 1e-6)
				assert.InDelta(t, c.x1, box[1][u], 1e-6)
				assert.InDelta(t, c.y1, box[1][v], 1e-6)
				assert.Equal(t, [2]float64{7, 7}, [2]float64{box[0][n], box[1][n]})
				assert.InDelta(t, c.r*math.Abs(c.sweep)*math.Pi/180, k.Length(), 1e-9)
				for a := 0.0; a <= 1; a += 1.0 / 512 { // the way stays in its box
					q := k.At(a)
					for i := range q {
						assert.GreaterOrEqual(t, q[i], box[0][i]-1e-9)
						assert.LessOrEqual(t, q[i], box[1][i]+1e-9)
					}
				}
			}
		})
	}
}

// TestCurveBoxGrows: where the radii at the ends differ, the box is larger by the difference.
func TestCurveBoxGrows(t *testing.T) {
	k := read.Curve{From: read.Point{10, 0, 0}, To: read.Point{0, 10.002, 0}, Radius: 10, RadiusTo: 10.002, Sweep: math.Pi / 2}
	box := k.Box()
	assert.InDelta(t, 10.002, box[1][0], 1e-9)
	assert.InDelta(t, 10.004, box[1][1], 1e-9)
	assert.InDelta(t, -0.002, box[0][0], 1e-9)
}
