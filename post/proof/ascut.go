package proof

import (
	"fmt"
	"math"
	"slices"

	"spotjig/layout/geom"
)

// As cut
//
// The kerf is swept along the cuts of the program as read back and taken from
// the sheet; what is left must be the nominal parts. Equivalent, and exact on
// lines and arcs without any polygon: (1) every point of every nominal edge has
// a cut half a kerf away on its waste side, so nothing is left standing on it
// and nothing holds the piece; (2) no cut comes nearer to a nominal edge than half
// a kerf, and no cut begins inside kept material, so nothing is bitten.
//
// For (1) every pair of a nominal edge and a cut that runs parallel or concentric
// to it half a kerf away gives the stretch of the edge that the cut covers; what
// the union of the stretches leaves open is looked at point by point against all
// cuts near it. For (2) the least distance of every pair that comes near is
// computed. A grid finds the pairs.
//
// Example: kerf 0.2, an edge from (0,0) to (10,0) with the part above it. A cut
// from (-1,-0.1) to (6,-0.1) covers 0 to 6; one from (6,-0.1) to (12,-0.1) the
// rest. A cut along y = +0.1 covers nothing, and fails (2) as well.

// Tolerances, mm.
const (
	// cutTol: material left standing, or bitten, up to this is passed: a fiftieth
	// of the narrowest fit of a joint (0.05 to 0.10 mm a flank).
	cutTol = 0.002
	// coverGap: between two stretches that each end half a kerf from the edge the
	// round ends of the cuts leave g²/(4 kerf) standing: 0.0001 mm at the
	// thinnest kerf.
	coverGap = 0.005
	// probeStep is how finely open stretches are looked at: between two points
	// that far apart a cut's round end leaves less than 0.001 mm.
	probeStep   = 0.02
	probeCoarse = 100 // points of the first look
	// startClear: a cut through the sheet begins in waste, at least this much
	// further from any nominal edge than the cut itself runs, because the place
	// where the beam pierces is wider than its kerf.
	startClear = 0.1
	tieTol     = 0.01
)

// Cutting says how a sheet is cut.
type Cutting struct {
	Kerf     float64
	Passes   int // how often each cut is made; 0 is 1
	Scores   int // how often each score and each letter is
	Letters  int
	Ties     int     // an outline
	TieWidth float64 // mm of material each leaves
	Power    float64 // S of cuts through the sheet; 0: not looked at
	Score    float64 // S of scores
	Letter   float64 // S of lettering
}

// Finding is what the proof as cut found on one sheet.
type Finding struct {
	Standing float64 // most material left on an edge, mm
	Bite     float64 // deepest bite into a kept part, mm
	Errors   []string
}

// stretch is part of an edge, in mm along it.
type stretch struct{ from, to float64 }

// judge holds one sheet while its cuts are gone through.
type judge struct {
	how   Cutting
	s     shapes
	cuts  []*Move
	grid  grid // nominal edges by place
	cover [][]stretch
	nearc [][]int32 // cuts near each edge
	tally tally
	Finding
}

// asCut judges the parts that the cuts leave on the sheet.
func asCut(s shapes, cuts []*Move, how Cutting) (Finding, tally) {
	j := &judge{how: how, s: s, cuts: cuts, tally: newTally(s)}
	j.cover = make([][]stretch, len(s.edges))
	j.nearc = make([][]int32, len(s.edges))
	j.grid = newGrid(s.edges)
	j.pairs()
	j.starts()
	for i := range s.rings {
		j.ring(i)
	}
	return j.Finding, j.tally
}

// fault notes an error; a few are enough.
func (j *judge) fault(form string, a ...any) {
	if len(j.Errors) < errorsMax {
		j.Errors = append(j.Errors, fmt.Sprintf(form, a...))
	}
}

const errorsMax = 5

