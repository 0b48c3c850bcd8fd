package jig

import (
	"fmt"
	"math"

	"spotjig/layout"
	"spotjig/layout/geom"
)

// plateScores draws the centre line, the check ticks and the side fins' scales.
func plateScores(tp *template, lim limits, table layout.Table, font lettering) {
	for _, f := range tp.fins {
		if f.role == SideFin {
			finScale(tp, f, lim, table, font)
		}
		f.on.busy = append(f.on.busy, footprint(f, lim))
	}
	for _, p := range tp.pieces {
		if p.box.Min.Y < -10 && p.box.Max.Y > 10 {
			centreLine(tp, p, lim)
		}
	}
	for i := range tp.members {
		checkTicks(tp, i)
	}
}

// footprint is where a fin stands on its piece, wherever it slides.
func footprint(f *fin, lim limits) geom.Box {
	m := geom.Placement{X: f.front.X, Y: f.front.Y, TurnDeg: f.runDeg}
	long := f.outline.Bounds().Max.X
	if f.role == SideFin {
		long += lim.sideTravel
	}
	return geom.EmptyBox().Include(m.Apply(geom.Point{X: 0, Y: -lim.t / 2})).Include(m.Apply(geom.Point{X: long, Y: lim.t / 2})).Grow(1)
}

// finScale draws the ruler beside a side fin's slot: a tick each half millimetre,
// longer at whole and at every fifth, numbered with the distance from the jig's
// centre line to the nose that the fin then touches.
func finScale(tp *template, f *fin, lim limits, table layout.Table, font lettering) {
	p := f.on
	s := 1.0
	if f.front.Y < 0 {
		s = -1
	}
	nominal := table.W / 2
	side := scaleSide(tp, f)
	edge := f.front.X + side*(lim.finSlot/2+1.2)
	lo, hi := math.Ceil((nominal-lim.sideTravel)*2), math.Floor((nominal+lim.sideTravel)*2)
	for k := lo; k <= hi; k++ {
		read := k / 2
		v := s * (read - f.index)
		long := 2.0
		switch {
		case math.Mod(k, 10) == 0:
			long = 5
		case math.Mod(k, 2) == 0:
			long = 3
		}
		p.scores = append(p.scores, line(geom.Point{X: edge, Y: v}, geom.Point{X: edge + side*long, Y: v}))
		if math.Mod(k, 10) == 0 {
			number(p, fmt.Sprintf("%g", read), geom.Point{X: edge + side*6.2, Y: v}, side, font)
		}
	}
	box := geom.EmptyBox().Include(geom.Point{X: edge - side, Y: s * (nominal - lim.sideTravel - f.index - 3)}).
		Include(geom.Point{X: edge + side*16, Y: s * (nominal + lim.sideTravel - f.index + 3)})
	p.busy = append(p.busy, box)
}

// scaleSide is +1 or -1 along u: the side of the slot with more room.
func scaleSide(tp *template, f *fin) float64 {
	lo, hi := f.on.box.Min.X, f.on.box.Max.X
	for _, e := range tp.elements {
		if e.transverse() {
			if e.a.X < f.front.X {
				lo = math.Max(lo, e.a.X)
			} else {
				hi = math.Min(hi, e.a.X)
			}
		}
	}
	if f.front.X-lo > hi-f.front.X {
		return -1
	}
	return 1
}
