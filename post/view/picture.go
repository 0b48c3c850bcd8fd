package view

import (
	"bytes"
	"fmt"
	"math"
	"slices"
	"sort"
	"strings"

	"spotjig/cam/jig"
	"spotjig/layout"
	"spotjig/layout/figure"
	"spotjig/layout/geom"
	"spotjig/layout/job"
	"spotjig/post"
)

// turnOf says which way up the table is drawn.
type turnOf int

const (
	landscape turnOf = iota // head end left, as in the table frame
	portrait                // head end down, for narrow windows
)

// apply carries a table point into the picture (y down).
func (t turnOf) apply(p geom.Point) geom.Point {
	if t == portrait {
		return geom.Point{X: -p.Y, Y: -p.X}
	}
	return geom.Point{X: p.X, Y: -p.Y}
}

// matrix is apply as a transform.
func (t turnOf) matrix() string {
	if t == portrait {
		return "matrix(0 -1 -1 0 0 0)"
	}
	return "matrix(1 0 0 -1 0 0)"
}

// fit is one window width that a picture is laid out for: text is size pixels
// high when the picture is width pixels wide.
type fit struct {
	class       string
	width, size float64
}

var (
	layoutWide   = fit{"wide", 1240, 12.5}
	layoutMedium = fit{"medium", 640, 11.5}
	layoutNarrow = fit{"narrow", 320, 10.5}
	layoutSheet  = fit{"sheet", 460, 11}
)

// picture is one drawing ready to be written: a frame, and what is in it.
type picture struct {
	class, title, desc string
	frame              geom.Box // picture units, y down
	full               geom.Box // the frame with dimensions; empty when there are none
	font               float64
	body               string
}

// writeTo writes the picture as an svg element that refers to the page's store.
func (p picture) writeTo(b *bytes.Buffer, id string) {
	fmt.Fprintf(b, `<svg class="pic %s" viewBox="%s"`, p.class, viewBox(p.frame))
	if p.full.Width() > 0 {
		fmt.Fprintf(b, ` data-plain="%s" data-full="%s"`, viewBox(p.frame), viewBox(p.full))
	}
	fmt.Fprintf(b, ` role="img" aria-labelledby="%s-t %s-d" font-size="%s">`, id, id, num(p.font, 2))
	fmt.Fprintf(b, `<title id="%s-t">%s</title><desc id="%s-d">%s</desc>`, id, esc(p.title), id, esc(p.desc))
	b.WriteString(p.body)
	b.WriteString("</svg>\n")
}

// viewBox is a frame as the attribute spells it.
func viewBox(f geom.Box) string {
	return num(f.Min.X, 1) + " " + num(f.Min.Y, 1) + " " + num(f.Width(), 1) + " " + num(f.Height(), 1)
}

