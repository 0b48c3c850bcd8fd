package layout

import "math"

// spread fills in how far each mark moved from the ideal rectangle and the
// plus-minus the tape gives it.
//
// The ideal rectangle has the same length along the centre line and the same
// width at its middle. The plus-minus comes from placing every mark again with
// each error of the table by itself (Table.Spread) and adding the movements as
// squares: it is what the survey leaves open, not what marking adds. How a mark follows
// the length comes from placing it on a table that is longer, by the same rules.
func (r Request) spread(marks []Mark, house []houseMark) {
	ideal := r.Table
	ideal.Corners = [4][2]float64{}
	for i, m := range r.marks(ideal, house) {
		marks[i].MovedX, marks[i].MovedY = furthest(m, marks[i])
	}
	for i, m := range r.marks(r.Table.moved(longer), house) {
		marks[i].GrowsR = (m.Radius - marks[i].Radius) / longerBy
		for k, to := range m.places() {
			at := marks[i].places()[k]
			marks[i].Grows = append(marks[i].Grows, [2]float64{(to[0] - at[0]) / longerBy, (to[1] - at[1]) / longerBy})
		}
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

// longer moves the foot nose by longerBy, mm: rules are sums of shares of the length, so
// that any step tells them; one as large as tables differ rounds least.
var longer = [4][2]float64{{}, {longerBy, 0}, {longerBy, 0}, {}}

const longerBy = 10.0

// alike is the range of length in which the marks follow the rules that they follow here:
// a figure that a rule body states for one size of table stands on that size alone, and
// beyond its tolerance, or inside that of another size, the mark goes by another rule. What
// lies between two sizes ends short of them: on the limit itself the figure stands. Nor does
// it reach to where one mark of two rules would be two, which is so much longer or shorter.
func (r Request) alike(parts float64) (lo, hi float64) {
	l, w := r.Table.L, r.Table.W
	parts = math.Floor(parts/shortOf+1e-6) * shortOf
	lo, hi = math.Max(surfaceMin, l-parts), math.Min(surfaceMax, l+parts)
	for _, id := range r.Games {
		gm, _ := gameNamed(id)
		for _, v := range gm.Values {
			for _, f := range v.Fixed {
				if f.Except != "" && f.Except == r.Choices.pick(v.By) || !near(w, f.On.W, f.On.TolW+sizeTol) {
					continue
				}
				from, to := f.On.L-f.On.TolL, f.On.L+f.On.TolL
				switch {
				case f.On.holds(l, w):
					lo, hi = math.Max(lo, from), math.Min(hi, to)
				case l < from:
					hi = math.Min(hi, math.Max(l, from-shortOf))
				default:
					lo = math.Max(lo, math.Min(l, to+shortOf))
				}
			}
		}
	}
	return lo, hi
}

// shortOf is the step in which lengths are told, mm.
const shortOf = 0.1

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
