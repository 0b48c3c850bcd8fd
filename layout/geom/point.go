// Package geom holds plane geometry: points, boxes, placements and chains of
// lines and circular arcs. It knows nothing of tables, parts or files.
// Lengths are in mm.
package geom

import "math"

// Angle is an angle in radians; write 90*geom.Degree.
type Angle float64

// Degree is one degree. Multiplying by it is exact to one rounding.
const Degree Angle = math.Pi / 180

// Degrees returns the angle in degrees.
func (a Angle) Degrees() float64 { return float64(a) * 180 / math.Pi }

// FromDegrees returns an angle that a file or a person gives in degrees.
func FromDegrees(deg float64) Angle { return Angle(deg * math.Pi / 180) }

// turnTol: angles this near to a quarter turn are one, rad. Sums of a few turns are
// rounded by less than a hundredth of it, and at the far end of a table it is 4e-9 mm.
const turnTol = 1e-12

// quarters returns how many quarter turns the angle is nearest to, whole turns left out,
// and whether it is so many.
func (a Angle) quarters() (n int, so bool) {
	q := math.Round(float64(a / (90 * Degree)))
	return int(math.Mod(q, 4)), math.Abs(float64(a)-float64(q*float64(90*Degree))) <= turnTol
}

// Rest returns the angle without whole turns, its sign kept. Quarter turns are exact.
func (a Angle) Rest() Angle {
	if n, so := a.quarters(); so {
		return Angle(n) * (90 * Degree)
	}
	return Angle(math.Mod(float64(a), 2*math.Pi))
}

// SinCos returns the angle's sine and cosine. Quarter turns are exact.
func (a Angle) SinCos() (sin, cos float64) {
	if n, so := a.quarters(); so {
		n = (n + 4) % 4
		return [4]float64{0, 1, 0, -1}[n], [4]float64{1, 0, -1, 0}[n]
	}
	return math.Sincos(float64(a))
}

// Tan returns the angle's tangent.
func (a Angle) Tan() float64 { return math.Tan(float64(a)) }

// Unit returns the direction of the angle, counter-clockwise from +x, as a unit vector.
func (a Angle) Unit() Vec {
	s, c := math.Sincos(float64(a))
	return Vec{c, s}
}

// Bulge returns the bulge of an arc that turns through the angle.
func (a Angle) Bulge() float64 { return math.Tan(float64(a) / 4) }

// Point is a place in the plane, in mm. Which frame it is in is said by whoever holds it.
type Point struct{ X, Y float64 }

// Vec is a displacement in the plane, in mm.
type Vec struct{ X, Y float64 }

// Sub returns the displacement from q to p.
func (p Point) Sub(q Point) Vec { return Vec{p.X - q.X, p.Y - q.Y} }

// Add returns p moved by v.
func (p Point) Add(v Vec) Point { return Point{p.X + v.X, p.Y + v.Y} }

// Dist returns the distance between p and q in mm.
func (p Point) Dist(q Point) float64 { return math.Hypot(p.X-q.X, p.Y-q.Y) }

// Mid returns the point midway between p and q.
func (p Point) Mid(q Point) Point { return Point{(p.X + q.X) / 2, (p.Y + q.Y) / 2} }

// Len returns the length of v in mm.
func (v Vec) Len() float64 { return math.Hypot(v.X, v.Y) }

// Add returns v + w.
func (v Vec) Add(w Vec) Vec { return Vec{v.X + w.X, v.Y + w.Y} }

// Scale returns v multiplied by k.
func (v Vec) Scale(k float64) Vec { return Vec{v.X * k, v.Y * k} }

// Unit returns v at length 1; the zero vector stays zero.
func (v Vec) Unit() Vec {
	l := v.Len()
	if l == 0 {
		return v
	}
	return Vec{v.X / l, v.Y / l}
}

// Angle returns the vector's direction, counter-clockwise from +x, -180 to 180 degrees.
func (v Vec) Angle() Angle { return Angle(math.Atan2(v.Y, v.X)) }

