// Package dxf writes a sheet as a DXF drawing: geometry as nested, in millimetres,
// nominal for a shop that applies its own kerf, or with the kerf taken already. It writes R2000 (AC1015)
// ASCII through github.com/yofu/dxf.
//
// A full circle is one CIRCLE, every other closed contour one closed LWPOLYLINE
// with bulges, a stroke an open LWPOLYLINE; nothing else is in model space. It
// writes no TEXT, because cutters skip or reject it: letters are strokes.
package dxf

import (
	"fmt"
	"strings"

	"spotjig/layout/figure"
	"spotjig/layout/geom"
	"spotjig/post"
)

// Layer is a layer of the drawing; each is one kind of work for a shop.
type Layer = post.Layer

// The layers.
const (
	Stock     = post.LayerSheet
	Outline   = post.LayerOutline
	Opening   = post.LayerOpening
	Score     = post.LayerScore
	Lettering = post.LayerLettering
	Note      = post.LayerNote
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
	Kerf          string  // "nominal size" or "kerf taken", for the comment at the top
	Shapes        []Shape // in the order they are drawn
	Notes         []string
}

// FromSet returns the drawing of sheet i (an index, not a sheet number) of the
// set: the stock's edge, and what is cut in the order of post.Set.Drawing.
func FromSet(set post.Set, i int) (Drawing, error) {
	sh := set.Sheets[i]
	d := Drawing{Width: sh.Width, Height: sh.Height, Kerf: "nominal size"}
	if set.Compensated() {
		d.Kerf = "kerf taken"
	}
	d.Shapes = append(d.Shapes, Shape{Stock, geom.Rect(geom.Box{Max: geom.Point{X: sh.Width, Y: sh.Height}})})
	drawn, err := set.Drawing(i)
	for _, s := range drawn {
		d.Shapes = append(d.Shapes, Shape{s.Layer, s.Contour})
	}
	d.Notes = notes(set, i)
	return d, err
}

// notes says what a shop must know, one line each.
func notes(set post.Set, i int) []string {
	sh := set.Sheets[i]
	kerf := "nominal: apply your kerf"
	if set.Compensated() {
		kerf = fmt.Sprintf("compensated: a kerf of %s mm is taken already. Cut on the line", figure.Short(set.Material.Kerf, 3))
	}
	return []string{
		fmt.Sprintf("sheet %d of %d: %s, %s x %s mm", sh.N, len(set.Sheets), figure.Count(len(sh.Placed), "part"), figure.Short(sh.Width, 2), figure.Short(sh.Height, 2)),
		fmt.Sprintf("%s, thickness %s mm", ascii(set.Material.Kind), figure.Short(set.Material.Thickness, 2)),
		kerf,
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
