// Package nest lays parts on sheets.
package nest

import "spotjig/cam/geom"

// Item is one part to be cut: its outline at cut size, part frame.
type Item struct {
	ID      string
	Outline geom.Contour
}

// Placed is an item on a sheet; On carries it from part frame to sheet frame.
type Placed struct {
	ID string
	On geom.Placement // TurnDeg 0, 90, 180 or 270
}

// Sheet is one sheet of stock with what is cut from it. Sheet frame: origin at
// the lower left corner of the stock.
type Sheet struct {
	N             int // from 1
	Width, Height float64
	Placed        []Placed
	UsedFraction  float64 // area of the parts over area of the stock
}
