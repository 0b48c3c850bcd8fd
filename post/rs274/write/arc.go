package write

import (
	"fmt"
	"math"

	"spotjig/layout/geom"
)

// How an arc is written
//
// NIST IR 6556 section 3.5.3 refuses a centre-format arc whose radii at start and
// end differ by more than 0.002 mm (0.0002 in), and some controllers are stricter.
// With all six numbers rounded by themselves to 0.0001 mm the radii differ by up
// to 4·sqrt(2)·0.00005 = 0.00028 mm. So the centre is not rounded but chosen: of the
// 25 printable centres about the true one, that with the best agreement of the
// radii as printed, nearness counting half. Everything is computed from the
// numbers as they stand in the text.
//
// An arc whose rise above its chord is below a fifth of the last digit is not
// distinguishable from its chord and is written as a line: printed as an arc, its
// centre and even its sense could come out wrong.

const (
	riseMin = 0.2 // last digits: flatter arcs are written as lines
	// radiiMaxMM and radiiMaxInch are how far the radii as printed may differ, mm: in mm programs
	// a seventh of what the report allows, in inch programs an eighth.
	radiiMaxMM   = 0.0003
	radiiMaxInch = 0.0006
	centreReach  = 2 // last digits that the centre may be moved either way
	// sweepTol: how far the sweep as printed may differ from the true one,
	// radians, for arcs too small to print well.
	sweepTol = 0.5
	// tinyArc: arcs shorter than this many last digits may become lines.
	tinyArc = 30
)

// centre is an arc's centre from its start, in counts.
type centre struct{ i, j int64 }

// arc finds the centre of the arc from the program's place to (x, y); ok is
// false when a line does as well.
func (p *program) arc(s geom.Segment, x, y int64) (c centre, ok bool, err error) {
	rise := math.Abs(s.Bulge) * s.From.Dist(s.To) / 2 * p.scale
	if rise < riseMin {
		return centre{}, false, nil
	}
	m := s.Center()
	cx, cy := m.X*p.scale-float64(p.x), m.Y*p.scale-float64(p.y)
	dx, dy := float64(x-p.x), float64(y-p.y)
	best := math.Inf(1)
	for di := int64(-centreReach); di <= centreReach; di++ {
		for dj := int64(-centreReach); dj <= centreReach; dj++ {
			t := centre{int64(math.Round(cx)) + di, int64(math.Round(cy)) + dj}
			cost := t.mismatch(dx, dy) + length(float64(t.i)-cx, float64(t.j)-cy)/2
			if cost = geom.Millionth(cost); cost < best {
				best, c = cost, t
			}
		}
	}
	limit := radiiMaxMM
	if p.how.Inch {
		limit = radiiMaxInch
	}
	good := c.mismatch(dx, dy) < limit*p.scale && math.Abs(c.sweep(dx, dy, s.Bulge)-float64(s.Sweep())) < sweepTol
	if !good && s.Length()*p.scale < tinyArc {
		return centre{}, false, nil
	}
	if !good {
		return centre{}, false, fmt.Errorf("arc from (%.4f, %.4f) to (%.4f, %.4f) of radius %.4f cannot be printed with radii that agree",
			s.From.X, s.From.Y, s.To.X, s.To.Y, s.Radius())
	}
	return c, true, nil
}

// mismatch is the difference of the radii at the start (0, 0) and the end.
func (c centre) mismatch(dx, dy float64) float64 {
	i, j := float64(c.i), float64(c.j)
	return math.Abs(length(i, j) - length(dx-i, dy-j))
}

// length is the hypotenuse; the products are rounded before they are added, so
// that every processor chooses the same centre.
func length(x, y float64) float64 { return math.Sqrt(float64(x*x) + float64(y*y)) }

// sweep is the angle the arc turns through as printed, with the sign of bulge.
func (c centre) sweep(dx, dy, bulge float64) float64 {
	i, j := float64(c.i), float64(c.j)
	a := math.Atan2(-j, -i)
	b := math.Atan2(dy-j, dx-i)
	w := math.Mod(b-a+4*math.Pi, 2*math.Pi)
	if bulge < 0 {
		w -= 2 * math.Pi
	}
	return w
}