// newPlan draws the table from above. Alone, with nothing to switch, it shows
// one game's balls and the dimensions; in the page they are folded away.
func newPlan(sc *scene, t turnOf, f fit, alone bool) picture {
	rail := sc.table.Grow(sc.frame())
	frame := geom.EmptyBox().Include(t.apply(rail.Min)).Include(t.apply(rail.Max))
	// Dimensions stand outside the rails on two sides; their room is a multiple
	// of the text size, which is a share of the frame they widen: solve for it.
	const above = 2.2
	below, beside := 6.5, 7.5
	inches := func() { below, beside = 8.2, 8.3 } // "-8 11/32" is longer than "-211.6"
	if sc.set.Job.Units == job.UnitsInch {
		inches()
	}
	font := f.size * frame.Width() / (f.width - f.size*(beside+1.4))
	if !alone {
		inches() // the page's reader may ask for them, and the names keep their size
	}
	plain := geom.Box{Min: geom.Point{X: frame.Min.X - 1.4*font, Y: frame.Min.Y - above*font}, Max: geom.Point{X: frame.Max.X + 1.4*font, Y: frame.Max.Y + 1.5*font}}
	full := geom.Box{Min: plain.Min, Max: geom.Point{X: frame.Max.X + beside*font, Y: frame.Max.Y + below*font}}
	frame = plain
	if alone {
		frame = full
	}
	p := picture{class: f.class, frame: frame, full: full, font: font,
		title: "The table from above: marks and template",
		desc: fmt.Sprintf("%s %s, %s, %s. The head end is %s.", post.Parts(", ", clean(sc.set.Table.Name), "playing surface"),
			sc.by(sc.set.Table.L, sc.set.Table.W), figure.Count(len(sc.set.Marks), "mark"), figure.Count(len(sc.set.Jig.Parts), "piece"), [...]string{"on the left", "at the bottom"}[t])}
	b := new(bytes.Buffer)
	fmt.Fprintf(b, `<g transform="%s">`, t.matrix())
	use := func(l string) { fmt.Fprintf(b, `<use class="l-%s" href="#s-%s"/>`, l, l) }
	use("table")
	use("jig")
	for i, r := range sc.racks {
		if i == 0 || !alone {
			use(r.class)
		}
	}
	use("marks")
	use("contacts")
	b.WriteString(`</g>`)
	sc.planLabels(b, t, font)
	sc.dimensions(b, t, font)
	p.body = b.String()
	return p
}

// planLabels names the ends, the marks, then the pieces.
func (sc *scene) planLabels(b *bytes.Buffer, t turnOf, font float64) {
	inner := geom.EmptyBox().Include(t.apply(sc.table.Min)).Include(t.apply(sc.table.Max))
	s := &spread{font: font, frame: inner, clear: t == portrait}
	for _, m := range sc.set.Marks {
		if m.Kind == layout.Spot {
			s.keep(t.apply(geom.Point{X: m.X, Y: m.Y}), font*0.5)
		}
	}
	for _, m := range sc.set.Marks {
		if m.Kind != layout.Spot {
			s.along(m.Chain(), t, font*0.12)
		}
	}
	for i, r := range sc.racks {
		for _, p := range slices.Concat(r.red, r.other) {
			if i == 0 {
				s.drawn = append(s.drawn, settled(geom.Box{Min: t.apply(p), Max: t.apply(p)}.Grow(sc.set.Job.Balls.Diameter*0.45)))
			}
		}
	}
	for _, p := range sc.set.Jig.Parts {
		if !p.OnTable.Upright && p.Role != jig.Plug && p.Role != jig.SlidingKey {
			s.along(p.Outline.Transform(p.OnTable.Plan()), t, font*0.06)
		}
		for _, o := range p.Openings {
			if !p.OnTable.Upright && o.Mark == "" {
				b := o.Contour().Transform(p.OnTable.Plan()).Bounds()
				s.drawn = append(s.drawn, settled(geom.EmptyBox().Include(t.apply(b.Min)).Include(t.apply(b.Max))))
			}
		}
	}
	var marks, pieces []label
	for _, kind := range []layout.Kind{layout.Spot, layout.Line, layout.Arc, layout.Outline} {
		for i, m := range sc.set.Marks {
			if m.Kind == kind {
				l := label{text: clean(m.Name), at: t.apply(middle(m)), class: "name", id: fmt.Sprintf("m%d", i)}
				if kind != layout.Spot {
					l.also = beside(m.Chain(), t, font, l.text)
				}
				marks = append(marks, l)
			}
		}
	}
	for i, p := range sc.set.Jig.Parts {
		if p.Role == jig.Plug || p.Role == jig.SlidingKey {
			continue
		}
		at := p.OnTable.Plan().Apply(p.Outline.Bounds().Center())
		id := fmt.Sprintf("p%d", i)
		if p.OnTable.Upright {
			at = sc.finPlan(p).Bounds().Center()
			id = fmt.Sprintf("u%d", i)
		}
		var also []geom.Point
		if !p.OnTable.Upright {
			for _, q := range p.Outline.Inner(font) {
				also = append(also, t.apply(p.OnTable.Plan().Apply(q)))
			}
		}
		pieces = append(pieces, label{text: p.ID, at: t.apply(at), class: "piece", id: id, here: !p.OnTable.Upright, also: also})
	}
	b.WriteString(`<g class="l-names">`)
	s.write(b, marks)
	b.WriteString(`</g><g class="l-pieces">`)
	s.write(b, pieces)
	b.WriteString("</g>")
	sc.endNames(b, t, font)
}

