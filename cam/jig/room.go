package jig

import (
	"math"

	"spotjig/cam/machine"
)

// Room is what is kept free on a sheet round what is cut from it, mm. Pieces are sized for
// it, sheets are laid out with it, and cam/path's leads reach no further.
type Room struct {
	Edge float64 // from an outline to the margin of stock and travel
	Gap  float64 // from an outline to the next
}

// LeadIn is how long the lead-in of a beam's outline is, mm; it comes at 45 degrees. In waste
// 1 to 3 mm are common practice.
const LeadIn = 2.0

// bladeRoom holds the run-in of a blade, a side of every cut, mm.
const bladeRoom = 3.0

// pivotRoom is kept between the edge of a sheet and the pivot, which swings round corners an
// offset beside the cut, mm.
const pivotRoom = 0.5

// RoomFor is the room that a process needs on a sheet. At the edge of a beam's it is the cut
// and its lead-in; a shop's leads are taken to be like ours. Between two pieces it is the
// same for each, and a wall of at least half the sheet's thickness between the cuts
// (American University of Beirut, techlab, How To Prepare Your Laser File: a rule of thumb
// for discrete parts, "particularly on acrylics"). The sheet is as thick as it is sold: what
// a shop has cut must not move when the thickness is measured.
func RoomFor(p machine.Profile, m machine.Material) Room {
	if p.Process == machine.Knife {
		return Room{Edge: math.Max(bladeRoom, p.Knife.Offset+pivotRoom) + m.Kerf/2, Gap: 2*bladeRoom + m.Kerf}
	}
	edge := LeadIn*math.Sqrt2/2 + m.Kerf
	return Room{Edge: edge, Gap: math.Max(2*edge, m.Sold/2+m.Kerf)}
}
