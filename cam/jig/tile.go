package jig

import (
	"fmt"
	"math"

	"spotjig/layout"
	"spotjig/layout/geom"
)

// Piece is one flat part while it is being designed, template frame.
type Piece struct {
	ID         string
	Role       Role
	member     int
	Box        geom.Box // shoulder to shoulder; tails stand out of it
	Outline    geom.Contour
	Openings   []Opening
	Scores     []geom.Contour
	Letters    []geom.Contour
	Text       []string
	NoStart    []geom.Segment
	Jointed    []geom.Contour
	Stands     []geom.Box // its tails
	Busy       []geom.Box // kept free of lettering: scales
	Notes      []Note
	unlettered []string // texts there was no room for
}

// tile splits every member into pieces that fit the bed with their tails.
//
// A member is cut along a grid. Cuts keep clear of spot holes, of lines that
// run along them, of short ticks and of the seams of neighbouring members; the
// fewest pieces win, then the cuts that disturb least.
func tile(tp *Template, lim Limits, table layout.Table) error {
	for i := range tp.members {
		b := &tp.members[i].box
		b.Min = geom.Point{X: Round3(b.Min.X), Y: Round3(b.Min.Y)}
		b.Max = geom.Point{X: Round3(b.Max.X), Y: Round3(b.Max.Y)}
	}
	for i, m := range tp.members {
		us, vs, err := cutGrid(tp, i, lim, table)
		if err != nil {
			return err
		}
		for a := 0; a+1 < len(us); a++ {
			for b := 0; b+1 < len(vs); b++ {
				box := geom.Box{Min: geom.Point{X: us[a], Y: vs[b]}, Max: geom.Point{X: us[a+1], Y: vs[b+1]}}
				tp.Pieces = append(tp.Pieces, &Piece{Role: m.role, member: i, Box: box})
			}
		}
	}
	tp.sortPieces()
	return nil
}

// cutGrid returns the cut positions along u and v, ends included. Where room for
// tails on every seam leaves no solution, pieces may fill the bed: their
// neighbours then carry the tails (tailFits sees to it). Where no seam has room for the usual
// joint, it is placed for the smaller one.
func cutGrid(tp *Template, i int, lim Limits, table layout.Table) (us, vs []float64, err error) {
	us, vs = gridFor(tp, i, lim, table)
	if us == nil && lim.Smaller != (Joining{}) {
		us, vs = gridFor(tp, i, lim.smaller(), table)
	}
	if us == nil {
		m := tp.members[i]
		return nil, nil, &SizeError{Piece: fmt.Sprintf("the %s template's %s", tp.End, m.role),
			NeedW: m.box.Width(), NeedH: m.box.Height(), UsableW: lim.BedW, UsableH: lim.BedH,
			Reason: "no seams keep clear of the marks and leave pieces that fit; use a larger bed or a thinner sheet"}
	}
	return us, vs, nil
}

// gridFor is the cheapest grid that keeps the limits; none when there is none.
func gridFor(tp *Template, i int, lim Limits, table layout.Table) (us, vs []float64) {
	best := math.Inf(1)
	for _, joint := range []float64{lim.Reach, 0} {
		for _, bed := range [2][2]float64{{lim.BedW, lim.BedH}, {lim.BedH, lim.BedW}} {
			u, cu := tiling{tp: tp, member: i, axis: 0, most: bed[0], joint: joint}.cuts(lim, table)
			v, cv := tiling{tp: tp, member: i, axis: 1, most: bed[1], joint: joint}.cuts(lim, table)
			if u == nil || v == nil {
				continue
			}
			if c := float64((len(u)-1)*(len(v)-1))*1000 + cu + cv; c < best-1e-6 {
				best, us, vs = c, u, v
			}
		}
		if us != nil {
			break
		}
	}
	return us, vs
}

// FitsBed reports whether a box fits the usable bed, turned if need be.
func (lim Limits) FitsBed(b geom.Box) bool {
	w, h := b.Width()-1e-6, b.Height()-1e-6
	return w <= lim.BedW && h <= lim.BedH || w <= lim.BedH && h <= lim.BedW
}

// Axis picks u (0) or v (1) of a point.
func Axis(p geom.Point, k int) float64 {
	if k == 0 {
		return p.X
	}
	return p.Y
}

// cutStep is the grain of cut positions, mm.
const cutStep = 2.0

// tiling is one member that is cut along one axis.
type tiling struct {
	tp           *Template
	member, axis int
	most         float64 // the longest that a piece may be, what joints add included
	joint        float64 // what a joint may add to a piece's end
}

// cuts finds the cheapest fewest cuts: a shortest path over candidate positions. It
// returns their places, the member's ends included, and their cost; none when there is
// no way.
func (c tiling) cuts(lim Limits, table layout.Table) (at []float64, cost float64) {
	box := c.tp.members[c.member].box
	lo, hi := Axis(box.Min, c.axis), Axis(box.Max, c.axis)
	endLo, endHi := c.ends()
	if hi-lo+endLo+endHi <= c.most {
		return []float64{lo, hi}, 0
	}
	var pos, price []float64
	pos, price = append(pos, lo), append(price, 0)
	least := 40 + lim.draw.least
	beside, crossed := c.neighbours(), c.crossed()
	for q := lo + least; q <= hi-least; q += cutStep {
		if p := c.cost(q, beside, crossed, lim, table); !math.IsInf(p, 1) {
			pos, price = append(pos, q), append(price, p)
		}
	}
	pos, price = append(pos, hi), append(price, 0)
	n := len(pos)
	type state struct {
		cost float64
		from int
	}
	s := make([]state, n)
	for j := 1; j < n; j++ {
		s[j] = state{math.Inf(1), -1}
		for a := 0; a < j; a++ {
			first, last := c.joint, c.joint
			if a == 0 {
				first = endLo
			}
			if j == n-1 {
				last = endHi
			}
			size := pos[j] - pos[a]
			if size+(first+last) > c.most || size < least || math.IsInf(s[a].cost, 1) {
				continue
			}
			off := size/c.most - 0.8
			sum := s[a].cost + 100 + price[j] + float64(off*off)*4
			if sum < s[j].cost-1e-9 {
				s[j] = state{sum, a}
			}
		}
	}
	if math.IsInf(s[n-1].cost, 1) {
		return nil, 0
	}
	for j := n - 1; ; j = s[j].from {
		at = append([]float64{Round3(pos[j])}, at...)
		if j == 0 {
			return at, s[n-1].cost
		}
	}
}

