package trace

import (
	"bytes"
	_ "embed" // the style sheet travels in the picture
	"fmt"
	"io"
	"math"

	"spotjig/layout/figure"
	"spotjig/layout/geom"
)

//go:embed trace.css
var style string

// Whole is the whole way, for Write.
const Whole = 1.0

// Write draws the way as one SVG file, as far as a share of its length, 0 to Whole, with
// what is still to come drawn faintly and the head where it stands. Findings are numbered
// from 1 in their order; those of the program as a whole have no place.
func (w *Way) Write(to io.Writer, share float64) error {
	if math.IsNaN(share) {
		share = 0
	}
	frame := w.frame()
	size := math.Max(frame.Width(), frame.Height())
	font := size / 45
	b := new(bytes.Buffer)
	view := frame.Grow(font * 1.5)
	fmt.Fprintf(b, `<svg xmlns="http://www.w3.org/2000/svg" viewBox="%s %s %s %s" font-size="%s" role="img" aria-labelledby="t">`,
		num(view.Min.X), num(-view.Max.Y), num(view.Width()), num(view.Height()), num(font))
	fmt.Fprintf(b, "\n<title id=\"t\">The way of the head, seen from above: %s</title>\n<style>%s</style>\n", figure.Count(len(w.strokes), "stroke"), style)
	fmt.Fprintf(b, `<rect class="sky" x="%s" y="%s" width="%s" height="%s"/>`, num(view.Min.X), num(-view.Max.Y), num(view.Width()), num(view.Height()))
	b.WriteString("\n<g transform=\"matrix(1 0 0 -1 0 0)\">\n")
	w.ground(b)
	done := w.lines(b, share)
	if share < Whole {
		fmt.Fprintf(b, `<circle class="head" cx="%s" cy="%s" r="%s"/>`+"\n", num(done.X), num(done.Y), num(font*0.45))
	}
	b.WriteString("</g>\n")
	w.marks(b, font)
	b.WriteString("</svg>\n")
	_, err := to.Write(b.Bytes())
	return err
}

// frame is all there is to see.
func (w *Way) frame() geom.Box {
	box := w.box
	if len(w.strokes) == 0 {
		box = box.Include(w.at)
	}
	for _, g := range []geom.Box{w.bed(), w.sheet()} {
		if !g.IsEmpty() {
			box = box.Include(g.Min).Include(g.Max)
		}
	}
	if math.Max(box.Width(), box.Height()) < 1 {
		box = box.Grow(1)
	}
	return box
}

// bed is the machine's travel; empty when it has no bounds.
func (w *Way) bed() geom.Box {
	m := w.opt.Machine
	if m == nil {
		return geom.EmptyBox()
	}
	a, b := geom.Point{X: m.Min.X, Y: m.Min.Y}, geom.Point{X: m.Max.X, Y: m.Max.Y}
	if !finite(a) || !finite(b) || b.X <= a.X || b.Y <= a.Y {
		return geom.EmptyBox()
	}
	return geom.Box{Min: a, Max: b}
}

// sheet is the stock where the work zero puts it.
func (w *Way) sheet() geom.Box {
	if w.opt.Machine == nil || w.opt.Stock.IsEmpty() || w.opt.Stock.Width() <= 0 {
		return geom.EmptyBox()
	}
	zero, known := w.opt.Machine.Offsets[1]
	if !known {
		return geom.EmptyBox()
	}
	s := w.opt.Stock
	return geom.Box{Min: geom.Point{X: s.Min.X + zero.X, Y: s.Min.Y + zero.Y}, Max: geom.Point{X: s.Max.X + zero.X, Y: s.Max.Y + zero.Y}}
}