// beside lists middles for a line's name right beside it, on either side, from its middle
// outwards: a name with a leader to the middle of a line reads as that of what lies there.
func beside(c geom.Contour, t turnOf, font float64, text string) []geom.Point {
	w, h := float64(len([]rune(text)))*charWidth*font, font*1.15
	var out []geom.Point
	for _, at := range []float64{0.5, 0.4, 0.6, 0.3, 0.7, 0.2, 0.8, 0.1, 0.9} {
		i := min(int(at*float64(c.Len())), c.Len()-1)
		g := c.Segment(i)
		f := at*float64(c.Len()) - float64(i)
		p, q := t.apply(g.At(f)), t.apply(g.At(f).Add(g.Tangent(f)))
		n := q.Sub(p).Left()
		for _, side := range []float64{1, -1} {
			out = append(out, p.Add(geom.Vec{X: side * n.X * (w/2 + 0.35*font), Y: side * n.Y * (h/2 + 0.2*font)}))
		}
	}
	return out
}

// endNames says which end is which, on the rails.
func (sc *scene) endNames(b *bytes.Buffer, t turnOf, font float64) {
	mid := (sc.table.Min.Y + sc.table.Max.Y) / 2
	off := sc.frame() + font*0.55
	for _, e := range []struct {
		text string
		at   geom.Point
	}{{"head (baulk) end", geom.Point{X: sc.table.Min.X - off, Y: mid}}, {"foot (top) end", geom.Point{X: sc.table.Max.X + off, Y: mid}}} {
		q := t.apply(e.at)
		turn := ""
		if t == landscape {
			turn = fmt.Sprintf(` transform="rotate(-90 %s %s)"`, num(q.X, 1), num(q.Y, 1))
		}
		fmt.Fprintf(b, `<text class="end" x="%s" y="%s"%s>%s</text>`, num(q.X, 1), num(q.Y+font*0.35, 1), turn, e.text)
	}
}

// station is one value to be dimensioned, with where its witness line begins.
type station struct{ value, from float64 }

// stations gathers the distinct values of the marks' places along x (from the
// head nose) or across y (from the centre line); spots first, then lines.
func (sc *scene) stations(along bool) []station {
	var out []station
	seen := map[string]bool{}
	add := func(x, y float64) {
		st := station{x, y}
		if !along {
			st = station{y, x}
		}
		if k := figure.Tenth(st.value); !seen[k] {
			seen[k] = true
			out = append(out, st)
		}
	}
	for _, m := range sc.set.Marks {
		switch m.Kind {
		case layout.Spot:
			add(m.X, m.Y)
		case layout.Line:
			if along || m.X != m.X2 {
				add(m.X, m.Y)
			}
		case layout.Arc:
			add(m.X, m.Y)
		}
	}
	sort.SliceStable(out, func(i, j int) bool { return out[i].value < out[j].value })
	return out
}

// dimensions writes ordinates: every station's distance from the head nose on
// one side of the table and from the centre line on the other.
func (sc *scene) dimensions(b *bytes.Buffer, t turnOf, font float64) {
	b.WriteString(`<g class="l-dims">`)
	edge := sc.frame() + font*0.4
	along := append([]station{{0, 0}}, sc.stations(true)...)
	along = append(along, station{sc.set.Table.L, 0})
	across := sc.stations(false)
	if t == landscape {
		sc.ordinates(b, t, ordinateRow{along, true, sc.table.Min.Y - edge, -font})
		sc.ordinates(b, t, ordinateRow{across, false, sc.table.Max.X + edge + font*1.3, font})
	} else {
		sc.ordinates(b, t, ordinateRow{along, true, sc.table.Min.Y - edge, -font})
		sc.ordinates(b, t, ordinateRow{across, false, sc.table.Min.X - edge - font*1.3, -font})
	}
	b.WriteString("</g>")
}

