package nest_test

import (
	"fmt"
	"math"
	"os"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"spotjig/cam/machine"
	"spotjig/cam/nest"
	"spotjig/layout/geom"
)

// closed is the closed chain of lines through points given as x, y, x, y.
func closed(xy ...float64) geom.Contour {
	var v []geom.Vertex
	for i := 0; i < len(xy); i += 2 {
		v = append(v, geom.Vertex{At: geom.Point{X: xy[i], Y: xy[i+1]}})
	}
	return geom.MustClosed(v...)
}

// shapes are outlines like those of a template, w by h mm or a little more: a plate with
// a dovetail, one with a socket, a fin, a disc, a bow with an arc on it, a frame.
var shapes = []func(w, h float64) nest.Item{
	func(w, h float64) nest.Item {
		return nest.Item{Outline: closed(0, 0, w, 0, w, h/2-8, w+16, h/2-13, w+16, h/2+13, w, h/2+8, w, h, 0, h)}
	},
	func(w, h float64) nest.Item {
		return nest.Item{Outline: closed(0, 0, w, 0, w, h/2-8, w-16, h/2-13, w-16, h/2+13, w, h/2+8, w, h, 0, h)}
	},
	func(w, h float64) nest.Item { return nest.Item{Outline: closed(0, 0, w, 0, w, h/4, w/3, h, 0, h)} },
	func(w, h float64) nest.Item {
		r := math.Min(w, h) / 2
		return nest.Item{Outline: geom.Circle(geom.Point{X: 20, Y: -3}, r)}
	},
	func(w, h float64) nest.Item {
		return nest.Item{Outline: geom.MustClosed(geom.Vertex{}, geom.Vertex{At: geom.Point{X: w}, Bulge: 0.4},
			geom.Vertex{At: geom.Point{X: w, Y: h}}, geom.Vertex{At: geom.Point{Y: h}, Bulge: -0.3})}
	},
	func(w, h float64) nest.Item {
		w, h = w+90, h+90
		return nest.Item{Outline: geom.Rect(geom.Box{Max: geom.Point{X: w, Y: h}}),
			Openings: []geom.Contour{geom.Rect(geom.Box{Min: geom.Point{X: 15, Y: 15}, Max: geom.Point{X: w - 15, Y: h - 15}}).Reversed()}}
	},
}

// Outlines of every kind on every stock: the laws of every answer hold, by exact
// distances between lines and arcs.
func TestNestLaysOutlinesApart(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var items []nest.Item
		for i := range rapid.IntRange(1, 25).Draw(t, "n") {
			w, h := rapid.Float64Range(60, 190).Draw(t, "w"), rapid.Float64Range(60, 190).Draw(t, "h")
			it := shapes[rapid.IntRange(0, len(shapes)-1).Draw(t, "shape")](w, h)
			it.ID = fmt.Sprintf("P%d", i+1)
			items = append(items, it)
		}
		opt := nest.Options{
			Stock:  []machine.Stock{{Width: 600, Height: 400}, {Width: 400, Height: 800, Count: 2}},
			Travel: nest.Travel{X: 580},
			Gap:    rapid.Float64Range(0.01, 8).Draw(t, "gap"),
			Margin: rapid.Float64Range(0, 10).Draw(t, "margin"),
		}
		sheets, err := nest.Nest(items, opt)
		require.NoError(t, err)
		checkSheets(t, items, opt, sheets)
		if len(items)%3 > 0 {
			return
		}
		again, err := nest.Nest(items, opt)
		require.NoError(t, err)
		assert.Equal(t, sheets, again)
	})
}

// Two brackets go into one another, and a fin goes on its fellow turned round; their
// boxes would each need a sheet.
func TestNestGoesIntoHollows(t *testing.T) {
	bracket := closed(0, 0, 300, 0, 300, 80, 80, 80, 80, 300, 0, 300)
	fin := closed(0, 0, 280, 0, 280, 20, 20, 280, 0, 280)
	for name, c := range map[string]geom.Contour{"brackets": bracket, "fins": fin} {
		items := []nest.Item{{ID: "A", Outline: c}, {ID: "B", Outline: c}}
		opt := nest.Options{Stock: bed(420, 420, 0), Gap: 6, Margin: 5}
		sheets, err := nest.Nest(items, opt)
		require.NoError(t, err)
		checkSheets(t, items, opt, sheets)
		assert.Len(t, sheets, 1, name)
	}
}

