package proof

import (
	"fmt"
	"math"
	"slices"
	"sort"

	"spotjig/cam/jig"
	"spotjig/cam/nest"
	"spotjig/layout"
	"spotjig/layout/geom"
)

// Edge is one nominal edge on the sheet. All run with the kept side on their
// left: outlines counter-clockwise, openings clockwise.
type Edge struct {
	Curve
	Ring int // index into Shapes.Rings
}

// ring is one closed nominal contour on the sheet.
type ring struct {
	Part  int
	Name  string // "outline" or "opening black"
	Outer bool
	Edges []int
	box   Box
	rays  []Curve // its edges cut where they turn back in y, for inside
}

// Shapes are the nominal parts as they lie on one sheet, at cut size.
type Shapes struct {
	Parts []string
	Rings []ring
	Edges []Edge
	box   []Box // of each part's outline
	// The strokes to be lettered and scored.
	Letters, Scores []Curve
}

// Mover carries a part's points to the sheet: multiply, turn, shift.
type Mover struct {
	K, Cos, Sin, X, Y float64
	Turn              geom.Angle
}

// MoverOf moves and scales a part as it is placed.
func MoverOf(p jig.Part, on geom.Placement) Mover {
	s, c := on.Turn.SinCos()
	return Mover{p.CutScale(), c, s, on.X, on.Y, on.Turn}
}

// Point moves a point of the part.
func (m Mover) Point(p geom.Point) geom.Point {
	x, y := p.X*m.K, p.Y*m.K
	return geom.Point{X: m.Cos*x - m.Sin*y + m.X, Y: m.Sin*x + m.Cos*y + m.Y}
}

// Curve moves an edge of the part.
func (m Mover) Curve(k Curve) Curve {
	if k.Arc {
		out := ArcOf(m.Point(k.C), k.R*m.K, k.Start+float64(m.Turn), k.Sweep)
		out.A, out.B = m.Point(k.A), m.Point(k.B)
		return out
	}
	return LineOf(m.Point(k.A), m.Point(k.B))
}

// OnSheet gathers the parts placed on a sheet. It knows parts by their numbers,
// not by the contours the toolpath was made from.
func OnSheet(parts []jig.Part, sheet nest.Sheet) (Shapes, error) {
	var s Shapes
	err := eachPlaced(parts, sheet, s.Add)
	return s, err
}

// RingsOnSheet is OnSheet without letters and scores.
func RingsOnSheet(parts []jig.Part, sheet nest.Sheet) (Shapes, error) {
	var s Shapes
	err := eachPlaced(parts, sheet, s.addRings)
	return s, err
}

// eachPlaced adds the parts that lie on a sheet.
func eachPlaced(parts []jig.Part, sheet nest.Sheet, add func(jig.Part, Mover)) error {
	byID := map[string]jig.Part{}
	for _, p := range parts {
		byID[p.ID] = p
	}
	for _, pl := range sheet.Placed {
		p, ok := byID[pl.ID]
		if !ok {
			return fmt.Errorf("sheet %d holds %q, which is no part", sheet.N, pl.ID)
		}
		add(p, MoverOf(p, pl.On))
	}
	return nil
}

// Add adds a part as m places it.
func (s *Shapes) Add(p jig.Part, m Mover) {
	s.addRings(p, m)
	s.Letters = strokesOf(s.Letters, p.Letters, m)
	s.Scores = strokesOf(s.Scores, p.Scores, m)
}

// addRings adds a part's outline and openings.
func (s *Shapes) addRings(p jig.Part, m Mover) {
	s.Parts = append(s.Parts, p.ID)
	s.addRing("outline", true, ChainOf(p.Outline), m)
	s.box = append(s.box, s.Rings[len(s.Rings)-1].box)
	for _, o := range p.Openings {
		s.addRing("opening "+openingName(o), false, OpeningEdge(o), m)
	}
}

