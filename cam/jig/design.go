package jig

import (
	"fmt"
	"math"
	"sort"

	"spotjig/cam/machine"
	"spotjig/layout"
	"spotjig/layout/geom"
	"spotjig/layout/job"
)

// Request is all that Design is told.
type Request struct {
	Name, Date, Version string // lettered on the pieces
	Table               layout.Table
	Games               []string
	Marks               []layout.Mark   // table frame
	Also                []job.AlsoTable // other tables the jig should serve
	BallDiameter        float64         // mm; sets the nose height a fin must reach
	Want                job.Jig
	Machine             machine.Profile
	Material            machine.Material
}

// SizeError says that the bed is too small for a piece, with both sizes in mm.
type SizeError struct {
	Piece            string
	NeedW, NeedH     float64
	UsableW, UsableH float64
	Reason           string
}

// Error names the piece, its size, the usable bed and why.
func (e *SizeError) Error() string {
	return fmt.Sprintf("%s needs %.1f x %.1f mm and the usable bed is %.1f x %.1f mm: %s",
		e.Piece, e.NeedW, e.NeedH, e.UsableW, e.UsableH, e.Reason)
}

// Design turns marks into the parts of a head and a foot template.
//
// Both templates are drawn by the same code in the template frame: u runs from
// the template's own end nose towards the middle of the table, v across. At the
// head that is the table frame; at the foot it is the table frame turned half
// round about the middle of the table, never mirrored.
//
// The stages are: plan (members as rectangles), tile (pieces no larger than the
// bed), what touches the noses, joints, openings, scores, lettering, checks. Plate
// and film differ in what a kind does at some of them.
func Design(req Request, k Kind) (Jig, error) {
	lim, font := k.Limits(), NewFont()
	var out Jig
	var all []*Template
	for _, end := range []string{"head", "foot"} {
		tp, err := planEnd(end, k, req)
		if err != nil {
			return Jig{}, err
		}
		if tp != nil {
			all = append(all, tp)
		}
	}
	if err := k.Join(all); err != nil {
		return Jig{}, err
	}
	out.Budgets = budgets(all, lim, req)
	serves := lengthClass(out.Budgets, req)
	out.LengthMin, out.LengthMax = serves[0], serves[1]
	for _, tp := range all {
		k.Cut(tp)
		k.Score(tp)
		handles(tp, lim, req.Machine)
		labels{req, lim, font, serves}.write(tp)
		out.Parts = append(append(out.Parts, flatParts(tp)...), k.Parts(tp)...)
		out.Joints = append(out.Joints, jointsOf(tp)...)
	}
	compensate(out.Parts, req)
	out.Checks = k.Checks(all, look(all, out, lim, req, serves))
	return out, nil
}

// Kind is a way to build a template: of plate, with fins and dovetails, or of film,
// with blocks and laps.
type Kind interface {
	// limits are those that hold in the whole design.
	Limits() Limits
	// stand sets on a tiled template what touches the noses: tp.fins.
	Stand(tp *Template)
	// join says how every seam is joined.
	Join(all []*Template) error
	// cut draws the outlines and opens all that goes through.
	Cut(tp *Template)
	// score draws lines and figures that are not cut through, and keeps clear for
	// them the places where lettering must not stand.
	Score(tp *Template)
	// parts are those that are no flat pieces.
	Parts(tp *Template) []Part
	// checks adds the kind's own to those made of every jig, and puts them in order.
	Checks(all []*Template, of Looked) []Check
}

// Template is one end's jig while it is being designed, template frame.
type Template struct {
	End      string // "head" or "foot"
	Letter   string // "H" or "F"
	ToTable  geom.Placement
	Elements []Element
	members  []member
	Pieces   []*Piece
	Seams    []*Seam
	Fins     []*Fin
	Covered  []cover
	Leg      Span // where the legs stand, left side
	split    float64
}

// Element is what one mark asks of a template, template frame: a point, a
// straight line or an arc (counter-clockwise from start to end, degrees).
type Element struct {
	mark       string
	Kind       layout.Kind
	A, B       geom.Point
	r          float64
	start, end float64
	from       float64 // how far along its mark the element begins, mm
}

// Bounds returns the element's exact box.
func (e Element) Bounds() geom.Box {
	switch e.Kind {
	case layout.Arc:
		return e.chain().Bounds()
	case layout.Line:
		return geom.EmptyBox().Include(e.A).Include(e.B)
	}
	return geom.EmptyBox().Include(e.A)
}

