package read

import "math"

// cycle holds the words of a canned cycle that stay in force while the same code does.
type cycle struct {
	code       int16
	r, z, p, q float64 // program units, as written
	hasP, hasQ bool
}

// backOff is how far above the last depth a peck's rapid stops: 0.010 inch or 0.254 mm
// (section 3.5.16.4).
const backOff = 0.254

// drill does the canned cycles G81, G82, G83, G85 and G89 (section 3.5.16) in any plane.
func (x *interp) drill(b *block, code int16) {
	x.need(gReturn, ReturnUnstated, b.axisCol, "return level of cycles", "G98 or G99")
	u, v, w := x.plane.Axes()
	first := x.cycle.code != code
	if !x.cycleWords(b, code, w) {
		return
	}
	feed := x.speed(b, 0)
	times := 1
	if b.has('L') {
		times, _ = asInt(b.val['L'-'A'])
	}
	at := x.pos
	r := x.cycle.r*x.scale + x.offset(w)
	z := x.cycle.z*x.scale + x.offset(w)
	step := Point{}
	if x.incremental {
		r = x.cycle.r*x.scale + at[w]
		z = x.cycle.z*x.scale + r
		for _, i := range [2]int{u, v} {
			if c := byte('X' + i); b.has(c) {
				step[i] = b.val[c-'A'] * x.scale
			}
		}
	} else {
		lost := x.lost[w]
		to := x.targets(b)
		if at[u], at[v] = to[u], to[v]; lost { // a depth does not say where the drill stands
			x.lose(w)
		}
	}
	if r < z {
		x.fault(Fault{Code: BadCycle, Line: x.at, Col: int(b.axisCol), Value: r, Limit: z, Unit: "mm", Text: "the cycle's R lies below its Z", Help: "put R above the hole's bottom"})
		return
	}
	two := x.twoWays(b, w, times, first, r, z)
	d := driller{x: x, b: b, axis: w, code: code, r: r, z: z, clear: r, feed: feed}
	d.run(at, step, times)
	if two {
		x.lose(w)
	} else if !x.incremental && x.toR { // at R in every reading
		x.lost[w] = false
		x.anyLost = x.lost != [3]bool{}
	}
}

// twoWays notes a cycle that controllers run in two ways. In G91 with G99 the next hole's
// R counts from where the drill stands, which is R, or from where the series began; and
// G98 goes back to where the drill stood, or no lower than R. What the other way reaches
// is told too. It reports whether the drill ends at two heights.
func (x *interp) twoWays(b *block, w, times int, first bool, r, z float64) bool {
	switch {
	case x.incremental && x.toR && x.cycle.r != 0 && times > 1:
		x.note(CycleTwoWays, b.axisCol, "R")
		deep := float64(times-1) * x.cycle.r * x.scale
		for _, level := range [2]float64{r + deep, z + deep} {
			p := x.pos
			p[w] = level
			x.emit(Reach, x.at, p)
		}
	case x.incremental && x.toR && x.cycle.r != 0 && !first && !b.has('R'):
		x.note(CycleTwoWays, b.axisCol, "R")
	case !x.toR && x.pos[w] < r:
		x.note(CycleTwoWays, b.axisCol, "G98")
	default:
		return false
	}
	return true
}

