package layout

import "math"

// spread fills in how far each mark moved from the ideal rectangle and the
// plus-minus the tape gives it.
//
// The ideal rectangle has the same length along the centre line and the same
// width at its middle. The plus-minus comes from placing every mark again with
// each error of the table by itself (Table.Spread) and adding the movements as
// squares: it is what the survey leaves open, not what marking adds.
func (r Request) spread(marks []Mark, house []houseMark) {
	ideal := r.Table
	ideal.Corners = [4][2]float64{}
	for i, m := range r.marks(ideal, house) {
		marks[i].MovedX, marks[i].MovedY = furthest(m, marks[i])
	}
	for _, e := range r.Table.spreads() {
		t := r.Table.moved(e)
		for i, m := range r.marks(t, house) {
			dx, dy := furthest(marks[i], m)
			marks[i].TapeX = math.Hypot(marks[i].TapeX, dx)
			marks[i].TapeY = math.Hypot(marks[i].TapeY, dy)
		}
	}
}

// spreads are the table's independent errors. A table given by length and width
// alone has the tape's resolution in each.
func (t Table) spreads() [][4][2]float64 {
	if len(t.Spread) > 0 || t.TapePM == 0 {
		return t.Spread
	}
	p, h := t.TapePM, t.TapePM/2
	return [][4][2]float64{
		{{0, 0}, {p, 0}, {p, 0}, {0, 0}},
		{{0, -h}, {0, -h}, {0, h}, {0, h}},
	}
}

// moved returns the table with its corners moved.
func (t Table) moved(by [4][2]float64) Table {
	if t.Corners == ([4][2]float64{}) {
		t.Corners = rectangle(t.L, t.W)
	}
	for i := range t.Corners {
		t.Corners[i][0] += by[i][0]
		t.Corners[i][1] += by[i][1]
	}
	t.L, t.W = spanned(t.Corners)
	return t
}

// spanned returns the length of the centre line, nose to nose, and the width at
// its middle, parallel to the head nose.
func spanned(corners [4][2]float64) (l, w float64) {
	g := groundOf(Table{Corners: corners}, Balls{})
	x := g.footX()
	return math.Hypot(x, g.centre.of(x)-g.centre.of(0)), g.left.of(x/2) - g.right.of(x/2)
}

// places returns the places that fix a mark: a spot, a centre, the ends of a
// line, the corners of an outline.
func (m Mark) places() [][2]float64 {
	switch m.Kind {
	case Line:
		return [][2]float64{{m.X, m.Y}, {m.X2, m.Y2}}
	case Outline:
		return m.Points
	}
	return [][2]float64{{m.X, m.Y}}
}

// furthest returns the largest movement along and across between the places of
// one mark and of the same mark elsewhere, with its sign.
func furthest(from, to Mark) (dx, dy float64) {
	a, b := from.places(), to.places()
	for i := range a {
		if x := b[i][0] - a[i][0]; math.Abs(x) > math.Abs(dx) {
			dx = x
		}
		if y := b[i][1] - a[i][1]; math.Abs(y) > math.Abs(dy) {
			dy = y
		}
	}
	return dx, dy
}
