package read

import (
	"math"
	"strconv"
)

func dist(a, b Point) float64 {
	dx, dy, dz := a[0]-b[0], a[1]-b[1], a[2]-b[2]
	return math.Sqrt(dx*dx + dy*dy + dz*dz)
}

// centerWord names the word that gives the centre along axis 0, 1, 2.
const centerWord = "IJK"

// arc does G2 and G3 (section 3.5.3). When the arc makes no sense it is reported
// and taken as a straight move to its end.
func (x *interp) arc(b *block, clockwise bool) {
	to := x.targets(b)
	u, v, w := x.plane.Axes()
	c := Curve{From: x.pos, To: to, Plane: x.plane}
	if x.plane != XY && !x.hasZ {
		x.say(NoSuchAxis, b.axisCol, "an arc in "+x.inForce(gPlane)+" moves an axis that this machine does not have", "state G17, or choose the machine the program is for")
	}
	ok := x.planeWords(b, u, v, w)
	if ok && b.has('R') {
		ok = x.radiusArc(b, &c, clockwise)
	} else if ok {
		ok = x.centerArc(b, &c, clockwise)
	}
	if !ok {
		x.straight(Line, b, to, x.speed(b, dist(x.pos, to)))
		return
	}
	length := math.Hypot(c.Radius*c.Sweep, to[w]-c.From[w])
	feed := x.speed(b, length)
	x.batch.Arcs = append(x.batch.Arcs, c)
	x.straight(Arc, b, to, feed).Extra = int32(len(x.batch.Arcs) - 1)
}

// planeWords reports centre and axis words that do not suit the plane.
func (x *interp) planeWords(b *block, u, v, w int) bool {
	iu, iv, iw := centerWord[u], centerWord[v], centerWord[w]
	col := b.axisCol
	switch {
	case !b.has(byte('X'+u)) && !b.has(byte('X'+v)):
		x.say(NoPlaneWord, col, "arc without an axis word of its plane", "give the end of the arc in the plane in force")
		return false
	case b.has(iw):
		x.say(WrongCenterWord, b.col[iw-'A'], "word "+string(iw)+" does not belong to an arc in this plane", "use "+string(iu)+" and "+string(iv)+", or state the plane that is meant")
		return false
	case b.has('R') && (b.has(iu) || b.has(iv)):
		x.say(RadiusAndCenter, b.col['R'-'A'], "arc with both a radius and a centre", "give I J K or R, not both")
		return false
	case !b.has('R') && !b.has(iu) && !b.has(iv):
		x.say(NoCenter, col, "arc without centre or radius", "give "+string(iu)+" and "+string(iv)+", or R")
		return false
	}
	return true
}

// Full turns are told from none by where the ends are, exactly as the words put them.
const turn = 2 * math.Pi

// nearEnd: ends of a whole-turn centre arc nearer than this, but not the same, may be
// meant to be one point; the controller goes nearly a whole turn or nearly none. The
// last digit of three-decimal mm programs, and a little.
const nearEnd = 0.0015

// centerArc completes c from I J K, offsets from the start whatever G90 or G91 say (section 3.5.3.2).
func (x *interp) centerArc(b *block, c *Curve, clockwise bool) bool {
	u, v, _ := c.Plane.Axes()
	du, dv := 0.0, 0.0
	if l := centerWord[u]; b.has(l) {
		du = b.val[l-'A'] * x.scale
	}
	if l := centerWord[v]; b.has(l) {
		dv = b.val[l-'A'] * x.scale
	}
	if x.centersAbs {
		if !b.has(centerWord[u]) || !b.has(centerWord[v]) {
			x.say(NoCenter, b.axisCol, "in G90.1 an arc wants both words of its centre", "give "+string(centerWord[u])+" and "+string(centerWord[v]))
			return false
		}
		du, dv = du+x.offset(u)-c.From[u], dv+x.offset(v)-c.From[v]
	}
	c.Center = c.From
	c.Center[u] += du
	c.Center[v] += dv
	eu, ev := c.To[u]-c.Center[u], c.To[v]-c.Center[v]
	c.Radius, c.RadiusTo = math.Hypot(du, dv), math.Hypot(eu, ev)
	if c.Radius == 0 || c.RadiusTo == 0 {
		x.say(ZeroRadius, b.axisCol, "arc of radius zero", "give the centre's distance from the start in I, J, K")
		return false
	}
	if d := math.Abs(c.Radius - c.RadiusTo); d > x.arcTol+arcSlack {
		x.fault(Fault{Code: OffCircle, Line: x.at, Col: int(b.axisCol), Value: d, Limit: x.arcTol, Unit: "mm",
			Text: "the arc's end is off its circle by " + mm(d) + ": radius " + mm(c.Radius) + " at the start, " + mm(c.RadiusTo) + " at the end",
			Help: "write more decimals, or work I, J, K out again"})
	}
	c.Sweep = sweep(-du, -dv, eu, ev, clockwise)
	if d := math.Hypot(c.To[u]-c.From[u], c.To[v]-c.From[v]); d == 0 {
		c.Sweep = math.Copysign(turn, c.Sweep)
	} else if d < nearEnd {
		x.noteFigures(NearCircle, b.axisCol, "", d, nearEnd)
	}
	return true
}

