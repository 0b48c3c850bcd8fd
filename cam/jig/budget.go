package jig

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"

	"spotjig/cam/jig/budget"
	"spotjig/cam/machine"
	"spotjig/layout"
	"spotjig/layout/figure"
	"spotjig/layout/geom"
	"spotjig/layout/job"
)

// The error budget of a mark: what each source of error does to it once the template is
// laid (laying.go), added up by package budget. The half-widths below are those of a
// job that states nothing; a key that betters one is a lever (lever.go). Where no other
// source stands they are common practice.
const (
	pinPM       = 0.05 // mm between two pieces at a pin that was pressed through holes too small for it
	bowPM       = 0.3  // mm the middle of an end nose stands off the line between its ends
	strungPM    = 0.1  // mm the same where a string was stretched and its gaps read
	scalePPM    = 300  // parts per million: what the check ticks, read to 0.15 mm in 500, let pass
	measuredPPM = 100  // parts per million to which a measured scale is known
	machineSkew = 100  // µm a metre out of square, of a machine nobody has measured
	shapePM     = 2.0  // mm an end nose is out of square over the width where the survey lacks diagonals or a length
	napPM       = 0.5  // mm the template's underside stands above the ground of the cloth
	leanMost    = 5.0  // degrees a hand lets a marker lean where nothing guides it
	guidePM     = 0.1  // mm a guide is thicker or thinner than stated, by a caliper on a tool that is not quite round
)

// Terms of a budget that are named in more than one place.
const (
	contactTerm = "nose contact"
	sideTerm    = "side scale"
	finsTerm    = "fins"   // off their places, which stand at the noses
	blocksTerm  = "blocks" // in the place of fins
	markerTerm  = "marker"
	jointsTerm  = "joints"
	bowTerm     = "nose straightness"
	shapeTerm   = "table's shape"
)

// accuracy is what is known of a job's measuring, cutting and laying: half-widths, mm.
type accuracy struct {
	table    layout.Table
	tape     float64
	contact  float64   // a nose under a fin
	bow      float64   // the middle of an end nose off its chord's parallel, beyond what was read
	leaves   float64   // a shoe off where its leaves should have it
	settings *settings // what they leave
	seat     []float64 // what stands at the nose, in its own place, by cause
	standing string    // its term: finsTerm or blocksTerm
	reading  float64   // of a side scale
	closure  float64   // of an end of a seam that is shut
	edge     float64   // a cut edge, by what the kerf is not known
	flank    float64   // clearance of a dovetail's
	slip     float64   // left beside the tail of a joint of the job's kind, square to a flank
	keyed    bool      // the job's kind; a seam without room for a key has a dovetail all the same
	tried    bool      // slip is as read on a test piece's joint
	guide    float64   // the marker's thickness where it passes the plate
	slot     float64   // width of slots
	play     float64   // of what goes into a spot's hole
	sticker  bool      // that is an adhesive spot, no marker
	thick    float64   // of the sheet
	sight    float64   // a thread or a line laid over a line by eye
	lined    bool      // a tape has no edge to hook on: a line of it is held there
	warm     float64   // growth with heat, as a fraction
	damp     float64   // growth with damp, as a fraction
	shape    float64   // an end nose out of square over the width, where not surveyed
	spread   bool      // what the survey leaves open counts
	known    bool      // the template follows the table as surveyed
	scale    float64   // of the machine, as a fraction beyond what was measured
	machine  machine.Profile
}

func accuracyOf(req Request, lim Limits) accuracy {
	acc := accuracy{table: req.Table, tape: req.Table.TapePM, contact: req.Want.NosePM, bow: bowUnknown(req.Table),
		seat: lim.Seat, standing: blocksTerm, reading: req.Want.ReadingPM, closure: req.Want.ClosurePM, edge: req.Material.KerfPM / 2, flank: lim.Flank, slip: lim.Flank, keyed: req.Want.Joint == job.JointKeyed,
		sight: req.Want.SightPM, lined: req.Machine.Process == machine.Knife, guide: req.Want.MarkerGuide, slot: lim.Slot, play: lim.Play, sticker: req.Want.Spots == job.SpotsSticker, thick: lim.Thickness,
		warm: warmthError(req.Want, req.Material), damp: dampError(req.Want, req.Material),
		spread: true, known: follows(req.Table, req.Want), scale: scaleUnknown(req.Machine), machine: req.Machine}
	if len(acc.seat) == 0 {
		acc.seat, acc.standing = []float64{req.Want.SeatPM}, finsTerm
	}
	if acc.keyed {
		acc.slip = job.KeyedSlip
	}
	if req.Want.SlipStated {
		acc.slip, acc.tried = req.Want.SlipPM, true
	}
	if lim.Shod {
		acc.leaves, acc.settings = leavesPM, req.settings
	}
	if !req.Table.Squared {
		acc.shape = shapePM
	}
	return acc
}

