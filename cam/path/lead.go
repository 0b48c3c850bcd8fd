package path

import (
	"errors"
	"fmt"
	"math"

	"spotjig/layout/geom"
)

const (
	// clearTol: how much nearer than half a kerf a lead may come to a nominal
	// edge; rounding of the offset, far below the last printed digit.
	clearTol = 1e-6
	// edgeClear: a start, its overlap and a tie keep this far from an edge on
	// which none may lie.
	edgeClear = 0.5
	// otherClear is the least material between a lead's cut and another piece.
	otherClear = 0.2
	// lineMin: an outline's start needs a straight edge at least this long, if
	// the outline has any straight edge that long.
	lineMin = 5.0
	// roundEnd: an arc of an opening that turns at least this much (as bulge,
	// 120 degrees) is a round end to start on.
	roundEnd = 0.577
)

// errNoStart says that an outline has no edge to start on.
var errNoStart = errors.New("no free edge to start the cut on with its lead-in in waste")

// loop is a closed cut path opened at a start point: it begins and ends there.
type loop []geom.Segment

// openAt opens a closed contour at a station.
func openAt(c geom.Contour, at station) loop { return from(c.Segments(), at) }

func (l loop) length() float64 { return lengthOf(l) }

// span returns the part of the loop between two lengths along it.
func (l loop) span(from, to float64) []geom.Segment {
	var out []geom.Segment
	at := 0.0
	for _, s := range l {
		n := s.Length()
		a, b := (from-at)/n, (to-at)/n
		at += n
		if b <= spanTol/n || a >= 1-spanTol/n {
			continue
		}
		if b < 1-spanTol/n {
			s, _ = s.Split(b)
			a /= b
		}
		if a*n > spanTol {
			_, s = s.Split(a)
		}
		out = append(out, s)
	}
	return out
}

// spanTol: a stretch shorter than this is left out of a span, so that no move
// of no length is made. A hundredth of the last printed digit.
const spanTol = 1e-6

// obstacles are what a lead must keep clear of.
type obstacles struct {
	own    geom.Contour // the nominal contour it leads to
	others []geom.Contour
	sheet  geom.Box
	kerf   float64
}

// free reports whether a lead's cut stays off everything kept.
func (m obstacles) free(lead geom.Segment) bool {
	b := lead.Bounds().Grow(m.kerf / 2)
	if !m.sheet.Holds(b) {
		return false
	}
	c := geom.MustOpen(geom.Vertex{At: lead.From, Bulge: lead.Bulge}, geom.Vertex{At: lead.To})
	if m.own.Distance(c) < m.kerf/2-clearTol {
		return false
	}
	for _, o := range m.others {
		if o.Distance(c) < m.kerf/2+otherClear {
			return false
		}
	}
	return true
}

// openingWays are the ways to cut an opening (nominal, clockwise): from inside
// the middle of a round end straight out to its apex.
func (r Request) openingWays(nominal geom.Contour) ([]way, error) {
	cut, err := nominal.Offset(r.Material.Kerf / 2)
	if err != nil {
		return nil, err
	}
	all := geom.Box{Min: geom.Point{X: math.Inf(-1), Y: math.Inf(-1)}, Max: geom.Point{X: math.Inf(1), Y: math.Inf(1)}}
	clear := obstacles{own: nominal, sheet: all, kerf: r.Material.Kerf}
	var ways []way
	for i := 0; i < cut.Len(); i++ {
		s := cut.Segment(i)
		if s.Bulge > -roundEnd || !nominal.Contains(s.Center()) {
			continue
		}
		at := []float64{0.5}
		if cut.Len() == 2 { // a circle: its joints will do as well
			at = []float64{0, 0.5}
		}
		for _, t := range at {
			if w, ok := r.openingWay(openAt(cut, station{i, t}), s.Center(), clear); ok {
				ways = append(ways, w)
			}
		}
	}
	if len(ways) == 0 {
		return nil, fmt.Errorf("%w: no round end to start the cut on", geom.ErrShape)
	}
	return ways, nil
}

func (r Request) openingWay(l loop, centre geom.Point, clear obstacles) (way, bool) {
	apex := l[0].From
	radius := apex.Dist(centre)
	back := math.Min(radius, leadHoleMax)
	// From the middle of a hole so small the beam would get no further than two kerfs from
	// where it came on, all the way round: it comes on beyond the middle.
	if radius < 2*r.Material.Kerf+clearTol {
		back = (1 + pastMiddle) * radius
	}
	from := apex.Add(centre.Sub(apex).Scale(back / radius))
	if back == radius {
		from = centre
	}
	lead := geom.Segment{From: from, To: apex}
	over := l.span(0, math.Min(r.overlap(), l.length()/4))
	out := leadOut(over[len(over)-1], math.Min(r.lead()*leadOutShare, radius/2))
	if !clear.free(lead) || !clear.free(out) {
		return way{}, false
	}
	return closedWay(l, ends{lead, out, over}), true
}

// leadOut leaves the end of a cut at 45 degrees into waste.
func leadOut(end geom.Segment, length float64) geom.Segment {
	t := end.Tangent(1)
	d := t.Add(t.Left().Scale(-1)).Unit().Scale(length)
	return geom.Segment{From: end.To, To: end.To.Add(d)}
}

