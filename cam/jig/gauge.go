package jig

import (
	"fmt"
	"math"
	"slices"

	"spotjig/cam/jig/budget"
	"spotjig/layout"
	"spotjig/layout/figure"
	"spotjig/layout/geom"
)

// A spot in the middle of the table, by thread and gauge.
//
// The middle is as far from both ends as a mark can be: held out by pieces from one
// template it has every joint and the whole turn of the laying in it. Between two laid
// templates it is found without them: a thread over both scored centre lines gives the
// line, and a small plate under the thread, its hole midway between its ends, is slid
// until a tape from each template's inner edge reads as planned, or off by the same at
// both. What both ends do alike then cancels, a length that is not the planned one too,
// and what each does by itself counts by half.
//
// The spot halfway from there to an end nose (pink, pyramid spot) is as far from its own
// end as a template of the smallest bed reaches. It is set in the same way; where the table
// is not as long as planned, three quarters of that lie on the spot's far side and one on its
// near side, so that its two readings are off by three to one. Midway between the spot in
// the middle and the nose is the same place, but the tape would find no edge at that spot,
// and what put that off would come in by half.
const (
	gaugeLong  = 220.0 // mm: ends far enough apart to sight the thread by, short enough for any offcut
	gaugeWide  = 64.0
	gaugeRoom  = 60.0 // mm between the gauge and a template, for the tape and for fingers
	gaugeAside = 0.05 // mm that the planned thread may pass beside the spot

	readShare = 0.5 // of the survey's resolution: a tape read by itself, both times the same tape
)

// Gauge says how a spot in the middle of the table is set between the templates.
type Gauge struct {
	Part, Mark string
	Pieces     [2]string  // at the head and at the foot: those over whose inner edges the thread runs
	Reach      [2]float64 // mm from that edge to the gauge's near end
	Far        int        // the end, 0 or 1, whose reading may be off by Times what the other's is
	Times      float64    // 1 in the middle of the table, 3 midway from there to an end
}

// middlePlan is what the gauge is designed from.
type middlePlan struct {
	mark  layout.Mark
	tp    *Template // the gauge as a template of one piece, its line along the table
	inner [2]*Piece // of head and foot
	far   int       // the end from which it is times as far as from the other
	times float64
	lands Budget // the spot's, without advice
}

// withoutSpots is the request without the marks that gauges set.
func withoutSpots(req Request, ids ...string) Request {
	req.Marks = slices.DeleteFunc(slices.Clone(req.Marks), func(m layout.Mark) bool { return slices.Contains(ids, m.ID) })
	return req
}

// quarterSpots are the ids of the spots on the centre line midway between the middle of
// the table and an end nose, by end, "" where there is none.
func quarterSpots(table layout.Table, marks []layout.Mark) (ids [2]string) {
	for _, m := range marks {
		if m.Kind != layout.Spot || math.Abs(m.Y) > gaugeAside {
			continue
		}
		for i, x := range []float64{table.L / 4, 3 * table.L / 4} {
			if math.Abs(m.X-x) < gaugeAside && ids[i] == "" {
				ids[i] = m.ID
			}
		}
	}
	return ids
}

// planGauge plans the gauge between two templates that leave the middle free; nil where
// there is no room for it, or nothing to measure from.
func planGauge(all []*Template, id string, req Request) *middlePlan {
	if len(all) != 2 {
		return nil
	}
	m := middlePlan{mark: markOf(req.Marks, id), times: 1}
	at := geom.Point{X: Round3(m.mark.X), Y: Round3(m.mark.Y)}
	var edge [2]geom.Point
	for i, tp := range all {
		if m.inner[i] = innermost(tp); m.inner[i] == nil {
			return nil
		}
		edge[i] = m.edge(tp, i)
		if at.Dist(edge[i]) < gaugeLong/2+gaugeRoom {
			return nil
		}
	}
	return m.laid(at, edge, req)
}

// planQuarter plans a gauge for the spot midway between the middle, which another sets, and
// an end, likewise.
func planQuarter(all []*Template, id string, end int, middle *middlePlan, req Request) *middlePlan {
	m := middlePlan{mark: markOf(req.Marks, id), inner: middle.inner, far: 1 - end, times: 3}
	at := geom.Point{X: Round3(m.mark.X), Y: Round3(m.mark.Y)}
	edge := [2]geom.Point{middle.edge(all[0], 0), middle.edge(all[1], 1)}
	if at.Dist(edge[end]) < gaugeLong/2+gaugeRoom || (at.X-edge[end].X)*(at.X-middle.mark.X) > 0 {
		return nil
	}
	return m.laid(at, edge, req)
}

// markOf is the mark of that id.
func markOf(marks []layout.Mark, id string) layout.Mark {
	return marks[slices.IndexFunc(marks, func(m layout.Mark) bool { return m.ID == id })]
}

// laid adds the plate itself, under a thread between two inner edges; nil where the
// thread passes beside the spot.
func (m middlePlan) laid(at geom.Point, edge [2]geom.Point, req Request) *middlePlan {
	// A jig that follows a table out of square has its two centre lines apart there.
	if _, off := (geom.Segment{From: edge[0], To: edge[1]}).Nearest(at); off > gaugeAside {
		return nil
	}
	name, letter := req.named("G1"), req.named("G")
	if m.times > 1 {
		name, letter = req.named("G2"), req.named("G2") // its plug is another than the first's
	}
	half := geom.Vec{X: gaugeLong / 2, Y: gaugeWide / 2}
	middle := geom.Point{X: at.X}
	box := geom.Box{Min: middle.Add(half.Scale(-1)), Max: middle.Add(half)}
	m.tp = &Template{End: Foot, Letter: letter, split: req.Table.L,
		// Its line leads through the spot, which the middle of a table out of square puts off
		// y = 0, and the spot is its middle, although sizes are drawn to 0.001 mm.
		ToTable: geom.Placement{X: m.mark.X - at.X, Y: m.mark.Y},
		members: []member{{GaugePlate, box}},
		Pieces:  []*Piece{{ID: name, Role: GaugePlate, Box: box}}}
	back := m.tp.ToTable.Inverse()
	for _, e := range elementsOf(m.mark) {
		m.tp.Elements = append(m.tp.Elements, e.moved(back))
	}
	return &m
}

