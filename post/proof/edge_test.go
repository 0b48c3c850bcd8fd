package proof_test

import (
	"math"
	"testing"

	"spotjig/post/proof"
	"spotjig/post/proof/cut"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"spotjig/cam/jig"
	"spotjig/layout/geom"
)

// What changes of single signs and terms showed to be untested.

// vx is a vertex of an entity.
func vx(x, y, bulge float64) geom.Vertex {
	return geom.Vertex{At: geom.Point{X: x, Y: y}, Bulge: bulge}
}

// Every way in which a shape of a drawing may differ from the one wanted, just past
// what is let pass and just at it.
func TestDrawnShapesDiffer(t *testing.T) {
	const near, far = cut.DrawTol * 0.9, cut.DrawTol * 1.1
	outline := func(vs ...geom.Vertex) cut.Entity {
		return cut.Entity{Kind: "LWPOLYLINE", Layer: "OUTLINE", Closed: true, V: vs}
	}
	opening := func(vs ...geom.Vertex) cut.Entity {
		return cut.Entity{Kind: "LWPOLYLINE", Layer: "OPENING", Closed: true, V: vs}
	}
	circle := func(layer string, x, y, r float64) cut.Entity {
		return cut.Entity{Kind: "CIRCLE", Layer: layer, C: geom.Point{X: x, Y: y}, R: r}
	}
	square := outline(vx(0, 0, 0), vx(10, 0, 0.2), vx(10, 10, 0), vx(0, 10, 0))
	open := square
	open.Closed = false
	score := square
	score.Layer = "SCORE"
	// A slot of 3 x 20 with round ends, clockwise; as two arcs an end; from elsewhere.
	slot := opening(vx(0, 1.5, 0), vx(20, 1.5, -1), vx(20, -1.5, 0), vx(0, -1.5, -1))
	q := -math.Tan(math.Pi / 8)
	split := opening(vx(20, 1.5, q), vx(21.5, 0, q), vx(20, -1.5, 0), vx(0, -1.5, -1), vx(0, 1.5, 0))
	back := opening(vx(0, -1.5, 0), vx(20, -1.5, 1), vx(20, 1.5, 0), vx(0, 1.5, 1))
	for _, tc := range []struct {
		name      string
		got, want cut.Entity
		same      bool
	}{
		{"the same", square, square, true},
		{"a vertex moved a little", outline(vx(0, 0, 0), vx(10, near, 0.2), vx(10, 10, 0), vx(0, 10, 0)), square, true},
		{"a vertex moved", outline(vx(0, 0, 0), vx(10, far, 0.2), vx(10, 10, 0), vx(0, 10, 0)), square, false},
		{"the last vertex moved", outline(vx(0, 0, 0), vx(10, 0, 0.2), vx(10, 10, 0), vx(-far, 10, 0)), square, false},
		{"the first vertex moved", outline(vx(-far, 0, 0), vx(10, 0, 0.2), vx(10, 10, 0), vx(0, 10, 0)), square, false},
		{"a bulge changed", outline(vx(0, 0, 0), vx(10, 0, 0.2+1.1*cut.BulgeTol), vx(10, 10, 0), vx(0, 10, 0)), square, false},
		{"a bulge hardly changed", outline(vx(0, 0, 0), vx(10, 0, 0.2-0.9*cut.BulgeTol), vx(10, 10, 0), vx(0, 10, 0)), square, true},
		{"a bulge to the other side", outline(vx(0, 0, 0), vx(10, 0, -0.2), vx(10, 10, 0), vx(0, 10, 0)), square, false},
		{"a vertex too many", outline(vx(0, 0, 0), vx(10, 0, 0.2), vx(10, 10, 0), vx(0, 10, 0), vx(0, 5, 0)), square, false},
		{"open", open, square, false},
		{"on another layer", score, square, false},
		{"another kind", circle("OUTLINE", 5, 5, 5), square, false},
		{"the same circle", circle("OPENING", 5, 5, 2), circle("OPENING", 5, 5, 2), true},
		{"a circle hardly moved", circle("OPENING", 5, 5-near, 2), circle("OPENING", 5, 5, 2), true},
		{"a circle moved", circle("OPENING", 5, 5-far, 2), circle("OPENING", 5, 5, 2), false},
		{"a circle larger", circle("OPENING", 5, 5, 2+far), circle("OPENING", 5, 5, 2), false},
		{"a circle smaller", circle("OPENING", 5, 5, 2-far), circle("OPENING", 5, 5, 2), false},
		{"a slot from another vertex, arcs in two", split, slot, true},
		{"a slot the other way round", back, slot, false},
		{"a slot hardly wider", opening(vx(0, 1.5+near, 0), vx(20, 1.5+near, -1), vx(20, -1.5, 0), vx(0, -1.5, -1)), slot, true},
		{"a slot wider", opening(vx(0, 1.5+far, 0), vx(20, 1.5+far, -1), vx(20, -1.5, 0), vx(0, -1.5, -1)), slot, false},
		{"a slot longer", opening(vx(0, 1.5, 0), vx(20+far, 1.5, -1), vx(20+far, -1.5, 0), vx(0, -1.5, -1)), slot, false},
		{"a slot of half its length", opening(vx(0, 1.5, 0), vx(10, 1.5, -1), vx(10, -1.5, 0), vx(0, -1.5, -1)), slot, false},
		{"a slot with flat ends", opening(vx(0, 1.5, 0), vx(20, 1.5, 0), vx(20, -1.5, 0), vx(0, -1.5, 0)), slot, false},
		{"a slot there and back twice", opening(append(slot.V, slot.V...)...), slot, false},
	} {
		_, err := tc.got.Differs(tc.want)
		if tc.same {
			assert.NoError(t, err, tc.name)
			continue
		}
		assert.ErrorIs(t, err, cut.ErrDrawing, tc.name)
	}
}

