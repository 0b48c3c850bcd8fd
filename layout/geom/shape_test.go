package geom_test

import (
	"flag"
	"fmt"
	"math"
	"os"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"spotjig/layout/geom"
)

// TestMain fixes the seed of the property tests; rapid prints it on failure.
func TestMain(m *testing.M) {
	flag.Parse()
	set := false
	flag.Visit(func(f *flag.Flag) { set = set || f.Name == "rapid.seed" })
	if !set {
		_ = flag.Set("rapid.seed", "20261120")
	}
	os.Exit(m.Run())
}

// outline reads a closed shape from text: "x,y" or "x,y,bulge" separated by spaces.
func outline(t testing.TB, text string) geom.Contour {
	t.Helper()
	c, err := geom.NewClosed(vertices(t, text)...)
	require.NoError(t, err)
	return c
}

// chain reads an open chain.
func chain(t testing.TB, text string) geom.Contour {
	t.Helper()
	c, err := geom.NewOpen(vertices(t, text)...)
	require.NoError(t, err)
	return c
}

func vertices(t testing.TB, text string) []geom.Vertex {
	t.Helper()
	var v []geom.Vertex
	for _, f := range strings.Fields(text) {
		var x, y, b float64
		n, err := fmt.Sscanf(f+",0", "%f,%f,%f", &x, &y, &b)
		require.NoError(t, err, f)
		require.Equal(t, 3, n)
		v = append(v, geom.Vertex{At: geom.Point{X: x, Y: y}, Bulge: b})
	}
	return v
}

// quarter is the bulge of a quarter circle, tan(22.5 deg).
const quarter = math.Sqrt2 - 1

// rounded is the rectangle w x h with corners of radius r, counter-clockwise.
func rounded(w, h, r float64) geom.Contour {
	p := func(x, y, b float64) geom.Vertex { return geom.Vertex{At: geom.Point{X: x, Y: y}, Bulge: b} }
	return geom.MustClosed(p(r, 0, 0), p(w-r, 0, quarter), p(w, r, 0), p(w, h-r, quarter),
		p(w-r, h, 0), p(r, h, quarter), p(0, h-r, 0), p(0, r, quarter))
}

// slot is a slot of the given centreline length and width, clockwise.
func slot(l, w float64) geom.Contour {
	h := w / 2
	p := func(x, y, b float64) geom.Vertex { return geom.Vertex{At: geom.Point{X: x, Y: y}, Bulge: b} }
	return geom.MustClosed(p(0, h, 0), p(l, h, -1), p(l, -h, 0), p(0, -h, -1))
}

// dovetail is a plate with one tail on its right and one socket on its left:
// flanks of slope 1:3, small radii, sharp shoulders.
func dovetail(t testing.TB) geom.Contour {
	return outline(t, "0,0 120,0 120,20 135,15 135,45 120,40 120,60 0,60 0,40.05 14.9,45.05 14.9,14.95 0,19.95")
}

// variant is one way to draw the same shape.
type variant struct {
	name string
	c    geom.Contour
	sign float64 // -1 when the offset side is exchanged
}

// variants draws a shape from every start vertex, both ways, mirrored, turned and moved.
func variants(c geom.Contour) []variant {
	var out []variant
	for i := 0; i < c.Len(); i++ {
		s := c.StartAt(i)
		out = append(out, variant{fmt.Sprintf("start %d", i), s, 1},
			variant{fmt.Sprintf("start %d reversed", i), s.Reversed(), -1},
			variant{fmt.Sprintf("start %d mirrored", i), mirrored(s), -1},
			variant{fmt.Sprintf("start %d moved", i), s.Transform(geom.Placement{X: 1234.567, Y: -987.654, Turn: 90 * geom.Degree * geom.Angle(i%4)}), 1},
			variant{fmt.Sprintf("start %d turned", i), s.Transform(geom.Placement{X: -3.1, Y: 2000.7, Turn: geom.FromDegrees(33.3 + 17*float64(i))}), 1},
		)
	}
	return out
}

// mirrored reflects a shape about the y axis.
func mirrored(c geom.Contour) geom.Contour {
	v := c.Vertices()
	for i := range v {
		v[i].At.X, v[i].Bulge = -v[i].At.X, -v[i].Bulge
	}
	return geom.MustClosed(v...)
}
