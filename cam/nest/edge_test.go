package nest_test

import (
	"fmt"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"spotjig/cam/machine"
	"spotjig/cam/nest"
	"spotjig/layout/geom"
)

// What changes of single signs and terms showed to be untested.

// Several sizes of stock, some of which there are few of, and outlines anywhere in
// their frames: no size is used more often than there is of it, pieces of a sheet come
// in the order given, and the laws of every answer hold.
func TestNestKeepsToTheStockThereIs(t *testing.T) {
	short := 0
	rapid.Check(t, func(t *rapid.T) {
		var items []nest.Item
		order := map[string]int{}
		for i := range rapid.IntRange(1, 30).Draw(t, "n") {
			x, y := float64(rapid.IntRange(-400, 400).Draw(t, "x")), float64(rapid.IntRange(-400, 400).Draw(t, "y"))
			w, h := float64(rapid.IntRange(10, 180).Draw(t, "w")), float64(rapid.IntRange(10, 180).Draw(t, "h"))
			id := fmt.Sprintf("P%d", i)
			order[id] = i
			items = append(items, nest.Item{ID: id, Outline: geom.Rect(geom.Box{Min: geom.Point{X: x, Y: y}, Max: geom.Point{X: x + w, Y: y + h}})})
		}
		opt := nest.Options{Gap: 4, Margin: 5, Stock: []machine.Stock{
			{Width: 600, Height: 400, Count: rapid.IntRange(1, 3).Draw(t, "large")},
			{Width: 210, Height: 200, Count: rapid.IntRange(1, 2).Draw(t, "small")},
			{Width: 300, Height: 250, Count: rapid.IntRange(1, 3).Draw(t, "middle")},
		}}
		sheets, err := nest.Nest(items, opt)
		if err != nil {
			short++
			var e *nest.StockError
			require.ErrorAs(t, err, &e)
			return
		}
		checkSheets(t, items, opt, sheets)
		used := map[float64]int{}
		for _, s := range sheets {
			used[s.Width]++
			for i := 1; i < len(s.Placed); i++ {
				require.Less(t, order[s.Placed[i-1].ID], order[s.Placed[i].ID], "order on sheet %d", s.N)
			}
		}
		for _, s := range opt.Stock {
			require.LessOrEqual(t, used[s.Width], s.Count, "sheets of %g mm", s.Width)
		}
	})
	assert.Less(t, short, 50, "too few answers to judge")
}

// Two sheets are filled where one of a kind is left: only one of them may become it.
func TestNestDownsizesWithinTheStock(t *testing.T) {
	// 180 x 180 four times: two fit no 210 x 200 together, one does.
	items := []nest.Item{rect("A", 590, 390), rect("B", 180, 180)}
	for _, tc := range []struct {
		count int
		want  []float64
	}{{1, []float64{600, 210}}, {2, []float64{600, 210}}} {
		sheets, err := nest.Nest(items, nest.Options{Gap: 4, Margin: 5, Stock: []machine.Stock{{Width: 600, Height: 400}, {Width: 210, Height: 200, Count: tc.count}}})
		require.NoError(t, err)
		var got []float64
		for _, s := range sheets {
			got = append(got, s.Width)
		}
		assert.ElementsMatch(t, tc.want, got)
	}
	// Of two packings on as many sheets the one that takes less stock is given.
	items = []nest.Item{rect("A", 280, 180), rect("B", 280, 180)}
	sheets, err := nest.Nest(items, nest.Options{Gap: 4, Margin: 5, Stock: []machine.Stock{{Width: 900, Height: 700}, {Width: 600, Height: 400}, {Width: 300, Height: 400}}})
	require.NoError(t, err)
	require.Len(t, sheets, 1)
	assert.Equal(t, 300.0, sheets[0].Width)
}

// What does not fit is told the size that does: that of the sheet with the longest
// usable side, and of two as long the larger.
func TestNestNamesTheLargestThatFits(t *testing.T) {
	for _, tc := range []struct {
		stock      []machine.Stock
		long, shrt float64
	}{
		{[]machine.Stock{{Width: 600, Height: 400}, {Width: 500, Height: 500}}, 590, 390},
		{[]machine.Stock{{Width: 500, Height: 500}, {Width: 600, Height: 400}}, 590, 390},
		{[]machine.Stock{{Width: 600, Height: 400}, {Width: 600, Height: 450}}, 590, 440},
		{[]machine.Stock{{Width: 600, Height: 450}, {Width: 600, Height: 400}}, 590, 440},
		{[]machine.Stock{{Width: 300, Height: 200}, {Width: 600, Height: 100}, {Width: 400, Height: 590}}, 590, 90},
	} {
		_, err := nest.Nest([]nest.Item{rect("A", 700, 10)}, nest.Options{Gap: 4, Margin: 5, Stock: tc.stock})
		var fit *nest.FitError
		require.ErrorAs(t, err, &fit)
		assert.InDelta(t, tc.long, fit.MaxLong, 1e-9, "%v", tc.stock)
		assert.InDelta(t, tc.shrt, fit.MaxShort, 1e-9, "%v", tc.stock)
	}
}

// One small sheet is there and two pieces would each fit it: the second stays on a
// larger one, and on none when there is none.
func TestNestDoesNotUseASmallSheetTwice(t *testing.T) {
	items := []nest.Item{rect("A", 180, 180), rect("B", 180, 180), rect("C", 180, 180)}
	large := machine.Stock{Width: 300, Height: 250}
	for _, tc := range []struct {
		count int
		want  []float64
	}{{1, []float64{210, 300, 300}}, {2, []float64{210, 210, 300}}, {3, []float64{210, 210, 210}}, {0, []float64{210, 210, 210}}} {
		small := machine.Stock{Width: 210, Height: 200, Count: tc.count}
		for _, stock := range [][]machine.Stock{{large, small}, {small, large}} {
			sheets, err := nest.Nest(items, nest.Options{Gap: 4, Margin: 5, Stock: stock})
			require.NoError(t, err)
			var got []float64
			for _, s := range sheets {
				got = append(got, s.Width)
			}
			assert.ElementsMatch(t, tc.want, got, "%d small sheets", tc.count)
		}
		if tc.count > 0 && tc.count < 3 {
			_, err := nest.Nest(items, nest.Options{Gap: 4, Margin: 5, Stock: []machine.Stock{small}})
			var e *nest.StockError
			require.ErrorAs(t, err, &e)
			assert.Equal(t, 3-tc.count, e.Left)
		}
	}
}