// alongSeam is how far a joint may stand off along its seam by what is left beside its
// tail. That is square to the flank; a dovetail's leans, so that along the seam there is a
// little more of it. The kerf widens both of its flanks alike, so that what was read has it
// in it; a keyed joint's pieces it shifts, flank on flank, by both edges.
func (acc accuracy) alongSeam(j *Seam) float64 {
	switch {
	case j.Part != "":
		return acc.slip + 2*acc.edge
	case acc.tried && !acc.keyed:
		return acc.slip * math.Hypot(1, 1/TailSlope)
	}
	return (acc.flank + 2*acc.edge) * math.Hypot(1, 1/TailSlope)
}

// sources lists the independent errors of a template. Rubber yields under every fin,
// so that half of the contact is common to both of an end; at the sides it cancels.
//
// Shoulders, not flanks, say how a seam is turned: shut, each of its two ends may stay
// open by the closure. One end alone opens the middle by half of that and turns the
// piece by the closure over the seam's length; both ends are independent.
func sources(s *laying, acc accuracy) []source {
	half := acc.contact / 2
	out := []source{
		{group: contactTerm, e1: half, e2: half},
		{group: contactTerm, e1: half}, {group: contactTerm, e2: half},
		{group: contactTerm, es: half / 2}, {group: contactTerm, es: half / 2},
		{group: sideTerm, es: acc.reading / 2}, {group: sideTerm, es: acc.reading / 2},
		{group: "kerf", e1: 3 * acc.edge, e2: 3 * acc.edge, everySeam: 2 * acc.edge, common: true},
	}
	out = append(out, bows(s, acc)...)
	for _, by := range acc.seat {
		out = append(out, source{group: acc.standing, e1: by}, source{group: acc.standing, e2: by},
			source{group: acc.standing, es: by / 2}, source{group: acc.standing, es: by / 2})
	}
	if acc.leaves > 0 {
		out = append(out, source{group: settingTerm, e1: acc.leaves}, source{group: settingTerm, e2: acc.leaves})
	}
	for _, j := range s.tp.Seams {
		if j.Pins[0] != j.Pins[1] {
			out = append(out, pinned(j)...)
			continue
		}
		turn, open := acc.closure/j.Length(), j.Out(s.nearRoot(j)).Scale(acc.closure/2)
		out = append(out,
			source{group: jointsTerm, joint: j, shift: open, turn: turn, gap: true},
			source{group: jointsTerm, joint: j, shift: open, turn: -turn, gap: true},
			source{group: jointsTerm, joint: j, shift: j.Along().Scale(acc.alongSeam(j))})
	}
	return out
}

// pinned is what two pins do that set a lap: square to the line through them each moves
// by itself, which shifts and turns what lies beyond, and along it both go as one.
func pinned(j *Seam) []source {
	along := j.Pins[1].Sub(j.Pins[0])
	side, turn := along.Unit().Left().Scale(pinPM/2), pinPM/along.Len()
	arm := j.From.Mid(j.To).Sub(j.Pins[0].Mid(j.Pins[1])).Left() // turns are about the seam's middle
	return []source{
		{group: jointsTerm, joint: j, shift: side.Add(arm.Scale(turn)), turn: turn},
		{group: jointsTerm, joint: j, shift: side.Add(arm.Scale(-turn)), turn: -turn},
		{group: jointsTerm, joint: j, shift: along.Unit().Scale(pinPM)},
	}
}

// offCentre is what an end nose that is not square to the middle line does to a point
// of the template that touches it. Marks belong at distances square to that nose and
// parallel to it, as layout places them, and the template has them there; but they
// belong beside the middle line, and the template's own middle runs square to the nose
// through the middle of the width where the side fins stand.
func (s *laying) offCentre(turn float64, p geom.Point) geom.Vec {
	return geom.Vec{Y: turn * (p.X - s.sides[0].Front.X)}
}

