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
func Design(req Request) (Jig, error) {
	k, err := kindFor(req)
	if err != nil {
		return Jig{}, err
	}
	lim, font := k.limits(), newLettering()
	var out Jig
	var all []*template
	for _, end := range []string{"head", "foot"} {
		tp, err := planEnd(end, k, req)
		if err != nil {
			return Jig{}, err
		}
		if tp != nil {
			all = append(all, tp)
		}
	}
	if err := k.join(all); err != nil {
		return Jig{}, err
	}
	out.Budgets = budgets(all, lim, req)
	serves := lengthClass(out.Budgets, req)
	out.LengthMin, out.LengthMax = serves[0], serves[1]
	for _, tp := range all {
		k.cut(tp)
		k.score(tp)
		handles(tp, lim, req.Machine)
		letterPieces(tp, lim, req, font, serves)
		out.Parts = append(append(out.Parts, flatParts(tp)...), k.parts(tp)...)
		out.Joints = append(out.Joints, jointsOf(tp)...)
	}
	compensate(out.Parts, req)
	out.Checks = k.checks(all, look(all, out, lim, req, serves))
	return out, nil
}

// kind is a way to build a template: of plate, with fins and dovetails, or of film,
// with blocks and laps.
type kind interface {
	// limits are those that hold in the whole design.
	limits() limits
	// stand sets on a tiled template what touches the noses: tp.fins.
	stand(tp *template)
	// join says how every seam is joined.
	join(all []*template) error
	// cut draws the outlines and opens all that goes through.
	cut(tp *template)
	// score draws lines and figures that are not cut through, and keeps clear for
	// them the places where lettering must not stand.
	score(tp *template)
	// parts are those that are no flat pieces.
	parts(tp *template) []Part
	// checks adds the kind's own to those made of every jig, and puts them in order.
	checks(all []*template, of looked) []Check
}

// kindFor picks the kind by what cuts it.
func kindFor(req Request) (kind, error) {
	if req.Machine.Process == machine.Knife {
		return newFilm(req)
	}
	return newPlate(req), nil
}

// template is one end's jig while it is being designed, template frame.
type template struct {
	end      string // "head" or "foot"
	letter   string // "H" or "F"
	toTable  geom.Placement
	elements []element
	members  []member
	pieces   []*piece
	joints   []*joint
	fins     []*fin
	covered  []cover
	leg      span // where the legs stand, left side
	split    float64
}

// element is what one mark asks of a template, template frame: a point, a
// straight line or an arc (counter-clockwise from start to end, degrees).
type element struct {
	mark       string
	kind       layout.Kind
	a, b       geom.Point
	r          float64
	start, end float64
	from       float64 // how far along its mark the element begins, mm
}

// bounds returns the element's exact box.
func (e element) bounds() geom.Box {
	switch e.kind {
	case layout.Arc:
		return e.chain().Bounds()
	case layout.Line:
		return geom.EmptyBox().Include(e.a).Include(e.b)
	}
	return geom.EmptyBox().Include(e.a)
}

// chain returns a line's or an arc's path as an open contour.
func (e element) chain() geom.Contour {
	if e.kind == layout.Line {
		return geom.MustOpen(geom.Vertex{At: e.a}, geom.Vertex{At: e.b})
	}
	n := int(math.Ceil((e.end - e.start) / 90))
	step := (e.end - e.start) / float64(n)
	var v []geom.Vertex
	for i := 0; i <= n; i++ {
		v = append(v, geom.Vertex{At: e.arcPoint(e.start + step*float64(i)), Bulge: math.Tan(step * math.Pi / 720)})
	}
	return geom.MustOpen(v...)
}

func (e element) arcPoint(deg float64) geom.Point {
	s, c := math.Sincos(deg * math.Pi / 180)
	return geom.Point{X: e.a.X + e.r*c, Y: e.a.Y + e.r*s}
}

// length is the element's length, mm; 0 for a spot.
func (e element) length() float64 {
	switch e.kind {
	case layout.Line:
		return e.a.Dist(e.b)
	case layout.Arc:
		return e.r * (e.end - e.start) * math.Pi / 180
	}
	return 0
}

// at returns the point at distance s along a line or an arc.
func (e element) point(s float64) geom.Point {
	if e.kind == layout.Line {
		return e.a.Add(e.b.Sub(e.a).Unit().Scale(s))
	}
	return e.arcPoint(e.start + s/e.r*180/math.Pi)
}

