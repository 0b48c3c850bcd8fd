// Package cut proves programs and drawings: each program, as re-read, against its
// toolpath (as-read), what a beam leaves of the sheet against the nominal parts (as-cut,
// as-marked, as-ordered), and drawings against the parts.
package cut

import (
	"cmp"
	"math"
	"slices"

	"spotjig/post/proof"

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
	// CutTol: material left standing, or bitten, up to this is passed: a fiftieth
	// of the narrowest fit of a joint (0.05 to 0.10 mm a flank).
	CutTol = 0.002
	// coverGap: between two stretches that each end half a kerf from the edge the
	// round ends of the cuts leave g²/(4 kerf) standing: 0.0001 mm at the
	// thinnest kerf.
	coverGap = 0.005
	// probeStep is how finely open stretches are looked at, and in any case in their middle,
	// where the round ends of two cuts leave most.
	probeStep   = 0.02
	probeCoarse = 100 // points of the first look
	// startClear: a cut through the sheet begins in waste, at least this much
	// further from any nominal edge than the cut itself runs, because the place
	// where the beam pierces is wider than its kerf.
	startClear = 0.1
	tieTol     = 0.01
	// tieNear: a piece tied this often, mm of its outline a tie, is held however many
	// more were asked for; common practice is a hand's breadth. A joint's key, 80 mm
	// around, has room for ties at its two ends only, in thin sheet and for a wide tie at
	// the broader end alone: one tie, no more than tieAlone around, holds it.
	tieNear  = 45.0
	tieAlone = 85.0
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
	Errors   proof.Faults
}

// judge holds one sheet while its cuts are gone through.
type judge struct {
	how   Cutting
	s     proof.Shapes
	cuts  []*proof.Move
	grid  proof.Grid // nominal edges by place
	cover [][]proof.Stretch
	nearc [][]int32 // cuts near each edge
	tally proof.Tally
	Finding
}

// Swept holds what the cuts leave of the sheet against the nominal parts: what stands on
// their edges, what is bitten out of them, and how far each contour was gone along.
func Swept(s proof.Shapes, cuts []*proof.Move, how Cutting) (Finding, proof.Tally) {
	return swept(s, cuts, how, true)
}

// swept is Swept; started says that cuts have a place where they begin, as those of a
// program have and lines of a drawing have not.
func swept(s proof.Shapes, cuts []*proof.Move, how Cutting, started bool) (Finding, proof.Tally) {
	j := &judge{how: how, s: s, cuts: cuts, tally: proof.NewTally(s)}
	j.cover = make([][]proof.Stretch, len(s.Edges))
	j.nearc = make([][]int32, len(s.Edges))
	j.grid = proof.NewGrid(s.Edges)
	j.pairs()
	if started {
		j.starts()
	}
	for i := range s.Rings {
		j.ring(i)
	}
	return j.Finding, j.tally
}

// pairs goes through every pair of a cut and a nominal edge that come near.
func (j *judge) pairs() {
	half := j.how.Kerf / 2
	for c := range j.cuts {
		m := j.cuts[c]
		at := m.Box().Grown(half + j.how.Kerf)
		j.grid.Visit(at, func(e int) {
			n := &j.s.Edges[e]
			j.nearc[e] = append(j.nearc[e], int32(c))
			if st, off, ok := covers(n.Curve, m.Curve, half); ok {
				j.cover[e] = append(j.cover[e], st)
				j.tally.Add(proof.KindCut, e, m.Index, st.To-st.From)
				j.Standing = math.Max(j.Standing, off)
				j.Bite = math.Max(j.Bite, -off)
				return // it runs beside the edge: off is its distance
			}
			if bite := half - proof.Distance(n.Curve, m.Curve); bite > 0 {
				j.bitten(e, m, bite)
			}
		})
	}
}

func (j *judge) bitten(e int, m *proof.Move, bite float64) {
	j.Bite = math.Max(j.Bite, bite)
	if bite > CutTol {
		j.Errors.Add("line %d: %.4f mm into %s", m.Line, bite, j.edgeName(e))
	}
}

func (j *judge) edgeName(e int) string { return j.ringName(j.s.Edges[e].Ring) }

