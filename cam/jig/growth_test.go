package jig_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"spotjig/cam/jig"
	"spotjig/layout/geom"
)

// Growth of acrylic: 7.0e-5 per kelvin as a round figure (published: 4.0e-5 per
// degree Fahrenheit = 72e-6 by one maker's glazing notes, 60e-6 by another's data
// sheet, 34 to 77e-6 in a handbook).
const acrylicAlpha = 70e-6

// grown lays every flat part of the jig on the table as it is after it was cut in
// the shop, by its scale, and brought to the hall: each point is its part's own
// distance from the jig's zero times what its material has grown since.
func grown(p jig.Part, by float64) func(geom.Point) geom.Point {
	on := p.OnTable.Plan()
	zero := on.Inverse().Apply(geom.Point{})
	return func(q geom.Point) geom.Point {
		at := on.Apply(zero.Add(q.Sub(zero).Scale(p.Scale * by)))
		return at
	}
}

// furthestOff is the most that any opening's centre or end lies off where the
// plain jig, by the marks, has it.
func furthestOff(parts []jig.Part, by float64) float64 {
	most := 0.0
	for _, p := range parts {
		if p.OnTable.Upright || p.Template != "head" {
			continue
		}
		at := grown(p, by)
		for _, o := range p.Openings {
			for _, q := range []geom.Point{o.A, o.B} {
				most = math.Max(most, at(q).Dist(p.OnTable.Plan().Apply(q)))
			}
		}
	}
	return most
}

// A jig cut at 26 degrees for a hall at 11: what it shrinks by on the way is what
// it was cut larger by, so that in the hall every opening of the assembled head
// template lies on its mark; in the shop none does, and without compensation the
// furthest opening is off by 70e-6 · 15 K · its distance, here about 1 mm.
func TestCompensatedJigIsTrueInTheHall(t *testing.T) {
	r := tableJob(t, 2541, 1269.5, 600, 400, "pool", "snooker")
	r.Material.Expansion = acrylicAlpha
	r.Want.ShopTempC, r.Want.HallTempC = 26, 11
	plain, err := design(r)
	require.NoError(t, err)
	r.Want.CompensateGrowth = true
	comp, err := design(r)
	require.NoError(t, err)

	shrink := 1 + acrylicAlpha*(11-26)
	assert.InDelta(t, 0, furthestOff(comp.Parts, shrink), 0.001)
	off := furthestOff(plain.Parts, shrink)
	assert.Greater(t, off, 0.7)
	assert.InDelta(t, off, furthestOff(comp.Parts, 1), 0.002, "in the shop it is as much too large")
	for _, p := range plain.Parts {
		assert.Equal(t, 1.0, p.Scale, p.ID)
	}
	for _, p := range comp.Parts {
		assert.InDelta(t, 1.00105, p.Scale, 2e-6, "%s: cut larger by 70e-6 times 15 K", p.ID)
	}
}

// Cut in a cold shop for a warm hall the parts are cut smaller.
func TestCompensationFollowsTheSign(t *testing.T) {
	r := tableJob(t, 2541, 1269.5, 600, 400, "pool")
	r.Material.Expansion = acrylicAlpha
	r.Want.ShopTempC, r.Want.HallTempC, r.Want.CompensateGrowth = 10, 20, true
	j, err := design(r)
	require.NoError(t, err)
	for _, p := range j.Parts {
		assert.InDelta(t, 1/1.0007, p.Scale, 1e-12, p.ID)
	}
	assert.InDelta(t, 0, furthestOff(j.Parts, 1.0007), 0.001)
}

// Pieces scaled up for a cold hall still fit the bed they were designed for: 600 x
// 400 mm less 5 mm a side, kerf and lead-ins of 3 mm a side.
func TestCompensatedPiecesFitTheBed(t *testing.T) {
	r := tableJob(t, 2541, 1269.5, 600, 400, "pool", "snooker")
	r.Material.Expansion = 100e-6 // polypropylene, the most that a jig is made of
	r.Want.ShopTempC, r.Want.HallTempC, r.Want.CompensateGrowth = 40, 0, true
	j, err := design(r)
	require.NoError(t, err)
	const long, short = 600 - 10 - 0.18 - 6, 400 - 10 - 0.18 - 6
	for _, p := range j.Parts {
		b := p.Outline.Scaled(p.Scale).Bounds()
		w, h := math.Max(b.Width(), b.Height()), math.Min(b.Width(), b.Height())
		assert.LessOrEqual(t, w, long+0.003, p.ID)
		assert.LessOrEqual(t, h, short+0.003, p.ID)
	}
}
