package jig

import (
	"math"
	"slices"
	"sort"

	"spotjig/layout/geom"
)

// Fin is one upright piece, template frame: where its front edge stands, which
// way it runs in plan, and the slot for its tab. Of a block in a fin's place only the
// role, the front and the piece that it stands on are told.
type Fin struct {
	ID               string
	Role             Role // EndFin or SideFin
	Front            geom.Point
	Run              geom.Angle // plan direction from the front edge backwards
	SlotFrom, SlotTo geom.Point
	On               *Piece
	Outline          geom.Contour
	Shoe             string   // the part that touches the nose in its stead; "" for none
	Index            float64  // side fin: its index edge's distance from the front
	Scale            geom.Box // side fin: what the scale beside it covers with its figures
}

// Measures of a fin that say how much of a piece it takes, mm.
const (
	SlotFree    = 1.0  // free at both ends of a tab
	sideTabLong = 30.0 // a side fin's tab
	HeelStand   = 6.0  // plain foot behind the last relief
	EndFinRoom  = 90.0 // of a leg, from the nose
	heelNose    = 1.5  // a side fin's heel, in nose heights
)

// SideTab is where a side fin's tab starts and ends, from its front edge.
func (lim Limits) SideTab() (from, to float64) {
	from = math.Ceil(lim.EndGap + lim.Web + lim.FinSlot/2 + lim.SideTravel + SlotFree)
	return from, from + sideTabLong
}

// SideHeel is the side fin's length, front edge to index edge.
func (lim Limits) SideHeel() float64 {
	_, tab := lim.SideTab()
	return math.Ceil(math.Max(tab+2*lim.InnerRadius+HeelStand, heelNose*lim.NoseHigh))
}

// sideFinRoom is how much of a crosspiece's end, from the side nose, the side
// fin's slot and scale take.
func (lim Limits) sideFinRoom() float64 {
	_, tab := lim.SideTab()
	return math.Max(tab+lim.SideTravel+SlotFree+lim.FinSlot, lim.SideHeel()+lim.SideTravel+2) + lim.Web + 2
}

// SideFinAt returns the u of the widest free strip of a crosspiece's end whose middle keeps
// the distance wanted from the corner; where none does, of the one that comes nearest to it.
// A strip too narrow for a slot between two webs is taken only where all are.
func SideFinAt(tp *Template, p *Piece, corner float64, lim Limits) float64 {
	strips := freeStrips(tp, p)
	if roomy := slices.DeleteFunc(slices.Clone(strips), func(s Span) bool { return s.Hi-s.Lo < 2*lim.Web+lim.FinSlot }); len(roomy) > 0 {
		strips = roomy
	}
	wide, best := 0.0, p.Box.Center().X
	for i, s := range strips {
		w, at := s.Hi-s.Lo, (s.Lo+s.Hi)/2
		if at < corner && s.Hi == p.Box.Max.X && w > 2*sideHalf {
			at = math.Min(corner, s.Hi-sideHalf)
		}
		near, ok := best < corner, at >= corner
		if i == 0 || ok && near || ok == !near && w > wide+1e-6 {
			wide, best = w, at
		}
	}
	return Round3(best)
}

// freeStrips are what lines across leave of a piece, from the nose inwards.
func freeStrips(tp *Template, p *Piece) []Span {
	edges := []float64{p.Box.Min.X, p.Box.Max.X}
	for _, e := range tp.Elements {
		if e.Transverse() && e.A.X > p.Box.Min.X && e.A.X < p.Box.Max.X && e.Bounds().Overlaps(p.Box) {
			edges = append(edges, e.A.X)
		}
	}
	sort.Float64s(edges)
	var out []Span
	for i := 1; i < len(edges); i++ {
		out = append(out, Span{edges[i-1], edges[i]})
	}
	return out
}

// sideHalf is half of what a side contact takes along the table, mm.
const sideHalf = 40.0

// NumberHigh is how tall a scale's figures are, mm.
const NumberHigh = 2.4

// Number letters a scale's figure beside its tick.
func Number(p *Piece, text string, at geom.Point, side float64, font Font) {
	w := font.Width(text, NumberHigh)
	x := at.X
	if side < 0 {
		x -= w
	}
	p.Letters = append(p.Letters, font.Strokes(text, NumberHigh, geom.Placement{X: x, Y: at.Y - NumberHigh/2})...)
}

// Stroke is a straight open chain.
func Stroke(a, b geom.Point) geom.Contour {
	return geom.MustOpen(geom.Vertex{At: a}, geom.Vertex{At: b})
}
