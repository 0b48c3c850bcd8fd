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

	"spotjig/cam/geom"
	"spotjig/cam/machine"
	"spotjig/cam/nest"
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

func rect(id string, w, h float64) nest.Item {
	return nest.Item{ID: id, Outline: geom.Rect(geom.Box{Max: geom.Point{X: w, Y: h}})}
}

func bed(w, h float64, count int) []machine.Stock {
	return []machine.Stock{{Width: w, Height: h, Count: count}}
}

// checkSheets holds the laws of every answer: each item once, inside the margin,
// not nearer than the gap to another, by exact distances between outlines.
func checkSheets(t require.TestingT, items []nest.Item, opt nest.Options, sheets []nest.Sheet) {
	outline := map[string]geom.Contour{}
	for _, it := range items {
		outline[it.ID] = it.Outline
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
		for _, p := range s.Placed {
			require.False(t, seen[p.ID], p.ID)
			seen[p.ID] = true
			c := outline[p.ID].Transform(p.On)
			b := c.Bounds()
			for _, edge := range []float64{b.Min.X, b.Min.Y, w - b.Max.X, h - b.Max.Y} {
				require.GreaterOrEqual(t, edge, opt.Margin-2e-6, "%s at %v", p.ID, b)
			}
			for _, o := range laid {
				require.GreaterOrEqual(t, c.Distance(o), opt.Gap-2e-6, p.ID)
				require.False(t, o.Contains(c.Start()), p.ID)
				require.False(t, c.Contains(o.Start()), p.ID)
			}
			laid = append(laid, c)
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
				assert.Equal(t, tc.turned, sheets[0].Placed[0].On.TurnDeg != 0)
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
