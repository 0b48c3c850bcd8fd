package testpiece_test

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"spotjig/cam/jig/testpiece"
	"spotjig/cam/machine"
)

func TestKnifeCouponTrials(t *testing.T) {
	for _, row := range []struct {
		name          string
		offset        float64
		thick, floor  float64
		offsets, cuts []float64
	}{
		{"usual blade, film", 0.45, 0.35, -1.2, []float64{0.3, 0.35, 0.4, 0.45, 0.5, 0.55, 0.6}, []float64{-0.2, -0.25, -0.3, -0.35, -0.4, -0.45, -0.5}},
		{"long blade, steps of a tenth", 0.9, 0.35, -1.2, []float64{0.6, 0.7, 0.8, 0.9, 1, 1.1, 1.2}, []float64{-0.2, -0.25, -0.3, -0.35, -0.4, -0.45, -0.5}},
		{"short blade, none at nothing", 0.1, 0.35, -1.2, []float64{0.05, 0.1, 0.15, 0.2, 0.25}, []float64{-0.2, -0.25, -0.3, -0.35, -0.4, -0.45, -0.5}},
		{"thin film, none in the air", 0.45, 0.1, -1.2, []float64{0.3, 0.35, 0.4, 0.45, 0.5, 0.55, 0.6}, []float64{-0.05, -0.1, -0.15, -0.2, -0.25}},
		{"hard mat, none below it", 0.45, 0.35, -0.42, []float64{0.3, 0.35, 0.4, 0.45, 0.5, 0.55, 0.6}, []float64{-0.2, -0.25, -0.3, -0.35, -0.4}},
	} {
		t.Run(row.name, func(t *testing.T) {
			c := testpiece.NewKnifeCoupon(machine.Profile{Knife: machine.KnifeProfile{Offset: row.offset, ZFloor: row.floor}}, machine.Material{Thickness: row.thick})
			var offsets, cuts []float64
			for i, tr := range c.Trials {
				require.Equal(t, c.Parts[i].ID, tr.Part)
				if tr.Offset > 0 {
					offsets = append(offsets, tr.Offset)
				} else {
					cuts = append(cuts, tr.Depth)
				}
			}
			assert.InDeltaSlice(t, row.offsets, offsets, 1e-9)
			assert.InDeltaSlice(t, row.cuts, cuts, 1e-9)
		})
	}
}

// Every square says what it was cut with, and its lettering lies on it.
func TestKnifeCouponIsLettered(t *testing.T) {
	c := testpiece.NewKnifeCoupon(machine.Profile{Knife: machine.KnifeProfile{Offset: 0.45, ZFloor: -1.2}}, machine.Material{Thickness: 0.35})
	for _, p := range c.Parts {
		assert.Len(t, p.Text, 2)
		assert.NotEmpty(t, p.Letters)
		for _, l := range p.Letters {
			assert.True(t, p.Outline.Bounds().Grow(-1).Holds(l.Bounds()), p.ID)
		}
	}
	assert.Equal(t, []string{"O1", "0.30"}, c.Parts[0].Text)
	all := strings.Join(c.Reading, "\n")
	for _, word := range []string{"spike", "rounded", "too large", "too small", "0.05 mm about 0.45 mm", "Depth"} {
		assert.Contains(t, all, word)
	}
}

// Over a thin sheet the floor may leave no depth to try: then there are no squares D, and the
// text told how to read them all the same.
func TestKnifeCouponTellsOfTheSquaresThatItHas(t *testing.T) {
	for floor, has := range map[float64]bool{-0.06: false, -0.07: true} {
		c := testpiece.NewKnifeCoupon(machine.Profile{Knife: machine.KnifeProfile{Offset: 0.25, ZFloor: floor}}, machine.Material{Thickness: 0.05})
		all := strings.Join(c.Reading, "\n")
		assert.Equal(t, has, strings.HasPrefix(c.Parts[len(c.Parts)-1].ID, "D"), "floor %g", floor)
		assert.Equal(t, has, strings.Contains(all, "square D"), "floor %g", floor)
		assert.Equal(t, has, strings.Contains(all, "squares D"), "floor %g", floor)
		assert.Contains(t, all, "Depth: ")
	}
}