// chain returns a line's or an arc's path as an open contour.
func (e Element) chain() geom.Contour {
	if e.Kind == layout.Line {
		return geom.MustOpen(geom.Vertex{At: e.A}, geom.Vertex{At: e.B})
	}
	n := int(math.Ceil((e.end - e.start) / 90))
	step := (e.end - e.start) / float64(n)
	var v []geom.Vertex
	for i := 0; i <= n; i++ {
		v = append(v, geom.Vertex{At: e.arcPoint(e.start + step*float64(i)), Bulge: math.Tan(step * math.Pi / 720)})
	}
	return geom.MustOpen(v...)
}

func (e Element) arcPoint(deg float64) geom.Point {
	s, c := math.Sincos(deg * math.Pi / 180)
	return geom.Point{X: e.A.X + e.r*c, Y: e.A.Y + e.r*s}
}

// Length is the element's length, mm; 0 for a spot.
func (e Element) Length() float64 {
	switch e.Kind {
	case layout.Line:
		return e.A.Dist(e.B)
	case layout.Arc:
		return e.r * (e.end - e.start) * math.Pi / 180
	}
	return 0
}

// Point returns the point at distance s along a line or an arc.
func (e Element) Point(s float64) geom.Point {
	if e.Kind == layout.Line {
		return e.A.Add(e.B.Sub(e.A).Unit().Scale(s))
	}
	return e.arcPoint(e.start + s/e.r*180/math.Pi)
}

// planEnd plans one end's template up to its seams, nil when it has no mark. Where a
// table is followed as surveyed, the template's frame depends on where its side nose
// is touched, which is known only once it is planned: then it is planned again.
func planEnd(end string, k Kind, req Request) (*Template, error) {
	lim := k.Limits()
	station := 250.0
	for range 3 {
		tp := newTemplate(end, station, req)
		if len(tp.Elements) == 0 {
			return nil, nil
		}
		plan(tp, lim, req.Table)
		if err := tile(tp, lim, req.Table); err != nil {
			return nil, err
		}
		k.Stand(tp)
		side := station
		for _, f := range tp.Fins {
			if f.Role == SideFin {
				side = f.Front.X
			}
		}
		if !follows(req.Table, req.Want) || math.Abs(side-station) < 0.001 {
			findJoints(tp)
			return tp, nil
		}
		station = side
	}
	return nil, fmt.Errorf("the %s template's side fins find no place on the table as surveyed", end)
}

// follows reports whether the jig is for this one table, as surveyed.
func follows(table layout.Table, want job.Jig) bool { return want.For == "this" && table.Surveyed }

// frameAt returns the placement from the template frame to the table frame. On a
// true rectangle that is the identity at the head and half a turn at the foot.
// On a table as surveyed u runs square to the nose that the end fins touch, and
// v = 0 passes through the middle of the width where the side fins stand, as the
// side scales find it.
func frameAt(end string, station float64, table layout.Table, want job.Jig) geom.Placement {
	if !follows(table, want) {
		if end == "head" {
			return geom.Placement{}
		}
		return geom.Placement{X: table.L, TurnDeg: 180}
	}
	at := func(i int) geom.Point { return geom.Point{X: table.Corners[i][0], Y: table.Corners[i][1]} }
	right, left := at(0), at(3)
	head, foot := at(0).Mid(at(3)), at(1).Mid(at(2))
	nose, axis := head, foot.Sub(head).Unit()
	if end == "foot" {
		right, left = at(2), at(1)
		nose, axis = foot, axis.Scale(-1)
	}
	v := left.Sub(right).Unit()
	u := v.Left().Scale(-1)
	// The middle line meets u = station at nose + axis·s; step back along u.
	s := station / axis.Dot(u)
	o := nose.Add(axis.Scale(s)).Add(u.Scale(-station))
	return geom.Placement{X: o.X, Y: o.Y, TurnDeg: math.Atan2(u.Y, u.X) * 180 / math.Pi}
}

// newTemplate sorts the marks: each belongs to the template of the nearer end,
// the middle of the table to the foot; a lengthwise line that crosses the
// middle is shared, each template holding its own half.
func newTemplate(end string, station float64, req Request) *Template {
	tp := &Template{End: end, Letter: "H"}
	half := req.Table.L / 2
	split := splitAt(req.Table, req.Marks)
	tp.split = split
	if end == "foot" {
		tp.split = req.Table.L - split
	}
	if end == "foot" {
		tp.Letter = "F"
	}
	tp.ToTable = frameAt(end, station, req.Table, req.Want)
	back := tp.ToTable.Inverse()
	for _, m := range req.Marks {
		for _, e := range elementsOf(m) {
			if own, ok := e.clipTo(end, half, split); ok {
				tp.Elements = append(tp.Elements, own.moved(back))
			}
		}
	}
	return tp
}

