package jig

import (
	"fmt"
	"math"

	"spotjig/layout"
	"spotjig/layout/geom"
)

// Measures of a fin, mm, part frame: x from the front edge backwards, y from
// its lowest point. Sketch of an end fin (z is above the cloth):
//
//	z top   ____
//	       |    \
//	nose > |     \
//	       |      \____
//	z = t  |_∩_  ∩_∩___|   ∩: relief, so that inside corners ride on nothing
//	         |_|  |_|
//	         lip  tab
const (
	endTabFrom  = 40.0
	endTabLong  = 18.0
	finTopFlat  = 14.0
	finNoseCut  = 1.5 // the front edge's foot is cut back by this
	indexHeight = 10.0
)

// placeFins stands an end fin on each leg and a side fin on each end of the
// first crosspiece.
func placeFins(tp *template, lim limits, table layout.Table) {
	n := 0
	for _, s := range []float64{-1, 1} {
		v := s * (tp.leg.lo + tp.leg.hi) / 2
		for _, p := range tp.pieces {
			if p.box.Min.X < lim.lip+0.01 && p.box.Min.Y < v && p.box.Max.Y > v {
				n++
				tp.fins = append(tp.fins, endFin(tp, p, v, fmt.Sprintf("%sE%d", tp.letter, n), lim))
			}
		}
	}
	for k, sign := range []float64{-1, 1} {
		if p := sidePiece(tp, sign, lim, table); p != nil {
			tp.fins = append(tp.fins, sideFin(tp, p, sign, fmt.Sprintf("%sS%d", tp.letter, k+1), lim, table))
		}
	}
}

// sidePiece is the piece at a side nose that carries the side fin: the first from
// the end nose that keeps its fin 200 mm from the corner, else the furthest.
func sidePiece(tp *template, sign float64, lim limits, table layout.Table) *piece {
	side := table.W/2 - lim.endGap
	var last *piece
	for _, p := range tp.pieces {
		if math.Abs(math.Max(sign*p.box.Min.Y, sign*p.box.Max.Y)-side) > 0.01 {
			continue
		}
		if last = p; sideFinAt(tp, p) >= cornerWant {
			return p
		}
	}
	return last
}

// endFin stands at v, beside any line that runs along there.
func endFin(tp *template, p *piece, v float64, id string, lim limits) *fin {
	keep := lim.web + (lim.slot+lim.finSlot)/2 + 1
	for _, e := range tp.elements {
		b := e.bounds()
		if b.Min.X < endFinRoom && math.Abs(b.Center().Y-v) < keep && b.Height() < keep {
			v = b.Center().Y + math.Copysign(keep+6, v)
		}
	}
	f := &fin{id: id, role: EndFin, front: geom.Point{Y: v}, on: p}
	f.slotFrom = geom.Point{X: endTabFrom - slotFree, Y: v}
	f.slotTo = geom.Point{X: endTabFrom + endTabLong + slotFree, Y: v}
	heel := endTabFrom + endTabLong + 2*lim.inner + heelStand
	f.outline = lim.finOutline(finShape{tabFrom: endTabFrom, tabLong: endTabLong, flat: finTopFlat, heel: heel})
	f.openSlot(lim.finSlot)
	return f
}

// sideFin stands at a crosspiece's end, s = +1 left, -1 right, where there is
// most room between the lines.
func sideFin(tp *template, p *piece, s float64, id string, lim limits, table layout.Table) *fin {
	u := sideFinAt(tp, p)
	nose := table.W / 2
	at := func(x float64) geom.Point { return geom.Point{X: u, Y: s * (nose - x)} }
	f := &fin{id: id, role: SideFin, front: at(0), runDeg: -90 * s, on: p, index: lim.sideHeel()}
	if f.runDeg < 0 {
		f.runDeg += 360
	}
	from, to := lim.sideTab()
	f.slotFrom, f.slotTo = at(from-lim.sideTravel-slotFree), at(to+lim.sideTravel+slotFree)
	f.outline = lim.finOutline(finShape{tabFrom: from, tabLong: to - from, flat: finTopFlat, heel: lim.sideHeel(), index: true})
	f.openSlot(lim.finSlot)
	return f
}

// openSlot cuts the tab's slot into the piece that the fin stands on.
func (f *fin) openSlot(width float64) {
	f.on.openings = append(f.on.openings, Opening{ID: f.id, Kind: OpenFin, From: f.slotFrom, To: f.slotTo, Width: round3(width)})
}

// finShape is what tells one fin from another, mm from the front edge.
type finShape struct {
	tabFrom, tabLong, flat, heel float64
	index                        bool // the heel ends in an upright index edge
}

// finOutline draws a fin, part frame, counter-clockwise from its foot.
func (lim limits) finOutline(s finShape) geom.Contour {
	top, plate := lim.finTop-lim.finBottom, lim.t-lim.finBottom
	w := 2 * lim.inner // a relief's width; its half circle is the least inside radius
	var cs []corner
	p := func(x, y, rad float64) { cs = append(cs, corner{geom.Point{X: x, Y: y}, rad}) }
	relief := func(x float64) { // a slot of width w upwards between x and x + w
		p(x, plate+0.5+lim.inner, lim.inner)
		p(x+w, plate+0.5+lim.inner, lim.inner)
		p(x+w, plate, 0.5)
	}
	p(finNoseCut, 0, 1)
	p(lim.lip, 0, 1)
	relief(lim.lip)
	p(s.tabFrom-w, plate, 0.5)
	p(s.tabFrom-w, plate+0.5+lim.inner, lim.inner)
	p(s.tabFrom, plate+0.5+lim.inner, lim.inner)
	p(s.tabFrom, 0, 1)
	p(s.tabFrom+s.tabLong, 0, 1)
	relief(s.tabFrom + s.tabLong)
	p(s.heel, plate, 0.5)
	if s.index {
		p(s.heel, plate+indexHeight, 3)
	} else {
		p(s.heel, plate+3, 1)
	}
	p(s.flat, top, 3)
	p(0, top, 3)
	p(0, 3, 1)
	return rounded(cs)
}

// pose returns where the fin stands, table frame.
func (f *fin) pose(tp *template, z float64) Pose {
	at := tp.toTable.Apply(f.front)
	turn := math.Mod(f.runDeg+tp.toTable.TurnDeg, 360)
	return Pose{X: at.X, Y: at.Y, Z: z, TurnDeg: turn, Upright: true}
}
