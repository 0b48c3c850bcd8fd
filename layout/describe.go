package layout

import (
	"math"

	"spotjig/layout/figure"
)

// describe fills in, for people, where each mark is measured from.
func describe(marks []Mark, g ground) {
	for i := range marks {
		m := &marks[i]
		x, y := m.X, m.Y
		if m.Kind == Outline && len(m.Points) > 0 {
			x, y = m.Points[0][0], m.Points[0][1]
		}
		m.FromHead = figure.Length(x) + " from the head nose"
		m.FromFoot = figure.Length(g.fromFoot(x, y)) + " from the foot nose"
		m.Across = across(*m, g)
	}
}

// across says where a mark lies across the table.
func across(m Mark, g ground) string {
	switch m.Kind {
	case Line:
		a, b := side(m.Y-g.centre.of(m.X)), side(m.Y2-g.centre.of(m.X2))
		right := near(m.Y, g.right.of(m.X), mergeTol) && near(m.Y2, g.left.of(m.X2), mergeTol)
		switch {
		case right:
			return "from nose to nose"
		case a == b:
			return a
		}
		return "from " + a + " to " + b
	case Outline:
		lo, hi := math.Inf(1), math.Inf(-1)
		for _, p := range m.Points {
			d := p[1] - g.centre.of(p[0])
			lo, hi = math.Min(lo, d), math.Max(hi, d)
		}
		return "from " + side(lo) + " to " + side(hi)
	}
	return side(m.Y - g.centre.of(m.X))
}

// side says how far a place is from the centre line.
func side(d float64) string {
	switch {
	case near(d, 0, mergeTol):
		return "on the centre line"
	case d > 0:
		return figure.Length(d) + " left of the centre line"
	}
	return figure.Length(-d) + " right of the centre line"
}