// Left returns v turned a quarter counter-clockwise.
func (v Vec) Left() Vec { return Vec{-v.Y, v.X} }

// Dot returns the scalar product; products are rounded before they are added,
// so that every processor gives the same answer.
func (v Vec) Dot(w Vec) float64 {
	a := float64(v.X * w.X)
	b := float64(v.Y * w.Y)
	return a + b
}

// Cross returns the z component of the vector product, positive when w lies
// to the left of v. Products are rounded before they are subtracted.
// Laws: (1) v.Cross(w) == -w.Cross(v), exactly. (2) v.Cross(v) == 0.
func (v Vec) Cross(w Vec) float64 {
	a := float64(v.X * w.Y)
	b := float64(v.Y * w.X)
	return a - b
}

// Box is an axis-parallel rectangle. EmptyBox is the box of nothing.
type Box struct{ Min, Max Point }

// EmptyBox returns the box that holds no point; Include grows it.
func EmptyBox() Box {
	return Box{Point{math.Inf(1), math.Inf(1)}, Point{math.Inf(-1), math.Inf(-1)}}
}

// IsEmpty reports whether the box holds no point.
func (b Box) IsEmpty() bool { return b.Min.X > b.Max.X || b.Min.Y > b.Max.Y }

// Include returns the smallest box that holds b and p.
func (b Box) Include(p Point) Box {
	return Box{
		Point{min(b.Min.X, p.X), min(b.Min.Y, p.Y)},
		Point{max(b.Max.X, p.X), max(b.Max.Y, p.Y)},
	}
}

// Union returns the smallest box that holds both.
func (b Box) Union(c Box) Box {
	if c.IsEmpty() {
		return b
	}
	return b.Include(c.Min).Include(c.Max)
}

// Grow returns the box with every side moved outwards by d mm.
func (b Box) Grow(d float64) Box {
	return Box{Point{b.Min.X - d, b.Min.Y - d}, Point{b.Max.X + d, b.Max.Y + d}}
}

// Width returns the extent in x, mm.
func (b Box) Width() float64 { return b.Max.X - b.Min.X }

// Height returns the extent in y, mm.
func (b Box) Height() float64 { return b.Max.Y - b.Min.Y }

// Center returns the middle of the box.
func (b Box) Center() Point { return b.Min.Mid(b.Max) }

// Contains reports whether p lies in the box or on its edge.
func (b Box) Contains(p Point) bool {
	return p.X >= b.Min.X && p.X <= b.Max.X && p.Y >= b.Min.Y && p.Y <= b.Max.Y
}

// Holds reports whether c lies wholly in b.
func (b Box) Holds(c Box) bool { return b.Contains(c.Min) && b.Contains(c.Max) }

// Overlaps reports whether the insides of the boxes meet.
func (b Box) Overlaps(c Box) bool {
	return b.Min.X < c.Max.X && c.Min.X < b.Max.X && b.Min.Y < c.Max.Y && c.Min.Y < b.Max.Y
}

// Placement moves a point from one frame into another: p' = R(Turn,
// counter-clockwise) p + (X, Y). It never mirrors. Quarter turns are exact.
type Placement struct {
	X, Y float64
	Turn Angle
}

// Apply moves a point.
func (m Placement) Apply(p Point) Point {
	v := m.Rotate(Vec(p))
	return Point{v.X + m.X, v.Y + m.Y}
}

// Rotate turns a displacement; it is not shifted.
func (m Placement) Rotate(v Vec) Vec {
	s, c := m.Turn.SinCos()
	return Vec{float64(c*v.X) - float64(s*v.Y), float64(s*v.X) + float64(c*v.Y)}
}

// Inverse returns the placement that undoes m.
func (m Placement) Inverse() Placement {
	v := Placement{Turn: -m.Turn}.Rotate(Vec{-m.X, -m.Y})
	return Placement{v.X, v.Y, -m.Turn}
}

// Then returns the placement that applies m first and then n.
func (m Placement) Then(n Placement) Placement {
	p := n.Apply(Point{m.X, m.Y})
	return Placement{p.X, p.Y, m.Turn + n.Turn}
}
