package tip

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"spotjig/post/proof"
)

// gap is how far an edge or a stroke is from the nearest place where the tip went for it, mm,
// where that is furthest.
type gap struct {
	wide  float64
	where string
}

// gaps returns the greatest gap of all, and the greatest of an edge when the ends of cuts,
// which the blade's edge slants through, are left out. Where that is none too wide, edges
// are cut with those ends as well, and are not looked at again.
func (t *tipJudge) gaps() (all, through gap) {
	cuts := [3]*places[proof.Curve]{proof.KindCut: t.edges}
	through = missed(cuts, [3][]bit{proof.KindCut: t.slant.through(t.trail[proof.KindCut])})
	all = through
	if all.wide > tipMax {
		all = missed(cuts, t.trail)
	}
	if g := missed([3]*places[proof.Curve]{proof.KindScore: t.scores, proof.KindLetter: t.letters}, t.trail); g.wide > all.wide {
		all = g
	}
	return all, through
}

// missed is the greatest gap that trails leave of wanted curves, by kind. Those curves are looked at here
// and there, and besides wherever no straight bit of a trail runs beside them: there as
// finely as a gap may be wide, and in its middle.
func missed(wanted [3]*places[proof.Curve], trails [3][]bit) (worst gap) {
	for kind, want := range wanted {
		if want == nil {
			continue
		}
		g := newPlaces(trails[kind])
		along := beside(want, trails[kind])
		for c, k := range want.curves {
			l := k.Length()
			look := func(from, to float64, n int) {
				for i := range n + 1 {
					p := k.A
					if s := from + (to-from)*float64(i)/float64(n); s > 0 {
						p = k.At(s / l)
					}
					if _, d := g.nearest(p); d > worst.wide {
						worst = gap{d, fmt.Sprintf("%s by %.3f mm or more at %s", [3]string{"an edge", "a score", "a stroke of lettering"}[kind], d, proof.At(p))}
					}
				}
			}
			look(0, l, int(l/edgeSample)+1)
			slices.SortFunc(along[c], func(a, b proof.Stretch) int { return cmp.Compare(a.From, b.From) })
			done := 0.0
			for _, s := range append(along[c], proof.Stretch{From: l, To: l}) {
				if s.From > done+tipMax && worst.wide <= tipMax { // else it is refused already
					look(done, s.From, 2*(int((s.From-done)/(2*tipMax))+1))
				}
				done = math.Max(done, s.To)
			}
		}
	}
	return worst
}

// beside returns, for each curve, the stretches of it that bits of a trail run along, no
// more than tipMax off.
func beside(x *places[proof.Curve], trail []bit) [][]proof.Stretch {
	out := make([][]proof.Stretch, len(x.curves))
	for _, b := range trail {
		at := b.Box().Grown(tipMax)
		for _, i := range x.near(placeKeyOf(b.At(0.5))) {
			if c := x.boxes[i]; c.X0 > at.X1 || c.X1 < at.X0 || c.Y0 > at.Y1 || c.Y1 < at.Y0 {
				continue
			}
			out[i] = runs(out[i], x.curves[i], b)
		}
	}
	return out
}

// runs appends the stretches of a curve along which a bit runs.
func runs(to []proof.Stretch, k proof.Curve, b bit) []proof.Stretch {
	if k.Arc {
		return runsArc(to, k, b)
	}
	l := k.Length()
	ux, uy := (k.B.X-k.A.X)/l, (k.B.Y-k.A.Y)/l
	var s, off [2]float64
	for i, p := range [2]struct{ x, y float64 }{{b.a.X - k.A.X, b.a.Y - k.A.Y}, {b.b.X - k.A.X, b.b.Y - k.A.Y}} {
		s[i], off[i] = p.x*ux+p.y*uy, p.x*uy-p.y*ux
	}
	// The part of the bit, from 0 to 1, that is no further off.
	from, until := 0.0, 1.0
	if d := off[1] - off[0]; d != 0 {
		p, q := (-tipMax-off[0])/d, (tipMax-off[0])/d
		from, until = math.Max(0, math.Min(p, q)), math.Min(1, math.Max(p, q))
	} else if math.Abs(off[0]) > tipMax {
		return to
	}
	if !(from < until) {
		return to
	}
	a, z := s[0]+from*(s[1]-s[0]), s[0]+until*(s[1]-s[0])
	return stretched(to, math.Min(a, z), math.Max(a, z), l)
}

// runsArc is runs for an arc: both ends of the bit must be near its circle.
func runsArc(to []proof.Stretch, k proof.Curve, b bit) []proof.Stretch {
	if math.Abs(proof.Dist(b.a, k.C)-k.R) > tipMax || math.Abs(proof.Dist(b.b, k.C)-k.R) > tipMax {
		return to
	}
	at, until := math.Atan2(b.a.Y-k.C.Y, b.a.X-k.C.X), math.Atan2(b.b.Y-k.C.Y, b.b.X-k.C.X)
	p := k.Progress(at)
	q := p + math.Copysign(1, k.Sweep)*math.Remainder(until-at, 2*math.Pi)
	for _, turn := range [3]float64{-2 * math.Pi, 0, 2 * math.Pi} {
		to = stretched(to, k.R*(math.Min(p, q)+turn), k.R*(math.Max(p, q)+turn), k.Length())
	}
	return to
}

// stretched appends what of from to until lies on a curve of length l, or adds it to the last
// stretch, where the bit before mostly ended.
func stretched(to []proof.Stretch, from, until, l float64) []proof.Stretch {
	from, until = math.Max(0, from), math.Min(l, until)
	if !(from < until) {
		return to
	}
	if n := len(to); n > 0 && from <= to[n-1].To && to[n-1].From <= until {
		last := &to[n-1]
		last.From, last.To = math.Min(last.From, from), math.Max(last.To, until)
		return to
	}
	return append(to, proof.Stretch{From: from, To: until})
}
