package path_test

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"spotjig/cam/machine"
	"spotjig/cam/path"
	"spotjig/layout/geom"
)

// Chains are cut as drawn and in order, once a pass; lengths by hand: two sides of
// 3 and 4 cut twice, 5 back to their start, and 10 mm on to a stroke of 2.
func TestAsDrawn(t *testing.T) {
	pt := func(x, y float64) geom.Point { return geom.Point{X: x, Y: y} }
	hook := []geom.Segment{{From: pt(0, 0), To: pt(3, 0)}, {From: pt(3, 0), To: pt(3, 4)}}
	stroke := []geom.Segment{{From: pt(13, 4), To: pt(15, 4)}}
	ops := path.AsDrawn([]path.Drawn{
		{Chain: hook, Layer: path.Outline, Part: "COMB", Feature: "X", Setting: machine.Setting{Power: 800, Feed: 10, Passes: 2}},
		{Chain: stroke, Layer: path.Score, Part: "SQUARE", Feature: "tick", Setting: machine.Setting{Power: 100, Feed: 50}},
	})
	assert.Len(t, ops, 3)
	tp := path.Arranged(7, geom.Point{}, ops)
	assert.Equal(t, 7, tp.Sheet)
	assert.Equal(t, machine.Laser, tp.Process)
	assert.InDelta(t, 7+7+2, tp.Cut, 1e-9)
	assert.InDelta(t, 5+10, tp.Travel, 1e-9)
	assert.Equal(t, geom.Box{Min: pt(0, 0), Max: pt(15, 4)}, tp.Bounds)
	for i, want := range []struct {
		pass  int
		power float64
		feed  machine.Feed
	}{{1, 800, 10}, {2, 800, 10}, {1, 100, 50}} {
		assert.Equal(t, want.pass, ops[i].Pass)
		assert.Equal(t, want.power, ops[i].Power)
		assert.Equal(t, want.feed, ops[i].Moves[0].Feed)
		assert.Equal(t, len(ops[i].Moves), ops[i].Last)
	}

	before, from := path.Freeing([]path.Op{ops[2], ops[0], ops[2]})
	assert.Equal(t, ops[2:], before)
	assert.Equal(t, []path.Op{ops[0], ops[2]}, from)
	before, from = path.Freeing(ops[2:])
	assert.Equal(t, ops[2:], before)
	assert.Empty(t, from)
}