// arcSlack: rounding of the two radii must not refuse an arc at the limit itself.
const arcSlack = 1e-9

// mm prints a length for a message.
func mm(v float64) string { return strconv.FormatFloat(v, 'f', 4, 64) + " mm" }

// sweep returns the angle from (au, av) to (bu, bv) in the given direction, never 0.
func sweep(au, av, bu, bv float64, clockwise bool) float64 {
	cross := float64(au*bv) - float64(av*bu)
	dot := float64(au*bu) + float64(av*bv)
	a := math.Atan2(cross, dot)
	if clockwise {
		if a >= 0 {
			a -= turn
		}
		return a
	}
	if a <= 0 {
		a += turn
	}
	return a
}

// Where a radius arc is badly placed, degrees: between farLow and farHigh and beyond farWhole,
// near half a turn and near a whole one, a hair's change of the ends moves the centre far.
// Arcs up to 165 degrees and from 195 to 345 are in order (section 3.5.3.1).
const (
	farLow, farHigh = 165, 195
	farWhole        = 345
)

// radiusArc completes c from R (section 3.5.3.1). Positive R turns half a circle at most.
func (x *interp) radiusArc(b *block, c *Curve, clockwise bool) bool {
	u, v, _ := c.Plane.Axes()
	r := b.val['R'-'A'] * x.scale
	du, dv := c.To[u]-c.From[u], c.To[v]-c.From[v]
	chord := math.Hypot(du, dv)
	col := b.col['R'-'A']
	switch {
	case r == 0:
		x.say(ZeroRadius, col, "arc of radius zero", "give the radius")
		return false
	case chord == 0:
		x.say(RadiusNoChord, col, "radius arc that ends where it starts", "write a whole circle with I, J, K")
		return false
	case chord/2 > math.Abs(r)+x.arcTol/2:
		x.fault(Fault{Code: RadiusShort, Line: x.at, Col: int(col), Value: math.Abs(r), Limit: chord / 2, Unit: "mm",
			Text: "radius " + mm(math.Abs(r)) + " is less than half the distance " + mm(chord/2) + " between the ends", Help: "give a larger radius, or the right end"})
		return false
	}
	// The centre lies h to one side of the chord's middle, to the left for a
	// counter-clockwise arc of at most half a turn.
	h := math.Sqrt(math.Max(0, float64(r*r)-float64(chord*chord/4)))
	if clockwise != (r < 0) {
		h = -h
	}
	c.Center = c.From
	c.Center[u] = (c.From[u]+c.To[u])/2 - h*dv/chord
	c.Center[v] = (c.From[v]+c.To[v])/2 + h*du/chord
	c.Radius = math.Max(math.Abs(r), chord/2)
	c.RadiusTo = c.Radius
	half := math.Asin(math.Min(1, chord/2/c.Radius))
	c.Sweep = 2 * half
	if r < 0 {
		c.Sweep = turn - 2*half
	}
	if deg := c.Sweep * 180 / math.Pi; deg > farWhole {
		x.noteFigures(FarRadius, col, "R", deg, farWhole)
	} else if deg > farLow && deg < farHigh {
		x.noteFigures(FarRadius, col, "R", deg, farLow)
	}
	if clockwise {
		c.Sweep = -c.Sweep
	}
	return true
}
