package layout

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"spotjig/layout/figure"
	"spotjig/layout/geom"
)

// Report is what a survey says about a table, mm and degrees.
type Report struct {
	Length, Width           float64 // along the centre line; at its middle
	LengthLeft, LengthRight float64 // of the side noses, corner to corner
	WidthHead, WidthFoot    float64 // of the end noses, corner to corner
	// OutOfSquare is how far the middle of the foot nose lies to the left of
	// where a table square to its head nose has it; OutOfSquareDeg the angle.
	OutOfSquare, OutOfSquareDeg float64
	// FootSkew is the left side's length less the right's: how far the foot nose
	// is from parallel to the head nose.
	FootSkew float64
	Taper    float64 // foot width less head width
	// DiagonalDiff is the diagonal from the left of the head less the other, at
	// the survey's stations.
	DiagonalDiff float64
	Bow          [4]float64    // right, foot, left and head nose off its string, + towards the bed
	CornerPM     [4][2]float64 // +- of each corner, along and across, at Confidence
	Resolution   float64       // +- of the tape that was reckoned with
	Confidence   string
	Readings     []Residual
	Unmeasured   []string // what no reading tells of, taken as on a true table
}

// Residual is a reading beside the fitted outline.
type Residual struct {
	Name                string
	Read, Fitted, Apart float64 // mm; Apart is Read less Fitted
}

// confidence of every plus-minus here. A tape read to +-r is as likely anywhere
// in between, which has a standard deviation of r/sqrt(3) (Guide to the
// Expression of Uncertainty in Measurement, 4.3.7); twice that, of several
// readings together, holds about 95 times in 100.
const (
	confidence   = "about 95 % (twice the standard deviation)"
	coverage     = 2 / sqrt3
	resolutionOr = 0.5 // mm, of a tape with mm marks, when the survey gives none
)

// Fit returns the table a survey describes, and what it says about it.
//
// The outline is fitted by least squares to whatever was read; any readings that
// give a length and a width will do, and what they leave open is as on a true
// table. A survey of one length and one width gives that rectangle exactly.
// Readings that cannot belong to one table come back as a problem.List, with the
// field as the job file names it ("survey.length_left") and no file or line.
func Fit(s Survey) (Table, Report, error) {
	if err := s.check(); err != nil {
		return Table{}, Report{}, err
	}
	f := fit{readings: s.readings(), bow: s.bow()}
	if err := f.run(s.rough()); err != nil {
		return Table{}, Report{}, s.undetermined()
	}
	if err := s.impossible(f); err != nil {
		return Table{}, Report{}, err
	}
	pm := s.Resolution
	if pm == 0 {
		pm = resolutionOr
	}
	t := Table{Corners: f.shape.corners(), NoseHeight: s.NoseHeight, Undercut: s.Undercut, TapePM: pm,
		Surveyed: true, OutOfSquare: f.shape[shapeLean], Taper: f.shape[shapeTaper], Spread: f.spread(pm)}
	t.Squared = slices.Contains(f.free, shapeLean) && slices.Contains(f.free, shapeSkew)
	t.NoseBow, t.Strung = math.Max(math.Abs(s.GapHead), math.Abs(s.GapFoot)), s.Strung
	t.L, t.W = spanned(t.Corners)
	r := s.report(f, t)
	t.DiagonalDiff = r.DiagonalDiff
	return t, r, nil
}

// spread returns how each reading's error moves the corners, at the stated
// confidence.
func (f *fit) spread(pm float64) [][4][2]float64 {
	out := make([][4][2]float64, len(f.readings))
	was := f.shape.corners()
	for k := range f.readings {
		moved := f.shape
		for i, j := range f.free {
			moved[j] += f.inverse[i][k] * pm * coverage
		}
		for c, p := range moved.corners() {
			out[k][c] = [2]float64{p[0] - was[c][0], p[1] - was[c][1]}
		}
	}
	return out
}

// report says what the fit found.
func (s Survey) report(f fit, t Table) Report {
	c := t.Corners
	span := func(a, b int) float64 { return math.Hypot(c[a][0]-c[b][0], c[a][1]-c[b][1]) }
	r := Report{Length: t.L, Width: t.W, LengthRight: span(0, 1), LengthLeft: span(3, 2),
		WidthHead: span(0, 3), WidthFoot: span(1, 2), OutOfSquare: t.OutOfSquare,
		OutOfSquareDeg: geom.Vec{X: f.shape[shapeL], Y: t.OutOfSquare}.Angle().Degrees(),
		FootSkew:       f.shape[shapeSkew], Taper: t.Taper, Bow: f.bow, Resolution: t.TapePM, Confidence: confidence}
	left, right := s.diagonals()
	r.DiagonalDiff = left.model(f.shape, [4]float64{}) - right.model(f.shape, [4]float64{})
	for _, e := range t.Spread {
		for i := range e {
			r.CornerPM[i][0] = math.Hypot(r.CornerPM[i][0], e[i][0])
			r.CornerPM[i][1] = math.Hypot(r.CornerPM[i][1], e[i][1])
		}
	}
	rest := f.residuals()
	for i, rd := range f.readings {
		r.Readings = append(r.Readings, Residual{rd.name, rd.value, rd.value - rest[i], rest[i]})
	}
	taken := map[int]bool{}
	for _, j := range f.free {
		taken[j] = true
	}
	for j, name := range shapeNames {
		if !taken[j] {
			r.Unmeasured = append(r.Unmeasured, name)
		}
	}
	return r
}

