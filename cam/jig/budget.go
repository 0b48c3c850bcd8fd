package jig

import (
	"fmt"
	"math"
	"sort"

	"spotjig/cam/machine"
	"spotjig/layout"
	"spotjig/layout/geom"
)

// The error budget of a mark: what each source of error does to it (laying.go), added
// up. Independent terms add as squares for what is likely, and as they are for the worst
// case; growth and machine scale are common to all pieces and are always added (stack-up:
// F. Scholz, Tolerance stack analysis methods, Boeing, 1995).
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

// accuracy is what is known of a job's measuring, cutting and laying: half-widths, mm.
type accuracy struct {
	table    layout.Table
	contact  float64   // a nose under a fin
	straight float64   // a nose's line at a fin
	seat     []float64 // blocks, by cause
	edge     float64   // a cut edge, by what the kerf is not known
	slip     float64   // a joint along its seam
	marker   float64   // a marker's play in its slot and its slant through the sheet
	growth   float64   // as a fraction
	machine  machine.Profile
}

func accuracyOf(req Request, lim Limits) accuracy {
	return accuracy{table: req.Table, contact: req.Want.NosePM, straight: straightness(req.Table), seat: lim.Seat,
		edge: req.Material.KerfPM / 2, slip: alongSeam(lim.Flank), marker: markerPlay(lim, req.Want.MarkerGuide, req.Material.KerfPM),
		growth: growthError(req.Want, req.Material), machine: req.Machine}
}

// alongSeam is the slip along a seam that a flank's clearance leaves: the clearance is
// measured square to the flank, and along the seam there is a little more of it.
func alongSeam(clear float64) float64 { return clear * math.Hypot(1, 1/TailSlope) }

// sources lists the independent errors of a template with these joints.
func sources(seams []*Seam, acc accuracy) []source {
	contact, straight := acc.contact, acc.straight
	out := []source{
		{group: "nose contact", e1: contact}, {group: "nose contact", e2: contact},
		{group: "nose contact", es: contact / 2}, {group: "nose contact", es: contact / 2},
		{group: "nose straightness", e1: straight}, {group: "nose straightness", e2: straight},
		{group: "nose straightness", es: straight / 2}, {group: "nose straightness", es: straight / 2},
		{group: "side scale", es: scaleReading / 2}, {group: "side scale", es: scaleReading / 2},
		{group: "kerf", e1: 3 * acc.edge, e2: 3 * acc.edge, everySeam: 2 * acc.edge},
	}
	for _, by := range acc.seat {
		out = append(out, source{group: "blocks", e1: by}, source{group: "blocks", e2: by},
			source{group: "blocks", es: by / 2}, source{group: "blocks", es: by / 2})
	}
	for _, j := range seams {
		out = append(out,
			source{group: "joints", joint: j, shift: j.into().Scale(jointClosure)},
			source{group: "joints", joint: j, shift: j.Along().Scale(acc.slip)},
			source{group: "joints", joint: j, turn: acc.slip / j.Length()},
			source{group: "kerf", joint: j, shift: j.Along().Scale(2 * alongSeam(acc.edge))}) // both flanks
	}
	return out
}

// straightness is how far a nose may be off its line at a contact, mm: what the
// survey's string found, else the assumption.
func straightness(table layout.Table) float64 {
	if b := table.NoseBow; b > 0 {
		return b
	}
	return straightPM
}

// budgets works out every mark's budget; the worst point of a line or arc counts.
func budgets(all []*Template, lim Limits, req Request) []Budget {
	var out []Budget
	at := map[string]int{}
	acc := accuracyOf(req, lim)
	for _, tp := range all {
		s := newLaying(tp)
		if s == nil {
			continue
		}
		errors := sources(tp.Seams, acc)
		for _, e := range tp.Elements {
			b := budgetOf(s, errors, e, acc).judged(req.Want.Tolerance)
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
func budgetOf(s *laying, errors []source, e Element, acc accuracy) Budget {
	var worst Budget
	for i, p := range e.probes() {
		on := s.pieceAt(p)
		var effects []effect
		for _, src := range errors {
			effects = append(effects, effect{src.group, e.square(s.of(src, on, p))})
		}
		effects = append(effects, tapeError(e, p, acc.table), effect{"marker", geom.Vec{X: acc.marker}})
		b := sumUp(e.mark, effects, commonTerms(s, e, on, p, acc))
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

// tapeError is what a tape's reading does: the mark belongs at a share of the true
// length and width, and the template was made for the measured ones.
func tapeError(e Element, p geom.Point, table layout.Table) effect {
	return effect{"tape", e.square(geom.Vec{X: table.TapePM * p.X / table.L, Y: table.TapePM * p.Y / table.W})}
}

// markerPlay is the marker's play in its slot and its slant through the sheet.
func markerPlay(lim Limits, guide, kerfPM float64) float64 {
	play := math.Max(0, (lim.Slot-guide+kerfPM)/2)
	return play + (lim.Thickness+thicknessPM)*math.Tan(markerTiltDeg*math.Pi/180)
}

// commonTerms is what all pieces share: the machine's scale and squareness, growth
// with temperature and humidity between shop and hall, from the datum noses.
func commonTerms(s *laying, e Element, on *Piece, p geom.Point, acc accuracy) []Term {
	grow := e.square(geom.Vec(p)).Scale(acc.growth).Len()
	return append(machineTerms(s, e, on, p, acc.machine), Term{Name: "growth", Value: grow, RSS: grow, Common: true})
}

// sumUp adds up a budget.
func sumUp(mark string, own []effect, common []Term) Budget {
	b := Budget{Mark: mark}
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
	return b
}

// worstWith is the length of the rest's worst displacement plus the marker's
// play along it.
func worstWith(total geom.Vec, marker float64) float64 {
	total.X -= marker
	return total.Len() + marker
}

// judged holds a budget against a tolerance and says what would better it most.
func (b Budget) judged(tolerance float64) Budget {
	b.Tolerance = tolerance
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
		b.Improve = improvements[top[0].Name]
	}
	return b
}

// improvements are what a maker can do about a term.
var improvements = map[string]string{
	"marker":             "a thinner marker or a tighter slot, held upright",
	"nose contact":       "touch the noses lightly, a paper strip at each fin (nose_contact)",
	"blocks":             "square the blocks, and set them flush with a straightedge",
	"nose straightness":  "stretch a string along the noses and enter the gaps (survey)",
	"tape":               "measure with a finer tape (survey.resolution)",
	"joints":             "a larger bed, so that there are fewer joints",
	"side scale":         "read the side scales through a glass",
	"kerf":               "measure the kerf with a coupon",
	"growth":             "cut at the hall's temperature, or compensate growth",
	"machine scale":      measureMachine,
	"machine squareness": measureMachine,
}

const measureMachine = "measure the machine's scale and squareness with a coupon"

// reversal is the budget of a spot in the middle of the table that is marked
// from both ends with the same template turned round, the middle taken. What
// belongs to the template (joints, kerf, machine, growth) and to the tape comes
// out equal and opposite and cancels; what happens at each laying is halved and
// drawn twice.
func reversal(b Budget) Budget {
	out := Budget{Mark: b.Mark + " by reversal"}
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
	return out.judged(b.Tolerance)
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
