package jig

import (
	"fmt"
	"math"
	"sort"

	"spotjig/cam/machine"
	"spotjig/layout"
	"spotjig/layout/geom"
	"spotjig/layout/job"
)

// The error budget of a mark.
//
// A template is a tree of rigid pieces. A joint may be a little open (closure),
// slid along its seam (slip) or turned by its flank play over its own width
// (turn); each moves everything beyond it as seen from the root piece. The
// assembly is then laid on the table: two end fins touch the end nose, and the
// side fins' readings are made equal. That fixes shift and turn of the whole:
//
//	a - phi·v1 = e1 - du1,  a - phi·v2 = e2 - du2,  b + phi·us = es - dvs
//
// with du, dv what the joints do to the contact points and e the contacts' own
// errors. All is linear in the small errors, so each term's effect on a mark is
// found by itself. Independent terms add as squares (RSS), the worst case as
// they are; growth and machine scale are common to all pieces and always added
// (stack-up: F. Scholz, Tolerance stack analysis methods, Boeing, 1995). What the
// machine does is in machine_error.go.
const (
	jointClosure  = 0.05 // mm a seam pulled shut with tape stays open; common practice
	straightPM    = 0.2  // mm a nose is off its line at a fin where no string was stretched; common practice
	scaleReading  = 0.25 // mm: half a tick of the side scales
	machinePPM    = 100  // parts per million, scale of a machine nobody has measured; common practice
	machineSkew   = 100  // µm a metre out of square, likewise
	tempPM        = 2.0  // K to which a stated hall temperature is known
	markerTiltDeg = 5.0
	thicknessPM   = 0.05 // mm a sheet differs from where it was measured; common practice
)

// effect is one error source, as the displacement of a mark, mm.
type effect struct {
	group string
	by    geom.Vec
}

// source is what an error source does: to the contacts directly, or to all
// that lies beyond a joint.
type source struct {
	group     string
	e1, e2    float64 // end fins, along u
	es        float64 // side fins' middle, along v
	joint     *Seam
	shift     geom.Vec
	turn      float64
	everySeam float64 // kerf: every seam's closure at once
	bent      *Piece  // cut out of true by strain
	strain    strain
}

// laying is a template with what the budget needs to know of it.
type laying struct {
	tp     *Template
	path   map[*Piece][]*Seam // joints between the root and the piece
	ends   [2]*Fin
	sides  []*Fin
	errors []source
}

// newLaying walks the joints out from the piece in the middle of the first
// crosspiece and lists the error sources.
func newLaying(tp *Template, lim Limits, req Request) *laying {
	s := &laying{tp: tp, path: map[*Piece][]*Seam{}}
	var ends []*Fin
	for _, f := range tp.Fins {
		if f.Role == EndFin {
			ends = append(ends, f)
		} else {
			s.sides = append(s.sides, f)
		}
	}
	if len(ends) < 2 || len(s.sides) < 2 {
		return nil
	}
	s.ends = [2]*Fin{ends[0], ends[len(ends)-1]}
	root := tp.Pieces[0]
	near := geom.Point{X: s.sides[0].Front.X}
	for _, p := range tp.Pieces {
		if BoxDist(p.Box, near) < BoxDist(root.Box, near) {
			root = p
		}
	}
	s.path[root] = []*Seam{}
	for queue := []*Piece{root}; len(queue) > 0; queue = queue[1:] {
		for _, j := range tp.Seams {
			if o := j.neighbour(queue[0]); o != nil && s.path[o] == nil {
				s.path[o] = append(append([]*Seam(nil), s.path[queue[0]]...), j)
				queue = append(queue, o)
			}
		}
	}
	s.errors = sources(s, lim, req)
	return s
}

