package view

import (
	"bytes"
	"fmt"
	"math"
	"sort"
	"strings"

	"spotjig/cam/jig"
	"spotjig/layout"
	"spotjig/layout/figure"
	"spotjig/layout/geom"
	"spotjig/layout/job"
	"spotjig/post"
)

// scene is a job ready to be drawn: the store of definitions, and which
// definition shows what.
type scene struct {
	set     post.Set
	pieces  []jig.Part     // the jig's, then other jobs' on its sheets
	index   map[string]int // a piece's id to its place among them
	glyphs  map[string]int // stroke shape to its number in the store
	count   map[string]int // how often a shape occurs
	strokes [][]string     // the shape of every lettering stroke, by part
	table   geom.Box       // the playing surface, table frame
	racks   []rack
	inches  bool // lengths are written in inches: in a page its script does that
}

// alone is a scene of a picture that no page is round.
func alone(set post.Set) *scene {
	sc := newScene(set)
	sc.inches = set.Job.Units == job.UnitsInch
	return sc
}

// length is a length on a dimension, without its unit.
func (sc *scene) length(mm float64) string {
	if sc.inches {
		return strings.TrimSuffix(figure.Inches(mm), " in")
	}
	return figure.Tenth(mm)
}

// by is a rectangle's size in words.
func (sc *scene) by(w, h float64) string {
	if sc.inches {
		return figure.InchesFirst(figure.By(w, h))
	}
	return figure.By(w, h)
}

func newScene(set post.Set) *scene {
	sc := &scene{set: set, pieces: set.Pieces(), index: map[string]int{}, glyphs: map[string]int{}, count: map[string]int{}, racks: racks(set)}
	sc.strokes = make([][]string, len(sc.pieces))
	for i, p := range sc.pieces {
		sc.index[p.ID] = i
		for _, c := range p.Letters {
			shape := strokeShape(c)
			sc.strokes[i] = append(sc.strokes[i], shape)
			sc.count[shape]++
		}
	}
	sc.table = geom.EmptyBox()
	for _, c := range set.Table.Corners {
		sc.table = sc.table.Include(geom.Point{X: c[0], Y: c[1]})
	}
	return sc
}

// strokeShape is a stroke moved to start at the origin, as path data: what
// strokes of equal shape share.
func strokeShape(c geom.Contour) string {
	s := c.Start()
	return pathData(c.Transform(geom.Placement{X: -s.X, Y: -s.Y}))
}

// writeDefs writes the store: glyph strokes, pieces, marks, table.
func (sc *scene) writeDefs(b *bytes.Buffer) {
	b.WriteString("<defs>\n")
	sc.writeGlyphs(b)
	for i, p := range sc.pieces {
		sc.writePart(b, i, p)
	}
	sc.writeTable(b)
	sc.writeMarks(b)
	sc.writeJig(b)
	sc.writeBalls(b)
	b.WriteString("</defs>\n")
}

// reuseLeast is the length of path data from which a repeated stroke is worth a
// definition: below it, placing one by reference takes more bytes than drawing
// it again, and every reference costs a browser time.
const reuseLeast = 48

// writeGlyphs stores every stroke shape that occurs more than once, numbered in
// the order of their path data.
func (sc *scene) writeGlyphs(b *bytes.Buffer) {
	var shapes []string
	for s, n := range sc.count {
		if n > 1 && len(s) >= reuseLeast {
			shapes = append(shapes, s)
		}
	}
	sort.Strings(shapes)
	for i, s := range shapes {
		sc.glyphs[s] = i
		fmt.Fprintf(b, `<path id="g%d" d="%s"/>`, i, s)
	}
	b.WriteByte('\n')
}

// writePart stores one piece in its own frame.
func (sc *scene) writePart(b *bytes.Buffer, i int, p jig.Part) {
	edges := []geom.Contour{p.Outline}
	for _, o := range p.Openings {
		edges = append(edges, o.Contour())
	}
	fmt.Fprintf(b, `<g id="p%d" class="part" data-part="%s"><title>%s</title>`, i, esc(p.ID), esc(p.ID+", "+p.Template+" template, "+string(p.Role)))
	fmt.Fprintf(b, `<path class="body" fill-rule="evenodd" d="%s"/>`, pathData(edges...))
	if len(p.Scores) > 0 {
		fmt.Fprintf(b, `<path class="score" d="%s"/>`, pathData(p.Scores...))
	}
	b.WriteString("</g>\n")
	sc.writeLetters(b, i, p.Letters)
}

