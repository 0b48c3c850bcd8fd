// Package budget adds up errors of a mark: numbers in, terms out. It knows nothing of
// templates or tables; cam/jig says what each cause does to a mark.
//
// An effect is what one cause does, as a displacement for the cause at its worst. All
// that a cause does at once belongs in one effect, so that its pieces add with their
// signs before anything is squared: 0.3 mm at one fin and the turn that goes with it
// are one displacement. Different effects are independent.
//
// Worst case: every cause anywhere within its bounds. The places a mark can get to fill
// a zonotope about where it belongs, and its furthest corner lies as far as the largest
// support: h(d), the sum of |v·d| over the effects, for the direction d where that is
// largest (Ziegler, Lectures on Polytopes, section 7.3). A term's worst is its own part
// of that support, so that the terms' worsts add up to the whole.
//
// A gap goes one way only, so its support is that of the end it can reach, and its mean
// counts with its spread.
//
// Likely: what 19 of 20 layings stay within, every cause uniform over its bounds. A
// displacement v of uniform size has the covariance v·vᵀ/3; these add. A sum of many is
// near normal, and the circle that holds 95 % of a plane normal distribution has a
// radius of k·sqrt(trace), where k goes from 1.960 (all along one line) to 1.731 (alike
// all round) with the ratio of the two principal variances. A term's likely is
// k·sqrt(its own trace), so that the root of the terms' squares is the whole.
//
// Worked example: 0.3 mm along x and 0.4 mm along y, nothing else. Worst: 0.5, of which
// 0.3·0.6 = 0.18 and 0.4·0.8 = 0.32. Variances 0.03 and 0.0533, trace 0.0833, ratio
// 0.5625: k = 1.770, likely 0.511, cut to the worst case of 0.5.
package budget

import (
	"math"
	"slices"
	"sync"

	"spotjig/layout/geom"
)

// Effect is what one cause does to a mark at its worst, mm.
type Effect struct {
	Term   string   // the term it is listed under
	By     geom.Vec // as a whole, either sign
	Gap    bool     // from nothing to By only, never the other way: what stays open
	Any    float64  // this far in any direction: a marker in its hole
	Pieces []geom.Vec
	// Pieces are displacements of which each comes with a sign of its own. With By
	// as well, the two share one bound: what goes into one is not there for the other.
	Common bool // the same in every piece of the template
}

// Equal reports whether two effects are the same.
func (e Effect) Equal(o Effect) bool {
	return e.Term == o.Term && e.By == o.By && e.Gap == o.Gap && e.Any == o.Any && e.Common == o.Common && slices.Equal(e.Pieces, o.Pieces)
}

// Term is one line of a budget, mm.
type Term struct {
	Name   string
	Worst  float64 // adds up to the budget's
	Likely float64 // adds up to the budget's as root of squares
	Common bool    // the same in every piece of the template
}

// Total is a budget added up, mm.
type Total struct {
	Worst  float64 // the sum of the terms'
	Likely float64 // what 19 of 20 layings stay within: the root of the terms' squares
	Terms  []Term  // in the order in which the effects name them
}

// confidence is the share of layings that stay within what is called likely.
const confidence = 0.95

// directions is in how many directions the worst is looked for: the best of them is
// within 1 - cos(0.5 degrees) = 0.00004 of the largest support.
const directions = 360

// support is how far an effect can reach along a unit vector, and back against it.
func (e *Effect) support(d geom.Vec) (there, back float64) {
	apart := 0.0
	for _, p := range e.Pieces {
		apart += math.Abs(p.Dot(d))
	}
	whole := e.By.Dot(d)
	if !e.Gap {
		there = max(math.Abs(whole), apart) + e.Any
		return there, there
	}
	return max(whole, apart) + e.Any, max(-whole, apart) + e.Any // apart is never below 0
}

// covariance is the spread of an effect, its size uniform over its bounds, mm².
type covariance struct{ xx, yy, xy float64 }

