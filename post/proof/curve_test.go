package proof

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"spotjig/cam/jig"
	"spotjig/layout/geom"
)

func genPoint(t *rapid.T, name string) geom.Point {
	g := rapid.Float64Range(-20, 20)
	return geom.Point{X: g.Draw(t, name+".x"), Y: g.Draw(t, name+".y")}
}

func genCurve(t *rapid.T, name string) Curve {
	if rapid.Bool().Draw(t, name+".arc") {
		sweep := rapid.Float64Range(0.05, 2*math.Pi).Draw(t, name+".sweep")
		if rapid.Bool().Draw(t, name+".cw") {
			sweep = -sweep
		}
		return ArcOf(genPoint(t, name), rapid.Float64Range(0.1, 15).Draw(t, name+".r"), rapid.Float64Range(-7, 7).Draw(t, name+".start"), sweep)
	}
	a, b := genPoint(t, name+".a"), genPoint(t, name+".b")
	if Dist(a, b) < 0.01 {
		b.X += 1
	}
	return LineOf(a, b)
}

// sample returns points of k, n+1 of them.
func sample(k Curve, n int) []geom.Point {
	out := make([]geom.Point, n+1)
	for i := range out {
		out[i] = k.At(float64(i) / float64(n))
	}
	return out
}

// Distance against points sampled on both: never above any sampled distance,
// and not below the least by more than the samples' spacing.
func TestDistanceAgreesWithSampling(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		k, m := genCurve(t, "k"), genCurve(t, "m")
		const n = 120
		least := math.Inf(1)
		for _, p := range sample(k, n) {
			for _, q := range sample(m, n) {
				least = math.Min(least, Dist(p, q))
			}
		}
		got := Distance(k, m)
		step := (k.Length() + m.Length()) / n
		if got > least+1e-9 || got < least-step {
			t.Fatalf("distance %v, sampled %v, step %v", got, least, step)
		}
		if d := Distance(m, k); math.Abs(d-got) > 1e-9 {
			t.Fatalf("distance %v one way, %v the other", got, d)
		}
	})
}

func TestNearestAndBoxAgreeWithSampling(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		k, p := genCurve(t, "k"), genPoint(t, "p")
		q, d := k.Nearest(p)
		if math.Abs(Dist(p, q)-d) > 1e-9 || DOf(k, q) > 1e-9 {
			t.Fatalf("nearest %v at %v is not on the curve at that distance", q, d)
		}
		const n = 2000
		least, b := math.Inf(1), Nothing()
		for _, s := range sample(k, n) {
			least = math.Min(least, Dist(p, s))
			b = b.With(s)
		}
		if d > least+1e-9 || d < least-k.Length()/n {
			t.Fatalf("nearest %v, sampled %v", d, least)
		}
		got := k.Box()
		for _, v := range [][2]float64{{b.X0, got.X0}, {b.Y0, got.Y0}, {-b.X1, -got.X1}, {-b.Y1, -got.Y1}} {
			if v[1] > v[0]+1e-9 || v[1] < v[0]-k.Length()/n {
				t.Fatalf("box %v, sampled %v", got, b)
			}
		}
	})
}

// Bulge and centre form agree: ends, sweep, and the middle's rise |b|·chord/2.
func TestBulged(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		a, b := genPoint(t, "a"), genPoint(t, "b")
		if Dist(a, b) < 0.1 {
			return
		}
		g := rapid.Float64Range(-1, 1).Draw(t, "bulge")
		if math.Abs(g) < 1e-3 {
			return
		}
		k := Bulged(a, b, g)
		chord := Dist(a, b)
		tol := 1e-9 * (1 + k.R)
		if Dist(k.At(0), a) > tol || Dist(k.At(1), b) > tol {
			t.Fatalf("ends %v %v, want %v %v", k.At(0), k.At(1), a, b)
		}
		mid := k.At(0.5)
		rise := Side(a, b, mid) / chord // positive bulge bows to the right of travel
		if math.Abs(rise+g*chord/2) > tol {
			t.Fatalf("rise %v, bulge %v, chord %v", rise, g, chord)
		}
	})
}

// Worked by hand.
func TestDistanceByHand(t *testing.T) {
	p := func(x, y float64) geom.Point { return geom.Point{X: x, Y: y} }
	for _, row := range []struct {
		name string
		k, m Curve
		want float64
	}{
		{"parallel", LineOf(p(0, 0), p(10, 0)), LineOf(p(2, 3), p(12, 3)), 3},
		{"crossing", LineOf(p(0, 0), p(10, 10)), LineOf(p(0, 10), p(10, 0)), 0},
		{"end to end", LineOf(p(0, 0), p(10, 0)), LineOf(p(13, 4), p(20, 4)), 5},
		{"line outside a circle", LineOf(p(-9, 7), p(9, 7)), ArcOf(p(0, 0), 5, 0, 2*math.Pi), 2},
		{"line inside a circle", LineOf(p(-1, 0), p(1, 0)), ArcOf(p(0, 0), 5, 0, 2*math.Pi), 4},
		{"line through a circle", LineOf(p(0, 0), p(9, 0)), ArcOf(p(0, 0), 5, 0, 2*math.Pi), 0},
		{"line past the open side of a half circle", LineOf(p(-9, 7), p(9, 7)), ArcOf(p(0, 0), 5, math.Pi, math.Pi), 7},
		{"circle in a circle", ArcOf(p(1, 0), 2, 0, 2*math.Pi), ArcOf(p(0, 0), 5, 0, 2*math.Pi), 2},
		{"circles apart", ArcOf(p(0, 0), 2, 0, 2*math.Pi), ArcOf(p(10, 0), 3, 0, 2*math.Pi), 5},
		{"circles crossing", ArcOf(p(0, 0), 2, 0, 2*math.Pi), ArcOf(p(3, 0), 2, 0, 2*math.Pi), 0},
		{"concentric", ArcOf(p(0, 0), 2, 0, 1), ArcOf(p(0, 0), 3, 0.5, 1), 1},
	} {
		t.Run(row.name, func(t *testing.T) {
			assert.InDelta(t, row.want, Distance(row.k, row.m), 1e-12)
			assert.InDelta(t, row.want, Distance(row.m, row.k), 1e-12)
		})
	}
}

