package table

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"spotjig/cam/jig"
	"spotjig/layout/figure"
	"spotjig/layout/geom"
	"spotjig/post"
	"spotjig/post/proof"
)

// Limits of a gauge, mm but where a share is said.
const (
	// threadTol is how far the thread may pass beside the spot.
	threadTol = 0.05 + markTol
	// sightLeast is how far apart the outer ends of a gauge's scored lines must be: along
	// those it is turned to the thread, and over so much to a tenth of a degree or better.
	sightLeast = 150.0
	// timesTol is how far off it may be how many times as far a spot is from one end as from
	// the other. A reading that is some mm off the plan is then shared out wrongly by no more
	// than a thousandth of that.
	timesTol = 0.001
	// scoreInset is how far short of an edge scored lines end.
	scoreInset = 0.5
	// ledAside is how far a line that is led on may pass beside a spot and be the centre
	// line. The thread covers it at the inner edge alone: from there it runs to the other
	// template, and on a table out of square both templates' lines turn from it, by 5 mm and
	// more a metre.
	ledAside = 10.0
)

// AsGauged puts each gauge and the two pieces that its distances count from where they go on
// the table, and looks (id as-gauged) whether the hole lies midway between the gauge's
// ends, both scored lines of the gauge lead through it, far enough apart; whether each
// piece's own scored line reaches its inner edge and the thread from one to the other
// passes over the spot; and whether the distances told are those between the edges, and
// the readings off in proportion to how far the spot is from both ends.
func AsGauged(set post.Set) jig.Check {
	c := jig.Check{ID: "as-gauged", Verdict: jig.Pass, Limit: markTol, Unit: "mm", Text: "no gauge in this jig"}
	isGauge := func(p jig.Part) bool { return p.Role == jig.GaugePlate }
	for _, p := range set.Jig.Parts {
		if isGauge(p) && !slices.ContainsFunc(set.Jig.Gauges, func(g jig.Gauge) bool { return g.Part == p.ID }) {
			return proof.Failed(c, p.ID+" is a gauge that nobody is told how to use")
		}
	}
	var texts []string
	for _, told := range set.Jig.Gauges {
		worst, err := gauged(set, told)
		c.Value = math.Max(c.Value, worst)
		if err != nil {
			return proof.Failed(c, err.Error())
		}
		texts = append(texts, fmt.Sprintf("%s stands between %s and %s as told: %s and %s away", told.Part, told.Pieces[0], told.Pieces[1], figure.MM(told.Reach[0]), figure.MM(told.Reach[1])))
	}
	if len(texts) > 0 {
		c.Text = strings.Join(texts, "; ")
	}
	return c
}

func gauged(set post.Set, told jig.Gauge) (worst float64, err error) {
	part, ok := set.Part(told.Part)
	if !ok {
		return 0, fmt.Errorf("%q is no part", told.Part)
	}
	i := slices.IndexFunc(part.Openings, func(o jig.Opening) bool { return o.Mark == told.Mark })
	if i < 0 || part.Openings[i].Kind != jig.OpenSpot {
		return 0, fmt.Errorf("%s has no hole for %s", told.Part, told.Mark)
	}
	hole := proof.OnTable(part).Point(part.Openings[i].A)
	note := func(v float64, limit float64, what string, a ...any) {
		worst = math.Max(worst, math.Abs(v))
		if !(math.Abs(v) <= limit) && err == nil {
			err = fmt.Errorf("%s: %.4f mm off", fmt.Sprintf(what, a...), v)
		}
	}
	var edge [2]geom.Point
	for k, id := range told.Pieces {
		piece, ok := set.Part(id)
		if !ok {
			return worst, fmt.Errorf("%q is no part", id)
		}
		line, ok := nearestScore(piece, hole)
		if !ok {
			return worst, fmt.Errorf("%s has no scored line towards the gauge", id)
		}
		edge[k] = line
		note(outlineOff(flatOnTable(piece), line), markTol, "the scored line of %s ends short of its edge", id)
	}
	ends := crossings(flatOnTable(part), hole, edge[1])
	if len(ends) != 2 {
		return worst, fmt.Errorf("%s has %d ends along the thread", told.Part, len(ends))
	}
	note(proof.Dist(ends[0], hole)-proof.Dist(ends[1], hole), markTol, "the hole of %s is not midway between its ends", told.Part)
	half := (proof.Dist(ends[0], hole) + proof.Dist(ends[1], hole)) / 2
	far := set.Table.L - hole.X // from the foot nose
	if told.Far == 0 {
		far = hole.X
	}
	if times := far / (set.Table.L - far); !(math.Abs(times-told.Times) <= timesTol) && err == nil {
		err = fmt.Errorf("%s: the spot is %.4f times as far from one end as from the other, told is %g", told.Part, times, told.Times)
	}
	for k := range told.Pieces {
		note(proof.Dist(edge[k], hole)-half-told.Reach[k], markTol, "the distance told from %s", told.Pieces[k])
	}
	thread := proof.LineOf(edge[0], edge[1])
	_, beside := thread.Nearest(hole)
	if beside > threadTol {
		return worst, fmt.Errorf("the thread passes %.4f mm beside the hole", beside)
	}
	if far := sighted(part, hole); far < sightLeast && err == nil {
		err = fmt.Errorf("the scored lines of %s sight the thread over %.1f mm, %.0f are needed", told.Part, far, sightLeast)
	}
	return worst, err
}

// nearestScore is where a part's scored line, led on to the edge that it stops short of,
// comes nearest to a point that it leads to. A tick beside the centre line, which leads
// there as well, ends further from it than a centre line does that reaches the edge.
func nearestScore(p jig.Part, to geom.Point) (geom.Point, bool) {
	on := proof.OnTable(p)
	best, found := geom.Point{}, false
	for _, s := range p.Scores {
		v := s.Vertices()
		a, b := on.Point(v[0].At), on.Point(v[len(v)-1].At)
		if proof.Dist(a, to) < proof.Dist(b, to) {
			a, b = b, a
		}
		u := b.Sub(a).Unit()
		if math.Abs(to.Sub(a).Cross(u)) > ledAside {
			continue // a tick across, or a line that leads elsewhere
		}
		b = b.Add(u.Scale(scoreInset))
		if !found || proof.Dist(b, to) < proof.Dist(best, to) {
			best, found = b, true
		}
	}
	return best, found
}

// crossings are where a line through a point, towards another, crosses a part's outline.
func crossings(s proof.Shapes, through, towards geom.Point) []geom.Point {
	u := towards.Sub(through).Unit()
	n := u.Left()
	var out []geom.Point
	for _, e := range s.Rings[0].Edges {
		k := s.Edges[e]
		a, b := k.A.Sub(through).Dot(n), k.B.Sub(through).Dot(n)
		if !k.Arc && a*b < 0 {
			out = append(out, k.At(a/(a-b)))
		}
	}
	return out
}

// sighted is how far apart the outer ends of the scored lines are that lead through the
// hole.
func sighted(p jig.Part, hole geom.Point) float64 {
	on := proof.OnTable(p)
	var ends []geom.Point
	for _, s := range p.Scores {
		v := s.Vertices()
		a, b := on.Point(v[0].At), on.Point(v[len(v)-1].At)
		if proof.Dist(a, b) < 10 {
			continue
		}
		u := b.Sub(a).Unit()
		if math.Abs(hole.Sub(a).Cross(u)) > markTol {
			continue
		}
		ends = append(ends, a, b)
	}
	far := 0.0
	for _, a := range ends {
		for _, b := range ends {
			far = math.Max(far, proof.Dist(a, b))
		}
	}
	return far
}
