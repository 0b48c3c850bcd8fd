package jig

import (
	"math"
	"sort"

	"spotjig/layout/geom"
)

// plateOutlines draws every flat piece: its rectangle, walked counter-clockwise, with
// tails standing out and sockets cut in.
func plateOutlines(tp *template, lim limits) {
	for _, p := range tp.pieces {
		b := p.box
		turn := []geom.Point{b.Min, {X: b.Max.X, Y: b.Min.Y}, b.Max, {X: b.Min.X, Y: b.Max.Y}}
		var cs []corner
		for i, from := range turn {
			to := turn[(i+1)%4]
			cs = append(cs, corner{from, lim.plan})
			cs = append(cs, edgeCorners(tp, p, from, to, lim)...)
		}
		p.outline = rounded(cs)
		p.noStart = heldEdges(tp, p, lim)
		p.seams = seamChains(tp, p, lim)
	}
}

// onEdge is a tail or socket on one edge of a piece.
type onEdge struct {
	s      float64 // middle, from the edge's start
	t      tail
	socket bool
}

// edgeCorners returns the corners that tails and sockets add between two corners.
func edgeCorners(tp *template, p *piece, from, to geom.Point, lim limits) []corner {
	var on []onEdge
	dir := to.Sub(from).Unit()
	for _, j := range tp.joints {
		if j.owner != p && j.other != p {
			continue
		}
		mid := j.from.Mid(j.to)
		if _, away := (geom.Segment{From: from, To: to}).Nearest(mid); away > seamTol {
			continue
		}
		for _, t := range j.tails {
			m := mid.Add(j.along().Scale(t.at))
			on = append(on, onEdge{m.Sub(from).Dot(dir), t, j.other == p})
		}
	}
	sort.SliceStable(on, func(i, k int) bool { return round3(on[i].s) < round3(on[k].s) })
	var out []corner
	for _, o := range on {
		out = append(out, lim.dovetail(o, from, dir)...)
	}
	return out
}

// dovetail returns the four corners of a tail (standing out to the right of
// travel) or of its socket (cut in to the left).
//
// Radii: a tail's root and a socket's end are inside corners and take the least
// inside radius; the corners that go into them are rounder by the clearance.
func (lim limits) dovetail(o onEdge, from geom.Point, dir geom.Vec) []corner {
	out := dir.Left().Scale(-1)
	inner := lim.inner
	outer := inner + lim.flank + 0.1
	neck, long := o.t.neck/2, o.t.long
	mouthR, endR := inner, outer
	if o.socket {
		out = out.Scale(-1)
		neck += lim.flank * math.Hypot(1, 1/tailSlope)
		long += lim.toe
		mouthR, endR = outer, inner
	}
	head := neck + long/tailSlope
	at := func(s, deep float64) geom.Point { return from.Add(dir.Scale(o.s + s)).Add(out.Scale(deep)) }
	return []corner{{at(-neck, 0), mouthR}, {at(-head, long), endR}, {at(head, long), endR}, {at(neck, 0), mouthR}}
}

// heldEdges are the edges no cut may start on: shoulders, tails and sockets,
// the edges that a fin's lip bears on, and the reference edge, template frame.
func heldEdges(tp *template, p *piece, lim limits) []geom.Segment {
	var out []geom.Segment
	for _, j := range tp.joints {
		if j.owner == p || j.other == p {
			out = append(out, geom.Segment{From: j.from, To: j.to})
		}
	}
	if p.box.Min.X < lim.lip+0.01 {
		out = append(out, geom.Segment{From: geom.Point{X: p.box.Min.X, Y: p.box.Max.Y}, To: p.box.Min})
	}
	return append(out, referenceEdge(tp, p))
}

// seamChains are the parts of a piece's outline that belong to joints: from one
// end of the seam along shoulders, tails or sockets to the other. Corners are
// taken sharp, which lies at most a corner's radius outside the rounded edge.
func seamChains(tp *template, p *piece, lim limits) []geom.Contour {
	var out []geom.Contour
	for _, j := range tp.joints {
		if j.owner != p && j.other != p {
			continue
		}
		from, to := j.from, j.to
		if p.box.Center().Sub(from).Dot(j.along().Left()) < 0 {
			from, to = to, from
		}
		v := []geom.Vertex{{At: from}}
		for _, c := range edgeCorners(tp, p, from, to, lim) {
			v = append(v, geom.Vertex{At: c.at})
		}
		out = append(out, geom.MustOpen(append(v, geom.Vertex{At: to})...))
	}
	return out
}
