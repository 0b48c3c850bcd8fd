package jig

import "spotjig/layout/geom"

// How an error moves a mark.
//
// A template is a tree of rigid pieces. A joint may be a little open (closure),
// slid along its seam (slip) or turned by its flanks' play over its own width
// (turn); a piece may be strained, and still goes against its neighbours edge to
// edge. Each moves everything beyond it as seen from the root piece. The assembly
// is then laid on the table: two end fins touch the end nose, and the side fins'
// readings are made equal. That shifts the whole by (a, b) and turns it by phi:
//
//	a - phi·v1 = e1 - du1,  a - phi·v2 = e2 - du2,  b + phi·us = es - dvs
//
// with v1, v2 where the end fins stand and us where the side fins do, du1, du2, dvs
// what the pieces do to these points, and e1, e2, es the contacts' own errors. All
// is linear in the small errors, so each is followed by itself.

// source is what an error source does: to the contacts directly, or to all
// that lies beyond a joint.
type source struct {
	group     string
	e1, e2    float64 // end fins, along u
	es        float64 // side fins' middle, along v
	common    bool    // the same in every piece
	gap       bool    // one way only
	joint     *Seam
	shift     geom.Vec
	turn      float64
	everySeam float64 // kerf: every seam's closure at once
	nose      sideNose
	long      float64 // the length was read long by this much of itself
	bent      *Piece  // cut out of true by strain
	strain    strain
}

// sideNose is one of the two side noses, as seen from the head; none otherwise.
type sideNose int

const (
	noNose sideNose = iota
	leftNose
	rightNose
)

// laying is a template with what the budget needs to know of it.
type laying struct {
	tp    *Template
	path  map[*Piece][]*Seam // joints between the root and the piece
	ends  [2]*Fin
	sides []*Fin
}

// newLaying walks the joints out from the piece in the middle of the first
// crosspiece. It is nil for a template that nothing locates.
func newLaying(tp *Template) *laying {
	s := &laying{tp: tp, path: map[*Piece][]*Seam{}}
	var ends []*Fin
	for _, f := range tp.Fins {
		if f.Role == EndFin {
			ends = append(ends, f)
		} else {
			s.sides = append(s.sides, f)
		}
	}
	if len(ends) < 2 || len(s.sides) < 2 {
		return nil
	}
	s.ends = [2]*Fin{ends[0], ends[len(ends)-1]}
	root := tp.Pieces[0]
	near := geom.Point{X: s.sides[0].Front.X}
	for _, p := range tp.Pieces {
		if BoxDist(p.Box, near) < BoxDist(root.Box, near) {
			root = p
		}
	}
	s.path[root] = []*Seam{}
	for queue := []*Piece{root}; len(queue) > 0; queue = queue[1:] {
		for _, j := range tp.Seams {
			if o := j.Neighbour(queue[0]); o != nil && s.path[o] == nil {
				s.path[o] = append(append([]*Seam(nil), s.path[queue[0]]...), j)
				queue = append(queue, o)
			}
		}
	}
	return s
}

// unlaid is what the error does to a point of a piece, before the template is laid.
func (s *laying) unlaid(e source, on *Piece, p geom.Point) geom.Vec {
	v := s.bend(e, on, p)
	for _, j := range s.path[on] {
		if e.everySeam != 0 {
			v = v.Add(j.Out(s.nearRoot(j)).Scale(e.everySeam))
		}
		if j == e.joint {
			v = v.Add(e.shift).Add(p.Sub(j.From.Mid(j.To)).Left().Scale(e.turn))
		}
	}
	return v
}

// nearRoot is the joint's piece that lies nearer to the root.
func (s *laying) nearRoot(j *Seam) *Piece {
	if len(s.path[j.A]) < len(s.path[j.B]) {
		return j.A
	}
	return j.B
}

// of is what the error does to a point of a piece once the template is laid.
func (s *laying) of(e source, on *Piece, p geom.Point) geom.Vec {
	c1, c2 := s.ends[0], s.ends[1]
	v1, v2, us := c1.Front.Y, c2.Front.Y, s.sides[0].Front.X
	du1, du2, dvs := s.unlaid(e, c1.On, c1.Front).X, s.unlaid(e, c2.On, c2.Front).X, 0.0
	for _, f := range s.sides {
		dvs += s.unlaid(e, f.On, f.Front).Y / float64(len(s.sides))
	}
	phi := ((e.e1 - du1) - (e.e2 - du2)) / (v2 - v1)
	a := e.e1 - du1 + phi*v1
	b := e.es - dvs - phi*us
	return s.unlaid(e, on, p).Add(geom.Vec{X: a - phi*p.Y + e.long*p.X, Y: b + phi*p.X})
}

// strain is a symmetric strain of a piece: (x, y) moves by (xx·x + xy·y,
// xy·x + yy·y). What turns as a whole does not matter, a joint sets that.
type strain struct{ xx, yy, xy float64 }

func (e strain) of(v geom.Vec) geom.Vec {
	return geom.Vec{X: e.xx*v.X + e.xy*v.Y, Y: e.xy*v.X + e.yy*v.Y}
}

// turns is how far a direction turns.
func (e strain) turns(t geom.Vec) float64 { return t.Left().Dot(e.of(t)) }

// bend is what a strained piece does to a point of another piece, or of itself:
// the piece's seam towards the root stays where it is.
func (s *laying) bend(e source, on *Piece, p geom.Point) geom.Vec {
	if e.bent == nil {
		return geom.Vec{}
	}
	path, own := s.path[on], s.path[e.bent]
	held, kept := e.bent.Box.Center(), 0.0 // kept: the turn that leaves that seam as it is
	if n := len(own); n > 0 {
		j := own[n-1]
		if len(path) < n || path[n-1] != j {
			return geom.Vec{} // not beyond the strained piece
		}
		held, kept = j.From.Mid(j.To), e.strain.turns(j.Along())
	}
	by := func(q geom.Point) geom.Vec {
		v := q.Sub(held)
		return e.strain.of(v).Add(v.Left().Scale(-kept))
	}
	if len(path) == len(own) {
		return by(p)
	}
	j := path[len(own)] // the seam that leads on from the strained piece
	m := j.From.Mid(j.To)
	return by(m).Add(p.Sub(m).Left().Scale(e.strain.turns(j.Along()) - kept))
}

// pieceAt is the piece under a point, else the nearest.
func (s *laying) pieceAt(p geom.Point) *Piece {
	best := s.tp.Pieces[0]
	for _, q := range s.tp.Pieces {
		if BoxDist(q.Box, p) < BoxDist(best.Box, p) {
			best = q
		}
	}
	return best
}
