package layout

import "spotjig/layout/geom"

// Figures returns what the mark is made of, table frame: a spot's point, a line, an arc,
// or an outline's sides.
func (m Mark) Figures() []geom.Figure {
	at := geom.Point{X: m.X, Y: m.Y}
	switch m.Kind {
	case Line:
		return []geom.Figure{geom.Line(at, geom.Point{X: m.X2, Y: m.Y2})}
	case Arc:
		return []geom.Figure{geom.Arc(at, m.Radius, m.Start, m.End)}
	case Outline:
		var out []geom.Figure
		for i, p := range m.Points {
			q := m.Points[(i+1)%len(m.Points)]
			out = append(out, geom.Line(geom.Point{X: p[0], Y: p[1]}, geom.Point{X: q[0], Y: q[1]}))
		}
		return out
	}
	return []geom.Figure{geom.Dot(at)}
}

// Chain returns a line, an arc or an outline as one contour, table frame; a spot has none.
func (m Mark) Chain() geom.Contour {
	if m.Kind == Spot {
		return geom.Contour{}
	}
	if m.Kind != Outline {
		return m.Figures()[0].Chain()
	}
	var v []geom.Vertex
	for _, f := range m.Figures() {
		v = append(v, geom.Vertex{At: f.A})
	}
	return geom.MustClosed(v...)
}
