package jig

import (
	"fmt"
	"math"

	"spotjig/layout"
	"spotjig/layout/geom"
)

// fin is one upright piece, template frame: where its front edge stands, which
// way it runs in plan, and the slot for its tab.
type fin struct {
	id               string
	role             Role // EndFin or SideFin
	front            geom.Point
	runDeg           float64 // plan direction from the front edge backwards
	slotFrom, slotTo geom.Point
	on               *piece
	outline          geom.Contour
	index            float64 // side fin: its index edge's distance from the front
}

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
	slotFree    = 1.0 // free at both ends of a tab
	finNoseCut  = 1.5 // the front edge's foot is cut back by this
	sideTabLong = 30.0
	heelStand   = 6.0 // plain foot behind the last relief
	endFinRoom  = 90.0
	heelNose    = 1.5 // a side fin's heel, in nose heights
	indexHeight = 10.0
)

// sideTabFrom is where a side fin's tab starts, from its front edge.
func (lim limits) sideTabFrom() float64 {
	return math.Ceil(lim.endGap + lim.web + lim.finSlot/2 + lim.sideTravel + slotFree)
}

// sideHeel is the side fin's length, front edge to index edge.
func (lim limits) sideHeel() float64 {
	tab := lim.sideTabFrom() + sideTabLong + 2*lim.inner + heelStand
	return math.Ceil(math.Max(tab, heelNose*lim.noseHigh))
}

// sideFinRoom is how much of a crosspiece's end, from the side nose, the side
// fin's slot and scale take.
func (lim limits) sideFinRoom() float64 {
	return math.Max(lim.sideTabFrom()+sideTabLong+lim.sideTravel+slotFree+lim.finSlot, lim.sideHeel()+lim.sideTravel+2) + lim.web + 2
}

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
	from := lim.sideTabFrom() - lim.sideTravel - slotFree
	to := lim.sideTabFrom() + sideTabLong + lim.sideTravel + slotFree
	f.slotFrom, f.slotTo = at(from), at(to)
	f.outline = lim.finOutline(finShape{tabFrom: lim.sideTabFrom(), tabLong: sideTabLong, flat: finTopFlat, heel: lim.sideHeel(), index: true})
	f.openSlot(lim.finSlot)
	return f
}

// sideFinAt returns the u of the widest free strip of a crosspiece's end.
func sideFinAt(tp *template, p *piece) float64 {
	edges := []float64{p.box.Min.X, p.box.Max.X}
	for _, e := range tp.elements {
		if e.transverse() && e.a.X > p.box.Min.X && e.a.X < p.box.Max.X {
			edges = append(edges, e.a.X)
		}
	}
	sortFloats(edges)
	best, at := 0.0, p.box.Center().X
	for i := 1; i < len(edges); i++ {
		if w := edges[i] - edges[i-1]; w > best+1e-6 {
			best, at = w, (edges[i]+edges[i-1])/2
		}
	}
	return round3(at)
}

func sortFloats(f []float64) {
	for i := 1; i < len(f); i++ {
		for k := i; k > 0 && f[k] < f[k-1]; k-- {
			f[k], f[k-1] = f[k-1], f[k]
		}
	}
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

// number letters a scale's figure beside its tick.
func number(p *piece, text string, at geom.Point, side float64, font lettering) {
	const high = 2.4
	w := font.width(text, high)
	x := at.X
	if side < 0 {
		x -= w
	}
	p.letters = append(p.letters, font.strokes(text, high, geom.Placement{X: x, Y: at.Y - high/2})...)
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

func line(a, b geom.Point) geom.Contour {
	return geom.MustOpen(geom.Vertex{At: a}, geom.Vertex{At: b})
}