func (j *judge) ringName(i int) string {
	r := j.s.Rings[i]
	return j.s.Parts[r.Part] + " " + r.Name
}

// covers returns the stretch of the edge n along which the cut m runs half a
// kerf to its right, and how much further away than that it comes (negative:
// nearer). ok is false when it does not run so.
func covers(n, m proof.Curve, half float64) (st proof.Stretch, off float64, ok bool) {
	if n.Arc != m.Arc {
		return st, 0, false
	}
	if n.Arc {
		return coversArc(n, m, half)
	}
	l := n.Length()
	ux, uy := (n.B.X-n.A.X)/l, (n.B.Y-n.A.Y)/l
	along := func(p geom.Point) (s, right float64) {
		dx, dy := p.X-n.A.X, p.Y-n.A.Y
		return dx*ux + dy*uy, dx*uy - dy*ux
	}
	s0, r0 := along(m.A)
	s1, r1 := along(m.B)
	o0, o1 := r0-half, r1-half
	if math.Abs(o0) > CutTol || math.Abs(o1) > CutTol {
		return st, 0, false
	}
	st = proof.Stretch{From: math.Max(0, math.Min(s0, s1)), To: math.Min(l, math.Max(s0, s1))}
	off = o0
	if math.Abs(o1) > math.Abs(o0) {
		off = o1
	}
	return st, off, st.To > st.From
}

// coversArc: the cut's circle must lie half a kerf outside an edge that turns
// left, inside one that turns right, about the same centre.
func coversArc(n, m proof.Curve, half float64) (st proof.Stretch, off float64, ok bool) {
	want := n.R + half
	if n.Sweep < 0 {
		want = n.R - half
	}
	apart := proof.Dist(n.C, m.C)
	d := m.R - want
	if n.Sweep < 0 {
		d = -d
	}
	if math.Abs(d)+apart > CutTol {
		return st, 0, false
	}
	off = d + math.Copysign(apart, d)
	// The cut's ends as progress along the edge, in radians.
	p := n.Progress(m.Start)
	if m.Sweep*n.Sweep < 0 {
		p = n.Progress(m.Start + m.Sweep)
	}
	span, w := math.Abs(n.Sweep), math.Abs(m.Sweep)
	best := proof.Stretch{}
	for _, from := range [3]float64{p - 2*math.Pi, p, p + 2*math.Pi} {
		a, b := math.Max(0, from), math.Min(span, from+w)
		if b-a > best.To-best.From {
			best = proof.Stretch{From: a, To: b}
		}
	}
	best.From *= n.R
	best.To *= n.R
	return best, off, best.To > best.From
}

// starts checks where cuts begin: not inside a kept part, and clear of every
// nominal edge by more than the cut itself, but for the cuts between ties.
func (j *judge) starts() {
	atTies := map[string]int{}
	for i, m := range j.cuts {
		if i > 0 && j.cuts[i-1].Index == m.Index-1 {
			continue
		}
		if in := j.s.Kept(m.A); in >= 0 {
			j.Bite = math.Max(j.Bite, j.how.Kerf/2)
			j.Errors.Add("line %d: a cut begins inside %s", m.Line, j.s.Parts[in])
			continue
		}
		e, d := j.nearestEdge(m.A, j.how.Kerf/2+startClear)
		if e < 0 {
			continue
		}
		if m.Layer() == "OUTLINE" && atTies[m.Label] < j.how.Ties*max(1, j.how.Passes) {
			atTies[m.Label]++
			continue
		}
		j.Errors.Add("line %d: a cut begins %.3f mm from %s, not in waste", m.Line, d, j.edgeName(e))
	}
}

// nearestEdge returns the nominal edge nearest to p within the distance, -1 for none.
func (j *judge) nearestEdge(p geom.Point, within float64) (best int, d float64) {
	best, d = -1, within
	j.grid.Visit(proof.Box{X0: p.X, Y0: p.Y, X1: p.X, Y1: p.Y}.Grown(within), func(e int) {
		if _, h := j.s.Edges[e].Nearest(p); h < d {
			best, d = e, h
		}
	})
	return best, d
}

