// Package path orders what is cut from a sheet into a toolpath: kerf or blade
// compensation, lead-ins, overlaps, ties and travel.
package path

import (
	"spotjig/cam/machine"
	"spotjig/layout/geom"
)

// Layer says what kind of cut an operation is. What is on the sheet is cut in this order,
// but for an opening that another piece lies in: it waits for that piece's outline.
type Layer int

// The layers, in cutting order.
const (
	Lettering Layer = iota
	Score
	Opening
	Outline
)

// String returns the layer's name as drawings and programs write it.
func (l Layer) String() string {
	return [...]string{"LETTERING", "SCORE", "OPENING", "OUTLINE"}[l]
}

// Move is one piece of motion with the beam on or the blade down, sheet frame.
// For a knife the segment is the pivot's path and Z its depth.
type Move struct {
	geom.Segment
	Z    float64 // work Z at the move's end; 0 for a laser
	Feed machine.Feed
	Lift bool // knife: the move is made lifted (swivel in the skin), not cutting
}

// Op is one operation: travel to the first move's start, then all moves in one go.
type Op struct {
	Layer   Layer
	Part    string  // "H2"
	Feature string  // "black", "outline"; with Layer and Part it names the cut for people
	Power   float64 // laser: S word
	Closed  bool
	Moves   []Move
	Pass    int // 1 for the first
	// Moves First to Last-1 follow the nominal contour; before them is the lead-in, after
	// them what overlaps and the lead-out. Programs need not tell them apart, tests do.
	First, Last int

	// Knife: by how much the blade is turned about its tip, in all, and how many of these
	// turns are made lifted.
	Turned geom.Angle
	Lifts  int
}

// Toolpath is everything cut from one sheet, in order, sheet frame.
type Toolpath struct {
	Sheet       int
	Process     machine.Process
	Ops         []Op
	Bounds      geom.Box   // of all cuts with their lead-ins
	Cut, Travel float64    // mm
	Turned      geom.Angle // knife: total turning with the blade down
	Lifts       int        // knife: how often the blade is lifted to turn
}
