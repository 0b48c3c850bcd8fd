package jig

import (
	"fmt"
	"math"

	"spotjig/layout"
	"spotjig/layout/geom"
)

// A jig of film or card, for the knife
//
// The same members as in plate, but no fins: a flap of film cannot locate
// anything. An end clamped 37 mm below the nose, 60 mm wide, of 0.35 mm
// polyester gives way at E·w·t³/4h³ = 0.06 N/mm, the rubber it would touch at 10
// or more.
//
//	end    the legs reach to the nose plane and end in a straight datum edge. The
//	       fitter stands a squared wooden block on each leg, its face flush with
//	       that edge, tapes it down at the scored line, and pushes both blocks
//	       home against the nose.
//	sides  a block lies on each end of the crosspiece and is pushed out to its side
//	       nose; the scale there is read at the block's inner face. Equal readings
//	       put the jig on the centre line whatever the width.
//	joints a tab of one piece laps over the next and is set by two pin holes that
//	       go through both; no other pair of holes is as far apart. The edge of
//	       the tab lies on a scored line and is taped there.
//	hold   weights of 1 kg stand where the film says so.
//
// Card of 1 mm or more folds its own boxes instead of the blocks (film_box.go).
// A line that runs on under a lap is cut in both layers; it can be drawn where
// both are open, and that is what the coverage counts.

// Measures of a film jig, mm.
const (
	lapDeep    = 30.0 // how far a tab reaches over its neighbour
	pinHole    = 4.1  // for a 4 mm pin: drill shank or nail
	pinStep    = 3.0  // pin distances differ by this from joint to joint
	pinLeast   = 30.0 // pins of one joint are at least this far apart
	tabStep    = 8.0  // a tab stands this far from its piece's corner, or flush with it
	blockDeep  = 45.0 // a block's least depth and height
	blockLong  = 150.0
	blockMost  = 65.0 // deepest block the side scale serves
	tapeLine   = 70.0 // from the nose plane: where the tape over an end block ends
	ballastBox = 60.0
	ballastMin = 3 // places a template
)

// SheetError says that a sheet is too thick for the blade.
type SheetError struct{ Thickness, Max float64 }

// Error names both thicknesses.
func (e *SheetError) Error() string {
	return fmt.Sprintf("a sheet of %g mm is thicker than the %g mm the blade cuts: use thinner sheet, or a laser", e.Thickness, e.Max)
}

// film carries one design in film or card.
type film struct {
	*designer
	laps  []*lap
	boxed bool // folds its own boxes
}

// designFilm is Design for the knife.
func designFilm(req Request) (Jig, error) {
	if most := req.Machine.Knife.SheetMax; most > 0 && req.Material.Thickness > most {
		return Jig{}, &SheetError{req.Material.Thickness, most}
	}
	f := &film{designer: &designer{req: req, rules: filmRules(req), font: newLettering()}}
	f.boxed = req.Material.Kind == "card" && req.Material.Thickness >= boxCardMin
	f.seating = f.blockErrors()
	var out Jig
	var all []*template
	for _, end := range []string{"head", "foot"} {
		tp, err := f.template(end)
		if err != nil {
			return Jig{}, err
		}
		if tp != nil {
			all = append(all, tp)
		}
	}
	out.Budgets = f.budgets(f.stood(all))
	f.length = f.lengthClass(out.Budgets)
	out.LengthMin, out.LengthMax = f.length[0], f.length[1]
	var places []int
	for _, tp := range all {
		f.outlines(tp)
		f.seats(tp)
		f.openings(tp)
		places = append(places, f.scoresAndLetters(tp))
		out.Parts = append(out.Parts, f.parts(tp)...)
		if f.boxed {
			out.Parts = append(out.Parts, f.boxes(tp)...)
		}
		out.Joints = append(out.Joints, f.seams(tp)...)
	}
	f.compensate(out.Parts)
	out.Checks = f.checks(all, out, places)
	return out, nil
}

// template plans one end and laps its pieces. A table that is followed as
// surveyed is planned again where its side blocks turn out to stand elsewhere, as
// for plate.
func (f *film) template(end string) (*template, error) {
	station := 250.0
	for range 3 {
		tp := f.newTemplate(end, station)
		if len(tp.elements) == 0 {
			return nil, nil
		}
		f.plan(tp)
		if err := f.tile(tp); err != nil {
			return nil, err
		}
		side := station
		for _, s := range f.seatsOf(tp) {
			if s.side != 0 {
				side = s.at.X
			}
		}
		if f.follows() && math.Abs(side-station) > 0.001 {
			station = side
			continue
		}
		if err := f.findJoints(tp); err != nil {
			return nil, err
		}
		return tp, f.layLaps(tp)
	}
	return nil, fmt.Errorf("the %s template's side blocks find no place on the table as surveyed", end)
}

