package path

import (
	"fmt"
	"math"
	"slices"

	"spotjig/cam/jig"
	"spotjig/cam/machine"
	"spotjig/cam/nest"
	"spotjig/layout/geom"
)

// Defaults and limits of lead-ins, mm. A small overlap at the end is common practice.
const (
	overlapDefault = 1.0
	leadMin        = 0.5  // below this a start would mark the edge it should spare
	leadHoleMax    = 3.0  // from the middle of a hole when that is nearer
	leadOutShare   = 0.25 // lead-out as a share of the lead-in
	pastMiddle     = 0.5  // where the beam comes on in a hole a few kerfs wide: beyond its middle, by this share of its radius
)

// Ties says how pieces are held in the sheet: up to Count uncut places an
// outline, fewer where its free edges have no room for more, each leaving Width mm
// of material. A piece with room for none is refused.
type Ties struct {
	Count int
	Width float64
}

// Request is one sheet to be cut by a beam.
type Request struct {
	Sheet    nest.Sheet
	Parts    []jig.Part       // at least those on the sheet
	Material machine.Material // its kerf and its cut, score and letter settings
	Ties     Ties
	Start    geom.Point // where the head stands before, sheet frame
	LeadIn   float64    // length of an outline's lead-in; 0: 2 mm
	Overlap  float64    // how far a closed cut runs past its start; 0: 1 mm
}

func (r Request) lead() float64 {
	if r.LeadIn == 0 {
		return jig.LeadIn
	}
	return r.LeadIn
}

func (r Request) overlap() float64 {
	if r.Overlap == 0 {
		return overlapDefault
	}
	return r.Overlap
}

// Laser orders everything on a sheet into a toolpath for a beam: all lettering, all
// scores, all openings, then the outlines; so nothing is freed while anything is left to
// cut but outlines, and no freed piece has tipped under the head on its way to lettering.
// An opening that holds another piece waits until that piece is cut free.
// The middle of the cut runs half a kerf off the nominal edge on its waste side.
// It refuses settings that make no sense, a contour with no room for the kerf
// (ErrShape) and an outline without a place to start.
func Laser(r Request) (Toolpath, error) {
	if err := r.check(); err != nil {
		return Toolpath{}, err
	}
	pieces, err := r.pieces()
	if err != nil {
		return Toolpath{}, err
	}
	for i := range pieces {
		if err := r.plan(&pieces[i], pieces); err != nil {
			return Toolpath{}, err
		}
	}
	tp := Toolpath{Sheet: r.Sheet.N, Process: machine.Laser}
	tp.Ops = r.arrange(pieces)
	tp.total(r.Start)
	return tp, nil
}

func (r Request) check() error {
	for _, f := range []struct {
		name string
		v    float64
	}{{"kerf", r.Material.Kerf}, {"lead-in", r.LeadIn}, {"overlap", r.Overlap}, {"tie width", r.Ties.Width}} {
		if !(f.v >= 0) || math.IsInf(f.v, 0) {
			return fmt.Errorf("%s of %v mm: must be finite and not negative", f.name, f.v)
		}
	}
	if r.LeadIn > 0 && r.LeadIn < leadMin {
		return fmt.Errorf("lead-in of %v mm: the least is %v mm", r.LeadIn, leadMin)
	}
	if r.Ties.Count < 0 || r.Ties.Count > 0 && r.Ties.Width <= 0 {
		return fmt.Errorf("%d ties of %v mm: count and width must be above 0", r.Ties.Count, r.Ties.Width)
	}
	return nil
}

// setting returns how a layer is cut, checked.
func (r Request) setting(l Layer) (machine.Setting, error) {
	s, name := r.Material.Cut, "cut"
	switch l {
	case Lettering:
		s, name = r.Material.Letter, "letter"
	case Score:
		s, name = r.Material.Score, "score"
	}
	if !(s.Power > 0) || !(s.Feed > 0) || math.IsInf(s.Power, 1) || math.IsInf(float64(s.Feed), 1) || s.Passes < 0 {
		return s, fmt.Errorf("%s setting: power %v, feed %v mm/s, %d passes: power and feed must be above 0", name, s.Power, float64(s.Feed), s.Passes)
	}
	s.Passes = max(1, s.Passes)
	return s, nil
}

