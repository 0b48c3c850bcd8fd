package cut

import (
	"math"
	"slices"

	"spotjig/layout/geom"
	"spotjig/post/proof"
)

// way is what a path draws, in order from where it begins to where it ends.
type way struct {
	curves []proof.Curve
	closed bool
}

func wayOf(e Entity) way { return way{e.curves(), e.Closed || e.Kind == "CIRCLE"} }

// lookedAt is how far apart two ways are followed, mm: beyond it they are not the same one,
// and how far off they are no longer matters.
const lookedAt = 1.0

// apart is how far two ways are from each other, mm: of two points that go along them side by
// side, at one speed, the most that they are apart. So it is exact where a stroke begins and
// ends, and sees what is left out between an end and a beginning that lie at one place.
// Either way may be drawn from its end, and a closed one may begin anywhere.
func (w way) apart(v way) float64 {
	if !w.closed {
		d := w.beside(v)
		if d > svgTol && proof.Dist(w.end(), v.curves[0].A) < lookedAt && proof.Dist(w.curves[0].A, v.end()) < lookedAt {
			d = math.Min(d, w.turned().beside(v))
		}
		return d
	}
	i, d := 0, proof.Dist(w.curves[0].A, v.curves[0].A)
	if d > svgTol {
		if i, d = proof.NearestOf(v.curves, w.curves[0].A); d > lookedAt {
			return d
		}
	}
	if w.area()*v.area() < 0 {
		w = w.turned()
	}
	return w.beside(v.from(i, reached(v.curves[i], w.curves[0].A)))
}

func (w way) end() geom.Point { return w.curves[len(w.curves)-1].B }

// turned is the way from its end to its beginning. A closed one begins where it began.
func (w way) turned() way {
	out := slices.Clone(w.curves)
	slices.Reverse(out)
	for i, k := range out {
		out[i] = proof.Curve{A: k.B, B: k.A, Arc: k.Arc, C: k.C, R: k.R, Start: k.Start + k.Sweep, Sweep: -k.Sweep}
	}
	return way{out, w.closed}
}

// area is more than 0 when a closed way runs counter-clockwise. Its arcs are taken by their
// middles.
func (w way) area() (a float64) {
	o := w.curves[0].A
	for _, k := range w.curves {
		m := k.At(0.5)
		a += proof.Side(o, k.A, m) + proof.Side(o, m, k.B)
	}
	return a
}

// from is the closed way when it begins so far along its i-th curve, mm.
func (w way) from(i int, s float64) way {
	l := w.curves[i].Length()
	if l-s <= svgTol {
		i, s = (i+1)%len(w.curves), 0
	}
	if i == 0 && s <= svgTol {
		return w
	}
	out := make([]proof.Curve, 0, len(w.curves)+1)
	out = append(append(out, w.curves[i:]...), w.curves[:i]...)
	if s > svgTol {
		k, at := out[0], out[0].At(s/l)
		head, tail := k, k
		head.B, tail.A = at, at
		if k.Arc {
			head.Sweep *= s / l
			tail.Start, tail.Sweep = k.Start+head.Sweep, k.Sweep-head.Sweep
		}
		out[0] = tail
		out = append(out, head)
	}
	return way{out, true}
}

// reached is how far along a curve the point of it nearest to p lies, mm.
func reached(k proof.Curve, p geom.Point) float64 {
	q, _ := k.Nearest(p)
	switch {
	case q == k.A:
		return 0
	case q == k.B:
		return k.Length()
	case k.Arc:
		return k.R * math.Min(math.Abs(k.Sweep), k.Progress(math.Atan2(q.Y-k.C.Y, q.X-k.C.X)))
	}
	return proof.Dist(k.A, q)
}

// beside is the furthest that two points which go along both ways at one speed, from where
// they begin, are from each other, mm; or what of either way is then left, if that is more.
// Where both come to a corner within svgTol of each other, both go on from there: otherwise
// what rounding adds to each length would add up.
func (w way) beside(v way) float64 {
	a, b := walker{curves: w.curves}, walker{curves: v.curves}
	worst := proof.Dist(a.ahead(0), b.ahead(0))
	for len(a.curves) > 0 && len(b.curves) > 0 && worst <= lookedAt {
		ra, rb := a.rest(), b.rest()
		step := math.Min(ra, rb)
		if a.curves[0].Arc || b.curves[0].Arc {
			worst = math.Max(worst, proof.Dist(a.ahead(step/2), b.ahead(step/2)))
		}
		switch {
		case math.Abs(ra-rb) <= svgTol:
			worst = math.Max(worst, proof.Dist(a.corner(), b.corner()))
		case ra < rb:
			b.gone += step
			worst = math.Max(worst, proof.Dist(a.corner(), b.ahead(0)))
		default:
			a.gone += step
			worst = math.Max(worst, proof.Dist(a.ahead(0), b.corner()))
		}
	}
	return math.Max(worst, math.Max(a.left(), b.left()))
}

// walker is somebody on a way: what lies before them, and how far along the first of it they
// have gone, mm.
type walker struct {
	curves []proof.Curve
	gone   float64
}

// rest is how far it is to the next corner, mm.
func (a *walker) rest() float64 { return a.curves[0].Length() - a.gone }

// ahead is the place so far ahead, mm, before the next corner.
func (a *walker) ahead(s float64) geom.Point {
	k := a.curves[0]
	if s += a.gone; s == 0 {
		return k.A
	}
	return k.At(s / k.Length())
}

// corner goes to the next corner and returns where it is.
func (a *walker) corner() geom.Point {
	at := a.curves[0].B
	a.curves, a.gone = a.curves[1:], 0
	return at
}

// left is how far it is to the end, mm.
func (a *walker) left() float64 {
	l := -a.gone
	for _, k := range a.curves {
		l += k.Length()
	}
	return l
}
