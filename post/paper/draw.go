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
	for i := range c.Len() {
		s.traceSegment(c.Segment(i), w)
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
	drawn []geom.Box // lines, edges and holes: no name goes there while there is other room
	bare  bool       // nothing is put under the text: it may not fade what is drawn
}

// namesApart is kept between names on one line, mm on the page: nearer they read as one.
const namesApart = 0.7

// alongHalf is how far names keep from what is drawn, mm on the page.
const alongHalf = 0.25

// boxesAlong covers what is drawn by boxes, on the page.
func boxesAlong(w window, cs ...geom.Contour) (out []geom.Box) {
	for _, c := range cs {
		for _, g := range c.Segments() {
			parts := int(math.Ceil(g.Length() * w.scale / 2))
			for k := range parts {
				a, b := w.to(g.At(float64(k)/float64(parts))), w.to(g.At(float64(k+1)/float64(parts)))
				out = append(out, geom.EmptyBox().Include(a).Include(b).Grow(alongHalf))
			}
		}
	}
	return out
}

// on lists places for a piece's name on the piece itself, page.
func (n *names) on(w window, outline geom.Contour) []geom.Point {
	_, size := n.s.GetFontSize()
	out := []geom.Point{w.to(outline.Bounds().Center())}
	for _, p := range outline.Inner(size / 2 / w.scale) {
		out = append(out, w.to(p))
	}
	return out
}

// keep reserves a square round a page point.
func (n *names) keep(p geom.Point, half float64) {
	n.taken = append(n.taken, geom.Box{Min: p, Max: p}.Grow(half))
}

// name writes a text centred on the first of some places where there is room, else beside
// the point that it speaks of, with a line to it from further away; else it is left out (tables name everything).
func (n *names) name(text string, at geom.Point, on ...geom.Point) {
	_, size := n.s.GetFontSize()
	w, h := n.s.wide(text)+0.6, size*1.05
	soft := len(n.drawn) > 0
	try := func(c geom.Point, led bool) bool {
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
		for _, d := range n.drawn {
			if soft && d.Overlaps(box) {
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
		if led {
			n.s.SetLineWidth(0.1)
			to := geom.Point{X: min(max(at.X, box.Min.X), box.Max.X), Y: min(max(at.Y, box.Min.Y), box.Max.Y)}
			n.s.Line(at.X, at.Y, to.X, to.Y)
			for _, t := range []float64{0.2, 0.4, 0.6, 0.8} { // no name across it, either
				p := at.Add(to.Sub(at).Scale(t))
				n.taken = append(n.taken, geom.Box{Min: p, Max: p}.Grow(alongHalf))
			}
		}
		n.s.put(c.X-w/2+0.3, c.Y+size*0.35, text)
		return true
	}
	for _, soft = range []bool{soft, false} {
		for _, p := range on {
			if try(p, false) {
				return
			}
		}
		for i, gap := range []float64{0.6, 1.8, 3.2, 5} {
			for _, d := range [][2]float64{{1, 0}, {-1, 0}, {0, -1}, {0, 1}, {1, -1}, {1, 1}, {-1, -1}, {-1, 1}} {
				if try(geom.Point{X: at.X + d[0]*(w/2+gap*size/2), Y: at.Y + d[1]*(h/2+gap*size/2)}, (i > 0 || len(on) > 0) && !n.bare) {
					return
				}
			}
		}
	}
}