// sources lists the independent errors of a template.
func sources(s *laying, lim Limits, req Request) []source {
	contact, straight := req.Want.NosePM, straightness(req.Table)
	kerf := req.Material.KerfPM / 2 // what one edge is off
	out := []source{
		{group: "nose contact", e1: contact}, {group: "nose contact", e2: contact},
		{group: "nose contact", es: contact / 2}, {group: "nose contact", es: contact / 2},
		{group: "nose straightness", e1: straight}, {group: "nose straightness", e2: straight},
		{group: "nose straightness", es: straight / 2}, {group: "nose straightness", es: straight / 2},
		{group: "side scale", es: scaleReading / 2}, {group: "side scale", es: scaleReading / 2},
		{group: "kerf", e1: 3 * kerf, e2: 3 * kerf, everySeam: 2 * kerf},
	}
	for _, by := range lim.Seat {
		out = append(out, source{group: "blocks", e1: by}, source{group: "blocks", e2: by},
			source{group: "blocks", es: by / 2}, source{group: "blocks", es: by / 2})
	}
	// A flank's clearance is square to it; along the seam it is a little more. Both
	// flanks open by what the kerf is wider on each side.
	slip := lim.Flank * math.Hypot(1, 1/TailSlope)
	wider := 2 * kerf * math.Hypot(1, 1/TailSlope)
	for _, j := range s.tp.Seams {
		out = append(out,
			source{group: "joints", joint: j, shift: j.Into().Scale(jointClosure)},
			source{group: "joints", joint: j, shift: j.Along().Scale(slip)},
			source{group: "joints", joint: j, turn: slip / j.Length()},
			source{group: "kerf", joint: j, shift: j.Along().Scale(wider)})
	}
	return out
}

// straightness is how far a nose may be off its line at a contact, mm: what the
// survey's string found, at least a quarter of it, else the assumption.
func straightness(table layout.Table) float64 {
	if b := table.NoseBow; b > 0 {
		return b
	}
	return straightPM
}

// beyond is what the error does to a point of a piece, before the template is laid.
func (s *laying) beyond(e source, on *Piece, p geom.Point) geom.Vec {
	v := s.bend(e, on, p)
	for _, j := range s.path[on] {
		out := j.Into()
		if s.nearRoot(j) == j.B {
			out = out.Scale(-1)
		}
		if e.everySeam != 0 {
			v = v.Add(out.Scale(e.everySeam))
		}
		if j == e.joint {
			v = v.Add(e.shift).Add(p.Sub(j.From.Mid(j.To)).Left().Scale(e.turn))
		}
	}
	return v
}

// nearRoot is the joint's piece that lies nearer to the root.
func (s *laying) nearRoot(j *Seam) *Piece {
	if len(s.path[j.A]) < len(s.path[j.B]) {
		return j.A
	}
	return j.B
}

// at is what the error does to a point of a piece once the template is laid.
func (s *laying) of(e source, on *Piece, p geom.Point) geom.Vec {
	c1, c2 := s.ends[0], s.ends[1]
	r1 := e.e1 - s.beyond(e, c1.On, c1.Front).X
	r2 := e.e2 - s.beyond(e, c2.On, c2.Front).X
	phi := (r1 - r2) / (c2.Front.Y - c1.Front.Y)
	a := r1 + phi*c1.Front.Y
	side := 0.0
	for _, f := range s.sides {
		side += s.beyond(e, f.On, f.Front).Y / float64(len(s.sides))
	}
	b := e.es - side - phi*s.sides[0].Front.X
	return s.beyond(e, on, p).Add(geom.Vec{X: a - phi*p.Y, Y: b + phi*p.X})
}

