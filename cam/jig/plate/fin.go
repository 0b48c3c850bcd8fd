package plate

import (
	"fmt"
	"math"

	"spotjig/cam/jig"
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
	endFinRoom  = 48.0 // beside an end fin: what it may be moved by, its slot and a web
	endFinMove  = 30.0
)

// placeFins stands an end fin on each leg and a side fin on each end of the
// first crosspiece.
func placeFins(tp *jig.Template, lim jig.Limits, table layout.Table) {
	n := 0
	for _, s := range []float64{-1, 1} {
		v := s * tp.EndAt
		for _, p := range tp.Pieces {
			if p.Box.Min.X < lim.Lip+0.01 && p.Box.Min.Y < v && p.Box.Max.Y > v {
				n++
				tp.Fins = append(tp.Fins, endFin(tp, p, v, fmt.Sprintf("%sE%d", tp.Letter, n), lim))
			}
		}
	}
	for k, sign := range []float64{-1, 1} {
		if p := sidePiece(tp, sign, lim, table); p != nil {
			tp.Fins = append(tp.Fins, sideFin(tp, p, sign, fmt.Sprintf("%sS%d", tp.Letter, k+1), lim, table))
		}
	}
}

// sidePiece is the piece at a side nose that carries the side fin: the first from
// the end nose that keeps its fin 200 mm from the corner, else the furthest.
func sidePiece(tp *jig.Template, sign float64, lim jig.Limits, table layout.Table) *jig.Piece {
	side := table.W/2 - lim.EndGap
	var last *jig.Piece
	for _, p := range tp.Pieces {
		if math.Abs(math.Max(sign*p.Box.Min.Y, sign*p.Box.Max.Y)-side) > 0.01 {
			continue
		}
		if last = p; jig.SideFinAt(tp, p, jig.CornerWant, lim) >= jig.CornerWant {
			return p
		}
	}
	return last
}

// endFin stands as near to v as keeps it beside the lines that run along there.
func endFin(tp *jig.Template, p *jig.Piece, v float64, id string, lim jig.Limits) *jig.Fin {
	v = besideLines(tp, p, v, lim)
	f := &jig.Fin{ID: id, Role: jig.EndFin, Front: geom.Point{Y: v}, On: p}
	f.SlotFrom = geom.Point{X: endTabFrom - jig.SlotFree, Y: v}
	f.SlotTo = geom.Point{X: endTabFrom + endTabLong + jig.SlotFree, Y: v}
	heel := endTabFrom + endTabLong + 2*lim.InnerRadius + jig.HeelStand
	shape := finShape{tabFrom: endTabFrom, tabLong: endTabLong, flat: finTopFlat, heel: heel}
	if lim.Shod {
		f.Shoe, shape.shod = shoeOf(id), true
		shape.flat += seat(lim)
	}
	f.Outline = finOutline(lim, shape)
	openSlot(f, lim.FinSlot)
	return f
}

// besideLines moves an end fin's place, outwards first, until its slot keeps a web from the
// slots of lines along the table and from the piece's edges; where there is no such place
// it stays, and the lines give way.
func besideLines(tp *jig.Template, p *jig.Piece, v float64, lim jig.Limits) float64 {
	keep := lim.Web + (lim.Slot+lim.FinSlot)/2 + 1
	edge := lim.Web + lim.FinSlot/2 + lim.PlanRadius
	free := func(v float64) bool {
		for _, e := range tp.Elements {
			b := e.Bounds()
			if b.Min.X < jig.EndFinRoom && b.Height() < keep && v > b.Min.Y-keep && v < b.Max.Y+keep {
				return false
			}
		}
		return v > p.Box.Min.Y+edge && v < p.Box.Max.Y-edge
	}
	for off := 0.0; off <= endFinMove; off++ {
		for _, out := range []float64{1, -1} {
			if at := v + math.Copysign(off, v)*out; free(at) {
				return at
			}
		}
	}
	return v
}

// sideFin stands at a crosspiece's end, s = +1 left, -1 right, where there is
// most room between the lines.
func sideFin(tp *jig.Template, p *jig.Piece, s float64, id string, lim jig.Limits, table layout.Table) *jig.Fin {
	u := jig.SideFinAt(tp, p, jig.CornerWant, lim)
	nose := table.W / 2
	at := func(x float64) geom.Point { return geom.Point{X: u, Y: s * (nose - x)} }
	f := &jig.Fin{ID: id, Role: jig.SideFin, Front: at(0), Run: geom.Angle(s) * (-90 * geom.Degree), On: p, Index: lim.SideHeel()}
	if f.Run < 0 {
		f.Run += 360 * geom.Degree
	}
	from, to := lim.SideTab()
	f.SlotFrom, f.SlotTo = at(from-lim.SideTravel-jig.SlotFree), at(to+lim.SideTravel+jig.SlotFree)
	f.Outline = finOutline(lim, finShape{tabFrom: from, tabLong: to - from, flat: finTopFlat, heel: lim.SideHeel(), index: true})
	openSlot(f, lim.FinSlot)
	f.Scale = scaleBox(tp, f, lim)
	return f
}

// openSlot cuts the tab's slot into the piece that the fin stands on.
func openSlot(f *jig.Fin, width float64) {
	f.On.Openings = append(f.On.Openings, jig.Opening{ID: f.ID, Kind: jig.OpenFin, Figure: geom.Line(f.SlotFrom, f.SlotTo), Width: jig.Round3(width)})
}

// finShape is what tells one fin from another, mm from the front edge.
type finShape struct {
	tabFrom, tabLong, flat, heel float64
	index                        bool // the heel ends in an upright index edge
	shod                         bool // a shoe stands before it
}

// finOutline draws a fin, part frame, counter-clockwise from its foot.
func finOutline(lim jig.Limits, s finShape) geom.Contour {
	top, plate := lim.FinTop-lim.FinBottom, lim.Thickness-lim.FinBottom
	w := 2 * lim.InnerRadius // a relief's width; its half circle is the least inside radius
	var cs []jig.Corner
	p := func(x, y, rad float64) { cs = append(cs, jig.Corner{At: geom.Point{X: x, Y: y}, R: rad}) }
	relief := func(x float64) { // a slot of width w upwards between x and x + w
		p(x, plate+0.5+lim.InnerRadius, lim.InnerRadius)
		p(x+w, plate+0.5+lim.InnerRadius, lim.InnerRadius)
		p(x+w, plate, 0.5)
	}
	if !s.shod {
		p(finNoseCut, 0, 1)
	}
	p(lim.Lip, 0, 1)
	relief(lim.Lip)
	p(s.tabFrom-w, plate, 0.5)
	p(s.tabFrom-w, plate+0.5+lim.InnerRadius, lim.InnerRadius)
	p(s.tabFrom, plate+0.5+lim.InnerRadius, lim.InnerRadius)
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
	if s.shod {
		return jig.Rounded(append(cs, shod(lim)...))
	}
	p(0, top, 3)
	p(0, 3, 1)
	return jig.Rounded(cs)
}

// pose returns where the fin stands, table frame.
func pose(f *jig.Fin, tp *jig.Template, z float64) jig.Pose {
	at := tp.ToTable.Apply(f.Front)
	return jig.Pose{X: at.X, Y: at.Y, Z: z, Turn: (f.Run + tp.ToTable.Turn).Rest(), Upright: true}
}
