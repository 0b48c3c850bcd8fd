package cut

import (
	"fmt"
	"math"

	"spotjig/layout/figure"
	"spotjig/post/proof"

	"spotjig/cam/jig"
	"spotjig/cam/machine"
	"spotjig/cam/path"
	"spotjig/layout/geom"
	"spotjig/post/rs274/read"
)

// Tolerances of the comparison of a program with its toolpath, mm.
const (
	// roundTol is for centres and radii: a centre is rounded as ends are, and the writer
	// may then move it by two of the last digit so that both ends have one radius.
	roundTol = 0.0003
	// tinyMove: an arc shorter than this, or that rises less than roundTol above its
	// chord, may be printed as a line.
	tinyMove = 0.003
	feedTol  = 0.0051 // mm/min: F is printed with two decimals, so that it is off by half the last
)

// reading walks a program beside its toolpath.
type reading struct {
	moves   []proof.Move
	next    int
	cut     bool // the cutting program; else its dry run
	machine machine.Profile
	digit   float64 // what one step of the last decimal is, mm
	stops   int     // that the machine's program is to have made for the operator so far
	layer   path.Layer
	worst   float64 // greatest distance found, mm
}

// AsRead compares a cutting program, or its dry run, as read back, with the
// toolpath: the same moves in the same order, ends within half the last printed
// digit, centres and radii within 0.0003 mm, labels, beam state, power, feed and
// height of every move. Moves of Z alone, which only a blade makes, are not compared one
// by one: its height is looked at in every move sideways and at the program's end.
func AsRead(p proof.Program, tp path.Toolpath, m machine.Profile, cut bool) jig.Check {
	c := jig.Check{ID: "as-read", Limit: roundTol * m.Writing.Digit() / proof.Digit, Unit: "mm"}
	if !cut {
		c.ID = "as-read-dryrun"
	}
	r := reading{moves: p.Moves, cut: cut, machine: m, digit: m.Writing.Digit()}
	if m.Writing.Comments == "none" && !p.Named(tp.Ops) {
		return proof.Failed(c, fmt.Sprintf("sheet %d: fewer operations than planned", tp.Sheet))
	}
	err := r.all(tp)
	if err == nil && !p.Dark {
		err = fmt.Errorf("the beam is on at the end")
	}
	c.Value = r.worst
	if err != nil {
		c.Verdict = jig.Fail
		c.Text = fmt.Sprintf("sheet %d: program differs from toolpath: %v", tp.Sheet, err)
		return c
	}
	c.Verdict = jig.Pass
	c.Text = fmt.Sprintf("sheet %d: %s read back as planned", tp.Sheet, figure.Count(len(p.Moves), "move"))
	return c
}

func (r *reading) all(tp path.Toolpath) error {
	for i, op := range tp.Ops {
		if r.cut && i > 0 && r.machine.Writing.Pause && op.Layer != r.layer && op.Layer > path.Score {
			r.stops++
		}
		r.layer = op.Layer
		if err := r.op(op); err != nil {
			return fmt.Errorf("%s %s %s: %w", op.Layer, op.Part, op.Feature, err)
		}
	}
	if r.machine.Writing.Park {
		if m, ok := r.peek(); !ok || !m.Rapid || m.Turn != read.Off {
			return fmt.Errorf("the head is not taken back")
		} else if m.A == m.B && m.Z0 != m.Z1 {
			return fmt.Errorf("line %d: a height where the head is taken back", m.Line)
		}
		r.next++
	}
	if err := r.skipHeights(true); err != nil {
		return err
	}
	if m, ok := r.peek(); ok {
		return fmt.Errorf("line %d: a move too many", m.Line)
	}
	if n := len(r.moves); n > 0 && r.machine.Process == machine.Knife && !r.raised(r.moves[n-1].Z1) {
		return fmt.Errorf("line %d: the program ends with the blade at %.4f", r.moves[n-1].Line, r.moves[n-1].Z1)
	}
	return nil
}

// raised reports whether the blade is where it travels.
func (r *reading) raised(z float64) bool {
	return math.Abs(z-r.machine.Knife.ZUp) <= proof.Digit/2+proof.Slack
}

func (r *reading) peek() (proof.Move, bool) {
	if r.next < len(r.moves) {
		return r.moves[r.next], true
	}
	return proof.Move{}, false
}