// ground draws bed, sheet and what the head must keep out of.
func (w *Way) ground(b *bytes.Buffer) {
	rect := func(class string, g geom.Box) {
		if !g.IsEmpty() {
			fmt.Fprintf(b, `<rect class="%s" x="%s" y="%s" width="%s" height="%s"/>`+"\n", class, num(g.Min.X), num(g.Min.Y), num(g.Width()), num(g.Height()))
		}
	}
	rect("bed", w.bed())
	rect("sheet", w.sheet())
	if w.opt.Machine == nil {
		return
	}
	for _, z := range w.opt.Machine.KeepOut {
		g := geom.Box{Min: geom.Point{X: z.Min.X, Y: z.Min.Y}, Max: geom.Point{X: z.Max.X, Y: z.Max.Y}}
		if finite(g.Min) && finite(g.Max) {
			rect("keep-out", g)
		}
	}
}

// lines draws the strokes, those of one kind as one path, and returns where the head is.
func (w *Way) lines(b *bytes.Buffer, share float64) geom.Point {
	left := share * w.total
	head := w.at
	if len(w.strokes) > 0 {
		head = w.strokes[0].pts[0]
	}
	var paths [4]bytes.Buffer // travel and work to come, travel and work done
	for _, s := range w.strokes {
		kind := 0
		if s.tool {
			kind = 1
		}
		l := s.length()
		switch {
		case share >= Whole || l <= left:
			path(&paths[kind+2], s.pts)
			head = s.pts[len(s.pts)-1]
		case left <= 0:
			path(&paths[kind], s.pts)
		default:
			was, rest := cut(s.pts, left)
			path(&paths[kind+2], was)
			path(&paths[kind], rest)
			head = rest[0]
		}
		left -= l
	}
	for i, class := range []string{"travel come", "work come", "travel", "work"} {
		if paths[i].Len() > 0 {
			fmt.Fprintf(b, `<path class="%s" d="%s"/>`+"\n", class, paths[i].String())
		}
	}
	return head
}

// cut divides a line after a length.
func cut(pts []geom.Point, length float64) (was, rest []geom.Point) {
	for i := 1; i < len(pts); i++ {
		d := pts[i-1].Dist(pts[i])
		if d > length {
			at := pts[i-1].Add(pts[i].Sub(pts[i-1]).Scale(length / d))
			return append(append([]geom.Point{}, pts[:i]...), at), append([]geom.Point{at}, pts[i:]...)
		}
		length -= d
	}
	return pts, pts[len(pts)-1:]
}

// path appends a line to path data.
func path(b *bytes.Buffer, pts []geom.Point) {
	if len(pts) < 2 {
		return
	}
	b.WriteByte('M')
	for i, p := range pts {
		if i > 0 {
			b.WriteByte('L')
		}
		b.WriteString(num(p.X) + " " + num(p.Y))
	}
}

// marks puts a numbered sign at every finding that has a place, one for those at the same.
func (w *Way) marks(b *bytes.Buffer, font float64) {
	type spot struct {
		at    geom.Point
		text  string
		error bool
	}
	var spots []spot
	at := map[string]int{}
	for i, p := range w.placed {
		if !p.known || !finite(p.at) {
			continue
		}
		key := figure.Tenth(p.at.X) + " " + figure.Tenth(p.at.Y)
		k, seen := at[key]
		if !seen {
			k, at[key] = len(spots), len(spots)
			spots = append(spots, spot{at: p.at})
		}
		switch {
		case spots[k].text == "":
			spots[k].text = fmt.Sprint(i + 1)
		case len(spots[k].text) < 8:
			spots[k].text += ", " + fmt.Sprint(i+1)
		}
		spots[k].error = spots[k].error || w.opt.Findings[i].Error
	}
	for _, s := range spots {
		class := "warning"
		if s.error {
			class = "error"
		}
		fmt.Fprintf(b, `<g class="found %s"><circle cx="%s" cy="%s" r="%s"/><text x="%s" y="%s">%s</text></g>`+"\n",
			class, num(s.at.X), num(-s.at.Y), num(font*0.5), num(s.at.X), num(-s.at.Y-font*0.7), s.text)
	}
}

// num prints a place to a hundredth of a millimetre.
func num(v float64) string { return figure.Short(v, 2) }