// planEnd plans one end's template up to its seams, nil when it has no mark. Where a
// table is followed as surveyed, the template's frame depends on where its side nose
// is touched, which is known only once it is planned: then it is planned again.
func planEnd(end string, k kind, req Request) (*template, error) {
	lim := k.limits()
	station := 250.0
	for range 3 {
		tp := newTemplate(end, station, req)
		if len(tp.elements) == 0 {
			return nil, nil
		}
		plan(tp, lim, req.Table)
		if err := tile(tp, lim, req.Table); err != nil {
			return nil, err
		}
		k.stand(tp)
		side := station
		for _, f := range tp.fins {
			if f.role == SideFin {
				side = f.front.X
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
func newTemplate(end string, station float64, req Request) *template {
	tp := &template{end: end, letter: "H"}
	half := req.Table.L / 2
	split := splitAt(req.Table, req.Marks)
	tp.split = split
	if end == "foot" {
		tp.split = req.Table.L - split
	}
	if end == "foot" {
		tp.letter = "F"
	}
	tp.toTable = frameAt(end, station, req.Table, req.Want)
	back := tp.toTable.Inverse()
	for _, m := range req.Marks {
		for _, e := range elementsOf(m) {
			if own, ok := e.clipTo(end, half, split); ok {
				tp.elements = append(tp.elements, own.moved(back))
			}
		}
	}
	return tp
}

// elementsOf splits a mark into elements, table frame.
func elementsOf(m layout.Mark) []element {
	p := geom.Point{X: m.X, Y: m.Y}
	switch m.Kind {
	case layout.Line:
		return []element{{mark: m.ID, kind: layout.Line, a: p, b: geom.Point{X: m.X2, Y: m.Y2}}}
	case layout.Arc:
		return []element{{mark: m.ID, kind: layout.Arc, a: p, r: m.Radius, start: m.StartDeg, end: m.EndDeg}}
	case layout.Outline:
		var out []element
		from := 0.0
		for i, q := range m.Points {
			r := m.Points[(i+1)%len(m.Points)]
			e := element{mark: m.ID, kind: layout.Line, from: from,
				a: geom.Point{X: q[0], Y: q[1]}, b: geom.Point{X: r[0], Y: r[1]}}
			from += e.length()
			out = append(out, e)
		}
		return out
	}
	return []element{{mark: m.ID, kind: layout.Spot, a: p}}
}

// middleTol: a mark this near the middle of the table counts as on it, mm: more
// than a survey moves a spot.
const middleTol = 12.0

// clipTo returns the part of the element that the end's template holds.
func (e element) clipTo(end string, half, split float64) (element, bool) {
	if e.lengthwise() && math.Min(e.a.X, e.b.X) < split-middleTol && math.Max(e.a.X, e.b.X) > split+middleTol {
		at := e.onto(split)
		if (e.a.X < e.b.X) == (end == "head") {
			e.b = at
		} else {
			e.from += e.a.Dist(at)
			e.a = at
		}
		return e, true
	}
	x := e.bounds().Center().X
	if e.kind == layout.Arc {
		x = e.a.X
	}
	return e, (x < half-middleTol) == (end == "head")
}

// onto is the point of a lengthwise line at x.
func (e element) onto(x float64) geom.Point {
	return geom.Point{X: x, Y: e.a.Y + (e.b.Y-e.a.Y)*(x-e.a.X)/(e.b.X-e.a.X)}
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
func reachMax(tp *template) float64 { return tp.split - 0.5 }

// slantMost: a line within this of square counts as lengthwise or transverse, as
// a slope. A table out of square by more is refused by the survey.
const slantMost = 0.02

// lengthwise and transverse say which way a straight line runs.
func (e element) lengthwise() bool {
	return e.kind == layout.Line && math.Abs(e.a.Y-e.b.Y) <= slantMost*math.Abs(e.a.X-e.b.X)
}
func (e element) transverse() bool {
	return e.kind == layout.Line && math.Abs(e.a.X-e.b.X) <= slantMost*math.Abs(e.a.Y-e.b.Y)
}

// moved returns the element in another frame.
func (e element) moved(m geom.Placement) element {
	e.a, e.b = m.Apply(e.a), m.Apply(e.b)
	e.start, e.end = e.start+m.TurnDeg, e.end+m.TurnDeg
	return e
}

// sortPieces orders pieces from the nose inwards, then right to left, and names them.
func (tp *template) sortPieces() {
	sort.SliceStable(tp.pieces, func(i, j int) bool {
		a, b := tp.pieces[i].box, tp.pieces[j].box
		if x, y := round3(a.Min.X), round3(b.Min.X); x != y {
			return x < y
		}
		return round3(a.Min.Y) < round3(b.Min.Y)
	})
	for i, p := range tp.pieces {
		p.id = fmt.Sprintf("%s%d", tp.letter, i+1)
	}
}
