package proof

import (
	"fmt"
	"math"
	"strings"

	"spotjig/cam/geom"
	"spotjig/cam/jig"
	"spotjig/cam/machine"
	"spotjig/cam/nest"
)

// Limits of the proof by the tip, mm unless said.
const (
	// tipMax: how far the tip may be off a nominal edge or stroke, and how deep
	// into kept material. A tenth of a printed pencil line.
	tipMax = 0.01
	// tipSample: how finely the tip's path is looked at.
	tipSample = 0.25
	// edgeSample: how finely nominal edges are looked at.
	edgeSample = 0.5
	// headingsTried: the blade's heading when the program begins is unknown; so
	// many, evenly round, stand for all.
	headingsTried = 8
	// headingsAgree: after the first operation they must agree to this, radians
	// (0.1 degrees), because the rest is followed with one.
	headingsAgree = 0.1 * math.Pi / 180
)

// ByTip judges what a knife's cutting program, as read back, makes of a sheet. The
// blade's tip is followed as a castor from eight headings. It must keep to the
// nominal edges and strokes where it is beside them and never be in kept material
// otherwise (tip-path), and every nominal edge must be cut through and every
// stroke drawn (tip-complete).
func ByTip(p Program, parts []jig.Part, sheet nest.Sheet, k machine.KnifeProfile, m machine.Material) []jig.Check {
	stray := jig.Check{ID: "tip-path", Verdict: jig.Pass, Limit: tipMax, Unit: "mm"}
	whole := jig.Check{ID: "tip-complete", Verdict: jig.Pass, Limit: tipMax, Unit: "mm"}
	s, err := onSheet(parts, sheet)
	if err != nil {
		return []jig.Check{failed(stray, err.Error())}
	}
	t := newTipJudge(s, p, m.Thickness)
	if err := t.follow(k); err != nil {
		return []jig.Check{failed(stray, fmt.Sprintf("sheet %d: %v", sheet.N, err))}
	}
	stray.Value = t.worst
	stray.Text = fmt.Sprintf("sheet %d: the blade's tip stays within %.4f mm of every edge, from %d headings", sheet.N, t.worst, headingsTried)
	if t.worst > tipMax {
		stray = failed(stray, fmt.Sprintf("sheet %d: the blade's tip strays %s", sheet.N, t.where))
	}
	gap, where := t.gaps()
	whole.Value = gap
	whole.Text = fmt.Sprintf("sheet %d: %d contours cut through, %d strokes drawn", sheet.N, len(s.rings), len(s.letters)+len(s.scores))
	if gap > tipMax {
		whole = failed(whole, fmt.Sprintf("sheet %d: the blade misses %s", sheet.N, where))
	}
	return []jig.Check{stray, whole}
}

// tipJudge follows the tip over one sheet.
type tipJudge struct {
	s       shapes
	p       Program
	through float64 // cuts at or below this Z go through the sheet
	edges   *places
	letters *places
	scores  *places
	trail   [3][]curve // where the tip went: through, scoring, lettering
	last    int        // the edge met last
	worst   float64
	where   string
}

// places finds the curve nearest to a point among very many short ones.
type places struct {
	curves []curve
	cells  map[[2]int32][]int32
}

const (
	placeCell = 1.0 // mm
	placeStep = 0.5 // a curve is entered at points this far apart, so
	placeNear = 0.7 // it is found from anywhere this near
)

func placeKey(p geom.Point) [2]int32 {
	return [2]int32{int32(math.Floor(p.X / placeCell)), int32(math.Floor(p.Y / placeCell))}
}

func newPlaces(ks []curve) *places {
	x := &places{curves: ks, cells: map[[2]int32][]int32{}}
	for i, k := range ks {
		n := int(k.length()/placeStep) + 1
		for j := 0; j <= n; j++ {
			key := placeKey(k.at(float64(j) / float64(n)))
			in := x.cells[key]
			if len(in) == 0 || in[len(in)-1] != int32(i) {
				x.cells[key] = append(in, int32(i))
			}
		}
	}
	return x
}

// nearest returns the index of the nearest curve and its distance; -1 and
// placeNear when none is that near.
func (x *places) nearest(p geom.Point) (best int, d float64) {
	best, d = -1, placeNear
	c := placeKey(p)
	for dy := int32(-1); dy <= 1; dy++ {
		for dx := int32(-1); dx <= 1; dx++ {
			for _, i := range x.cells[[2]int32{c[0] + dx, c[1] + dy}] {
				if _, h := x.curves[i].nearest(p); h < d {
					best, d = int(i), h
				}
			}
		}
	}
	return best, d
}

func newTipJudge(s shapes, p Program, thickness float64) *tipJudge {
	return &tipJudge{s: s, p: p, through: -thickness + digit, edges: newPlaces(curvesOf(s.edges)),
		letters: newPlaces(s.letters), scores: newPlaces(s.scores), last: -1}
}

