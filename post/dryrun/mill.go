package dryrun

import (
	"math"

	"spotjig/post/rs274/read"
)

// mill judges a move of a router's tool against the sheet's upper face: in it the spindle
// turns and nothing goes at travel speed but straight up.
func (j *judge) mill(e *read.Event, from read.Point) {
	if !j.sinks(from[2], e.To[2]) {
		return
	}
	low := math.Min(from[2], e.To[2])
	same := math.Hypot(e.To[0]-j.bore[0], e.To[1]-j.bore[1]) < tinyOver && j.bore[2] < j.top
	if e.Kind == read.Rapid {
		if same && e.To[2] >= j.bore[2]-tinyOver && math.Hypot(e.To[0]-from[0], e.To[1]-from[1]) < tinyOver {
			return // down a hole that it has drilled, as a pecking cycle does
		}
		if s := math.Hypot(e.To[0]-from[0], e.To[1]-from[1]); s > tinyOver || e.To[2] < from[2]-tinyOver {
			j.report(MillRapid, firstWord(e).of(low, j.top, "mm"), "rapid with the tool %.3f mm below the sheet's upper face", j.top-low)
		}
		return
	}
	if deep := e.To[2]; !same || deep < j.bore[2] {
		j.bore = e.To
	}
	if e.Turn == read.Off {
		j.report(MillStill, firstWord(e).of(low, j.top, "mm"), "cut %.3f mm below the sheet's upper face with the spindle off", j.top-low)
	}
}