// pairs goes through every pair of a cut and a nominal edge that come near.
func (j *judge) pairs() {
	half := j.how.Kerf / 2
	for c := range j.cuts {
		m := j.cuts[c]
		at := m.box().grown(half + j.how.Kerf)
		j.grid.visit(at, func(e int) {
			n := &j.s.edges[e]
			j.nearc[e] = append(j.nearc[e], int32(c))
			if st, off, ok := covers(n.curve, m.curve, half); ok {
				j.cover[e] = append(j.cover[e], st)
				j.tally.add(kindCut, e, m.index, st.to-st.from)
				j.Standing = math.Max(j.Standing, off)
				j.Bite = math.Max(j.Bite, -off)
				return // it runs beside the edge: off is its distance
			}
			if bite := half - distance(n.curve, m.curve); bite > 0 {
				j.bitten(e, m, bite)
			}
		})
	}
}

func (j *judge) bitten(e int, m *Move, bite float64) {
	j.Bite = math.Max(j.Bite, bite)
	if bite > cutTol {
		j.fault("line %d: %.4f mm into %s", m.Line, bite, j.edgeName(e))
	}
}

func (j *judge) edgeName(e int) string { return j.ringName(j.s.edges[e].ring) }

func (j *judge) ringName(i int) string {
	r := j.s.rings[i]
	return j.s.parts[r.part] + " " + r.name
}

// covers returns the stretch of the edge n along which the cut m runs half a
// kerf to its right, and how much further away than that it comes (negative:
// nearer). ok is false when it does not run so.
func covers(n, m curve, half float64) (st stretch, off float64, ok bool) {
	if n.arc != m.arc {
		return st, 0, false
	}
	if n.arc {
		return coversArc(n, m, half)
	}
	l := n.length()
	ux, uy := (n.b.X-n.a.X)/l, (n.b.Y-n.a.Y)/l
	along := func(p geom.Point) (s, right float64) {
		dx, dy := p.X-n.a.X, p.Y-n.a.Y
		return dx*ux + dy*uy, dx*uy - dy*ux
	}
	s0, r0 := along(m.a)
	s1, r1 := along(m.b)
	o0, o1 := r0-half, r1-half
	if math.Abs(o0) > cutTol || math.Abs(o1) > cutTol {
		return st, 0, false
	}
	st = stretch{math.Max(0, math.Min(s0, s1)), math.Min(l, math.Max(s0, s1))}
	off = o0
	if math.Abs(o1) > math.Abs(o0) {
		off = o1
	}
	return st, off, st.to > st.from
}

// coversArc: the cut's circle must lie half a kerf outside an edge that turns
// left, inside one that turns right, about the same centre.
func coversArc(n, m curve, half float64) (st stretch, off float64, ok bool) {
	want := n.r + half
	if n.sweep < 0 {
		want = n.r - half
	}
	apart := dist(n.c, m.c)
	d := m.r - want
	if n.sweep < 0 {
		d = -d
	}
	if math.Abs(d)+apart > cutTol {
		return st, 0, false
	}
	off = d + math.Copysign(apart, d)
	// The cut's ends as progress along the edge, in radians.
	p := n.progress(m.start)
	if m.sweep*n.sweep < 0 {
		p = n.progress(m.start + m.sweep)
	}
	span, w := math.Abs(n.sweep), math.Abs(m.sweep)
	best := stretch{}
	for _, from := range [3]float64{p - 2*math.Pi, p, p + 2*math.Pi} {
		a, b := math.Max(0, from), math.Min(span, from+w)
		if b-a > best.to-best.from {
			best = stretch{a, b}
		}
	}
	best.from *= n.r
	best.to *= n.r
	return best, off, best.to > best.from
}

// starts checks where cuts begin: not inside a kept part, and clear of every
// nominal edge by more than the cut itself, but for the cuts between ties.
func (j *judge) starts() {
	atTies := map[string]int{}
	for i, m := range j.cuts {
		if i > 0 && j.cuts[i-1].index == m.index-1 {
			continue
		}
		if in := j.s.kept(m.a); in >= 0 {
			j.Bite = math.Max(j.Bite, j.how.Kerf/2)
			j.fault("line %d: a cut begins inside %s", m.Line, j.s.parts[in])
			continue
		}
		e, d := j.nearestEdge(m.a, j.how.Kerf/2+startClear)
		if e < 0 {
			continue
		}
		if m.layer() == "OUTLINE" && atTies[m.Label] < j.how.Ties*max(1, j.how.Passes) {
			atTies[m.Label]++
			continue
		}
		j.fault("line %d: a cut begins %.3f mm from %s, not in waste", m.Line, d, j.edgeName(e))
	}
}