// strokesOf appends the chains' segments as they lie on the sheet.
func strokesOf(to []Curve, chains []geom.Contour, m Mover) []Curve {
	n := 0
	for _, c := range chains {
		n += c.Len()
	}
	to = slices.Grow(to, n)
	for _, c := range chains {
		from := len(to)
		to = chained(to, c)
		for i, k := range to[from:] {
			to[from+i] = m.Curve(k)
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

func (s *Shapes) addRing(name string, outer bool, chain []Curve, m Mover) {
	r := ring{Part: len(s.Parts) - 1, Name: name, Outer: outer, box: Nothing()}
	moved := make([]Curve, len(chain))
	for i, k := range chain {
		moved[i] = m.Curve(k)
	}
	for i, k := range moved {
		k.B = moved[(i+1)%len(moved)].A // one joint, one number: inside counts on it
		r.Edges = append(r.Edges, len(s.Edges))
		s.Edges = append(s.Edges, Edge{k, len(s.Rings)})
		r.box = r.box.Union(k.Box())
		r.rays = append(r.rays, monotone(k)...)
	}
	s.Rings = append(s.Rings, r)
}

// ChainOf reads a contour's vertices.
func ChainOf(c geom.Contour) []Curve { return chained(make([]Curve, 0, c.Len()), c) }

// chained is to, with a contour's vertices read behind it.
func chained(to []Curve, c geom.Contour) []Curve {
	for i := range c.Len() {
		s := c.Segment(i)
		to = append(to, Bulged(s.From, s.To, s.Bulge))
	}
	return to
}

// OpeningEdge is an opening's edge, clockwise, from its numbers alone.
func OpeningEdge(o jig.Opening) []Curve {
	switch o.Kind {
	case jig.OpenSlot, jig.OpenPair, jig.OpenFin:
		return slotEdge(o.A, o.B, o.Width/2)
	case jig.OpenArc:
		return arcSlotEdge(o)
	}
	return []Curve{ArcOf(o.A, o.Width/2, 0, -2*math.Pi)}
}

// slotEdge goes out along the left side and back along the right.
func slotEdge(from, to geom.Point, h float64) []Curve {
	a := math.Atan2(to.Y-from.Y, to.X-from.X)
	far := ArcOf(to, h, a+math.Pi/2, -math.Pi)
	near := ArcOf(from, h, a-math.Pi/2, -math.Pi)
	return []Curve{LineOf(near.B, far.A), far, LineOf(far.B, near.A), near}
}

// arcSlotEdge goes clockwise along the outside and back along the inside.
func arcSlotEdge(o jig.Opening) []Curve {
	h := o.Width / 2
	a, b := float64(o.Start), float64(o.End)
	middle := func(angle float64) geom.Point {
		s, c := math.Sincos(angle)
		return geom.Point{X: o.A.X + o.Radius*c, Y: o.A.Y + o.Radius*s}
	}
	return []Curve{
		ArcOf(o.A, o.Radius+h, b, a-b),
		ArcOf(middle(a), h, a, -math.Pi),
		ArcOf(o.A, o.Radius-h, a, b-a),
		ArcOf(middle(b), h, b+math.Pi, -math.Pi),
	}
}

// monotone cuts a curve where it turns back in y, at the top and bottom of its
// circle; between, an arc meets a level line at most once.
func monotone(k Curve) []Curve {
	if !k.Arc {
		return []Curve{k}
	}
	cuts := []float64{0, math.Abs(k.Sweep)}
	for _, a := range [2]float64{math.Pi / 2, -math.Pi / 2} {
		if p := k.Progress(a); p > 0 && p < math.Abs(k.Sweep) {
			cuts = append(cuts, p)
		}
	}
	sort.Float64s(cuts)
	sign := math.Copysign(1, k.Sweep)
	var out []Curve
	for i := 1; i < len(cuts); i++ {
		out = append(out, ArcOf(k.C, k.R, k.Start+sign*cuts[i-1], sign*(cuts[i]-cuts[i-1])))
		if i > 1 {
			out[i-1].A = out[i-2].B
		}
	}
	out[0].A, out[len(out)-1].B = k.A, k.B
	return out
}

// Inside reports whether p lies inside the ring: a ray to +x crosses it an odd
// number of times. Ends count half-open in y, so a joint counts once.
func (r ring) Inside(p geom.Point) bool {
	if !r.box.contains(p) {
		return false
	}
	odd := false
	for _, k := range r.rays {
		if (k.A.Y > p.Y) == (k.B.Y > p.Y) {
			continue
		}
		if k.crossing(p.Y) > p.X {
			odd = !odd
		}
	}
	return odd
}

// crossing is the x at which a monotone curve meets the level y.
func (k Curve) crossing(y float64) float64 {
	if !k.Arc {
		return k.A.X + (y-k.A.Y)/(k.B.Y-k.A.Y)*(k.B.X-k.A.X)
	}
	dx := math.Sqrt(math.Max(0, k.R*k.R-(y-k.C.Y)*(y-k.C.Y)))
	if k.At(0.5).X < k.C.X {
		dx = -dx
	}
	return k.C.X + dx
}

// Around is how long a ring is, mm, by its index into Rings.
func (s Shapes) Around(ring int) float64 {
	l := 0.0
	for _, e := range s.Rings[ring].Edges {
		l += s.Edges[e].Length()
	}
	return l
}

// Kept returns the part whose material p lies in, -1 for waste. A part's
// outline comes before its openings in rings.
func (s Shapes) Kept(p geom.Point) int {
	in := -1
	for _, r := range s.Rings {
		switch {
		case r.Outer && in >= 0:
			return in // the openings of the part before did not hold p
		case r.Outer:
			if r.Inside(p) {
				in = r.Part
			}
		case in == r.Part && r.Inside(p):
			in = -1
		}
	}
	return in
}

// OnTable carries a flat part's points to the table.
func OnTable(p jig.Part) Mover {
	s, c := p.OnTable.Turn.SinCos()
	return Mover{1, c, s, p.OnTable.X, p.OnTable.Y, p.OnTable.Turn}
}

// ChainOfMark is the mark as drawn on the cloth.
func ChainOfMark(m layout.Mark) []Curve {
	switch m.Kind {
	case layout.Line:
		return []Curve{LineOf(geom.Point{X: m.X, Y: m.Y}, geom.Point{X: m.X2, Y: m.Y2})}
	case layout.Arc:
		sweep := m.End - m.Start
		for sweep <= 0 {
			sweep += 360 * geom.Degree
		}
		return []Curve{ArcOf(geom.Point{X: m.X, Y: m.Y}, m.Radius, float64(m.Start), float64(sweep))}
	}
	var out []Curve
	for i, p := range m.Points {
		q := m.Points[(i+1)%len(m.Points)]
		out = append(out, LineOf(geom.Point{X: p[0], Y: p[1]}, geom.Point{X: q[0], Y: q[1]}))
	}
	return out
}

// NearestOf is the edge of a chain nearest to p, and how far off it is, mm.
func NearestOf(chain []Curve, p geom.Point) (i int, d float64) {
	d = math.Inf(1)
	for k, c := range chain {
		if _, h := c.Nearest(p); h < d {
			i, d = k, h
		}
	}
	return i, d
}
