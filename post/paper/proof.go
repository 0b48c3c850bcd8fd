package paper

import (
	"fmt"
	"io"
	"math"

	"spotjig/cam/jig"
	"spotjig/layout"
	"spotjig/layout/figure"
	"spotjig/layout/geom"
	"spotjig/post"
)

// A proof at full size. A group (a template, the upright pieces, or the marks)
// lies on an endless lattice of cells; a cell with something in it becomes a
// page, which shows the cell and half an overlap more on every side. Crosses
// stand on the lattice points, so that each is on up to four pages: cut along
// the marks in the margin, lay cross on cross, tape.

// Measures of a proof page, mm.
const (
	proofMargin  = 12.0 // white border, more than an office printer needs
	proofHead    = 15.0 // for the page's name, text and the scale bar
	proofOverlap = 10.0
	crossArm     = 4.0
	barLength    = 100.0
)

// Line widths of a proof, mm on paper; a reader of the file can tell by them
// what is what.
const (
	edgeLine   = 0.15 // outlines, openings, marks
	letterLine = 0.10 // lettering and scores
	crossLine  = 0.08
	noseLine   = 0.40
)

// shape is one thing to draw at full size, group frame.
type shape struct {
	edges, fine []geom.Contour
	name        string
	at          geom.Point // where the name goes
	box         geom.Box
	boxes       []geom.Box // of the edges, then of the fine lines
}

// enclose works out the boxes.
func (s shape) enclose() shape {
	s.box = geom.EmptyBox()
	for _, cs := range [2][]geom.Contour{s.edges, s.fine} {
		for _, c := range cs {
			b := c.Bounds()
			s.boxes = append(s.boxes, b)
			s.box = s.box.Union(b)
		}
	}
	return s
}

// group is one assembly on a lattice of its own.
type group struct {
	name   string
	letter string // begins its pages' names
	shapes []shape
	nose   []geom.Contour // drawn where a page shows them, but no reason for a page
	table  bool           // the frame is the table's
	origin geom.Point     // a lattice point
	cells  []cell         // the pages, by row from the top, then by column
}

// cell is one page of a group: column and row of the lattice.
type cell struct{ col, row int }

// leaf is the size of a lattice cell.
func (p paperSize) leaf() (w, h float64) {
	return p.width - 2*proofMargin - proofOverlap, p.height - 2*proofMargin - proofHead - proofOverlap
}

// WriteProof writes the template, or the marks alone, at full size. Print at
// 100 %, without fitting to the page.
func WriteProof(w io.Writer, set post.Set, opt Options) error {
	size, err := opt.size()
	if err != nil {
		return err
	}
	var groups []group
	switch opt.Of {
	case "", "template":
		groups = templateGroups(set, size)
	case "marks":
		groups = []group{markGroup(set)}
	default:
		return fmt.Errorf("%w: no proof of %q; there are template and marks", ErrOptions, opt.Of)
	}
	s := newSheaf(set, size, "Full-size proof")
	for i, g := range groups {
		groups[i] = g.laid(size)
		if len(groups[i].cells) > 0 {
			s.pageMap(set, groups[i])
		}
	}
	for _, g := range groups {
		for _, c := range g.cells {
			s.leaf(g, c)
		}
	}
	if s.PageNo() == 0 {
		s.page()
		s.para("There is nothing to draw.")
	}
	return s.finish(w)
}

// templateGroups returns each template as it lies on the table, and the upright
// pieces and plugs, which lie on no table, in rows.
func templateGroups(set post.Set, size paperSize) []group {
	var out []group
	for i, t := range set.Templates() {
		g := group{name: clean(t) + " template", letter: string(rune('A' + i%26)), table: true, nose: []geom.Contour{tableEdge(set)}}
		for _, p := range set.Jig.Parts {
			if p.Template == t && !loose(p) {
				g.shapes = append(g.shapes, shapeOf(p, p.OnTable.Plan()))
			}
		}
		out = append(out, g)
	}
	rest := group{name: "upright pieces and plugs", letter: string(rune('A' + len(out)%26))}
	var parts []jig.Part
	for _, p := range set.Jig.Parts {
		if loose(p) {
			parts = append(parts, p)
		}
	}
	rest.shapes = rows(parts, size)
	return append(out, rest)
}