// elementsOf splits a mark into elements, table frame.
func elementsOf(m layout.Mark) []Element {
	p := geom.Point{X: m.X, Y: m.Y}
	switch m.Kind {
	case layout.Line:
		return []Element{{mark: m.ID, Kind: layout.Line, A: p, B: geom.Point{X: m.X2, Y: m.Y2}}}
	case layout.Arc:
		return []Element{{mark: m.ID, Kind: layout.Arc, A: p, r: m.Radius, start: m.StartDeg, end: m.EndDeg}}
	case layout.Outline:
		var out []Element
		from := 0.0
		for i, q := range m.Points {
			r := m.Points[(i+1)%len(m.Points)]
			e := Element{mark: m.ID, Kind: layout.Line, from: from,
				A: geom.Point{X: q[0], Y: q[1]}, B: geom.Point{X: r[0], Y: r[1]}}
			from += e.Length()
			out = append(out, e)
		}
		return out
	}
	return []Element{{mark: m.ID, Kind: layout.Spot, A: p}}
}

// middleTol: a mark this near the middle of the table counts as on it, mm: more
// than a survey moves a spot.
const middleTol = 12.0

// clipTo returns the part of the element that the end's template holds.
func (e Element) clipTo(end string, half, split float64) (Element, bool) {
	if e.lengthwise() && math.Min(e.A.X, e.B.X) < split-middleTol && math.Max(e.A.X, e.B.X) > split+middleTol {
		at := e.onto(split)
		if (e.A.X < e.B.X) == (end == "head") {
			e.B = at
		} else {
			e.from += e.A.Dist(at)
			e.A = at
		}
		return e, true
	}
	x := e.Bounds().Center().X
	if e.Kind == layout.Arc {
		x = e.A.X
	}
	return e, (x < half-middleTol) == (end == "head")
}

// onto is the point of a lengthwise line at x.
func (e Element) onto(x float64) geom.Point {
	return geom.Point{X: x, Y: e.A.Y + (e.B.Y-e.A.Y)*(x-e.A.X)/(e.B.X-e.A.X)}
}

// middleRoom is how far beyond the middle of the table the foot template reaches
// for a spot there.
const middleRoom = 40.0

// splitAt is the x at which the two templates part: the middle, or short of a spot
// in the middle, which the foot template takes.
func splitAt(table layout.Table, marks []layout.Mark) float64 {
	if middleSpot(table, marks) != "" {
		return table.L/2 - middleRoom
	}
	return table.L / 2
}

// reachMax is the largest u that a template's pieces may cover, so that both
// templates can lie on the table at once.
func reachMax(tp *Template) float64 { return tp.split - 0.5 }

// slantMost: a line within this of square counts as lengthwise or transverse, as
// a slope. A table out of square by more is refused by the survey.
const slantMost = 0.02

// lengthwise reports whether a straight line runs along the table.
func (e Element) lengthwise() bool {
	return e.Kind == layout.Line && math.Abs(e.A.Y-e.B.Y) <= slantMost*math.Abs(e.A.X-e.B.X)
}

// Transverse reports whether a straight line runs across the table.
func (e Element) Transverse() bool {
	return e.Kind == layout.Line && math.Abs(e.A.X-e.B.X) <= slantMost*math.Abs(e.A.Y-e.B.Y)
}

// moved returns the element in another frame.
func (e Element) moved(m geom.Placement) Element {
	e.A, e.B = m.Apply(e.A), m.Apply(e.B)
	e.start, e.end = e.start+m.TurnDeg, e.end+m.TurnDeg
	return e
}

// sortPieces orders pieces from the nose inwards, then right to left, and names them.
func (tp *Template) sortPieces() {
	sort.SliceStable(tp.Pieces, func(i, j int) bool {
		a, b := tp.Pieces[i].Box, tp.Pieces[j].Box
		if x, y := Round3(a.Min.X), Round3(b.Min.X); x != y {
			return x < y
		}
		return Round3(a.Min.Y) < Round3(b.Min.Y)
	})
	for i, p := range tp.Pieces {
		p.ID = fmt.Sprintf("%s%d", tp.Letter, i+1)
	}
}
