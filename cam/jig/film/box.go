package film

import (
	"fmt"
	"math"

	"spotjig/cam/jig"
	"spotjig/cam/machine"
	"spotjig/layout/geom"
)

// A box folded of card stands where a film jig has a wooden block: a front that
// touches the nose, two gussets folded back from its sides and a base folded back
// from its foot, which is glued to the leg (or slid on the crosspiece and
// taped). Tabs at the base's ends go inside the gussets and are glued there, so
// that the box cannot open. The net, face up; every fold goes away from the
// scored face:
//
//	 _______ ___________ _______
//	|       |           |       |   H
//	|gusset |   front   |gusset |
//	|_______|           |_______|
//	     ___|___________|___
//	    |tab|   base    |tab|       G
//	    |___|___________|___|
//
// Bend allowance: a fold is scored half through, deeper than other lines, and
// folded away from the cut; it bends in the skin left uncut, k = t/2, about its
// inner face: radius 0, neutral line at 0.4 k,
// so an arc of pi/2·0.4·k takes the place of two outside lengths that meet in a
// corner; two walls whose outsides measure A and B come from a flat A + B - BD with
// BD = 2t - pi/2·0.4·k. (The usual bend deduction of sheet work with that radius;
// the factor 0.4 is common practice.)
const (
	boxCardMin  = 1.0 // thinnest card that folds a box
	boxWide     = 60.0
	boxDeep     = 45.0
	boxTab      = 14.0
	boxNeutral  = 0.4
	foldShare   = 0.5  // of the thickness that a fold is scored
	boxSlack    = 0.5  // the base goes between the gussets with this much play
	rubberStiff = 10.0 // N/mm, the least that cushion rubber gives way by
	stiffTimes  = 10.0 // a datum shall be this many times stiffer than the rubber
	// cardModulus serves where the material names none: the low end of what is
	// given for solid board, from memory.
	cardModulus = 2e9
)

// bend returns what two outside lengths lose in the flat where they meet in a
// right-angled fold, mm.
func bend(lim jig.Limits) float64 {
	t := lim.Thickness
	return 2*t - math.Pi/2*boxNeutral*t*(1-foldShare)
}

// boxHigh is the front's height above the plate it stands on.
func boxHigh(lim jig.Limits) float64 { return lim.FinTop - lim.Thickness }

// boxNet is the net's measures, part frame: the front from x0 to x1 and from y0
// to the top, folds on its lines.
type boxNet struct{ x0, x1, y0, top, gusset, base float64 }

func net(lim jig.Limits) boxNet {
	bd := bend(lim)
	g := boxDeep - bd/2
	return boxNet{x0: g, x1: g + boxWide - bd, y0: g, top: g + boxHigh(lim) - bd/2, gusset: g, base: boxWide - 2*lim.Thickness - boxSlack - bd}
}

// boxes returns a template's boxes: one for each seat, the end ones glued.
func boxes(tp *jig.Template, lim jig.Limits, font jig.Font) []jig.Part {
	var out []jig.Part
	ends, sides := 0, 0
	for _, s := range tp.Fins {
		id, role := "", jig.EndBox
		if s.Role == jig.EndFin {
			ends++
			id, role = fmt.Sprintf("%sE%d", tp.Letter, ends), jig.EndBox
		} else {
			sides++
			id, role = fmt.Sprintf("%sS%d", tp.Letter, sides), jig.SideBox
		}
		out = append(out, box(tp, s, id, role, lim, font))
	}
	return out
}

// box draws one box. Its pose is that of the front, where it touches the nose of
// a true table: part +x along the nose, part +y up.
func box(tp *jig.Template, s *jig.Fin, id string, role jig.Role, lim jig.Limits, font jig.Font) jig.Part {
	n := net(lim)
	p := jig.Part{ID: id, Template: tp.End, Role: role, Outline: boxOutline(n, lim), Scale: 1, ScoreDepth: -foldShare * lim.Thickness}
	mid := (n.x0 + n.x1) / 2
	tabLine := n.base / 2
	p.Scores = []geom.Contour{
		jig.Stroke(geom.Point{X: n.x0, Y: n.y0 + 3}, geom.Point{X: n.x0, Y: n.top - 1}),
		jig.Stroke(geom.Point{X: n.x1, Y: n.y0 + 3}, geom.Point{X: n.x1, Y: n.top - 1}),
		jig.Stroke(geom.Point{X: n.x0 + 1, Y: n.y0}, geom.Point{X: n.x1 - 1, Y: n.y0}),
		jig.Stroke(geom.Point{X: mid - tabLine, Y: 1}, geom.Point{X: mid - tabLine, Y: n.y0 - 6}),
		jig.Stroke(geom.Point{X: mid + tabLine, Y: 1}, geom.Point{X: mid + tabLine, Y: n.y0 - 6}),
	}
	write := func(text string, high, x, y float64) {
		p.Letters = append(p.Letters, font.Strokes(text, high, geom.Placement{X: x - font.Width(text, high)/2, Y: y})...)
		p.Text = append(p.Text, text)
	}
	write(id, 5, mid, n.top-12)
	write("NOSE", 3.6, mid, n.y0+12)
	write("FOLD BACK", 2.8, mid, n.y0/2)
	p.NoStart = append(p.NoStart, geom.Segment{From: geom.Point{X: n.x1, Y: n.top}, To: geom.Point{X: n.x0, Y: n.top}})
	// The face points at the nose: at the end along -u, part +x along -v; at a
	// side along side·v, part +x along side·u.
	turn, along := 270*geom.Degree, geom.Vec{Y: -1}
	switch {
	case sideOf(s) > 0:
		turn, along = 180*geom.Degree, geom.Vec{X: -1}
	case sideOf(s) < 0:
		turn, along = 0, geom.Vec{X: 1}
	}
	at := tp.ToTable.Apply(s.Front.Add(along.Scale(-mid)))
	p.OnTable = jig.Pose{X: at.X, Y: at.Y, Z: lim.Thickness - n.y0, Turn: (turn + tp.ToTable.Turn).Rest(), Upright: true}
	return p
}

