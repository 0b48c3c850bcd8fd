package geom

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"pgregory.net/rapid"
)

// aFigure draws a point, a line or an arc.
func aFigure(t *rapid.T) Figure {
	p := Point{X: rapid.Float64Range(-500, 500).Draw(t, "x"), Y: rapid.Float64Range(-500, 500).Draw(t, "y")}
	switch rapid.IntRange(0, 2).Draw(t, "kind") {
	case 0:
		return Dot(p)
	case 1:
		a := Angle(rapid.Float64Range(0, 6).Draw(t, "direction"))
		return Line(p, p.Add(a.Unit().Scale(rapid.Float64Range(1, 400).Draw(t, "long"))))
	}
	from := Angle(rapid.Float64Range(-12, 12).Draw(t, "start"))
	return Arc(p, rapid.Float64Range(20, 400).Draw(t, "radius"), from, from+Angle(rapid.Float64Range(0.05, 5.5).Draw(t, "sweep")))
}

// A figure's distance is that to the nearest of many points walked along it, and the edge
// of the grown figure lies at its width all round: every point of it, reckoned from those
// points and not from the figure's own distance.
func TestFigureGrown(t *testing.T) {
	const n = 4000
	walked := func(f Figure, p Point) float64 {
		least := math.Inf(1)
		for i := range n + 1 {
			least = math.Min(least, p.Dist(f.At(f.Length()*float64(i)/n)))
		}
		return least
	}
	rapid.Check(t, func(t *rapid.T) {
		f := aFigure(t)
		h := rapid.Float64Range(1, 4).Draw(t, "h")
		near := f.At(f.Length() / 3).Add(Vec{X: rapid.Float64Range(-90, 90).Draw(t, "dx"), Y: rapid.Float64Range(-90, 90).Draw(t, "dy")})
		step := f.Length() / n
		assert.InDelta(t, walked(f, near), f.Dist(near), step)
		if gap := 2 * math.Pi * f.Radius * (1 - f.Length()/(2*math.Pi*f.Radius)); f.IsArc() && gap < 2*h+1 {
			return // its ends would meet
		}
		edge := f.Grown(h)
		assert.Positive(t, edge.Area(), "counter-clockwise")
		for _, s := range edge.Segments() {
			for k := range 4 {
				p := s.At(float64(k) / 4)
				assert.InDelta(t, h, walked(f, p), step*step/h+1e-6)
			}
		}
	})
}

// Parts of a figure, a move and its chain keep its points.
func TestFigureMoves(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		f := aFigure(t)
		m := Placement{X: rapid.Float64Range(-99, 99).Draw(t, "mx"), Y: 7, Turn: FromDegrees(rapid.Float64Range(-400, 400).Draw(t, "turn"))}
		l := f.Length()
		if f.IsDot() {
			assert.Equal(t, Dot(m.Apply(f.A)), f.Transform(m))
			return
		}
		mid := m.Apply(f.At(l / 2))
		assert.InDelta(t, 0, mid.Dist(f.Transform(m).Middle()), 1e-6)
		assert.InDelta(t, 0, mid.Dist(f.Part(l/4, l*3/4).Transform(m).Middle()), 1e-6)
		_, off := f.Transform(m).Chain().Nearest(mid)
		assert.InDelta(t, 0, off, 1e-6)
		assert.InDelta(t, l, f.Chain().Length(), 1e-6)
	})
}
