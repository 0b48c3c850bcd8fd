package nest_test

import (
	"flag"
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

// TestMain fixes the seed of the property tests; rapid prints it on failure. They draw forty
// cases each, with SPOTJIG_ALL=1 a hundred.
func TestMain(m *testing.M) {
	flag.Parse()
	set := map[string]bool{}
	flag.Visit(func(f *flag.Flag) { set[f.Name] = true })
	if !set["rapid.seed"] {
		_ = flag.Set("rapid.seed", "20261120")
	}
	if !set["rapid.checks"] && os.Getenv("SPOTJIG_ALL") == "" {
		_ = flag.Set("rapid.checks", "40")
	}
	os.Exit(m.Run())
}

func rect(id string, w, h float64) nest.Item {
	return nest.Item{ID: id, Outline: geom.Rect(geom.Box{Max: geom.Point{X: w, Y: h}})}
}

func bed(w, h float64, count int) []machine.Stock {
	return []machine.Stock{{Width: w, Height: h, Count: count}}
}

// checkSheets holds the laws of every answer: each item once, inside the margin,
// not nearer than the gap to another, by exact distances between outlines.
func checkSheets(t require.TestingT, items []nest.Item, opt nest.Options, sheets []nest.Sheet) {
	outline, openings := map[string]geom.Contour{}, map[string][]geom.Contour{}
	for _, it := range items {
		outline[it.ID], openings[it.ID] = it.Outline, it.Openings
	}
	inside := func(c, o geom.Contour, holes []geom.Contour, on geom.Placement) bool {
		if !o.Contains(c.Start()) {
			return false
		}
		for _, h := range holes {
			h = h.Transform(on)
			if h.Contains(c.Start()) && h.Distance(c) >= opt.Gap-2e-6 {
				return false
			}
		}
		return true
	}
	seen := map[string]bool{}
	for n, s := range sheets {
		require.Equal(t, n+1, s.N)
		require.NotEmpty(t, s.Placed)
		w, h := s.Width, s.Height
		if opt.Travel.X > 0 {
			w = math.Min(w, opt.Travel.X)
		}
		if opt.Travel.Y > 0 {
			h = math.Min(h, opt.Travel.Y)
		}
		area := 0.0
		var laid []geom.Contour
		var at []nest.Placed
		for _, p := range s.Placed {
			require.False(t, seen[p.ID], p.ID)
			seen[p.ID] = true
			c := outline[p.ID].Transform(p.On)
			b := c.Bounds()
			for _, edge := range []float64{b.Min.X, b.Min.Y, w - b.Max.X, h - b.Max.Y} {
				require.GreaterOrEqual(t, edge, opt.Margin-2e-6, "%s at %v", p.ID, b)
			}
			for i, o := range laid {
				require.GreaterOrEqual(t, c.Distance(o), opt.Gap-2e-6, p.ID)
				require.False(t, inside(c, o, openings[at[i].ID], at[i].On), p.ID)
				require.False(t, inside(o, c, openings[p.ID], p.On), p.ID)
			}
			laid, at = append(laid, c), append(at, p)
			area += c.Area()
		}
		require.InDelta(t, area/(s.Width*s.Height), s.UsedFraction, 1e-9)
	}
	require.Len(t, seen, len(items))
}

func TestNestLaysEveryPieceApart(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(1, 40).Draw(t, "n")
		var items []nest.Item
		for i := 0; i < n; i++ {
			w := float64(rapid.IntRange(100, 3900).Draw(t, "w")) / 10
			h := float64(rapid.IntRange(100, 1900).Draw(t, "h")) / 10
			items = append(items, rect(fmt.Sprintf("P%d", i+1), w, h))
		}
		opt := nest.Options{
			Stock:  bed(600, 400, 0),
			Travel: nest.Travel{X: 550},
			Gap:    rapid.Float64Range(0.01, 8).Draw(t, "gap"),
			Margin: rapid.Float64Range(0, 10).Draw(t, "margin"),
		}
		sheets, err := nest.Nest(items, opt)
		require.NoError(t, err)
		checkSheets(t, items, opt, sheets)
		again, err := nest.Nest(items, opt)
		require.NoError(t, err)
		assert.Equal(t, sheets, again)
	})
}