// boxOutline walks round the net counter-clockwise from the base's foot.
func boxOutline(n boxNet, lim jig.Limits) geom.Contour {
	const notch = 2.1 // half the cut between gusset and tab
	inner := lim.InnerRadius
	mid := (n.x0 + n.x1) / 2
	half := n.base/2 + boxTab
	var cs []jig.Corner
	add := func(x, y, r float64) { cs = append(cs, jig.Corner{At: geom.Point{X: x, Y: y}, R: r}) }
	side := func(s float64) [][3]float64 { // from the foot to the top on the right side
		x := mid + s*(n.x1-mid)
		return [][3]float64{
			{mid + s*half, 0, 3}, {mid + s*half, n.y0 - 2*notch, 3}, {x, n.y0 - 2*notch, inner}, {x, n.y0, inner},
			{mid + s*(n.x1-mid+n.gusset), n.y0, 3}, {mid + s*(n.x1-mid+n.gusset), n.top, 3},
		}
	}
	right, left := side(1), side(-1)
	for _, c := range right {
		add(c[0], c[1], c[2])
	}
	for i := len(left) - 1; i >= 0; i-- {
		add(left[i][0], left[i][1], left[i][2])
	}
	return jig.Rounded(cs)
}

// flapStiff is how stiffly a single flap resists at nose height, N/mm: a
// cantilever, E·w·t³/4h³.
func flapStiff(modulus, wide, t, high float64) float64 {
	e := modulus * 1e-6 // N/mm²
	return e * wide * t * t * t / (4 * high * high * high)
}

// boxStiff is the same for a box: the two gussets stand as walls, in bending
// h³/3EI with I = t·g³/12 each, and in shear 1.2·h/GA with G = E/2.6.
func boxStiff(modulus, t, high float64) float64 {
	e := modulus * 1e-6
	i := 2 * t * boxDeep * boxDeep * boxDeep / 12
	give := high*high*high/(3*e*i) + 1.2*high/(e/2.6*2*t*boxDeep)
	return 1 / give
}

func modulusOf(material machine.Material) float64 {
	if m := material.Modulus; m > 0 {
		return m
	}
	return cardModulus
}

// boxCheck compares the box with the rubber it pushes against.
func boxCheck(lim jig.Limits, material machine.Material) jig.Check {
	k := boxStiff(modulusOf(material), lim.Thickness, lim.NoseHigh-lim.Thickness)
	return jig.Check{ID: "box-stiffness", Verdict: jig.FailUnless(k >= rubberStiff*stiffTimes), Value: k, Limit: rubberStiff * stiffTimes, Unit: "N/mm",
		Text: fmt.Sprintf("a folded box gives way at nose height by 1 mm for %.0f N; an open flap would for %.2f N, the rubber does for %.0f N or more",
			k, flapStiff(modulusOf(material), boxWide, lim.Thickness, lim.NoseHigh-lim.Thickness), rubberStiff)}
}

// flapCheck says why a film jig is set to blocks.
func flapCheck(lim jig.Limits, material machine.Material) jig.Check {
	k := flapStiff(modulusOf(material), boxWide, lim.Thickness, lim.NoseHigh)
	return jig.Check{ID: "blocks", Verdict: jig.Pass, Value: k, Limit: rubberStiff * stiffTimes, Unit: "N/mm",
		Text: fmt.Sprintf("four squared blocks of %g x %g x %g mm or more locate the film: a flap of it would give way by 1 mm for %.2f N", blockDeep, blockDeep, blockLong, k)}
}