// loose reports whether a part does not lie flat in its template.
func loose(p jig.Part) bool { return !p.Lies() }

func shapeOf(p jig.Part, m geom.Placement) shape {
	s := shape{name: clean(p.ID), edges: []geom.Contour{p.Outline.Transform(m)}, at: m.Apply(p.Outline.Bounds().Center())}
	for _, o := range p.Openings {
		s.edges = append(s.edges, o.Contour().Transform(m))
	}
	for _, c := range append(append([]geom.Contour(nil), p.Scores...), p.Letters...) {
		s.fine = append(s.fine, c.Transform(m))
	}
	return s.enclose()
}

// rows lays parts out in rows that fit a page, so that small pieces are not cut
// by a page's edge; a piece larger than a page runs on.
func rows(parts []jig.Part, size paperSize) []shape {
	const gap = 6.0
	w, h := size.leaf()
	x, y, high := gap, gap, 0.0
	var out []shape
	for _, p := range parts {
		b := p.Outline.Bounds()
		if x+b.Width()+gap > w && x > gap {
			x, y, high = gap, y+high+gap, 0
		}
		if rest := h - math.Mod(y, h); b.Height()+gap > rest {
			y += rest + gap
		}
		out = append(out, shapeOf(p, geom.Placement{X: x - b.Min.X, Y: -y - b.Height() - b.Min.Y}))
		x, high = x+b.Width()+gap, math.Max(high, b.Height())
	}
	return out
}

// markGroup returns the marks as a paper jig: lines as they are drawn, spots as
// crosses in a ring.
func markGroup(set post.Set) group {
	g := group{name: "marks", letter: "M", table: true, nose: []geom.Contour{tableEdge(set)}}
	for _, m := range set.Marks {
		s := shape{name: clean(m.Name)}
		if m.Kind == layout.Spot {
			c := spotAt(m)
			s.edges = []geom.Contour{geom.Circle(c, 2)}
			for _, v := range []geom.Vec{{X: 5}, {Y: 5}} {
				s.fine = append(s.fine, geom.MustOpen(geom.Vertex{At: c.Add(v.Scale(-1))}, geom.Vertex{At: c.Add(v)}))
			}
			s.at = c.Add(geom.Vec{X: 5, Y: 4})
		} else {
			c := m.Chain()
			s.edges = []geom.Contour{c}
			s.at = c.Segment(c.Len() / 2).At(0.5)
		}
		g.shapes = append(g.shapes, s.enclose())
	}
	return g
}

// corner is a cell's lower left lattice point, group frame.
func (g group) corner(c cell, size paperSize) geom.Point {
	w, h := size.leaf()
	return geom.Point{X: g.origin.X + float64(c.col)*w, Y: g.origin.Y + float64(c.row)*h}
}

// title names a cell: group letter, column counted from the left, row from the top.
func (g group) title(c cell) string {
	first, top := math.MaxInt, math.MinInt
	for _, o := range g.cells {
		first, top = min(first, o.col), max(top, o.row)
	}
	return fmt.Sprintf("%s%d.%d", g.letter, c.col-first+1, top-c.row+1)
}

// window shows the cell on its page: the cell's lower left lattice point stands
// half an overlap inside the live area.
func (g group) window(c cell, p paperSize) window {
	return window{at: g.corner(c, p), page: geom.Point{X: proofMargin + proofOverlap/2, Y: p.height - proofMargin - proofOverlap/2}, scale: 1}
}

// leaf draws one page at full size.
func (s *sheaf) leaf(g group, c cell) {
	s.AddPage()
	w, h := s.size.leaf()
	win := g.window(c, s.size)
	live := geom.Box{Min: geom.Point{X: proofMargin, Y: s.size.height - proofMargin - h - proofOverlap}, Max: geom.Point{X: proofMargin + w + proofOverlap, Y: s.size.height - proofMargin}}
	shown := geom.Box{Min: win.at, Max: win.at.Add(geom.Vec{X: w, Y: h})}.Grow(proofOverlap / 2)
	s.ClipRect(live.Min.X, live.Min.Y, live.Width(), live.Height(), false)
	s.SetLineCapStyle("butt")
	for _, n := range g.nose {
		s.stroke(noseLine, win, n)
	}
	for _, sh := range g.shapes {
		if !sh.box.Grow(grain).Overlaps(shown) {
			continue
		}
		s.stroke(edgeLine, win, within(sh.edges, sh.boxes, shown)...)
		s.stroke(letterLine, win, within(sh.fine, sh.boxes[len(sh.edges):], shown)...)
	}
	s.leafNames(g, win, shown)
	s.noseNames(g, win, shown)
	s.ClipEnd()
	s.crosses(live)
	s.bars(live)
	s.leafHead(g, c)
}