// skipHeights passes over the moves of Z alone that come next: the rapid ones, or those at a
// feed. In a beam's program there must be none, and a blade's rapids must go
// up; into the sheet it goes no faster than it may plunge.
func (r *reading) skipHeights(rapid bool) error {
	for {
		m, ok := r.peek()
		if !ok || m.Rapid != rapid || m.A != m.B || m.Z0 == m.Z1 {
			return nil
		}
		switch {
		case r.machine.Process != machine.Knife:
			return fmt.Errorf("line %d: a beam program moves in Z", m.Line)
		case rapid && m.Z1 < m.Z0:
			return fmt.Errorf("line %d: a rapid goes down", m.Line)
		case !rapid && m.Z1 < math.Min(0, m.Z0) && r.machine.Knife.Plunge > 0 && m.Feed*60 > r.machine.Knife.Plunge.PerMinute()+r.feedTol():
			return fmt.Errorf("line %d: the blade goes down at %.0f mm/min, at most %.0f", m.Line, m.Feed*60, r.machine.Knife.Plunge.PerMinute())
		}
		r.next++
	}
}

func (r *reading) op(op path.Op) error {
	if err := r.skipHeights(true); err != nil {
		return err
	}
	m, ok := r.peek()
	if !ok {
		return fmt.Errorf("the program ends before it")
	}
	r.next++
	if !m.Rapid {
		return fmt.Errorf("line %d: a cut where travel to its start is planned", m.Line)
	}
	if err := r.rapid(m, op); err != nil {
		return err
	}
	printed := m.B
	for i, want := range op.Moves {
		if err := r.skipHeights(false); err != nil {
			return err
		}
		got, ok := r.peek()
		if (!ok || got.Rapid || got.Label != m.Label || got.A == got.B) || !r.ends(got, want.To) {
			if r.droppable(want, printed) {
				continue
			}
		}
		if !ok || got.Rapid {
			return fmt.Errorf("move %d is not in the program", i+1)
		}
		r.next++
		if err := r.cutting(got, op, want); err != nil {
			return fmt.Errorf("line %d: %w", got.Line, err)
		}
		printed = got.B
	}
	return nil
}

// droppable reports whether a planned move need not stand in the program, because both of
// its ends are printed as one point.
func (r *reading) droppable(want path.Move, printed geom.Point) bool {
	return r.near(printed, want.To) && math.Hypot(want.To.X-want.From.X, want.To.Y-want.From.Y) < 2*r.digit
}

func (r *reading) near(got, want geom.Point) bool {
	return math.Abs(got.X-want.X) <= r.digit/2+proof.Slack && math.Abs(got.Y-want.Y) <= r.digit/2+proof.Slack
}

func (r *reading) ends(got proof.Move, want geom.Point) bool { return r.near(got.B, want) }

// feedTol is how far a feed may be off, mm/min: half the last of the three decimals that
// are printed in inches, or of the two in mm.
func (r *reading) feedTol() float64 {
	if r.machine.Writing.Inch {
		return 0.00051 * 25.4
	}
	return feedTol
}

// round is roundTol for a machine that is written fewer or more decimals.
func (r *reading) round() float64 { return roundTol * r.digit / proof.Digit }

func (r *reading) note(d float64) { r.worst = math.Max(r.worst, d) }

// rapid checks the travel to an operation's start.
func (r *reading) rapid(m proof.Move, op path.Op) error {
	from := op.Moves[0].From
	r.note(proof.Dist(m.B, from))
	want := clean(fmt.Sprintf("%s %s", op.Layer, op.Part))
	switch {
	case m.Stops != r.stops:
		return fmt.Errorf("line %d: %d stops before it, planned %d", m.Line, m.Stops, r.stops)
	case !r.near(m.B, from):
		return fmt.Errorf("line %d: travels to %s, planned %s", m.Line, proof.At(m.B), proof.At(from))
	case m.Turn != read.Off || m.S != 0:
		return fmt.Errorf("line %d: travels with the beam on", m.Line)
	case len(m.Label) < len(want) || m.Label[:len(want)] != want:
		return fmt.Errorf("line %d: labelled %q", m.Line, m.Label)
	case r.machine.Process == machine.Knife && !r.raised(m.Z0):
		return fmt.Errorf("line %d: travels with the blade at %.4f", m.Line, m.Z0)
	}
	return nil
}

// clean is what a program's comments keep of a piece's name.
func clean(s string) string {
	out := make([]rune, 0, len(s))
	for _, c := range s {
		if c >= ' ' && c <= '~' {
			out = append(out, c)
		}
	}
	return string(out)
}