// ordinateRow is one row of ordinates: its values, whether they run along the
// table, where the row stands and how far one text size outwards is.
type ordinateRow struct {
	stations []station
	along    bool
	edge     float64
	out      float64
}

func (sc *scene) ordinates(b *bytes.Buffer, t turnOf, r ordinateRow) {
	at := spaced(r.stations, 1.15*math.Abs(r.out))
	for i, s := range r.stations {
		p := func(v, w float64) geom.Point {
			if r.along {
				return t.apply(geom.Point{X: v, Y: w})
			}
			return t.apply(geom.Point{X: w, Y: v})
		}
		path := []geom.Point{p(s.value, s.from), p(s.value, r.edge), p(at[i], r.edge+r.out*1.2), p(at[i], r.edge+r.out*1.6)}
		b.WriteString(`<path class="dim" d="`)
		for k, q := range path {
			b.WriteByte("ML"[min(k, 1)])
			b.WriteString(num(q.X, 1) + " " + num(q.Y, 1))
		}
		b.WriteString(`"/>`)
		ordinateText(b, p(at[i], r.edge+r.out*1.8), path[3].Sub(path[2]), sc.length(s.value), math.Abs(r.out))
	}
}

// ordinateText writes a value that begins at q and reads along dir, never upside down.
func ordinateText(b *bytes.Buffer, q geom.Point, dir geom.Vec, text string, font float64) {
	x, y := num(q.X, 1), num(q.Y, 1)
	switch {
	case dir.Y > 1e-6: // downwards: text reads upwards and ends at q
		fmt.Fprintf(b, `<text class="value end-at" x="%s" y="%s" transform="rotate(-90 %s %s)" dy="%s">%s</text>`, x, y, x, y, num(font*0.35, 1), text)
	case dir.X < -1e-6:
		fmt.Fprintf(b, `<text class="value end-at" x="%s" y="%s" dy="%s">%s</text>`, x, y, num(font*0.35, 1), text)
	default:
		fmt.Fprintf(b, `<text class="value start-at" x="%s" y="%s" dy="%s">%s</text>`, x, y, num(font*0.35, 1), text)
	}
}

// spaced moves sorted values apart to at least gap, each as little as a pass
// upwards and a pass back allow.
func spaced(s []station, gap float64) []float64 {
	at := make([]float64, len(s))
	for i := range s {
		at[i] = s[i].value
		if i > 0 && at[i] < at[i-1]+gap {
			at[i] = at[i-1] + gap
		}
	}
	for i := len(s) - 1; i >= 0; i-- {
		limit := s[len(s)-1].value - gap*float64(len(s)-1-i)
		if at[i] > limit {
			at[i] = limit
		}
	}
	return at
}

// travel returns the machine's travel in the sheet frame: the soft limits less
// the work zero where the profile declares it, else as if the work zero stood in
// the corner of the travel.
func (sc *scene) travel() (box geom.Box, known bool) {
	m := sc.set.Machine
	if m.Max.X <= m.Min.X || m.Max.Y <= m.Min.Y {
		return geom.EmptyBox(), false
	}
	zero, known := m.Offsets[1]
	if !known {
		zero = m.Min
	}
	return geom.Box{Min: geom.Point{X: m.Min.X - zero.X, Y: m.Min.Y - zero.Y}, Max: geom.Point{X: m.Max.X - zero.X, Y: m.Max.Y - zero.Y}}, known
}

