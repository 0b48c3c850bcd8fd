package path

import (
	"cmp"
	"math"
	"slices"

	"spotjig/layout/geom"
)

// A closed cut may begin anywhere. A start is judged by the way the blade gets
// there, in tiers:
//
//	0  run-in to a round end, a rounded corner or a sharp one
//	1  run-in to a straight edge, or to the long side of an arc slot
//	2  turned in place in waste, then a tangent arc or line to the contour
//	3  turned in place on the contour itself
//
// and inside a tier by the travel to it plus degWeight mm for each degree the
// blade must be brought round. On an arc the start is put where the run-in's
// direction is the heading that the blade already has, so most starts need no
// turning at all.
const (
	degWeight = 1.0
	// runInMin: the shortest run-in in offsets; the plunge itself is not exact.
	runInMin = 1.0
	// wasteGap: how far the tip keeps from kept edges where it enters, mm.
	wasteGap = 0.25
	// cornerMin: sharp corners from this turn on may be started at.
	cornerMin = float64(20 * geom.Degree)
)

// slants are the angles between the run-in and the contour.
func slants() [6]geom.Angle {
	return [6]geom.Angle{30 * geom.Degree, 45 * geom.Degree, 60 * geom.Degree, 90 * geom.Degree, 120 * geom.Degree, 150 * geom.Degree}
}

// start is one way to begin a closed cut.
type start struct {
	at     station
	slant  float64 // turn of the tangent arc, radians; 0: straight on at a corner
	tier   int
	cost   float64
	tip    []geom.Segment // the planned tip path from entry to contour
	pivot  geom.Point     // where the pivot stands when the blade goes in
	run    float64        // length of the run-in's straight; 0: turned in place
	toward geom.Vec       // heading that the blade is brought to
	phi    float64        // heading carried, measured from toward
	side   geom.Vec       // a leg before the run-in, square to it; zero: none
}

// sideLeg is the length of the leg square to a run-in, in offsets: a blade that
// points up to a half turn the wrong way is at most a right angle from the leg,
// comes within 2·atan(exp(-2)) = 15.4 degrees of it, and is then 105.4 degrees
// from the run-in's heading.
const sideLeg = 2.0

// settled is the heading carried, measured from toward, where the run-in's
// straight begins.
func (b *blade) settled(st start) float64 {
	if st.side == (geom.Vec{}) {
		return st.phi
	}
	off := 2 * math.Atan(math.Tan(turnBetween(st.side, b.heading)/2)*math.Exp(-sideLeg))
	return turnBetween(st.toward, turned(st.side, off))
}

// residual is the heading error that may be left at the contour, radians:
// Misalign, and no more than puts the tip tipTol off.
func (b *blade) residual() float64 {
	return math.Min(float64(b.k.Misalign), math.Asin(math.Min(1, tipTol/b.k.Offset)))
}

// runIn returns the length that brings a blade phi off its heading, give or
// take drift, to within the residual: tan(phi/2) falls as exp(-s/d). phi is at
// most turnMax.
func (b *blade) runIn(phi float64) float64 {
	d := b.k.Offset
	l := d * math.Log(math.Tan((math.Abs(phi)+drift)/2)/math.Tan(b.residual()/2))
	return math.Max(l, runInMin*d)
}

// starts lists the ways to begin a closed cut, best first.
func (b *blade) starts(c contour) []start {
	var out []start
	smooth := true
	for i, s := range c.chain {
		if a := turnInto(c.chain, i); a > cornerMin && a < math.Pi-cornerMin {
			out = append(out, b.cornerStarts(c, i)...)
			smooth = false
		}
		if s.IsArc() {
			smooth = false
		}
		for _, slant := range slants() {
			out = append(out, b.sideStarts(c, i, float64(slant))...)
		}
	}
	for i := range c.chain {
		out = append(out, b.inPlace(c, station{seg: i, t: 0.5}))
	}
	if !smooth {
		out = demoteSides(c, out)
	}
	for i := range out {
		out[i].cost = geom.Millionth(b.at.Dist(out[i].pivot) + geom.Angle(degWeight*math.Abs(out[i].phi)).Degrees())
	}
	slices.SortStableFunc(out, func(a, b start) int {
		return cmp.Or(cmp.Compare(a.tier, b.tier), cmp.Compare(a.cost, b.cost))
	})
	return out
}

