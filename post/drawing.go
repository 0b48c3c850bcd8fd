package post

import (
	"fmt"
	"slices"

	"spotjig/cam/jig"
	"spotjig/layout/geom"
)

// Layer is a layer of a drawing that is cut from; each is one kind of work.
type Layer string

// The layers.
const (
	LayerSheet     Layer = "SHEET"     // stock edge, not cut
	LayerOutline   Layer = "OUTLINE"   // outer cuts
	LayerOpening   Layer = "OPENING"   // inner cuts
	LayerScore     Layer = "SCORE"     // fold, registration and scale lines
	LayerLettering Layer = "LETTERING" // strokes on the face
	LayerNote      Layer = "NOTE"      // never cut, outside the stock
)

// Drawn is one contour on a layer, sheet frame.
type Drawn struct {
	Layer Layer
	geom.Contour
	Nested bool // an opening in which another piece lies, or the outline of such a piece
}

// Compensated reports whether drawings have the kerf taken already.
func (s Set) Compensated() bool { return s.Job.DXF == "compensated" }

// DrawingName is what the drawings of a sheet are called, without the ending.
func (s Set) DrawingName(n int, cut string) string {
	name := fmt.Sprintf("sheet-%d%s", n, cut)
	if s.Compensated() {
		name += "-compensated"
	}
	return name
}

// Drawing returns what is cut from the i-th sheet (an index, not a sheet number), in the
// sheet frame and at cut size, in the order in which it is to be cut: all lettering, all
// scores, all openings, then the outlines; an opening that holds another piece comes after
// that piece's outline, so that a shop that cuts in file order frees nothing too early.
// Openings and outlines are nominal, or half a kerf off on their waste side where the
// kerf is taken already. The error, of a contour without room for the kerf, wraps geom.ErrShape.
func (s Set) Drawing(i int) ([]Drawn, error) {
	d := drawing{kerf: s.Material.Kerf / 2}
	if !s.Compensated() {
		d.kerf = 0
	}
	for _, pl := range s.Sheets[i].Placed {
		p, ok := s.Part(pl.ID)
		if !ok {
			panic("post: internal error: sheet holds unknown part " + pl.ID)
		}
		d.add(p, pl.On)
	}
	d.hold()
	return d.ordered()
}

// drawing is one being put in order.
type drawing struct {
	kerf   float64 // half of it
	pieces []drawnPiece
}

type drawnPiece struct {
	id              string
	letters, scores []geom.Contour
	openings        []geom.Contour
	outline         geom.Contour
	held            [][]int // pieces that lie in an opening, by opening
	inside, done    bool
}

func (d *drawing) add(p jig.Part, on geom.Placement) {
	move := func(c geom.Contour) geom.Contour { return p.AtCutSize(c).Transform(on) }
	q := drawnPiece{id: p.ID, outline: move(p.Outline)}
	for _, c := range p.Letters {
		q.letters = append(q.letters, move(c))
	}
	for _, c := range p.Scores {
		q.scores = append(q.scores, move(c))
	}
	for _, o := range p.Openings {
		q.openings = append(q.openings, move(o.Contour()))
	}
	d.pieces = append(d.pieces, q)
}

// hold notes which pieces lie in which openings.
func (d *drawing) hold() {
	for k := range d.pieces {
		p := &d.pieces[k]
		p.held = make([][]int, len(p.openings))
		for o, c := range p.openings {
			box := c.Bounds()
			for i := range d.pieces {
				q := &d.pieces[i]
				if i != k && box.Holds(q.outline.Bounds()) && c.Contains(q.outline.Start()) {
					p.held[o] = append(p.held[o], i)
					q.inside = true
				}
			}
		}
	}
}

func (d *drawing) ordered() (out []Drawn, err error) {
	marks := func(l Layer, of func(drawnPiece) []geom.Contour) {
		for _, p := range d.pieces {
			for _, c := range of(p) {
				out = append(out, Drawn{Layer: l, Contour: c})
			}
		}
	}
	cut := func(l Layer, p drawnPiece, c geom.Contour, nested bool) {
		if d.kerf > 0 {
			var fault error
			if c, fault = c.Offset(d.kerf); fault != nil && err == nil {
				err = fmt.Errorf("piece %s: kerf of %g mm: %w", p.id, 2*d.kerf, fault)
			}
		}
		out = append(out, Drawn{l, c, nested})
	}
	marks(LayerLettering, func(p drawnPiece) []geom.Contour { return p.letters })
	marks(LayerScore, func(p drawnPiece) []geom.Contour { return p.scores })
	for _, p := range d.pieces {
		for o, c := range p.openings {
			if len(p.held[o]) == 0 {
				cut(LayerOpening, p, c, false)
			}
		}
	}
	for range d.pieces {
		k := slices.IndexFunc(d.pieces, d.ready)
		if k < 0 {
			panic("post: internal error: pieces inside each other in a ring")
		}
		p := &d.pieces[k]
		for o, c := range p.openings {
			if len(p.held[o]) > 0 {
				cut(LayerOpening, *p, c, true)
			}
		}
		cut(LayerOutline, *p, p.outline, p.inside)
		p.done = true
	}
	return out, err
}

// ready reports whether a piece is still to be cut free and none is left in its openings.
func (d *drawing) ready(p drawnPiece) bool {
	if p.done {
		return false
	}
	for _, held := range p.held {
		for _, i := range held {
			if !d.pieces[i].done {
				return false
			}
		}
	}
	return true
}
