package jig

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"sort"
	"strings"

	"spotjig/cam/machine"
	"spotjig/layout/figure"
	"spotjig/layout/geom"
)

// Handling: how a jig is lifted, hung, stacked, carried and kept in fins.

// Holes to handle a piece by, mm: one for a finger in a piece of 250 or longer, two
// from 450; one to hang a template's stack by, in its largest piece. Common practice.
const (
	fingerRadius = 12.0
	hangRadius   = 4.0
	fingerOne    = 250.0
	fingerTwo    = 450.0
	handleStep   = 4.0  // grain of the search for a place
	handleFar    = 90.0 // no further from where it is wanted
	handleScore  = 1.5  // kept from scored lines
)

// handles cuts finger and hang holes where nothing is cut or scored: after
// openings and scores, before lettering, which then finds its place beside them.
// A template of film or card gets its hang hole only: film has nothing to grip.
func handles(tp *Template, lim Limits, mach machine.Profile) {
	if mach.Process != machine.Knife {
		for _, p := range tp.Pieces {
			cutFingers(tp, p, lim)
		}
	}
	for _, i := range stackOrder(tp) {
		p := tp.Pieces[i]
		b := p.Box
		ends := []geom.Point{{X: b.Min.X, Y: b.Center().Y}, {X: b.Max.X, Y: b.Center().Y}}
		if b.Height() > b.Width() {
			ends = []geom.Point{{X: b.Center().X, Y: b.Min.Y}, {X: b.Center().X, Y: b.Max.Y}}
		}
		for _, at := range ends {
			if cutHandle(tp, p, Round("hang", OpenHang, at, hangRadius), lim) {
				return
			}
		}
	}
}

// cutFingers gives a long piece one finger hole near its middle, or two near the
// quarters of its length.
func cutFingers(tp *Template, p *Piece, lim Limits) {
	c := p.Box.Center()
	half := geom.Vec{X: p.Box.Width() / 4}
	if p.Box.Height() > p.Box.Width() {
		half = geom.Vec{Y: p.Box.Height() / 4}
	}
	at := []geom.Point{c}
	switch long := math.Max(p.Box.Width(), p.Box.Height()); {
	case long < fingerOne:
		return
	case long >= fingerTwo:
		at = []geom.Point{c.Add(half), c.Add(half.Scale(-1))}
	}
	for i, q := range at {
		cutHandle(tp, p, Round(fmt.Sprintf("finger-%d", i+1), OpenFinger, q, fingerRadius), lim)
	}
}

// cutHandle moves a hole to the nearest place on its piece that keeps its web from
// edges, sockets and openings, and clear of scores, fins and scales; it reports
// whether there is one.
func cutHandle(tp *Template, p *Piece, o Opening, lim Limits) bool {
	want, r := o.A, o.Width/2
	n := int(math.Floor(handleFar / handleStep))
	type place struct {
		at  geom.Point
		far float64
	}
	var places []place
	for i := -n; i <= n; i++ {
		for k := -n; k <= n; k++ {
			v := geom.Vec{X: handleStep * float64(i), Y: handleStep * float64(k)}
			if v.Len() <= handleFar && p.Box.Grow(-lim.Web-r).Contains(want.Add(v)) {
				places = append(places, place{want.Add(v), Round3(v.Len())})
			}
		}
	}
	slices.SortStableFunc(places, func(a, b place) int { return cmp.Compare(a.far, b.far) })
	keep := r + lim.Web
	solid := obstacles(tp, p, keep, lim)
	for _, c := range places {
		if handleFits(p, c.at, r, solid, lim) {
			o.Figure = geom.Dot(geom.Point{X: Round3(c.at.X), Y: Round3(c.at.Y)})
			p.Openings = append(p.Openings, o)
			return true
		}
	}
	return false
}

// handleFits checks one place for a hole.
func handleFits(p *Piece, at geom.Point, r float64, solid []obstacle, lim Limits) bool {
	if !clearOf(solid, at) {
		return false
	}
	for _, b := range p.Busy {
		if BoxDist(b, at) < r+handleScore {
			return false
		}
	}
	for _, s := range p.Scores {
		if BoxDist(s.Bounds(), at) < r+handleScore {
			if _, away := s.Nearest(at); away < r+handleScore {
				return false
			}
		}
	}
	_, away := p.Outline.Nearest(at)
	return away >= r+lim.Web+0.01
}

// dropFingers takes the finger holes out of a piece whose lettering found no room
// beside them, and reports whether it had any.
func (p *Piece) dropFingers() bool {
	n := len(p.Openings)
	p.Openings = slices.DeleteFunc(slices.Clone(p.Openings), func(o Opening) bool { return o.Kind == OpenFinger })
	return len(p.Openings) < n
}