// grain: boxes are grown by this before they are compared, so that a line along
// an axis, whose box has no inside, still meets a page; far below a line's width.
const grain = 0.001

// within returns the contours whose boxes meet the box.
func within(cs []geom.Contour, boxes []geom.Box, box geom.Box) []geom.Contour {
	var out []geom.Contour
	for i, c := range cs {
		if boxes[i].Grow(grain).Overlaps(box) {
			out = append(out, c)
		}
	}
	return out
}

// leafNames writes the names of what is on the page, where its middle is on the
// page, else in the middle of the part that is.
func (s *sheaf) leafNames(g group, w window, shown geom.Box) {
	a, b := w.to(shown.Min), w.to(shown.Max)
	n := &names{s: s, frame: geom.EmptyBox().Include(a).Include(b).Grow(-proofOverlap), bare: true}
	s.font("", 9)
	for _, b := range g.small() {
		n.taken = append(n.taken, geom.EmptyBox().Include(w.to(b.Min)).Include(w.to(b.Max)))
	}
	for _, sh := range g.shapes {
		if !sh.box.Grow(grain).Overlaps(shown) {
			continue
		}
		at := sh.at
		if !shown.Grow(-proofOverlap).Contains(at) {
			at = geom.Point{X: (math.Max(sh.box.Min.X, shown.Min.X) + math.Min(sh.box.Max.X, shown.Max.X)) / 2,
				Y: (math.Max(sh.box.Min.Y, shown.Min.Y) + math.Min(sh.box.Max.Y, shown.Max.Y)) / 2}
		}
		var on []geom.Point
		if sh.edges[0].Closed() {
			on = append(on, w.to(at))
		}
		n.name(sh.name, w.to(at), on...)
	}
}

// noseNames writes along each nose that a page shows what it is.
func (s *sheaf) noseNames(g group, w window, shown geom.Box) {
	s.font("", 8)
	in := shown.Grow(-proofOverlap * 1.5)
	for _, n := range g.nose {
		for _, seg := range n.Segments() {
			p, d := seg.Nearest(in.Center())
			if d == 0 || !in.Contains(p) {
				continue
			}
			q := w.to(p)
			if math.Abs(seg.Tangent(0).X) > 0.5 {
				s.put(q.X+1, q.Y-1, "nose of the side cushion")
				continue
			}
			s.TransformBegin()
			s.TransformRotate(90, q.X, q.Y)
			s.put(q.X+1, q.Y-1, "nose of the end cushion")
			s.TransformEnd()
		}
	}
}

// crosses draws registration crosses at the four lattice points of the page and
// crop marks in the border beside them.
func (s *sheaf) crosses(live geom.Box) {
	s.SetLineWidth(crossLine)
	const half = proofOverlap / 2
	for _, x := range []float64{live.Min.X + half, live.Max.X - half} {
		for _, y := range []float64{live.Min.Y + half, live.Max.Y - half} {
			s.Line(x-crossArm, y, x+crossArm, y)
			s.Line(x, y-crossArm, x, y+crossArm)
			s.Circle(x, y, crossArm/2, "D")
		}
		s.Line(x, live.Min.Y-3, x, live.Min.Y-1)
		s.Line(x, live.Max.Y+1, x, live.Max.Y+4)
	}
	for _, y := range []float64{live.Min.Y + half, live.Max.Y - half} {
		s.Line(live.Min.X-4, y, live.Min.X-1, y)
		s.Line(live.Max.X+1, y, live.Max.X+4, y)
	}
}