// ends is what joints may add at the member's two ends: nothing where no neighbour
// abuts.
func (c tiling) ends() (lo, hi float64) {
	k, m := c.axis, c.tp.members[c.member].box
	for j, o := range c.tp.members {
		if j == c.member || SeamLength(m, o.box, k) < seamLeast {
			continue
		}
		if math.Abs(Axis(o.box.Max, k)-Axis(m.Min, k)) < SeamTol {
			lo = c.joint
		}
		if math.Abs(Axis(o.box.Min, k)-Axis(m.Max, k)) < SeamTol {
			hi = c.joint
		}
	}
	return lo, hi
}

const (
	SeamTol   = 1e-6 // boxes this near share an edge; they are made from the same numbers
	seamLeast = 30.0 // shortest shared edge that gets a joint
	seamAside = 14.0 // a cut keeps this far from the ends of a neighbour's edge
	seamUnder = 40.0 // what a cut costs that meets a neighbour's edge
)

// SeamLength is how far two boxes overlap across the axis.
func SeamLength(a, b geom.Box, k int) float64 {
	o := 1 - k
	return math.Min(Axis(a.Max, o), Axis(b.Max, o)) - math.Max(Axis(a.Min, o), Axis(b.Min, o))
}

// neighbours are the boxes that share an edge with the member: the pieces of members that
// are tiled, and members that are not yet.
func (c tiling) neighbours() []geom.Box {
	m := c.tp.members[c.member].box
	tiled := map[int]bool{}
	var out []geom.Box
	for _, p := range c.tp.Pieces {
		tiled[p.member] = true
		if p.member != c.member && touches(m, p.Box) {
			out = append(out, p.Box)
		}
	}
	for j, o := range c.tp.members {
		if j != c.member && !tiled[j] && touches(m, o.box) {
			out = append(out, o.box)
		}
	}
	return out
}

// extent is an element, how far it reaches along the axis, and its length.
type extent struct {
	Element
	lo, hi, long float64
}

// crossed are the elements that cuts of the member may come near to.
func (c tiling) crossed() []extent {
	var out []extent
	for _, e := range c.tp.Elements {
		if b := e.Bounds(); b.Grow(1).Overlaps(c.tp.members[c.member].box) {
			out = append(out, extent{e, Axis(b.Min, c.axis), Axis(b.Max, c.axis), e.Length()})
		}
	}
	return out
}

// cost says how much a cut at q disturbs; +Inf where it must not be.
func (c tiling) cost(q float64, beside []geom.Box, crossed []extent, lim Limits, table layout.Table) float64 {
	k, m := c.axis, c.tp.members[c.member]
	cost := 0.0
	for _, o := range beside {
		lo, hi := Axis(o.Min, k), Axis(o.Max, k)
		if SeamLength(m.box, o, 1-k) < seamLeast || q < lo-seamAside || q > hi+seamAside {
			continue
		}
		if q < lo+lim.JointLeast || q > hi-lim.JointLeast {
			return math.Inf(1)
		}
		cost += seamUnder // both pieces then join this neighbour
	}
	reach := math.Max(m.box.Max.Y, -m.box.Min.Y)
	if k == 1 && reach > table.W/2-lim.EndGap-0.01 && table.W/2-math.Abs(q) < lim.sideFinRoom() {
		return math.Inf(1)
	}
	if m.box.Min.X < lim.Lip+0.01 && reach > c.tp.EndAt { // it carries the end contacts
		if k == 0 && q < lim.Lip+EndFinRoom || k == 1 && math.Abs(math.Abs(q)-c.tp.EndAt) < lim.EndRoom {
			return math.Inf(1)
		}
	}
	for i := range crossed {
		cost += lim.cutNear(&crossed[i], q)
	}
	return cost
}

// cutNear is one element's part of a cut's cost.
func (lim Limits) cutNear(e *extent, q float64) float64 {
	lo, hi := e.lo, e.hi
	away := math.Max(lo-q, q-hi) // negative when the cut crosses the element's extent
	switch {
	case e.IsDot():
		away = math.Abs(q - lo)
		if away < lim.JointClear+lim.Notch+lim.Hole+0.5 {
			return math.Inf(1)
		}
		if away < lim.JointClear+lim.Hole+lim.Reach {
			return 5
		}
	case e.IsLine() && hi-lo < slantMost*e.long: // a line that runs along the cut
		if away < lim.Half()+lim.Web+0.5 {
			return math.Inf(1)
		}
		if away < lim.Half()+lim.Web+lim.Reach {
			return 3
		}
	case e.long < 60:
		if away < lim.Web+2*lim.Half() {
			return math.Inf(1)
		}
	case e.IsArc():
		if near := math.Min(math.Abs(q-lo), math.Abs(q-hi)); near < 30 {
			return 30 - near
		}
		return 1
	}
	return 0
}

// touches reports whether the boxes share an edge or overlap.
func touches(a, b geom.Box) bool { return a.Grow(SeamTol).Overlaps(b) }
