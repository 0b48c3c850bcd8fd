// Package motion estimates how long a machine takes over a list of moves.
//
// The model is the usual one of a small controller. Each move is a block with a
// speed it would like to run at. Along a block the speed changes at a fixed
// acceleration, so that its square changes by 2·a·d over the length d; where two
// blocks meet at an angle the speed is held to what a small circle through the
// corner allows; on an arc, to what the centripetal acceleration allows. The
// controller knows the next LookAhead blocks only, and must be able to stop at the
// end of what it knows.
//
// With squared speeds the whole plan is additions. Let e(i) = 2·a·d of block i, E(i)
// the sum of e before block i, c(i) the square of the speed allowed at the start of
// block i. Braking in time for every corner known, j of them, means that at the
// start of block i the squared speed is at most c(j) + E(j) - E(i) for all j: a
// minimum over a sliding window, which a queue of candidates gives in constant time
// a block. What was reached before bounds it from the other side.
//
// Blocks that go on in the same direction at the same speed, as in the rows of a
// picture, are held up to mergeMax at a time as one; their time is that of one long
// block. The blocks known at a time are still counted one by one, but leave together,
// so that a controller that runs at the limit of its look-ahead is taken to know up to
// mergeMax-1 fewer.
//
// Sources: elementary mechanics; for the corner, the circle that touches both lines
// and passes the corner at the distance Junction: R = Junction·s/(1-s) with s the sine
// of half the angle between the lines (published by S. K. Jeon, 2011). Jerk, the
// controller's own delays and beam rise are not in the model: take the sum as good to
// a fifth until it is compared with the machine. A head driven in steps of 0.1 ms by the
// same rules takes as long within 0.03 percent (post/work, stepwise_test.go).
package motion

import (
	"math"
	"slices"

	"spotjig/cam/machine"
)

// LookAhead is how many blocks a controller is taken to know at a time.
const LookAhead = 1024

// Limits is what the machine can do. A zero means no limit; without an
// acceleration every block runs at its own speed from end to end.
type Limits struct {
	Feed, Rapid        machine.Feed // fastest cutting move and travel
	AccelCut, AccelRap float64      // mm/s²
	Junction           float64      // how far off a corner the path may be thought to pass, mm
}

// LimitsOf returns the limits a profile states.
func LimitsOf(p machine.Profile) Limits {
	return Limits{Feed: p.FeedMax, Rapid: p.RapidMax, AccelCut: p.AccelCut, AccelRap: p.AccelRap, Junction: p.Junction}
}

// Times is how long moves take, in seconds.
type Times struct {
	Total float64 // with dwells
	Beam  float64 // of that, with the beam on
	Dwell float64 // of that, standing still by order
}

// Arc is a circular arc or helix about an axis parallel to X (0), Y (1) or Z (2).
type Arc struct {
	To     machine.Axes
	Center machine.Axes // anywhere on the axis
	Axis   int
	Sweep  float64 // radians, positive by the right-hand rule about the axis
}

// mergeMax is how many blocks are held as one at most: a little under one percent of
// what the controller knows.
const mergeMax = 8

// block is a move not yet timed, or several that go on in one line.
type block struct {
	d    float64 // mm
	v    float64 // speed wanted, mm/s
	a    float64 // mm/s²
	sum  float64 // E, mm²/s²
	n    int32   // moves
	lap  int32
	beam bool
}

// Planner times moves as they come. It holds LookAhead blocks, whatever the length
// of the program.
type Planner struct {
	lim   Limits
	rapid float64 // mm/s
	at    machine.Axes
	times Times

	ring        [LookAhead]block
	first, next int // blocks held, counted from the beginning; ring index is modulo LookAhead
	held        int // moves in them
	sum         float64
	entry       float64 // square of the speed at the start of block first
	entrySpeed  float64 // its root

	// The queue of candidates: indices of blocks with rising c+E.
	queue      [2 * LookAhead]candidate
	head, tail int
	dir        machine.Axes // direction at the end of the last block
	lastV      float64
	lastA      float64
	moving     bool // dir holds: nothing stops the machine before the next block
	exact      bool
	laps       []float64 // nil: not kept
}

