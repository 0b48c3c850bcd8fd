package proof

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"spotjig/cam/jig"
	"spotjig/layout"
	"spotjig/layout/geom"
)

// markTol: an opening lies on its mark to within this, mm: a rounding of the
// record (1e-6) is far below it, and a thousandth is far below what a pencil draws.
const markTol = 0.001

// coverTol: how much better the designer's own figures of coverage may be than
// those computed here: a share of 1, and mm of a gap.
const coverTol = 0.005

// onTable carries a flat part's points to the table.
func onTable(p jig.Part) mover {
	a := p.OnTable.TurnDeg * math.Pi / 180
	s, c := math.Sincos(a)
	return mover{1, c, s, p.OnTable.X, p.OnTable.Y, a}
}

// AsAssembled puts every part where its pose says it goes on the table and
// looks whether each opening lies on its mark (id as-assembled): a hole's centre
// on the spot; a slot's both ends on the line and between its ends; an arc
// slot's centre and radius those of the arc, its sweep inside. Of every line and arc it adds
// up the share that slots reach and the longest stretch they leave (id
// as-covered); where the jig's own checks state them, they may not state better
// (they may state worse: under a lap one piece's slot is another's cover).
func AsAssembled(parts []jig.Part, marks []layout.Mark, stated []jig.Check) []jig.Check {
	a := assembly{byID: map[string]layout.Mark{}, reach: map[string][]stretch{}}
	for _, m := range marks {
		for _, id := range append([]string{m.ID}, m.Also...) {
			a.byID[id] = m
		}
	}
	for _, p := range parts {
		for _, o := range p.Openings {
			if o.Mark != "" {
				a.opening(p, o)
			}
		}
	}
	return []jig.Check{a.check(), a.coverage(marks, stated)}
}

type assembly struct {
	byID   map[string]layout.Mark
	reach  map[string][]stretch // by the mark's first id, mm along it
	n      int
	worst  float64
	errors []string
}

func (a *assembly) fault(form string, v ...any) {
	if len(a.errors) < errorsMax {
		a.errors = append(a.errors, fmt.Sprintf(form, v...))
	}
}

func (a *assembly) check() jig.Check {
	c := jig.Check{ID: "as-assembled", Verdict: jig.Pass, Value: a.worst, Limit: markTol, Unit: "mm"}
	if len(a.errors) > 0 {
		return failed(c, strings.Join(a.errors, "; "))
	}
	c.Text = fmt.Sprintf("%d openings on their marks when every piece is where it goes", a.n)
	return c
}

func (a *assembly) opening(p jig.Part, o jig.Opening) {
	a.n++
	m, ok := a.byID[o.Mark]
	if !ok {
		a.fault("%s %s serves mark %q, which there is none of", p.ID, o.ID, o.Mark)
		return
	}
	if p.OnTable.Upright {
		a.fault("%s %s serves a mark and stands upright", p.ID, o.ID)
		return
	}
	off, err := a.place(onTable(p), o, m)
	a.worst = math.Max(a.worst, off)
	switch {
	case err != nil:
		a.fault("%s %s: %v", p.ID, o.ID, err)
	case off > markTol:
		a.fault("%s %s is %.4f mm off %s", p.ID, o.ID, off, m.ID)
	}
}

// place returns how far the opening is off its mark, and notes its reach.
func (a *assembly) place(to mover, o jig.Opening, m layout.Mark) (float64, error) {
	switch {
	case o.Kind == jig.OpenSpot && m.Kind == layout.Spot:
		return dist(to.point(o.C), geom.Point{X: m.X, Y: m.Y}), nil
	case o.Kind == jig.OpenSpot:
		_, off := nearestOf(chainOfMark(m), to.point(o.C))
		return off, nil
	case o.Kind == jig.OpenSlot && (m.Kind == layout.Line || m.Kind == layout.Outline):
		return a.slot(to.point(o.From), to.point(o.To), m)
	case o.Kind == jig.OpenArc && m.Kind == layout.Arc:
		return a.arc(to, o, m)
	}
	return 0, fmt.Errorf("a %s cannot mark a %s", o.Kind, m.Kind)
}

