package geom_test

import (
	"fmt"

	"spotjig/layout/geom"
)

// A slot of 60 by 3 mm is a contour of two lines and two half circles, bulge 1. Offset
// outwards by half a kerf of 0.2 mm it is what a beam's middle follows.
func ExampleContour_Offset() {
	slot := geom.MustClosed(
		geom.Vertex{At: geom.Point{X: 0, Y: -1.5}},
		geom.Vertex{At: geom.Point{X: 60, Y: -1.5}, Bulge: 1},
		geom.Vertex{At: geom.Point{X: 60, Y: 1.5}},
		geom.Vertex{At: geom.Point{X: 0, Y: 1.5}, Bulge: 1},
	)
	beam, err := slot.Offset(0.1)
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("slot %.3f mm round, beam %.3f\n", slot.Length(), beam.Length())
	// Output: slot 129.425 mm round, beam 130.053
}

// A placement turns about the origin first, then shifts.
func ExamplePlacement_Apply() {
	on := geom.Placement{X: 100, Y: 50, Turn: 90 * geom.Degree}
	at := on.Apply(geom.Point{X: 10, Y: 0})
	fmt.Printf("%.1f %.1f, and back %.1f\n", at.X, at.Y, on.Inverse().Apply(at).X)
	// Output: 100.0 60.0, and back 10.0
}
