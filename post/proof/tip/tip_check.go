package tip

import (
	"fmt"
	"math"
	"strings"

	"spotjig/post/proof"

	"spotjig/cam/jig"
	"spotjig/cam/machine"
	"spotjig/cam/nest"
	"spotjig/layout/geom"
)

// Limits of the proof by the tip, mm unless said.
const (
	// tipMax: how far the tip may be off a nominal edge or stroke, and how deep
	// into kept material. A tenth of a printed pencil line.
	tipMax = 0.01
	// tipSample: how finely the tip's path is looked at.
	tipSample = 0.25
	// edgeSample: how finely nominal edges are looked at where a tip went along them.
	edgeSample = 1.0
	// headingsTried: the blade's heading when the program begins is unknown; so
	// many, evenly round, stand for all.
	headingsTried = 8
	// headingsAgree: after the first operation they must agree to this, radians
	// (0.1 degrees), because the rest is followed with one.
	headingsAgree = float64(geom.Degree / 10)
)

// Blading says how a sheet is cut with a knife.
type Blading struct {
	Parts    []jig.Part
	Sheet    nest.Sheet
	Knife    machine.KnifeProfile
	Material machine.Material
	Trials   []jig.KnifeTrial // parts of a test piece that have an offset or depth of their own
}

// ByTip judges what a knife's cutting program, as read back, makes of a sheet. The
// blade's tip is followed as a castor from eight headings. It must keep to the
// nominal edges and strokes where it is beside them and never be in kept material
// otherwise (tip-path); every nominal edge must be cut, and every stroke drawn, to
// its own depth (tip-complete); nothing may be cut deeper (tip-depth); a cut must
// go on past its end by the length of the blade's slanting edge (tip-overrun);
// and each contour is cut as often as asked, all of a piece before its outline
// (as-ordered).
func ByTip(p proof.Program, how Blading) []jig.Check {
	stray := jig.Check{ID: "tip-path", Verdict: jig.Pass, Limit: tipMax, Unit: "mm"}
	whole := jig.Check{ID: "tip-complete", Verdict: jig.Pass, Limit: tipMax, Unit: "mm"}
	sheet := how.Sheet
	s, err := proof.OnSheet(how.Parts, sheet)
	if err != nil {
		return []jig.Check{proof.Failed(stray, err.Error())}
	}
	t := newTipJudge(s, p, how)
	if err := t.follow(); err != nil {
		return []jig.Check{proof.Failed(stray, fmt.Sprintf("sheet %d: %v", sheet.N, err))}
	}
	stray.Value = t.worst
	stray.Text = fmt.Sprintf("sheet %d: the blade's tip stays within %.4f mm of every edge, from %d headings", sheet.N, t.worst, headingsTried)
	if t.worst > tipMax {
		stray = proof.Failed(stray, fmt.Sprintf("sheet %d: the blade's tip strays %s", sheet.N, t.where))
	}
	all, through := t.gaps()
	whole.Value = all.wide
	whole.Text = fmt.Sprintf("sheet %d: %d contours cut through, %d strokes drawn", sheet.N, len(s.Rings), len(s.Letters)+len(s.Scores))
	if all.wide > tipMax {
		whole = proof.Failed(whole, fmt.Sprintf("sheet %d: the blade misses %s", sheet.N, all.where))
	}
	m := how.Material
	asked := proof.Passes{max(1, m.Cut.Passes), max(1, m.Score.Passes), max(1, m.Letter.Passes)}
	t.tally.Over = how.Knife.Offset + t.slant.length
	return []jig.Check{stray, whole, t.depth(), t.overrun(through, whole), t.tally.Check(s, asked, sheet.N)}
}

// tipJudge follows the tip over one sheet.
type tipJudge struct {
	s       proof.Shapes
	p       proof.Program
	how     Blading
	wants   map[string]want // by label
	edges   *places[proof.Curve]
	letters *places[proof.Curve]
	scores  *places[proof.Curve]
	trail   [3][]bit // where the tip went at its depth: cutting, scoring, lettering
	slant   slant    // where it went on for the length of its edge
	tally   proof.Tally
	last    int // the edge met last
	worst   float64
	where   string
	deepest float64 // most below what its operation may cut
	deepAt  string
}