// inside against the winding of a fine polygon, and by hand through vertices.
func TestInside(t *testing.T) {
	var s Shapes
	part := jig.Part{ID: "A", Scale: 1, Outline: filleted(), Openings: []jig.Opening{
		{ID: "s", Kind: jig.OpenSlot, Figure: geom.Line(geom.Point{X: 10, Y: 8}, geom.Point{X: 25, Y: 12}), Width: 4},
		{ID: "a", Kind: jig.OpenArc, Figure: geom.Arc(geom.Point{X: 20, Y: 10}, 12, 20*geom.Degree, 160*geom.Degree), Width: 3},
		{ID: "c", Kind: jig.OpenSpot, Figure: geom.Dot(geom.Point{X: 34, Y: 6}), Width: 2 * 2},
	}}
	s.Add(part, MoverOf(part, geom.Placement{}))
	rapid.Check(t, func(t *rapid.T) {
		p := geom.Point{X: rapid.Float64Range(-2, 42).Draw(t, "x"), Y: rapid.Float64Range(-2, 32).Draw(t, "y")}
		for i, r := range s.Rings {
			var poly []geom.Point
			near := false
			for _, e := range r.Edges {
				poly = append(poly, sample(s.Edges[e].Curve, 200)[:200]...)
				near = near || DOf(s.Edges[e].Curve, p) < 0.01
			}
			if !near && r.Inside(p) != wound(poly, p) {
				t.Fatalf("ring %d, %v: inside %v", i, p, r.Inside(p))
			}
		}
	})
	for _, row := range []struct {
		p    geom.Point
		want int
	}{{geom.Point{X: 1, Y: 5}, 0}, {geom.Point{X: 20, Y: 29}, 0}, {geom.Point{X: 17.5, Y: 10}, -1}, {geom.Point{X: 34, Y: 6}, -1}, {geom.Point{X: 20, Y: 22}, -1}, {geom.Point{X: -1, Y: 5}, -1}, {geom.Point{X: 0.5, Y: 0.5}, -1}} {
		require.Equal(t, row.want, s.Kept(row.p), "%v", row.p)
	}
}

// wound is the winding number by angles, a method of its own.
func wound(poly []geom.Point, p geom.Point) bool {
	sum := 0.0
	for i, a := range poly {
		b := poly[(i+1)%len(poly)]
		sum += math.Atan2((a.X-p.X)*(b.Y-p.Y)-(a.Y-p.Y)*(b.X-p.X), (a.X-p.X)*(b.X-p.X)+(a.Y-p.Y)*(b.Y-p.Y))
	}
	return math.Abs(sum) > math.Pi
}

// An opening's edge from its numbers is the contour the jig gives it.
func TestOpeningEdgeIsTheJigsContour(t *testing.T) {
	for _, o := range []jig.Opening{
		{Kind: jig.OpenSpot, Figure: geom.Dot(geom.Point{X: 3, Y: 4}), Width: 2 * 2},
		{Kind: jig.OpenSlot, Figure: geom.Line(geom.Point{X: 3, Y: 4}, geom.Point{X: -8, Y: 9}), Width: 3},
		{Kind: jig.OpenFin, Figure: geom.Line(geom.Point{X: 3, Y: 4}, geom.Point{X: 3, Y: 24}), Width: 4.85},
		{Kind: jig.OpenArc, Figure: geom.Arc(geom.Point{X: 3, Y: 4}, 20, -30*geom.Degree, 250*geom.Degree), Width: 3},
	} {
		length, area := 0.0, 0.0
		for _, k := range OpeningEdge(o) {
			length += k.Length()
			area += (k.A.X*k.B.Y - k.A.Y*k.B.X) / 2
			if k.Arc {
				area += k.R * k.R * (k.Sweep - math.Sin(k.Sweep)) / 2
			}
			_, d := o.Contour().Nearest(k.At(0.3))
			assert.InDelta(t, 0, d, 1e-9)
		}
		assert.InDelta(t, o.Contour().Length(), length, 1e-9)
		assert.InDelta(t, o.Contour().Area(), area, 1e-9, "clockwise")
		assert.Negative(t, area)
	}
}

// filleted is a plate of 40 x 30 mm with corners of 5 mm.
func filleted() geom.Contour {
	b := math.Tan(math.Pi / 8) // a quarter turn
	return geom.MustClosed(
		geom.Vertex{At: geom.Point{X: 5}}, geom.Vertex{At: geom.Point{X: 35}, Bulge: b},
		geom.Vertex{At: geom.Point{X: 40, Y: 5}}, geom.Vertex{At: geom.Point{X: 40, Y: 25}, Bulge: b},
		geom.Vertex{At: geom.Point{X: 35, Y: 30}}, geom.Vertex{At: geom.Point{X: 5, Y: 30}, Bulge: b},
		geom.Vertex{At: geom.Point{Y: 25}}, geom.Vertex{At: geom.Point{Y: 5}, Bulge: b},
	).Canonical()
}
