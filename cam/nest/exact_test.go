package nest

import (
	"math"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"spotjig/cam/machine"
	"spotjig/layout/geom"
)

func box(x, y, w, h float64) geom.Contour {
	return geom.Rect(geom.Box{Min: geom.Point{X: x, Y: y}, Max: geom.Point{X: x + w, Y: y + h}})
}

// Faults planted in a sound answer are found, each of them; the answer itself passes.
func TestSoundFindsPlantedFaults(t *testing.T) {
	frame := Item{ID: "frame", Outline: box(0, 0, 200, 200), Openings: []geom.Contour{box(20, 20, 160, 160).Reversed()}}
	disc := Item{ID: "disc", Outline: geom.Circle(geom.Point{}, 40)}
	plate := Item{ID: "plate", Outline: box(0, 0, 100, 200)}
	items := []Item{frame, disc, plate}
	opt := Options{Stock: []machine.Stock{{Width: 330, Height: 300}}, Travel: Travel{X: 320}, Gap: 6, Margin: 5}
	answer := func() []Sheet {
		return []Sheet{{N: 1, Width: 330, Height: 300, Placed: []Placed{
			{"frame", geom.Placement{X: 5, Y: 5}}, {"disc", geom.Placement{X: 105, Y: 105}}, {"plate", geom.Placement{X: 211, Y: 5}}}}}
	}
	require.True(t, sound(items, opt, answer()))
	turned := answer()
	turned[0].Width, turned[0].Height = 300, 330
	for name, plant := range map[string]func([]Sheet) []Sheet{
		"a piece nearer than the gap":       func(s []Sheet) []Sheet { s[0].Placed[2].On.X -= 1e-4; return s },
		"a piece over another":              func(s []Sheet) []Sheet { s[0].Placed[2].On.X = 150; return s },
		"a piece in the margin":             func(s []Sheet) []Sheet { s[0].Placed[0].On.Y -= 1e-4; return s },
		"a piece past the travel":           func(s []Sheet) []Sheet { s[0].Placed[2].On.X = 216; return s },
		"a piece in the wrong place inside": func(s []Sheet) []Sheet { s[0].Placed[1].On.X += 35; return s },
		"a piece inside the material": func(s []Sheet) []Sheet {
			s[0].Placed[0], s[0].Placed[1] = Placed{"frame", geom.Placement{X: 5, Y: 5}}, Placed{"disc", geom.Placement{X: 261, Y: 105}}
			return s
		},
		"a piece left out":     func(s []Sheet) []Sheet { s[0].Placed = s[0].Placed[:2]; return s },
		"a piece laid twice":   func(s []Sheet) []Sheet { return append(s, s...) },
		"a piece of no list":   func(s []Sheet) []Sheet { s[0].Placed[1].ID = "other"; return s },
		"a sheet that is none": func(s []Sheet) []Sheet { s[0].Height = 301; return s },
	} {
		assert.False(t, sound(items, opt, plant(answer())), name)
	}
	assert.False(t, sound([]Item{{ID: "frame", Outline: frame.Outline}, disc, plate}, opt, answer()), "no opening to lie in")
	counted := opt
	counted.Stock = []machine.Stock{{Width: 330, Height: 300, Count: 1}}
	assert.False(t, sound(items, counted, []Sheet{
		{N: 1, Width: 330, Height: 300, Placed: answer()[0].Placed[:2]},
		{N: 2, Width: 330, Height: 300, Placed: answer()[0].Placed[2:]},
	}), "more sheets than there are")
}

// Whatever lies in an outline, and not in its opening, lies in its cover: tried at chance
// points, by the contour's own inside test.
func TestCoverHoldsTheOutline(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		w, h := rapid.Float64Range(30, 500).Draw(t, "w"), rapid.Float64Range(30, 500).Draw(t, "h")
		var v []geom.Vertex
		n := rapid.IntRange(3, 12).Draw(t, "n")
		for i := range n { // a star: its vertices turn about the middle
			r := rapid.Float64Range(0.4, 1).Draw(t, "r")
			sin, cos := math.Sincos(2 * math.Pi * float64(i) / float64(n))
			v = append(v, geom.Vertex{At: geom.Point{X: 7 + w*r*cos, Y: h*r*sin - 3}, Bulge: rapid.SampledFrom([]float64{0, 0, 0.2, -0.05, 0.9}).Draw(t, "bulge")})
		}
		c := geom.MustClosed(v...)
		hole := geom.Circle(geom.Point{X: 7, Y: -3}, math.Min(w, h)/6).Reversed()
		rs := cover(c, []geom.Contour{hole}, units(rapid.Float64Range(0, 60).Draw(t, "narrow")))
		b := c.Bounds()
		for range 200 {
			p := geom.Point{X: rapid.Float64Range(b.Min.X, b.Max.X).Draw(t, "x"), Y: rapid.Float64Range(b.Min.Y, b.Max.Y).Draw(t, "y")}
			if !c.Contains(p) || hole.Contains(p) {
				continue
			}
			x, y := units(p.X-b.Min.X), units(p.Y-b.Min.Y)
			held := slices.ContainsFunc(rs, func(r rect) bool { return r.x-2 <= x && x <= r.x+r.w+2 && r.y-2 <= y && y <= r.y+r.h+2 })
			require.True(t, held, "%v of %v is in none of %v", p, b, rs)
		}
		for _, r := range rs {
			require.True(t, rect{0, 0, units(b.Width()), units(b.Height())}.holds(r), "%v passes the box", r)
		}
	})
}