// cycleWords takes the cycle's words over and reports those missing.
func (x *interp) cycleWords(b *block, code int16, w int) bool {
	first := x.cycle.code != code
	if first {
		x.cycle = cycle{code: code}
	}
	miss := func(word, why string) bool {
		x.say(MissingWord, b.axisCol, gName(code)+" without "+word, why)
		x.cycle.code = none
		return false
	}
	depth := byte('X' + w)
	take := func(c byte, to *float64) bool {
		if b.has(c) {
			*to = b.val[c-'A']
		}
		return b.has(c)
	}
	hasR, hasZ := take('R', &x.cycle.r), take(depth, &x.cycle.z)
	x.cycle.hasP = take('P', &x.cycle.p) || x.cycle.hasP
	x.cycle.hasQ = take('Q', &x.cycle.q) || x.cycle.hasQ
	switch {
	case first && !hasR:
		return miss("R", "give the height to which the drill moves fast")
	case first && !hasZ:
		return miss(string(depth), "give the depth of the hole")
	case (code == 820 || code == 890) && !x.cycle.hasP:
		return miss("P", "give the dwell at the bottom")
	case code == 830 && !x.cycle.hasQ:
		return miss("Q", "give the depth of a peck")
	case code == 830 && x.cycle.q <= 0:
		x.say(Negative, b.axisCol, "Q of a pecking cycle is not above zero", "give the depth of a peck")
		return false
	case x.cycle.p < 0:
		x.say(Negative, b.axisCol, "negative dwell", "give a time of 0 or more")
		return false
	case b.has('L') && b.val['L'-'A'] < 0.5:
		x.say(BadCycle, b.col['L'-'A'], "L of a cycle is not above zero", "give the number of repeats")
		return false
	case x.inverse:
		x.say(BadCycle, b.axisCol, "a canned cycle in G93", "state G94 before the cycle")
		return false
	}
	return true
}

// driller makes the moves of a canned cycle.
type driller struct {
	x           *interp
	b           *block
	axis        int
	code        int16
	r, z, clear float64 // machine mm along the axis
	feed        float64
	moves       int
}

// run drills times holes, the first at at moved by step.
func (d *driller) run(at, step Point, times int) {
	x := d.x
	if x.pos[d.axis] < d.r {
		d.to(Rapid, d.r)
	}
	if !x.toR {
		d.clear = x.pos[d.axis]
	}
	level := x.pos[d.axis]
	for n := 0; n < times && d.moves <= cycleMax && x.drilled <= drilledMax; n++ {
		for i := range at {
			at[i] += step[i]
		}
		over := at
		over[d.axis] = level
		d.move(Rapid, over)
		if level != d.r {
			d.to(Rapid, d.r)
		}
		d.hole()
		level = d.clear
	}
	if x.drilled > drilledMax {
		x.fault(Fault{Code: TooManyMoves, Line: x.at, Col: int(d.b.axisCol), Value: float64(x.drilled), Limit: drilledMax, Unit: "moves",
			Text: "the cycles of the program make more moves than are followed", Help: "give smaller L, or split the program"})
	} else if d.moves > cycleMax {
		x.fault(Fault{Code: TooManyMoves, Line: x.at, Col: int(d.b.axisCol), Value: float64(d.moves), Limit: cycleMax, Unit: "moves",
			Text: "the cycle makes more moves than one line may", Help: "give a smaller L or a larger Q"})
	}
}

// hole makes one hole and comes back to the clear level.
func (d *driller) hole() {
	if d.code == 830 {
		q := d.x.cycle.q * d.x.scale
		for deep := d.r - q; deep > d.z && d.moves <= cycleMax; deep -= q {
			d.to(Line, deep)
			d.to(Rapid, d.r)
			d.to(Rapid, math.Min(deep+backOff, d.r))
		}
	}
	d.to(Line, d.z)
	if d.code == 820 || d.code == 890 {
		p := d.x.cycle.p
		if d.x.dialect.millis {
			p /= 1000
		}
		d.x.emit(Dwell, d.x.at, d.x.pos).Feed = p
	}
	if d.code == 850 || d.code == 890 {
		d.to(Line, d.clear)
	} else {
		d.to(Rapid, d.clear)
	}
}

// to moves along the cycle's axis.
func (d *driller) to(k Kind, level float64) {
	p := d.x.pos
	p[d.axis] = level
	d.move(k, p)
}

func (d *driller) move(k Kind, p Point) {
	d.moves++
	d.x.drilled++
	feed := 0.0
	if k == Line {
		feed = d.feed
	}
	d.x.straight(k, d.b, p, feed)
}
