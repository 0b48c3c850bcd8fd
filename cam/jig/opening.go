package jig

import (
	"fmt"
	"math"

	"spotjig/layout/geom"
)

// cover records how much of one line or arc a template's slots reach, as
// intervals of distance along it: of every piece, and where a pen gets through.
type cover struct {
	Of   Element
	On   map[*Piece][]Span
	Done []Span
}

// OpenMarks cuts every element into the pieces that lie under it: spot holes
// first, then slots for lines and arcs between everything that must keep its
// web: edges, sockets, holes, fin slots and other slots. Inside tells whether a
// point lies in a piece, at least keep from what bounds it.
func OpenMarks(tp *Template, lim Limits, inside func(p *Piece, q geom.Point, keep float64) bool) {
	for _, e := range tp.Elements {
		if !e.IsDot() {
			continue
		}
		for _, p := range tp.Pieces {
			if inside(p, e.A, lim.Web+lim.Hole-1e-6) {
				p.openSpot(e, lim)
				tp.Covered = append(tp.Covered, cover{Of: e})
				break
			}
		}
	}
	for _, e := range tp.Elements {
		if e.IsDot() {
			continue
		}
		c := cover{Of: e, On: map[*Piece][]Span{}}
		for _, p := range tp.Pieces {
			if e.Bounds().Grow(1).Overlaps(p.Outline.Bounds()) {
				c.On[p] = slots(tp, p, e, lim, inside)
				c.Done = append(c.Done, c.On[p]...)
			}
		}
		tp.Covered = append(tp.Covered, c)
	}
}

// openSpot makes a spot's hole. Where another spot's leaves no web beside it the two become
// one opening, from spot to spot, in whose ends the tool stands as in their holes.
func (p *Piece) openSpot(e Element, lim Limits) {
	wide := 2 * Round3(lim.Hole)
	for i, o := range p.Openings {
		if o.Kind == OpenSpot && o.A.Dist(e.A) < wide+lim.Web-validTol {
			p.Openings[i] = Opening{ID: o.Mark + "+" + e.mark, Kind: OpenPair, Mark: o.Mark, Far: e.mark, Figure: geom.Line(o.A, e.A), Width: wide}
			return
		}
	}
	p.Openings = append(p.Openings, Opening{ID: e.mark, Kind: OpenSpot, Mark: e.mark, Figure: e.Figure, Width: wide})
}

// slots cuts one element into one piece and returns the intervals covered.
func slots(tp *Template, p *Piece, e Element, lim Limits, inside func(p *Piece, q geom.Point, keep float64) bool) []Span {
	keep := lim.Web + lim.Slot/2
	solid := obstacles(tp, p, keep, lim)
	middle, to := tp.ruled(e, lim)
	ok := func(s float64) bool {
		q := middle.At(s)
		return clearOf(solid, q) && inside(p, q, keep)
	}
	k := e.Length() / middle.Length()
	var out []Span
	for _, run := range lim.opened(Runs(middle.Length(), ok), middle) {
		for _, s := range lim.bridged(run, middle) {
			o := slotFor(p, middle, s, lim)
			p.Openings = append(p.Openings, o)
			p.Scores = append(p.Scores, dash(o, to))
			out = append(out, Span{s.Lo * k, s.Hi * k})
		}
	}
	return out
}

// ruled is what the middle of an element's slots runs along, and the unit vector towards
// their true edge, none for an arc, where it is the outer. A marker is ruled along that
// edge with its guide against it, so that the mark lies half a guide off the edge and
// the slot's width does not matter. The edge is the one towards the template's own nose:
// leaning on it pushes the template home. Of a line along the table it is the one towards
// the right side as seen from the head, in both templates.
func (tp *Template) ruled(e Element, lim Limits) (Element, geom.Vec) {
	if e.IsArc() {
		e.Radius -= lim.Aside
		return e, geom.Vec{}
	}
	to := tp.trueSide(e)
	by := to.Scale(-lim.Aside)
	e.A, e.B = e.A.Add(by), e.B.Add(by)
	return e, to
}

// trueSide is the unit vector from a line towards its true edge.
func (tp *Template) trueSide(e Element) geom.Vec {
	n := e.B.Sub(e.A).Unit().Left()
	away := n.X
	if e.lengthwise() {
		away = tp.ToTable.Rotate(n).Y
	}
	if away > 0 {
		return n.Scale(-1)
	}
	return n
}

// A scored dash lies beside the true edge of every slot, mm from it and long.
const (
	dashOff  = 2.0
	dashLong = 12.0
)

