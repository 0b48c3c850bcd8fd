package nest

import (
	"cmp"
	"math"
	"slices"
	"sort"

	"spotjig/layout/geom"
)

// How an outline is covered
//
// What the search lays is not the outline but a few upright rectangles that cover it:
// a member is one for its body and one for each tail. Whether two pieces overlap, and
// where a piece may lie, is then a matter of comparing whole numbers, and what does
// not overlap covered does not overlap at all.
//
// The outline is cut into level bands at its vertices. What a band takes up across is
// known exactly: the width inside at the band's middle, and whatever the edge passes
// over within the band. A slope becomes a stair. Bands that differ by little are
// joined, bays too narrow for the smallest piece are filled, and every rectangle is
// then made as high as its neighbours allow. The same is done with upright bands, and
// the cover with fewer rectangles is kept.

const (
	// stair is how high a step of a slope is, mm.
	stair = 4.0
	// stairsMax bounds the steps of one slope.
	stairsMax = 24
	// chordTol is how far the chords of an arc may lie from it, mm; the cover is wider
	// by as much along an arc.
	chordTol = 0.02
	// coverShare and coverLeast: bands are joined when that adds no more than this
	// share of the outline's area, or this many mm².
	coverShare = 0.005
	coverLeast = 60.0
	// coverMax is how many rectangles a cover has at most, joined at any cost.
	coverMax = 40
)

// edge is a straight stretch of an outline, and how far the outline may lie from it.
type edge struct {
	a, b geom.Point
	tol  float64
}

// span is an interval across a band, in units.
type span struct{ from, to int64 }

// band is what an outline takes up between two heights, in units.
type band struct {
	y0, y1 int64
	spans  []span
}

// cover returns rectangles that cover what lies between the contours (an outline and
// its openings), relative to the lower left of the outline's box, in units. Bays
// narrower than narrow are filled.
func cover(outline geom.Contour, openings []geom.Contour, narrow int64) []rect {
	b := outline.Bounds()
	shift := geom.Placement{X: -b.Min.X, Y: -b.Min.Y}
	var segs []geom.Segment
	for _, c := range append([]geom.Contour{outline}, openings...) {
		segs = append(segs, c.Transform(shift).Segments()...)
	}
	es, area := edges(segs), math.Abs(outline.Area())
	w, h := units(b.Width()), units(b.Height())
	best := tall(bands(es, levels(segs, h), w, narrow, area))
	for i, s := range segs {
		segs[i] = geom.Segment{From: swapped(s.From), To: swapped(s.To), Bulge: -s.Bulge}
	}
	for i, e := range es {
		es[i] = edge{swapped(e.a), swapped(e.b), e.tol}
	}
	other := tall(bands(es, levels(segs, w), h, narrow, area))
	if len(other) > len(best) || len(other) == len(best) && sum(other) >= sum(best) {
		return best
	}
	for i, r := range other {
		other[i] = rect{r.y, r.x, r.h, r.w}
	}
	return other
}

// sum is the area of rectangles, overlaps counted twice.
func sum(rs []rect) float64 {
	a := 0.0
	for _, r := range rs {
		a += size{r.w, r.h}.area()
	}
	return a
}

func swapped(p geom.Point) geom.Point { return geom.Point{X: p.Y, Y: p.X} }

// edges are segments as straight stretches.
func edges(segs []geom.Segment) []edge {
	var out []edge
	for _, s := range segs {
		if !s.IsArc() {
			out = append(out, edge{s.From, s.To, 0})
			continue
		}
		// A chord over the angle a lies r(1 - cos(a/2)) from its arc.
		r, sweep := s.Radius(), math.Abs(float64(s.Sweep()))
		n := 1
		if r > chordTol {
			n = max(1, int(math.Ceil(sweep/(2*math.Acos(1-chordTol/r)))))
		}
		from := s.From
		for i := 1; i <= n; i++ {
			to := s.At(float64(i) / float64(n))
			out = append(out, edge{from, to, chordTol})
			from = to
		}
	}
	return out
}

// bands cuts what lies between the edges into bands, few of them. ys are the heights
// to cut at, w is the extent across, area that of the outline.
func bands(es []edge, ys []int64, w, narrow int64, area float64) []band {
	out := make([]band, 0, len(ys))
	for i := 1; i < len(ys); i++ {
		out = append(out, band{ys[i-1], ys[i], across(es, ys[i-1], ys[i], w, narrow)})
	}
	more := make([]float64, len(out)) // what joining a band to the one before would add
	for i := 1; i < len(out); i++ {
		more[i] = added(out[i-1], out[i], narrow)
	}
	limit := math.Max(coverLeast, coverShare*area) * grain * grain
	for len(out) > 1 {
		k := 1
		for i := 2; i < len(more); i++ {
			if more[i] < more[k] {
				k = i
			}
		}
		if more[k] > limit && len(out) <= coverMax {
			break
		}
		out[k-1] = joined(out[k-1], out[k], narrow)
		out, more = slices.Delete(out, k, k+1), slices.Delete(more, k, k+1)
		for i := max(1, k-1); i <= k && i < len(out); i++ {
			more[i] = added(out[i-1], out[i], narrow)
		}
	}
	return out
}