// writeLetters stores a piece's lettering apart from its shape: on the table it
// would be too small to read, so only the sheets place it.
func (sc *scene) writeLetters(b *bytes.Buffer, i int, letters []geom.Contour) {
	if len(letters) == 0 {
		return
	}
	fmt.Fprintf(b, `<g id="l%d" class="letters">`, i)
	var rest []geom.Contour
	for k, c := range letters {
		n, ok := sc.glyphs[sc.strokes[i][k]]
		if !ok {
			rest = append(rest, c)
			continue
		}
		at := c.Start()
		fmt.Fprintf(b, `<use href="#g%d" x="%s" y="%s"/>`, n, num(at.X, fine), num(at.Y, fine))
	}
	if len(rest) > 0 {
		fmt.Fprintf(b, `<path d="%s"/>`, pathData(rest...))
	}
	b.WriteString("</g>\n")
}

// corners returns the playing surface as a contour.
func (sc *scene) corners() geom.Contour {
	var v []geom.Vertex
	for _, c := range sc.set.Table.Corners {
		v = append(v, geom.Vertex{At: geom.Point{X: c[0], Y: c[1]}})
	}
	return geom.MustClosed(v...)
}

// frame is how far the drawn rails reach beyond the noses, mm: a twelfth of the playing
// surface's width, which looks right on a table of any size. Rails have no size in a job.
func (sc *scene) frame() float64 { return sc.table.Height() / 12 }

// writeTable stores rails, cloth, sights and pockets.
func (sc *scene) writeTable(b *bytes.Buffer) {
	f := sc.frame()
	b.WriteString(`<g id="s-table">`)
	out := sc.table.Grow(f)
	fmt.Fprintf(b, `<rect class="rail" x="%s" y="%s" width="%s" height="%s" rx="%s"/>`,
		num(out.Min.X, 1), num(out.Min.Y, 1), num(out.Width(), 1), num(out.Height(), 1), num(f/3, 1))
	in := sc.table.Grow(f * 0.45)
	fmt.Fprintf(b, `<path class="rubber" d="%s"/>`, pathData(geom.Rect(in)))
	fmt.Fprintf(b, `<path class="cloth" id="cloth" d="%s"/>`, pathData(sc.corners()))
	for _, p := range sc.sights() {
		fmt.Fprintf(b, `<path class="sight" d="M%s %sl7 7l-7 7l-7-7z"/>`, num(p.X, 1), num(p.Y-7, 1))
	}
	if sc.pocketed() {
		for _, p := range sc.pockets() {
			fmt.Fprintf(b, `<circle class="pocket" cx="%s" cy="%s" r="%s"/>`, num(p.X, 1), num(p.Y, 1), num(f*0.55, 1))
		}
	}
	b.WriteString("</g>\n")
}

// sights returns where the rail sights are drawn: eighths of the length and
// quarters of the width (WPA rules 8.1), in the middle of the drawn rail.
func (sc *scene) sights() []geom.Point {
	var out []geom.Point
	t, off := sc.table, sc.frame()*0.72
	for i := 1; i < 8; i++ {
		if i == 4 && sc.pocketed() {
			continue
		}
		x := t.Min.X + t.Width()*float64(i)/8
		out = append(out, geom.Point{X: x, Y: t.Min.Y - off}, geom.Point{X: x, Y: t.Max.Y + off})
	}
	for i := 1; i < 4; i++ {
		y := t.Min.Y + t.Height()*float64(i)/4
		out = append(out, geom.Point{X: t.Min.X - off, Y: y}, geom.Point{X: t.Max.X + off, Y: y})
	}
	return out
}

// pockets returns where pocket symbols are drawn: the corners and the middles
// of the sides, a little outside the noses.
func (sc *scene) pockets() []geom.Point {
	c := sc.set.Table.Corners
	d := sc.frame() * 0.2
	mid := func(i, j int, dy float64) geom.Point {
		return geom.Point{X: (c[i][0] + c[j][0]) / 2, Y: (c[i][1]+c[j][1])/2 + dy}
	}
	return []geom.Point{
		{X: c[0][0] - d, Y: c[0][1] - d}, {X: c[1][0] + d, Y: c[1][1] - d},
		{X: c[2][0] + d, Y: c[2][1] + d}, {X: c[3][0] - d, Y: c[3][1] + d},
		mid(0, 1, -2*d), mid(2, 3, 2*d),
	}
}

