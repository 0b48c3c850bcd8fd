package view

import (
	"bytes"
	"fmt"
	"math"

	"spotjig/layout/geom"
)

// charWidth is the width of an average character over the font size, for
// sans-serif text; a little generous, so that labels keep clear of each other.
const charWidth = 0.58

// namesApart is kept between names on one line, over the font size: nearer they read as one.
const namesApart = 0.4

// label is one text of a picture, picture frame (y down).
type label struct {
	text  string
	at    geom.Point // what it speaks of
	class string
	id    string       // of what it names, for lighting up; "" for none
	here  bool         // centred on its point rather than beside it
	also  []geom.Point // other middles, tried before places beside it
}

// spread places labels one after the other where they meet neither each other
// nor the frame; a label with no room is left out (the lists name everything).
type spread struct {
	font  float64    // size in picture units
	frame geom.Box   // labels stay inside
	taken []geom.Box // where no label goes
	clear bool       // a label that would lie over what is drawn is left out: a small screen has a list under the picture
	drawn []geom.Box // lines, balls, holes and lettering: no label goes there while there is other room
}

// stand is where a text may stand for a label: the text box's middle, off the point, in
// units of half the box and the font size.
type stand struct{ dx, dy, gap float64 }

// stands are tried in this order: beside, above and below, the corners, then the
// same farther away, with a leader.
var stands = func() (out []stand) {
	for _, gap := range []float64{0.5, 1.5, 3, 4.5, 6.5, 9, 12} {
		for _, d := range [][2]float64{{1, 0}, {-1, 0}, {0, -1}, {0, 1}, {1, -1}, {1, 1}, {-1, -1}, {-1, 1}} {
			out = append(out, stand{d[0], d[1], gap})
		}
	}
	return out
}()

// find returns the middle of the label's text and whether there is room.
func (s *spread) find(l label) (at geom.Point, far, ok bool) {
	w, h := float64(len([]rune(l.text)))*charWidth*s.font, s.font*1.15
	soft := true
	try := func(c geom.Point) bool {
		box := settled(geom.Box{Min: geom.Point{X: c.X - w/2, Y: c.Y - h/2}, Max: geom.Point{X: c.X + w/2, Y: c.Y + h/2}})
		if !s.frame.Holds(box) {
			return false
		}
		apart := geom.Box{Min: geom.Point{X: box.Min.X - namesApart*s.font, Y: box.Min.Y}, Max: geom.Point{X: box.Max.X + namesApart*s.font, Y: box.Max.Y}}
		for _, t := range s.taken {
			if t.Overlaps(apart) {
				return false
			}
		}
		for _, d := range s.drawn {
			if soft && d.Overlaps(box) {
				return false
			}
		}
		s.taken = append(s.taken, box)
		return true
	}
	for _, soft = range []bool{true, s.clear} {
		if l.here && try(l.at) {
			return l.at, false, true
		}
		for _, c := range l.also {
			if try(c) {
				return c, false, true
			}
		}
		for _, r := range stands {
			c := geom.Point{X: l.at.X + r.dx*(w/2+r.gap*s.font), Y: l.at.Y + r.dy*(h/2+r.gap*s.font)}
			if try(c) {
				return c, r.gap > 1, true
			}
		}
	}
	return geom.Point{}, false, false
}

// along keeps labels off a chain, table frame, while there is other room, by small squares along it.
func (s *spread) along(c geom.Contour, t turnOf, half float64) {
	for i := range c.Len() {
		g := c.Segment(i)
		n := int(math.Ceil(g.Length()/(2*half))) + 1
		for k := 0; k <= n; k++ {
			p := t.apply(g.At(float64(k) / float64(n)))
			s.drawn = append(s.drawn, settled(geom.Box{Min: p, Max: p}.Grow(half)))
		}
	}
}

// keep reserves a square round a point, so that no label hides it.
func (s *spread) keep(p geom.Point, half float64) {
	s.taken = append(s.taken, settled(geom.Box{Min: p, Max: p}.Grow(half)))
}

// settled rounds a box to 1e-6 mm, so that every processor comes to the same
// answer where two boxes just touch.
func settled(b geom.Box) geom.Box {
	return geom.Box{Min: geom.Point{X: geom.Millionth(b.Min.X), Y: geom.Millionth(b.Min.Y)}, Max: geom.Point{X: geom.Millionth(b.Max.X), Y: geom.Millionth(b.Max.Y)}}
}

// write places the labels and writes those that found room.
func (s *spread) write(b *bytes.Buffer, labels []label) {
	for _, l := range labels {
		c, far, ok := s.find(l)
		if !ok {
			continue
		}
		if far {
			fmt.Fprintf(b, `<path class="leader" d="M%s %sL%s %s"/>`, num(l.at.X, 1), num(l.at.Y, 1), num(c.X, 1), num(c.Y, 1))
		}
		attr := ""
		if l.id != "" {
			attr = ` data-of="` + l.id + `"`
		}
		fmt.Fprintf(b, `<text class="%s"%s x="%s" y="%s">%s</text>`, l.class, attr, num(c.X, 1), num(c.Y+s.font*0.35, 1), esc(l.text))
	}
}
