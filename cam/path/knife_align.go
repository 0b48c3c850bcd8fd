package path

import (
	"fmt"
	"math"

	"spotjig/layout/geom"
)

// The blade's heading is unknown when a program begins. Two legs at right angles
// bring it round. One leg alone leaves a blade that starts the wrong way round
// where it is, an unstable rest; two leave but one bad heading between them,
// that which the first leg turns exactly against the second. With a first leg
// of ln(3.297) d that heading is 146.25 degrees from the first leg, off every
// multiple of 22.5; from a degree beside it the second leg, 14 d, still brings
// the blade to within 0.01 degrees. Derived from tan(phi/2) falling as exp(-s/d).
const (
	alignFirst  = 1.193
	alignSecond = 14.0
	// alignStep: how finely a place for the two legs is looked for, mm.
	alignStep = 2.0
	// alignTries bounds the search on a large sheet.
	alignTries = 200000
)

// align writes the first operation, which brings the blade to a known heading
// in the waste, as near the start as there is room.
func (b *blade) align() error {
	c := contour{layer: Score, part: "waste", feature: "align", setting: b.req.Material.Score}
	if !(c.setting.Depth < 0 && c.setting.Feed > 0) {
		c.setting = b.req.Material.Cut
	}
	c.setting.Passes = 1
	d := b.k.Offset
	corner, along, ok := b.alignPlace()
	if !ok {
		return fmt.Errorf("%w: no room in the waste of sheet %d to bring the blade round: %.1f x %.1f mm are needed beside the parts",
			ErrKnife, b.req.Sheet.N, alignSecond*d+2*d, alignFirst*d+2*d)
	}
	across := along.Left()
	b.heading = across
	t := b.open(c, 1, corner.Add(across.Scale(-alignFirst*d)))
	t.setZ(t.depth)
	t.run(corner, across)
	t.run(corner.Add(along.Scale(alignSecond*d)), along)
	b.close(t, c, 1, [2]int{})
	return nil
}

// alignPlace finds the corner of the two legs and the direction of the long one:
// along an edge of the stock if one is free, else anywhere; nearest the start
// first.
func (b *blade) alignPlace() (geom.Point, geom.Vec, bool) {
	box := sheetBox(b.req)
	dirs := [4]geom.Vec{{X: 1}, {Y: 1}, {X: -1}, {Y: -1}}
	step := alignStep
	if n := box.Width() * box.Height() / (step * step); n > alignTries {
		step *= math.Sqrt(n / alignTries)
	}
	var best geom.Point
	var dir geom.Vec
	low := math.Inf(1)
	for y := box.Min.Y; y <= box.Max.Y; y += step {
		for x := box.Min.X; x <= box.Max.X; x += step {
			p := geom.Point{X: x, Y: y}
			far := geom.Millionth(p.Dist(b.at))
			if far >= low {
				continue
			}
			for _, u := range dirs {
				if far < low && b.alignFits(p, u) {
					best, dir, low = p, u, far
				}
			}
		}
	}
	return best, dir, !math.IsInf(low, 1)
}

// alignFits reports whether everything the tip may reach from the two legs is
// in the sheet and clear of all parts.
func (b *blade) alignFits(corner geom.Point, along geom.Vec) bool {
	d := b.k.Offset
	across := along.Left()
	room := geom.EmptyBox()
	for _, p := range [3]geom.Point{corner, corner.Add(along.Scale(alignSecond * d)), corner.Add(across.Scale(-alignFirst * d))} {
		room = room.Union(geom.EmptyBox().Include(p).Grow(d + wasteGap))
	}
	if !sheetBox(b.req).Holds(room) {
		return false
	}
	edge := geom.Rect(room)
	for _, q := range b.pieces {
		if !room.Overlaps(q.outline.Bounds()) {
			continue
		}
		if q.outline.Contains(room.Center()) || room.Contains(q.outline.Start()) || touches(edge, q.outline) {
			return false
		}
	}
	return true
}

// touches reports whether a rectangle's edge comes within a step of its own
// sampling of a contour: on the safe side, it may say so of near misses.
func touches(edge, c geom.Contour) bool {
	const step = 0.5
	for _, s := range edge.Segments() {
		n := int(math.Ceil(s.Length() / step))
		for i := 0; i < n; i++ {
			if _, d := c.Nearest(s.At(float64(i) / float64(n))); d < step {
				return true
			}
		}
	}
	return false
}