// dash is the scored dash beside a slot's true edge.
func dash(o Opening, to geom.Vec) geom.Contour {
	at, off := o.Middle(), o.Width/2+dashOff
	if o.IsArc() {
		to = at.Sub(o.A).Unit()
	}
	at = at.Add(to.Scale(off))
	half := to.Left().Scale(math.Min(dashLong, o.Length()/2) / 2)
	return Stroke(at.Add(half.Scale(-1)), at.Add(half))
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

// obstacle is something a slot keeps away from: what an opening runs along, or a box.
type obstacle struct {
	of   geom.Figure
	box  *geom.Box
	keep float64
}

func (o obstacle) dist(p geom.Point) float64 {
	if o.box != nil {
		return BoxDist(*o.box, p)
	}
	return o.of.Dist(p)
}

// obstacles lists what the piece's slots keep away from.
func obstacles(tp *Template, p *Piece, keep float64, lim Limits) []obstacle {
	var out []obstacle
	for _, o := range p.Openings {
		out = append(out, obstacle{of: o.Figure, keep: keep + o.Width/2})
	}
	for _, j := range tp.Seams {
		if j.Owner == p {
			for _, t := range j.Tails {
				if t.Keyed != nil {
					b := j.NotchBox(p, t)
					out = append(out, obstacle{box: &b, keep: keep})
				}
			}
		}
		if j.Other != p {
			continue
		}
		for _, t := range j.Tails {
			t.Neck += 2 * lim.Flank * math.Hypot(1, 1/TailSlope)
			t.Long += lim.Toe
			b := j.TailBox(j.Owner, t)
			out = append(out, obstacle{box: &b, keep: keep})
		}
	}
	for i := range p.Busy {
		out = append(out, obstacle{box: &p.Busy[i], keep: lim.Slot/2 + 1})
	}
	return out
}

const (
	runStep  = 1.0   // how finely an element is walked for free intervals, mm
	runTol   = 0.002 // to what its ends are then found
	runLeast = 3.0   // shorter slots are not cut
)

// Runs returns the intervals of [0, length] where ok holds; it holds at
// their very ends too.
func Runs(length float64, ok func(float64) bool) []Span {
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
	var out []Span
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
			out = append(out, Span{lo, edge(at(i), at(i-1))})
			in = false
		}
	}
	if in {
		out = append(out, Span{lo, length})
	}
	return out
}

// bridge is what two slots of an element keep between the ends of their centrelines: a
// web, measured straight across, which on an arc is less than along it.
func (lim Limits) bridge(e Element) float64 {
	gap := lim.Web + lim.Slot
	if e.IsArc() {
		gap = 2 * e.Radius * math.Asin(math.Min(1, gap/2/e.Radius))
	}
	return gap
}

// opened leaves a bridge between the free runs of an element, whatever short thing parts
// them, and one where a circle begins and ends, when it is free on both sides: a full one,
// or an arc so nearly full that its ends are less than that apart.
func (lim Limits) opened(runs []Span, e Element) []Span {
	n, bridge := len(runs), lim.bridge(e)
	for i := 1; i < n; i++ {
		if short := bridge - (runs[i].Lo - runs[i-1].Hi); short > 0 {
			runs[i-1].Hi -= short / 2
			runs[i].Lo += short / 2
		}
	}
	if n > 0 && e.IsArc() {
		beyond := math.Max(0, 2*math.Pi*e.Radius-e.Length()) // from the arc's end round to its beginning
		if short := bridge - (runs[0].Lo + e.Length() - runs[n-1].Hi) - beyond; short > 0 {
			runs[0].Lo += short / 2
			runs[n-1].Hi -= short / 2
		}
	}
	return runs
}

// bridged breaks a run into slots no longer than slotMax with a bridge between.
func (lim Limits) bridged(run Span, e Element) []Span {
	l := run.Hi - run.Lo
	if l < runLeast {
		return nil
	}
	gap := lim.bridge(e)
	n := int(math.Ceil((l + gap) / (lim.slotMax + gap)))
	each := (l - gap*float64(n-1)) / float64(n)
	var out []Span
	for i := 0; i < n; i++ {
		lo := run.Lo + float64(i)*(each+gap)
		out = append(out, Span{lo, lo + each})
	}
	return out
}

// slotFor makes the opening for an interval of an element.
func slotFor(p *Piece, e Element, s Span, lim Limits) Opening {
	n := 1
	for _, o := range p.Openings {
		if o.Mark == e.mark {
			n++
		}
	}
	o := Opening{ID: fmt.Sprintf("%s/%d", e.mark, n), Kind: OpenSlot, Mark: e.mark, Figure: e.Part(s.Lo, s.Hi), Width: lim.Slot}
	if e.IsArc() {
		o.Kind = OpenArc
	}
	return o
}
