package path_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"spotjig/cam/jig"
	"spotjig/cam/nest"
	"spotjig/cam/path"
	"spotjig/layout/geom"
)

// Where a blade may come in: not from outside the sheet, nor through anything kept.
// The tip lies within the offset d of the pivot, so that while the tip is in waste the
// pivot is at most d beyond it.

// leftEdgeOnly is a slab that may be started on its left edge alone.
func leftEdgeOnly(t *testing.T, id string) jig.Part {
	p := slab(t, id)
	for i, s := range p.Outline.Segments() {
		if i != 6 {
			p.NoStart = append(p.NoStart, s)
		}
	}
	return p
}

// plunges are the places where a blade goes into the sheet in a part's outline.
func plunges(tp path.Toolpath, part string) []geom.Point {
	var out []geom.Point
	for _, op := range ops(tp, path.Outline) {
		z := 1.0
		for _, m := range op.Moves {
			if op.Part == part && m.Z < 0 && z >= 0 {
				out = append(out, m.From)
			}
			z = m.Z
		}
	}
	return out
}

func TestRunInsStayInTheSheet(t *testing.T) {
	const d = 0.45
	for _, x := range []float64{0.3, 0.6, 1, 1.5, 5} {
		req := knifeSheet(d, leftEdgeOnly(t, "H1"))
		req.Sheet.Placed[0].On = geom.Placement{X: x, Y: 20}
		tp, err := path.Knife(req)
		require.NoError(t, err)
		at := plunges(tp, "H1")
		require.NotEmpty(t, at)
		for _, p := range at {
			assert.Greater(t, p.X, -d, "%g mm from the sheet's edge", x)
			if x == 5 {
				assert.Less(t, p.X, x-d, "with room the blade comes in from waste")
			}
		}
	}
}

func TestRunInsKeepOffOtherPieces(t *testing.T) {
	const d = 0.45
	for _, gap := range []float64{0.6, 0.8, 1.2, 2} {
		req := knifeSheet(d, leftEdgeOnly(t, "H1"), slab(t, "H2"))
		req.Sheet.Placed[0].On = geom.Placement{X: 150, Y: 50}
		req.Sheet.Placed[1].On = geom.Placement{X: 50 - gap, Y: 50}
		tp, err := path.Knife(req)
		require.NoError(t, err)
		at := plunges(tp, "H1")
		require.NotEmpty(t, at)
		other := req.Parts[1].Outline.Transform(req.Sheet.Placed[1].On)
		for _, p := range at {
			if _, deep := other.Nearest(p); other.Contains(p) {
				assert.Less(t, deep, d, "%g mm beside another piece", gap)
			}
		}
	}
}

func TestRunInsKeepOffTheOpeningAround(t *testing.T) {
	const d = 0.45
	for _, gap := range []float64{0.6, 0.8, 1.2, 6} {
		ring := slab(t, "A1")
		ring.Openings = []jig.Opening{{ID: "eye", Kind: jig.OpenHang, Figure: geom.Dot(geom.Point{X: 50, Y: 30}), Width: 2 * 22}}
		disc := jig.Part{ID: "Z1", Outline: geom.Circle(geom.Point{X: 50, Y: 30}, 22-gap)}
		req := knifeSheet(d, ring)
		req.Parts = append(req.Parts, disc)
		req.Sheet.Placed = append(req.Sheet.Placed, nest.Placed{ID: "Z1", On: req.Sheet.Placed[0].On})
		tp, err := path.Knife(req)
		require.NoError(t, err)
		at := plunges(tp, "Z1")
		require.NotEmpty(t, at)
		centre := req.Sheet.Placed[0].On.Apply(geom.Point{X: 50, Y: 30})
		for _, p := range at {
			assert.Less(t, p.Dist(centre), 22+d, "%g mm inside an opening", gap)
			if gap == 6 {
				assert.Greater(t, p.Dist(centre), 22-gap+d, "with room the blade comes in from waste")
			}
		}
	}
}

// A blade that cannot turn in the skin runs out of every corner into waste; between
// pieces 0.5 mm apart there is none.
func TestRunsOutNeedWaste(t *testing.T) {
	square := func(id string) jig.Part {
		return jig.Part{ID: id, Outline: poly(0, 0, 40, 0, 40, 40, 0, 40)}
	}
	for gap, ok := range map[float64]bool{0.5: false, 30: true} {
		req := knifeSheet(0.45, square("H1"), square("H2"))
		req.Machine.Knife.ZSkin = 0
		req.Sheet.Placed[0].On = geom.Placement{X: 100, Y: 80}
		req.Sheet.Placed[1].On = geom.Placement{X: 140 + gap, Y: 80}
		_, err := path.Knife(req)
		if ok {
			require.NoError(t, err)
			continue
		}
		require.ErrorIs(t, err, path.ErrKnife)
		assert.ErrorContains(t, err, "no waste to lift clear and come in again")
	}
}

// The alignment is cut where no piece lies, also when the nearest place is taken: its
// pivots keep at least their offset off every piece.
func TestAlignmentIsCutInWaste(t *testing.T) {
	const d = 0.45
	for _, at := range []geom.Placement{{X: 1, Y: 1}, {X: 250, Y: 100}, {X: 1, Y: 120}, {X: 3, Y: 3}} {
		req := knifeSheet(d, slab(t, "H1"))
		req.Sheet.Placed[0].On = at
		tp, err := path.Knife(req)
		require.NoError(t, err)
		c := req.Parts[0].Outline.Transform(at)
		require.Equal(t, "waste", tp.Ops[0].Part)
		for _, m := range tp.Ops[0].Moves {
			for f := 0.0; f <= 1; f += 0.1 {
				p := m.At(f)
				_, away := c.Nearest(p)
				assert.False(t, c.Contains(p), "%v: align at %v", at, p)
				assert.Greater(t, away, d, "%v: align at %v", at, p)
				assert.True(t, p.X > 0 && p.Y > 0 && p.X < 400 && p.Y < 200, "%v: align at %v", at, p)
			}
		}
	}
}
