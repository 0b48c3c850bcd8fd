package table

import (
	"fmt"
	"math"
	"strings"

	"spotjig/layout/figure"
	"spotjig/post/proof"

	"spotjig/cam/jig"
	"spotjig/layout/geom"
	"spotjig/post"
)

// Limits of the proof of joints, mm.
const (
	// seamNear is how near to a joint's ends a seam's must be to belong to that joint; a part
	// of which none is that near does not meet the other at all.
	seamNear = 5.0
	// flankMax is how far a tail may stand off its socket, beside it and at its end.
	flankMax = 0.6
	// lipLeast is how high an edge must be to be a lip. In the thinnest sheet that fins are
	// made of, 2 mm, a lip's edge is 1.1 mm high.
	lipLeast = 1.0
)

// AsJoined puts every part where its pose says it goes on the table and looks
// whether the parts fit each other (id as-joined): both halves of a joint meet at
// its ends and along its shoulders, the tail nowhere in the other's material, and
// a key holds them;
// every pin's hole has its like in the piece under it; a fin stands along its
// slot; and an end fin's lip bears on the edge of its piece.
func AsJoined(set post.Set) jig.Check {
	j := joints{on: map[string]proof.Shapes{}, byID: map[string]jig.Part{}}
	for _, p := range set.Jig.Parts {
		j.byID[p.ID] = p
		if !p.OnTable.Upright {
			j.on[p.ID] = flatOnTable(p)
		}
	}
	for _, s := range set.Jig.Joints {
		j.seam(s)
	}
	for _, p := range set.Jig.Parts {
		for _, o := range p.Openings {
			switch o.Kind {
			case jig.OpenSocket:
				j.pin(p, o, set.Jig.Parts)
			case jig.OpenFin:
				j.fin(p, o)
			}
		}
	}
	c := jig.Check{ID: "as-joined", Verdict: jig.Pass, Value: j.worst, Limit: markTol, Unit: "mm"}
	if len(j.faults) > 0 {
		return proof.Failed(c, strings.Join(j.faults, "; "))
	}
	c.Text = fmt.Sprintf("where they are meant to be: %s, %s, %s in their slots", figure.Count(j.seams, "seam"), figure.Count(j.pins, "pin hole"), figure.Count(j.fins, "fin"))
	return c
}

type joints struct {
	on                map[string]proof.Shapes // flat parts on the table, nominal size
	byID              map[string]jig.Part
	worst             float64
	faults            proof.Faults
	seams, pins, fins int
}

// flatOnTable is a part's outline and openings where it goes on the table.
func flatOnTable(p jig.Part) proof.Shapes {
	var s proof.Shapes
	p.Letters, p.Scores = nil, nil
	s.Add(p, proof.OnTable(p))
	return s
}

// off notes how far something is off where it belongs.
func (j *joints) off(d float64, what string, a ...any) {
	j.worst = math.Max(j.worst, d)
	if !(d <= markTol) {
		j.faults.Add("%s is %.4f mm off", fmt.Sprintf(what, a...), d)
	}
}

// outlineOff is how far p is from a part's outline.
func outlineOff(s proof.Shapes, p geom.Point) float64 {
	best := math.Inf(1)
	for _, e := range s.Rings[0].Edges {
		if _, d := s.Edges[e].Nearest(p); d < best {
			best = d
		}
	}
	return best
}

// seam compares the two halves of a joint.
func (j *joints) seam(s jig.Joint) {
	j.seams++
	a, b := j.chain(s, s.Tail), j.chain(s, s.Socket)
	if a == nil || b == nil {
		j.faults.Add("%s and %s do not meet at %s", s.Tail, s.Socket, proof.At(s.From))
		return
	}
	if lapped(a) {
		for _, k := range a {
			j.off(pointsOff(b, k.A), "the lap of %s on %s at %s", s.Tail, s.Socket, proof.At(k.A))
		}
		return
	}
	n := len(a) - 1
	for i, ends := range [2][3]geom.Point{{a[0].A, b[0].A, b[len(b)-1].B}, {a[n].B, b[0].A, b[len(b)-1].B}} {
		j.off(math.Min(proof.Dist(ends[0], ends[1]), proof.Dist(ends[0], ends[2])), "end %d of the seam of %s and %s", i+1, s.Tail, s.Socket)
	}
	for _, k := range [2]proof.Curve{a[0], a[n]} {
		mid := k.At(0.5)
		j.off(outlineOff(j.on[s.Tail], mid), "%s's shoulder at %s", s.Tail, proof.At(mid))
		j.off(outlineOff(j.on[s.Socket], mid), "%s's shoulder at %s", s.Socket, proof.At(mid))
	}
	if s.Part != "" {
		j.keyed(s, a)
		return
	}
	// Corners are rounded in both outlines, so flanks and end are looked at in their middles.
	for _, k := range a[1:n] {
		mid := k.At(0.5)
		j.off(outlineOff(j.on[s.Tail], mid), "%s's tail at %s", s.Tail, proof.At(mid))
		d := outlineOff(j.on[s.Socket], mid)
		if d > flankMax {
			j.faults.Add("%s's tail stands %.3f mm off its socket in %s", s.Tail, d, s.Socket)
		}
		if d > markTol && j.on[s.Socket].Kept(mid) >= 0 {
			j.faults.Add("%s's tail lies %.3f mm in the material of %s", s.Tail, d, s.Socket)
		}
	}
}