// ring checks that every edge of a nominal contour is cut.
func (j *judge) ring(i int) {
	r := j.s.Rings[i]
	var open []float64
	for _, e := range r.Edges {
		for _, gap := range j.gaps(e) {
			standing := j.probe(e, gap)
			if standing <= CutTol {
				continue
			}
			open = append(open, j.across(e, gap))
			if !r.Outer || j.how.Ties == 0 {
				j.Standing = math.Max(j.Standing, standing)
				j.Errors.Add("%s: %.3f mm of its edge about %s is not cut", j.ringName(i), gap.To-gap.From, proof.At(j.middle(e, gap)))
				return
			}
		}
	}
	j.ties(i, open)
}

func (j *judge) middle(e int, g proof.Stretch) geom.Point {
	n := j.s.Edges[e]
	return n.At((g.From + g.To) / 2 / n.Length())
}

// ties compares the ties left on an outline, each its width, with what was asked for.
func (j *judge) ties(i int, open []float64) {
	r := j.s.Rings[i]
	if !r.Outer || j.how.Ties == 0 {
		return
	}
	around := j.s.Around(i)
	// A small piece may have no room for all: then those it has stand close.
	if n := len(open); n > j.how.Ties || n < j.how.Ties && around > math.Max(tieNear*float64(n), tieAlone*float64(min(n, 1))) {
		j.Errors.Add("%s: %d ties, %d asked", j.ringName(i), n, j.how.Ties)
		return
	}
	for _, left := range open {
		if math.Abs(left-j.how.TieWidth) > tieTol {
			j.Errors.Add("%s: a tie of %.3f mm, %.3f asked", j.ringName(i), left, j.how.TieWidth)
		}
	}
}

// across is how wide what a gap leaves is, straight across, between the round ends of the
// cuts, which reach half a kerf into it from either side. On a round edge the ends stand
// half a kerf further out than the edge.
func (j *judge) across(e int, g proof.Stretch) float64 {
	long := g.To - g.From
	if n := j.s.Edges[e]; n.R > 0 {
		long = 2 * (n.R + j.how.Kerf/2) * math.Sin(math.Min(math.Pi, long/n.R)/2)
	}
	return long - j.how.Kerf
}

// gaps returns the stretches of an edge that no parallel cut covers.
func (j *judge) gaps(e int) []proof.Stretch {
	cover := j.cover[e]
	slices.SortFunc(cover, func(a, b proof.Stretch) int { return cmp.Compare(a.From, b.From) })
	var out []proof.Stretch
	done := 0.0
	for _, c := range cover {
		if c.From > done+coverGap {
			out = append(out, proof.Stretch{From: done, To: c.From})
		}
		done = math.Max(done, c.To)
	}
	if l := j.s.Edges[e].Length(); l > done+coverGap {
		out = append(out, proof.Stretch{From: done, To: l})
	}
	return out
}

// probe looks at a stretch point by point: flat arcs printed as lines, and cuts
// that are not quite parallel, cover it all the same. It returns how much
// material stands there at most; a coarse look comes first, because most
// stretches are open from end to end.
func (j *judge) probe(e int, gap proof.Stretch) (standing float64) {
	fine := 2 * int(math.Ceil((gap.To-gap.From)/(2*probeStep)))
	for _, steps := range [2]int{min(fine, probeCoarse), fine} {
		standing = 0
		for i := 0; i <= steps; i++ {
			s := gap.From + (gap.To-gap.From)*float64(i)/float64(steps)
			standing = math.Max(standing, j.beyond(e, s/j.s.Edges[e].Length()))
		}
		if standing > CutTol {
			return standing
		}
	}
	j.Standing = math.Max(j.Standing, standing)
	return standing
}

// beyond is how much further than half a kerf the nearest cut on the waste
// side is from the point of the edge a fraction t along, at most a kerf.
func (j *judge) beyond(e int, t float64) float64 {
	n := &j.s.Edges[e]
	p := n.At(t)
	rx, ry := n.Right(t)
	best := math.Inf(1)
	for _, c := range j.nearc[e] {
		q, d := j.cuts[c].Nearest(p)
		if (q.X-p.X)*rx+(q.Y-p.Y)*ry > 0 || d < CutTol {
			best = math.Min(best, d)
		}
	}
	// Further than a kerf away nothing was looked for.
	return math.Max(0, math.Min(best-j.how.Kerf/2, j.how.Kerf))
}