// A frame as large as the sheet takes what fits its opening, and not what does not.
func TestNestUsesOpenings(t *testing.T) {
	hole := geom.Circle(geom.Point{X: 200, Y: 150}, 120).Reversed()
	frame := nest.Item{ID: "frame", Outline: geom.Rect(geom.Box{Max: geom.Point{X: 400, Y: 300}}), Openings: []geom.Contour{hole}}
	opt := nest.Options{Stock: bed(410, 310, 0), Gap: 6, Margin: 5}
	for side, want := range map[float64]int{145: 1, 165: 2} {
		items := []nest.Item{frame, rect("square", side, side)}
		sheets, err := nest.Nest(items, opt)
		require.NoError(t, err)
		checkSheets(t, items, opt, sheets)
		// The largest square that keeps 6 mm from a circle of radius 120: 114·√2 = 161.2.
		assert.Len(t, sheets, want, "a square of %g mm", side)
	}
	items := []nest.Item{{ID: "plate", Outline: frame.Outline}, rect("square", 145, 145)}
	sheets, err := nest.Nest(items, opt)
	require.NoError(t, err)
	assert.Len(t, sheets, 2, "no opening, no room")
}

// Sheets that run out for boxes may do for outlines.
func TestNestFitsMoreThanBoxes(t *testing.T) {
	bracket := closed(0, 0, 300, 0, 300, 80, 80, 80, 80, 300, 0, 300)
	items := []nest.Item{{ID: "A", Outline: bracket}, {ID: "B", Outline: bracket}}
	opt := nest.Options{Stock: bed(420, 420, 1), Gap: 6, Margin: 5}
	sheets, err := nest.Nest(items, opt)
	require.NoError(t, err)
	checkSheets(t, items, opt, sheets)
	items = append(items, nest.Item{ID: "C", Outline: bracket})
	_, err = nest.Nest(items, opt)
	var short *nest.StockError
	require.ErrorAs(t, err, &short)
}

// Where every size has its price, as many sheets are taken as before and the cheaper
// ones of them.
func TestNestMindsThePrice(t *testing.T) {
	items := []nest.Item{rect("A", 380, 280)}
	small, large := machine.Stock{Width: 400, Height: 300, Price: 20}, machine.Stock{Width: 600, Height: 400, Price: 15}
	for _, tc := range []struct {
		price, want float64
	}{{0, 400}, {15, 600}, {25, 400}} {
		large.Price = tc.price
		sheets, err := nest.Nest(items, nest.Options{Stock: []machine.Stock{small, large}, Gap: 6, Margin: 5})
		require.NoError(t, err)
		require.Len(t, sheets, 1)
		assert.Equal(t, tc.want, sheets[0].Width, "large sheet at %g", tc.price)
	}
}

// jigsaw cuts a rectangle w by h into n pieces by straight cuts right across a piece,
// each leaving the gap free; slant is how far a cut's ends may differ. That the pieces
// fit the rectangle again is known.
func jigsaw(t *rapid.T, w, h, gap, slant float64, n int) []nest.Item {
	list := []geom.Contour{closed(0, 0, w, 0, w, h, 0, h)}
	for len(list) < n {
		// The largest piece is cut across its longer side.
		k := 0
		for i, c := range list {
			if c.Area() > list[k].Area() {
				k = i
			}
		}
		b := list[k].Bounds()
		f, d := rapid.Float64Range(0.3, 0.7).Draw(t, "at"), rapid.Float64Range(-slant, slant).Draw(t, "slant")
		var p, q geom.Point
		if b.Width() > b.Height() {
			x := b.Min.X + f*b.Width()
			p, q = geom.Point{X: x - d, Y: b.Min.Y - 1}, geom.Point{X: x + d, Y: b.Max.Y + 1}
		} else {
			y := b.Min.Y + f*b.Height()
			p, q = geom.Point{X: b.Min.X - 1, Y: y - d}, geom.Point{X: b.Max.X + 1, Y: y + d}
		}
		side := q.Sub(p).Unit().Left().Scale(gap / 2)
		one, ok := halfPlane(list[k], p.Add(side), q.Add(side))
		other, ok2 := halfPlane(list[k], q.Add(side.Scale(-1)), p.Add(side.Scale(-1)))
		if !ok || !ok2 {
			t.Skip("a cut that leaves nothing")
		}
		list[k] = one
		list = append(list, other)
	}
	items := make([]nest.Item, n)
	for i, c := range list {
		items[i] = nest.Item{ID: fmt.Sprintf("P%d", i+1), Outline: c}
	}
	return items
}