// budgets works out every mark's budget; the worst point of a line or arc counts.
func budgets(all []*Template, lim Limits, req Request) []Budget {
	var out []Budget
	at := map[string]int{}
	for _, tp := range all {
		s := newLaying(tp, lim, req)
		if s == nil {
			continue
		}
		for _, e := range tp.Elements {
			b := budgetOf(s, e, lim, req)
			i, ok := at[e.mark]
			switch {
			case !ok:
				at[e.mark] = len(out)
				out = append(out, b)
			case b.Worst > out[i].Worst:
				out[i] = b
			}
		}
	}
	for _, b := range out {
		if b.Mark == middleSpot(req.Table, req.Marks) {
			out = append(out, reversal(b))
			break
		}
	}
	return out
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

// budgetOf sums up one element at its worst point.
func budgetOf(s *laying, e Element, lim Limits, req Request) Budget {
	var worst Budget
	for i, p := range e.probes() {
		on := s.pieceAt(p)
		var effects []effect
		for _, src := range s.errors {
			effects = append(effects, effect{src.group, e.square(s.of(src, on, p))})
		}
		effects = append(effects, tapeError(e, p, req.Table), effect{"marker", geom.Vec{X: markerPlay(lim, req.Want, req.Material)}})
		b := sumUp(e.mark, effects, commonTerms(s, e, on, p, req), req.Want.Tolerance)
		if i == 0 || b.Worst > worst.Worst {
			worst = b
		}
	}
	return worst
}

// probeEvery is how far apart, at most, a line or an arc is looked at, mm: about
// half a piece of the smallest bed.
const probeEvery = 150.0

// probes are the points of an element at which its budget is looked at.
func (e Element) probes() []geom.Point {
	if e.Kind == layout.Spot {
		return []geom.Point{e.A}
	}
	n := 2 * int(math.Ceil(e.Length()/probeEvery/2))
	var out []geom.Point
	for i := 0; i <= n; i++ {
		out = append(out, e.Point(e.Length()*float64(i)/float64(n)))
	}
	return out
}

// square keeps, of a displacement, what is square to a line: along it a line
// cannot be wrong.
func (e Element) square(v geom.Vec) geom.Vec {
	if e.Kind != layout.Line {
		return v
	}
	n := e.B.Sub(e.A).Unit().Left()
	return n.Scale(v.Dot(n))
}

// pieceAt is the piece under a point, else the nearest.
func (s *laying) pieceAt(p geom.Point) *Piece {
	best := s.tp.Pieces[0]
	for _, q := range s.tp.Pieces {
		if BoxDist(q.Box, p) < BoxDist(best.Box, p) {
			best = q
		}
	}
	return best
}

// tapeError is what a tape's reading does: the mark belongs at a share of the true
// length and width, and the template was made for the measured ones.
func tapeError(e Element, p geom.Point, table layout.Table) effect {
	return effect{"tape", e.square(geom.Vec{X: table.TapePM * p.X / table.L, Y: table.TapePM * p.Y / table.W})}
}

// markerPlay is the marker's play in its slot and its slant through the sheet.
func markerPlay(lim Limits, want job.Jig, material machine.Material) float64 {
	play := math.Max(0, (lim.Slot-want.MarkerGuide+material.KerfPM)/2)
	return play + (lim.Thickness+thicknessPM)*math.Tan(markerTiltDeg*math.Pi/180)
}

// commonTerms is what all pieces share: the machine's scale and squareness, growth
// with temperature and humidity between shop and hall, from the datum noses.
func commonTerms(s *laying, e Element, on *Piece, p geom.Point, req Request) []Term {
	grow := e.square(geom.Vec(p)).Scale(growthError(req.Want, req.Material)).Len()
	return append(machineTerms(s, e, on, p, req.Machine), Term{Name: "growth", Value: grow, RSS: grow, Common: true})
}

// sumUp adds up a budget and judges it.
func sumUp(mark string, own []effect, common []Term, tolerance float64) Budget {
	b := Budget{Mark: mark, Tolerance: tolerance}
	var order []string
	worst, square := map[string]float64{}, map[string]float64{}
	total, rss := geom.Vec{}, 0.0
	for _, e := range own {
		if _, ok := worst[e.group]; !ok {
			order = append(order, e.group)
		}
		l := e.by.Len()
		worst[e.group] += l
		square[e.group] += l * l
		total = total.Add(geom.Vec{X: math.Abs(e.by.X), Y: math.Abs(e.by.Y)})
		rss += l * l
	}
	for _, g := range order {
		b.Terms = append(b.Terms, Term{Name: g, Value: worst[g], RSS: math.Sqrt(square[g])})
	}
	var most, likely float64
	for _, c := range common {
		b.Terms = append(b.Terms, c)
		most, likely = most+c.Value, likely+c.RSS
	}
	// The marker may lean any way, so its play counts in full whichever way the
	// rest goes; it was entered along u above.
	b.Worst = worstWith(total, worst["marker"]) + most
	b.RSS = math.Sqrt(rss) + likely
	return b.judged()
}

// worstWith is the length of the rest's worst displacement plus the marker's
// play along it.
func worstWith(total geom.Vec, marker float64) float64 {
	total.X -= marker
	return total.Len() + marker
}

func (b Budget) judged() Budget {
	switch {
	case b.Worst <= b.Tolerance:
		b.Verdict = Pass
	case b.RSS <= b.Tolerance:
		b.Verdict = Warn
	default:
		b.Verdict = Fail
	}
	top := append([]Term(nil), b.Terms...)
	sort.SliceStable(top, func(i, j int) bool { return top[i].RSS > top[j].RSS+1e-9 })
	if len(top) > 0 {
		b.Improve = improvement(top[0].Name)
	}
	return b
}

// improvement says what a maker can do about a term.
func improvement(term string) string {
	switch term {
	case "marker":
		return "a thinner marker or a tighter slot, held upright"
	case "nose contact":
		return "touch the noses lightly, a paper strip at each fin (nose_contact)"
	case "blocks":
		return "square the blocks, and set them flush with a straightedge"
	case "nose straightness":
		return "stretch a string along the noses and enter the gaps (survey)"
	case "tape":
		return "measure with a finer tape (survey.resolution)"
	case "joints":
		return "a larger bed, so that there are fewer joints"
	case "side scale":
		return "read the side scales through a glass"
	case "kerf":
		return "measure the kerf with a coupon"
	case "growth":
		return "cut at the hall's temperature, or compensate growth"
	}
	return "measure the machine's scale and squareness with a coupon"
}

// reversal is the budget of a spot in the middle of the table that is marked
// from both ends with the same template turned round, the middle taken. What
// belongs to the template (joints, kerf, machine, growth) and to the tape comes
// out equal and opposite and cancels; what happens at each laying is halved and
// drawn twice.
func reversal(b Budget) Budget {
	out := Budget{Mark: b.Mark + " by reversal", Tolerance: b.Tolerance}
	rss := 0.0
	for _, t := range b.Terms {
		switch t.Name {
		case "nose contact", "nose straightness", "side scale", "blocks", "marker":
			t.RSS /= math.Sqrt2
			out.Terms = append(out.Terms, t)
			out.Worst += t.Value
			rss += t.RSS * t.RSS
		}
	}
	out.Worst = math.Min(out.Worst, b.Worst)
	out.RSS = math.Sqrt(rss)
	return out.judged()
}

// budgetChecks turns budgets into checks. A middle spot that only reversal
// brings inside the tolerance is a warning that says so.
func budgetChecks(bs []Budget, table layout.Table, marks []layout.Mark) []Check {
	var out []Check
	var rev *Budget
	for i := range bs {
		if bs[i].Mark == middleSpot(table, marks)+" by reversal" {
			rev = &bs[i]
		}
	}
	least, margin := -1, math.Inf(1)
	for i, b := range bs {
		c := Check{ID: "budget:" + b.Mark, Verdict: b.Verdict, Value: b.RSS, Limit: b.Tolerance, Unit: "mm",
			Text: fmt.Sprintf("%s: worst case %.2f mm, likely %.2f mm", plainName(b.Mark, marks), b.Worst, b.RSS)}
		if b.Mark == middleSpot(table, marks) && rev != nil && b.Verdict == Fail && rev.Verdict != Fail {
			c.Verdict = Warn
			c.Text += "; mark it from both ends, the same template turned round, and take the middle"
		} else if m := b.Tolerance - b.RSS; m < margin {
			least, margin = i, m
		}
		if c.Verdict == Fail {
			c.Text += fmt.Sprintf("; %s, or set jig.tolerance to %.1f mm", b.Improve, math.Ceil(b.RSS*10)/10)
		}
		out = append(out, c)
	}
	if least >= 0 {
		b := bs[least]
		out = append(out, Check{ID: "least-margin", Verdict: Pass, Value: margin, Unit: "mm",
			Text: fmt.Sprintf("the %s has the least margin; what would help most: %s", plainName(b.Mark, marks), b.Improve)})
	}
	return out
}
