// Package table proves the template as it lies on the table: openings on their marks
// (as-assembled, as-covered), seams, pins and fins (as-joined), growth (as-grown).
package table

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"

	"spotjig/post/proof"

	"spotjig/cam/jig"
	"spotjig/layout"
	"spotjig/layout/geom"
	"spotjig/post"
)

// markTol is how far an opening may lie off its mark, mm: far more than the record rounds
// (1e-6), and far less than the width of what a pencil draws.
const markTol = 0.001

// coverTol is how much better the design's own figures may be than those computed here: the
// share of a mark that slots reach, where 1 is all of it, and the longest gap, mm.
const coverTol = 0.005

// AsAssembled puts every part where its pose says it goes on the table and
// looks whether each opening lies on its mark (id as-assembled): a hole's centre
// on the spot; a slot's true edge half a guide off the line and between its ends, on the
// side towards the template's nose; an arc slot's centre that of the arc, its outer edge
// half a guide outside, its sweep inside; one scored dash beside each true edge, none
// beside the other. Every spot needs an opening. Of every line and arc it adds
// up the share that slots reach and the longest stretch they leave (id
// as-covered); where the jig's own checks state them, they may not state better.
// They may state worse, because the design takes no slot for one where another piece
// lies over it.
func AsAssembled(set post.Set) []jig.Check {
	a := assembly{byID: map[string]layout.Mark{}, marks: set.Marks, served: map[string]bool{}, reach: map[string][]proof.Stretch{}, guide: set.Job.Jig.MarkerGuide}
	for _, m := range set.Marks {
		for _, id := range append([]string{m.ID}, m.Also...) {
			a.byID[id] = m
		}
	}
	for _, p := range set.Jig.Parts {
		for _, o := range p.Openings {
			if o.Mark != "" {
				a.opening(p, o)
			}
		}
	}
	for _, m := range set.Marks {
		if m.Kind == layout.Spot && !a.served[m.ID] {
			a.errors.Add("no opening marks %s", m.ID)
		}
	}
	return []jig.Check{a.check(), a.coverage(set.Marks, set.Jig.Checks)}
}

type assembly struct {
	byID   map[string]layout.Mark
	marks  []layout.Mark
	served map[string]bool            // by the mark's first id: an opening is for it
	reach  map[string][]proof.Stretch // by the mark's first id, mm along it
	guide  float64                    // the marker's, mm
	n      int
	worst  float64
	errors proof.Faults
}

func (a *assembly) check() jig.Check {
	c := jig.Check{ID: "as-assembled", Verdict: jig.Pass, Value: a.worst, Limit: markTol, Unit: "mm"}
	if len(a.errors) > 0 {
		return proof.Failed(c, strings.Join(a.errors, "; "))
	}
	c.Text = fmt.Sprintf("%d openings on their marks when every piece is where it goes", a.n)
	return c
}

func (a *assembly) opening(p jig.Part, o jig.Opening) {
	a.n++
	m, ok := a.byID[o.Mark]
	if !ok {
		a.errors.Add("%s %s serves mark %q, which there is none of", p.ID, o.ID, o.Mark)
		return
	}
	if p.OnTable.Upright {
		a.errors.Add("%s %s serves a mark and stands upright", p.ID, o.ID)
		return
	}
	a.served[m.ID] = true
	if far, ok := a.byID[o.Far]; ok {
		a.served[far.ID] = true
	}
	off, err := a.hold(p, o, m)
	a.worst = math.Max(a.worst, off)
	switch {
	case err != nil:
		a.errors.Add("%s %s: %v", p.ID, o.ID, err)
	case off > markTol:
		a.errors.Add("%s %s is %.4f mm off %s", p.ID, o.ID, off, m.ID)
	}
}

// hold returns how far the opening is off its mark, mm, and notes which stretch of the mark
// it reaches. The error says why it cannot be an opening for this mark.
func (a *assembly) hold(p jig.Part, o jig.Opening, m layout.Mark) (float64, error) {
	to := proof.OnTable(p)
	switch {
	case o.Kind == jig.OpenSpot && m.Kind == layout.Spot:
		return proof.Dist(to.Point(o.A), geom.Point{X: m.X, Y: m.Y}), nil
	case o.Kind == jig.OpenSpot:
		_, off := proof.NearestOf(proof.ChainOfMark(m), to.Point(o.A))
		return off, nil
	case o.Kind == jig.OpenPair && m.Kind == layout.Spot:
		far, ok := a.byID[o.Far]
		if !ok || far.Kind != layout.Spot || far.ID == m.ID {
			return 0, fmt.Errorf("its other end serves %q, which is no other spot", o.Far)
		}
		return math.Max(proof.Dist(to.Point(o.A), geom.Point{X: m.X, Y: m.Y}), proof.Dist(to.Point(o.B), geom.Point{X: far.X, Y: far.Y})), nil
	case o.Kind == jig.OpenSlot && (m.Kind == layout.Line || m.Kind == layout.Outline):
		return a.slot(p, o, m)
	case o.Kind == jig.OpenArc && m.Kind == layout.Arc:
		return a.arc(p, o, m)
	}
	return 0, fmt.Errorf("a %s cannot mark a %s", o.Kind, m.Kind)
}