// diagonals returns the two diagonals as readings, whether taken or not.
func (s Survey) diagonals() (left, right reading) {
	d := s.stations().diag
	left = reading{from: spotOn{side: noseLeft, at: d}, to: spotOn{side: noseRight, at: d, fromEnd: true}}
	right = reading{from: spotOn{side: noseRight, at: d}, to: spotOn{side: noseLeft, at: d, fromEnd: true}}
	return left, right
}

// SizeCheck compares a table with a size a rule body publishes.
type SizeCheck struct {
	Game, Size, Source string
	L, W, TolL, TolW   float64 // as published, mm
	OffL, OffW         float64 // the table's worst length and width less those
	Inside             bool
}

// CheckSizes compares a table with the published size nearest to it, a game at a
// time, and with each body's tolerance where several publish that size; a game
// without one is left out. Every length and width of the outline
// must be inside, not only the middle ones. A size without a published tolerance
// is compared and never called inside.
func CheckSizes(t Table, games []string) []SizeCheck {
	var out []SizeCheck
	c := t.Corners
	if c == ([4][2]float64{}) {
		c = rectangle(t.L, t.W)
	}
	span := func(a, b int) float64 { return math.Hypot(c[a][0]-c[b][0], c[a][1]-c[b][1]) }
	for _, id := range games {
		g, ok := gameNamed(id)
		if !ok || len(g.Sizes) == 0 {
			continue
		}
		for _, z := range g.nearestSizes(t) {
			k := SizeCheck{Game: id, Size: z.Name, Source: z.Source, L: z.L, W: z.W, TolL: z.TolL, TolW: z.TolW,
				OffL: worst(z.L, span(0, 1), span(3, 2)), OffW: worst(z.W, span(0, 3), span(1, 2))}
			k.Inside = z.TolL > 0 && near(k.OffL, 0, z.TolL+sizeTol) && near(k.OffW, 0, z.TolW+sizeTol)
			out = append(out, k)
		}
	}
	return out
}

// anySizeFrom: a table this far from every published size is none of them, mm;
// it is then held against a rule for any size, where the game has one.
const anySizeFrom = 50

// nearestSizes returns the game's published size nearest to a table: one, or
// several when rule bodies publish the same size with different tolerances.
func (g game) nearestSizes(t Table) []size {
	var best []size
	least := math.Inf(1)
	for _, z := range g.Sizes {
		d := math.Hypot(t.L-z.L, t.W-z.W)
		if z.Twice {
			z.L, z.W, d = 2*t.W, t.W, anySizeFrom
		}
		switch {
		case d < least-mergeTol:
			best, least = []size{z}, d
		case d <= least+mergeTol:
			best = append(best, z)
		}
	}
	return best
}

// worst returns the larger of two departures from a figure, with its sign.
func worst(from, a, b float64) float64 {
	if math.Abs(a-from) >= math.Abs(b-from) {
		return a - from
	}
	return b - from
}

// Text says the comparison in a sentence.
func (k SizeCheck) Text() string {
	verdict := "outside"
	if k.Inside {
		verdict = "inside"
	}
	if k.TolL == 0 {
		verdict = "no tolerance published"
	}
	if math.Max(math.Abs(k.OffL), math.Abs(k.OffW)) > math.Max(anySizeFrom, k.TolL) {
		return fmt.Sprintf("%s: no published size is near this table; the nearest is %s, %s", k.Game, k.Size, figure.By(k.L, k.W))
	}
	return fmt.Sprintf("%s, %s, %s: length %s, width %s off; limit +-%s and +-%s: %s",
		k.Game, k.Size, figure.By(k.L, k.W), figure.Signed(k.OffL), figure.Signed(k.OffW), figure.MM(k.TolL), figure.MM(k.TolW), verdict)
}

// Text says what the survey found, a line a fact.
func (r Report) Text() []string {
	out := []string{
		fmt.Sprintf("playing surface: %s long, %s wide at the middle", figure.Length(r.Length), figure.Length(r.Width)),
		fmt.Sprintf("sides: left %s, right %s; ends: head %s, foot %s", figure.MM(r.LengthLeft), figure.MM(r.LengthRight), figure.MM(r.WidthHead), figure.MM(r.WidthFoot)),
		fmt.Sprintf("out of square: %s over the length (%s degrees)", figure.Signed(r.OutOfSquare), figure.Fixed(r.OutOfSquareDeg, 3)),
		fmt.Sprintf("foot nose to head nose: left side %s against the right", figure.Signed(r.FootSkew)),
		fmt.Sprintf("taper: foot %s against the head", figure.Signed(r.Taper)),
		fmt.Sprintf("diagonals: %s from the left of the head against the right", figure.Signed(r.DiagonalDiff)),
	}
	for i, name := range []string{"right", "foot", "left", "head"} {
		if r.Bow[i] != 0 {
			out = append(out, fmt.Sprintf("%s nose: %s off its string at the middle", name, figure.Signed(r.Bow[i])))
		}
	}
	worst := 0.0
	for _, c := range r.CornerPM {
		worst = math.Max(worst, math.Max(c[0], c[1]))
	}
	out = append(out, fmt.Sprintf("corners known to +-%s at worst, %s, with a tape of +-%s", figure.MM(worst), r.Confidence, figure.MM(r.Resolution)))
	if len(r.Unmeasured) > 0 {
		out = append(out, "not measured, taken as on a true table: "+strings.Join(r.Unmeasured, ", "))
	}
	return out
}
