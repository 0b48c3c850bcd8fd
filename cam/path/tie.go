package path

import (
	"fmt"
	"math"

	"spotjig/layout/geom"
)

// tieGrain is the step at which places for ties are looked for, mm.
const tieGrain = 1.0

// tiedWay is an outline cut with ties: the loop with gaps in it. A gap in the
// cut path is a kerf longer than the tie, because the cut's round ends reach
// half a kerf into it from both sides.
// After a tie the beam starts in waste again and comes square to the edge, so that
// the tie keeps its width.
func (r Request) tiedWay(p *beamPiece, l loop, e ends, clear room) (way, error) {
	gap := r.Ties.Width + r.Material.Kerf
	at := r.tiePlaces(p, l, gap)
	if len(at) == 0 {
		return way{}, fmt.Errorf("no place for a tie of %.2f mm on its free edges", r.Ties.Width)
	}
	var w way
	from := 0.0
	for _, mid := range at {
		w.runs = append(w.runs, contourRun(l.span(from, mid-gap/2)))
		from = mid + gap/2
	}
	w.runs = append(w.runs, contourRun(l.span(from, l.length())))
	for i := range w.runs[1:] {
		w.runs[i+1] = r.ledIn(w.runs[i+1], clear)
	}
	first, last := &w.runs[0], &w.runs[len(w.runs)-1]
	first.segs = append([]geom.Segment{e.in}, first.segs...)
	first.first, first.last = 1, first.last+1
	last.segs = append(append(last.segs, e.over...), e.out)
	return w, nil
}

// ledIn puts a lead square to the edge before a run, if there is room for one.
func (r Request) ledIn(u run, clear room) run {
	to := u.segs[0].From
	right := u.segs[0].Tangent(0).Left().Scale(-1)
	for length := r.lead() / 2; length >= leadMin; length /= 2 {
		lead := geom.Segment{From: to.Add(right.Scale(length)), To: to}
		if clear.free(lead) {
			return run{append([]geom.Segment{lead}, u.segs...), 1, u.last + 1}
		}
	}
	return u
}

func contourRun(segs []geom.Segment) run { return run{segs, 0, len(segs)} }

// tiePlaces returns the lengths along the loop at which ties lie, in order: as
// near as free straight edges (on round pieces, arcs) allow to even spacing,
// clear of the start, of corners and of each other.
func (r Request) tiePlaces(p *beamPiece, l loop, gap float64) []float64 {
	free := r.freePlaces(p, l, gap, false)
	if len(free) == 0 {
		free = r.freePlaces(p, l, gap, true)
	}
	total := l.length()
	var out []float64
	for k := 0; k < r.Ties.Count; k++ {
		want := total * (float64(k) + 0.5) / float64(r.Ties.Count)
		best := -1
		for i, f := range free {
			if len(out) > 0 && f-out[len(out)-1] < 3*gap {
				continue
			}
			if best < 0 || round6(math.Abs(f-want)) < round6(math.Abs(free[best]-want)) {
				best = i
			}
		}
		if best < 0 {
			return out
		}
		out = append(out, free[best])
	}
	return out
}

// freePlaces lists where the middle of a tie may lie, on lines or on arcs.
func (r Request) freePlaces(p *beamPiece, l loop, gap float64, arcs bool) []float64 {
	var out []float64
	at, total := 0.0, l.length()
	keep := gap/2 + edgeClear
	for _, s := range l {
		n := s.Length()
		if s.IsArc() == arcs && s.Bulge >= 0 && n > 2*keep {
			steps := int((n - 2*keep) / tieGrain)
			for i := 0; i <= steps; i++ {
				m := keep + float64(i)*tieGrain
				where := at + m
				if where < keep+r.overlap()+edgeClear || where > total-keep-edgeClear {
					continue
				}
				if r.offKept(p, cutOut(s, (m-gap/2)/n, (m+gap/2)/n)) {
					out = append(out, where)
				}
			}
		}
		at += n
	}
	return out
}
