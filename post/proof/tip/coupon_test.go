package tip_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"spotjig/cam/jig/testpiece"
	"spotjig/cam/nest"
	"spotjig/cam/path"
	"spotjig/layout/geom"
	"spotjig/post/proof/tip"
)

// The coupon reads as its text says: cut by a blade of 0.45 mm, the square that
// assumes 0.45 mm is true; one that assumes more runs past its corners, by about half
// as much again as it assumes too much; one that assumes less cuts them short, the
// more the further off.
func TestKnifeCouponReadsTheOffset(t *testing.T) {
	req := knifeRequest(0.45)
	c := testpiece.NewKnifeCoupon(req.Machine, req.Material)
	req.Machine.Knife.ZFloor = -1.2
	for i, p := range c.Parts {
		req.Sheet.Placed = append(req.Sheet.Placed, placedItem(p.ID, 20+30*float64(i%8), 20+40*float64(i/8)))
	}
	req.Parts, req.Trials = c.Parts, c.Trials
	tp, err := path.Knife(req)
	require.NoError(t, err)
	moves, owner := pivotMoves(tp, req.Start, req.Machine.Knife.ZUp)
	past, short := map[string]float64{}, map[string]float64{}
	tip.Blade{Offset: 0.45}.Trail(moves, func(s tip.TipSample) {
		i, k := owner[s.Move][0], owner[s.Move][1]
		if i < 0 || s.Z >= 0 || tp.Ops[i].Layer != path.Outline || k < tp.Ops[i].First || k >= tp.Ops[i].Last {
			return
		}
		op := tp.Ops[i]
		box := nominalOf(req, op)[0].Bounds()
		out := math.Max(math.Max(box.Min.X-s.At.X, s.At.X-box.Max.X), math.Max(box.Min.Y-s.At.Y, s.At.Y-box.Max.Y))
		past[op.Part] = math.Max(past[op.Part], out)
		short[op.Part] = math.Max(short[op.Part], -out)
	})
	for _, tr := range c.Trials {
		over := tr.Offset - 0.45
		switch {
		case tr.Offset == 0:
			assert.InDelta(t, 0, past[tr.Part], 0.001, tr.Part)
		case math.Abs(over) < 1e-9:
			assert.InDelta(t, 0, past[tr.Part], 0.001, tr.Part)
			assert.InDelta(t, 0, short[tr.Part], 0.001, tr.Part)
		case over > 0:
			assert.InDelta(t, 1.5*over, past[tr.Part], 0.15*over, "%s spikes", tr.Part)
		default:
			assert.Greater(t, short[tr.Part], 0.3*-over, "%s is cut short", tr.Part)
		}
	}
	for _, op := range tp.Ops {
		for _, tr := range c.Trials {
			if tr.Part == op.Part && tr.Depth < 0 && op.Layer == path.Outline {
				assert.InDelta(t, tr.Depth, op.Moves[op.First].Z, 1e-12)
			}
		}
	}
}

func placedItem(id string, x, y float64) nest.Placed {
	return nest.Placed{ID: id, On: geom.Placement{X: x, Y: y}}
}
