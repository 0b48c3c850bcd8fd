// Package svg writes what is cut from a sheet as SVG 1.1 at its true size, in millimetres,
// for software that takes no DXF. The picture is the sheet: its view box is the stock, with
// y down. There is one group a layer, named by its id and in its colour, and in it nothing
// but paths, each a contour of lines and circular arcs; letters are strokes.
package svg

import (
	"bufio"
	"errors"
	"fmt"
	"io"
	"math"
	"strconv"
	"strings"

	"spotjig/layout/geom"
	"spotjig/layout/job"
	"spotjig/post"
)

// Options are what a set does not hold itself.
type Options struct {
	Version string // of the tool, for the comment at the top
}

const (
	// hairline is the width of every line, mm: software that tells cuts from engravings by
	// the width takes what is thin for a cut (common practice).
	hairline = "0.05"
	// digits after the point, of mm.
	digits = 6
	// sweepMax is the longest arc written in one piece. SVG gives an arc by its radius, and
	// near half a circle the middle hangs on the root of the radius' last digit.
	sweepMax = float64(100 * geom.Degree)
)

// group is one layer of the file.
type group struct {
	id, colour string
	holds      func(post.Drawn) bool
}

// groups lists the layers in the order in which they are cut. A piece that lies in
// another's opening has a group of its own, and so has that opening, after it.
func groups(set post.Set) []group {
	c := set.Job.Colours
	of := func(l post.Layer, nested bool) func(post.Drawn) bool {
		return func(d post.Drawn) bool { return d.Layer == l && d.Nested == nested }
	}
	return []group{
		{"LETTERING", c.Lettering, of(post.LayerLettering, false)},
		{"SCORE", c.Score, of(post.LayerScore, false)},
		{"OPENING", c.Opening, of(post.LayerOpening, false)},
		{"OUTLINE-INSIDE", c.Outline, of(post.LayerOutline, true)},
		{"OPENING-AROUND", c.Opening, of(post.LayerOpening, true)},
		{"OUTLINE", c.Outline, of(post.LayerOutline, false)},
	}
}

// ErrColour is wrapped where a layer's colour is not red, green and blue in two digits each.
var ErrColour = errors.New("svg")

// Write writes the i-th sheet (an index, not a sheet number). Groups that hold nothing are
// left out.
func Write(w io.Writer, set post.Set, i int, opt Options) error {
	sheet := set.Sheets[i]
	drawn, err := set.Drawing(i)
	if err != nil {
		return err
	}
	for _, g := range groups(set) {
		if !job.IsColour(g.colour) {
			return fmt.Errorf("%w: %.20q is no colour", ErrColour, g.colour)
		}
	}
	kerf := "nominal size: apply your kerf"
	if set.Compensated() {
		kerf = "kerf taken: cut on the line"
	}
	b := bufio.NewWriter(w)
	fmt.Fprintf(b, "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n<!-- spotjig %s, sheet %d of %d, millimetres, %s, do not mirror -->\n",
		commented(opt.Version), sheet.N, len(set.Sheets), kerf)
	width, height := number(sheet.Width), number(sheet.Height)
	fmt.Fprintf(b, "<svg xmlns=\"http://www.w3.org/2000/svg\" version=\"1.1\" width=\"%smm\" height=\"%smm\" viewBox=\"0 0 %s %s\">\n", width, height, width, height)
	for _, g := range groups(set) {
		open := false
		for _, d := range drawn {
			if !g.holds(d) {
				continue
			}
			if !open {
				fmt.Fprintf(b, "<g id=\"%s\" fill=\"none\" stroke=\"%s\" stroke-width=\"%s\">\n", g.id, g.colour, hairline)
				open = true
			}
			fmt.Fprintf(b, "<path d=\"%s\"/>\n", pathOf(d.Contour, sheet.Height))
		}
		if open {
			b.WriteString("</g>\n")
		}
	}
	b.WriteString("</svg>\n")
	return b.Flush()
}

// commented is text that may stand in a comment of XML, which ends at two hyphens.
func commented(s string) string {
	return strings.Map(func(r rune) rune {
		if r > ' ' && r <= '~' && r != '-' && r != '<' && r != '&' {
			return r
		}
		return '_'
	}, s)
}

// pathOf is a contour as path data, y counted down from the sheet's upper edge.
func pathOf(c geom.Contour, height float64) string {
	var b strings.Builder
	at := func(p geom.Point) string { return number(p.X) + " " + number(height-p.Y) }
	segs := c.Segments()
	b.WriteString("M" + at(segs[0].From))
	for i, s := range segs {
		if !s.IsArc() {
			if last := i == len(segs)-1 && c.Closed(); !last {
				b.WriteString("L" + at(s.To))
			}
			continue
		}
		n := int(math.Ceil(math.Abs(float64(s.Sweep()))/sweepMax - 1e-9))
		sense := "0" // against the clock, as seen
		if s.Bulge < 0 {
			sense = "1"
		}
		r := number(s.Radius())
		for k := 1; k <= n; k++ {
			to := s.To
			if k < n {
				to = s.At(float64(k) / float64(n))
			}
			b.WriteString("A" + r + " " + r + " 0 0 " + sense + " " + at(to))
		}
	}
	if c.Closed() {
		b.WriteByte('Z')
	}
	return b.String()
}

// number prints v without idle zeros, an exponent or a minus before nothing.
func number(v float64) string {
	s := strings.TrimRight(strconv.FormatFloat(v, 'f', digits, 64), "0")
	s = strings.TrimSuffix(s, ".")
	if s == "-0" {
		return "0"
	}
	return s
}