// Errors of a block beyond the nose's own, mm and degrees: set flush with the
// datum edge by a straightedge or a fingertip, and squared with a joiner's square.
// Common practice.
const (
	flushPM  = 0.2
	squarePM = 0.25
)

// blockErrors are what blocks add to the budget: each is a little off flush, and
// leans a little between the bed and the nose.
func (f *film) blockErrors() []frameError {
	var out []frameError
	for _, by := range [2]float64{flushPM, f.rules.noseHigh * math.Tan(squarePM*math.Pi/180)} {
		out = append(out, frameError{group: "blocks", e1: by}, frameError{group: "blocks", e2: by},
			frameError{group: "blocks", es: by / 2}, frameError{group: "blocks", es: by / 2})
	}
	return out
}

// stood returns the templates with their blocks in the place of fins, for the budget.
func (f *film) stood(all []*template) []*template {
	var out []*template
	for _, tp := range all {
		c := *tp
		for _, s := range f.seatsOf(tp) {
			role := EndFin
			if s.side != 0 {
				role = SideFin
			}
			c.fins = append(c.fins, &fin{role: role, front: s.at, on: s.p})
		}
		out = append(out, &c)
	}
	return out
}

// filmRules are the limits of a jig without fins: legs reach the nose plane, and
// laps stand where tails would.
func filmRules(req Request) rules {
	r := rulesFor(req)
	r.lip = 0
	r.endGap = req.Want.SideTravel + 1
	r.tail = lapDeep - (keyKinds-1)*keyLonger // so that longestTail is a lap's depth
	return r
}

// outlines draws every piece: its rectangle with tabs standing out.
func (f *film) outlines(tp *template) {
	for _, p := range tp.pieces {
		p.outline = rounded(f.corners(p))
		p.noStart = f.datums(tp, p)
		for _, l := range f.laps {
			if l.j.owner == p || l.j.other == p {
				p.seams = append(p.seams, geom.Rect(l.tab))
			}
		}
	}
}

// corners walks round a piece counter-clockwise.
func (f *film) corners(p *piece) []corner {
	b := p.box
	turn := []geom.Point{b.Min, {X: b.Max.X, Y: b.Min.Y}, b.Max, {X: b.Min.X, Y: b.Max.Y}}
	var at []geom.Point
	for i, from := range turn {
		to := turn[(i+1)%4]
		at = append(at, from)
		at = append(at, f.tabsOn(p, from, to)...)
	}
	var out []corner
	at = straightened(at)
	n := len(at)
	for i, q := range at {
		in, on := q.Sub(at[(i+n-1)%n]), at[(i+1)%n].Sub(q)
		r := f.rules.plan
		if in.Cross(on) < 0 {
			r = f.rules.inner
		}
		out = append(out, corner{q, r})
	}
	return out
}

// tabsOn returns the corners of the tabs that stand on one edge, in order.
func (f *film) tabsOn(p *piece, from, to geom.Point) []geom.Point {
	dir := to.Sub(from).Unit()
	out := dir.Left().Scale(-lapDeep)
	var spans []span
	for _, l := range f.laps {
		if l.j.owner != p {
			continue
		}
		if _, away := (geom.Segment{From: from, To: to}).Nearest(l.j.from.Mid(l.j.to)); away > seamTol {
			continue
		}
		a, b := l.foot[0].Sub(from).Dot(dir), l.foot[1].Sub(from).Dot(dir)
		spans = append(spans, span{math.Min(a, b), math.Max(a, b)})
	}
	sortSpans(spans)
	var pts []geom.Point
	for _, s := range spans {
		a, b := from.Add(dir.Scale(s.lo)), from.Add(dir.Scale(s.hi))
		pts = append(pts, a, a.Add(out), b.Add(out), b)
	}
	return pts
}

func sortSpans(s []span) {
	for i := 1; i < len(s); i++ {
		for k := i; k > 0 && s[k].lo < s[k-1].lo; k-- {
			s[k], s[k-1] = s[k-1], s[k]
		}
	}
}

// straightened drops points that repeat and points in line with their neighbours.
func straightened(at []geom.Point) []geom.Point {
	var once []geom.Point
	for i, p := range at {
		if p.Dist(at[(i+len(at)-1)%len(at)]) > seamTol {
			once = append(once, p)
		}
	}
	var out []geom.Point
	n := len(once)
	for i, p := range once {
		in, on := p.Sub(once[(i+n-1)%n]), once[(i+1)%n].Sub(p)
		if math.Abs(in.Unit().Cross(on.Unit())) > 1e-9 {
			out = append(out, p)
		}
	}
	return out
}

// datums are the edges no cut may start on: the datum edge and the reference edge.
func (f *film) datums(tp *template, p *piece) []geom.Segment {
	out := []geom.Segment{f.referenceEdge(tp, p)}
	if f.isLegEnd(p) {
		out = append(out, geom.Segment{From: geom.Point{X: p.box.Min.X, Y: p.box.Max.Y}, To: p.box.Min})
	}
	return out
}

