package layout

import "math"

const (
	// sizeTol keeps a length that was converted from inches and back on the
	// right side of a published limit; far below any tape.
	sizeTol = 1e-6
	// mergeTol: two computed lengths this close are one. The unit every comparison that
	// decides an order is rounded to.
	mergeTol = 1e-6
	// oneMark: two marks this close are one, mm. Lists print them alike, to 0.1 mm, and no
	// pencil parts them; a table as surveyed parts by some 0.01 mm what a game measures from
	// the foot nose and a house mark from the head nose.
	oneMark = 0.05
)

func near(a, b, tol float64) bool { return math.Abs(a-b) <= tol }

// ground is the playing surface as the rules measure it: the four noses as
// straight lines in the table frame.
//
// The head nose is x = 0. The centre line is the locus of the middles of the
// widths, taken parallel to the head nose; both side noses being straight it is
// straight too, and it starts at the origin. A distance from the head is an x;
// a distance from the foot is square to the foot nose, counted back along the
// centre line, and what lies across from such a place lies parallel to the foot
// nose, because the foot template is laid by that nose.
type ground struct {
	l, w         float64 // length along the centre line, width at its middle
	right, left  slope   // side noses: y as a function of x
	centre, foot slope   // centre line: y of x; foot nose: x as a function of y
	ball, wall   float64
}

// slope is the straight line v = c + m·u.
type slope struct{ c, m float64 }

func (s slope) of(u float64) float64 { return s.c + s.m*u }

// slopeOf is the line through (u1, v1) and (u2, v2).
func slopeOf(u1, v1, u2, v2 float64) slope {
	m := (v2 - v1) / (u2 - u1)
	return slope{c: v1 - m*u1, m: m}
}

// groundOf returns the surface of a table. A table without corners is a true
// rectangle of its length and width.
func groundOf(t Table, b Balls) ground {
	c := t.Corners
	if c == ([4][2]float64{}) {
		c = rectangle(t.L, t.W)
	}
	g := ground{
		l: t.L, w: t.W, ball: b.Diameter, wall: b.RackWall,
		right: slopeOf(c[0][0], c[0][1], c[1][0], c[1][1]),
		left:  slopeOf(c[3][0], c[3][1], c[2][0], c[2][1]),
		foot:  slopeOf(c[1][1], c[1][0], c[2][1], c[2][0]),
	}
	g.centre = slope{c: (g.right.c + g.left.c) / 2, m: (g.right.m + g.left.m) / 2}
	return g
}

// rectangle returns the corners of a true table, counter-clockwise from the
// head right corner.
func rectangle(l, w float64) [4][2]float64 {
	return [4][2]float64{{0, -w / 2}, {l, -w / 2}, {l, w / 2}, {0, w / 2}}
}

// footX is where the centre line meets the foot nose.
func (g ground) footX() float64 {
	// x = foot.c + foot.m·(centre.c + centre.m·x)
	return (g.foot.c + float64(g.foot.m*g.centre.c)) / (1 - g.foot.m*g.centre.m)
}

// fromFoot returns the distance of a point from the foot nose, square to it.
func (g ground) fromFoot(x, y float64) float64 {
	return (g.foot.of(y) - x) / math.Hypot(1, g.foot.m)
}

// onCentre returns the point of the centre line at distance d from a datum.
func (g ground) onCentre(from datum, d float64) (x, y float64) {
	switch from {
	case fromMiddle:
		x = g.footX()/2 + d
	case fromFoot:
		// The gap to the foot nose grows along the centre line by
		// (1 - foot.m·centre.m) a mm of x, over hypot to make it square.
		x = g.footX() - d*math.Hypot(1, g.foot.m)/(1-g.foot.m*g.centre.m)
	default:
		x = d
	}
	return x, g.centre.of(x)
}

// place returns a place in the table frame.
func (g ground) place(from datum, along float64, off datum, across float64) (x, y float64) {
	x, y = g.onCentre(from, along)
	lean := 0.0 // how far x moves for a mm of y
	if from == fromFoot {
		lean = g.foot.m
	}
	if off == offCentre {
		k := 1 / math.Hypot(1, lean)
		return x + across*lean*k, y + across*k
	}
	side := g.right
	if off == offLeft {
		side, across = g.left, -across
	}
	// Meet the line through (x, y) across the table with the side nose moved
	// inwards, square to itself: y' = side(x') + across·hypot, x' = x + lean·(y'-y).
	c := side.c + across*math.Hypot(1, side.m)
	dy := (c + side.m*x - y) / (1 - side.m*lean)
	return x + lean*dy, y + dy
}
