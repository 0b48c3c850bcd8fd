package jig

import (
	"fmt"
	"math"
	"sort"

	"spotjig/layout"
	"spotjig/layout/geom"
	"spotjig/layout/job"
)

// The ends of the table, and their templates.
const (
	Head = "head"
	Foot = "foot"
)

// Template is one end's jig while it is being designed, template frame.
type Template struct {
	End      string // Head or Foot
	Letter   string // "H" or "F"
	ToTable  geom.Placement
	Elements []Element
	members  []member
	Pieces   []*Piece
	Seams    []*Seam
	Fins     []*Fin
	Covered  []cover
	EndAt    float64 // how far from the centre line the end contacts stand
	split    float64
}

// planEnd plans one end's template up to its seams, nil when it has no mark. Where a
// table is followed as surveyed, the template's frame depends on where its side nose
// is touched, which is known only once it is planned: then it is planned again.
func planEnd(end string, k Kind, req Request) (*Template, error) {
	lim := k.Limits().asDrawn(end)
	station := 250.0
	for range 3 {
		tp := newTemplate(end, station, lim, req)
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
func follows(table layout.Table, want job.Jig) bool { return want.For == job.ForThis && table.Surveyed }

// frameAt returns the placement from the template frame to the table frame. On a
// true rectangle that is the identity at the head and half a turn at the foot.
// On a table as surveyed u runs square to the nose that the end fins touch, and
// v = 0 passes through the middle of the width where the side fins stand, as the
// side scales find it.
func frameAt(end string, station float64, table layout.Table, want job.Jig) geom.Placement {
	if !follows(table, want) {
		if end == Head {
			return geom.Placement{}
		}
		return geom.Placement{X: table.L, Turn: 180 * geom.Degree}
	}
	at := func(i int) geom.Point { return geom.Point{X: table.Corners[i][0], Y: table.Corners[i][1]} }
	right, left := at(0), at(3)
	head, foot := at(0).Mid(at(3)), at(1).Mid(at(2))
	nose, axis := head, foot.Sub(head).Unit()
	if end == Foot {
		right, left = at(2), at(1)
		nose, axis = foot, axis.Scale(-1)
	}
	v := left.Sub(right).Unit()
	u := v.Left().Scale(-1)
	// The middle line meets u = station at nose + axis·s; step back along u.
	s := station / axis.Dot(u)
	o := nose.Add(axis.Scale(s)).Add(u.Scale(-station))
	return geom.Placement{X: o.X, Y: o.Y, Turn: u.Angle()}
}

// newTemplate sorts the marks: each belongs to the template of the end on whose side of
// the split it lies; a lengthwise line or an arc that crosses the split is shared, each
// template holding its own part.
func newTemplate(end string, station float64, lim Limits, req Request) *Template {
	tp := &Template{End: end, Letter: req.named("H")}
	split := splitAt(req.Table, req.Marks, lim)
	tp.split = split
	if end == Foot {
		tp.split = req.Table.L - split
	}
	if end == Foot {
		tp.Letter = req.named("F")
	}
	tp.ToTable = frameAt(end, station, req.Table, req.Want)
	back := tp.ToTable.Inverse()
	for _, m := range req.Marks {
		for _, e := range elementsOf(m) {
			for _, own := range e.clipTo(end, split) {
				tp.Elements = append(tp.Elements, own.counted(end).moved(back))
			}
		}
	}
	return tp
}

// middleRoom is how far beyond the middle of the table the foot template reaches
// for a spot there.
const middleRoom = 40.0

// splits are the places tried for the parting of the templates, from the middle of the
// table, mm: the foot template takes what is near the middle, unless all else is crowded.
var splits = []float64{0, -middleRoom, -60, -80, -100, -120, middleRoom, 60, 80, 100, 120}

// splitAt is the x at which the two templates part: the first of splits that no hole and
// no line across lies near.
func splitAt(table layout.Table, marks []layout.Mark, lim Limits) float64 {
	pass := lim.draw.part
	for _, off := range splits {
		if at := table.L/2 + off; !near(at, marks, lim) {
			if pass == 0 {
				return at
			}
			pass--
		}
	}
	return table.L/2 - middleRoom
}

// near reports whether a template that ends at x would end in a hole or a slot.
func near(x float64, marks []layout.Mark, lim Limits) bool {
	for _, m := range marks {
		for _, e := range elementsOf(m) {
			keep := lim.Web + lim.Half() + 2
			if e.IsDot() {
				keep = math.Max(lim.Web+lim.Hole+2, middleTol)
			}
			if b := e.Bounds(); !e.IsArc() && !e.lengthwise() && x > b.Min.X-keep && x < b.Max.X+keep {
				return true
			}
		}
	}
	return false
}

// reachMax is the largest u that a template's pieces may cover, so that both
// templates can lie on the table at once.
func reachMax(tp *Template) float64 { return tp.split - 0.5 }

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
