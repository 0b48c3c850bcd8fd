package nest

import "slices"

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
	laid  []laid
	full  float64 // area of the covers laid, gaps included
	maxX  int64
	maxY  int64
	next  []*tray // by the piece laid next: nil when not asked yet
}

// nowhere stands for the tray with a piece more where that has no place.
var nowhere = &tray{}

// laid is a piece on a sheet: the lower left of its box, and its turn.
type laid struct {
	item int
	x, y int64
	deg  int
	form int // its number
}

// pairsFor: with more forms than this few pairs are met twice, so that what they forbid each
// other is not worth keeping.
const pairsFor = 160

// finder finds places; it keeps its room for the next search, and counts its work.
type finder struct {
	pairs  [][]rect // what one form, laid at the origin, forbids another: a row of forms to lay for each laid
	once   []rect   // the same for two forms of too many to keep it
	found  []rect   // the places forbidden now
	edges  []uint64 // their lower edges with their numbers
	no     []rect   // the places forbidden now, by their lower edges
	active []rect   // those that a height passes through, from left to right
	ys     []int64  // the heights to try, lowest first
	work   int
}

// find returns the best place on a tray of that room for one of the forms: for that which
// has the best.
func (s *search) find(t *tray, forms []form, room size, way push) (best laid, at int, ok bool) {
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
		x, y, a, b, found := s.place(t, q, room, way, bound)
		if found && (!ok || a < s1 || a == s1 && b < s2) {
			best, at, s1, s2, ok = laid{x: x, y: y, deg: q.deg, form: q.number}, i, a, b, true
		}
	}
	return best, at, ok
}

// place returns the best place for a form, and its score: s1, then s2, smaller is better. A
// place whose s1 is more than bound (-1: none) need not be found.
func (s *search) place(t *tray, q *form, room size, way push, bound int64) (bx, by, s1, s2 int64, ok bool) {
	w, h := q.w, q.h
	maxX, maxY := room.w-q.w, room.h-q.h
	tx, ty := t.maxX, t.maxY
	if way == left {
		w, h, maxX, maxY, tx, ty = h, w, maxY, maxX, ty, tx
	}
	s.forbid(t, q, way == left, maxX, maxY)
	s.ys = append(s.ys[:0], 0)
	for _, n := range s.no {
		if y := n.y + n.h; y > 0 && y <= maxY {
			s.ys = append(s.ys, y)
		}
	}
	slices.Sort(s.ys)
	s.active = s.active[:0]
	next := 0
	for i, y := range s.ys {
		if i > 0 && y == s.ys[i-1] {
			continue
		}
		if way != corner && (ok || bound >= 0 && y+h > bound) {
			break
		}
		next = s.rise(y, next)
		x := s.leftmost()
		if x > maxX {
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

// An edge and its number are sorted as one word: the height, raised so that it is not below
// nothing on any sheet, above so many bits of the number.
const (
	edgeZero = 1 << 40
	edgeBits = 22
)

// forbid lists the places from the origin to (maxX, maxY) that the tray forbids a form, by
// their lower edges; across and up exchanged when swapped.
func (s *search) forbid(t *tray, q *form, swapped bool, maxX, maxY int64) {
	s.found, s.edges = s.found[:0], s.edges[:0]
	for _, l := range t.laid {
		for _, n := range s.between(l.form, q) {
			n.x, n.y = n.x+l.x, n.y+l.y
			if swapped {
				n = rect{n.y, n.x, n.h, n.w}
			}
			if n.x+n.w > 0 && n.y+n.h > 0 && n.x < maxX && n.y < maxY {
				s.edges = append(s.edges, uint64(n.y+edgeZero)<<edgeBits|uint64(len(s.found)))
				s.found = append(s.found, n)
			}
		}
	}
	slices.Sort(s.edges)
	s.no = s.no[:0]
	for _, e := range s.edges {
		s.no = append(s.no, s.found[e&(1<<edgeBits-1)])
	}
	s.work += 4 * len(s.no)
}

// between is what a form that is laid at the origin forbids another: an open rectangle
// of places for each two rectangles of their covers, without those that lie in others.
func (s *search) between(laid int, q *form) []rect {
	if len(s.numbered) > pairsFor {
		s.once = s.once[:0]
		for _, b := range s.numbered[laid].boxes {
			for _, o := range q.boxes {
				s.once = append(s.once, apart(b, o))
			}
		}
		return s.once
	}
	if s.pairs == nil {
		s.pairs = make([][]rect, len(s.numbered)*len(s.numbered))
	}
	kept := &s.pairs[laid*len(s.numbered)+q.number]
	if *kept != nil {
		return *kept
	}
	var out []rect
	for _, b := range s.numbered[laid].boxes {
		for _, o := range q.boxes {
			n := apart(b, o)
			if !slices.ContainsFunc(out, func(r rect) bool { return r.holds(n) }) {
				out = append(slices.DeleteFunc(out, n.holds), n)
			}
		}
	}
	s.work += 8 * len(out)
	*kept = out
	return out
}

// apart is the open rectangle of places of a form at which one of its rectangles overlaps
// one that is laid.
func apart(laid, next rect) rect {
	return rect{laid.x - next.x - next.w, laid.y - next.y - next.h, laid.w + next.w, laid.h + next.h}
}

// rise brings the active rectangles up to the height y: those of s.no before next were
// met below. It returns the next to be met.
func (s *search) rise(y int64, next int) int {
	on := s.active[:0]
	for _, n := range s.active {
		if n.y+n.h > y {
			on = append(on, n)
		}
	}
	for ; next < len(s.no) && s.no[next].y < y; next++ {
		n := s.no[next]
		if n.y+n.h <= y {
			continue
		}
		on = append(on, n)
		i := len(on) - 1
		for ; i > 0 && on[i-1].x > n.x; i-- {
			on[i] = on[i-1]
		}
		on[i] = n
	}
	s.active = on
	s.work += len(on)
	return next
}

// leftmost is the least x, from 0, that is free at the height of the active rectangles.
func (s *search) leftmost() int64 {
	x := int64(0)
	for i := range s.active {
		n := &s.active[i]
		if n.x >= x {
			break // all that are left begin no further left than x
		}
		x = max(x, n.x+n.w)
	}
	return x
}

// put is the tray with a form laid on it. What had no place has none still.
func (t *tray) put(l laid, q *form, area float64) *tray {
	out := &tray{stock: t.stock, way: t.way, full: t.full + area,
		laid: append(append(make([]laid, 0, len(t.laid)+1), t.laid...), l),
		maxX: max(t.maxX, l.x+q.w), maxY: max(t.maxY, l.y+q.h)}
	out.next = make([]*tray, len(t.next))
	for it, next := range t.next {
		if next == nowhere {
			out.next[it] = nowhere
		}
	}
	return out
}