// bit is one straight bit of the tip's way. There are hundreds of thousands: it has no room
// for what an arc needs.
type bit struct{ a, b geom.Point }

func (k bit) curve() proof.Curve                         { return proof.LineOf(k.a, k.b) }
func (k bit) Length() float64                            { return k.curve().Length() }
func (k bit) At(t float64) geom.Point                    { return k.curve().At(t) }
func (k bit) Nearest(p geom.Point) (geom.Point, float64) { return k.curve().Nearest(p) }
func (k bit) Box() proof.Box                             { return k.curve().Box() }

// placed is what lies in places.
type placed interface {
	proof.Curve | bit
	Length() float64
	At(t float64) geom.Point
	Nearest(p geom.Point) (geom.Point, float64)
	Box() proof.Box
}

// places finds the curve nearest to a point among very many short ones. It keeps the answer
// to the last question, because points mostly come one after the other along a way.
type places[T placed] struct {
	curves []T
	boxes  []proof.Box
	cells  map[placeKey]int32 // by place: which of the lists
	lists  []list
	links  []link
	at     placeKey // the cell asked for last
	about  []int32  // the curves in it and in those about it, in the order met
	asked  int32    // how often such a list was made
	met    []int32  // the last of those lists that each curve is in, by its number
}

// list is the curves that pass through a cell, in their order: its first and last link.
type list struct{ first, last int32 }

// link is a curve in a list, and the next link; 0 for none.
type link struct{ curve, next int32 }

// placeKey is a cell's place among the others.
type placeKey [2]int32

const (
	placeCell = 1.0  // mm
	placeStep = 0.5  // mm; a curve is entered at points no further apart than this, so
	placeNear = 0.7  // mm; it is found from anywhere this near
	placeTol  = 1e-9 // mm; so much further off than the nearest curve yet a box may be and is looked into, because of rounding
)

func placeKeyOf(p geom.Point) placeKey {
	return placeKey{int32(math.Floor(p.X / placeCell)), int32(math.Floor(p.Y / placeCell))}
}

// newPlaces files curves by the cells that they pass through. One mostly begins in the cell
// in which the one before ended: that cell is not looked up again.
func newPlaces[T placed](ks []T) *places[T] {
	x := &places[T]{curves: ks, boxes: make([]proof.Box, len(ks)), cells: map[placeKey]int32{}, met: make([]int32, len(ks)),
		links: make([]link, 1, 1+len(ks)+len(ks)/8)}
	var last placeKey
	var to *list
	for i, k := range ks {
		x.boxes[i] = k.Box()
		n := int(k.Length()/placeStep) + 1
		for j := 0; j <= n; j++ {
			if key := placeKeyOf(k.At(float64(j) / float64(n))); key != last || to == nil {
				last, to = key, x.list(key)
			}
			if end := &x.links[to.last]; to.last == 0 || end.curve != int32(i) {
				at := int32(len(x.links))
				if to.last == 0 {
					to.first = at
				} else {
					end.next = at
				}
				to.last = at
				x.links = append(x.links, link{curve: int32(i)})
			}
		}
	}
	return x
}

// list is the list of a cell, good until the next is asked for.
func (x *places[T]) list(key placeKey) *list {
	i, ok := x.cells[key]
	if !ok {
		i = int32(len(x.lists))
		x.lists = append(x.lists, list{})
		x.cells[key] = i
	}
	return &x.lists[i]
}

// near lists the curves in a cell and those about it, each once. Points are asked for one
// after the other along a way: mostly the cell is that of the last.
func (x *places[T]) near(c placeKey) []int32 {
	if c == x.at && x.asked > 0 {
		return x.about
	}
	x.at, x.about = c, x.about[:0]
	x.asked++
	for dy := int32(-1); dy <= 1; dy++ {
		for dx := int32(-1); dx <= 1; dx++ {
			cell, ok := x.cells[placeKey{c[0] + dx, c[1] + dy}]
			if !ok {
				continue
			}
			for l := x.lists[cell].first; l != 0; l = x.links[l].next {
				if i := x.links[l].curve; x.met[i] != x.asked {
					x.met[i] = x.asked
					x.about = append(x.about, i)
				}
			}
		}
	}
	return x.about
}

