package dryrun

import (
	"fmt"
	"math"

	"spotjig/cam/machine"
	"spotjig/post/rs274/read"
)

// What a trailing blade can do
//
// The program leads a pivot; the blade's tip trails it by the offset d and cannot slip
// sideways. With theta the direction of the pivot and psi the blade's heading (from tip
// to pivot), dpsi/ds = sin(theta-psi)/d. On a straight the angle between them dies
// away as tan(phi/2) = tan(phi0/2)·exp(-s/d); on an arc of radius R > d it settles at
// asin(d/R); on an arc of radius d about the tip the tip stands still and the blade
// swivels. (From the model; the straight's solution is the tractrix.)
//
// So a move asks the blade to turn by the difference between its heading and the
// heading it would settle at, and a swivel by its sweep. At full depth that may be no
// more than the profile's limit. The first move after the blade has come down from
// above the sheet is its run-in, meant to bring it round in waste, and is not held to
// the limit. With the point in the skin only, and above, the blade turns freely.

// Tolerances of the blade's judgement.
const (
	// turnSlack: rounding of printed ends and centres turns a short move by this, degrees.
	turnSlack = 0.5
	// swivelFit: an arc whose radius is the offset to within this share of it is a swivel.
	swivelFit = 0.02
	// radiusSlack: how far a printed radius may be under the smallest, mm.
	radiusSlack = 0.002
	// shortest: moves shorter than this have no direction worth judging, mm.
	shortest = 0.01
	// unknown: what an unknown heading may be off, degrees; half a turn would be an unstable rest.
	unknown = 179
	// aligned: below this doubt the heading counts as known when the profile says nothing, degrees.
	aligned = 5
	// plungeSlack: feeds in programs are rounded to two decimals.
	plungeSlack = 1e-4
)

type blade struct {
	k        machine.KnifeProfile
	top      float64 // machine Z of the sheet's upper face
	deep     float64 // below this the blade is at depth, not in the skin
	heading  float64 // radians
	doubt    float64 // degrees the heading may be off
	moves    int     // moves at depth since the blade came down; the first is the run-in
	reported bool    // the unknown heading has been reported
	height   bool    // how high the blade stands is known
}

func newBlade(k machine.KnifeProfile, top float64, known bool) *blade {
	return &blade{k: k, top: top, height: known, deep: top + math.Min(k.ZSkin, 0) - tinyOver, doubt: unknown}
}

// limit is the doubt below which the heading counts as known, degrees.
func (b *blade) limit() float64 {
	if b.k.Misalign > 0 {
		return b.k.Misalign.Degrees()
	}
	return aligned
}

// straight judges a rapid or a line.
func (b *blade) straight(j *judge, e *read.Event, from read.Point) {
	to := e.To
	b.stated(j, e, from)
	inSheet := math.Min(from[2], to[2]) < b.top-tinyOver
	if !inSheet {
		b.moves = 0
		return
	}
	if from[2] >= b.top-tinyOver {
		b.moves = 0
	}
	dx, dy := to[0]-from[0], to[1]-from[1]
	s := math.Hypot(dx, dy)
	b.sink(j, e, from[2]-to[2], s)
	if e.Kind == read.Rapid {
		b.rapid(j, e, from, s)
	} else if s > tinyOver && to[2] < from[2]-tinyOver {
		j.report(BladePlunge, axisWord(e, 2), "blade comes down from Z%.3f to Z%.3f while it is moved %.3f mm sideways", from[2], to[2], s)
	}
	if s < shortest {
		return
	}
	theta := math.Atan2(dy, dx)
	if math.Max(from[2], to[2]) < b.deep {
		b.turn(j, e, math.Abs(angle(b.heading-theta)))
	}
	b.follow(theta, 0, s)
}

// stated reports a first travel while nothing has said how high the blade stands.
func (b *blade) stated(j *judge, e *read.Event, from read.Point) {
	if b.height {
		return
	}
	if math.Hypot(e.To[0]-from[0], e.To[1]-from[1]) > tinyOver {
		b.height = true
		j.report(BladeHeight, firstWord(e), "the blade is moved sideways before any Z word says how high it stands")
	}
	b.height = b.height || e.Cols[2] != 0 || e.To[2] != from[2]
}

// sink judges how fast the blade goes down into the sheet.
func (b *blade) sink(j *judge, e *read.Event, down, s float64) {
	if b.k.Plunge <= 0 || down <= tinyOver || e.Kind == read.Rapid || e.To[2] >= b.top-tinyOver {
		return
	}
	speed := e.Feed * down / math.Hypot(down, s)
	if limit := float64(b.k.Plunge); speed > limit*(1+plungeSlack) {
		j.report(BladeFast, axisWord(e, 2).of(speed*60, limit*60, "mm/min"), "blade goes down into the sheet at %.0f mm/min; the profile allows %.0f mm/min", speed*60, limit*60)
	}
}

// rapid judges a rapid in the sheet. Straight up is how a blade is lifted.
func (b *blade) rapid(j *judge, e *read.Event, from read.Point, s float64) {
	if s > tinyOver {
		j.report(BladeRapid, firstWord(e), "rapid of %.3f mm sideways with the blade in the sheet at Z%.3f", s, math.Min(from[2], e.To[2]))
	} else if e.To[2] < from[2]-tinyOver {
		j.find(BladePlunge, e.Line, columnOf(e, 2), func(p *Problem) {
			p.Text = fmt.Sprintf("blade driven into the sheet to Z%.3f at travel speed", e.To[2])
			p.Help = "lower the blade with G1 and a plunge feed"
		})
	}
}