// noseTurns are the independent turns of an end nose against the square of the middle
// line that the template does not follow, radians: the surveyed one of a jig for a
// class, what each reading leaves open, and the assumption where nobody looked.
func noseTurns(end string, acc accuracy) []float64 {
	var out []float64
	t := acc.table
	if !acc.known && t.Corners != ([4][2]float64{}) {
		if by := noseTurn(end, t.Corners, t); math.Abs(by) > turnTol {
			out = append(out, by)
		}
	}
	if acc.spread {
		for _, e := range t.Spread {
			if by := noseTurn(end, e, t); math.Abs(by) > turnTol {
				out = append(out, by)
			}
		}
	}
	if acc.shape > 0 {
		out = append(out, acc.shape/t.W)
	}
	return out
}

// skewShare of the tolerance: what the surveyed shape may move a mark of a jig for a
// class before it is warned of.
const skewShare = 1.0 / 3

// skewChecks says which mark of a jig for a class the table's surveyed shape moves
// furthest from where it belongs there, and by how much: the template lies against a
// nose that is not square.
func skewChecks(all []*Template, lim Limits, req Request) []Check {
	acc := accuracyOf(req, lim)
	if !req.Table.Surveyed || acc.known {
		return nil
	}
	most, limit, name := 0.0, req.Want.Tolerance*skewShare, ""
	for _, tp := range all {
		s := newLaying(tp)
		if s == nil {
			continue
		}
		turn := noseTurn(tp.End, req.Table.Corners, req.Table)
		for _, e := range tp.Elements {
			for _, p := range e.probes() {
				own, _ := toleranceOf(e.mark, req)
				if v := e.square(p, s.offCentre(turn, p)).Len(); v*limit > most*own*skewShare+turnTol {
					most, limit, name = v, own*skewShare, e.mark
				}
			}
		}
	}
	c := Check{ID: "survey-skew", Verdict: Pass, Value: most, Limit: limit, Unit: "mm",
		Text: "how far the table's own shape puts a mark off"}
	if most > c.Limit {
		c.Verdict = Warn
		c.Text = fmt.Sprintf("the table's own shape puts the %s off by %s: make the jig for this table (jig.for: this)", plainName(name, req.Marks), figure.MM(most))
	}
	return []Check{c}
}

// turnTol: a smaller turn of a nose moves no mark by a micron, radians.
const turnTol = 1e-7

// noseTurn is how far an end nose is from square to the middle line, radians: the
// nose's slope across and the middle line's slope along, for corners or for what moves
// them.
func noseTurn(end string, c [4][2]float64, t layout.Table) float64 {
	right, left := c[0], c[3]
	if end == Foot {
		right, left = c[1], c[2]
	}
	middle := (c[1][1] + c[2][1] - c[0][1] - c[3][1]) / 2
	return (left[0]-right[0])/t.W + middle/t.L
}

// A bowed nose is a parabola, as the survey takes it, and one cause. Where a nose is no
// straight line the end line is the chord through the points that the template touches,
// and marks count from there: a bow of its own end moves no mark. It does make the length
// that was read another than that between the chords: by what it does there less what it
// does at the fins. A side nose is twice as long and may bow twice as far; it moves the
// template's middle.

// sideBow is how much further a side nose may bow than an end nose.
const sideBow = 2.0

// readBow is what a parabola is at the first sights, where lengths are read: at a quarter
// of the nose, 4·(1/4)·(3/4).
const readBow = 0.75

// chordBow is what it is where the end fins touch, as a mean of the two.
func (s *laying) chordBow(t layout.Table) float64 {
	return (parabola(s.ends[0].Front.Y/t.W+0.5) + parabola(s.ends[1].Front.Y/t.W+0.5)) / 2
}

// bows are the noses' bows at a template: of the two end noses, by what the length between
// their chords is not what was read, and of the two side noses at its fins. Both templates
// touch their noses in like places, so that either stands for both ends' chords.
func bows(s *laying, acc accuracy) []source {
	t, chord := acc.table, s.chordBow(acc.table)
	var out []source
	length := func(long float64) {
		if long > 0 {
			out = append(out, source{group: bowTerm, long: long / t.L}, source{group: bowTerm, long: long / t.L})
		}
	}
	length(math.Abs(readBow-chord) * acc.bow)
	length(chord * t.NoseBow) // the survey's length is that between the noses' ends
	for _, f := range s.sides {
		by := -math.Copysign(sideBow*acc.bow*parabola(f.Front.X/t.L)/2, f.Front.Y) // towards the bed
		out = append(out, source{group: bowTerm, es: by, nose: s.noseOf(f)})
	}
	return out
}