// isLegEnd reports whether the piece carries a datum edge.
func (f *film) isLegEnd(p *piece) bool { return p.role == Leg && p.box.Min.X < seamTol }

// openings cuts every element into all pieces that lie under it, both layers of a
// lap, and notes what stays open through all of them.
func (f *film) openings(tp *template) {
	for _, l := range f.laps {
		if !l.in(tp) {
			continue
		}
		for i, at := range l.pins {
			id := fmt.Sprintf("pin-%s-%s-%d", l.j.a.id, l.j.b.id, i+1)
			for _, p := range []*piece{l.j.a, l.j.b} {
				p.openings = append(p.openings, Opening{ID: id, Kind: OpenSocket, C: at, R: pinHole / 2})
			}
		}
	}
	for _, e := range tp.elements {
		if e.kind == layout.Spot {
			f.spot(tp, e)
		}
	}
	for _, e := range tp.elements {
		if e.kind == layout.Spot {
			continue
		}
		done := map[*piece][]span{}
		for _, p := range tp.pieces {
			if e.bounds().Grow(1).Overlaps(p.outline.Bounds()) {
				done[p] = f.slots(tp, p, e)
			}
		}
		tp.covered = append(tp.covered, cover{e, f.openThrough(tp, e, done)})
	}
}

// spot opens a hole in the piece under it; laps keep clear of spots.
func (f *film) spot(tp *template, e element) {
	for _, p := range tp.pieces {
		if f.clear(p, e.a, f.rules.web+f.rules.hole-1e-6) {
			p.openings = append(p.openings, Opening{ID: e.mark, Kind: OpenSpot, Mark: e.mark, C: e.a, R: round3(f.rules.hole)})
			tp.covered = append(tp.covered, cover{e, []span{{0, 0}}})
			return
		}
	}
}

// clear reports whether q lies in the piece, at least keep from its edge.
func (f *film) clear(p *piece, q geom.Point, keep float64) bool {
	if !p.outline.Bounds().Contains(q) || !p.outline.Contains(q) {
		return false
	}
	_, d := p.outline.Nearest(q)
	return d >= keep
}

// slots cuts one element into one piece, tabs included.
func (f *film) slots(tp *template, p *piece, e element) []span {
	keep := f.rules.web + f.rules.slot/2
	free := f.obstacles(tp, p, keep)
	ok := func(s float64) bool {
		q := e.at(s)
		for _, o := range free {
			if o.dist(q) < o.keep {
				return false
			}
		}
		return f.clear(p, q, keep)
	}
	var out []span
	for _, run := range runs(e.length(), ok) {
		for _, s := range f.bridged(run, e) {
			p.openings = append(p.openings, f.slot(p, e, s))
			out = append(out, s)
		}
	}
	return out
}

// openThrough returns the intervals of an element where every piece that lies
// there is open, and at least one does.
func (f *film) openThrough(tp *template, e element, done map[*piece][]span) []span {
	return runs(e.length(), func(s float64) bool {
		q, layers := e.at(s), 0
		for _, p := range tp.pieces {
			if !p.outline.Bounds().Contains(q) || !p.outline.Contains(q) {
				continue
			}
			layers++
			if !holds(done[p], s) {
				return false
			}
		}
		return layers > 0
	})
}

func holds(in []span, s float64) bool {
	for _, i := range in {
		if s >= i.lo && s <= i.hi {
			return true
		}
	}
	return false
}

// seams returns the template's joints, table frame. The tab's owner is given as
// the one with the tail.
func (f *film) seams(tp *template) []Joint {
	var out []Joint
	for _, l := range f.laps {
		if !l.in(tp) {
			continue
		}
		out = append(out, Joint{Tail: l.j.owner.id, Socket: l.j.other.id,
			From: tp.toTable.Apply(l.j.from), To: tp.toTable.Apply(l.j.to),
			Key: fmt.Sprintf("lap %g, pins %.3f apart", lapDeep, l.pins[0].Dist(l.pins[1]))})
	}
	return out
}

// checks looks at the finished jig.
func (f *film) checks(all []*template, out Jig, ballast []int) []Check {
	var cs []Check
	cs = append(cs, f.Validate(out.Parts, out.Joints)...)
	cs = append(cs, f.coverage(all)...)
	cs = append(cs, f.spotsCut(all)...)
	cs = append(cs, f.keyCheck(all))
	cs = append(cs, f.letterCheck(all))
	cs = append(cs, f.seatChecks(all)...)
	cs = append(cs, f.budgetChecks(out.Budgets)...)
	cs = append(cs, f.ballastCheck(all, ballast))
	cs = append(cs, f.cushionChecks()...)
	cs = append(cs, f.handlingChecks(all, out.Parts)...)
	if f.boxed {
		cs = append(cs, f.boxCheck())
	} else {
		cs = append(cs, f.flapCheck())
	}
	return append(cs, f.classCheck())
}