// halfPlane is what of a convex polygon lies to the left of the line from p to q.
func halfPlane(c geom.Contour, p, q geom.Point) (geom.Contour, bool) {
	var v []geom.Vertex
	for _, s := range c.Segments() {
		a, b := q.Sub(p).Cross(s.From.Sub(p)), q.Sub(p).Cross(s.To.Sub(p))
		if a >= 0 {
			v = append(v, geom.Vertex{At: s.From})
		}
		if a > 0 && b < 0 || a < 0 && b > 0 {
			v = append(v, geom.Vertex{At: s.At(a / (a - b))})
		}
	}
	out, err := geom.NewClosed(v...)
	return out, err == nil && out.Area() > 100
}

// TestNestPutsJigsawsTogether: pieces cut from a rectangle by chance fit a sheet whose
// area is larger by a share. They would fit the rectangle itself: 100 % is possible.
// Covers are upright, so cuts that slant cost more, and the search goes on for longest where
// they have little room: those wait for SPOTJIG_ALL=1.
func TestNestPutsJigsawsTogether(t *testing.T) {
	for _, tc := range []struct {
		name  string
		slant float64
		n     int
		more  float64 // the sheet's area over the rectangle's
		share float64 // of cases that must come out
	}{
		{"square cuts", 0, 8, 1.1, 0.9},
		{"square cuts, more pieces", 0, 14, 1.1, 0.9},
		{"slanting cuts", 30, 8, 1.1, 0.35},
		{"slanting cuts, more room", 30, 8, 1.2, 0.9},
	} {
		if os.Getenv("SPOTJIG_ALL") == "" && tc.name == "slanting cuts" {
			continue
		}
		t.Run(tc.name, func(t *testing.T) {
			did, all := 0, 0
			rapid.Check(t, func(t *rapid.T) {
				const w, h, gap = 590.0, 390.0, 6.0
				items := jigsaw(t, w, h, gap, tc.slant, tc.n)
				k := math.Sqrt(tc.more)
				opt := nest.Options{Stock: bed(w*k, h*k, 0), Gap: gap}
				sheets, err := nest.Nest(items, opt)
				require.NoError(t, err)
				checkSheets(t, items, opt, sheets)
				all++
				if len(sheets) == 1 {
					did++
				}
			})
			t.Logf("%d of %d", did, all)
			assert.GreaterOrEqual(t, float64(did), tc.share*float64(all))
		})
	}
}

func BenchmarkOutlines(b *testing.B) {
	for _, n := range []int{10, 22, 50} {
		b.Run(fmt.Sprint(n), func(b *testing.B) {
			var items []nest.Item
			for i := range n {
				it := shapes[i%3](60+float64(i*97%300), 50+float64(i*53%120))
				it.ID = fmt.Sprint(i)
				items = append(items, it)
			}
			opt := nest.Options{Stock: bed(600, 400, 0), Gap: 6.2, Margin: 8.1}
			sheets := 0
			b.ReportAllocs()
			for b.Loop() {
				out, err := nest.Nest(items, opt)
				if err != nil {
					b.Fatal(err)
				}
				sheets = len(out)
			}
			b.ReportMetric(float64(sheets), "sheets")
		})
	}
}