// A piece that fills the usable rectangle fits; a hundredth more does not, and
// says so with its size and the size that does.
func TestNestLargestPiece(t *testing.T) {
	opt := nest.Options{Stock: bed(600, 400, 0), Gap: 4, Margin: 5}
	for _, tc := range []struct {
		name       string
		w, h       float64
		travel     nest.Travel
		ok         bool
		turned     bool
		long, shrt float64
	}{
		{"fills the stock", 590, 390, nest.Travel{}, true, false, 0, 0},
		{"fills it turned", 390, 590, nest.Travel{}, true, true, 0, 0},
		{"too long", 590.01, 100, nest.Travel{}, false, false, 590, 390},
		{"too wide", 500, 390.01, nest.Travel{}, false, false, 590, 390},
		{"fills the travel", 290, 190, nest.Travel{X: 300, Y: 200}, true, false, 0, 0},
		{"beyond the travel", 290.01, 190, nest.Travel{X: 300, Y: 200}, false, false, 290, 190},
	} {
		t.Run(tc.name, func(t *testing.T) {
			opt := opt
			opt.Travel = tc.travel
			sheets, err := nest.Nest([]nest.Item{rect("H2", tc.w, tc.h)}, opt)
			if tc.ok {
				require.NoError(t, err)
				require.Len(t, sheets, 1)
				assert.Equal(t, tc.turned, sheets[0].Placed[0].On.Turn != 0)
				return
			}
			var fit *nest.FitError
			require.ErrorAs(t, err, &fit)
			assert.Equal(t, "H2", fit.ID)
			assert.InDelta(t, tc.w, fit.Width, 1e-9)
			assert.InDelta(t, tc.h, fit.Height, 1e-9)
			assert.InDelta(t, tc.long, fit.MaxLong, 1e-9)
			assert.InDelta(t, tc.shrt, fit.MaxShort, 1e-9)
			assert.Contains(t, err.Error(), "H2 is")
		})
	}
}

func TestNestFillsLeftovers(t *testing.T) {
	// Two plates leave a strip 590 x 66; twelve small pieces go there.
	items := []nest.Item{rect("A", 590, 160), rect("B", 590, 156)}
	for i := 0; i < 8; i++ {
		items = append(items, rect(fmt.Sprintf("f%d", i), 52, 66))
	}
	opt := nest.Options{Stock: bed(600, 400, 0), Gap: 4, Margin: 5}
	sheets, err := nest.Nest(items, opt)
	require.NoError(t, err)
	require.Len(t, sheets, 1)
	checkSheets(t, items, opt, sheets)
}

func TestNestStock(t *testing.T) {
	var items []nest.Item
	for i := 0; i < 6; i++ {
		items = append(items, rect(fmt.Sprintf("P%d", i+1), 280, 180))
	}
	small := rect("S", 90, 90)
	for _, tc := range []struct {
		name  string
		stock []machine.Stock
		items []nest.Item
		want  [][2]float64 // sheets
		left  int
	}{
		{"as many as needed", bed(600, 400, 0), items, [][2]float64{{600, 400}, {600, 400}}, 0},
		{"just enough", bed(600, 400, 2), items, [][2]float64{{600, 400}, {600, 400}}, 0},
		{"one too few", bed(600, 400, 1), items, nil, 2},
		{"the rest on a small sheet", append(bed(600, 400, 1), machine.Stock{Width: 300, Height: 400}), items, [][2]float64{{600, 400}, {300, 400}}, 0},
		{"small stock first", append(bed(300, 400, 0), machine.Stock{Width: 600, Height: 400}), append(items[:4:4], small), [][2]float64{{600, 400}, {300, 400}}, 0},
		{"last sheet as small as will do", append(bed(600, 400, 0), machine.Stock{Width: 100, Height: 100}), append(items[:4:4], small), [][2]float64{{600, 400}, {100, 100}}, 0},
		{"turned to fit", bed(200, 600, 0), items[:3:3], [][2]float64{{200, 600}, {200, 600}}, 0},
	} {
		t.Run(tc.name, func(t *testing.T) {
			opt := nest.Options{Stock: tc.stock, Gap: 4, Margin: 5}
			sheets, err := nest.Nest(tc.items, opt)
			if tc.left > 0 {
				var short *nest.StockError
				require.ErrorAs(t, err, &short)
				assert.Equal(t, tc.left, short.Left)
				assert.Equal(t, "the stock of 1 sheet holds 4 of 6 pieces; no place for P5 (280.0 x 180.0 mm)", err.Error())
				return
			}
			require.NoError(t, err)
			checkSheets(t, tc.items, opt, sheets)
			var got [][2]float64
			for _, s := range sheets {
				got = append(got, [2]float64{s.Width, s.Height})
			}
			assert.ElementsMatch(t, tc.want, got)
		})
	}
}

