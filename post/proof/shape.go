package proof

import (
	"fmt"
	"math"
	"slices"
	"sort"

	"spotjig/cam/jig"
	"spotjig/cam/nest"
	"spotjig/layout/geom"
)

// edge is one nominal edge on the sheet. All run with the kept side on their
// left: outlines counter-clockwise, openings clockwise.
type edge struct {
	curve
	ring int // index into shapes.rings
}

// ring is one closed nominal contour on the sheet.
type ring struct {
	part  int
	name  string // "outline" or "opening black"
	outer bool
	edges []int
	box   box
	rays  []curve // its edges cut where they turn back in y, for inside
}

// shapes are the nominal parts as they lie on one sheet, at cut size.
type shapes struct {
	parts []string
	rings []ring
	edges []edge
	box   []box // of each part's outline
	// The strokes to be lettered and scored.
	letters, scores []curve
}

// mover carries a part's points to the sheet: multiply, turn, shift.
type mover struct{ k, cos, sin, x, y, turn float64 }

func moverOf(p jig.Part, on geom.Placement) mover {
	k := p.Scale
	if k == 0 {
		k = 1
	}
	a := on.TurnDeg * math.Pi / 180
	s, c := math.Sincos(a)
	return mover{k, c, s, on.X, on.Y, a}
}

func (m mover) point(p geom.Point) geom.Point {
	x, y := p.X*m.k, p.Y*m.k
	return geom.Point{X: m.cos*x - m.sin*y + m.x, Y: m.sin*x + m.cos*y + m.y}
}

func (m mover) curve(k curve) curve {
	if k.arc {
		out := arcOf(m.point(k.c), k.r*m.k, k.start+m.turn, k.sweep)
		out.a, out.b = m.point(k.a), m.point(k.b)
		return out
	}
	return lineOf(m.point(k.a), m.point(k.b))
}

// onSheet gathers the parts placed on a sheet. It knows parts by their numbers,
// not by the contours the toolpath was made from.
func onSheet(parts []jig.Part, sheet nest.Sheet) (shapes, error) {
	byID := map[string]jig.Part{}
	for _, p := range parts {
		byID[p.ID] = p
	}
	var s shapes
	for _, pl := range sheet.Placed {
		p, ok := byID[pl.ID]
		if !ok {
			return s, fmt.Errorf("sheet %d holds %q, which is no part", sheet.N, pl.ID)
		}
		s.add(p, moverOf(p, pl.On))
	}
	return s, nil
}

func (s *shapes) add(p jig.Part, m mover) {
	s.parts = append(s.parts, p.ID)
	s.addRing("outline", true, chainOf(p.Outline), m)
	s.box = append(s.box, s.rings[len(s.rings)-1].box)
	for _, o := range p.Openings {
		s.addRing("opening "+openingName(o), false, openingEdge(o), m)
	}
	s.letters = strokesOf(s.letters, p.Letters, m)
	s.scores = strokesOf(s.scores, p.Scores, m)
}

// strokesOf appends the chains' segments as they lie on the sheet.
func strokesOf(to []curve, chains []geom.Contour, m mover) []curve {
	n := 0
	for _, c := range chains {
		n += c.Len()
	}
	to = slices.Grow(to, n)
	for _, c := range chains {
		for _, k := range chainOf(c) {
			to = append(to, m.curve(k))
		}
	}
	return to
}

func openingName(o jig.Opening) string {
	if o.ID != "" {
		return o.ID
	}
	return o.Mark
}

func (s *shapes) addRing(name string, outer bool, chain []curve, m mover) {
	r := ring{part: len(s.parts) - 1, name: name, outer: outer, box: nothing()}
	moved := make([]curve, len(chain))
	for i, k := range chain {
		moved[i] = m.curve(k)
	}
	for i, k := range moved {
		k.b = moved[(i+1)%len(moved)].a // one joint, one number: inside counts on it
		r.edges = append(r.edges, len(s.edges))
		s.edges = append(s.edges, edge{k, len(s.rings)})
		r.box = r.box.union(k.box())
		r.rays = append(r.rays, monotone(k)...)
	}
	s.rings = append(s.rings, r)
}