// Outlines never take more sheets than boxes, nor leave more out, and are as good by
// every other measure.
func TestOutlinesAreNoWorseThanBoxes(t *testing.T) {
	fewer := 0
	rapid.Check(t, func(t *rapid.T) {
		var items []Item
		for i := range rapid.IntRange(2, 16).Draw(t, "n") {
			w, h := rapid.Float64Range(60, 280).Draw(t, "w"), rapid.Float64Range(60, 280).Draw(t, "h")
			k := rapid.Float64Range(0.2, 1).Draw(t, "k")
			items = append(items, Item{ID: string(rune('A' + i)), Outline: geom.MustClosed(geom.Vertex{}, geom.Vertex{At: geom.Point{X: w}},
				geom.Vertex{At: geom.Point{X: w, Y: k * h}}, geom.Vertex{At: geom.Point{X: k * w, Y: k * h}}, geom.Vertex{At: geom.Point{X: k * w, Y: h}}, geom.Vertex{At: geom.Point{Y: h}})})
		}
		opt := Options{Stock: []machine.Stock{{Width: 400, Height: 300}}, Gap: 5, Margin: 4}
		p := newPacking(items, opt)
		boxes, left := p.best()
		require.Zero(t, left)
		sheets, err := Nest(items, opt)
		require.NoError(t, err)
		require.True(t, sound(items, opt, sheets))
		require.LessOrEqual(t, len(sheets), len(boxes))
		require.GreaterOrEqual(t, len(sheets), p.fewest(items))
		if len(sheets) < len(boxes) {
			fewer++
		}
	})
	assert.Positive(t, fewer, "outlines seldom save a sheet")
}

// An L of two plates leaves its inner corner; whatever is left lies clear of every piece
// by exact distances, and every rectangle between the pieces' edges that is free is no
// larger.
func TestOffcut(t *testing.T) {
	items := []Item{{ID: "A", Outline: box(0, 0, 580, 100)}, {ID: "B", Outline: box(0, 0, 100, 270)}}
	s := Sheet{N: 1, Width: 600, Height: 400, Placed: []Placed{{"A", geom.Placement{X: 10, Y: 10}}, {"B", geom.Placement{X: 10, Y: 116}}}}
	w, h := s.Offcut(items, 3)
	assert.InDelta(t, 600-113, w, 1e-6)
	assert.InDelta(t, 400-113, h, 1e-6)
	rapid.Check(t, func(t *rapid.T) {
		var items []Item
		s := Sheet{N: 1, Width: 300, Height: 200}
		for i := range rapid.IntRange(0, 4).Draw(t, "n") {
			x, y := rapid.IntRange(0, 250).Draw(t, "x"), rapid.IntRange(0, 150).Draw(t, "y")
			id := string(rune('A' + i))
			items = append(items, Item{ID: id, Outline: box(0, 0, 50, 40)})
			s.Placed = append(s.Placed, Placed{id, geom.Placement{X: float64(x), Y: float64(y)}})
		}
		// The slow way: every pair of edges across and up, tried against every piece.
		xs, ys := []float64{0, 300}, []float64{0, 200}
		for _, p := range s.Placed {
			xs, ys = append(xs, p.On.X-2, p.On.X+52), append(ys, p.On.Y-2, p.On.Y+42)
		}
		best := 0.0
		for _, x0 := range xs {
			for _, x1 := range xs {
				for _, y0 := range ys {
					for _, y1 := range ys {
						free := x0 < x1 && y0 < y1 && x0 >= 0 && y0 >= 0 && x1 <= 300 && y1 <= 200
						for _, p := range s.Placed {
							free = free && (x1 <= p.On.X-2 || x0 >= p.On.X+52 || y1 <= p.On.Y-2 || y0 >= p.On.Y+42)
						}
						if free {
							best = math.Max(best, (x1-x0)*(y1-y0))
						}
					}
				}
			}
		}
		w, h := s.Offcut(items, 2)
		assert.InDelta(t, best, w*h, 1e-3)
	})
}
