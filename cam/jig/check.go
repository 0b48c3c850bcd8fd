package jig

import (
	"fmt"
	"math"
	"slices"
	"sort"
	"strings"

	"spotjig/cam/machine"
	"spotjig/layout"
	"spotjig/layout/figure"
	"spotjig/layout/geom"
)

// Looked is what is looked at on every finished jig, by subject; a kind says where
// its own checks stand among them.
type Looked struct {
	Valid    []Check // every part against the limits
	Marks    []Check // how much of each line slots reach; spots; keys; lettering
	Cushions []Check
	Handling []Check
	Budget   []Check
	Class    []Check // the range of length that the jig serves
	Serves   []Check // the job's other tables
}

// look makes the checks that hold for plate and film alike.
func look(all []*Template, gauged []*middlePlan, out Jig, lim Limits, req Request, serves [2]float64) Looked {
	open := slices.Clone(all)
	for _, m := range gauged {
		open = append(open, m.tp)
	}
	marks := append(append(coverage(all, lim, req.Marks), spotsCut(open)...), keyCheck(all), letterCheck(open))
	for i, m := range gauged {
		marks = append(marks, m.check(out.Gauges[i], req.Marks))
	}
	return Looked{
		Valid:    lim.validate(out.Parts),
		Marks:    marks,
		Cushions: cushionChecks(lim, req),
		Handling: handlingChecks(all, out.Parts, sheet{lim.Thickness, req.Material.Density, req.Material.Modulus, req.Machine.Process == machine.Knife}),
		Budget:   append(skewChecks(all, lim, req), budgetChecks(out.Budgets, req.Marks)...),
		Class:    append([]Check{classCheck(all, serves, req)}, tradeCheck(all, req)...),
		Serves:   servesChecks(lim, req.Table, req.Also, serves),
	}
}

// coverage reports, for every line and arc, the share of it that slots reach and
// the longest stretch that has to be closed with a straightedge.
func coverage(all []*Template, lim Limits, marks []layout.Mark) []Check {
	var cs []Check
	for _, m := range marks {
		if m.Kind == layout.Spot {
			continue
		}
		total, elements := 0.0, elementsOf(m)
		for _, e := range elements {
			total += e.Length()
		}
		var done []Span
		for _, tp := range all {
			for _, c := range tp.Covered {
				for _, s := range c.Done {
					if c.Of.mark != m.ID {
						done = append(done, alsoReached(elements, c.Of.Part(s.Lo, s.Hi).Transform(tp.ToTable))...)
						continue
					}
					lo, hi := c.Of.from+s.Lo, c.Of.from+s.Hi
					done = append(done, Span{lo, math.Min(hi, total)}, Span{lo - total, hi - total}) // past a circle's beginning
				}
			}
		}
		share, gap := measure(done, total)
		cs = append(cs,
			Check{ID: "cover:" + m.ID, Verdict: WarnUnless(share >= coverLeast), Value: share, Limit: coverLeast,
				Text: fmt.Sprintf("slots reach %.0f %% of the %s", share*100, plainName(m.ID, marks))},
			Check{ID: "gap:" + m.ID, Verdict: WarnUnless(gap <= lim.bridgeMax+0.005), Value: gap, Limit: lim.bridgeMax, Unit: "mm",
				Text: fmt.Sprintf("longest gap to close in the %s", plainName(m.ID, marks))})
	}
	return cs
}

// sameLine: two lines whose ends lie this near to one line are drawn through one slot, mm.
// Half of what the proof of coverage allows.
const sameLine = 0.0005

// alsoReached is what a stretch of another mark's line, table frame, reaches of the lines
// among a mark's elements that lie on it: a slot is not cut twice.
func alsoReached(elements []Element, slot geom.Figure) (out []Span) {
	for _, e := range elements {
		if !e.IsLine() || !slot.IsLine() {
			continue
		}
		u := e.B.Sub(e.A).Unit()
		from, to := slot.A.Sub(e.A), slot.B.Sub(e.A)
		if math.Abs(u.Cross(from)) > sameLine || math.Abs(u.Cross(to)) > sameLine {
			continue
		}
		lo, hi := math.Min(u.Dot(from), u.Dot(to)), math.Max(u.Dot(from), u.Dot(to))
		if lo, hi = math.Max(lo, 0), math.Min(hi, e.Length()); lo < hi {
			out = append(out, Span{e.from + lo, e.from + hi})
		}
	}
	return out
}

// measure returns the share of a length that the stretches cover, and the longest
// gap between them and at the ends.
func measure(done []Span, total float64) (share, gap float64) {
	sort.Slice(done, func(i, j int) bool { return done[i].Lo < done[j].Lo })
	at, sum := 0.0, 0.0
	for _, s := range done {
		if s.Hi <= 0 || s.Lo >= total {
			continue
		}
		gap = math.Max(gap, s.Lo-at)
		sum += math.Max(0, s.Hi-math.Max(s.Lo, at))
		at = math.Max(at, s.Hi)
	}
	if total == 0 {
		return 0, 0
	}
	return sum / total, math.Max(gap, total-at)
}