type candidate struct {
	index  int
	corner float64 // c
	sum    float64 // E
	bound  float64 // c + E
}

// NewPlanner returns a planner for a machine standing at at.
func NewPlanner(l Limits, at machine.Axes) *Planner {
	p := &Planner{lim: l, at: at, rapid: float64(l.Rapid)}
	if l.Rapid <= 0 {
		p.rapid = float64(l.Feed)
	}
	return p
}

// At returns where the moves given so far lead.
func (p *Planner) At() machine.Axes { return p.at }

// Stop makes the machine come to rest before the next move, as it does for a
// change of the beam or the spindle.
func (p *Planner) Stop() { p.moving = false }

// Exact makes the machine come to rest at every corner from here on (on), or not.
func (p *Planner) Exact(on bool) { p.exact = on }

// KeepLaps has the time of each lap kept from here on: of the moves up to the next call
// of Lap, of those up to the one after, and so on.
func (p *Planner) KeepLaps() { p.laps = []float64{0} }

// Lap begins a lap. The machine does not stop for it.
func (p *Planner) Lap() { p.laps = append(p.laps, 0) }

// Laps returns how long each lap took, s, as far as moves are timed: all are after Finish.
func (p *Planner) Laps() []float64 { return p.laps }

func (p *Planner) lap() int32 { return int32(len(p.laps) - 1) }

// Dwell adds a stop of s seconds.
func (p *Planner) Dwell(s float64, beam bool) {
	p.moving = false
	p.times.Dwell += s
	p.add(s, p.lap(), beam)
}

// Rapid travels straight to to, as fast as the machine does.
func (p *Planner) Rapid(to machine.Axes, beam bool) { p.straight(to, p.rapid, p.lim.AccelRap, beam) }

// Line moves straight to to at feed, no faster than the machine does; a feed of zero
// is the machine's fastest.
func (p *Planner) Line(to machine.Axes, feed machine.Feed, beam bool) {
	p.straight(to, p.capped(feed), p.lim.AccelCut, beam)
}

// Row moves through the places xs, one after the other along X: as a Line to each. Places
// that go on from the last block are added to it in one go.
func (p *Planner) Row(xs []float64, feed machine.Feed, beam bool) {
	v, a := p.capped(feed), p.lim.AccelCut
	for len(xs) > 0 {
		way := machine.Axes{X: math.Copysign(1, xs[0]-p.at.X)}
		if b := p.goesOn(way, v, a, beam); b != nil && p.held < LookAhead {
			x, d, n := p.at.X, b.d, 0
			for room := min(len(xs), int(mergeMax-b.n), LookAhead-p.held); n < room && (xs[n]-x)*way.X > 0; n++ {
				d += math.Abs(xs[n] - x)
				x = xs[n]
			}
			if n > 0 {
				p.at.X, xs = x, xs[n:]
				p.lengthen(b, d, n)
				continue
			}
		}
		p.straight(machine.Axes{X: xs[0], Y: p.at.Y, Z: p.at.Z}, v, a, beam)
		xs = xs[1:]
	}
}

// goesOn returns the last block where a move that way is one with it, else nil.
func (p *Planner) goesOn(way machine.Axes, v, a float64, beam bool) *block {
	if !p.moving || way != p.dir || v != p.lastV || a != p.lastA || p.first >= p.next || p.sum >= sumMax {
		return nil
	}
	if b := &p.ring[(p.next-1)%LookAhead]; b.n < mergeMax && b.beam == beam && b.lap == p.lap() {
		return b
	}
	return nil
}

// lengthen makes the last block d long, by n moves more.
func (p *Planner) lengthen(b *block, d float64, n int) {
	b.d, b.n, p.held = d, b.n+int32(n), p.held+n
	p.sum = b.sum + 2*b.a*d
}

