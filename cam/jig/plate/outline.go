package plate

import (
	"math"
	"sort"

	"spotjig/cam/jig"
	"spotjig/layout/geom"
)

// outlines draws every flat piece: its rectangle, walked counter-clockwise, with
// tails standing out and sockets cut in.
func outlines(tp *jig.Template, lim jig.Limits) {
	for _, p := range tp.Pieces {
		b := p.Box
		turn := []geom.Point{b.Min, {X: b.Max.X, Y: b.Min.Y}, b.Max, {X: b.Min.X, Y: b.Max.Y}}
		var cs []jig.Corner
		for i, from := range turn {
			to := turn[(i+1)%4]
			cs = append(cs, jig.Corner{At: from, R: lim.PlanRadius})
			cs = append(cs, edgeCorners(tp, p, from, to, lim)...)
		}
		p.Outline = jig.Rounded(cs)
		p.NoStart = heldEdges(tp, p, lim)
		p.Jointed = seamChains(tp, p, lim)
	}
}

// OnEdge is a tail or socket on one edge of a piece.
type OnEdge struct {
	S      float64 // middle, from the edge's start
	T      jig.Tail
	Socket bool
	seam   *jig.Seam // of a keyed tail
}

// edgeCorners returns the corners that tails and sockets add between two corners.
func edgeCorners(tp *jig.Template, p *jig.Piece, from, to geom.Point, lim jig.Limits) []jig.Corner {
	var on []OnEdge
	dir := to.Sub(from).Unit()
	for _, j := range tp.Seams {
		if j.Owner != p && j.Other != p {
			continue
		}
		mid := j.From.Mid(j.To)
		if _, away := (geom.Segment{From: from, To: to}).Nearest(mid); away > jig.SeamTol {
			continue
		}
		for _, t := range j.Tails {
			m := mid.Add(j.Along().Scale(t.At))
			on = append(on, OnEdge{S: m.Sub(from).Dot(dir), T: t, Socket: j.Other == p, seam: j})
		}
	}
	sort.SliceStable(on, func(i, k int) bool { return jig.Round3(on[i].S) < jig.Round3(on[k].S) })
	var out []jig.Corner
	for _, o := range on {
		if o.T.Keyed != nil {
			out = append(out, keyedCorners(o.seam, o.T, o.Socket, dir, lim)...)
			continue
		}
		out = append(out, Dovetail(lim, o, from, dir)...)
	}
	return out
}

// Dovetail returns the four corners of a tail (standing out to the right of
// travel) or of its socket (cut in to the left).
//
// Radii: a tail's root and a socket's end are inside corners and take the least
// inside radius; the corners that go into them are rounder by the clearance.
func Dovetail(lim jig.Limits, o OnEdge, from geom.Point, dir geom.Vec) []jig.Corner {
	out := dir.Left().Scale(-1)
	inner := lim.InnerRadius
	outer := inner + lim.Flank + 0.1
	neck, long := o.T.Neck/2, o.T.Long
	mouthR, endR := inner, outer
	if o.Socket {
		out = out.Scale(-1)
		neck += lim.Flank * math.Hypot(1, 1/jig.TailSlope)
		long += lim.Toe
		mouthR, endR = outer, inner
	}
	head := neck + long/jig.TailSlope
	at := func(s, deep float64) geom.Point { return from.Add(dir.Scale(o.S + s)).Add(out.Scale(deep)) }
	return []jig.Corner{{At: at(-neck, 0), R: mouthR}, {At: at(-head, long), R: endR}, {At: at(head, long), R: endR}, {At: at(neck, 0), R: mouthR}}
}

// heldEdges are the edges no cut may start on: shoulders, tails and sockets,
// the edges that a fin's lip bears on, and the reference edge, template frame.
func heldEdges(tp *jig.Template, p *jig.Piece, lim jig.Limits) []geom.Segment {
	var out []geom.Segment
	for _, j := range tp.Seams {
		if j.Owner == p || j.Other == p {
			out = append(out, geom.Segment{From: j.From, To: j.To})
			if j.Part != "" {
				for _, s := range seamChain(tp, p, j, lim).Segments() { // a tail's head and a socket's end touch nothing
					if math.Abs(s.To.Sub(s.From).Dot(j.Out(p))) > jig.SeamTol {
						out = append(out, s)
					}
				}
			}
		}
	}
	if p.Box.Min.X < lim.Lip+0.01 {
		out = append(out, geom.Segment{From: geom.Point{X: p.Box.Min.X, Y: p.Box.Max.Y}, To: p.Box.Min})
	}
	return append(out, jig.ReferenceEdge(p))
}

// seamChains are the parts of a piece's outline that belong to joints: from one
// end of the seam along shoulders, tails or sockets to the other. Corners are
// taken sharp, which lies at most a corner's radius outside the rounded edge.
func seamChains(tp *jig.Template, p *jig.Piece, lim jig.Limits) []geom.Contour {
	var out []geom.Contour
	for _, j := range tp.Seams {
		if j.Owner != p && j.Other != p {
			continue
		}
		out = append(out, seamChain(tp, p, j, lim))
	}
	return out
}

// seamChain is a piece's side of one seam.
func seamChain(tp *jig.Template, p *jig.Piece, j *jig.Seam, lim jig.Limits) geom.Contour {
	from, to := j.From, j.To
	if p.Box.Center().Sub(from).Dot(j.Along().Left()) < 0 {
		from, to = to, from
	}
	v := []geom.Vertex{{At: from}}
	for _, c := range edgeCorners(tp, p, from, to, lim) {
		v = append(v, geom.Vertex{At: c.At})
	}
	return geom.MustOpen(append(v, geom.Vertex{At: to})...)
}
