package paper

import (
	"math"

	"spotjig/cam/jig"
	"spotjig/layout"
	"spotjig/layout/geom"
	"spotjig/post"
)

// plan says what a picture of the table shows.
type plan struct {
	templates []string // whose pieces lie on the table
	reversed  bool     // the template is turned end for end on the table
	marks     []layout.Mark
	markNames bool
	pieces    bool // names of the pieces
	contacts  bool
}

// tableBox is the playing surface, table frame.
func tableBox(set post.Set) geom.Box {
	b := geom.EmptyBox()
	for _, c := range set.Table.Corners {
		b = b.Include(geom.Point{X: c[0], Y: c[1]})
	}
	return b
}

func tableEdge(set post.Set) geom.Contour {
	var v []geom.Vertex
	for _, c := range set.Table.Corners {
		v = append(v, geom.Vertex{At: geom.Point{X: c[0], Y: c[1]}})
	}
	return geom.MustClosed(v...)
}

// figureHeight is how high a picture of the table of that width is.
func figureHeight(set post.Set, width float64) float64 {
	box := pictureBox(set)
	return width * box.Height() / box.Width()
}

// pictureBox is the table with its rails.
func pictureBox(set post.Set) geom.Box { return tableBox(set).Grow(tableBox(set).Height() * 0.075) }

// tableFigure draws the table at the cursor, in the middle of the page.
func (s *sheaf) tableFigure(set post.Set, width float64, p plan) {
	h := figureHeight(set, width)
	s.keep(h + 2)
	x := s.margin + (s.width()-width)/2
	s.drawTable(set, p, fitWindow(pictureBox(set), geom.Box{Min: geom.Point{X: x, Y: s.y}, Max: geom.Point{X: x + width, Y: s.y + h}}))
	s.y += h + 2
}

// drawTable draws rails, template, marks and names.
func (s *sheaf) drawTable(set post.Set, p plan, w window) {
	box := tableBox(set)
	rail := box.Height() * 0.06
	s.fill(225, 0.2, w, geom.Rect(box.Grow(rail)), tableEdge(set).Reversed())
	s.drawTemplates(set, p, w)
	s.drawMarks(p.marks, w)
	s.namePlan(set, p, w)
	s.font("", 7)
	head, foot := w.to(geom.Point{X: box.Min.X - rail/2}), w.to(geom.Point{X: box.Max.X + rail/2})
	for _, e := range []struct {
		text string
		at   geom.Point
	}{{"HEAD (baulk)", head}, {"FOOT (top)", foot}} {
		s.TransformBegin()
		s.TransformRotate(90, e.at.X, e.at.Y)
		s.put(e.at.X-s.wide(e.text)/2, e.at.Y+0.9, e.text)
		s.TransformEnd()
	}
}

// pose returns where a part lies in the plan.
func (p plan) pose(set post.Set, part jig.Part) geom.Placement {
	m := part.OnTable.Plan()
	if p.reversed {
		m = m.Then(geom.Placement{X: set.Table.L, Turn: 180 * geom.Degree})
	}
	return m
}

func (p plan) shows(part jig.Part) bool {
	if part.Role == jig.GaugePlate {
		return len(p.templates) == 2 // it lies between the two
	}
	for _, t := range p.templates {
		if t == part.Template {
			return part.Role != jig.Plug
		}
	}
	return false
}

// lying is a part as it lies in the plan: its outline, then its openings; an upright one from
// above.
func (p plan) lying(set post.Set, part jig.Part) []geom.Contour {
	m := p.pose(set, part)
	if part.OnTable.Upright {
		return []geom.Contour{set.UprightPlan(part).Transform(m)}
	}
	return edges(part, func(c geom.Contour) geom.Contour { return c }, m)
}

// edges are a part's outline and openings in some size, placed.
func edges(part jig.Part, size func(geom.Contour) geom.Contour, m geom.Placement) []geom.Contour {
	out := []geom.Contour{size(part.Outline).Transform(m)}
	for _, o := range part.Openings {
		out = append(out, size(o.Contour()).Transform(m))
	}
	return out
}

func (s *sheaf) drawTemplates(set post.Set, p plan, w window) {
	for _, part := range set.Jig.Parts {
		if p.shows(part) && !part.OnTable.Upright {
			s.fill(243, 0.25, w, p.lying(set, part)...)
		}
	}
	for _, part := range set.Jig.Parts {
		if !p.shows(part) || !part.OnTable.Upright {
			continue
		}
		s.fill(0, 0.3, w, p.lying(set, part)...)
		if p.contacts && part.Touches() {
			s.drawContact(set, part, p.pose(set, part), w)
		}
	}
}