func (c covariance) trace() float64 { return c.xx + c.yy }

func (c covariance) plus(o covariance) covariance {
	return covariance{c.xx + o.xx, c.yy + o.yy, c.xy + o.xy}
}

func of(v geom.Vec, share float64) covariance {
	return covariance{share * v.X * v.X, share * v.Y * v.Y, share * v.X * v.Y}
}

// covariance: a third of the square, by the variance of a uniform distribution. Where a
// whole and pieces share a bound, mean and half difference of two uniform causes, each
// has half of that. Pieces may all lie alike, or each as it happens: the larger counts.
func (e Effect) covariance() covariance {
	share := 1.0 / 3
	if e.Gap {
		share /= 4 // half as wide, about a mean that Add keeps
	}
	if e.By != (geom.Vec{}) && len(e.Pieces) > 0 {
		share /= 2
	}
	alike, apart := geom.Vec{}, covariance{}
	for _, p := range e.Pieces {
		alike = alike.Add(p)
		apart = apart.plus(of(p, share))
	}
	if even := of(alike, share); even.trace() > apart.trace() {
		apart = even
	}
	round := e.Any * e.Any / 6 // a third of the square, half along each axis
	return of(e.By, share).plus(apart).plus(covariance{xx: round, yy: round})
}

// Add adds up a mark's effects.
func Add(effects []Effect) Total {
	towards := worstDirection(effects)
	var out Total
	at := map[string]int{}
	var whole covariance
	var own []covariance
	var mean []geom.Vec
	for _, e := range effects {
		i, ok := at[e.Term]
		if !ok {
			i = len(out.Terms)
			at[e.Term] = i
			out.Terms = append(out.Terms, Term{Name: e.Term, Common: e.Common})
			own, mean = append(own, covariance{}), append(mean, geom.Vec{})
		}
		there, _ := e.support(towards)
		out.Terms[i].Worst += there
		own[i] = own[i].plus(e.covariance())
		if e.Gap {
			mean[i] = mean[i].Add(e.By.Scale(0.5))
		}
	}
	for i, m := range mean { // spread about where the mark belongs, not about the mean
		own[i] = own[i].plus(of(m, 1))
		whole = whole.plus(own[i])
	}
	k := within(whole)
	for i := range out.Terms {
		out.Terms[i].Likely = k * math.Sqrt(own[i].trace())
		out.Worst += out.Terms[i].Worst
	}
	out.Likely = k * math.Sqrt(whole.trace())
	out.cut()
	return out
}

// worstDirection is where all effects together reach furthest.
func worstDirection(effects []Effect) geom.Vec {
	r := reach{effects: effects, towards: compass()}
	const apart = 12 // looked in first
	for i := 0; i < directions/2; i += apart {
		r.look(i)
	}
	for i := 0; i < directions/2; i += apart {
		r.between(i, i+apart)
	}
	best, worst := 0, 0.0
	for i, sum := range r.sums {
		if sum > worst+lookTol {
			best, worst = i, sum
		}
	}
	return r.towards[best]
}

// reach is how far effects reach together, where that has been looked for.
type reach struct {
	effects  []Effect
	towards  *[directions]geom.Vec
	sums     [directions]float64
	looked   [directions / 2]bool
	furthest float64
}

// look works out how far all reach in a direction and in the opposite one, and returns the
// larger.
func (r *reach) look(i int) float64 {
	const half = directions / 2
	i %= half
	if !r.looked[i] {
		r.looked[i] = true
		there, back, d := 0.0, 0.0, r.towards[i]
		for k := range r.effects {
			t, b := r.effects[k].support(d)
			there, back = there+t, back+b
		}
		r.sums[i], r.sums[i+half] = there, back
	}
	further := max(r.sums[i], r.sums[i+half])
	r.furthest = max(r.furthest, further)
	return further
}