// writeMarks stores every mark by itself, so that one can be lit up.
func (sc *scene) writeMarks(b *bytes.Buffer) {
	b.WriteString(`<g id="s-marks">`)
	for _, spots := range []bool{false, true} { // lines first: none strikes a spot through
		sc.writeMarksOf(b, spots)
	}
	b.WriteString("</g>\n")
}

// writeMarksOf stores the spots, or all the other marks.
func (sc *scene) writeMarksOf(b *bytes.Buffer, spots bool) {
	for i, m := range sc.set.Marks {
		if (m.Kind == layout.Spot) != spots {
			continue
		}
		fmt.Fprintf(b, `<g id="m%d" class="mark" data-mark="%s"><title>%s</title>`, i, esc(m.ID), esc(m.Name))
		if spots {
			fmt.Fprintf(b, `<circle class="spot" cx="%s" cy="%s" r="%s"/>`, num(m.X, fine), num(m.Y, fine), num(sc.table.Height()/120, 1))
		} else {
			fmt.Fprintf(b, `<path class="line" d="%s"/>`, pathData(m.Chain()))
		}
		b.WriteString("</g>")
	}
}

// middle returns the point a label of the mark speaks of.
func middle(m layout.Mark) geom.Point {
	if m.Kind == layout.Spot {
		return geom.Point{X: m.X, Y: m.Y}
	}
	c := m.Chain()
	return c.Segment(c.Len() / 2).At(0.5)
}

// writeJig stores the template as it lies: flat pieces placed by reference,
// upright ones seen from above as the bar their thickness makes.
func (sc *scene) writeJig(b *bytes.Buffer) {
	b.WriteString(`<g id="s-jig">`)
	for i, p := range sc.set.Jig.Parts {
		if !p.Lies() {
			continue
		}
		fmt.Fprintf(b, `<use href="#p%d" transform="%s"/>`, i, turned(p.OnTable.Plan()))
	}
	for i, p := range sc.set.Jig.Parts {
		if p.OnTable.Upright {
			fmt.Fprintf(b, `<path id="u%d" class="fin" data-part="%s" d="%s"><title>%s</title></path>`,
				i, esc(p.ID), pathData(sc.finPlan(p)), esc(p.ID+", "+string(p.Role)+", upright"))
		}
	}
	b.WriteString("</g>\n" + `<g id="s-contacts">`)
	for _, p := range sc.set.Jig.Parts {
		if p.Touches() {
			sc.writeContact(b, p)
		}
	}
	b.WriteString("</g>\n")
}

// finPlan returns an upright piece as seen from above.
func (sc *scene) finPlan(p jig.Part) geom.Contour {
	return sc.set.UprightPlan(p).Transform(p.OnTable.Plan())
}

// writeContact draws an arrow head outside the nose that a fin touches, pointing
// at the touch: filled for the end fins that set the template, open for the
// side fins that only centre it.
func (sc *scene) writeContact(b *bytes.Buffer, p jig.Part) {
	at, out := sc.contact(p)
	k := sc.frame() * 0.3
	side := out.Left().Scale(k * 0.6)
	tail := at.Add(out.Scale(k * 1.3))
	class := "touch"
	if p.Role.Side() {
		class += " slide"
	}
	tri := geom.MustClosed(geom.Vertex{At: at}, geom.Vertex{At: tail.Add(side)}, geom.Vertex{At: tail.Add(side.Scale(-1))})
	fmt.Fprintf(b, `<path class="%s" d="%s"><title>%s</title></path>`, class, pathData(tri), esc(p.ID+" touches the nose here"))
}

// contact returns which place of an upright piece lies nearest to a nose (its
// middle, when it lies along the nose, else an end) and the direction out of the
// table there.
func (sc *scene) contact(p jig.Part) (at geom.Point, out geom.Vec) {
	lo, hi := post.UprightSpan(p)
	best := math.Inf(1)
	for _, x := range []float64{(lo + hi) / 2, lo, hi} {
		q := p.OnTable.Plan().Apply(geom.Point{X: x})
		for _, s := range sc.corners().Segments() {
			if _, d := s.Nearest(q); d < best-1e-6 {
				best, at, out = d, q, s.Tangent(0).Left().Scale(-1)
			}
		}
	}
	return at, out
}

// turned is a placement as a transform.
func turned(m geom.Placement) string {
	t := "translate(" + num(m.X, fine) + " " + num(m.Y, fine) + ")"
	if m.Turn != 0 {
		t += " rotate(" + num(m.Turn.Degrees(), 6) + ")"
	}
	return t
}