// parabola is 1 in the middle of a nose and 0 at its ends, k going from 0 to 1 along it.
func parabola(k float64) float64 { return math.Max(0, 4*k*(1-k)) }

// noseOf is the side nose that a side fin touches: as both templates touch the same two,
// one cause moves both.
func (s *laying) noseOf(f *Fin) sideNose {
	if (f.Front.Y > 0) == (s.tp.End == Head) {
		return leftNose
	}
	return rightNose
}

// bowUnknown is how far the middle of an end nose may be off its line beyond what was
// read, mm.
func bowUnknown(table layout.Table) float64 {
	if table.Strung {
		return strungPM
	}
	return bowPM
}

// budgets works out every mark's budget; the worst point of a line or arc counts.
func budgets(all []*Template, lim Limits, req Request, keyed map[string]float64) []Budget {
	var out []Budget
	var of []func() string // the advice on each
	at := map[string]int{}
	acc := accuracyOf(req, lim)
	var levers []lever
	if !req.bare {
		levers = leversOf(acc)
	}
	for _, tp := range all {
		s := newLaying(tp)
		if s == nil {
			continue
		}
		l := s.under(acc)
		for _, pull := range levers {
			l.pulled = append(l.pulled, s.under(pull.pulled))
		}
		for _, e := range tp.Elements {
			b := l.budgetOf(e)
			advise := func() string { return l.advice(e, b, levers, keyed) }
			i, ok := at[e.mark]
			switch {
			case !ok:
				at[e.mark] = len(out)
				out, of = append(out, b), append(of, advise)
			case b.Worst > out[i].Worst:
				out[i], of[i] = b, advise
			}
		}
	}
	each(len(out), func(i int) {
		if !req.bare {
			out[i].Improve = of[i]()
		}
		out[i] = out[i].judged(req)
	})
	for i, b := range out {
		if b.Mark == reversedSpot(req) {
			rev := reversal(b).judged(req)
			if b.Verdict == Fail && rev.Verdict != Fail {
				out[i].Verdict = Warn
			}
			out = append(out, rev)
			break
		}
	}
	return out
}

// reversedSpot is the id of a spot in the middle of the table that may be marked from both
// ends with one template and the middle taken, "" where that means nothing: the survey must
// have found the ends square, and the template must not be made for one of them.
func reversedSpot(req Request) string {
	if !req.Table.Squared || req.Want.For == job.ForThis {
		return ""
	}
	return middleSpot(req.Table, req.Marks)
}

// middleSpot is the id of a spot in the middle of the table, "" if there is none.
func middleSpot(table layout.Table, marks []layout.Mark) string {
	for _, m := range marks {
		if m.Kind == layout.Spot && math.Abs(m.X-table.L/2) < middleTol && math.Abs(m.Y) < middleTol {
			return m.ID
		}
	}
	return ""
}

// laid is a template laid with what is known of a job, and the errors that leaves.
type laid struct {
	*laying
	accuracy
	errors []source
	pulled []*laid // the same with each lever pulled
}

func (s *laying) under(acc accuracy) *laid {
	return &laid{laying: s, accuracy: acc, errors: sources(s, acc)}
}

// budgetOf adds up one element at its worst point.
func (l *laid) budgetOf(e Element) Budget { return worstOf(e.mark, l.effectsOf(e)) }

// worstOf is the budget of a mark at that of its points where it is worst.
func worstOf(mark string, points [][]budget.Effect) Budget {
	var worst Budget
	for i, effects := range points {
		if t := budget.Add(effects); i == 0 || t.Worst > worst.Worst {
			worst = Budget{Mark: mark, Method: ByTemplate, Total: t}
		}
	}
	return worst
}

// effectsOf are the effects of errors on an element, point by point.
func (l *laid) effectsOf(e Element) [][]budget.Effect {
	probes := e.probes()
	points := make([][]budget.Effect, len(probes))
	for i, p := range probes {
		effects := append(l.layingEffects(e, p), tapeErrors(e, p, l.accuracy)...)
		if left := l.settings.left(l.tp.End, e, p, l.table.L); left.Len() > leastShare {
			effects = append(effects, budget.Effect{Term: settingTerm, By: left})
		}
		points[i] = append(effects, l.marked(e, p, l.accuracy)...)
	}
	return points
}

