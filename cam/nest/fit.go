package nest

import (
	"cmp"
	"slices"
)

// How a place is found
//
// A piece lies at (x, y) of its box. Each pair of a rectangle already laid and one of
// the piece's own forbids an open rectangle of places: those where the two would
// overlap. The free places are what is left of the sheet. The piece is pushed as far
// down as it goes and then as far left, or first left and then down: its place is then
// at the foot or the left of the sheet or on the upper or right edge of something
// forbidden, so only those are tried.

// push is the way pieces are pushed.
type push int

const (
	down   push = iota // lowest upper edge, then leftmost
	left               // leftmost right edge, then lowest
	corner             // smallest rectangle from the corner, then lowest
)

// tray is a sheet with pieces on it. It does not change: a piece more makes another.
type tray struct {
	stock int
	way   push
	boxes []rect
	laid  []laid
	full  float64 // area of the covers laid, gaps included
	maxX  int64
	maxY  int64
	next  []*tray // by the piece laid next, as far as asked; nil: no place
	asked []bool
}

// laid is a piece on a sheet: the lower left of its box, and its turn.
type laid struct {
	item int
	x, y int64
	deg  int
}

// finder finds places; it keeps its room for the next search, and counts its work.
type finder struct {
	no   []rect
	ys   []int64
	work int
}

// find returns the best place for one of the forms on a tray of that room.
func (f *finder) find(t *tray, forms []form, room size, way push) (best laid, at int, ok bool) {
	var s1, s2 int64
	for i := range forms {
		q := &forms[i]
		if q.w > room.w || q.h > room.h {
			continue
		}
		bound := int64(-1)
		if ok {
			bound = s1
		}
		x, y, a, b, found := f.place(t, q, room, way, bound)
		if found && (!ok || a < s1 || a == s1 && b < s2) {
			best, at, s1, s2, ok = laid{x: x, y: y, deg: q.deg}, i, a, b, true
		}
	}
	return best, at, ok
}

// place returns the best place for a form, and its score, smaller is better. What
// scores more than bound (-1: none) need not be looked for.
func (f *finder) place(t *tray, q *form, room size, way push, bound int64) (bx, by, s1, s2 int64, ok bool) {
	f.forbid(t, q, way == left)
	w, h := q.w, q.h
	maxX, maxY := room.w-q.w, room.h-q.h
	tx, ty := t.maxX, t.maxY
	if way == left {
		w, h, maxX, maxY, tx, ty = h, w, maxY, maxX, ty, tx
	}
	f.ys = append(f.ys[:0], 0)
	for _, n := range f.no {
		if y := n.y + n.h; y > 0 && y <= maxY {
			f.ys = append(f.ys, y)
		}
	}
	slices.Sort(f.ys)
	for i, y := range f.ys {
		if i > 0 && y == f.ys[i-1] {
			continue
		}
		if way != corner && (ok || bound >= 0 && y+h > bound) {
			break
		}
		x := f.leftmost(y, maxX)
		if x < 0 {
			continue
		}
		a, b := y+h, x
		if way == corner {
			a, b = (max(tx, x+w)/1000)*(max(ty, y+h)/1000), y
		}
		if !ok || a < s1 || a == s1 && b < s2 {
			bx, by, s1, s2, ok = x, y, a, b, true
		}
	}
	if way == left {
		bx, by = by, bx
	}
	return bx, by, s1, s2, ok
}

// forbid lists the places that the tray forbids a form, from left to right; across
// and up exchanged when swapped.
func (f *finder) forbid(t *tray, q *form, swapped bool) {
	f.no = f.no[:0]
	for _, b := range t.boxes {
		for _, o := range q.boxes {
			n := rect{b.x - o.x - o.w, b.y - o.y - o.h, b.w + o.w, b.h + o.h}
			if swapped {
				n = rect{n.y, n.x, n.h, n.w}
			}
			if n.x+n.w > 0 && n.y+n.h > 0 {
				f.no = append(f.no, n)
			}
		}
	}
	slices.SortFunc(f.no, func(a, b rect) int { return cmp.Compare(a.x, b.x) })
	f.work += 4 * len(f.no)
}

// leftmost is the least x from 0 to maxX that is free at the height y; -1 when none is.
func (f *finder) leftmost(y, maxX int64) int64 {
	x := int64(0)
	for i := range f.no {
		n := &f.no[i]
		if n.x >= x {
			f.work += i // all that are left begin no further left than x
			return x
		}
		if n.y < y && y < n.y+n.h && x < n.x+n.w {
			if x = n.x + n.w; x > maxX {
				f.work += i
				return -1
			}
		}
	}
	f.work += len(f.no)
	return x
}

// put is the tray with a form laid on it.
func (t *tray) put(l laid, q *form, area float64) *tray {
	out := &tray{stock: t.stock, way: t.way, full: t.full + area,
		boxes: slices.Grow(slices.Clone(t.boxes), len(q.boxes)),
		laid:  append(slices.Clone(t.laid), l),
		maxX:  max(t.maxX, l.x+q.w), maxY: max(t.maxY, l.y+q.h)}
	for _, b := range q.boxes {
		out.boxes = append(out.boxes, rect{b.x + l.x, b.y + l.y, b.w, b.h})
	}
	return out
}
