package path_test

import (
	"fmt"
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"spotjig/cam/jig"
	"spotjig/cam/path"
	"spotjig/layout/geom"
)

// No piece of an arc is cut by itself that programs print as a line: the pivot's way rises nearly
// a last digit above its chord. Before, a cut might run on by a hundredth of a millimetre into
// the next arc, and the line printed for that asked the blade to turn to its chord at depth.
func TestArcsAreCutInPiecesThatPrint(t *testing.T) {
	for step := range 120 {
		offset := 0.3 + 0.005*float64(step)
		part := slab(t, "H1")
		for i := range 6 {
			part.Openings = append(part.Openings, jig.Round(fmt.Sprint("hole-", i), jig.OpenSpot, geom.Point{X: 14 + 14*float64(i), Y: 30}, 1.2+0.15*float64(i)))
		}
		req := knifeSheet(offset, part)
		req.Machine.Knife.ArcMin = 0.3
		tp, err := path.Knife(req)
		require.NoError(t, err)
		for _, op := range tp.Ops {
			for _, m := range op.Moves {
				if m.IsArc() && math.Abs(m.Radius()-offset) > 1e-6 {
					assert.GreaterOrEqual(t, math.Abs(m.Bulge)*m.From.Dist(m.To)/2, 0.00009, "%s, offset %.2f: %.4f mm of an arc", op.Feature, offset, m.Length())
				}
			}
		}
	}
}

// The pivot stays on the sheet, over the run-in and the run-out too, for pieces as near to the
// edge as they are laid; before, only the tip did.
func TestPivotStaysOnTheSheet(t *testing.T) {
	for _, offset := range []float64{0.2, 0.45, 0.7, 0.9, 1.5, 3, 5} {
		for turn := range 8 {
			part := rich(t, "H1")
			req := knifeSheet(offset, part)
			req.Machine.Knife.ArcMin = min(2*offset, 1.5)
			edge := jig.RoomFor(req.Machine, req.Material).Edge
			on := geom.Placement{Turn: 90 * geom.Degree * geom.Angle(turn%4)}
			box := part.Outline.Transform(on).Bounds()
			on.X, on.Y = edge-box.Min.X, edge-box.Min.Y
			req.Sheet.Placed[0].On = on
			req.Sheet.Width, req.Sheet.Height = box.Width()+2*edge, box.Height()+2*edge
			if turn >= 4 {
				req.Sheet.Width += 100
			} else {
				req.Sheet.Height += 100
			}
			tp, err := path.Knife(req)
			require.NoError(t, err, "offset %g", offset)
			sheet := geom.Box{Max: geom.Point{X: req.Sheet.Width, Y: req.Sheet.Height}}
			assert.True(t, sheet.Holds(tp.Bounds), "offset %g, turn %d: %v of %v", offset, turn, tp.Bounds, sheet)
		}
	}
}