// How nearly a line runs along the table, as the sine of its angle: below the first its
// true edge is the right one as seen from the head, from the second on the one towards the
// nose. Between them a table that is no rectangle says which, and either will do.
const (
	alongSure  = 0.01
	acrossSure = 0.03
)

// A dash is this long at most and lies this far from the true edge, mm.
const (
	dashMost = 15.0
	dashNear = 1.0
	dashFar  = 3.0
)

// slot returns how far a slot's true edge is from where it belongs, half a guide off one
// side of the mark, and its ends beyond the mark's.
func (a *assembly) slot(p jig.Part, o jig.Opening, m layout.Mark) (float64, error) {
	onto := proof.OnTable(p)
	from, to := onto.Point(o.A), onto.Point(o.B)
	chain := proof.ChainOfMark(m)
	mid := geom.Point{X: (from.X + to.X) / 2, Y: (from.Y + to.Y) / 2}
	i, _ := proof.NearestOf(chain, mid)
	l := chain[i]
	before := 0.0
	for _, k := range chain[:i] {
		before += k.Length()
	}
	s0, s1 := along(l, from), along(l, to)
	a.reach[m.ID] = append(a.reach[m.ID], proof.Stretch{From: before + math.Min(s0, s1), To: before + math.Max(s0, s1)})
	a.others(m, l, from, to)
	n := l.B.Sub(l.A).Unit().Left()
	var sides []geom.Vec
	if math.Abs(n.X) > alongSure { // towards the nose
		back := -1.0
		if p.Template == jig.Foot {
			back = 1
		}
		sides = append(sides, n.Scale(math.Copysign(1, n.X*back)))
	}
	if math.Abs(n.X) < acrossSure { // towards the right
		sides = append(sides, n.Scale(math.Copysign(1, -n.Y)))
	}
	best, over := math.Inf(1), math.Max(-math.Min(s0, s1), math.Max(s0, s1)-l.Length())
	var dashed error
	for _, s := range sides {
		off := math.Max(0, over)
		for _, q := range [2]geom.Point{from, to} {
			off = math.Max(off, math.Abs(q.Sub(l.A).Dot(s)+o.Width/2-a.guide/2))
		}
		if off < best {
			best = off
			dashed = dashes(p, func(q geom.Point) (float64, bool) {
				at := along(proof.LineOf(from, to), q)
				return q.Sub(from).Dot(s), at > 0 && at < proof.Dist(from, to)
			}, o.Width/2)
		}
	}
	return best, dashed
}

// others notes what a slot between two points along one mark's line reaches of other
// marks that have a side on that line.
func (a *assembly) others(m layout.Mark, l proof.Curve, from, to geom.Point) {
	for _, other := range a.marks {
		if other.ID == m.ID || other.Kind != layout.Line && other.Kind != layout.Outline {
			continue
		}
		before := 0.0
		for _, k := range proof.ChainOfMark(other) {
			off := func(p geom.Point) float64 { return proof.Dist(p, l.A.Add(l.B.Sub(l.A).Unit().Scale(along(l, p)))) }
			s0, s1 := along(k, from), along(k, to)
			lo, hi := math.Max(0, math.Min(s0, s1)), math.Min(k.Length(), math.Max(s0, s1))
			if lo < hi && off(k.A) <= markTol && off(k.B) <= markTol {
				a.reach[other.ID] = append(a.reach[other.ID], proof.Stretch{From: before + lo, To: before + hi})
			}
			before += k.Length()
		}
	}
}