// beamPiece is a part on the sheet, everything in the sheet frame at cut size.
type beamPiece struct {
	id       string
	outline  geom.Contour
	box      geom.Box
	openings []geom.Contour
	names    []string // of the openings
	scores   []geom.Contour
	letters  []geom.Contour
	noStart  []geom.Segment
	tasks    [4][]task // by layer
	held     [][]int   // pieces that lie in an opening of this one, by opening
}

// task is one thing to cut and the ways to do it.
type task struct {
	layer   Layer
	part    string
	feature string
	closed  bool
	ways    []way
}

// way is one way to cut a task: runs of moves with the beam off between them
// (one run, but for ties).
type way struct{ runs []run }

// run is moves made in one go, the nominal contour being those from first to last-1.
type run struct {
	segs        []geom.Segment
	first, last int
}

func (w way) hop() hop {
	end := w.runs[len(w.runs)-1].segs
	return hop{w.runs[0].segs[0].From, end[len(end)-1].To}
}

// pieces brings the parts onto the sheet.
func (r Request) pieces() ([]beamPiece, error) {
	byID := map[string]jig.Part{}
	for _, p := range r.Parts {
		byID[p.ID] = p
	}
	out := make([]beamPiece, 0, len(r.Sheet.Placed))
	for _, pl := range r.Sheet.Placed {
		p, ok := byID[pl.ID]
		if !ok {
			return nil, fmt.Errorf("sheet %d names piece %q, which is not among the parts", r.Sheet.N, pl.ID)
		}
		out = append(out, onSheet(p, pl.On))
	}
	for k := range out {
		out[k].held = make([][]int, len(out[k].openings))
		for i := range out {
			if o := out[k].opening(out[i]); i != k && o >= 0 {
				out[k].held[o] = append(out[k].held[o], i)
			}
		}
	}
	return out, nil
}

// opening is that of p's openings in which another piece lies, -1 when none.
func (p beamPiece) opening(q beamPiece) int {
	if !p.box.Holds(q.box) {
		return -1
	}
	return slices.IndexFunc(p.openings, func(o geom.Contour) bool { return o.Contains(q.outline.Start()) })
}

func onSheet(p jig.Part, on geom.Placement) beamPiece {
	move := func(c geom.Contour) geom.Contour { return p.AtCutSize(c).Transform(on) }
	out := beamPiece{id: p.ID, outline: move(p.Outline), noStart: noStart(p, on)}
	out.box = out.outline.Bounds()
	for _, o := range p.Openings {
		out.openings, out.names = append(out.openings, move(o.Contour())), append(out.names, openingName(o))
	}
	for _, c := range p.Scores {
		out.scores = append(out.scores, move(c))
	}
	for _, c := range p.Letters {
		out.letters = append(out.letters, move(c))
	}
	return out
}

// noStart are the edges of a part on which no cut may start, sheet frame.
func noStart(p jig.Part, on geom.Placement) []geom.Segment {
	k := p.CutScale()
	out := make([]geom.Segment, len(p.NoStart))
	for i, s := range p.NoStart {
		s.From = geom.Point{X: s.From.X * k, Y: s.From.Y * k}
		s.To = geom.Point{X: s.To.X * k, Y: s.To.Y * k}
		out[i] = s.Transform(on)
	}
	return out
}

// plan works out the ways of everything on a piece.
func (r Request) plan(p *beamPiece, all []beamPiece) error {
	id := p.id
	for _, c := range p.letters {
		p.tasks[Lettering] = append(p.tasks[Lettering], task{Lettering, id, "text", c.Closed(), strokeWays(c)})
	}
	for i, c := range p.scores {
		p.tasks[Score] = append(p.tasks[Score], task{Score, id, fmt.Sprintf("line %d", i+1), c.Closed(), strokeWays(c)})
	}
	for i, name := range p.names {
		ways, err := r.openingWays(p.openings[i])
		if err != nil {
			return fmt.Errorf("piece %s, opening %s: %w", id, name, err)
		}
		p.tasks[Opening] = append(p.tasks[Opening], task{Opening, id, name, true, ways})
	}
	ways, err := r.outlineWays(p, all)
	if err != nil {
		return fmt.Errorf("piece %s, outline: %w", id, err)
	}
	p.tasks[Outline] = []task{{Outline, id, "outline", r.Ties.Count == 0, ways}}
	for l, tasks := range p.tasks {
		if len(tasks) == 0 {
			continue
		}
		if _, err := r.setting(Layer(l)); err != nil {
			return err
		}
	}
	return nil
}