// A perfect packing exists: 24 pieces cut from a 590 x 390 rectangle by straight
// cuts, gaps taken from the pieces. The area bound says one sheet; two is the most
// that a sound packing of boxes may take.
func TestNestNearAreaBound(t *testing.T) {
	var items []nest.Item
	area := 0.0
	for i, w := range []float64{140, 220, 110, 108} {
		for k, h := range []float64{90, 60, 120, 40, 30, 30} {
			items = append(items, rect(fmt.Sprintf("P%d-%d", i, k), w, h))
			area += (w + 4) * (h + 4)
		}
	}
	require.LessOrEqual(t, area, 594.0*394+1)
	opt := nest.Options{Stock: bed(600, 400, 0), Gap: 4, Margin: 5}
	sheets, err := nest.Nest(items, opt)
	require.NoError(t, err)
	checkSheets(t, items, opt, sheets)
	t.Logf("%d sheets, used %.2f", len(sheets), sheets[0].UsedFraction)
	assert.LessOrEqual(t, len(sheets), 2)
	assert.Greater(t, sheets[0].UsedFraction, 0.8)
}

// Upright stock on a lying bed is loaded a quarter turned.
func TestNestTurnsTheStock(t *testing.T) {
	items := []nest.Item{rect("A", 580, 380)}
	opt := nest.Options{Stock: bed(400, 600, 0), Travel: nest.Travel{X: 600, Y: 400}, Gap: 4, Margin: 5}
	sheets, err := nest.Nest(items, opt)
	require.NoError(t, err)
	assert.Equal(t, 600.0, sheets[0].Width)
	assert.Equal(t, 400.0, sheets[0].Height)
	checkSheets(t, items, opt, sheets)
}

func TestNestRefuses(t *testing.T) {
	one := []nest.Item{rect("A", 10, 10)}
	for _, tc := range []struct {
		name  string
		items []nest.Item
		opt   nest.Options
		says  string
	}{
		{"no stock", one, nest.Options{}, "no stock"},
		{"negative gap", one, nest.Options{Stock: bed(100, 100, 0), Gap: -1}, "not negative"},
		{"margin not a number", one, nest.Options{Stock: bed(100, 100, 0), Margin: math.NaN()}, "finite"},
		{"stock of no width", one, nest.Options{Stock: bed(0, 100, 0)}, "stock 1"},
		{"negative count", one, nest.Options{Stock: bed(100, 100, -1)}, "stock 1"},
		{"margins larger than the stock", one, nest.Options{Stock: bed(100, 100, 0), Margin: 60}, "largest that fits the stock, the travel and the margins is 0.0 x 0.0 mm"},
		{"no outline", []nest.Item{{ID: "A"}}, nest.Options{Stock: bed(100, 100, 0)}, "piece A has no outline"},
		{"too many", make([]nest.Item, 2001), nest.Options{Stock: bed(100, 100, 0)}, "2001 pieces, the limit is 2000"},
	} {
		t.Run(tc.name, func(t *testing.T) {
			_, err := nest.Nest(tc.items, tc.opt)
			require.Error(t, err)
			assert.Contains(t, err.Error(), tc.says)
		})
	}
	sheets, err := nest.Nest(nil, nest.Options{Stock: bed(100, 100, 0)})
	require.NoError(t, err)
	assert.Empty(t, sheets)
}

// Outlines need not start at the origin of their frame.
func TestNestPlacesAnyFrame(t *testing.T) {
	it := nest.Item{ID: "A", Outline: geom.Rect(geom.Box{Min: geom.Point{X: -30, Y: 12}, Max: geom.Point{X: 100, Y: 400}})}
	opt := nest.Options{Stock: bed(600, 200, 0), Gap: 4, Margin: 5}
	sheets, err := nest.Nest([]nest.Item{it}, opt)
	require.NoError(t, err)
	checkSheets(t, []nest.Item{it}, opt, sheets)
	assert.Equal(t, 90*geom.Degree, sheets[0].Placed[0].On.Turn)
}

func BenchmarkNest(b *testing.B) {
	for _, n := range []int{30, 100} {
		b.Run(fmt.Sprint(n), func(b *testing.B) {
			var items []nest.Item
			for i := 0; i < n; i++ {
				items = append(items, rect(fmt.Sprint(i), 40+float64(i*97%400), 30+float64(i*53%120)))
			}
			b.ReportAllocs()
			for b.Loop() {
				if _, err := nest.Nest(items, nest.Options{Stock: bed(600, 400, 0), Gap: 4, Margin: 5}); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}