// chain is the seam of a part that belongs to a joint, on the table; nil for none.
func (j *joints) chain(s jig.Joint, id string) []proof.Curve {
	p, ok := j.byID[id]
	if !ok || p.OnTable.Upright {
		return nil
	}
	to := proof.OnTable(p)
	var best []proof.Curve
	least := seamNear
	for _, c := range p.Seams {
		var moved []proof.Curve
		for _, k := range proof.ChainOf(c) {
			moved = append(moved, to.Curve(k))
		}
		if len(moved) == 0 {
			continue
		}
		if d := math.Max(pointsOff(moved, s.From), pointsOff(moved, s.To)); d < least || best == nil && lapped(moved) && d < lapNear {
			best, least = moved, d
		}
	}
	return best
}

// lapNear is how far from the ends of its seam a lap may begin, mm.
const lapNear = 30.0

// lapped reports whether a seam is the rectangle of a lap, which has four edges at most; a
// joint's has two shoulders and a tail of three edges or more.
func lapped(chain []proof.Curve) bool { return len(chain) <= 4 }

// pointsOff is how far p is from the nearest end of the curves.
func pointsOff(chain []proof.Curve, p geom.Point) float64 {
	best := math.Inf(1)
	for _, k := range chain {
		best = math.Min(best, math.Min(proof.Dist(k.A, p), proof.Dist(k.B, p)))
	}
	return best
}

// pin looks for the like of a pin's hole in another piece.
func (j *joints) pin(p jig.Part, o jig.Opening, parts []jig.Part) {
	j.pins++
	c := proof.OnTable(p).Point(o.A)
	best := math.Inf(1)
	for _, q := range parts {
		if q.ID == p.ID || q.OnTable.Upright || q.Template != p.Template {
			continue
		}
		to := proof.OnTable(q)
		for _, v := range q.Openings {
			if v.Kind == jig.OpenSocket {
				best = math.Min(best, proof.Dist(c, to.Point(v.A))+math.Abs(o.Width-v.Width)/2)
			}
		}
	}
	j.off(best, "%s %s over its like", p.ID, o.ID)
}

// fin looks whether the fin of a slot stands along it.
func (j *joints) fin(p jig.Part, o jig.Opening) {
	j.fins++
	f, ok := j.byID[o.ID]
	if !ok || !f.OnTable.Upright {
		j.faults.Add("%s has a slot for %q, which is no fin", p.ID, o.ID)
		return
	}
	to := proof.OnTable(p)
	sin, cos := f.OnTable.Turn.SinCos()
	for _, q := range [2]geom.Point{to.Point(o.A), to.Point(o.B)} {
		x, y := q.X-f.OnTable.X, q.Y-f.OnTable.Y
		j.off(math.Abs(x*sin-y*cos), "%s beside its slot in %s", f.ID, p.ID)
	}
	if f.Role == jig.EndFin {
		j.lip(p, f)
	}
}

// lip looks for an upright edge of an end fin that stands on the outline of its piece.
func (j *joints) lip(p, f jig.Part) {
	sin, cos := f.OnTable.Turn.SinCos()
	best := math.Inf(1)
	for _, k := range proof.ChainOf(f.Outline) {
		if k.Arc || k.A.X != k.B.X || k.Length() < lipLeast || k.A.X <= 0 {
			continue
		}
		q := geom.Point{X: f.OnTable.X + k.A.X*cos, Y: f.OnTable.Y + k.A.X*sin}
		best = math.Min(best, outlineOff(j.on[p.ID], q))
	}
	j.off(best, "%s's lip on %s", f.ID, p.ID)
}

// AsGrown holds every part's scale against the sheet's growth (id as-grown):
// what is cut so many times its size where it is cut, and grows by the
// expansion times the change of temperature until it lies in the hall, must be
// its nominal size there; without compensation nothing is scaled.
func AsGrown(set post.Set) jig.Check {
	c := jig.Check{ID: "as-grown", Verdict: jig.Pass, Limit: markTol, Unit: "mm"}
	w := set.Job.Jig
	warm := 0.0
	if w.CompensateGrowth {
		warm = set.Material.Expansion * (w.HallTempC - w.ShopTempC)
	}
	for _, p := range set.Jig.Parts {
		k := proof.MoverOf(p, geom.Placement{}).K
		b := proof.Nothing()
		for _, e := range proof.ChainOf(p.Outline) {
			b = b.Union(e.Box())
		}
		off := math.Abs(k+k*warm-1) * math.Hypot(b.X1-b.X0, b.Y1-b.Y0)
		if !(off <= markTol) && c.Verdict == jig.Pass {
			c = proof.Failed(c, fmt.Sprintf("%s is cut %.6f times its size and is %.3f mm off in the hall", p.ID, k, off))
		}
		c.Value = math.Max(c.Value, off)
	}
	if c.Verdict == jig.Pass {
		c.Text = fmt.Sprintf("every piece has its size at %.0f degrees C, cut at %.0f", w.HallTempC, w.ShopTempC)
		if !w.CompensateGrowth {
			c.Text = "no piece is scaled for growth"
		}
	}
	return c
}
