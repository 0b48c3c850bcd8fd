package jig

import "spotjig/layout/geom"

// FlatParts turns a template's pieces into parts in their own frames.
func FlatParts(tp *Template) []Part {
	var out []Part
	for _, p := range tp.Pieces {
		b := p.Outline.Bounds()
		to := geom.Placement{X: -b.Min.X, Y: -b.Min.Y}
		part := Part{ID: p.ID, Template: tp.End, Role: p.Role, Outline: p.Outline.Transform(to).Canonical(), Text: p.Text, Scale: 1,
			Scores: geom.Moved(p.Scores, to), Letters: geom.Moved(p.Letters, to), NoStart: geom.Moved(p.NoStart, to), Seams: geom.Moved(p.Jointed, to)}
		for _, o := range p.Openings {
			part.Openings = append(part.Openings, o.moved(to))
		}
		at := tp.ToTable.Apply(b.Min)
		part.OnTable = Pose{X: at.X, Y: at.Y, Turn: tp.ToTable.Turn}
		out = append(out, part)
	}
	return out
}

// moved returns the opening in another frame.
func (o Opening) moved(m geom.Placement) Opening {
	o.Figure = o.Transform(m)
	return o
}