// drawContact draws an arrow head outside the nose that the fin touches: black
// for the end fins that set the template, white for those that centre it.
func (s *sheaf) drawContact(set post.Set, p jig.Part, m geom.Placement, w window) {
	lo, hi := post.UprightSpan(p)
	var at geom.Point
	var out geom.Vec
	best := math.Inf(1)
	for _, x := range []float64{(lo + hi) / 2, lo, hi} { // the middle first: a box lies along its nose
		q := m.Apply(geom.Point{X: x})
		for _, g := range tableEdge(set).Segments() {
			if _, d := g.Nearest(q); d < best-1e-6 {
				best, at, out = d, q, g.Tangent(0).Left().Scale(-1)
			}
		}
	}
	k := 3 / w.scale // 3 mm on the page
	side, tail := out.Left().Scale(k*0.5), at.Add(out.Scale(k))
	grey := 0
	if p.Role.Side() {
		grey = 255
	}
	s.fill(grey, 0.25, w, geom.MustClosed(geom.Vertex{At: at}, geom.Vertex{At: tail.Add(side)}, geom.Vertex{At: tail.Add(side.Scale(-1))}))
}

// spotRadius is how large a spot is drawn in a small picture, mm on the page.
const spotRadius = 0.9

func (s *sheaf) drawMarks(marks []layout.Mark, w window) {
	for _, m := range marks {
		if m.Kind != layout.Spot {
			s.stroke(0.35, w, m.Chain())
		}
	}
	for _, m := range marks {
		if m.Kind == layout.Spot {
			s.fill(255, 0.35, w, geom.Circle(spotAt(m), spotRadius/w.scale))
		}
	}
}

func (s *sheaf) namePlan(set post.Set, p plan, w window) {
	box := tableBox(set)
	a, b := w.to(box.Min), w.to(box.Max)
	n := &names{s: s, frame: geom.EmptyBox().Include(a).Include(b)}
	for _, m := range p.marks {
		if m.Kind == layout.Spot {
			n.keep(w.to(spotAt(m)), spotRadius)
		}
		if m.Kind != layout.Spot {
			n.taken = append(n.taken, boxesAlong(w, m.Chain())...)
		}
	}
	for _, part := range set.Jig.Parts {
		if p.shows(part) {
			n.drawn = append(n.drawn, boxesAlong(w, p.lying(set, part)...)...)
		}
	}
	if p.markNames {
		s.font("", 7)
		for _, m := range p.marks {
			if m.Kind == layout.Spot {
				n.name(clean(m.Name), w.to(spotAt(m)))
			}
		}
		for _, m := range p.marks {
			if m.Kind != layout.Spot {
				c := m.Chain()
				at := 0.5
				if m.Kind == layout.Line {
					at = 0.8 // spots lie in the middles of lines
				}
				n.name(clean(m.Name), w.to(c.Segment(c.Len()/2).At(at)))
			}
		}
	}
	if !p.pieces {
		return
	}
	s.font("B", 7.5)
	for _, part := range set.Jig.Parts {
		if p.shows(part) {
			edge := p.lying(set, part)[0]
			var on []geom.Point
			if !part.OnTable.Upright {
				on = n.on(w, edge)
			}
			n.name(clean(part.ID), w.to(edge.Bounds().Center()), on...)
		}
	}
}

// sheetFigure draws one sheet with its pieces and extents into a page area.
func (s *sheaf) sheetFigure(set post.Set, sh post.Sheet, area geom.Box) window {
	stock := geom.Box{Max: geom.Point{X: sh.Width, Y: sh.Height}}
	w := fitWindow(stock, area)
	s.stroke(0.4, w, geom.Rect(stock))
	n := &names{s: s, frame: area}
	for _, pl := range sh.Placed {
		part, ok := set.Part(pl.ID)
		if !ok {
			continue
		}
		cs := edges(part, part.AtCutSize, pl.On)
		s.fill(243, 0.2, w, cs...)
		n.drawn = append(n.drawn, boxesAlong(w, cs...)...)
	}
	s.font("B", 8)
	for _, pl := range sh.Placed {
		if part, ok := set.Part(pl.ID); ok {
			on := n.on(w, part.Outline.Transform(pl.On))
			n.name(clean(pl.ID), on[0], on...)
		}
	}
	if !sh.Bounds.IsEmpty() && sh.Bounds.Width() > 0 {
		s.dashed(1.5, 1)
		s.stroke(0.2, w, geom.Rect(sh.Bounds))
		s.solid()
	}
	o := w.to(geom.Point{})
	s.SetLineWidth(0.5)
	s.Line(o.X-1.5, o.Y, o.X+6, o.Y)
	s.Line(o.X, o.Y+1.5, o.X, o.Y-6)
	s.font("", 7)
	s.put(o.X+0.8, o.Y+2.9, "origin")
	return w
}