// cutting checks one move of an operation.
func (r *reading) cutting(got proof.Move, op path.Op, want path.Move) error {
	plan := proof.Bulged(want.From, want.To, want.Bulge)
	r.note(proof.Dist(got.B, want.To))
	if !r.near(got.B, want.To) {
		return fmt.Errorf("ends at %s, planned %s", proof.At(got.B), proof.At(want.To))
	}
	if err := r.shape(got.Curve, plan); err != nil {
		return err
	}
	if f := got.Feed*60 - want.Feed.PerMinute(); math.Abs(f) > r.feedTol() {
		return fmt.Errorf("feed is off by %.3f mm/min", f)
	}
	return r.tool(got, op, want)
}

func (r *reading) shape(got, plan proof.Curve) error {
	if got.Arc != plan.Arc {
		rise := plan.R * (1 - math.Cos(plan.Sweep/2))
		if plan.Arc && (rise <= r.round() || plan.Length() < tinyMove) {
			return nil
		}
		return fmt.Errorf("is %s, planned %s", kind(got), kind(plan))
	}
	if !got.Arc {
		return nil
	}
	dc, dr := proof.Dist(got.C, plan.C), math.Abs(got.R-plan.R)
	r.note(math.Max(dc, dr))
	switch {
	case got.Sweep*plan.Sweep < 0:
		return fmt.Errorf("turns the wrong way")
	case dc > r.round():
		return fmt.Errorf("centre %s, planned %s", proof.At(got.C), proof.At(plan.C))
	case dr > r.round():
		return fmt.Errorf("radius %.4f, planned %.4f", got.R, plan.R)
	}
	return nil
}

func kind(k proof.Curve) string {
	if k.Arc {
		return "an arc"
	}
	return "a line"
}

// tool checks beam or blade.
func (r *reading) tool(got proof.Move, op path.Op, want path.Move) error {
	if r.machine.Process == machine.Knife {
		z := r.machine.Knife.ZUp
		if r.cut {
			z = want.Z
		}
		if math.Abs(got.Z1-z) > proof.Digit/2+proof.Slack || got.Z0 != got.Z1 {
			return fmt.Errorf("blade at %.4f, planned %.4f", got.Z1, z)
		}
		return nil
	}
	if !r.cut {
		if got.Turn != read.Off || got.S != 0 {
			return fmt.Errorf("beam on in a dry run")
		}
		return nil
	}
	air := ""
	if w := r.machine.Writing; w.AirOn([...]string{"letter", "score", "cut", "cut"}[op.Layer]) {
		air = w.Air
	}
	if got.Air != air {
		return fmt.Errorf("air %q, planned %q", got.Air, air)
	}
	turn := read.Forward
	if r.machine.BeamWord == "M4" {
		turn = read.Reverse
	}
	if got.Turn != turn || math.Abs(got.S-op.Power) > proof.PowerTol {
		return fmt.Errorf("beam M%d S%g, planned %s S%g", got.Turn, got.S, r.machine.BeamWord, op.Power)
	}
	return nil
}

// Edges checks the program that traces the rectangle: nothing active, and its
// extents are the toolpath's bounds.
func Edges(p proof.Program, tp path.Toolpath, m machine.Profile) jig.Check {
	c := jig.Check{ID: "as-read-edges", Verdict: jig.Pass, Limit: m.Writing.Digit(), Unit: "mm"}
	b := proof.Nothing()
	for _, k := range p.Moves {
		if k.Turn != read.Off || k.S != 0 {
			return proof.Failed(c, fmt.Sprintf("sheet %d: line %d: beam on in the edges program", tp.Sheet, k.Line))
		}
		if m.Process == machine.Knife && k.A != k.B && k.Z0 < m.Knife.ZUp-proof.Digit {
			return proof.Failed(c, fmt.Sprintf("sheet %d: line %d: blade down in the edges program", tp.Sheet, k.Line))
		}
		if !k.Rapid {
			b = b.Union(k.Box())
		}
	}
	t := tp.Bounds
	for _, d := range [4]float64{b.X0 - t.Min.X, b.Y0 - t.Min.Y, b.X1 - t.Max.X, b.Y1 - t.Max.Y} {
		c.Value = math.Max(c.Value, math.Abs(d))
	}
	if !(c.Value <= c.Limit) {
		return proof.Failed(c, fmt.Sprintf("sheet %d: the edges program traces another rectangle than the cut's", tp.Sheet))
	}
	c.Text = fmt.Sprintf("sheet %d: the edges program traces the cut's rectangle", tp.Sheet)
	return c
}