// nearest returns the index of the nearest curve and its distance; -1 and
// placeNear when none is that near.
func (x *places[T]) nearest(p geom.Point) (best int, d float64) {
	best, d = -1, placeNear
	for _, i := range x.near(placeKeyOf(p)) {
		if b, far := x.boxes[i], d+placeTol; b.X0-p.X > far || p.X-b.X1 > far || b.Y0-p.Y > far || p.Y-b.Y1 > far {
			continue
		}
		if _, h := x.curves[i].Nearest(p); h < d {
			best, d = int(i), h
		}
	}
	return best, d
}

func newTipJudge(s proof.Shapes, p proof.Program, how Blading) *tipJudge {
	return &tipJudge{s: s, p: p, how: how, wants: map[string]want{}, edges: newPlaces(curvesOf(s.Edges)),
		letters: newPlaces(s.Letters), scores: newPlaces(s.Scores), last: -1,
		slant: slant{length: how.Material.Thickness / how.Knife.Wedge.Tan()}, tally: proof.NewTally(s)}
}

// follow drives the blade through the first operation from every heading, and
// from there on with the one heading they have come to.
func (t *tipJudge) follow() error {
	moves, err := t.pivot()
	if err != nil {
		return err
	}
	t.room(moves)
	offset := t.how.Knife.Offset
	n := t.opEnd(0)
	var ends [headingsTried]Blade
	for i := range ends {
		t.last = -1
		b := Blade{Offset: offset, Heading: geom.Angle(i) * 2 * math.Pi / headingsTried, Step: tipSample}
		ends[i] = b.Trail(moves[:n], t.visit(0))
		t.tally = proof.NewTally(t.s) // the first operation brings the blade round in waste, along no edge: of it nothing counts
	}
	spread := 0.0
	for _, e := range ends {
		spread = math.Max(spread, math.Abs(math.Remainder(float64(e.Heading-ends[0].Heading), 2*math.Pi)))
	}
	if spread > headingsAgree {
		return fmt.Errorf("the blade's heading is known only to %.2f degrees when the first piece is cut", geom.Angle(spread).Degrees())
	}
	t.last = -1
	b := ends[0]
	for n < len(moves) {
		end := t.opEnd(n)
		b.Offset = t.want(t.p.Moves[n].Label).offset
		b = b.Trail(moves[n:end], t.visit(n))
		n = end
	}
	t.slant.lift(t.trail[proof.KindCut])
	t.worst += offset * spread
	return nil
}

// roomMost is how many samples room is made for at most. The program's own figures say how
// many there are, and nobody has checked those yet.
const roomMost = 1 << 18

// room makes room for the trails at once: there are tens of thousands of samples.
func (t *tipJudge) room(moves []PivotMove) {
	var n [3]int
	for i, m := range moves {
		if k := t.p.Moves[i]; math.Min(m.ZFrom, m.ZTo) < 0 {
			n[kindOf(&k)] += 2 + int(math.Max(k.Length()/tipSample, math.Abs(k.Sweep)/tipTurn))
		}
	}
	for kind := range n {
		t.trail[kind] = make([]bit, 0, min(n[kind], roomMost))
	}
}

// opEnd returns the first move after n that belongs to another operation.
func (t *tipJudge) opEnd(n int) int {
	label := t.p.Moves[n].Label
	for i := n; i < len(t.p.Moves); i++ {
		m := t.p.Moves[i]
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
		out[i] = PivotMove{Segment: geom.Segment{From: m.A, To: m.B}, ZFrom: m.Z0, ZTo: m.Z1}
		if m.Arc {
			if math.Abs(m.Sweep) > math.Pi+0.01 {
				return nil, fmt.Errorf("line %d: an arc of more than half a turn", m.Line)
			}
			out[i].Bulge = math.Tan(m.Sweep / 4)
		}
	}
	return out, nil
}