// nearestEdge returns the nominal edge nearest to p within the distance, -1 for none.
func (j *judge) nearestEdge(p geom.Point, within float64) (best int, d float64) {
	best, d = -1, within
	j.grid.visit(box{p.X, p.Y, p.X, p.Y}.grown(within), func(e int) {
		if _, h := j.s.edges[e].nearest(p); h < d {
			best, d = e, h
		}
	})
	return best, d
}

// ring checks that every edge of a nominal contour is cut.
func (j *judge) ring(i int) {
	r := j.s.rings[i]
	var open []stretch
	for _, e := range r.edges {
		for _, gap := range j.gaps(e) {
			standing := j.probe(e, gap)
			if standing <= cutTol {
				continue
			}
			open = append(open, gap)
			if !r.outer || j.how.Ties == 0 {
				j.Standing = math.Max(j.Standing, standing)
				j.fault("%s: %.3f mm of its edge about %s is not cut", j.ringName(i), gap.to-gap.from, at(j.middle(e, gap)))
				return
			}
		}
	}
	j.ties(i, open)
}

func (j *judge) middle(e int, g stretch) geom.Point {
	n := j.s.edges[e]
	return n.at((g.from + g.to) / 2 / n.length())
}

// ties compares what is left open on an outline with what was asked for.
func (j *judge) ties(i int, open []stretch) {
	r := j.s.rings[i]
	if !r.outer || j.how.Ties == 0 {
		return
	}
	if len(open) != j.how.Ties {
		j.fault("%s: %d ties, %d asked", j.ringName(i), len(open), j.how.Ties)
		return
	}
	for _, g := range open {
		// The round ends of the cuts take half a kerf from either side.
		left := g.to - g.from - j.how.Kerf
		if math.Abs(left-j.how.TieWidth) > tieTol {
			j.fault("%s: a tie of %.3f mm, %.3f asked", j.ringName(i), left, j.how.TieWidth)
		}
	}
}

// gaps returns the stretches of an edge that no parallel cut covers.
func (j *judge) gaps(e int) []stretch {
	cover := j.cover[e]
	slices.SortFunc(cover, func(a, b stretch) int {
		switch {
		case a.from < b.from:
			return -1
		case a.from > b.from:
			return 1
		}
		return 0
	})
	var out []stretch
	done := 0.0
	for _, c := range cover {
		if c.from > done+coverGap {
			out = append(out, stretch{done, c.from})
		}
		done = math.Max(done, c.to)
	}
	if l := j.s.edges[e].length(); l > done+coverGap {
		out = append(out, stretch{done, l})
	}
	return out
}

// probe looks at a stretch point by point: flat arcs printed as lines, and cuts
// that are not quite parallel, cover it all the same. It returns how much
// material stands there at most; a coarse look comes first, because most
// stretches are open from end to end.
func (j *judge) probe(e int, gap stretch) (standing float64) {
	fine := int(math.Ceil((gap.to - gap.from) / probeStep))
	for _, steps := range [2]int{min(fine, probeCoarse), fine} {
		standing = 0
		for i := 0; i <= steps; i++ {
			s := gap.from + (gap.to-gap.from)*float64(i)/float64(steps)
			standing = math.Max(standing, j.beyond(e, s/j.s.edges[e].length()))
		}
		if standing > cutTol {
			return standing
		}
	}
	j.Standing = math.Max(j.Standing, standing)
	return standing
}

// beyond is how much further than half a kerf the nearest cut on the waste
// side is from the point of the edge a fraction t along, at most a kerf.
func (j *judge) beyond(e int, t float64) float64 {
	n := &j.s.edges[e]
	p := n.at(t)
	rx, ry := n.right(t)
	best := math.Inf(1)
	for _, c := range j.nearc[e] {
		q, d := j.cuts[c].nearest(p)
		if (q.X-p.X)*rx+(q.Y-p.Y)*ry > 0 || d < cutTol {
			best = math.Min(best, d)
		}
	}
	// Further than a kerf away nothing was looked for.
	return math.Max(0, math.Min(best-j.how.Kerf/2, j.how.Kerf))
}
