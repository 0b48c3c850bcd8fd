package jig

import (
	"fmt"
	"math"

	"spotjig/layout"
	"spotjig/layout/geom"
)

// cover records how much of one line or arc a template's slots reach, as
// intervals of distance along it: of every piece, and where a pen gets through.
type cover struct {
	e    element
	on   map[*piece][]span
	done []span
}

// openMarks cuts every element into the pieces that lie under it: spot holes
// first, then slots for lines and arcs between everything that must keep its
// web: edges, sockets, holes, fin slots and other slots. Inside tells whether a
// point lies in a piece, at least keep from what bounds it.
func openMarks(tp *template, lim limits, inside func(p *piece, q geom.Point, keep float64) bool) {
	for _, e := range tp.elements {
		if e.kind != layout.Spot {
			continue
		}
		for _, p := range tp.pieces {
			if inside(p, e.a, lim.web+lim.hole-1e-6) {
				p.openings = append(p.openings, Opening{ID: e.mark, Kind: OpenSpot, Mark: e.mark, C: e.a, R: round3(lim.hole)})
				tp.covered = append(tp.covered, cover{e: e})
				break
			}
		}
	}
	for _, e := range tp.elements {
		if e.kind == layout.Spot {
			continue
		}
		c := cover{e: e, on: map[*piece][]span{}}
		for _, p := range tp.pieces {
			if e.bounds().Grow(1).Overlaps(p.outline.Bounds()) {
				c.on[p] = slots(tp, p, e, lim, inside)
				c.done = append(c.done, c.on[p]...)
			}
		}
		tp.covered = append(tp.covered, c)
	}
}

// slots cuts one element into one piece and returns the intervals covered.
func slots(tp *template, p *piece, e element, lim limits, inside func(p *piece, q geom.Point, keep float64) bool) []span {
	keep := lim.web + lim.slot/2
	solid := obstacles(tp, p, keep, lim)
	ok := func(s float64) bool {
		q := e.point(s)
		return clearOf(solid, q) && inside(p, q, keep)
	}
	var out []span
	for _, run := range runs(e.length(), ok) {
		for _, s := range lim.bridged(run, e) {
			p.openings = append(p.openings, slotFor(p, e, s, lim))
			out = append(out, s)
		}
	}
	return out
}

// clearOf reports whether a point keeps its distance from every obstacle.
func clearOf(solid []obstacle, q geom.Point) bool {
	for _, o := range solid {
		if o.dist(q) < o.keep {
			return false
		}
	}
	return true
}

// obstacle is something a slot keeps away from: a circle, capsule or box.
type obstacle struct {
	seg  geom.Segment
	box  *geom.Box
	arc  *Opening
	keep float64
}

func (o obstacle) dist(p geom.Point) float64 {
	switch {
	case o.box != nil:
		return boxDist(*o.box, p)
	case o.arc != nil:
		return arcDist(*o.arc, p)
	case o.seg.From == o.seg.To:
		return p.Dist(o.seg.From)
	}
	_, d := o.seg.Nearest(p)
	return d
}

// arcDist is the distance from a point to an arc slot's centreline.
func arcDist(o Opening, p geom.Point) float64 {
	v := p.Sub(o.C)
	deg := math.Atan2(v.Y, v.X) * 180 / math.Pi
	for deg < o.StartDeg {
		deg += 360
	}
	if deg <= o.EndDeg {
		return math.Abs(v.Len() - o.R)
	}
	at := func(a float64) geom.Point {
		s, c := math.Sincos(a * math.Pi / 180)
		return geom.Point{X: o.C.X + o.R*c, Y: o.C.Y + o.R*s}
	}
	return math.Min(p.Dist(at(o.StartDeg)), p.Dist(at(o.EndDeg)))
}

// obstacles lists what the piece's slots keep away from.
func obstacles(tp *template, p *piece, keep float64, lim limits) []obstacle {
	var out []obstacle
	for i := range p.openings {
		o := p.openings[i]
		switch o.Kind {
		case OpenSlot, OpenFin:
			out = append(out, obstacle{seg: geom.Segment{From: o.From, To: o.To}, keep: keep + o.Width/2})
		case OpenArc:
			out = append(out, obstacle{arc: &p.openings[i], keep: keep + o.Width/2})
		default:
			out = append(out, obstacle{seg: geom.Segment{From: o.C, To: o.C}, keep: keep + o.R})
		}
	}
	for _, j := range tp.joints {
		if j.other != p {
			continue
		}
		for _, t := range j.tails {
			t.neck += 2 * lim.flank * math.Hypot(1, 1/tailSlope)
			t.long += lim.toe
			b := j.box(j.owner, t)
			out = append(out, obstacle{box: &b, keep: keep})
		}
	}
	for i := range p.busy {
		out = append(out, obstacle{box: &p.busy[i], keep: lim.slot/2 + 1})
	}
	return out
}

const (
	runStep  = 1.0   // how finely an element is walked for free intervals, mm
	runTol   = 0.002 // to what its ends are then found
	runLeast = 3.0   // shorter slots are not cut
)

// runs returns the intervals of [0, length] where ok holds, ends on the safe side.
func runs(length float64, ok func(float64) bool) []span {
	n := int(math.Ceil(length / runStep))
	at := func(i int) float64 { return length * float64(i) / float64(n) }
	edge := func(bad, good float64) float64 {
		for math.Abs(good-bad) > runTol {
			if m := (bad + good) / 2; ok(m) {
				good = m
			} else {
				bad = m
			}
		}
		return good
	}
	var out []span
	in := false
	var lo float64
	for i := 0; i <= n; i++ {
		good := ok(at(i))
		switch {
		case good && !in:
			lo = at(i)
			if i > 0 {
				lo = edge(at(i-1), at(i))
			}
			in = true
		case !good && in:
			out = append(out, span{lo, edge(at(i), at(i-1))})
			in = false
		}
	}
	if in {
		out = append(out, span{lo, length})
	}
	return out
}

// bridged breaks a run into slots no longer than slotMax with a web between,
// measured straight across, which on an arc is less than along it.
func (lim limits) bridged(run span, e element) []span {
	l := run.hi - run.lo
	if l < runLeast {
		return nil
	}
	gap := lim.web + lim.slot
	if e.kind == layout.Arc {
		gap = 2 * e.r * math.Asin(math.Min(1, gap/2/e.r))
	}
	n := int(math.Ceil((l + gap) / (lim.slotMax + gap)))
	each := (l - gap*float64(n-1)) / float64(n)
	var out []span
	for i := 0; i < n; i++ {
		lo := run.lo + float64(i)*(each+gap)
		out = append(out, span{lo, lo + each})
	}
	return out
}

// slotFor makes the opening for an interval of an element.
func slotFor(p *piece, e element, s span, lim limits) Opening {
	n := 1
	for _, o := range p.openings {
		if o.Mark == e.mark {
			n++
		}
	}
	o := Opening{ID: fmt.Sprintf("%s/%d", e.mark, n), Mark: e.mark, Width: round3(lim.slot)}
	if e.kind == layout.Line {
		o.Kind, o.From, o.To = OpenSlot, e.point(s.lo), e.point(s.hi)
		return o
	}
	o.Kind, o.C, o.R = OpenArc, e.a, e.r
	o.StartDeg = e.start + s.lo/e.r*180/math.Pi
	o.EndDeg = e.start + s.hi/e.r*180/math.Pi
	return o
}