// dashes looks for the one dash beside a slot's true edge, and for none beside the other:
// beside tells how far a point on the table lies off the slot's middle, towards its true
// edge, and whether it lies beside the slot at all.
func dashes(p jig.Part, beside func(geom.Point) (off float64, there bool), half float64) error {
	onto := proof.OnTable(p)
	right, wrong := 0, 0
	for _, s := range p.Scores {
		v := s.Vertices()
		a, b := onto.Point(v[0].At), onto.Point(v[len(v)-1].At)
		if proof.Dist(a, b) > dashMost {
			continue
		}
		off, there := beside(geom.Point{X: (a.X + b.X) / 2, Y: (a.Y + b.Y) / 2})
		if far := math.Abs(off) - half; !there || far < dashNear || far > dashFar {
			continue
		}
		if off > 0 {
			right++
		} else {
			wrong++
		}
	}
	if right != 1 || wrong != 0 {
		return fmt.Errorf("%d dashes beside the true edge and %d beside the other, where one and none tell which is true", right, wrong)
	}
	return nil
}

// along is how far along a line the foot of p lies, mm.
func along(l proof.Curve, p geom.Point) float64 {
	return ((p.X-l.A.X)*(l.B.X-l.A.X) + (p.Y-l.A.Y)*(l.B.Y-l.A.Y)) / l.Length()
}

// arc returns how far an arc slot is off: its centre from the mark's, its outer edge from
// half a guide outside, and its ends beyond the mark's, which a circle has not.
func (a *assembly) arc(p jig.Part, o jig.Opening, m layout.Mark) (float64, error) {
	to := proof.OnTable(p)
	arc := proof.ChainOfMark(m)[0]
	off := math.Max(proof.Dist(to.Point(o.A), arc.C), math.Abs(o.Radius+o.Width/2-m.Radius-a.guide/2))
	from := arc.Progress(float64(o.Start + to.Turn))
	if 2*math.Pi-from < markTol/arc.R { // a rounding before the start
		from -= 2 * math.Pi
	}
	until := from + float64(o.End-o.Start)
	past := 0.0 // a circle's beginning
	if round := 2 * math.Pi; arc.Sweep > round-markTol/arc.R && until > round && from > 0 {
		past, until = until-round, round
		a.reach[m.ID] = append(a.reach[m.ID], proof.Stretch{From: 0, To: past * arc.R})
	}
	over := math.Max(-from, until-arc.Sweep) * arc.R
	a.reach[m.ID] = append(a.reach[m.ID], proof.Stretch{From: from * arc.R, To: until * arc.R})
	return math.Max(off, over), dashes(p, func(q geom.Point) (float64, bool) {
		turn := arc.Progress(math.Atan2(q.Y-arc.C.Y, q.X-arc.C.X))
		return proof.Dist(q, arc.C) - o.Radius, turn >= from && turn <= until || turn < past
	}, o.Width/2)
}

// coverage adds up what slots reach of each mark that they reach, or that the design says
// they do.
func (a *assembly) coverage(marks []layout.Mark, stated []jig.Check) jig.Check {
	c := jig.Check{ID: "as-covered", Verdict: jig.Pass, Limit: coverTol}
	said := map[string]float64{}
	for _, s := range stated {
		said[s.ID] = s.Value
	}
	least, longest, n := 1.0, 0.0, 0
	for _, m := range marks {
		reach := a.reach[m.ID]
		if _, stated := said["cover:"+m.ID]; len(reach) == 0 && !stated {
			continue
		}
		total := 0.0
		for _, k := range proof.ChainOfMark(m) {
			total += k.Length()
		}
		share, gap := measure(reach, total)
		least, longest, n = math.Min(least, share), math.Max(longest, gap), n+1
		for _, f := range []struct {
			id     string
			better float64 // how much better the design says it is
			v      float64
		}{
			{"cover:" + m.ID, said["cover:"+m.ID] - share, share},
			{"gap:" + m.ID, gap - said["gap:"+m.ID], gap},
		} {
			if w, ok := said[f.id]; ok {
				c.Value = math.Max(c.Value, f.better)
				if f.better > coverTol && c.Verdict == jig.Pass {
					c = proof.Failed(c, fmt.Sprintf("%s is %.4f by the parts, the design says %.4f", f.id, f.v, w))
				}
			}
		}
	}
	if c.Verdict == jig.Pass {
		c.Text = fmt.Sprintf("slots reach at least %.0f %% of each of %d lines and arcs; the longest stretch left is %.1f mm", least*100, n, longest)
	}
	return c
}

// measure returns the share of a length that stretches of it cover, and the longest stretch
// that they leave, mm, the two at its ends included.
func measure(reach []proof.Stretch, total float64) (share, gap float64) {
	slices.SortFunc(reach, func(a, b proof.Stretch) int { return cmp.Compare(a.From, b.From) })
	done, sum := 0.0, 0.0
	for _, r := range reach {
		gap = math.Max(gap, r.From-done)
		sum += math.Max(0, r.To-math.Max(r.From, done))
		done = math.Max(done, r.To)
	}
	return sum / total, math.Max(gap, total-done)
}
