package plate

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"spotjig/cam/jig"
	"spotjig/cam/machine"
	"spotjig/layout/job"
)

// TestKeyPlaces: tails stand step by step off the middle, and at the end of their room where
// that is half a step on: nearer, two would pass for one another.
func TestKeyPlaces(t *testing.T) {
	for room, want := range map[float64][]float64{
		-1: nil, 0: {0}, 3.9: {0, 3}, 4: {0, 4}, 5.9: {0, 4}, 6: {0, 4, 6}, 7.25: {0, 4, 7}, 13: {0, 4, 8, 12},
	} {
		assert.Equal(t, want, keyPlaces(room), "%g mm", room)
	}
}

// TestLegsAreAsWideAsTheirKeys: the longest tail has its places and a web beside it in a leg,
// and as many legs as fit lie side by side on the bed; never is a leg wider than a member.
func TestLegsAreAsWideAsTheirKeys(t *testing.T) {
	for _, c := range []struct{ w, h, legs float64 }{{300, 200, 2}, {600, 400, 5}, {900, 600, 8}, {1300, 900, 12}} {
		p := machine.Profile{Process: machine.Laser, MarginBed: 5}
		p.Max.X, p.Max.Y = c.w, c.h
		m := machine.Material{Kind: "cast acrylic", Thickness: 5, Sold: 5, Kerf: 0.2, Sheets: []machine.Stock{{Width: c.w, Height: c.h}}}
		lim := limits(jig.Request{Machine: p, Material: m, BallDiameter: 57, Want: job.Jig{MarkerGuide: 2.8, SideTravel: 12, Joint: "dovetail"}})
		kinds := kinds(lim)
		room := lim.LegWidth/2 - kinds[len(kinds)-1].Head()/2 - lim.Web
		assert.GreaterOrEqual(t, room, legKeys*keyStep, "%g x %g", c.w, c.h)
		assert.LessOrEqual(t, lim.LegWidth, lim.MemberWidth)
		gap := 2 * jig.EdgeRoom(m.Kerf)
		assert.LessOrEqual(t, c.legs*(lim.LegWidth+gap)-gap, lim.BedH+1e-6, "%g x %g", c.w, c.h)
		assert.Greater(t, (c.legs+1)*(lim.LegWidth+gap)-gap, lim.BedH, "%g x %g", c.w, c.h)
	}
}