// layingEffects are what moves a point of a laid template: contacts, joints, the table's
// shape, and what all pieces share.
func (l *laid) layingEffects(e Element, p geom.Point) []budget.Effect {
	on := l.pieceAt(p)
	const others = 24 // effects behind these, about
	effects := make([]budget.Effect, 0, len(l.errors)+others)
	for _, src := range l.errors {
		by := e.square(p, l.of(src, on, p))
		if src.everySeam != 0 && !e.IsDot() { // kerf: the true edge stands out with the others
			by = by.Add(l.trueSide(e, p).Scale(-l.edge))
		}
		effects = append(effects, budget.Effect{Term: src.group, By: by, Gap: src.gap, Common: src.common})
	}
	for _, turn := range noseTurns(l.tp.End, l.accuracy) {
		effects = append(effects, budget.Effect{Term: shapeTerm, By: e.square(p, l.offCentre(turn, p))})
	}
	return append(effects, commonEffects(l.laying, e, on, p, l.accuracy)...)
}

// probeEvery is how far apart, at most, a line or an arc is looked at, mm: about
// half a piece of the smallest bed; along an arc what counts turns with it.
const (
	probeEvery = 150.0
	probeArc   = 50.0
)

// probes are the points of an element at which its budget is looked at.
func (e Element) probes() []geom.Point {
	if e.IsDot() {
		return []geom.Point{e.A}
	}
	every := probeEvery
	if e.IsArc() {
		every = probeArc
	}
	n := 2 * int(math.Ceil(e.Length()/every/2))
	var out []geom.Point
	for i := 0; i <= n; i++ {
		out = append(out, e.At(e.Length()*float64(i)/float64(n)))
	}
	return out
}

// tapeErrors are what a tape's readings do: the mark belongs at a share of the true
// length and width, and the template was made for the measured ones.
func tapeErrors(e Element, p geom.Point, acc accuracy) []budget.Effect {
	return []budget.Effect{
		{Term: "tape", By: e.square(p, geom.Vec{X: acc.tape * p.X / acc.table.L})},
		{Term: "tape", By: e.square(p, geom.Vec{Y: acc.tape * p.Y / acc.table.W})},
	}
}

// marker is how far from the middle of a spot's hole a marker draws. Its guide is held at
// both faces of the sheet, so that at the lower face it is off by half its play however
// it leans; the lean, play over thickness, carries it a little further down to the cloth.
// An adhesive spot lies flat.
func (acc accuracy) marker() float64 {
	play := math.Max(0, acc.play+2*acc.edge)
	if acc.sticker {
		return play / 2
	}
	return play/2 + acc.lean(play)
}

// lean is how much further off a guide that leans in so much play draws, below the sheet.
func (acc accuracy) lean(play float64) float64 {
	return napPM * math.Min(play/acc.thick, geom.FromDegrees(leanMost).Tan())
}

// trueSide is the unit vector from a line or an arc towards its true edge.
func (s *laying) trueSide(e Element, p geom.Point) geom.Vec {
	if e.IsArc() {
		return e.normal(p)
	}
	return s.tp.trueSide(e)
}

// marked is what the marker does at a point of an element. In a slot its guide's foot is
// held against the true edge, its top leaning away from there if at all, so that only
// that edge and the guide's radius say where it draws, and what leans below the sheet.
// What the kerf does to that edge is among what it does to all (layingEffects).
func (s *laying) marked(e Element, p geom.Point, acc accuracy) []budget.Effect {
	if e.IsDot() {
		return []budget.Effect{{Term: markerTerm, Any: acc.marker()}}
	}
	to := s.trueSide(e, p)
	leans := acc.lean(math.Max(0, acc.slot-acc.guide+2*acc.edge))
	return []budget.Effect{{Term: markerTerm, By: to.Scale(guidePM / 2)}, {Term: markerTerm, By: to.Scale(leans), Gap: true}}
}

// commonEffects are what all pieces share: the machine's scale and squareness, growth
// with heat and with damp between shop and hall, from the datum noses.
func commonEffects(s *laying, e Element, on *Piece, p geom.Point, acc accuracy) []budget.Effect {
	from := e.square(p, geom.Vec(p))
	return append(machineEffects(s, e, on, p, acc),
		budget.Effect{Term: "temperature", By: from.Scale(acc.warm), Common: true},
		budget.Effect{Term: "humidity", By: from.Scale(acc.damp), Common: true})
}