// arc judges an arc in the plane of the sheet; others are judged as their chord.
func (b *blade) arc(j *judge, e *read.Event, c *read.Curve) {
	if c.Plane != read.XY {
		if low := c.Box()[0][2]; low < b.top-tinyOver && low < math.Min(c.From[2], e.To[2])-tinyOver {
			j.report(BladePlunge, axisWord(e, 2), "blade dips to Z%.3f on an arc while it is moved", low)
		}
		b.straight(j, e, c.From)
		return
	}
	b.stated(j, e, c.From)
	if math.Min(c.From[2], e.To[2]) >= b.top-tinyOver {
		b.moves = 0
		return
	}
	if e.To[2] < c.From[2]-tinyOver {
		j.report(BladePlunge, axisWord(e, 2), "blade comes down from Z%.3f to Z%.3f on an arc", c.From[2], e.To[2])
	}
	s := c.Radius * math.Abs(c.Sweep)
	b.sink(j, e, c.From[2]-e.To[2], s)
	if s < shortest {
		return
	}
	sign := math.Copysign(1, c.Sweep)
	theta := math.Atan2(c.From[1]-c.Center[1], c.From[0]-c.Center[0]) + sign*math.Pi/2
	swivel := c.Radius <= b.k.Offset*(1+swivelFit)
	if math.Max(c.From[2], e.To[2]) < b.deep {
		b.deepArc(j, e, c, theta, swivel)
	}
	if swivel {
		b.swivel(c, theta, sign)
		return
	}
	b.follow(theta, sign/c.Radius, s)
}

// swivel turns the blade about its standing tip; the doubt stays.
func (b *blade) swivel(c *read.Curve, theta, sign float64) {
	if b.doubt > b.limit() {
		return
	}
	b.heading = angle(theta + c.Sweep - sign*math.Pi/2)
}

// deepArc judges an arc at depth.
func (b *blade) deepArc(j *judge, e *read.Event, c *read.Curve, theta float64, swivel bool) {
	sign := math.Copysign(1, c.Sweep)
	if swivel {
		rest := angle(theta - sign*math.Pi/2)
		b.turn(j, e, math.Abs(c.Sweep)+math.Abs(angle(b.heading-rest)))
		return
	}
	lead := math.Asin(math.Min(1, b.k.Offset/c.Radius))
	b.turn(j, e, math.Abs(angle(b.heading-theta+sign*lead)))
	tip := math.Sqrt(math.Max(0, c.Radius*c.Radius-b.k.Offset*b.k.Offset))
	if b.k.ArcMin > 0 && tip < b.k.ArcMin-radiusSlack {
		j.report(BladeArc, firstWord(e).of(tip, b.k.ArcMin, "mm"), "the tip would follow an arc of radius %.3f mm; the blade follows %.3f mm and more", tip, b.k.ArcMin)
	}
}

// turn judges a turn asked of the blade at depth, radians.
func (b *blade) turn(j *judge, e *read.Event, by float64) {
	b.moves++
	if b.moves == 1 {
		return
	}
	if b.doubt > b.limit() {
		if b.moves > 2 && !b.reported {
			b.reported = true
			j.report(BladeHeading, firstWord(e).of(b.doubt, b.limit(), "degrees"), "the blade's heading may be off by %.0f degrees here", b.doubt)
		}
		return
	}
	deg := by * 180 / math.Pi
	if deg > b.k.SwivelMax.Degrees()+b.limit()+turnSlack {
		j.report(BladeTurn, firstWord(e).of(deg, b.k.SwivelMax.Degrees(), "degrees"), "blade at depth is asked to turn by %.1f degrees; the profile allows %.1f", deg, b.k.SwivelMax.Degrees())
	}
}

// follow drags the blade over s mm of pivot path that begins in direction theta and
// bends by bend radians a mm.
func (b *blade) follow(theta, bend, s float64) {
	d := b.k.Offset
	if d <= 0 {
		b.heading, b.doubt = angle(theta+bend*s), 0
		return
	}
	fade := math.Exp(-s / d)
	if b.doubt > b.limit() { // anywhere: after this it is near where it settles
		b.doubt = fadeDeg(unknown, fade)
		b.heading = angle(theta + bend*s - math.Asin(clamp(bend*d)))
		return
	}
	b.doubt = fadeDeg(b.doubt, fade)
	if bend == 0 {
		phi := angle(b.heading - theta)
		b.heading = angle(theta + 2*math.Atan(math.Tan(phi/2)*fade))
		return
	}
	b.heading = angle(theta + bend*s + drag(angle(b.heading-theta), bend, s, d))
}

func fadeDeg(deg, fade float64) float64 {
	return 2 * math.Atan(math.Tan(deg/2*math.Pi/180)*fade) * 180 / math.Pi
}

func clamp(v float64) float64 { return math.Max(-1, math.Min(1, v)) }

// dragSteps bounds the work on one arc; the lag dies away within 20 offsets.
const dragSteps = 400

// drag integrates phi = psi - theta along an arc, dphi/ds = -sin(phi)/d - bend, by the
// classical Runge-Kutta rule (any text on numerical analysis).
func drag(phi, bend, s, d float64) float64 {
	if s > 20*d { // settled long before the end
		return -math.Asin(clamp(bend * d))
	}
	f := func(p float64) float64 { return -math.Sin(p)/d - bend }
	h := s / dragSteps
	for i := 0; i < dragSteps; i++ {
		a := f(phi)
		b := f(phi + h/2*a)
		c := f(phi + h/2*b)
		phi += h / 6 * (a + 2*b + 2*c + f(phi+h*c))
	}
	return phi
}

// angle brings an angle into -pi..pi.
func angle(a float64) float64 { return math.Remainder(a, 2*math.Pi) }
