package paper

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"

	"spotjig/cam/jig"
	"spotjig/cam/machine"
	"spotjig/layout"
	"spotjig/post"
)

// tapered is a table 1270 mm wide at the head and 1274 mm at the foot, with one side fin of
// each template a quarter of the length from its end.
func tapered() post.Set {
	fin := func(template string, x float64) jig.Part {
		return jig.Part{ID: template, Template: template, Role: jig.SideFin, OnTable: jig.Pose{X: x, Upright: true}}
	}
	return post.Set{
		Table: layout.Table{L: 2540, W: 1272, Corners: [4][2]float64{{0, -635}, {2540, -637}, {2540, 637}, {0, 635}}},
		Jig:   jig.Jig{Parts: []jig.Part{fin("head", 635), fin("foot", 1905)}},
	}
}

// The width that two side readings add up to is the one at the fins: by proportion 1271 mm a
// quarter down the table and 1273 mm three quarters down.
func TestWidthWhereTheFinsStand(t *testing.T) {
	set := tapered()
	assert.InDelta(t, 1271, widthAt(set, 635), 1e-9)
	assert.InDelta(t, 1273, widthAt(set, 1905), 1e-9)
	assert.Equal(t, "1271.0 mm (50 1/32 in) at the head template, 1273.0 mm (50 1/8 in) at the foot template", widths(set))
	set.Table.Corners[1][1], set.Table.Corners[2][1] = -635, 635
	set.Table.W = 1270
	assert.Equal(t, "1270.0 mm (50 in)", widths(set))
}

// A line is held against the spot furthest along the centre line, by Pythagoras; one with no
// spot far enough is not.
func TestLineSquaredBySpot(t *testing.T) {
	set := post.Set{Marks: []layout.Mark{
		{ID: "near", Name: "near spot", Kind: layout.Spot, X: 800, Across: "on the centre line"},
		{ID: "far", Name: "far spot", Kind: layout.Spot, X: 1100, Across: "on the centre line"},
		{ID: "aside", Name: "aside", Kind: layout.Spot, X: 2000, Y: 50, Across: "50 mm left of the centre line"},
	}}
	line := layout.Mark{ID: "line", Name: "line", Kind: layout.Line, X: 500, Y: -800, X2: 500, Y2: 800}
	assert.Equal(t, "; from the far spot to its right end 1000.0 mm (39 3/8 in), to its left end 1000.0 mm (39 3/8 in), read ________ and ________", squared(set, line))
	line.X, line.X2 = 1000, 1000
	assert.Empty(t, squared(set, line))
}

// A shop whose sheet is measured is told nothing of two steps.
func TestOrderingFollowsTheThickness(t *testing.T) {
	set := post.Set{Machine: machine.Profile{Process: machine.Shop}}
	assert.Contains(t, strings.Join(ordering(set), "\n"), "Second step")
	set.Material.Measured = true
	assert.NotContains(t, strings.Join(ordering(set), "\n"), "step")
	set.Material.Ordered = machine.OrderedPlates
	assert.Contains(t, strings.Join(ordering(set), "\n"), "First step ordered and arrived")
}