// judged holds a budget against a tolerance. One that the job states is kept or not by
// what is likely; where it states none nothing is refused, and a mark beyond a
// millimetre is warned of.
func (b Budget) judged(req Request) Budget {
	b.Tolerance, b.stated = toleranceOf(b.Of(), req)
	switch {
	case b.Likely <= b.Tolerance:
		b.Verdict = Pass
	case b.stated:
		b.Verdict = Fail
	default:
		b.Verdict = Warn
	}
	return b
}

// toleranceOf is a mark's tolerance, and whether the job states it.
func toleranceOf(id string, req Request) (mm float64, stated bool) {
	ids := []string{id}
	for _, m := range req.Marks {
		if m.ID == id {
			ids = append(ids, m.Also...)
		}
	}
	return req.Want.ToleranceOf(ids...)
}

// reversal is the budget of a spot in the middle of the table that is marked
// from both ends with the same template turned round, the middle taken. What
// belongs to the template (joints, kerf, machine, growth) and to the tape comes
// out equal and opposite and cancels; what happens at each laying is halved and
// drawn twice. The table's shape stays: the two ends may turn the template the same way.
func reversal(b Budget) Budget {
	out := Budget{Mark: b.Mark + byReversal, Method: ByReversal, Improve: b.Improve}
	squares := 0.0
	for _, t := range b.Terms {
		switch t.Name {
		case contactTerm, bowTerm, sideTerm, blocksTerm, finsTerm, markerTerm:
			t.Likely /= math.Sqrt2
		case shapeTerm:
		default:
			continue
		}
		out.Terms = append(out.Terms, t)
		out.Worst += t.Worst
		squares += t.Likely * t.Likely
	}
	out.Likely = math.Sqrt(squares)
	return out
}

// Of is the id of the mark, whatever the method.
func (b Budget) Of() string { return strings.TrimSuffix(b.Mark, byReversal) }

// says is a budget in words.
func (b Budget) says() string {
	return "likely within " + figure.MM(b.Likely) + ", at worst " + figure.MM(b.Worst)
}

// budgetChecks turns budgets into checks, and the least good of them into the headline.
func budgetChecks(bs []Budget, marks []layout.Mark) []Check {
	var out []Check
	var most Budget
	for _, b := range bs {
		c := Check{ID: "budget:" + b.Mark, Verdict: b.Verdict, Value: b.Likely, Limit: b.Tolerance, Unit: "mm",
			Text: plainName(b.Mark, marks) + ": " + b.says()}
		if b.Method == ByReversal {
			c.Text = fmt.Sprintf("%s marked from both ends, the same template turned round, and the middle taken: %s", plainName(b.Of(), marks), b.says())
		} else if b.Likely > most.Likely {
			most = b
		}
		if b.Method == ByGauge {
			c.Text = plainName(b.Mark, marks) + " by thread and gauge: " + b.says()
		}
		if c.Verdict != Pass {
			c.Text += "; " + b.hint()
		}
		out = append(out, c)
	}
	if most.Mark == "" {
		return out
	}
	worst := 0.0
	for _, b := range bs {
		worst = math.Max(worst, b.Worst)
	}
	text := fmt.Sprintf("marks land within %s, at worst %s; least certain is the %s", figure.MM(most.Likely), figure.MM(worst), plainName(most.Mark, marks))
	if most.Verdict == Pass {
		most.stated = false
		text += "; " + most.hint()
	}
	return append(out, Check{ID: "accuracy", Verdict: Pass, Value: most.Likely, Unit: "mm", Text: text})
}

// byReversal ends the name of a budget for a spot marked from both ends.
const byReversal = " by reversal"

// hint is what would better a mark: the levers, or the largest term where no key helps.
func (b Budget) hint() string {
	say := "what would help most: " + b.Improve
	if b.Improve == "" {
		say = "no key would bring it in by a tenth"
	}
	if !b.stated {
		return say
	}
	most := slices.MaxFunc(b.Terms, func(p, q budget.Term) int { return cmp.Compare(p.Likely, q.Likely) })
	return fmt.Sprintf("most of it is %s, %.2f mm; %s, or set jig.tolerance to %.1f mm for it", most.Name, most.Likely, say, math.Ceil(b.Likely*10)/10)
}
