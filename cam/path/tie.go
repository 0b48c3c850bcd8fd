package path

import (
	"fmt"
	"math"

	"spotjig/cam/geom"
)

// tieGrain is the step at which places for ties are looked for, mm.
const tieGrain = 1.0

// tiedWay is an outline cut with ties: the loop with gaps in it. A gap in the
// cut path is a kerf longer than the tie, because the cut's round ends reach
// half a kerf into it from both sides.
func (r Request) tiedWay(p *beamPiece, l loop, lead geom.Segment, over []geom.Segment, out geom.Segment) (way, error) {
	gap := r.Ties.Width + r.Material.Kerf
	at := r.tiePlaces(p, l, gap)
	if len(at) < r.Ties.Count {
		return way{}, fmt.Errorf("place for only %d of %d ties of %.2f mm on its free edges", len(at), r.Ties.Count, r.Ties.Width)
	}
	var w way
	from := 0.0
	for _, mid := range at {
		w.runs = append(w.runs, contourRun(l.span(from, mid-gap/2)))
		from = mid + gap/2
	}
	w.runs = append(w.runs, contourRun(l.span(from, l.length())))
	first, last := &w.runs[0], &w.runs[len(w.runs)-1]
	first.segs = append([]geom.Segment{lead}, first.segs...)
	first.first, first.last = 1, first.last+1
	last.segs = append(append(last.segs, over...), out)
	return w, nil
}

func contourRun(segs []geom.Segment) run { return run{segs, 0, len(segs)} }

// tiePlaces returns the lengths along the loop at which ties lie, in order: as
// near as free straight edges allow to even spacing, clear of the start, of
// corners and of each other.
func (r Request) tiePlaces(p *beamPiece, l loop, gap float64) []float64 {
	free := r.freePlaces(p, l, gap)
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

// freePlaces lists where the middle of a tie may lie.
func (r Request) freePlaces(p *beamPiece, l loop, gap float64) []float64 {
	var out []float64
	at, total := 0.0, l.length()
	keep := gap/2 + edgeClear
	for _, s := range l {
		n := s.Length()
		if !s.IsArc() && n > 2*keep {
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