// chainOfMark is the mark as drawn on the cloth.
func chainOfMark(m layout.Mark) []curve {
	switch m.Kind {
	case layout.Line:
		return []curve{lineOf(geom.Point{X: m.X, Y: m.Y}, geom.Point{X: m.X2, Y: m.Y2})}
	case layout.Arc:
		sweep := m.EndDeg - m.StartDeg
		for sweep <= 0 {
			sweep += 360
		}
		return []curve{arcOf(geom.Point{X: m.X, Y: m.Y}, m.Radius, m.StartDeg*math.Pi/180, sweep*math.Pi/180)}
	}
	var out []curve
	for i, p := range m.Points {
		q := m.Points[(i+1)%len(m.Points)]
		out = append(out, lineOf(geom.Point{X: p[0], Y: p[1]}, geom.Point{X: q[0], Y: q[1]}))
	}
	return out
}

func nearestOf(chain []curve, p geom.Point) (i int, d float64) {
	d = math.Inf(1)
	for k, c := range chain {
		if _, h := c.nearest(p); h < d {
			i, d = k, h
		}
	}
	return i, d
}

// slot: both ends on one side of the mark, not beyond its ends.
func (a *assembly) slot(from, to geom.Point, m layout.Mark) (float64, error) {
	chain := chainOfMark(m)
	mid := geom.Point{X: (from.X + to.X) / 2, Y: (from.Y + to.Y) / 2}
	i, _ := nearestOf(chain, mid)
	l := chain[i]
	_, d0 := l.nearest(from)
	_, d1 := l.nearest(to)
	before := 0.0
	for _, k := range chain[:i] {
		before += k.length()
	}
	s0, s1 := along(l, from), along(l, to)
	a.reach[m.ID] = append(a.reach[m.ID], stretch{before + math.Min(s0, s1), before + math.Max(s0, s1)})
	return math.Max(d0, d1), nil
}

// along is how far along a line the foot of p lies, mm.
func along(l curve, p geom.Point) float64 {
	return ((p.X-l.a.X)*(l.b.X-l.a.X) + (p.Y-l.a.Y)*(l.b.Y-l.a.Y)) / l.length()
}

// arc: centre and radius agree, and the sweep lies inside the mark's.
func (a *assembly) arc(to mover, o jig.Opening, m layout.Mark) (float64, error) {
	arc := chainOfMark(m)[0]
	off := math.Max(dist(to.point(o.C), arc.c), math.Abs(o.R-m.Radius))
	from := arc.progress(o.StartDeg*math.Pi/180 + to.turn)
	if 2*math.Pi-from < markTol/arc.r { // a rounding before the start
		from -= 2 * math.Pi
	}
	until := from + (o.EndDeg-o.StartDeg)*math.Pi/180
	over := math.Max(-from, until-arc.sweep) * arc.r
	a.reach[m.ID] = append(a.reach[m.ID], stretch{from * arc.r, until * arc.r})
	return math.Max(off, over), nil
}

// coverage adds up what slots reach of each mark that they reach at all.
func (a *assembly) coverage(marks []layout.Mark, stated []jig.Check) jig.Check {
	c := jig.Check{ID: "as-covered", Verdict: jig.Pass, Limit: coverTol}
	said := map[string]float64{}
	for _, s := range stated {
		said[s.ID] = s.Value
	}
	least, longest, n := 1.0, 0.0, 0
	for _, m := range marks {
		reach := a.reach[m.ID]
		if len(reach) == 0 {
			continue
		}
		total := 0.0
		for _, k := range chainOfMark(m) {
			total += k.length()
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
					c = failed(c, fmt.Sprintf("%s is %.4f by the parts, the design says %.4f", f.id, f.v, w))
				}
			}
		}
	}
	if c.Verdict == jig.Pass {
		c.Text = fmt.Sprintf("slots reach at least %.0f %% of each of %d lines and arcs; the longest stretch left is %.1f mm", least*100, n, longest)
	}
	return c
}

// measure returns the share covered and the longest gap, ends included.
func measure(reach []stretch, total float64) (share, gap float64) {
	slices.SortFunc(reach, func(a, b stretch) int {
		switch {
		case a.from < b.from:
			return -1
		case a.from > b.from:
			return 1
		}
		return 0
	})
	done, sum := 0.0, 0.0
	for _, r := range reach {
		gap = math.Max(gap, r.from-done)
		sum += math.Max(0, r.to-math.Max(r.from, done))
		done = math.Max(done, r.to)
	}
	return sum / total, math.Max(gap, total-done)
}
