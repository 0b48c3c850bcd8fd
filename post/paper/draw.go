package paper

import (
	"math"

	"spotjig/layout"
	"spotjig/layout/geom"
)

// window carries a frame (table or sheet, y up) to the page (mm, y down):
// the frame's point At lands on Page, lengths are multiplied by Scale. Turned
// windows put the frame's +x up the page, so that a table's head end lies below.
type window struct {
	at, page geom.Point
	scale    float64
	turned   bool
}

// to carries a point to the page.
func (w window) to(p geom.Point) geom.Point {
	d := p.Sub(w.at)
	if w.turned {
		d = geom.Vec{X: -d.Y, Y: d.X}
	}
	return geom.Point{X: w.page.X + d.X*w.scale, Y: w.page.Y - d.Y*w.scale}
}

// fitWindow shows box in a rectangle of the page, centred, at one scale.
func fitWindow(box, page geom.Box) window {
	k := math.Min(page.Width()/box.Width(), page.Height()/box.Height())
	return window{at: box.Center(), page: page.Center(), scale: k}
}

// quarter is the bulge of a quarter circle: one cubic draws no more.
var quarter = math.Tan(math.Pi / 8)

// trace adds a contour to the page's path. An arc of sweep a and radius r is the
// cubic with handles of 4/3·tan(a/4)·r along its tangents, that is 4/3·bulge·r:
// within 0.03 % of r for a quarter circle.
func (s *sheaf) trace(c geom.Contour, w window) {
	if c.IsEmpty() {
		return
	}
	p := w.to(c.Start())
	s.MoveTo(p.X, p.Y)
	for _, g := range c.Segments() {
		s.traceSegment(g, w)
	}
	if c.Closed() {
		s.ClosePath()
	}
}

func (s *sheaf) traceSegment(g geom.Segment, w window) {
	if !g.IsArc() {
		p := w.to(g.To)
		s.LineTo(p.X, p.Y)
		return
	}
	if math.Abs(g.Bulge) > quarter*1.000001 {
		a, b := g.Split(0.5)
		s.traceSegment(a, w)
		s.traceSegment(b, w)
		return
	}
	h := 4.0 / 3 * math.Abs(g.Bulge) * g.Radius()
	a := w.to(g.From.Add(g.Tangent(0).Scale(h)))
	b := w.to(g.To.Add(g.Tangent(1).Scale(-h)))
	p := w.to(g.To)
	s.CurveBezierCubicTo(a.X, a.Y, b.X, b.Y, p.X, p.Y)
}

// stroke draws contours with a line of the width, mm on the page.
func (s *sheaf) stroke(width float64, w window, cs ...geom.Contour) {
	if len(cs) == 0 {
		return
	}
	s.SetLineWidth(width)
	for _, c := range cs {
		s.trace(c, w)
	}
	s.DrawPath("D")
}

// fill draws contours filled with a grey and outlined.
func (s *sheaf) fill(grey int, width float64, w window, cs ...geom.Contour) {
	s.SetLineWidth(width)
	s.SetFillColor(grey, grey, grey)
	for _, c := range cs {
		s.trace(c, w)
	}
	s.DrawPath("FD*")
}

// dashed sets a dash of so many mm; solid ends it.
func (s *sheaf) dashed(on, off float64) { s.SetDashPattern([]float64{on, off}, 0) }
func (s *sheaf) solid()                 { s.SetDashPattern(nil, 0) }

// spotAt is a spot's place.
func spotAt(m layout.Mark) geom.Point { return geom.Point{X: m.X, Y: m.Y} }

// names places texts where they meet neither each other nor the frame.
type names struct {
	s     *sheaf
	frame geom.Box
	taken []geom.Box
	bare  bool // nothing is put under the text: it may not fade what is drawn
}

// namesApart is kept between names on one line, mm on the page: nearer they read as one.
const namesApart = 0.7

// keepLine reserves a level or upright line, so that no name is struck through by it.
func (n *names) keepLine(a, b geom.Point) {
	if box := geom.EmptyBox().Include(a).Include(b); math.Min(box.Width(), box.Height()) < 0.1 {
		n.taken = append(n.taken, box.Grow(0.15))
	}
}

// keep reserves a square round a page point.
func (n *names) keep(p geom.Point, half float64) {
	n.taken = append(n.taken, geom.Box{Min: p, Max: p}.Grow(half))
}

// name writes a text beside a page point, or centred on it when here is true,
// where there is room; else it is left out (tables name everything).
func (n *names) name(text string, at geom.Point, here bool) {
	_, size := n.s.GetFontSize()
	w, h := n.s.wide(text)+0.6, size*1.05
	try := func(c geom.Point) bool {
		box := geom.Box{Min: geom.Point{X: c.X - w/2, Y: c.Y - h/2}, Max: geom.Point{X: c.X + w/2, Y: c.Y + h/2}}
		if !n.frame.Holds(box) {
			return false
		}
		apart := geom.Box{Min: geom.Point{X: box.Min.X - namesApart, Y: box.Min.Y}, Max: geom.Point{X: box.Max.X + namesApart, Y: box.Max.Y}}
		for _, t := range n.taken {
			if t.Overlaps(apart) {
				return false
			}
		}
		n.taken = append(n.taken, box)
		if !n.bare {
			n.s.SetFillColor(255, 255, 255)
			n.s.SetAlpha(0.75, "Normal")
			n.s.Rect(box.Min.X+0.2, box.Min.Y+0.2, box.Width()-0.4, box.Height()-0.4, "F")
			n.s.SetAlpha(1, "Normal")
		}
		n.s.put(c.X-w/2+0.3, c.Y+size*0.35, text)
		return true
	}
	if here && try(at) {
		return
	}
	for _, gap := range []float64{0.6, 1.8, 3.2, 5} {
		for _, d := range [][2]float64{{1, 0}, {-1, 0}, {0, -1}, {0, 1}, {1, -1}, {1, 1}, {-1, -1}, {-1, 1}} {
			if try(geom.Point{X: at.X + d[0]*(w/2+gap*size/2), Y: at.Y + d[1]*(h/2+gap*size/2)}) {
				return
			}
		}
	}
}