// newSheetPicture draws one sheet with its pieces, the cut's extents and the
// machine's travel round it.
func newSheetPicture(sc *scene, s post.Sheet) picture {
	stock := geom.Box{Max: geom.Point{X: s.Width, Y: s.Height}}
	all := stock
	travel, known := sc.travel()
	if !travel.IsEmpty() {
		all = all.Union(travel)
	}
	all = all.Union(s.Bounds).Grow(stock.Width() * 0.015)
	font := layoutSheet.size * all.Width() / layoutSheet.width
	frame := geom.Box{Min: geom.Point{X: all.Min.X, Y: -all.Max.Y}, Max: geom.Point{X: all.Max.X, Y: -all.Min.Y}}
	p := picture{class: "sheet", frame: frame, font: font, title: fmt.Sprintf("Sheet %d", s.N),
		desc: fmt.Sprintf("%s by %s mm with %s", figure.Tenth(s.Width), figure.Tenth(s.Height), strings.Join(pieceNames(s), ", "))}
	b := new(bytes.Buffer)
	b.WriteString(`<g transform="matrix(1 0 0 -1 0 0)">`)
	writeBox(b, "stock", stock)
	for _, pl := range s.Placed {
		i, ok := sc.index[pl.ID]
		if !ok {
			continue
		}
		at := turned(pl.On) + scaled(sc.pieces[i].Scale)
		fmt.Fprintf(b, `<use href="#p%d" data-part="%s" transform="%s"/>`, i, esc(pl.ID), at)
		if len(sc.pieces[i].Letters) > 0 {
			fmt.Fprintf(b, `<use href="#l%d" transform="%s"/>`, i, at)
		}
	}
	if !s.Bounds.IsEmpty() && s.Bounds.Width() > 0 {
		writeBox(b, "bounds", s.Bounds)
	}
	if !travel.IsEmpty() {
		writeBox(b, map[bool]string{true: "travel", false: "travel guess"}[known], travel)
	}
	b.WriteString(`</g><g class="l-pieces">`)
	sp := &spread{font: font, frame: frame}
	var labels []label
	for _, pl := range s.Placed {
		if i, ok := sc.index[pl.ID]; ok {
			part := sc.pieces[i]
			up := func(p geom.Point) geom.Point { c := pl.On.Apply(p); return geom.Point{X: c.X, Y: -c.Y} }
			for _, c := range slices.Concat(openingsOf(part), part.Letters, part.Scores) {
				box := c.Bounds()
				sp.drawn = append(sp.drawn, settled(geom.EmptyBox().Include(up(box.Min)).Include(up(box.Max))))
			}
			var also []geom.Point
			for _, q := range part.Outline.Inner(font) {
				also = append(also, up(q))
			}
			labels = append(labels, label{text: pl.ID, at: up(part.Outline.Bounds().Center()), class: "piece", id: fmt.Sprintf("p%d", i), here: true, also: also})
		}
	}
	sp.write(b, labels)
	b.WriteString("</g>")
	p.body = b.String()
	return p
}

// openingsOf are a piece's openings as contours, part frame.
func openingsOf(p jig.Part) []geom.Contour {
	var out []geom.Contour
	for _, o := range p.Openings {
		out = append(out, o.Contour())
	}
	return out
}

// scaled is the growth allowance of a piece as a transform; nothing at 1.
func scaled(k float64) string {
	if k == 0 || k == 1 {
		return ""
	}
	return " scale(" + num(k, 8) + ")"
}

func pieceNames(s post.Sheet) []string {
	var out []string
	for _, p := range s.Placed {
		out = append(out, clean(p.ID))
	}
	return out
}

func writeBox(b *bytes.Buffer, class string, x geom.Box) {
	fmt.Fprintf(b, `<rect class="%s" x="%s" y="%s" width="%s" height="%s"/>`, class, num(x.Min.X, fine), num(x.Min.Y, fine), num(x.Width(), fine), num(x.Height(), fine))
}