// chainOf reads a contour's vertices.
func chainOf(c geom.Contour) []curve {
	v := c.Vertices()
	n := len(v)
	if !c.Closed() {
		n--
	}
	out := make([]curve, 0, max(0, n))
	for i := 0; i < n; i++ {
		out = append(out, bulged(v[i].At, v[(i+1)%len(v)].At, v[i].Bulge))
	}
	return out
}

// openingEdge is an opening's edge, clockwise, from its numbers alone.
func openingEdge(o jig.Opening) []curve {
	switch o.Kind {
	case jig.OpenSlot, jig.OpenFin:
		return slotEdge(o.From, o.To, o.Width/2)
	case jig.OpenArc:
		return arcSlotEdge(o)
	}
	return []curve{arcOf(o.C, o.R, 0, -2*math.Pi)}
}

// slotEdge goes out along the left side and back along the right.
func slotEdge(from, to geom.Point, h float64) []curve {
	a := math.Atan2(to.Y-from.Y, to.X-from.X)
	far := arcOf(to, h, a+math.Pi/2, -math.Pi)
	near := arcOf(from, h, a-math.Pi/2, -math.Pi)
	return []curve{lineOf(near.b, far.a), far, lineOf(far.b, near.a), near}
}

// arcSlotEdge goes clockwise along the outside and back along the inside.
func arcSlotEdge(o jig.Opening) []curve {
	h := o.Width / 2
	a, b := o.StartDeg*math.Pi/180, o.EndDeg*math.Pi/180
	middle := func(angle float64) geom.Point {
		s, c := math.Sincos(angle)
		return geom.Point{X: o.C.X + o.R*c, Y: o.C.Y + o.R*s}
	}
	return []curve{
		arcOf(o.C, o.R+h, b, a-b),
		arcOf(middle(a), h, a, -math.Pi),
		arcOf(o.C, o.R-h, a, b-a),
		arcOf(middle(b), h, b+math.Pi, -math.Pi),
	}
}

// monotone cuts a curve where it turns back in y, at the top and bottom of its
// circle; between, an arc meets a level line at most once.
func monotone(k curve) []curve {
	if !k.arc {
		return []curve{k}
	}
	cuts := []float64{0, math.Abs(k.sweep)}
	for _, a := range [2]float64{math.Pi / 2, -math.Pi / 2} {
		if p := k.progress(a); p > 0 && p < math.Abs(k.sweep) {
			cuts = append(cuts, p)
		}
	}
	sort.Float64s(cuts)
	sign := math.Copysign(1, k.sweep)
	var out []curve
	for i := 1; i < len(cuts); i++ {
		out = append(out, arcOf(k.c, k.r, k.start+sign*cuts[i-1], sign*(cuts[i]-cuts[i-1])))
		if i > 1 {
			out[i-1].a = out[i-2].b
		}
	}
	out[0].a, out[len(out)-1].b = k.a, k.b
	return out
}

// inside reports whether p lies inside the ring: a ray to +x crosses it an odd
// number of times. Ends count half-open in y, so a joint counts once.
func (r ring) inside(p geom.Point) bool {
	if !r.box.contains(p) {
		return false
	}
	odd := false
	for _, k := range r.rays {
		if (k.a.Y > p.Y) == (k.b.Y > p.Y) {
			continue
		}
		if k.crossing(p.Y) > p.X {
			odd = !odd
		}
	}
	return odd
}

// crossing is the x at which a monotone curve meets the level y.
func (k curve) crossing(y float64) float64 {
	if !k.arc {
		return k.a.X + (y-k.a.Y)/(k.b.Y-k.a.Y)*(k.b.X-k.a.X)
	}
	dx := math.Sqrt(math.Max(0, k.r*k.r-(y-k.c.Y)*(y-k.c.Y)))
	if k.at(0.5).X < k.c.X {
		dx = -dx
	}
	return k.c.X + dx
}

// kept returns the part whose material p lies in, -1 for waste. A part's
// outline comes before its openings in rings.
func (s shapes) kept(p geom.Point) int {
	in := -1
	for _, r := range s.rings {
		switch {
		case r.outer && in >= 0:
			return in // the openings of the part before did not hold p
		case r.outer:
			if r.inside(p) {
				in = r.part
			}
		case in == r.part && r.inside(p):
			in = -1
		}
	}
	return in
}
