package testpiece

import (
	"fmt"
	"math"
	"strings"
)

// scale works out the machine's scale and squareness from the ticks.
func (w *couponWork) scale() {
	f := w.r.fields.Sub("ticks")
	names := spanNames()
	var v, u [spans]float64
	var read, missing []string
	for i, name := range names {
		if len(w.r.Spans[i]) == 0 {
			missing = append(missing, name)
			continue
		}
		read = append(read, name)
		v[i], u[i] = w.r.Rule.mean(w.r.Spans[i], w.r.Rule.Step/2)
	}
	c := w.r.Cut
	if len(read) == 0 {
		return
	}
	sides := len(w.r.Spans[sideAB])*len(w.r.Spans[sideDC])*len(w.r.Spans[sideAD])*len(w.r.Spans[sideBC]) > 0
	if !sides || len(missing) == 1 || c.ScaleX == 0 || c.ScaleY == 0 {
		w.r.fields.Fault("ticks", "M034", "the ticks need a_b, d_c, a_d and b_c, and a_c and b_d for squareness; missing: "+strings.Join(missing, ", "),
			"read the rest, or empty the section")
		return
	}
	nominal := [spans]float64{c.ScaleX, c.ScaleX, c.ScaleY, c.ScaleY, math.Hypot(c.ScaleX, c.ScaleY), math.Hypot(c.ScaleX, c.ScaleY)}
	for i, name := range names {
		if len(w.r.Spans[i]) > 0 && math.Abs(v[i]/nominal[i]-1) > spanOff {
			f.Fault(name, "M034", fmt.Sprintf("%.1f mm between ticks %.1f mm apart", v[i], nominal[i]),
				"read again: no machine is off by more than a hundredth; ticks are named A, B, C, D from the lower left, counter-clockwise")
			return
		}
	}
	share := func(i, k int, nominal float64) Estimate {
		// What the rule is off is common to both sides and does not average out.
		both := math.Sqrt((u[i]*u[i]+u[k]*u[k])/4+w.r.Rule.PM*w.r.Rule.PM/6) / nominal
		return estimate(((v[i]+v[k])/2/nominal-1)/ppm, both/ppm)
	}
	w.out.ScaleX, w.out.ScaleY = share(sideAB, sideDC, c.ScaleX), share(sideAD, sideBC, c.ScaleY)
	w.out.ScaleRead = true
	if len(missing) > 0 {
		return
	}
	if off, limit := closing(v, u); math.Abs(off) > limit {
		w.r.fields.Fault("ticks", "M034", fmt.Sprintf("four ticks cannot have these six distances: by the other five, d_c would be %.2f mm, not %.2f", v[sideDC]-off, v[sideDC]),
			fmt.Sprintf("read them again; with this rule they should agree within %.2f mm", limit))
		return
	}
	a, b := (v[sideAB]+v[sideDC])/2, (v[sideAD]+v[sideBC])/2
	du := math.Hypot(v[diagonalAC]*u[diagonalAC], v[diagonalBD]*u[diagonalBD]) / (2 * a * b)
	w.out.Skew, w.out.SkewOK = estimate(SkewMicrons(a, b, v[diagonalAC], v[diagonalBD]), du/ppm), true
}

// spanOff: a machine further off than this share is not one that cuts templates;
// the reading is wrong.
const spanOff = 0.01

// closing is how far the sixth distance between four points differs from what
// the other five make it, and how far it may by their uncertainties.
//
// With A at the origin and B on the x axis, C and D follow from two sides each;
// the distance D to C is then known. Its derivatives are taken by differences.
func closing(v, u [spans]float64) (off, limit float64) {
	dc := func(v [spans]float64) float64 {
		a := v[sideAB]
		cx := (v[diagonalAC]*v[diagonalAC] + a*a - v[sideBC]*v[sideBC]) / (2 * a)
		dx := (v[sideAD]*v[sideAD] + a*a - v[diagonalBD]*v[diagonalBD]) / (2 * a)
		cy := math.Sqrt(math.Max(0, v[diagonalAC]*v[diagonalAC]-cx*cx))
		dy := math.Sqrt(math.Max(0, v[sideAD]*v[sideAD]-dx*dx))
		return math.Hypot(cx-dx, cy-dy)
	}
	want := dc(v)
	sum := u[sideDC] * u[sideDC]
	for i := range v {
		if i == sideDC {
			continue
		}
		const step = 0.001
		moved := v
		moved[i] += step
		d := (dc(moved) - want) / step * u[i]
		sum += d * d
	}
	return v[sideDC] - want, beyond * math.Sqrt(sum)
}