// demoteSides puts starts on straight edges and on long arcs into the next tier,
// where the contour has round ends or corners to start at: a slot's sides guide
// the marker.
func demoteSides(c contour, starts []start) []start {
	least := math.Inf(1)
	for _, s := range c.chain {
		least = math.Min(least, s.Radius())
	}
	for i, s := range starts {
		if s.tier == 0 && s.slant != 0 && !(c.chain[s.at.seg].Radius() < 2*least) {
			starts[i].tier = 1
		}
	}
	return starts
}

// turnInto returns the turn from the segment before i into segment i.
func turnInto(chain []geom.Segment, i int) float64 {
	n := len(chain)
	return turnBetween(chain[(i+n-1)%n].Tangent(1), chain[i].Tangent(0))
}

// cornerStarts come straight on to the corner where segment i begins: for a turn
// to the left the line behind the corner lies in the waste on the right. The
// first has a run-in, unless the blade is too far off its heading; the other
// turns the blade in place one offset before the corner. A machine that cannot
// turn in the skin comes to its run-in by a leg square to it instead.
func (b *blade) cornerStarts(c contour, i int) []start {
	s, d := c.chain[i], b.k.Offset
	u := s.Tangent(0)
	st := start{at: station{seg: i}, toward: u, phi: turnBetween(u, b.heading)}
	turn := st
	turn.tier, turn.tip = 2, []geom.Segment{{From: s.From.Add(u.Scale(-d)), To: s.From}}
	turn.pivot = turn.tip[0].From.Add(b.heading.Scale(d))
	if math.Abs(st.phi) > turnMax {
		if b.canLift() {
			return []start{turn}
		}
		st.side = turned(u, math.Copysign(math.Pi/2, st.phi))
	}
	st.run = b.runIn(b.settled(st))
	entry := s.From.Add(u.Scale(-st.run))
	st.tip = []geom.Segment{{From: entry, To: s.From}}
	st.pivot = entry.Add(u.Scale(d)).Add(st.side.Scale(-sideLeg * d))
	return []start{st, turn}
}

// sideStarts comes from the waste on the right over an arc that turns right
// through the slant and ends tangent to segment i.
func (b *blade) sideStarts(c contour, i int, slant float64) []start {
	s := c.chain[i]
	at := []float64{0.5}
	if s.IsArc() {
		at = []float64{0.25, 0.5, 0.75}
		least := b.leastOf(s) / s.Length()
		want := turned(b.heading, -slant)
		sweep := float64(s.Sweep())
		f := turnBetween(s.Tangent(0), want)
		for _, turn := range [3]float64{f, f + 2*math.Pi, f - 2*math.Pi} {
			if t := turn / sweep; t > max(0.02, least) && t < min(0.98, 1-least) {
				at = append(at, t)
			}
		}
	}
	var out []start
	for _, t := range at {
		for _, r := range [2]float64{3 * b.leadRadius(), b.leadRadius()} {
			out = append(out, b.sideStart(s, station{i, t}, arcLead{slant, r})...)
		}
	}
	return out
}

// leadRadius is the smallest radius of a tangent arc.
func (b *blade) leadRadius() float64 { return math.Max(b.k.ArcMin, b.k.Offset) }

// arcLead is the tangent arc by which the tip joins a contour.
type arcLead struct{ slant, radius float64 }

// sideStart returns the start with a run-in (unless the blade is too far off
// its heading) and the one where the blade is turned in place at the arc's end.
func (b *blade) sideStart(s geom.Segment, at station, a arcLead) []start {
	join, t := s.At(at.t), s.Tangent(at.t)
	centre := join.Add(t.Left().Scale(-a.radius))
	q := centre.Add(turned(join.Sub(centre), a.slant))
	u := turned(t, a.slant)
	arc := geom.Segment{From: q, To: join, Bulge: -math.Tan(a.slant / 4)}
	st := start{at: at, slant: a.slant, toward: u, phi: turnBetween(u, b.heading)}

	turn := st
	turn.tier, turn.tip = 2, []geom.Segment{arc}
	turn.pivot = q.Add(b.heading.Scale(b.k.Offset))
	if math.Abs(st.phi) > turnMax {
		return []start{turn}
	}
	st.run = b.runIn(st.phi)
	entry := q.Add(u.Scale(-st.run))
	st.tip = []geom.Segment{{From: entry, To: q}, arc}
	st.pivot = entry.Add(u.Scale(b.k.Offset))
	return []start{st, turn}
}

// inPlace begins on the contour itself.
func (b *blade) inPlace(c contour, at station) start {
	s := c.chain[at.seg]
	t := s.Tangent(at.t)
	join := s.At(at.t)
	return start{at: at, tier: 3, toward: t, phi: turnBetween(t, b.heading), pivot: join.Add(b.heading.Scale(b.k.Offset))}
}

