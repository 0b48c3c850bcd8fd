package proof

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"strings"

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

// ReadProgram reads the text of a program of ours. Any fault of the language is
// an error, and so is what our programs never hold: block delete, dwells, pauses,
// arcs outside XY and helices.
func ReadProgram(ctx context.Context, text []byte) (Program, error) {
	t := &taker{}
	t.program.Moves = make([]Move, 0, bytes.Count(text, []byte{'\n'}))
	sum, err := read.Run(ctx, bytes.NewReader(text), read.Options{Texts: true}, t)
	if err != nil {
		return Program{}, err
	}
	t.program.Lines = sum.Lines
	return t.program, nil
}

// taker turns events into moves.
type taker struct {
	program Program
	at      read.Point
	label   string
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
		if text := b.Texts[e.Extra]; isLabel(text) {
			t.label = text
		}
	case read.Rapid, read.Line, read.Arc:
		return t.move(b, e)
	case read.End:
		t.program.Dark = e.Turn == read.Off || e.S == 0
	case read.Dwell, read.Pause:
		return fmt.Errorf("%w: line %d: a dwell or pause", errRead, e.Line)
	}
	return nil
}

func (t *taker) move(b *read.Batch, e read.Event) error {
	m := Move{
		Line: e.Line, Label: t.label, Rapid: e.Kind == read.Rapid, Beam: e.Turn != read.Off && e.S > 0,
		Turn: e.Turn, S: e.S, Feed: e.Feed, Z0: t.at[2], Z1: e.To[2],
		Index: len(t.program.Moves),
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