// An outline that is one whole circle is drawn as a circle, scaled and moved like
// anything else; three quarters of one, and two halves of unlike circles, are chains.
func TestOutlinesThatAreCircles(t *testing.T) {
	m := proof.MoverOf(jig.Part{Scale: 1.01}, geom.Placement{X: 100, Y: 200, Turn: 90 * geom.Degree})
	e := cut.OutlineEntity(geom.Circle(geom.Point{X: 5, Y: 7}, 3), m)
	require.Equal(t, "CIRCLE", e.Kind)
	assert.InDelta(t, 100-7.07, e.C.X, 1e-9)
	assert.InDelta(t, 200+5.05, e.C.Y, 1e-9)
	assert.InDelta(t, 3.03, e.R, 1e-12)
	q := math.Tan(math.Pi / 8)
	for _, c := range []geom.Contour{
		geom.MustClosed(vx(10, 0, q), vx(0, 10, q), vx(-10, 0, q), vx(0, -10, 0)),
		geom.MustClosed(vx(-10, 0, 1), vx(10, 0, 0.9)),
		geom.MustClosed(vx(10, 0, q), vx(0, 10, q), vx(-10, 0, 0)),
	} {
		assert.Equal(t, "LWPOLYLINE", cut.OutlineEntity(c, m).Kind)
	}
}

// Of checks of one kind a failed one stands for all, wherever it comes; of sound ones
// the worst.
func TestWorstStandsForAll(t *testing.T) {
	c := func(v jig.Verdict, value float64, text string) jig.Check {
		return jig.Check{ID: "x", Verdict: v, Value: value, Text: text}
	}
	other := jig.Check{ID: "y", Verdict: jig.Pass}
	for _, list := range [][]jig.Check{
		{c(jig.Fail, 0, "bad"), c(jig.Pass, 5, "good"), other}, {c(jig.Pass, 5, "good"), c(jig.Fail, 0, "bad"), other},
		{other, c(jig.Pass, 5, "good"), c(jig.Fail, 0, "bad"), c(jig.Pass, 9, "good")},
	} {
		got := proof.Merge(list)
		require.Len(t, got, 2)
		for _, k := range got {
			if k.ID == "x" {
				assert.Equal(t, jig.Fail, k.Verdict)
				assert.Contains(t, k.Text, "bad")
			}
		}
	}
	for _, list := range [][]jig.Check{{c(jig.Pass, 1, ""), c(jig.Pass, 3, ""), c(jig.Pass, 2, "")}, {c(jig.Pass, 3, ""), c(jig.Pass, 1, "")}} {
		assert.Equal(t, 3.0, proof.Merge(list)[0].Value)
	}
}
