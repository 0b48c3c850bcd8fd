// Package layout knows cue-sport tables: how one is surveyed, which marks each
// game puts on it and where they go, and whether the balls fit. It knows
// nothing of machines, parts or files. Lengths are in mm, in the table frame:
// origin in the middle of the head (baulk) cushion's nose line, +x towards the
// foot (top) cushion, +y to the left of someone looking from head to foot.
package layout

import "spotjig/layout/geom"

// Kind says what shape a mark has.
type Kind string

// The kinds of mark.
const (
	Spot    Kind = "spot"    // X, Y
	Line    Kind = "line"    // X, Y to X2, Y2
	Arc     Kind = "arc"     // centre X, Y, Radius, Start to End counter-clockwise
	Outline Kind = "outline" // Points, closed
)

// Mark is one mark on the cloth, table frame.
type Mark struct {
	ID    string   // the first owner's id, e.g. "head-spot"
	Also  []string // ids of other owners, e.g. "brown"
	Name  string   // as a fitter says it, e.g. "head spot, brown"
	Games []string // the games that own it, in the job's order
	Kind  Kind
	Group string // marks drawn as one thing share it, e.g. "rack"; "" none

	X, Y       float64      // spot; start of a line; centre of an arc
	X2, Y2     float64      // end of a line
	Radius     float64      // arc
	Start, End geom.Angle   // arc, counter-clockwise from Start to End
	Points     [][2]float64 // outline, closed, counter-clockwise

	Rule   string // in words a fitter would use: "29 in in 140 1/2 in of length"
	Source string // where the rule is published, or "common practice", or "from memory"

	// Where the rule measures from, for people: e.g. "524.5 mm from the head nose".
	FromHead, FromFoot, Across string

	// Plus-minus that the tape and the survey give the mark along x and across y.
	TapeX, TapeY float64
	// How far the mark moved from the ideal rectangle because of the survey.
	MovedX, MovedY float64
	// How far each of its places (a spot, a centre, a line's ends, an outline's corners)
	// moves along and across, and its radius grows, on a table a millimetre longer.
	Grows  [][2]float64
	GrowsR float64
}