// capped holds a feed to the machine's.
func (p *Planner) capped(feed machine.Feed) float64 {
	if f := p.lim.Feed; f > 0 && (feed > f || feed <= 0) {
		feed = f
	}
	return float64(feed)
}

func (p *Planner) straight(to machine.Axes, v, a float64, beam bool) {
	d := machine.Axes{X: to.X - p.at.X, Y: to.Y - p.at.Y, Z: to.Z - p.at.Z}
	p.at = to
	var length float64
	if d.Y == 0 && d.Z == 0 { // a row of a picture: no root needed
		length = math.Abs(d.X)
		if length == 0 {
			return
		}
		d.X = math.Copysign(1, d.X)
	} else {
		length = math.Sqrt(d.X*d.X + d.Y*d.Y + d.Z*d.Z)
		inv := 1 / length
		d.X, d.Y, d.Z = d.X*inv, d.Y*inv, d.Z*inv
	}
	if p.held >= LookAhead {
		p.emit(p.best(p.sum))
	}
	if b := p.goesOn(d, v, a, beam); b != nil {
		p.lengthen(b, b.d+length, 1)
		return
	}
	corner := p.corner(d, v, a)
	p.dir, p.lastV, p.lastA, p.moving = d, v, a, true
	p.push(length, v, a, corner, beam)
}

// Arc moves along an arc at feed, measured along its path.
func (p *Planner) Arc(c Arc, feed machine.Feed, beam bool) {
	from, to := vec(p.at), vec(c.To)
	n := c.Axis
	u, w := (n+1)%3, (n+2)%3
	o := vec(c.Center)
	su, sw := from[u]-o[u], from[w]-o[w]
	eu, ew := to[u]-o[u], to[w]-o[w]
	r := math.Hypot(su, sw)
	round, rise := r*math.Abs(c.Sweep), to[n]-from[n]
	length := math.Hypot(round, rise)
	if length == 0 || r == 0 {
		p.Line(c.To, feed, beam)
		return
	}
	k := round / length * math.Copysign(1, c.Sweep)
	in, out := [3]float64{}, [3]float64{}
	in[u], in[w], in[n] = -sw/r*k, su/r*k, rise/length
	re := math.Hypot(eu, ew)
	if re == 0 {
		re = r
	}
	out[u], out[w], out[n] = -ew/re*k, eu/re*k, rise/length
	v, a := p.capped(feed), p.lim.AccelCut
	if a > 0 {
		v = math.Min(v, math.Sqrt(a*r))
	}
	corner := p.corner(axes(in), v, a)
	p.at, p.dir, p.lastV, p.lastA, p.moving = c.To, axes(out), v, a, true
	p.push(length, v, a, corner, beam)
}

func vec(a machine.Axes) [3]float64  { return [3]float64{a.X, a.Y, a.Z} }
func axes(v [3]float64) machine.Axes { return machine.Axes{X: v[0], Y: v[1], Z: v[2]} }

// straightCos: directions whose cosine is nearer to 1 than this are one direction.
// It stands for a turn of 0.08 degrees, at which the corner allows 60 times the speed
// it allows at 5 degrees.
const straightCos = 1e-6

// corner returns the square of the speed allowed where the last block meets one that
// starts along d.
func (p *Planner) corner(d machine.Axes, v, a float64) float64 {
	if !p.moving {
		return 0
	}
	low := math.Min(v, p.lastV)
	free := low * low
	cos := d.X*p.dir.X + d.Y*p.dir.Y + d.Z*p.dir.Z
	if cos >= 1-straightCos {
		return free
	}
	if p.exact || cos <= -1+straightCos {
		return 0
	}
	s := math.Sqrt((1 + cos) / 2) // sine of half the angle between the lines
	return math.Min(free, math.Min(a, p.lastA)*p.lim.Junction*s/(1-s))
}

