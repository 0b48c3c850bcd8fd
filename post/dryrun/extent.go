package dryrun

import (
	"math"

	"spotjig/cam/machine"
	"spotjig/post/rs274/read"
)

// extent is a box that grows, with the line on which each of its sides was reached first.
type extent struct {
	lo, hi         read.Point
	loLine, hiLine [3]int64
}

func newExtent() extent {
	inf := math.Inf(1)
	return extent{lo: read.Point{inf, inf, inf}, hi: read.Point{-inf, -inf, -inf}}
}

// empty reports whether nothing was taken in.
func (x *extent) empty() bool { return x.lo[0] > x.hi[0] }

// include takes a place in.
func (x *extent) include(p read.Point, line int64) {
	for i, v := range p {
		if v < x.lo[i] {
			x.lo[i], x.loLine[i] = v, line
		}
		if v > x.hi[i] {
			x.hi[i], x.hiLine[i] = v, line
		}
	}
}

// join takes another in; of two lines that reach one place the earlier counts.
func (x *extent) join(o extent) {
	for i := range x.lo {
		if o.lo[i] < x.lo[i] || o.lo[i] == x.lo[i] && o.loLine[i] < x.loLine[i] {
			x.lo[i], x.loLine[i] = o.lo[i], o.loLine[i]
		}
		if o.hi[i] > x.hi[i] || o.hi[i] == x.hi[i] && o.hiLine[i] < x.hiLine[i] {
			x.hi[i], x.hiLine[i] = o.hi[i], o.hiLine[i]
		}
	}
}

// box is the box as axes.
func (x *extent) box() Box3 {
	return Box3{machine.Axes{X: x.lo[0], Y: x.lo[1], Z: x.lo[2]}, machine.Axes{X: x.hi[0], Y: x.hi[1], Z: x.hi[2]}}
}
