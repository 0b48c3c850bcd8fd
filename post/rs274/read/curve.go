package read

import "math"

// edgeTol: a quadrant point this near an end of the sweep, in radians, counts as on
// the arc. A metre of radius times this is a nanometre.
const edgeTol = 1e-9

// Length returns the length along the arc or helix, mm.
func (c *Curve) Length() float64 {
	_, _, n := c.Plane.Axes()
	return math.Hypot(c.Radius*c.Sweep, c.To[n]-c.From[n])
}

// Box returns the lowest and the highest corner of the box of the arc: its ends as
// programmed, and the quadrant points inside the sweep. Where the radii of the two
// ends differ a controller may spiral or jump, so the box is grown by the difference.
func (c *Curve) Box() [2]Point {
	u, v, _ := c.Plane.Axes()
	lo, hi := c.From, c.From
	for i, t := range c.To {
		lo[i], hi[i] = math.Min(lo[i], t), math.Max(hi[i], t)
	}
	au, av := c.From[u]-c.Center[u], c.From[v]-c.Center[v]
	size := math.Abs(c.Sweep)
	for q := 0; q < 4; q++ {
		d := [4][2]float64{{1, 0}, {0, 1}, {-1, 0}, {0, -1}}[q]
		a := math.Abs(sweep(au, av, d[0], d[1], c.Sweep < 0))
		if a > size+edgeTol && a < turn-edgeTol {
			continue
		}
		pu, pv := c.Center[u]+d[0]*c.Radius, c.Center[v]+d[1]*c.Radius
		lo[u], hi[u] = math.Min(lo[u], pu), math.Max(hi[u], pu)
		lo[v], hi[v] = math.Min(lo[v], pv), math.Max(hi[v], pv)
	}
	grow := math.Abs(c.Radius - c.RadiusTo)
	lo[u], hi[u], lo[v], hi[v] = lo[u]-grow, hi[u]+grow, lo[v]-grow, hi[v]+grow
	return [2]Point{lo, hi}
}

// At returns the place a fraction t (0..1) of the way along.
func (c *Curve) At(t float64) Point {
	u, v, n := c.Plane.Axes()
	sin, cos := math.Sincos(c.Sweep * t)
	du, dv := c.From[u]-c.Center[u], c.From[v]-c.Center[v]
	k := 1 + t*(c.RadiusTo/c.Radius-1) // a spiral where the radii differ
	p := c.From
	p[u] = c.Center[u] + k*(float64(cos*du)-float64(sin*dv))
	p[v] = c.Center[v] + k*(float64(sin*du)+float64(cos*dv))
	p[n] = c.From[n] + t*(c.To[n]-c.From[n])
	return p
}

// Middle returns the place half way along.
func (c *Curve) Middle() Point { return c.At(0.5) }
