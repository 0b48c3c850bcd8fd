package jig

import (
	"math"
	"sort"

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

// Measures of a fin that say how much of a piece it takes, mm.
const (
	slotFree    = 1.0  // free at both ends of a tab
	sideTabLong = 30.0 // a side fin's tab
	heelStand   = 6.0  // plain foot behind the last relief
	endFinRoom  = 90.0 // of a leg, from the nose
	heelNose    = 1.5  // a side fin's heel, in nose heights
)

// sideTab is where a side fin's tab starts and ends, from its front edge.
func (lim limits) sideTab() (from, to float64) {
	from = math.Ceil(lim.endGap + lim.web + lim.finSlot/2 + lim.sideTravel + slotFree)
	return from, from + sideTabLong
}

// sideHeel is the side fin's length, front edge to index edge.
func (lim limits) sideHeel() float64 {
	_, tab := lim.sideTab()
	return math.Ceil(math.Max(tab+2*lim.inner+heelStand, heelNose*lim.noseHigh))
}

// sideFinRoom is how much of a crosspiece's end, from the side nose, the side
// fin's slot and scale take.
func (lim limits) sideFinRoom() float64 {
	_, tab := lim.sideTab()
	return math.Max(tab+lim.sideTravel+slotFree+lim.finSlot, lim.sideHeel()+lim.sideTravel+2) + lim.web + 2
}

// sideFinAt returns the u of the widest free strip of a crosspiece's end.
func sideFinAt(tp *template, p *piece) float64 {
	edges := []float64{p.box.Min.X, p.box.Max.X}
	for _, e := range tp.elements {
		if e.transverse() && e.a.X > p.box.Min.X && e.a.X < p.box.Max.X {
			edges = append(edges, e.a.X)
		}
	}
	sort.Float64s(edges)
	best, at := 0.0, p.box.Center().X
	for i := 1; i < len(edges); i++ {
		if w := edges[i] - edges[i-1]; w > best+1e-6 {
			best, at = w, (edges[i]+edges[i-1])/2
		}
	}
	return round3(at)
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

func line(a, b geom.Point) geom.Contour {
	return geom.MustOpen(geom.Vertex{At: a}, geom.Vertex{At: b})
}