// stackOrder lists a template's pieces as they are stored: the largest lies at the
// bottom.
func stackOrder(tp *Template) []int {
	order := make([]int, len(tp.Pieces))
	for i := range order {
		order[i] = i
	}
	sort.SliceStable(order, func(a, b int) bool {
		p, q := tp.Pieces[order[a]].Box, tp.Pieces[order[b]].Box
		return Round3(p.Width()*p.Height()) > Round3(q.Width()*q.Height())
	})
	return order
}

// stackText is the piece's place in its template's stack, counted from the bottom.
func stackText(tp *Template, p *Piece) string {
	for n, i := range stackOrder(tp) {
		if tp.Pieces[i] == p {
			return fmt.Sprintf("STACK %d OF %d", n+1, len(tp.Pieces))
		}
	}
	return ""
}

// What one person carries without trouble: a piece at arm's length, a template's
// stack against the body. Of the order of the guide figures of the United
// Kingdom's Manual Handling Operations Regulations; from memory.
const (
	pieceHeavy = 5.0  // kg
	stackHeavy = 16.0 // kg
)

// handlingChecks states what pieces and templates weigh, how far the limpest
// piece sags when it is carried by its ends, and where the holes are.
func handlingChecks(all []*Template, parts []Part, of sheet) []Check {
	out := weightChecks(parts, of)
	if c, ok := sagCheck(parts, of); ok {
		out = append(out, c)
	}
	return append(out, holeCheck(all))
}

// sheet is what a part's weight and stiffness depend on: mm, kg/m³, Pa.
type sheet struct {
	thick, density, modulus float64
	rolled                  bool // film and card
}

// weight is a part's mass, kg.
func (of sheet) weight(p Part) float64 {
	a := p.Outline.Area()
	for _, o := range p.Openings {
		a += o.Contour().Area() // clockwise, so negative
	}
	return a * of.thick * 1e-9 * of.density
}

func weightChecks(parts []Part, of sheet) []Check {
	var out []Check
	heavy, at, total := 0.0, "", 0.0
	sum := map[string]float64{}
	list := map[string][]string{}
	var ends []string
	for _, p := range parts {
		if sum[p.Template] == 0 {
			ends = append(ends, p.Template)
		}
		w := of.weight(p)
		sum[p.Template] += w
		total += w
		list[p.Template] = append(list[p.Template], fmt.Sprintf("%s %.0f g", p.ID, w*1000))
		if w > heavy {
			heavy, at = w, p.ID
		}
	}
	out = append(out, Check{ID: "weight-piece", Verdict: WarnUnless(heavy <= pieceHeavy), Value: heavy, Limit: pieceHeavy, Unit: "kg", Text: "the heaviest piece, " + at})
	for _, e := range ends {
		out = append(out, Check{ID: "weight:" + e, Verdict: WarnUnless(sum[e] <= stackHeavy), Value: sum[e], Limit: stackHeavy, Unit: "kg",
			Text: fmt.Sprintf("the %s template: %s", e, strings.Join(list[e], ", "))})
	}
	return append(out, Check{ID: "weight-total", Verdict: Pass, Value: total, Unit: "kg", Text: figure.Count(len(parts), "piece") + " in all"})
}

// sagLeast: a piece that sags by more than a fiftieth of its length between two
// hands is unhandy and may crack at a slot. Common practice.
const sagLeast = 50.0

// sagCheck finds the piece that sags most for its length when it is carried flat,
// held at its two ends. Film is rolled, so it is left out.
func sagCheck(parts []Part, of sheet) (Check, bool) {
	if of.modulus <= 0 || of.density <= 0 || of.rolled {
		return Check{}, false
	}
	most, at, share := 0.0, "", 0.0
	for _, p := range parts {
		if !p.Lies() {
			continue
		}
		b := p.Outline.Bounds()
		long := math.Max(b.Width(), b.Height())
		s := sag(beam{long: long, wide: netWidth(p), thick: of.thick, mass: of.weight(p), modulus: of.modulus})
		if s/long > share {
			most, at, share = s, fmt.Sprintf("%s, %.0f mm long", p.ID, long), s/long
		}
	}
	limit := 1 / sagLeast
	text := fmt.Sprintf("held at its ends %s sags %s under its own weight", at, figure.MM(most))
	if share > limit {
		text += ": carry it with a hand under its middle, or set jig.piece_max"
	}
	return Check{ID: "sag", Verdict: WarnUnless(share <= limit), Value: share, Limit: limit, Text: text}, true
}

// beam is a strip carried by its two ends; mm, kg, Pa.
type beam struct{ long, wide, thick, mass, modulus float64 }

const Gravity = 9.81 // m/s²

// sag is the deflection in the middle of a beam on two supports under its own
// weight, mm: 5 w L⁴ / (384 E I) with I = b t³ / 12 (Roark's Formulas for Stress
// and Strain, table of beams, both ends simply supported, uniform load).
func sag(b beam) float64 {
	w := b.mass * Gravity / b.long // N/mm
	inertia := b.wide * b.thick * b.thick * b.thick / 12
	return 5 * w * math.Pow(b.long, 4) / (384 * b.modulus * 1e-6 * inertia)
}