// edge is where the thread leaves the i-th template, table frame.
func (m *middlePlan) edge(tp *Template, i int) geom.Point {
	return tp.ToTable.Apply(geom.Point{X: m.inner[i].Box.Max.X})
}

// innermost is the piece across the centre line whose inner edge lies furthest from the
// nose; nil when another piece lies beyond it there.
func innermost(tp *Template) *Piece {
	var best *Piece
	for _, p := range tp.Pieces {
		if p.Box.Min.Y < -gaugeWide/2 && p.Box.Max.Y > gaugeWide/2 && (best == nil || p.Box.Max.X > best.Box.Max.X) {
			best = p
		}
	}
	for _, p := range tp.Pieces {
		if best != nil && p.Box.Max.X > best.Box.Max.X && p.Box.Min.Y < gaugeWide/2 && p.Box.Max.Y > -gaugeWide/2 {
			return nil
		}
	}
	return best
}

// gauge is what the maker and the fitter need to know of it.
func (m *middlePlan) gauge(all []*Template) Gauge {
	g := Gauge{Part: m.tp.Pieces[0].ID, Mark: m.mark.ID, Far: m.far, Times: m.times}
	for i, tp := range all {
		g.Pieces[i] = m.inner[i].ID
		g.Reach[i] = m.edge(tp, i).Dist(geom.Point{X: m.mark.X, Y: m.mark.Y}) - gaugeLong/2
	}
	return g
}

// budget adds up what moves the spot. Each template's inner edge, where the thread
// passes it, is moved as any mark there would be; the gauge stands midway between the
// two along the table, or a quarter of the way, and across it on the line through both.
func (m *middlePlan) budget(all []*Template, acc accuracy) Budget {
	var effects []budget.Effect
	var common [2][]budget.Effect
	var sides [rightNose + 1]budget.Effect // both templates touch the same two side noses
	at := [2]geom.Point{m.edge(all[0], 0), m.edge(all[1], 1)}
	for i, tp := range all {
		s := newLaying(tp)
		if s == nil {
			return Budget{}
		}
		p := geom.Point{X: m.inner[i].Box.Max.X}
		share := (m.mark.X - at[1-i].X) / (at[i].X - at[1-i].X) // of this end, across
		half := func(v geom.Vec) geom.Vec {
			v = tp.ToTable.Rotate(v)
			return geom.Vec{X: v.X * m.share(i), Y: v.Y * share}
		}
		l := s.under(acc)
		for k := range l.errors {
			l.errors[k].long = 0 // the edge stands where it does, whatever length was read
		}
		for n, e := range l.layingEffects(Element{Figure: geom.Dot(p)}, p) {
			e.By = half(e.By)
			for k, v := range e.Pieces {
				e.Pieces[k] = half(v)
			}
			if n < len(l.errors) && l.errors[n].nose != noNose {
				both := &sides[l.errors[n].nose]
				both.Term, both.By = e.Term, both.By.Add(e.By)
				continue
			}
			if e.Common {
				common[i] = append(common[i], e)
				continue
			}
			effects = append(effects, e)
		}
	}
	for k, e := range common[0] { // the same in every piece: both templates at once
		o := common[1][k]
		e.By, e.Pieces = e.By.Add(o.By), append(e.Pieces, o.Pieces...)
		effects = append(effects, e)
	}
	effects = append(effects, sides[leftNose:]...)
	effects = append(effects, m.readings(acc)...)
	effects = append(effects,
		budget.Effect{Term: "thread", By: geom.Vec{Y: acc.sight}}, budget.Effect{Term: "thread", By: geom.Vec{Y: acc.sight}},
		budget.Effect{Term: markerTerm, Any: acc.marker()})
	return Budget{Mark: m.mark.ID, Method: ByGauge, Total: budget.Add(effects)}
}

// share is how much of what moves an end's inner edge along the table moves the spot.
func (m *middlePlan) share(end int) float64 {
	if end == m.far {
		return 1 / (1 + m.times)
	}
	return m.times / (1 + m.times)
}

// readings are what two readings of a tape do, both with the same tape, each by as much as
// the edge from which it counts. The edge of film or card has nothing to hook on: a line of
// the tape is held over it, line on line, which is sighted as a thread is.
func (m *middlePlan) readings(acc accuracy) []budget.Effect {
	var out []budget.Effect
	for end := range 2 {
		by := func(each float64) {
			out = append(out, budget.Effect{Term: "tape", By: geom.Vec{X: each * m.share(end)}})
		}
		by(acc.tape * readShare)
		if acc.lined {
			by(acc.sight)
		}
	}
	return out
}

// check says how the spot is set, with the room that the gauge has.
func (m *middlePlan) check(g Gauge, marks []layout.Mark) Check {
	return Check{ID: "gauge:" + m.mark.ID, Verdict: Pass, Value: math.Min(g.Reach[0], g.Reach[1]), Limit: gaugeRoom, Unit: "mm",
		Text: fmt.Sprintf("the %s is set by thread and gauge: %s from the inner edge of %s, %s from the inner edge of %s",
			plainName(m.mark.ID, marks), figure.MM(g.Reach[0]), g.Pieces[0], figure.MM(g.Reach[1]), g.Pieces[1])}
}
