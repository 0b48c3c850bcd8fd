package dxf

import (
	"bufio"
	"cmp"
	"fmt"
	"io"
	"math"
	"strings"

	"github.com/yofu/dxf/block"
	"github.com/yofu/dxf/class"
	"github.com/yofu/dxf/color"
	"github.com/yofu/dxf/drawing"
	"github.com/yofu/dxf/entity"
	"github.com/yofu/dxf/handle"
	"github.com/yofu/dxf/header"
	"github.com/yofu/dxf/insunit"
	"github.com/yofu/dxf/object"
	"github.com/yofu/dxf/table"

	"spotjig/cam/jig"
	"spotjig/layout/geom"
)

// Options are what a drawing does not hold itself.
type Options struct {
	Version string // of the tool, for the comment at the top
}

// circleTol: arcs of one contour whose centres and radii agree this well are
// one circle. Half the file's last digit: what it joins prints the same.
const circleTol = 0.0000005

// The size of the notes under the sheet, mm.
const (
	noteHeight = 6.0
	notePitch  = 11.0
	noteGap    = 8.0 // from the stock's edge to the first line's top
	barLength  = 100.0
	barTick    = 4.0
)

// Write writes the drawing. Nothing of the library's shared package state is
// written to: drawing.New and table.New hang their owners on package-level
// records, so the sections are put together here from records of our own, and
// drawings written at the same time cannot see each other.
func Write(w io.Writer, what Drawing, opt Options) error {
	shapes := append(append([]Shape(nil), what.Shapes...), noteShapes(what)...)
	f := &formatter{w: bufio.NewWriter(w)}
	f.WriteString(999, "spotjig "+opt.Version+", millimetres, "+cmp.Or(what.Kerf, "nominal size")+", not mirrored")
	for _, s := range sections(shapes) {
		s.Format(f)
	}
	f.WriteString(0, "EOF")
	if f.err != nil {
		return fmt.Errorf("write drawing: %w", f.err)
	}
	if err := f.w.Flush(); err != nil {
		return fmt.Errorf("write drawing: %w", err)
	}
	return nil
}

// noteShapes letters the notes with strokes below the stock, no wider than it, and draws
// the bar.
func noteShapes(d Drawing) []Shape {
	if len(d.Notes) == 0 {
		return nil
	}
	var out []Shape
	y := -noteGap - noteHeight
	for _, note := range d.Notes {
		for _, line := range broken(ascii(note), d.Width) {
			for _, c := range jig.Lettering(line, geom.Point{X: 0, Y: y}, noteHeight) {
				out = append(out, Shape{Note, c})
			}
			y -= notePitch
		}
	}
	at := func(x, dy float64) geom.Vertex { return geom.Vertex{At: geom.Point{X: x, Y: y + dy}} }
	bar := geom.MustOpen(at(0, barTick), at(0, 0), at(barLength, 0), at(barLength, barTick))
	return append(out, Shape{Note, bar})
}

// broken breaks a note between words, and where need be inside one, into lines whose
// strokes are no wider than asked. A width of 0 is no limit.
func broken(s string, width float64) []string {
	fits := func(line string) bool {
		b := geom.EmptyBox()
		for _, c := range jig.Lettering(line, geom.Point{}, noteHeight) {
			b = b.Union(c.Bounds())
		}
		return width <= 0 || b.IsEmpty() || b.Max.X <= width
	}
	var out []string
	line := ""
	for _, word := range strings.Fields(s) {
		if line != "" && fits(line+" "+word) {
			line += " " + word
			continue
		}
		if line != "" {
			out = append(out, line)
		}
		for line = word; !fits(line) && len(line) > 1; {
			n := len(line) - 1
			for n > 1 && !fits(line[:n]) {
				n--
			}
			out, line = append(out, line[:n]), line[n:]
		}
	}
	return append(out, line)
}

// sections builds the six sections in the order of the file, handles given.
func sections(shapes []Shape) []drawing.Section {
	ext := extents(shapes)
	h := header.New()
	h.InsUnit = insunit.Millimeters
	h.ExtMin[0], h.ExtMin[1] = ext.Min.X, ext.Min.Y
	h.ExtMax[0], h.ExtMax[1] = ext.Max.X, ext.Max.Y
	objects, plot := dictionaries()
	tables, byName, model := tableRecords(ext, plot)
	out := []drawing.Section{
		h, class.New(), tables, blocks(byName["0"]), entities(shapes, byName, model), objects,
	}
	next := 1
	for _, s := range out[1:] {
		s.SetHandle(&next)
	}
	out[0].SetHandle(&next)
	return out
}

// extents is the exact box of all shapes; of nothing, the origin.
func extents(shapes []Shape) geom.Box {
	b := geom.EmptyBox()
	for _, s := range shapes {
		b = b.Union(s.Bounds())
	}
	if b.IsEmpty() {
		return geom.Box{}
	}
	return b
}

