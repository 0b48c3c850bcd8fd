// Package film is the kind of jig that a blade cuts from film or card: it is set to
// blocks, or to boxes of its own, and its pieces lap.
package film

import (
	"fmt"
	"math"
	"slices"
	"sort"
	"sync"

	"spotjig/cam/jig"
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
// Card of 1 mm or more folds its own boxes instead of the blocks (box.go).
// A line that runs on under a lap is cut in both layers; it can be drawn where
// both are open, and that is what the coverage counts.

// Measures of a film jig, mm.
const (
	lapDeep    = 30.0 // how far a tab reaches over its neighbour
	pinHole    = 3.9  // for a 4 mm pin, drill shank or nail, pressed in: film and card give, and hold it in the middle
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

// kind is a template of film or card, set to blocks and lapped.
type kind struct {
	req   jig.Request
	lim   jig.Limits
	font  jig.Font
	laps  *laps
	boxed bool           // folds its own boxes
	held  map[string]int // places for weights, by template
	holds sync.Mutex     // templates are drawn side by side
}

// New returns the kind, with the limits of a job. It refuses a sheet that the blade does
// not go through.
func New(req jig.Request) (jig.Kind, error) {
	if most := req.Machine.Knife.SheetMax; most > 0 && req.Material.Thickness > most {
		return nil, &SheetError{req.Material.Thickness, most}
	}
	boxed := req.Material.Kind == "card" && req.Material.Thickness >= boxCardMin
	return &kind{req: req, lim: limitsFor(req), font: jig.NewFont(), laps: &laps{}, boxed: boxed, held: map[string]int{}}, nil
}

func (k *kind) Limits() jig.Limits { return k.lim }

// Keyed has nothing to offer: laps are pinned.
func (k *kind) Keyed() jig.Kind { return nil }

// Stand has blocks in the place of fins.
func (k *kind) Stand(tp *jig.Template) {
	tp.Fins = seats(tp, k.lim, k.req.Table)
}

func (k *kind) Join(all []*jig.Template) error {
	var own laps // of these templates: plans that are laid aside have theirs
	for _, tp := range all {
		if err := layLaps(tp, k.lim, &own); err != nil {
			return err
		}
	}
	k.laps.all = append(k.laps.all, own.all...)
	return nil
}

func (k *kind) Cut(tp *jig.Template) {
	outlines(tp, k.lim, k.laps)
	keepSeats(tp, k.lim, k.req.Table)
	openings(tp, k.lim, k.laps)
}

func (k *kind) Score(tp *jig.Template) {
	scores(tp, k.lim, k.req.Table, k.font, k.laps, k.boxed)
	if tp.Pieces[0].Role != jig.GaugePlate { // fingers hold that one
		n := markBallast(tp, k.lim, k.font)
		k.holds.Lock()
		defer k.holds.Unlock()
		k.held[tp.End] = n
	}
}

func (k *kind) Parts(tp *jig.Template) []jig.Part {
	if !k.boxed {
		return nil
	}
	return boxes(tp, k.lim, k.font)
}

func (k *kind) Checks(all []*jig.Template, of jig.Looked) []jig.Check {
	touch := flapCheck(k.lim, k.req.Material)
	if k.boxed {
		touch = boxCheck(k.lim, k.req.Material)
	}
	return slices.Concat(of.Valid, of.Marks, seatChecks(all, k.req.Table), of.Budget, []jig.Check{ballastCheck(all, k.held)},
		of.Cushions, of.Handling, []jig.Check{touch}, of.Class, of.Serves)
}

// Errors of a block beyond the nose's own, mm and degrees: set flush with the
// datum edge by a straightedge or a fingertip, and squared with a joiner's square, so
// that it leans a little between the bed and the nose. Common practice. Both together are
// what the job states where they were measured: by a leaf at nose height between the block
// and a square that stands on the datum edge.
const (
	flushPM  = 0.2
	squarePM = 0.25
)

// limitsFor are the limits of a jig without fins: legs reach the nose plane, and
// laps stand where tails would.
func limitsFor(req jig.Request) jig.Limits {
	r := jig.LimitsFor(req)
	r.Lip = 0
	r.MemberWidth = jig.MemberWide // weights stand beside the lines
	r.Seat = []float64{flushPM, r.NoseHigh * geom.FromDegrees(squarePM).Tan()}
	if req.Want.SeatStated {
		r.Seat = []float64{req.Want.SeatPM}
	}
	r.EndGap = req.Want.SideTravel + 1
	r.Reach = lapDeep
	r.EndRoom = blockLong/2 + 2
	r.JointLeast = pinLeast + 2*(r.Web+pinHole/2+pinStep)
	return r
}

// outlines draws every piece: its rectangle with tabs standing out.
func outlines(tp *jig.Template, lim jig.Limits, ls *laps) {
	for _, p := range tp.Pieces {
		p.Outline = jig.Rounded(corners(p, lim, ls))
		p.NoStart = datums(p)
		for _, l := range ls.all {
			if l.j.Owner == p || l.j.Other == p {
				p.Jointed = append(p.Jointed, geom.Rect(l.tab))
			}
		}
	}
}

// corners walks round a piece counter-clockwise.
func corners(p *jig.Piece, lim jig.Limits, ls *laps) []jig.Corner {
	b := p.Box
	turn := []geom.Point{b.Min, {X: b.Max.X, Y: b.Min.Y}, b.Max, {X: b.Min.X, Y: b.Max.Y}}
	var at []geom.Point
	for i, from := range turn {
		to := turn[(i+1)%4]
		at = append(at, from)
		at = append(at, tabsOn(p, from, to, ls)...)
	}
	var out []jig.Corner
	at = straightened(at)
	n := len(at)
	for i, q := range at {
		in, on := q.Sub(at[(i+n-1)%n]), at[(i+1)%n].Sub(q)
		r := lim.PlanRadius
		if in.Cross(on) < 0 {
			r = lim.InnerRadius
		}
		out = append(out, jig.Corner{At: q, R: r})
	}
	return out
}

// tabsOn returns the corners of the tabs that stand on one edge, in order.
func tabsOn(p *jig.Piece, from, to geom.Point, ls *laps) []geom.Point {
	dir := to.Sub(from).Unit()
	out := dir.Left().Scale(-lapDeep)
	var spans []jig.Span
	for _, l := range ls.all {
		if l.j.Owner != p {
			continue
		}
		if _, away := (geom.Segment{From: from, To: to}).Nearest(l.j.From.Mid(l.j.To)); away > jig.SeamTol {
			continue
		}
		a, b := l.foot[0].Sub(from).Dot(dir), l.foot[1].Sub(from).Dot(dir)
		spans = append(spans, jig.Span{Lo: math.Min(a, b), Hi: math.Max(a, b)})
	}
	sort.Slice(spans, func(i, k int) bool { return spans[i].Lo < spans[k].Lo })
	var pts []geom.Point
	for _, s := range spans {
		a, b := from.Add(dir.Scale(s.Lo)), from.Add(dir.Scale(s.Hi))
		pts = append(pts, a, a.Add(out), b.Add(out), b)
	}
	return pts
}

// straightened drops points that repeat and points in line with their neighbours.
func straightened(at []geom.Point) []geom.Point {
	var once []geom.Point
	for i, p := range at {
		if p.Dist(at[(i+len(at)-1)%len(at)]) > jig.SeamTol {
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
func datums(p *jig.Piece) []geom.Segment {
	out := []geom.Segment{jig.ReferenceEdge(p)}
	if isLegEnd(p) {
		out = append(out, geom.Segment{From: geom.Point{X: p.Box.Min.X, Y: p.Box.Max.Y}, To: p.Box.Min})
	}
	return out
}

// isLegEnd reports whether the piece carries a datum edge.
func isLegEnd(p *jig.Piece) bool { return p.Box.Min.X < jig.SeamTol }

// openings cuts pin holes, and every element into all pieces that lie under it, both
// layers of a lap, and notes what stays open through all of them.
func openings(tp *jig.Template, lim jig.Limits, ls *laps) {
	for _, l := range ls.all {
		if !l.in(tp) {
			continue
		}
		for i, at := range l.pins {
			id := fmt.Sprintf("pin-%s-%s-%d", l.j.A.ID, l.j.B.ID, i+1)
			for _, p := range []*jig.Piece{l.j.A, l.j.B} {
				p.Openings = append(p.Openings, jig.Round(id, jig.OpenSocket, at, pinHole/2))
			}
		}
	}
	drawn := outlineBoxes(tp)
	jig.OpenMarks(tp, lim, drawn.clearIn)
	for i, c := range tp.Covered {
		if !c.Of.IsDot() {
			tp.Covered[i].Done = drawn.openThrough(tp, c.Of, c.On)
		}
	}
}

// outlined are the boxes of the pieces' outlines, drawn once: they are looked at for every point.
type outlined map[*jig.Piece]geom.Box

func outlineBoxes(tp *jig.Template) outlined {
	out := outlined{}
	for _, p := range tp.Pieces {
		out[p] = p.Outline.Bounds()
	}
	return out
}

// clearIn reports whether q lies in the piece, tabs included, at least keep from its edge.
func (b outlined) clearIn(p *jig.Piece, q geom.Point, keep float64) bool {
	if !b[p].Contains(q) || !p.Outline.Contains(q) {
		return false
	}
	_, d := p.Outline.Nearest(q)
	return d >= keep
}

// openThrough returns the intervals of an element where every piece that lies
// there is open, and at least one does.
func (b outlined) openThrough(tp *jig.Template, e jig.Element, done map[*jig.Piece][]jig.Span) []jig.Span {
	around := e.Bounds().Grow(1)
	under := slices.DeleteFunc(slices.Clone(tp.Pieces), func(p *jig.Piece) bool { return !b[p].Overlaps(around) })
	return jig.Runs(e.Length(), func(s float64) bool {
		q, layers := e.At(s), 0
		for _, p := range under {
			if !b[p].Contains(q) || !p.Outline.Contains(q) {
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

func holds(in []jig.Span, s float64) bool {
	for _, i := range in {
		if s >= i.Lo && s <= i.Hi {
			return true
		}
	}
	return false
}
