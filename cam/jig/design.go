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

// Request is all that the designer is told.
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
// bed), joints (keyed dovetails), fins, openings, lettering, checks. For the
// knife see film.go.
func Design(req Request) (Jig, error) {
	if req.Machine.Process == machine.Knife {
		return designFilm(req)
	}
	d := &designer{req: req, rules: rulesFor(req), font: newLettering()}
	var out Jig
	var all []*template
	for _, end := range []string{"head", "foot"} {
		tp, err := d.template(end)
		if err != nil {
			return Jig{}, err
		}
		if tp != nil {
			all = append(all, tp)
		}
	}
	if err := d.cutKeys(all); err != nil {
		return Jig{}, err
	}
	out.Budgets = d.budgets(all)
	d.length = d.lengthClass(out.Budgets)
	out.LengthMin, out.LengthMax = d.length[0], d.length[1]
	for _, tp := range all {
		d.outlines(tp)
		d.openings(tp)
		d.scores(tp)
		d.handles(tp)
		d.letters(tp)
		out.Parts = append(out.Parts, d.parts(tp)...)
		out.Joints = append(out.Joints, d.seams(tp)...)
	}
	d.compensate(out.Parts)
	out.Checks = d.checks(all, out)
	return out, nil
}

// designer carries one design from stage to stage.
type designer struct {
	req     Request
	rules   rules
	font    lettering
	length  [2]float64
	seating []frameError // beside fins: how a film jig is set to its blocks
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
func (e element) at(s float64) geom.Point {
	if e.kind == layout.Line {
		return e.a.Add(e.b.Sub(e.a).Unit().Scale(s))
	}
	return e.arcPoint(e.start + s/e.r*180/math.Pi)
}

// template plans one end. Where a table is followed as surveyed, the template's
// frame depends on where its side fins stand, which is known only once it is
// planned: then it is planned again.
func (d *designer) template(end string) (*template, error) {
	station := 250.0
	for range 3 {
		tp := d.newTemplate(end, station)
		if len(tp.elements) == 0 {
			return nil, nil
		}
		if err := d.build(tp); err != nil {
			return nil, err
		}
		side := station
		for _, f := range tp.fins {
			if f.role == SideFin {
				side = f.front.X
			}
		}
		if !d.follows() || math.Abs(side-station) < 0.001 {
			return tp, nil
		}
		station = side
	}
	return nil, fmt.Errorf("the %s template's side fins find no place on the table as surveyed", end)
}

// follows reports whether the jig is for this one table, as surveyed.
func (d *designer) follows() bool { return d.req.Want.For == "this" && d.req.Table.Surveyed }

// frame returns the placement from the template frame to the table frame. On a
// true rectangle that is the identity at the head and half a turn at the foot.
// On a table as surveyed u runs square to the nose that the end fins touch, and
// v = 0 passes through the middle of the width where the side fins stand, as the
// side scales find it.
func (d *designer) frame(end string, station float64) geom.Placement {
	t := d.req.Table
	if !d.follows() {
		if end == "head" {
			return geom.Placement{}
		}
		return geom.Placement{X: t.L, TurnDeg: 180}
	}
	at := func(i int) geom.Point { return geom.Point{X: t.Corners[i][0], Y: t.Corners[i][1]} }
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
func (d *designer) newTemplate(end string, station float64) *template {
	tp := &template{end: end, letter: "H"}
	half := d.req.Table.L / 2
	split := d.split()
	tp.split = split
	if end == "foot" {
		tp.split = d.req.Table.L - split
	}
	if end == "foot" {
		tp.letter = "F"
	}
	tp.toTable = d.frame(end, station)
	back := tp.toTable.Inverse()
	for _, m := range d.req.Marks {
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

// split is the x at which the two templates part: the middle, or short of a spot
// in the middle, which the foot template takes.
func (d *designer) split() float64 {
	if d.middleSpot() != "" {
		return d.req.Table.L/2 - middleRoom
	}
	return d.req.Table.L / 2
}

// reachMax is the largest u that a template's pieces may cover, so that both
// templates can lie on the table at once.
func (d *designer) reachMax(tp *template) float64 { return tp.split - 0.5 }

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

// build plans the members, tiles them, and finds joints and fins.
func (d *designer) build(tp *template) error {
	d.plan(tp)
	if err := d.tile(tp); err != nil {
		return err
	}
	d.placeFins(tp)
	return d.findJoints(tp)
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