// bars draws a scale bar of 100 mm each way in the border.
func (s *sheaf) bars(live geom.Box) {
	s.SetLineWidth(0.2)
	x, y := live.Max.X-barLength-6, live.Min.Y-6
	s.Line(x, y, x+barLength, y)
	for i := 0; i <= 10; i++ {
		d := float64(i) * barLength / 10
		s.Line(x+d, y-barTick(i), x+d, y)
	}
	v, top := live.Min.X-3.5, live.Min.Y+20
	s.Line(v, top, v, top+barLength)
	for i := 0; i <= 10; i++ {
		d := float64(i) * barLength / 10
		s.Line(v-barTick(i), top+d, v, top+d)
	}
	s.font("", 7)
	s.put(x, y-3.2, "100 mm: measure it, and the upright one")
	s.TransformBegin()
	s.TransformRotate(90, v-3, top+barLength/2+6)
	s.put(v-3, top+barLength/2+6, "100 mm")
	s.TransformEnd()
}

// barTick is the length of a scale bar's tick: longer at the ends and the middle.
func barTick(i int) float64 {
	if i%5 == 0 {
		return 2.5
	}
	return 1.5
}

// leafHead writes the page's name and where its lower left cross is.
func (s *sheaf) leafHead(g group, c cell) {
	s.font("B", 14)
	title := g.title(c)
	s.put(proofMargin, proofMargin+5, title)
	x := proofMargin + s.wide(title) + 4
	s.font("", 8)
	room := s.size.width - 2*proofMargin - barLength - 12 - (x - proofMargin)
	s.put(x, proofMargin+2, s.fitted(capital(g.name), room))
	if !g.table {
		return
	}
	at := g.corner(c, s.size)
	side := "left"
	if at.Y < 0 {
		side = "right"
	}
	from := "from"
	if at.X < 0 {
		from = "behind"
	}
	s.put(x, proofMargin+5.6, s.fitted(fmt.Sprintf("lower left cross: %s mm %s head nose,", figure.Tenth(math.Abs(at.X)), from), room))
	s.put(x, proofMargin+9, s.fitted(fmt.Sprintf("%s mm %s of the centre line", figure.Tenth(math.Abs(at.Y)), side), room))
}

// pageMap draws a group small, with the pages it is printed on.
func (s *sheaf) pageMap(set post.Set, g group) {
	s.page()
	cells := g.cells
	s.font("B", 15)
	s.put(s.margin, s.y+6, fmt.Sprintf("Full size: %s", g.name))
	s.y += 10
	for _, t := range []string{
		fmt.Sprintf("%s. %s of this part, named %s column.row. Print at 100 %% (actual size), never fitted to the page.", post.Parts(", ", clean(set.Title()), clean(set.Table.Name)), figure.Count(len(cells), "page"), g.letter),
		"Measure both scale bars on a printed page: 100 mm each. A printer that is off by 0.2 mm in 100 is off by 5 mm over a table; correct its scale first.",
		"Cut each page along the crop marks on its right and upper side, lay it over its neighbour cross on cross, tape. Where a neighbour is missing from the map, its place is empty: lay the page by the distances at its head.",
		"Paper grows with the damp of the air. A proof shows the job and lets it be laid on the table to look at; it is not the template.",
	} {
		s.para(t)
	}
	box := geom.EmptyBox()
	w, h := s.size.leaf()
	for _, c := range cells {
		p := g.corner(c, s.size)
		box = box.Include(p).Include(p.Add(geom.Vec{X: w, Y: h}))
	}
	if g.table {
		box = box.Union(tableBox(set))
	}
	area := geom.Box{Min: geom.Point{X: s.margin, Y: s.y + 2}, Max: geom.Point{X: s.margin + s.width(), Y: s.bottom() - 4}}
	win := fitWindow(box, area)
	win.page.Y = area.Min.Y + box.Height()*win.scale/2
	for _, n := range g.nose {
		s.stroke(0.5, win, n)
	}
	for _, sh := range g.shapes {
		s.stroke(0.15, win, sh.edges...)
	}
	s.SetLineWidth(0.25)
	s.font("B", math.Max(5, math.Min(10, w*win.scale*0.7)))
	for _, c := range cells {
		p := win.to(g.corner(cell{c.col, c.row + 1}, s.size))
		s.Rect(p.X, p.Y, w*win.scale, h*win.scale, "D")
		t := g.title(c)
		s.put(p.X+(w*win.scale-s.wide(t))/2, p.Y+h*win.scale*0.9, t)
	}
}