// ends is what is cut besides the contour: the lead-in, the stretch past the
// start, the lead-out.
type ends struct {
	in, out geom.Segment
	over    []geom.Segment
}

// closedWay puts lead-in, contour, overlap and lead-out together.
func closedWay(l loop, e ends) way {
	segs := make([]geom.Segment, 0, len(l)+len(e.over)+2)
	segs = append(segs, e.in)
	segs = append(segs, l...)
	segs = append(segs, e.over...)
	segs = append(segs, e.out)
	return way{[]run{{segs, 1, 1 + len(l)}}}
}

// outlineWays are the ways to cut an outline (counter-clockwise): each starts on
// a free straight edge and is led in from behind at 45 degrees through waste.
func (r Request) outlineWays(p *beamPiece, all []beamPiece) ([]way, error) {
	cut, err := p.outline.Offset(r.Material.Kerf / 2)
	if err != nil {
		return nil, err
	}
	clear := r.roomAround(p, all)
	for lead := r.lead(); lead >= leadMin; lead /= 2 {
		var ways []way
		for _, st := range r.starts(p, cut) {
			w, ok, err := r.outlineWay(p, openAt(cut, st), lead, clear)
			if err != nil {
				return nil, err
			}
			if ok {
				ways = append(ways, w)
			}
		}
		if len(ways) > 0 {
			return ways, nil
		}
	}
	return nil, errNoStart
}

// roomAround gathers what the leads of a piece's outline could hit.
func (r Request) roomAround(p *beamPiece, all []beamPiece) obstacles {
	m := obstacles{own: p.outline, kerf: r.Material.Kerf}
	m.sheet = geom.Box{Max: geom.Point{X: r.Sheet.Width, Y: r.Sheet.Height}}
	near := p.box.Grow(r.lead() + r.Material.Kerf + otherClear)
	for i := range all {
		if q := &all[i]; q.id != p.id && near.Overlaps(q.box) {
			m.others = append(m.others, q.outline)
			m.others = append(m.others, q.holding(p)...)
		}
	}
	return m
}

// holding are the openings of q in which p lies.
func (q *beamPiece) holding(p *beamPiece) []geom.Contour {
	if !q.box.Holds(p.box) {
		return nil
	}
	return q.openings
}

// starts lists the places where an outline may start: on straight edges at
// least half as long as the longest free one, in the middle and, if they are long,
// near both ends; on a shape without straight edges, on its arcs.
func (r Request) starts(p *beamPiece, cut geom.Contour) []station {
	longest := 0.0
	free := make([]float64, cut.Len()) // length of the edge if some of it is free
	for i := range free {
		s := cut.Segment(i)
		if !s.IsArc() && s.Length() >= lineMin && r.mayStart(p, s, 0.5) {
			free[i] = s.Length()
			longest = math.Max(longest, free[i])
		}
	}
	var out []station
	for i, l := range free {
		if l == 0 || l < longest/2 {
			continue
		}
		out = append(out, station{i, 0.5})
		for _, t := range [2]float64{0.15, 0.85} {
			if s := cut.Segment(i); l > 40 && r.mayStart(p, s, t) {
				out = append(out, station{i, t})
			}
		}
	}
	if len(out) > 0 {
		return out
	}
	for i := 0; i < cut.Len(); i++ {
		if s := cut.Segment(i); s.IsArc() && s.Bulge > 0 && r.mayStart(p, s, 0.5) {
			out = append(out, station{i, 0.5})
		}
	}
	return out
}

// mayStart reports whether a start at t on s, with its overlap and a kerf's
// room, keeps clear of the edges on which none may lie.
func (r Request) mayStart(p *beamPiece, s geom.Segment, t float64) bool {
	n := s.Length()
	half := (r.overlap() + r.Material.Kerf) / n
	a, b := math.Max(0, t-half), math.Min(1, t+half)
	return r.offKept(p, cutOut(s, a, b))
}

// offKept reports whether a stretch of the cut path keeps clear of the edges
// on which nothing may start.
func (r Request) offKept(p *beamPiece, stretch geom.Segment) bool {
	for _, k := range p.noStart {
		if k.Distance(stretch) < r.Material.Kerf/2+edgeClear {
			return false
		}
	}
	return true
}

// cutOut is the part of s between two fractions.
func cutOut(s geom.Segment, a, b float64) geom.Segment {
	if b < 1 {
		s, _ = s.Split(b)
		a /= b
	}
	if a > 0 {
		_, s = s.Split(a)
	}
	return s
}

// outlineWay is one way round an outline; ok is false when its leads have no room.
func (r Request) outlineWay(p *beamPiece, l loop, length float64, clear obstacles) (way, bool, error) {
	t := l[0].Tangent(0)
	s := l[0].From
	d := t.Scale(-1).Add(t.Left().Scale(-1)).Unit().Scale(length)
	lead := geom.Segment{From: s.Add(d), To: s}
	over := l.span(0, math.Min(r.overlap(), l.length()/4))
	out := leadOut(over[len(over)-1], length*leadOutShare)
	if !clear.free(lead) || !clear.free(out) {
		return way{}, false, nil
	}
	if r.Ties.Count == 0 {
		return closedWay(l, ends{lead, out, over}), true, nil
	}
	w, err := r.tiedWay(p, l, ends{lead, out, over}, clear)
	return w, err == nil, err
}