func plainName(id string, marks []layout.Mark) string {
	for _, m := range marks {
		if m.ID == id && m.Name != "" {
			return m.Name
		}
	}
	return id
}

// WarnUnless is a pass, else a warning.
func WarnUnless(ok bool) Verdict {
	if ok {
		return Pass
	}
	return Warn
}

// FailUnless is a pass, else a failure.
func FailUnless(ok bool) Verdict {
	if ok {
		return Pass
	}
	return Fail
}

// spotsCut fails when a spot lies under no piece, and warns of two in one opening.
func spotsCut(all []*Template) []Check {
	want, have := 0, 0
	var missing, pairs []string
	for _, tp := range all {
		for _, p := range tp.Pieces {
			for _, o := range p.Openings {
				if o.Kind == OpenPair {
					pairs = append(pairs, fmt.Sprintf("%s and %s, %s apart, are the two ends of one slot in %s", o.Mark, o.Far, figure.MM(o.Length()), p.ID))
				}
			}
		}
		for _, e := range tp.Elements {
			if !e.IsDot() {
				continue
			}
			want++
			n := 0
			for _, c := range tp.Covered {
				if c.Of == e {
					n++
				}
			}
			if n == 1 {
				have++
			} else {
				missing = append(missing, e.mark)
			}
		}
	}
	text := fmt.Sprintf("%d of %s with a hole", have, figure.Count(want, "spot"))
	if len(missing) > 0 {
		text += ": none for " + strings.Join(missing, ", ")
	}
	if len(pairs) > 0 {
		text += ": " + strings.Join(pairs, "; ") + ": hold the tool in the end"
	}
	v := WarnUnless(len(pairs) == 0)
	if have != want {
		v = Fail
	}
	return []Check{{ID: "spots", Verdict: v, Value: float64(have), Limit: float64(want), Text: text}}
}

// keyCheck warns of joints that only their lettering tells apart.
func keyCheck(all []*Template) Check {
	var same []string
	n := 0
	for _, tp := range all {
		for _, j := range tp.Seams {
			n++
			if j.LettersOnly {
				same = append(same, j.A.ID+"-"+j.B.ID)
			}
		}
	}
	text := figure.Count(n, "joint") + " in all, each goes together one way only"
	if len(same) > 0 {
		text = fmt.Sprintf("%d of %s told apart by lettering alone: %s", len(same), figure.Count(n, "joint"), strings.Join(same, ", "))
	}
	return Check{ID: "keys", Verdict: WarnUnless(len(same) == 0), Value: float64(len(same)), Text: text}
}

// letterCheck warns of texts that found no room; a piece without its name fails.
func letterCheck(all []*Template) Check {
	var left []string
	v := Pass
	for _, tp := range all {
		for _, p := range tp.Pieces {
			for _, t := range p.unlettered {
				left = append(left, p.ID+": "+strings.Split(t, "\n")[0])
				if v == Pass {
					v = Warn
				}
				if t == p.ID {
					v = Fail
				}
			}
		}
	}
	text := "every piece carries what it is to be lettered with"
	if len(left) > 0 {
		text = "no room for: " + strings.Join(left, "; ")
	}
	return Check{ID: "lettering", Verdict: v, Value: float64(len(left)), Text: text}
}

// Distances a contact keeps, mm: where there is room, and never less. The
// lesser ones clear every published cut jaw (WPA, BCA and DBU pocket figures).
const (
	CornerWant, CornerLeast = 200.0, 100.0
	MiddleWant, MiddleLeast = 150.0, 75.0
)

// PlugWall is the least material round the marker's hole of a plug, mm: common practice
// for a disc that nothing pulls at.
const PlugWall = 3.0

// validTol: computed distances may fall short of a limit by this, mm: the
// rounding of sizes to 0.001 mm.
const validTol = 0.0025

// tieTol: a distance is the least only when it is less by more than this, mm, so that every
// processor names the same place.
const tieTol = 1e-6