// levels are the heights between bands: those of all ends, and the steps of slopes and
// arcs. Extents from 0 to h.
func levels(segs []geom.Segment, h int64) []int64 {
	ys := []int64{0, h}
	for _, s := range segs {
		b := s.Bounds()
		n := 1
		if run := math.Min(b.Width(), b.Height()); run > stair {
			n = min(stairsMax, int(math.Ceil(run/stair)))
		}
		for i := 0; i <= n; i++ {
			y := units(b.Min.Y + float64(b.Height()*float64(i))/float64(n))
			ys = append(ys, max(0, min(h, y)))
		}
	}
	slices.Sort(ys)
	return slices.Compact(ys)
}

// across is what the band between two heights takes up, bays filled.
func across(es []edge, y0, y1, w, narrow int64) []span {
	lo, hi := mm(y0), mm(y1)
	mid := (lo + hi) / 2
	var out []span
	var xs []float64
	for _, e := range es {
		if (e.a.Y > mid) != (e.b.Y > mid) {
			xs = append(xs, e.a.X+float64((mid-e.a.Y)*(e.b.X-e.a.X))/(e.b.Y-e.a.Y))
		}
		if s, ok := e.within(lo, hi); ok {
			out = append(out, s)
		}
	}
	sort.Float64s(xs)
	for i := 1; i < len(xs); i += 2 {
		out = append(out, span{units(xs[i-1]), units(xs[i])})
	}
	for i := range out {
		out[i] = span{max(0, out[i].from), min(w, out[i].to)}
	}
	return united(out, narrow)
}

// within is what an edge passes over between two heights; ok is false when it only
// touches the band.
func (e edge) within(lo, hi float64) (span, bool) {
	a, b := e.a, e.b
	if a.Y > b.Y {
		a, b = b, a
	}
	lo, hi = lo-e.tol, hi+e.tol
	if b.Y <= lo || a.Y >= hi {
		return span{}, false
	}
	x0, x1 := a.X, b.X
	if a.Y < lo {
		x0 = a.X + float64((lo-a.Y)*(b.X-a.X))/(b.Y-a.Y)
	}
	if b.Y > hi {
		x1 = a.X + float64((hi-a.Y)*(b.X-a.X))/(b.Y-a.Y)
	}
	return span{units(math.Min(x0, x1) - e.tol), units(math.Max(x0, x1) + e.tol)}, true
}

// united sorts spans and joins those less than narrow apart.
func united(in []span, narrow int64) []span {
	slices.SortFunc(in, func(a, b span) int {
		if a.from != b.from {
			return cmp.Compare(a.from, b.from)
		}
		return cmp.Compare(a.to, b.to)
	})
	var out []span
	for _, s := range in {
		if n := len(out); n > 0 && s.from-out[n-1].to < narrow {
			out[n-1].to = max(out[n-1].to, s.to)
			continue
		}
		out = append(out, s)
	}
	return out
}

func joined(a, b band, narrow int64) band {
	return band{a.y0, b.y1, united(append(slices.Clone(a.spans), b.spans...), narrow)}
}

// added is the area that joining two bands adds.
func added(a, b band, narrow int64) float64 { return joined(a, b, narrow).area() - a.area() - b.area() }

func (b band) area() float64 {
	l := int64(0)
	for _, s := range b.spans {
		l += s.to - s.from
	}
	return float64(float64(l) * float64(b.y1-b.y0))
}

// tall makes rectangles of bands, each as high as the bands above and below allow, and
// drops those that lie in others.
func tall(bs []band) []rect {
	var out []rect
	for i, b := range bs {
		for _, s := range b.spans {
			lo, hi := i, i
			for lo > 0 && bs[lo-1].has(s) {
				lo--
			}
			for hi+1 < len(bs) && bs[hi+1].has(s) {
				hi++
			}
			r := rect{s.from, bs[lo].y0, s.to - s.from, bs[hi].y1 - bs[lo].y0}
			if !slices.ContainsFunc(out, func(o rect) bool { return o.holds(r) }) {
				out = slices.DeleteFunc(out, r.holds)
				out = append(out, r)
			}
		}
	}
	return out
}

func (b band) has(s span) bool {
	return slices.ContainsFunc(b.spans, func(o span) bool { return o.from <= s.from && s.to <= o.to })
}
