// Package dxf writes a sheet as a DXF drawing: nominal geometry as nested, in
// millimetres, for a shop that applies its own kerf. It writes R2000 (AC1015)
// ASCII through github.com/yofu/dxf.
//
// A full circle is one CIRCLE, every other closed contour one closed LWPOLYLINE
// with bulges, a stroke an open LWPOLYLINE; nothing else is in model space. It
// writes no TEXT, because cutters skip or reject it: letters are strokes.
package dxf

import (
	"fmt"
	"strings"

	"spotjig/cam/jig"
	"spotjig/layout/figure"
	"spotjig/layout/geom"
	"spotjig/post"
)

// Layer is a layer of the drawing; each is one kind of work for a shop.
type Layer string

// The layers.
const (
	Stock     Layer = "SHEET"     // stock edge, not cut
	Outline   Layer = "OUTLINE"   // outer cuts
	Opening   Layer = "OPENING"   // inner cuts
	Score     Layer = "SCORE"     // fold, registration and scale lines
	Lettering Layer = "LETTERING" // strokes on the face
	Note      Layer = "NOTE"      // never cut, outside the stock
)

// layers lists the layers in the order of the file, with their colour numbers
// (1 red, 2 yellow, 3 green, 5 blue, 7 black or white, 8 grey). Colours mean
// nothing to a cutter here: the layer's name says what to do.
func layers() []layerColour {
	return []layerColour{{Stock, 8}, {Outline, 1}, {Opening, 5}, {Score, 3}, {Lettering, 7}, {Note, 2}}
}

type layerColour struct {
	name   Layer
	colour int
}

// Shape is one contour on a layer, sheet frame.
type Shape struct {
	Layer Layer
	geom.Contour
}

// Drawing is what goes into one file, sheet frame, mm.
type Drawing struct {
	Width, Height float64 // of the stock
	Shapes        []Shape // in the order they are drawn
	Notes         []string
}

// FromSet returns the drawing of sheet i (an index, not a sheet number) of the
// set: the stock's edge, and every part placed on it, multiplied by its scale,
// what is cut first coming first.
func FromSet(set post.Set, i int) Drawing {
	sh := set.Sheets[i]
	d := Drawing{Width: sh.Width, Height: sh.Height}
	d.Shapes = append(d.Shapes, Shape{Stock, geom.Rect(geom.Box{Max: geom.Point{X: sh.Width, Y: sh.Height}})})
	for _, pl := range sh.Placed {
		p, ok := set.Part(pl.ID)
		if !ok {
			panic("dxf: internal error: sheet holds unknown part " + pl.ID)
		}
		d.Shapes = append(d.Shapes, partShapes(p, pl.On)...)
	}
	d.Notes = notes(set, i)
	return d
}

// partShapes carries a part from its frame to the sheet's, letters first and
// outline last, so that a shop that cuts in file order frees nothing too early.
func partShapes(p jig.Part, on geom.Placement) []Shape {
	var out []Shape
	add := func(l Layer, c geom.Contour) {
		out = append(out, Shape{l, c.Scaled(cutScale(p)).Transform(on)})
	}
	for _, c := range p.Letters {
		add(Lettering, c)
	}
	for _, c := range p.Scores {
		add(Score, c)
	}
	for _, o := range p.Openings {
		add(Opening, o.Contour())
	}
	add(Outline, p.Outline)
	return out
}

// cutScale is what the part is multiplied by; a part that says nothing is not.
func cutScale(p jig.Part) float64 {
	if p.Scale == 0 {
		return 1
	}
	return p.Scale
}

// notes says what a shop must know, one line each.
func notes(set post.Set, i int) []string {
	sh := set.Sheets[i]
	return []string{
		fmt.Sprintf("sheet %d of %d: %s, %s x %s mm", sh.N, len(set.Sheets), figure.Count(len(sh.Placed), "part"), figure.Short(sh.Width, 2), figure.Short(sh.Height, 2)),
		fmt.Sprintf("%s, thickness %s mm", ascii(set.Material.Kind), figure.Short(set.Material.Thickness, 2)),
		"nominal: apply your kerf",
		"do not mirror",
		"units mm; the bar is 100 mm long",
	}
}

// noteMax is the longest note line in characters: what fits beside a sheet.
const noteMax = 80

// ascii keeps what the stroke alphabet can letter; any other character becomes
// a question mark, so that no input can add a line or an entity.
func ascii(s string) string {
	var b strings.Builder
	for _, r := range s {
		if r < ' ' || r > '~' {
			r = '?'
		}
		if b.WriteRune(r); b.Len() == noteMax {
			break
		}
	}
	return b.String()
}
