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
func (r Request) tiedWay(p *beamPiece, l loop, e ends, clear obstacles) (way, error) {
	gap := r.Ties.Width + r.Material.Kerf
	at := r.tiePlaces(p, l, gap)
	if len(at) == 0 {
		return way{}, fmt.Errorf("no place for a tie of %.2f mm on its free edges", r.Ties.Width)
	}
	var w way
	from := 0.0
	for _, mid := range at {
		half := l.halfGap(mid, gap)
		w.runs = append(w.runs, contourRun(l.span(from, mid-half)))
		from = mid + half
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

// halfGap is half the length along the loop that leaves a gap as wide as asked, straight
// across: on an arc, a chord of the gap.
func (l loop) halfGap(mid, gap float64) float64 {
	at := 0.0
	for _, s := range l {
		at += s.Length()
		if mid > at {
			continue
		}
		if r := s.Radius(); s.IsArc() && gap < 2*r {
			return r * math.Asin(gap/(2*r))
		}
		break
	}
	return gap / 2
}

// ledIn puts a lead square to the edge before a run, if there is room for one.
func (r Request) ledIn(u run, clear obstacles) run {
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
// clear of the start, of corners and of each other. Where there is not room for all
// there are as many as fit.
func (r Request) tiePlaces(p *beamPiece, l loop, gap float64) []float64 {
	free := r.freePlaces(p, l, gap, false)
	if len(free) == 0 {
		free = r.freePlaces(p, l, gap, true)
	}
	for n := r.Ties.Count; n > 0; n-- {
		if out := spread(free, n, l.length(), 3*gap); out != nil {
			return out
		}
	}
	return nil
}

// spread picks n of the places, ascending, no nearer to each other than apart, which
// together lie nearest to even spacing over total; nil when there are none. Of two as
// good the one further back.
func spread(places []float64, n int, total, apart float64) []float64 {
	const none = math.MaxInt64
	// low[k][i] is the least sum of distances, in 1e-6 mm, of k+1 ties of which the last
	// lies at one of the first i+1 places; last[k][i] is that place.
	low, last := make([][]int64, n), make([][]int, n)
	for k := range low {
		low[k], last[k] = make([]int64, len(places)), make([]int, len(places))
		want := total * (float64(k) + 0.5) / float64(n)
		j := -1 // the last place that leaves room before place i
		for i, f := range places {
			for j+1 < i && places[j+1] <= f-apart+spanTol {
				j++
			}
			sum := int64(math.Round(1e6 * math.Abs(f-want)))
			switch {
			case k > 0 && (j < 0 || low[k-1][j] == none):
				sum = none
			case k > 0:
				sum += low[k-1][j]
			}
			low[k][i], last[k][i] = sum, i
			if i > 0 && low[k][i-1] <= sum {
				low[k][i], last[k][i] = low[k][i-1], last[k][i-1]
			}
		}
	}
	end := len(places) - 1
	if end < 0 || low[n-1][end] == none {
		return nil
	}
	out := make([]float64, n)
	for k := n - 1; k >= 0; k-- {
		at := last[k][end]
		out[k] = places[at]
		for end = at; end >= 0 && places[end] > places[at]-apart+spanTol; end-- {
		}
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