// between looks in those directions between two where all may reach as far as anywhere. A
// support is convex and of the first degree, so that between two unit vectors it is at most
// the larger of theirs by the cosine of half the angle between them.
func (r *reach) between(i, k int) {
	if k-i < 2 {
		return
	}
	angle := 2 * math.Pi * float64(k-i) / directions
	if max(r.look(i), r.look(k))/math.Cos(angle/2) < r.furthest-1e3*lookTol {
		return
	}
	mid := (i + k) / 2
	r.look(mid)
	r.between(i, mid)
	r.between(mid, k)
}

// compass is every direction that is looked in, as a unit vector.
var compass = sync.OnceValue(func() *[directions]geom.Vec {
	var out [directions]geom.Vec
	for i := range out {
		s, c := math.Sincos(2 * math.Pi * float64(i) / directions)
		out[i] = geom.Vec{X: c, Y: s}
	}
	return &out
})

// lookTol: a direction must be better by this to be taken, so that rounding does not
// choose between directions that are alike, mm.
const lookTol = 1e-9

// cut keeps what is likely within the worst case, which a sum of one or two uniform
// causes may pass where it is taken for normal; every term by the same share.
func (t *Total) cut() {
	if t.Likely <= t.Worst || t.Likely == 0 {
		return
	}
	by := t.Worst / t.Likely
	t.Likely = t.Worst
	for i := range t.Terms {
		t.Terms[i].Likely *= by
	}
}

// within is the radius of the circle that holds 95 % of a plane normal distribution, as
// a share of the root of its trace.
//
// In the principal axes a point is s·(√a·cos θ, √b·sin θ) with θ uniform and s Rayleigh
// distributed, so the share within r is the mean over θ of 1 - exp(-r²/2q), with
// q = a·cos²θ + b·sin²θ. Halving finds the r. (By the substitution; the two ends are
// the tabled 1.960 of one dimension and sqrt(-2·ln 0.05 / 2) = 1.731 of two alike.)
func within(c covariance) float64 {
	t := c.trace()
	if t == 0 {
		return 0
	}
	apart := math.Hypot((c.xx-c.yy)/2, c.xy) / t
	turns := quarterTurn(0.5+apart, math.Max(0, 0.5-apart))
	low, high := 1.7, 2.0 // halved to 2e-8
	root, sure := turns.radius()
	for range 24 {
		r := (low + high) / 2
		// Further off than sure it is known on which side of the root r lies.
		less := r < root
		if math.Abs(r-root) < sure {
			less = turns.held(r) < confidence
		}
		if less {
			low = r
		} else {
			high = r
		}
	}
	return (low + high) / 2
}

// twice is 2q for each direction of a quarter turn, by midpoints.
type twice [60]float64

// quarterTurn is that of a plane normal distribution with these principal variances.
func quarterTurn(a, b float64) (q twice) {
	for i := range q {
		s, c := math.Sincos((float64(i) + 0.5) * math.Pi / 2 / float64(len(q)))
		q[i] = 2 * (float64(a*c*c) + float64(b*s*s))
	}
	return q
}

// radius is the r within which the share is what is wanted, by Newton's steps, and how far
// from there a side of it is sure: everywhere looked at anew when the steps do not settle.
func (q *twice) radius() (r, sure float64) {
	r = 1.85
	for range 8 {
		held, slope := 0.0, 0.0
		for _, twice := range q {
			beyond := math.Exp(-r * r / twice)
			held, slope = held+1-beyond, slope+2*r/twice*beyond
		}
		step := (confidence*float64(len(q)) - held) / slope
		r += step
		if math.Abs(step) < 1e-6 {
			return r, 1e-9 // the next step would be its square
		}
	}
	return r, math.Inf(1)
}

// held is the share within r of the distribution.
func (q *twice) held(r float64) float64 {
	sum := 0.0
	for _, twice := range q {
		sum += 1 - math.Exp(-r*r/twice)
	}
	return sum / float64(len(q))
}