// sections is how many places along a piece its width is taken at: one every few
// millimetres, so that narrow slots across it count for what they are.
const sections = 240

// netWidth is the width of a plain strip that sags as much as a piece with its
// openings: the mean of the net widths, as compliances, each with the weight that
// the bending there has in the sag of the middle: M(x)·m(x) with M = w(Lx - x²)/2
// and m = min(x, L-x)/2 (unit load method). Where next to nothing is left, a
// twentieth of the width is taken.
func netWidth(p Part) float64 {
	b := p.Outline.Bounds()
	k := 0 // along x
	if b.Height() > b.Width() {
		k = 1
	}
	var cuts []geom.Contour
	for _, o := range p.Openings {
		cuts = append(cuts, o.Contour())
	}
	gross := Axis(b.Max, 1-k) - Axis(b.Min, 1-k)
	weights, soft := 0.0, 0.0
	for i := range sections {
		x := (float64(i) + 0.5) / sections // of the length
		left := gross
		for _, c := range cuts {
			left -= widthAt(c, k, Axis(b.Min, k)+x*(Axis(b.Max, k)-Axis(b.Min, k)))
		}
		w := (x - x*x) * math.Min(x, 1-x)
		weights += w
		soft += w / math.Max(left, gross/20)
	}
	return weights / soft
}

// widthAt is how much of a line square to axis k, at x, lies inside an opening.
func widthAt(c geom.Contour, k int, x float64) float64 {
	b := c.Bounds()
	if x <= Axis(b.Min, k) || x >= Axis(b.Max, k) {
		return 0
	}
	across := geom.Segment{From: geom.Point{X: x, Y: b.Min.Y - 1}, To: geom.Point{X: x, Y: b.Max.Y + 1}}
	if k == 1 {
		across = geom.Segment{From: geom.Point{X: b.Min.X - 1, Y: x}, To: geom.Point{X: b.Max.X + 1, Y: x}}
	}
	var hits []float64
	for _, s := range c.Segments() {
		for _, q := range s.Crossings(across) {
			hits = append(hits, Axis(q, 1-k))
		}
	}
	sort.Float64s(hits)
	hits = slices.CompactFunc(hits, func(a, b float64) bool { return math.Abs(a-b) < SeamTol })
	if len(hits)%2 != 0 { // it touches a side: all between the outermost
		return hits[len(hits)-1] - hits[0]
	}
	sum := 0.0
	for i := 0; i < len(hits); i += 2 {
		sum += hits[i+1] - hits[i]
	}
	return sum
}

// holeCheck says where the templates hang.
func holeCheck(all []*Template) Check {
	var at, none []string
	fingers := 0
	for _, tp := range all {
		hung := false
		for _, p := range tp.Pieces {
			for _, o := range p.Openings {
				switch o.Kind {
				case OpenHang:
					hung = true
					at = append(at, p.ID)
				case OpenFinger:
					fingers++
				}
			}
		}
		if !hung {
			none = append(none, tp.End)
		}
	}
	text := fmt.Sprintf("%d finger holes; hang holes in %s", fingers, strings.Join(at, " and "))
	if len(none) > 0 {
		text = fmt.Sprintf("%d finger holes; no room for a hang hole in the %s template", fingers, strings.Join(none, " and "))
	}
	return Check{ID: "handles", Verdict: WarnUnless(len(none) == 0), Value: float64(fingers), Text: text}
}

// Balls whose tables have a published nose height, mm: pool (WPA, DBU) and carom
// (UMB), both with room for worn sets.
const (
	poolBall, caromBall = 57.15, 61.5
	ballRoom            = 0.8
)

// cushionChecks says for which noses the fins are made. Only pool and carom rules
// state a nose height; on any other table it is a guess until it is measured.
func cushionChecks(lim Limits, req Request) []Check {
	lo, hi := lim.NoseLow, lim.NoseHigh
	c := Check{ID: "nose-height", Verdict: Pass, Value: req.Table.NoseHeight, Unit: "mm"}
	near := func(of float64) bool { return math.Abs(req.BallDiameter-of) <= ballRoom }
	switch {
	case req.Table.NoseHeight > 0:
		c.Text = fmt.Sprintf("as measured; the fins serve noses %s above the cloth", figure.Between(lo, hi))
	case near(poolBall) && !slices.Contains(req.Games, "chinese-eight-ball") || near(caromBall):
		c.Text = fmt.Sprintf("not measured; the fins serve every published nose, %s above the cloth", figure.Between(lo, hi))
	default:
		c.Verdict = Warn
		name := strings.Join(req.Games, " and ")
		if near(52.5) && slices.ContainsFunc(req.Games, func(g string) bool { return strings.HasPrefix(g, "snooker") }) {
			name = "a snooker table"
		}
		c.Text = fmt.Sprintf("measure the nose height (%s: no figure is published for its cushions) and set table.nose_height; the fins reach noses %s above the cloth, by 63.5 %% of the ball", name, figure.Between(lo, hi))
	}
	return []Check{c}
}
