package layout

import "spotjig/layout/geom"

// Choices are the fitter's to make, never the program's to hide.
type Choices struct {
	BaulkLine string  // "head-string", "scaled", "fifth", "both"
	D         string  // "width/6", "scaled"
	Black     string  // "length/11", "scaled"
	Rack      string  // "corners" (three ticks of 25 mm) or "outline"
	BreakBox  string  // "epbf" (middle half of the width) or "norway" (420 mm from each long nose)
	Anchor    string  // balkline anchors: "7in" or "9in"
	MinApart  float64 // marks nearer than this are reported, mm (default 8)
}

// Balls are the set that will be played with.
type Balls struct {
	Diameter float64 // mm
	Reds     int
	RackWall float64 // thickness of the triangle's wall, mm; 0: the outline is the tight rack's inside
}

// Survey is what a fitter measured, mm; a zero reading was not taken.
// Stations: side lengths are read at SideStation from the corner along the end
// noses; end widths at WidthStation from the end noses (the middle width at
// L/2); diagonals between points on the side noses DiagStation from the end noses.
type Survey struct {
	LengthLeft, LengthRight             float64
	WidthHead, WidthMiddle, WidthFoot   float64
	DiagLeftHead, DiagRightHead         float64 // left head to right foot; right head to left foot
	SideStation, WidthStation           float64 // 0: the first sight (L/8 along the sides, W/4 along the ends)
	DiagStation                         float64 // 0: W/4
	NoseHeight, Undercut                float64
	GapHead, GapFoot, GapLeft, GapRight float64 // nose off a string at its middle, + towards the bed
	Strung                              bool    // both end noses' gaps were read, 0 or not
	Resolution                          float64 // tape resolution, +- mm
}

// HouseMark is a mark of the job's own. Positions are expressions of L and W.
type HouseMark struct {
	ID, Name, Kind string
	X, Y, X2, Y2   string // "L/4", "W/6 + 10 mm"
	Radius         string
	Start, End     geom.Angle
}
