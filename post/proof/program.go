package proof

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"strings"

	"spotjig/cam/machine"
	"spotjig/cam/path"
	"spotjig/layout/geom"
	"spotjig/post/rs274/read"
)

// Program is a program as the reader understands it, work zero taken for the
// origin: for our own programs that is the sheet frame.
type Program struct {
	Moves []Move
	Lines int64
	Dark  bool // the beam is off at the end
}

// Move is one straight or circular move.
type Move struct {
	Line   int64
	Label  string // the comment that names the operation: "OPENING H2 black"
	Rapid  bool
	Beam   bool // M3 or M4 is in force and S above zero
	Turn   read.Turn
	Air    string // "M7" or "M8" while that is on
	Stops  int    // stops for the operator before this move
	S      float64
	Feed   float64 // mm/s
	Z0, Z1 float64
	Index  int // in Program.Moves
	Curve
}

// Layer is the first word of the label.
func (m Move) Layer() string {
	l, _, _ := strings.Cut(m.Label, " ")
	return l
}

// errRead is wrapped when a program cannot be read as one of ours.
var errRead = errors.New("program as read")

// ReadProgram reads the text of a program of ours as the machine's controller does. Any
// fault of the language is an error, and so is what our programs never hold: block delete,
// dwells, arcs outside XY and helices, and stops with the beam on.
func ReadProgram(ctx context.Context, text []byte, m machine.Profile) (Program, error) {
	t := &taker{}
	t.program.Moves = make([]Move, 0, bytes.Count(text, []byte{'X'})) // about as many
	opt := read.Options{Texts: true}
	if m.SemicolonComments && bytes.IndexByte(text, ';') >= 0 || len(m.ExtraWords) > 0 {
		opt.Machine = &machine.Profile{HasZ: true, SemicolonComments: m.SemicolonComments, ExtraWords: m.ExtraWords,
			Offsets: map[int]machine.Axes{1: {}}, Traits: machine.Traits{ActsOn: []string{}}}
	}
	sum, err := read.Run(ctx, bytes.NewReader(text), opt, t)
	if err != nil {
		return Program{}, err
	}
	t.program.Lines = sum.Lines
	t.program.air(text)
	return t.program, nil
}

// air notes for each move which air assist is on: that of the last M7, M8 or M9 on its
// line or before it (coolant is switched before a line's motion, NIST IR 6556 Table 8).
func (p *Program) air(text []byte) {
	on, line, k := "", int64(0), 0
	for l := range bytes.Lines(text) {
		line++
		code := l
		if i := bytes.IndexAny(code, "(;"); i >= 0 {
			code = code[:i]
		}
		if bytes.IndexByte(code, 'M') < 0 {
			code = nil // most lines
		}
		for _, w := range bytes.Fields(code) {
			switch string(w) {
			case "M7", "M8":
				on = string(w)
			case "M9", "M2", "M30":
				on = ""
			}
		}
		for ; k < len(p.Moves) && p.Moves[k].Line == line; k++ {
			p.Moves[k].Air = on
		}
	}
}

// Named gives each run of moves from one rapid to the next the names of operations, in
// order, of a program that has no comments. It returns false when there are not as many.
func (p Program) Named(ops []path.Op) bool {
	at := -1
	for i := range p.Moves {
		m := &p.Moves[i]
		if m.Rapid && (m.A != m.B || m.Z0 == m.Z1) { // not a height alone
			at++
		}
		if at >= 0 && at < len(ops) {
			m.Label = fmt.Sprintf("%s %s %s", ops[at].Layer, ops[at].Part, ops[at].Feature)
		}
	}
	return at >= len(ops)-1
}

// taker turns events into moves.
type taker struct {
	program Program
	at      read.Point
	label   string
	stops   int
}

// Fork implements read.Sink; no program of ours asks for it.
func (t *taker) Fork() (read.Sink, error) { return nil, fmt.Errorf("%w: a block delete sign", errRead) }

// Take implements read.Sink.
func (t *taker) Take(b *read.Batch) error {
	if len(b.Faults) > 0 {
		f := b.Faults[0]
		return fmt.Errorf("%w: line %d: %s [%s]", errRead, f.Line, f.Text, f.Code)
	}
	for _, e := range b.Events {
		if err := t.event(b, e); err != nil {
			return err
		}
	}
	return nil
}

func (t *taker) event(b *read.Batch, e read.Event) error {
	switch e.Kind {
	case read.Comment:
		if text := strings.TrimSpace(b.Texts[e.Extra]); isLabel(text) {
			t.label = text
		}
	case read.Rapid, read.Line, read.Arc:
		return t.move(b, e)
	case read.End:
		t.program.Dark = e.Turn == read.Off || e.S == 0
	case read.Pause:
		if e.Turn != read.Off {
			return fmt.Errorf("%w: line %d: a stop with the beam on", errRead, e.Line)
		}
		t.stops++
	case read.Dwell:
		return fmt.Errorf("%w: line %d: a dwell", errRead, e.Line)
	}
	return nil
}

func (t *taker) move(b *read.Batch, e read.Event) error {
	m := Move{
		Line: e.Line, Label: t.label, Rapid: e.Kind == read.Rapid, Beam: e.Turn != read.Off && e.S > 0,
		Turn: e.Turn, S: e.S, Feed: e.Feed, Z0: t.at[2], Z1: e.To[2],
		Index: len(t.program.Moves), Stops: t.stops,
	}
	from, to := geom.Point{X: t.at[0], Y: t.at[1]}, geom.Point{X: e.To[0], Y: e.To[1]}
	m.Curve = LineOf(from, to)
	if e.Kind == read.Arc {
		a := b.Arcs[e.Extra]
		if a.Plane != read.XY || a.From[2] != a.To[2] {
			return fmt.Errorf("%w: line %d: an arc that is not flat", errRead, e.Line)
		}
		m.Curve = ArcOf(geom.Point{X: a.Center[0], Y: a.Center[1]}, a.Radius, bearing(geom.Point{X: a.Center[0], Y: a.Center[1]}, from), a.Sweep)
		m.A, m.B = from, to
	}
	t.at = e.To
	t.program.Moves = append(t.program.Moves, m)
	return nil
}

func isLabel(text string) bool {
	switch l, _, _ := strings.Cut(text, " "); l {
	case "LETTERING", "SCORE", "OPENING", "OUTLINE", "EDGES":
		return true
	}
	return false
}
