package write_test

import (
	"bytes"
	"fmt"
	"strings"

	"spotjig/cam/machine"
	"spotjig/cam/path"
	"spotjig/layout/geom"
	"spotjig/post/rs274/write"
)

// One straight cut of 60 mm at 720 mm/min and S800. The program states its units, modes
// and beam before it moves; the head comment is left out here.
func ExampleWrite() {
	laser, _ := machine.Lookup("laser-600x400")
	cut := path.Op{Layer: path.Opening, Part: "H2", Feature: "black", Power: 800, Pass: 1, Last: 1, Moves: []path.Move{{
		Segment: geom.Segment{From: geom.Point{X: 100, Y: 50}, To: geom.Point{X: 160, Y: 50}}, Feed: 12}}}
	tp := path.Toolpath{Sheet: 1, Process: machine.Laser, Ops: []path.Op{cut},
		Bounds: geom.Box{Min: geom.Point{X: 100, Y: 50}, Max: geom.Point{X: 160, Y: 50}}}
	var b bytes.Buffer
	if err := write.Write(&b, tp, write.Options{Machine: laser, Sheets: 1}); err != nil {
		fmt.Println(err)
		return
	}
	for line := range strings.Lines(b.String()) {
		if !strings.HasPrefix(line, "(") || strings.Contains(line, "OPENING") {
			fmt.Print(line)
		}
	}
	// Output:
	// G17 G21 G40 G49
	// G54 G80 G90 G94
	// M5
	// S0
	// (OPENING H2 black)
	// G0 X100.0000 Y50.0000
	// M4
	// S800
	// G1 X160.0000 Y50.0000 F720
	// S0
	// M5
	// M5
	// M2
}