// standing is how little a tip that stands may have moved since the last sample, mm. Where
// it stands it has been judged already.
const standing = 1e-6

// visit judges the samples of a run of moves that begins at the program's move n.
func (t *tipJudge) visit(n int) func(TipSample) {
	var before TipSample
	var m *proof.Move // of the sample
	var is moving
	return func(s TipSample) {
		if s.Z >= 0 {
			t.slant.lift(t.trail[proof.KindCut])
		}
		if s.Z < -proof.Digit {
			if of := &t.p.Moves[n+s.Move]; of != m {
				m, is = of, t.moving(of)
			}
			t.deep(m, is, s)
			same := before.Move == s.Move
			if same && proof.Dist(before.At, s.At) < standing {
				return
			}
			near, d := t.judge(m, is, s)
			if same {
				t.note(is, before, s)
				if d <= tipMax && near >= 0 {
					t.tally.Add(is.kind, near, m.Index, proof.Dist(before.At, s.At))
				}
			}
		}
		before = s
	}
}

// moving is what a move's label says of it.
type moving struct {
	want
	kind    int
	strokes *places[proof.Curve] // that it draws; nil where it cuts
}

func (t *tipJudge) moving(m *proof.Move) moving {
	is := moving{want: t.want(m.Label), kind: kindOf(m)}
	switch {
	case is.kind == proof.KindLetter:
		is.strokes = t.letters
	case is.kind == proof.KindScore && !isWaste(m.Label):
		is.strokes = t.scores
	}
	return is
}

// onEdge is how near to an edge the tip is taken to be on it, mm, on whichever side.
const onEdge = 0.0005

// judge holds one place of the tip in the sheet against what its operation may
// cut: a stroke, an edge, or waste. A cut that stays off its edge in the waste is none of
// its business: then the edge is not cut, which gaps finds. It returns the edge or stroke
// nearest to the tip, -1 for none near, and its distance, mm.
func (t *tipJudge) judge(m *proof.Move, is moving, s TipSample) (near int, d float64) {
	if is.strokes != nil {
		near, d = is.strokes.nearest(s.At)
		t.worse(d, m, s)
		return near, d
	}
	d = t.intoKept(s.At)
	t.worse(d, m, s)
	if t.last >= 0 && d == 0 {
		_, d = t.s.Edges[t.last].Nearest(s.At)
	}
	return t.last, d
}

// isWaste reports whether a label is that of the operation that brings the blade round, in
// the waste beside the parts.
func isWaste(label string) bool { return strings.HasPrefix(label, "SCORE waste") }

// intoKept is how deep p lies in kept material, 0 in waste.
func (t *tipJudge) intoKept(p geom.Point) float64 {
	if t.last >= 0 {
		if _, h := t.s.Edges[t.last].Nearest(p); h < onEdge {
			return h
		}
	}
	e, h := t.edges.nearest(p)
	t.last = e
	if h >= onEdge && t.s.Kept(p) < 0 {
		return 0
	}
	return h
}

func (t *tipJudge) worse(d float64, m *proof.Move, s TipSample) {
	if d > t.worst {
		t.worst = d
		t.where = fmt.Sprintf("%.4f mm at %s, line %d, %s", d, proof.At(s.At), m.Line, m.Label)
	}
}

// note keeps where the tip went at the depth it should have, for gaps and overrun.
func (t *tipJudge) note(is moving, a, b TipSample) {
	if math.Max(a.Z, b.Z) > is.depth+proof.Digit {
		return
	}
	t.trail[is.kind] = append(t.trail[is.kind], bit{a.At, b.At})
}

// kindOf is what a move's label says that it cuts.
func kindOf(m *proof.Move) int {
	switch m.Layer() {
	case "SCORE":
		return proof.KindScore
	case "LETTERING":
		return proof.KindLetter
	}
	return proof.KindCut
}

func curvesOf(edges []proof.Edge) []proof.Curve {
	out := make([]proof.Curve, len(edges))
	for i, e := range edges {
		out[i] = e.Curve
	}
	return out
}