// follow drives the blade through the first operation from every heading, and
// from there on with the one heading they have come to.
func (t *tipJudge) follow(k machine.KnifeProfile) error {
	moves, err := t.pivot()
	if err != nil {
		return err
	}
	n := t.firstOp()
	var ends [headingsTried]Blade
	for i := range ends {
		t.last = -1
		b := Blade{Offset: k.Offset, Heading: geom.Angle(i) * 2 * math.Pi / headingsTried, Step: tipSample}
		ends[i] = b.Trail(moves[:n], t.visit(0))
	}
	spread := 0.0
	for _, e := range ends {
		spread = math.Max(spread, math.Abs(math.Remainder(float64(e.Heading-ends[0].Heading), 2*math.Pi)))
	}
	if spread > headingsAgree {
		return fmt.Errorf("the blade's heading is known only to %.2f degrees when the first piece is cut", spread*180/math.Pi)
	}
	t.last = -1
	ends[0].Trail(moves[n:], t.visit(n))
	t.worst += k.Offset * spread
	return nil
}

// firstOp returns the number of moves up to the end of the first operation.
func (t *tipJudge) firstOp() int {
	label := ""
	for i, m := range t.p.Moves {
		if label == "" {
			label = m.Label
		}
		if m.Label != label {
			return i
		}
	}
	return len(t.p.Moves)
}

// pivot lists the program's moves for the simulation.
func (t *tipJudge) pivot() ([]PivotMove, error) {
	out := make([]PivotMove, len(t.p.Moves))
	for i, m := range t.p.Moves {
		out[i] = PivotMove{Segment: geom.Segment{From: m.a, To: m.b}, ZFrom: m.Z0, ZTo: m.Z1}
		if m.arc {
			if math.Abs(m.sweep) > math.Pi+0.01 {
				return nil, fmt.Errorf("line %d: an arc of more than half a turn", m.Line)
			}
			out[i].Bulge = math.Tan(m.sweep / 4)
		}
	}
	return out, nil
}

// standing: a tip that moved less than this since the last sample stands, mm; it
// has been judged where it is.
const standing = 1e-6

// visit judges the samples of a run of moves that begins at the program's move n.
func (t *tipJudge) visit(n int) func(TipSample) {
	var before TipSample
	return func(s TipSample) {
		if s.Z < -digit {
			same := before.Move == s.Move
			if same && dist(before.At, s.At) < standing {
				return
			}
			m := t.p.Moves[n+s.Move]
			t.judge(m, s)
			if same {
				t.note(m, before, s)
			}
		}
		before = s
	}
}

// onEdge: nearer than this the tip is on the edge itself, whichever side of it.
const onEdge = 0.0005

// judge holds one place of the tip in the sheet against what its operation may
// cut: a stroke, an edge, or waste. How far a cut stays off an edge in the waste is
// for the second check.
func (t *tipJudge) judge(m Move, s TipSample) {
	d := 0.0
	switch {
	case m.layer() == "LETTERING":
		_, d = t.letters.nearest(s.At)
	case m.layer() == "SCORE" && !strings.HasPrefix(m.Label, "SCORE waste"):
		_, d = t.scores.nearest(s.At)
	default:
		d = t.intoKept(s.At)
	}
	t.worse(d, m, s)
}

// intoKept is how deep p lies in kept material, 0 in waste.
func (t *tipJudge) intoKept(p geom.Point) float64 {
	if t.last >= 0 {
		if _, h := t.s.edges[t.last].nearest(p); h < onEdge {
			return h
		}
	}
	e, h := t.edges.nearest(p)
	t.last = e
	if h >= onEdge && t.s.kept(p) < 0 {
		return 0
	}
	return h
}

func (t *tipJudge) worse(d float64, m Move, s TipSample) {
	if d > t.worst {
		t.worst = d
		t.where = fmt.Sprintf("%.4f mm at %s, line %d, %s", d, at(s.At), m.Line, m.Label)
	}
}

// note keeps where the tip went, for the second check.
func (t *tipJudge) note(m Move, a, b TipSample) {
	kind := 0
	switch m.layer() {
	case "SCORE":
		kind = 1
	case "LETTERING":
		kind = 2
	default:
		if math.Max(a.Z, b.Z) > t.through {
			return
		}
	}
	t.trail[kind] = append(t.trail[kind], lineOf(a.At, b.At))
}

// gaps returns the greatest distance from a nominal edge or stroke to the
// nearest place where the tip went for it.
func (t *tipJudge) gaps() (worst float64, where string) {
	for kind, want := range [3][]curve{curvesOf(t.s.edges), t.s.scores, t.s.letters} {
		g := newPlaces(t.trail[kind])
		for _, k := range want {
			n := int(k.length()/edgeSample) + 1
			for i := 0; i <= n; i++ {
				p := k.at(float64(i) / float64(n))
				if _, d := g.nearest(p); d > worst {
					worst = d
					where = fmt.Sprintf("%s by %.3f mm or more at %s", [3]string{"an edge", "a score", "a stroke of lettering"}[kind], d, at(p))
				}
			}
		}
	}
	return worst, where
}

func curvesOf(edges []edge) []curve {
	out := make([]curve, len(edges))
	for i, e := range edges {
		out[i] = e.curve
	}
	return out
}