// strokeWays are the two directions of a line that is not cut through.
func strokeWays(c geom.Contour) []way {
	ways := make([]way, 0, 2)
	for _, d := range [2]geom.Contour{c, c.Reversed()} {
		segs := d.Segments()
		ways = append(ways, way{[]run{{segs, 0, len(segs)}}})
	}
	return ways
}

// arrange puts the tasks of all pieces in order.
func (r Request) arrange(pieces []beamPiece) []Op {
	var seq []task
	at := r.Start
	var legs []leg
	all := batches(pieces)
	for k, b := range all {
		for _, l := range visit([]geom.Point{at}, b.stops(), entries(all[k+1:])) {
			legs = append(legs, leg{len(seq), l.way})
			seq = append(seq, b.tasks[l.stop])
			at = b.tasks[l.stop].ways[l.way].hop().out
		}
	}
	// The order stands; the ways are now chosen over the whole sheet.
	whole := newRoute(r.Start, stopsOf(seq), legs)
	if len(legs) > 0 {
		whole.chooseWays()
	}
	var ops []Op
	for _, l := range whole.legs {
		ops = append(ops, r.ops(seq[l.stop], l.way)...)
	}
	return ops
}

// entries are where the first of the batches that has any task can be entered.
func entries(all []batch) (out []geom.Point) {
	for _, b := range all {
		for _, s := range b.stops() {
			for _, w := range s.ways {
				out = append(out, w.in)
			}
		}
		if len(out) > 0 {
			break
		}
	}
	return out
}

// batch is tasks of which all are done before the next batch.
type batch struct {
	tasks []task
	after [][]int // tasks of the batch that come before a task; nil where nothing waits
}

func (b batch) stops() []stop {
	out := stopsOf(b.tasks)
	for i, after := range b.after {
		out[i].after = after
	}
	return out
}

// batches parts the tasks of a sheet into those done one after the other: lettering,
// scores, and what is cut through. There outlines wait for all openings but those that
// hold other pieces: such an opening waits for the outlines in it, and its own outline
// for it.
func batches(pieces []beamPiece) []batch {
	out := make([]batch, 3)
	last := &out[2]
	for _, p := range pieces {
		out[0].tasks = append(out[0].tasks, p.tasks[Lettering]...)
		out[1].tasks = append(out[1].tasks, p.tasks[Score]...)
		last.tasks = append(last.tasks, p.tasks[Outline]...)
	}
	last.after = make([][]int, len(pieces))
	for i, p := range pieces {
		for k, t := range p.tasks[Opening] {
			n := len(last.tasks)
			last.tasks, last.after = append(last.tasks, t), append(last.after, p.held[k]) // outline i is task i
			if len(p.held[k]) > 0 {
				last.after[i] = append(last.after[i], n)
				continue
			}
			for j := range pieces {
				last.after[j] = append(last.after[j], n)
			}
		}
	}
	return out
}

func stopsOf(tasks []task) []stop {
	out := make([]stop, len(tasks))
	for i, t := range tasks {
		for _, w := range t.ways {
			out[i].ways = append(out[i].ways, w.hop())
		}
	}
	return out
}

// ops turns a task into operations: one a run, all again for every pass.
func (r Request) ops(t task, w int) []Op {
	s, err := r.setting(t.layer)
	if err != nil {
		panic("path: internal error: " + err.Error())
	}
	var out []Op
	for pass := 1; pass <= s.Passes; pass++ {
		for _, run := range t.ways[w].runs {
			op := Op{
				Layer: t.layer, Part: t.part, Feature: t.feature, Power: s.Power,
				Closed: t.closed, Pass: pass, First: run.first, Last: run.last,
			}
			for _, g := range run.segs {
				op.Moves = append(op.Moves, Move{Segment: g, Feed: s.Feed})
			}
			out = append(out, op)
		}
	}
	return out
}

// total adds up what the operations come to.
func (tp *Toolpath) total(start geom.Point) {
	tp.Bounds = geom.EmptyBox()
	at := start
	for _, op := range tp.Ops {
		tp.Travel += at.Dist(op.Moves[0].From)
		for _, m := range op.Moves {
			tp.Bounds = tp.Bounds.Union(m.Bounds())
			if tp.Process != machine.Knife || m.Z < 0 {
				tp.Cut += m.Length()
			}
			at = m.To
		}
		tp.Turned += op.Turned
		tp.Lifts += op.Lifts
	}
}