// tipPath samples where the tip really goes on its way to the contour, about every quarter
// offset: along the trailer's curve of the run-in, then the arc. It visits each place, and that
// of the pivot, with the length still to go to the contour, until visit says no, and reports
// whether it never did.
func (b *blade) tipPath(st start, visit func(at, pivot geom.Point, left float64) bool) bool {
	d := b.k.Offset
	total := lengthOf(st.tip)
	if st.side != (geom.Vec{}) {
		phi := turnBetween(st.side, b.heading)
		for k := 0; k < 4*sideLeg; k++ {
			far := float64(k) / 4
			p := st.pivot.Add(st.side.Scale(far * d))
			off := 2 * math.Atan(math.Tan(phi/2)*math.Exp(-far))
			if !visit(p.Add(turned(st.side, off).Scale(-d)), p, total) {
				return false
			}
		}
	}
	settled := b.settled(st)
	gone := 0.0
	for i, s := range st.tip {
		l := s.Length()
		n := int(math.Ceil(l/(d/4))) + 1
		for k := 0; k < n; k++ {
			f := float64(k) / float64(n)
			p := s.At(f)
			pivot := p.Add(s.Tangent(f).Scale(d))
			if i == 0 && st.run > 0 {
				phi := 2 * math.Atan(math.Tan(settled/2)*math.Exp(-f*l/d))
				p = pivot.Add(turned(st.toward, phi).Scale(-d))
			}
			if !visit(p, pivot, total-gone-f*l) {
				return false
			}
		}
		gone += l
	}
	return true
}

// fits reports whether the way in lies in waste: on the waste side of the own
// contour, by wasteGap where the blade goes in and less the nearer it comes, and
// wasteGap from everything else that is kept. The pivot stays on the sheet: it is what the
// machine moves, and beside the sheet there may be clamps and the end of the travel.
func (b *blade) fits(st start, c contour, p piece) bool {
	total := lengthOf(st.tip)
	if st.run == 0 && !b.swings(st) {
		return false
	}
	return b.tipPath(st, func(q, pivot geom.Point, left float64) bool {
		share := left / total
		return b.onSheet(pivot) && b.inWaste(q, c, p, wasteGap*share*share*0.9)
	})
}

// swings reports whether the pivot stays on the sheet while the blade is turned in place.
func (b *blade) swings(st start) bool {
	tip := st.pivot.Add(b.heading.Scale(-b.k.Offset))
	swing := geom.Segment{From: st.pivot, To: tip.Add(st.toward.Scale(b.k.Offset)), Bulge: math.Tan(turnBetween(b.heading, st.toward) / 4)}
	return b.onSheet(swing.Bounds().Min) && b.onSheet(swing.Bounds().Max)
}

// onSheet reports whether a point lies on the sheet by wasteGap or more.
func (b *blade) onSheet(p geom.Point) bool {
	return sheetBox(b.req).Grow(-wasteGap).Contains(p)
}

// inWaste reports whether a point beside contour c of piece p lies in waste.
func (b *blade) inWaste(q geom.Point, c contour, p piece, gap float64) bool {
	inside := c.shape.Contains(q)
	if inside != (c.layer == Opening) {
		return false
	}
	if _, d := c.shape.Nearest(q); d < gap {
		return false
	}
	if !b.onSheet(q) {
		return false
	}
	if c.layer == Outline && p.holder >= 0 && !clearInside(p.hole, q) {
		return false
	}
	for _, o := range b.pieces {
		if o.id == p.id || c.layer == Outline && p.holder >= 0 && b.pieces[p.holder].id == o.id {
			continue
		}
		if o.near.Contains(q) && !clearOutside(o.outline, q) {
			return false
		}
	}
	return true
}

// clearInside and clearOutside report whether q keeps wasteGap from a contour,
// inside or outside of it.
func clearInside(c geom.Contour, q geom.Point) bool {
	_, d := c.Nearest(q)
	return d >= wasteGap && c.Contains(q)
}

func clearOutside(c geom.Contour, q geom.Point) bool {
	_, d := c.Nearest(q)
	return d >= wasteGap && !c.Contains(q)
}

// sheetBox is the stock, sheet frame.
func sheetBox(req KnifeRequest) geom.Box {
	return geom.Box{Max: geom.Point{X: req.Sheet.Width, Y: req.Sheet.Height}}
}