// validate holds every part against the limits that hold everywhere:
//
//  1. every opening lies inside its part and keeps a web to its edge, a plug's PlugWall;
//  2. two openings keep a web between them;
//  3. no inside corner of an outline is tighter than max(2 mm, t/2);
//  4. no joint, tails included, comes nearer than 20 mm to a spot hole's edge;
//  5. every piece fits stock and travel with margin, kerf and lead-ins;
//  6. lettering and scores lie inside the part and cross no opening.
func (lim Limits) validate(parts []Part) []Check {
	web, tight, size := math.Inf(1), math.Inf(1), math.Inf(1)
	var webAt, tightAt, sizeAt, strayAt string
	stray := 0
	for _, p := range parts {
		if w, at := lim.leastWeb(p); w < web-tieTol && (p.Role != Plug || w < PlugWall) {
			web, webAt = w, at
		}
		if rad := leastInside(p.Outline); rad < tight-tieTol {
			tight, tightAt = rad, p.ID
		}
		b := p.Outline.Bounds()
		room := math.Max(math.Min(lim.BedW-b.Width(), lim.BedH-b.Height()), math.Min(lim.BedW-b.Height(), lim.BedH-b.Width()))
		if room < size-tieTol {
			size, sizeAt = room, p.ID
		}
		if n := strays(p); n > 0 {
			stray += n
			strayAt += " " + p.ID
		}
	}
	joint, jointAt := leastJoint(parts)
	if math.IsInf(joint, 1) {
		joint, jointAt = lim.JointClear, "none: no piece has both"
	}
	if math.IsInf(web, 1) {
		web, webAt = lim.Web, "none: no piece has an opening"
	}
	if math.IsInf(tight, 1) {
		tight, tightAt = lim.InnerRadius, "none: no piece has one"
	}
	return []Check{
		{ID: "web", Verdict: FailUnless(web >= lim.Web-validTol), Value: web, Limit: lim.Web, Unit: "mm", Text: "least material beside an opening, at " + webAt},
		{ID: "inside-corner", Verdict: FailUnless(tight >= lim.InnerRadius-validTol), Value: tight, Limit: lim.InnerRadius, Unit: "mm", Text: "tightest inside corner of an outline, on " + tightAt},
		{ID: "joint-to-spot", Verdict: FailUnless(joint >= lim.JointClear-validTol), Value: joint, Limit: lim.JointClear, Unit: "mm", Text: "least distance from a joint to a spot hole, " + jointAt},
		{ID: "fits-bed", Verdict: FailUnless(size >= -validTol), Value: size, Unit: "mm", Text: "room left on the bed by the tightest piece, " + sizeAt},
		{ID: "strokes", Verdict: FailUnless(stray == 0), Value: float64(stray), Text: strings.TrimSpace("lettering and scores that leave their piece or cross an opening" + strayAt)},
	}
}

// leastWeb is the least distance between two openings of a part, or an opening
// and the part's edge. Openings outside the part count as zero.
func (lim Limits) leastWeb(p Part) (float64, string) {
	best, at := math.Inf(1), ""
	var cs []geom.Contour
	for _, o := range p.Openings {
		cs = append(cs, o.Contour())
	}
	for i, c := range cs {
		w := c.Distance(p.Outline)
		if !p.Outline.Contains(c.Start()) {
			w = 0
		}
		if w < best-tieTol {
			best, at = w, p.ID+" "+p.Openings[i].ID
		}
		for k := i + 1; k < len(cs); k++ {
			if c.Bounds().Grow(lim.Web * 2).Overlaps(cs[k].Bounds()) {
				if w := c.Distance(cs[k]); w < best-tieTol {
					best, at = w, p.ID+" "+p.Openings[i].ID+" and "+p.Openings[k].ID
				}
			}
		}
	}
	return best, at
}

// leastInside is the radius of the tightest inside corner of an outline, 0 for a sharp one.
func leastInside(c geom.Contour) float64 {
	best := math.Inf(1)
	n := c.Len()
	for i := 0; i < n; i++ {
		s := c.Segment(i)
		if s.Bulge < 0 {
			best = math.Min(best, s.Radius())
		}
		if turn := s.Tangent(1).Cross(c.Segment((i + 1) % n).Tangent(0)); turn < -1e-6 {
			best = 0
		}
	}
	return best
}

// strays counts strokes that leave the part or come within half a millimetre of
// an opening.
func strays(p Part) int {
	n := 0
	var holes []geom.Contour
	var boxes []geom.Box
	for _, o := range p.Openings {
		c := o.Contour()
		holes = append(holes, c)
		boxes = append(boxes, c.Bounds().Grow(1))
	}
	for _, group := range [][]geom.Contour{p.Scores, p.Letters} {
		for _, s := range group {
			if strayed(p.Outline, s, holes, boxes) {
				n++
			}
		}
	}
	return n
}

func strayed(outline, s geom.Contour, holes []geom.Contour, boxes []geom.Box) bool {
	if !outline.Contains(s.Start()) || !outline.Contains(s.End()) {
		return true
	}
	b := s.Bounds().Grow(0.001)
	for i, c := range holes {
		if boxes[i].Overlaps(b) && (c.Contains(s.Start()) || c.Distance(s) < 0.5) {
			return true
		}
	}
	return false
}

// leastJoint is the least distance from a spot hole's edge to a tail, a socket
// or a seam of its part.
func leastJoint(parts []Part) (float64, string) {
	best, at := math.Inf(1), ""
	for _, p := range parts {
		for _, o := range p.Openings {
			if o.Kind != OpenSpot && o.Kind != OpenPair {
				continue
			}
			for _, e := range p.Seams {
				for i := 0; i < e.Len(); i++ {
					for _, spot := range []geom.Point{o.A, o.B} {
						if _, w := e.Segment(i).Nearest(spot); w-o.Width/2 < best-tieTol {
							best, at = w-o.Width/2, p.ID+" "+o.ID
						}
					}
				}
			}
		}
	}
	return best, at
}