// push takes a block in and times the oldest when the planner is full.
func (p *Planner) push(d, v, a, corner float64, beam bool) {
	if v <= 0 { // no speed known: the length is all that can be told
		p.moving = false
		return
	}
	if a <= 0 {
		p.add(d/v, p.lap(), beam)
		return
	}
	if p.held >= LookAhead {
		p.emit(p.best(p.sum))
	}
	if p.next == p.first { // nothing held: the sums begin anew
		p.sum, p.head, p.tail = 0, 0, 0
		p.entry, p.entrySpeed = 0, 0
	}
	if p.sum > sumMax {
		p.rebase()
	}
	bound := corner + p.sum
	for p.tail > p.head && p.queue[p.tail-1].bound >= bound {
		p.tail--
	}
	if p.tail == len(p.queue) {
		p.tail = copy(p.queue[:], p.queue[p.head:p.tail])
		p.head = 0
	}
	p.queue[p.tail] = candidate{p.next, corner, p.sum, bound}
	p.tail++
	p.ring[p.next%LookAhead] = block{d, v, a, p.sum, 1, p.lap(), beam}
	p.next++
	p.held++
	p.sum += 2 * a * d
}

// sumMax: beyond this the running sum is begun anew, so that differences of it keep
// seven digits or more; a travel of half a metre adds some millions.
const sumMax = 1e9

func (p *Planner) rebase() {
	base := p.ring[p.first%LookAhead].sum
	for i := p.first; i < p.next; i++ {
		p.ring[i%LookAhead].sum -= base
	}
	for i := p.head; i < p.tail; i++ {
		p.queue[i].sum -= base
		p.queue[i].bound -= base
	}
	p.sum -= base
}

// best returns the square of the speed allowed at the end of the oldest block, by
// all that follows it up to a stop at end.
func (p *Planner) best(end float64) float64 {
	for p.head < p.tail && p.queue[p.head].index <= p.first {
		p.head++
	}
	b := &p.ring[p.first%LookAhead]
	done := b.sum + 2*b.a*b.d
	if p.head < p.tail && p.queue[p.head].bound < end {
		c := &p.queue[p.head]
		return max(0, c.corner+(c.sum-done)) // exactly the corner for the very next block
	}
	return max(0, end-done)
}

// emit times the oldest block, which ends at a squared speed of at most exit.
func (p *Planner) emit(exit float64) {
	b := &p.ring[p.first%LookAhead]
	exit = min(exit, p.entry+2*b.a*b.d)
	v2 := b.v * b.v
	var t, out float64
	if p.entry == v2 && exit == v2 {
		t, out = b.d/b.v, b.v
	} else {
		out = math.Sqrt(exit)
		t = trapezoid(*b, p.entrySpeed, out)
	}
	p.entry, p.entrySpeed = exit, out
	p.first++
	p.held -= int(b.n)
	p.add(t, b.lap, b.beam)
}

// trapezoid is the time over a block from speed v0 to speed v1: up to the wanted
// speed or to the peak that the length allows, and down again.
func trapezoid(b block, v0, v1 float64) float64 {
	ends := v0*v0 + v1*v1
	peak2 := b.a*b.d + ends/2
	if peak2 <= b.v*b.v {
		return (2*math.Sqrt(peak2) - v0 - v1) / b.a
	}
	return (2*b.v-v0-v1)/b.a + (b.d-(2*b.v*b.v-ends)/(2*b.a))/b.v
}

func (p *Planner) add(t float64, lap int32, beam bool) {
	p.times.Total += t
	if lap >= 0 {
		p.laps[lap] += t
	}
	if beam {
		p.times.Beam += t
	}
}

// Finish times what is left, to a stop, and returns the sums. Moves may follow.
func (p *Planner) Finish() Times {
	for p.first < p.next {
		p.emit(p.best(p.sum))
	}
	p.moving = false
	return p.times
}

// Clone returns a planner in the same state.
func (p *Planner) Clone() *Planner {
	q := *p
	q.laps = slices.Clone(p.laps)
	return &q
}
