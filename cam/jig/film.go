package jig

import (
	"fmt"
	"math"
	"slices"
	"sort"

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

// film is a template of film or card, set to blocks and lapped.
type film struct {
	req   Request
	lim   limits
	font  lettering
	laps  *laps
	boxed bool           // folds its own boxes
	held  map[string]int // places for weights, by template
}

// newFilm refuses a sheet that the blade does not go through.
func newFilm(req Request) (*film, error) {
	if most := req.Machine.Knife.SheetMax; most > 0 && req.Material.Thickness > most {
		return nil, &SheetError{req.Material.Thickness, most}
	}
	boxed := req.Material.Kind == "card" && req.Material.Thickness >= boxCardMin
	return &film{req: req, lim: filmLimits(req), font: newLettering(), laps: &laps{}, boxed: boxed, held: map[string]int{}}, nil
}

func (k *film) limits() limits { return k.lim }

// stand has blocks in the place of fins.
func (k *film) stand(tp *template) {
	for _, s := range seatsOf(tp, k.lim, k.req.Table) {
		role := EndFin
		if s.side != 0 {
			role = SideFin
		}
		tp.fins = append(tp.fins, &fin{role: role, front: s.at, on: s.p})
	}
}

func (k *film) join(all []*template) error {
	for _, tp := range all {
		if err := layLaps(tp, k.lim, k.laps); err != nil {
			return err
		}
	}
	return nil
}

func (k *film) cut(tp *template) {
	filmOutlines(tp, k.lim, k.laps)
	keepSeats(tp, k.lim, k.req.Table)
	filmOpenings(tp, k.lim, k.laps)
}

func (k *film) score(tp *template) {
	filmScores(tp, k.lim, k.req.Table, k.font, k.laps, k.boxed)
	k.held[tp.end] = markBallast(tp, k.lim, k.font)
}

func (k *film) parts(tp *template) []Part {
	if !k.boxed {
		return nil
	}
	return boxes(tp, k.lim, k.req.Table, k.font)
}

func (k *film) checks(all []*template, of looked) []Check {
	touch := flapCheck(k.lim, k.req.Material)
	if k.boxed {
		touch = boxCheck(k.lim, k.req.Material)
	}
	return slices.Concat(of.valid, of.marks, seatChecks(all, k.lim, k.req.Table), of.budget, []Check{ballastCheck(all, k.held)},
		of.cushions, of.handling, []Check{touch}, of.class)
}

// Errors of a block beyond the nose's own, mm and degrees: set flush with the
// datum edge by a straightedge or a fingertip, and squared with a joiner's square, so
// that it leans a little between the bed and the nose. Common practice.
const (
	flushPM  = 0.2
	squarePM = 0.25
)

// filmLimits are the limits of a jig without fins: legs reach the nose plane, and
// laps stand where tails would.
func filmLimits(req Request) limits {
	r := limitsFor(req)
	r.lip = 0
	r.seat = []float64{flushPM, r.noseHigh * math.Tan(squarePM*math.Pi/180)}
	r.endGap = req.Want.SideTravel + 1
	r.reach = lapDeep
	return r
}

// filmOutlines draws every piece: its rectangle with tabs standing out.
func filmOutlines(tp *template, lim limits, ls *laps) {
	for _, p := range tp.pieces {
		p.outline = rounded(filmCorners(p, lim, ls))
		p.noStart = filmDatums(tp, p)
		for _, l := range ls.all {
			if l.j.owner == p || l.j.other == p {
				p.seams = append(p.seams, geom.Rect(l.tab))
			}
		}
	}
}

// filmCorners walks round a piece counter-clockwise.
func filmCorners(p *piece, lim limits, ls *laps) []corner {
	b := p.box
	turn := []geom.Point{b.Min, {X: b.Max.X, Y: b.Min.Y}, b.Max, {X: b.Min.X, Y: b.Max.Y}}
	var at []geom.Point
	for i, from := range turn {
		to := turn[(i+1)%4]
		at = append(at, from)
		at = append(at, tabsOn(p, from, to, ls)...)
	}
	var out []corner
	at = straightened(at)
	n := len(at)
	for i, q := range at {
		in, on := q.Sub(at[(i+n-1)%n]), at[(i+1)%n].Sub(q)
		r := lim.plan
		if in.Cross(on) < 0 {
			r = lim.inner
		}
		out = append(out, corner{q, r})
	}
	return out
}

// tabsOn returns the corners of the tabs that stand on one edge, in order.
func tabsOn(p *piece, from, to geom.Point, ls *laps) []geom.Point {
	dir := to.Sub(from).Unit()
	out := dir.Left().Scale(-lapDeep)
	var spans []span
	for _, l := range ls.all {
		if l.j.owner != p {
			continue
		}
		if _, away := (geom.Segment{From: from, To: to}).Nearest(l.j.from.Mid(l.j.to)); away > seamTol {
			continue
		}
		a, b := l.foot[0].Sub(from).Dot(dir), l.foot[1].Sub(from).Dot(dir)
		spans = append(spans, span{math.Min(a, b), math.Max(a, b)})
	}
	sort.Slice(spans, func(i, k int) bool { return spans[i].lo < spans[k].lo })
	var pts []geom.Point
	for _, s := range spans {
		a, b := from.Add(dir.Scale(s.lo)), from.Add(dir.Scale(s.hi))
		pts = append(pts, a, a.Add(out), b.Add(out), b)
	}
	return pts
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

// filmDatums are the edges no cut may start on: the datum edge and the reference edge.
func filmDatums(tp *template, p *piece) []geom.Segment {
	out := []geom.Segment{referenceEdge(tp, p)}
	if isLegEnd(p) {
		out = append(out, geom.Segment{From: geom.Point{X: p.box.Min.X, Y: p.box.Max.Y}, To: p.box.Min})
	}
	return out
}

// isLegEnd reports whether the piece carries a datum edge.
func isLegEnd(p *piece) bool { return p.role == Leg && p.box.Min.X < seamTol }

// filmOpenings cuts pin holes, and every element into all pieces that lie under it, both
// layers of a lap, and notes what stays open through all of them.
func filmOpenings(tp *template, lim limits, ls *laps) {
	for _, l := range ls.all {
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
	openMarks(tp, lim, clearIn)
	for i, c := range tp.covered {
		if c.e.kind != layout.Spot {
			tp.covered[i].done = openThrough(tp, c.e, c.on)
		}
	}
}

// clearIn reports whether q lies in the piece, tabs included, at least keep from its edge.
func clearIn(p *piece, q geom.Point, keep float64) bool {
	if !p.outline.Bounds().Contains(q) || !p.outline.Contains(q) {
		return false
	}
	_, d := p.outline.Nearest(q)
	return d >= keep
}

// openThrough returns the intervals of an element where every piece that lies
// there is open, and at least one does.
func openThrough(tp *template, e element, done map[*piece][]span) []span {
	return runs(e.length(), func(s float64) bool {
		q, layers := e.point(s), 0
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