// dictionaries returns the root dictionary with what an R2000 file must hold,
// and the plot style the layers point to.
func dictionaries() (object.Objects, handle.Handler) {
	root := object.NewDictionary()
	style, plot := object.NewAcDbDictionaryWDFLT(root)
	group := object.NewDictionary()
	root.AddItem("ACAD_PLOTSTYLENAME", style)
	root.AddItem("ACAD_GROUP", group)
	return object.Objects{root, style, plot, group}, plot
}

// tableRecords returns the nine tables, the layers by name and the record of
// model space.
func tableRecords(ext geom.Box, plot handle.Handler) (table.Tables, map[Layer]*table.Layer, handle.Handler) {
	solid := table.NewLineType("Continuous", "Solid Line")
	byName := map[Layer]*table.Layer{}
	layerTable := tableOf("LAYER")
	for _, l := range append([]layerColour{{"0", 7}}, layers()...) {
		r := table.NewLayer(string(l.name), color.ColorNumber(l.colour), solid)
		r.SetPlotStyle(plot)
		layerTable.Add(r)
		byName[l.name] = r
	}
	model := table.NewBlockRecord("*Model_Space")
	return table.Tables{
		tableOf("VPORT", view(ext)),
		tableOf("LTYPE", table.NewLineType("ByLayer", ""), table.NewLineType("ByBlock", ""), solid),
		layerTable,
		tableOf("STYLE", table.NewStyle("Standard")),
		tableOf("VIEW"),
		tableOf("UCS"),
		tableOf("APPID", table.NewAppID("ACAD")),
		tableOf("DIMSTYLE"),
		tableOf("BLOCK_RECORD", model, table.NewBlockRecord("*Paper_Space")),
	}, byName, model
}

func tableOf(name string, records ...table.SymbolTable) *table.Table {
	t := table.NewTable(name)
	for _, r := range records {
		t.Add(r)
	}
	return t
}

// view is the window a viewer opens with: everything, with a tenth around it.
func view(ext geom.Box) *table.Viewport {
	v := table.NewViewport("*Active")
	c := ext.Center()
	v.UpperRight = []float64{1, 1}
	v.ViewCenter = []float64{c.X, c.Y}
	v.SnapSpacing = []float64{10, 10}
	v.GridSpacing = []float64{10, 10}
	v.ViewDirection = []float64{0, 0, 1}
	v.Height = math.Max(1, 1.1*math.Max(ext.Width(), ext.Height()))
	v.AspectRatio = 1
	return v
}

// blocks are model and paper space; a second paper space would be an orphan.
func blocks(zero *table.Layer) block.Blocks {
	bs := block.Blocks{block.NewBlock("*Model_Space", ""), block.NewBlock("*Paper_Space", "")}
	for _, b := range bs {
		b.SetLayer(zero)
	}
	return bs
}

func entities(shapes []Shape, byName map[Layer]*table.Layer, model handle.Handler) entity.Entities {
	out := make(entity.Entities, len(shapes))
	for i, s := range shapes {
		l, ok := byName[s.Layer]
		if !ok {
			panic("dxf: internal error: no layer " + string(s.Layer))
		}
		if c, r, ok := circle(s.Contour); ok {
			e := entity.NewCircle()
			e.Center = []float64{c.X, c.Y, 0}
			e.Radius = r
			e.SetLayer(l)
			e.SetOwner(model)
			out[i] = e
			continue
		}
		e := polyline(s.Contour)
		e.SetLayer(l)
		e.SetOwner(model)
		out[i] = e
	}
	return out
}

func polyline(c geom.Contour) *entity.LwPolyline {
	v := c.Vertices()
	e := entity.NewLwPolyline(len(v))
	for i, p := range v {
		e.Vertices[i][0], e.Vertices[i][1] = p.At.X, p.At.Y
		e.Bulges[i] = p.Bulge
	}
	if c.Closed() {
		e.Close()
	}
	return e
}

// circle reports whether a closed contour is one full circle: all arcs, one
// centre, one radius, once round.
func circle(c geom.Contour) (at geom.Point, r float64, ok bool) {
	if !c.Closed() {
		return at, 0, false
	}
	turned := 0.0
	for i, s := range c.Segments() {
		if !s.IsArc() {
			return at, 0, false
		}
		if i == 0 {
			at, r = s.Center(), s.Radius()
		}
		if s.Center().Dist(at) > circleTol || math.Abs(s.Radius()-r) > circleTol {
			return at, 0, false
		}
		turned += float64(s.Sweep())
	}
	return at, r, math.Abs(math.Abs(turned)-2*math.Pi) < circleTol
}
