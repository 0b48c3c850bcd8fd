// Package write writes a toolpath as plain G-code: the part of RS-274/NGC that
// NIST IR 6556 (Kramer, Proctor, Messina, The NIST RS274/NGC Interpreter -
// Version 3, 17 August 2000) defines and simple controllers understand.
package write

import (
	"bufio"
	"errors"
	"fmt"
	"io"
	"math"
	"slices"
	"strings"

	"spotjig/cam/machine"
	"spotjig/cam/path"
	"spotjig/layout/figure"
	"spotjig/layout/geom"
)

// Kind says which program is written of a toolpath.
type Kind int

// The kinds of program.
const (
	Cut    Kind = iota // cuts the sheet
	DryRun             // the same motion; beam or blade is never active
	Edges              // traces the rectangle the job needs, beam off, blade up
	Light              // traces the rectangle with the beam off, burns what there is, goes to the work zero
)

// Options are what the program says besides the motion, and how.
type Options struct {
	Kind    Kind
	Machine machine.Profile
	Park    geom.Point // where a program that parks the head takes it at the end, sheet frame

	// Header, as comments. Text is made plain ASCII and broken into lines.
	Version  string   // of the tool
	Job      string   // name of the job
	Table    string   // the table it is for
	Sheets   int      // how many sheets there are
	Notes    []string // anything else, a paragraph each
	Cautions []string // most serious first
}

// ErrProgram is wrapped by every error about the toolpath or the options.
var ErrProgram = errors.New("program")

const (
	lineMax = 70 // characters; shorter than any controller's buffer known to us
	lineMin = 60 // an arc on a sheet of some metres needs this
	// edgesFeed is how fast the edges program goes: quick, and slow enough to
	// watch. Our own choice.
	edgesFeed = machine.Feed(50)
	// followTol: a move starts where the one before ended, to within this; a
	// hundredth of the last digit printed.
	followTol = 1e-6
	moveLimit = 2_000_000 // moves in one program
	reachMax  = 100_000.0 // mm; no sheet is larger
)

// zUnknown is the blade's height before the first Z word.
const zUnknown = math.MinInt64

// program is a program being written. Positions are whole counts of the last
// digit printed, exactly as they stand in the text.
type program struct {
	w     *bufio.Writer
	opt   Options
	knife bool

	how   machine.Writing
	air   bool   // assist is on
	power string // the S word in force, "" when there is none
	next  string // the S word that the next move brings

	dec   int     // decimals
	scale float64 // counts a mm

	x, y int64
	z    int64
	feed machine.Feed
	buf  []byte // the line being built

	lineMx  int // longest line allowed
	longest int // longest line written
}

// Write writes the program of a toolpath, in the sheet frame (work zero is the
// sheet's lower left corner).
//
// Everything an operator's machine must assume is stated before the first axis
// word. Where the power stands, and all else that controllers differ in, is as the
// machine's Writing says; the beam is off and its power zero in every rapid. Arcs are written by centre, computed from the ends as
// printed, so that both radii agree; see arc.go. A line, and an arc flatter than a
// fifth of the last digit, is a G1; what is shorter than the last digit is left out.
//
// It refuses a toolpath that does not hang together and settings the machine
// cannot carry out, with an error that wraps ErrProgram; errors of w are returned
// as they are.
func Write(w io.Writer, tp path.Toolpath, opt Options) error {
	how := opt.Machine.Writing.Filled()
	p := &program{w: bufio.NewWriter(w), opt: opt, how: how, knife: tp.Process == machine.Knife, dec: how.Decimals(), scale: 1e4, z: zUnknown, lineMx: lineMax}
	if how.Inch {
		p.scale = 1e5 / figure.MMPerInch
	}
	if m := opt.Machine.LineMax; m > 0 && m < lineMax {
		p.lineMx = m
	}
	if err := p.check(tp); err != nil {
		return err
	}
	p.header(tp)
	p.modes()
	if opt.Kind == Edges || opt.Kind == Light {
		p.edges(tp.Bounds)
	}
	if opt.Kind != Edges {
		for i, op := range tp.Ops {
			if i > 0 && opt.Kind == Cut && stage(op.Layer) != stage(tp.Ops[i-1].Layer) {
				p.pause()
			}
			if err := p.op(op); err != nil {
				return fmt.Errorf("%w: %s %s %s: %w", ErrProgram, op.Layer, op.Part, op.Feature, err)
			}
		}
	}
	p.finish()
	if p.longest > p.lineMx {
		return fmt.Errorf("%w: a line of %d characters; the limit is %d", ErrProgram, p.longest, p.lineMx)
	}
	return p.w.Flush()
}

// check refuses what cannot be written.
func (p *program) check(tp path.Toolpath) error {
	m := p.opt.Machine
	switch {
	case tp.Process != machine.Laser && tp.Process != machine.Knife:
		return fmt.Errorf("%w: process %q has no program; laser and knife have", ErrProgram, tp.Process)
	case p.opt.Kind < Cut || p.opt.Kind > Light:
		return fmt.Errorf("%w: unknown kind %d", ErrProgram, p.opt.Kind)
	case len(tp.Ops) == 0:
		return fmt.Errorf("%w: nothing to cut", ErrProgram)
	case p.lineMx < lineMin:
		return fmt.Errorf("%w: lines of %d characters; at least %d are needed", ErrProgram, p.lineMx, lineMin)
	case !p.knife && m.BeamWord != "M3" && m.BeamWord != "M4":
		return fmt.Errorf("%w: beam word %q; M3 or M4 is needed", ErrProgram, m.BeamWord)
	case p.knife && !(m.Knife.ZUp > 0):
		return fmt.Errorf("%w: blade-up height %v mm; above 0 is needed", ErrProgram, m.Knife.ZUp)
	}
	for _, word := range slices.Concat(p.how.Start, p.how.End, []string{p.how.Last}) {
		if !machine.IsCode(word) {
			return fmt.Errorf("%w: %.20q is no word of code", ErrProgram, word)
		}
	}
	n := 0
	for _, op := range tp.Ops {
		n += len(op.Moves)
		if err := p.checkOp(op); err != nil {
			return fmt.Errorf("%w: %s %s %s: %w", ErrProgram, op.Layer, op.Part, op.Feature, err)
		}
	}
	if n > moveLimit {
		return fmt.Errorf("%w: %d moves, the limit is %d", ErrProgram, n, moveLimit)
	}
	return nil
}

func (p *program) checkOp(op path.Op) error {
	if len(op.Moves) == 0 {
		return errors.New("no moves")
	}
	if full := p.opt.Machine.PowerScale; !p.knife && !(op.Power > 0 && (full == 0 || op.Power <= full)) {
		return fmt.Errorf("power S %v; above 0 and at most %v is needed", op.Power, full)
	}
	if !p.knife && short(op.Power, p.powerDigits()) == "0" {
		return fmt.Errorf("power S %v is written as 0 with %d decimals", op.Power, p.powerDigits())
	}
	for i, m := range op.Moves {
		for _, f := range []float64{m.From.X, m.From.Y, m.To.X, m.To.Y, m.Z} {
			if !(math.Abs(f) <= reachMax) {
				return fmt.Errorf("move %d: coordinate %v is not within %v mm", i+1, f, reachMax)
			}
		}
		if !(m.Feed > 0) || math.IsInf(float64(m.Feed), 1) {
			return fmt.Errorf("move %d: feed %v; above 0 is needed", i+1, float64(m.Feed))
		}
		if !(math.Abs(m.Bulge) <= 1+1e-9) {
			return fmt.Errorf("move %d: an arc of more than half a circle", i+1)
		}
		if i > 0 && m.From.Dist(op.Moves[i-1].To) > followTol {
			return fmt.Errorf("move %d does not start where the one before ended", i+1)
		}
		if !p.knife && m.Z != 0 {
			return fmt.Errorf("move %d: a beam has no height", i+1)
		}
	}
	return nil
}

// modes states everything the motion depends on, and makes the beam dark.
func (p *program) modes() {
	units := "G21"
	if p.how.Inch {
		units = "G20"
	}
	p.codes("G17", units, "G40", "G49")
	p.codes("G54", "G80", "G90", "G94")
	for _, word := range p.how.Start {
		p.line(word)
		p.air = p.air || word == p.how.Air
	}
	if p.knife {
		p.up()
		return
	}
	p.dark()
}

// codes writes codes on one line, or each on its own.
func (p *program) codes(words ...string) {
	if !p.how.OneCode {
		p.line(strings.Join(words, " "))
		return
	}
	for _, w := range words {
		p.line(w)
	}
}

// dark switches the beam off, and its power to nothing. Where power stands with moves,
// that is on the next rapid.
func (p *program) dark() {
	switch p.how.Power {
	case machine.PowerWithBeam:
		p.line("M5 S0")
		p.power = "S0"
	case machine.PowerWithMove:
		p.line("M5")
		p.next = ""
	default:
		if p.power != "" {
			p.line("S0")
			p.line("M5")
		} else {
			p.line("M5")
			p.line("S0")
		}
		p.power = "S0"
	}
}

// burn switches the beam on.
func (p *program) burn(power string) {
	beam := p.opt.Machine.BeamWord
	switch p.how.Power {
	case machine.PowerWithBeam:
		p.line(beam + " " + power)
	case machine.PowerWithMove:
		p.line(beam) // dark until the move brings its power
		p.next = power
		return
	default:
		p.line(beam)
		p.line(power)
	}
	p.power = power
}

// assist switches air on or off.
func (p *program) assist(on bool) {
	if p.air == on {
		return
	}
	p.air = on
	if on {
		p.line(p.how.Air)
	} else {
		p.line("M9")
	}
}

// stage is what is done between two pauses: marks, openings, outlines.
func stage(l path.Layer) path.Layer { return max(l, path.Score) }

// pause stops until the operator lets the program go on, where the profile asks for it.
func (p *program) pause() {
	if p.how.Pause {
		p.assist(false)
		p.line("M0")
	}
}

// finish ends the program.
func (p *program) finish() {
	p.assist(false)
	if !p.knife {
		p.line("M5")
	}
	if p.opt.Kind == Light {
		p.rapid(geom.Point{})
	} else if p.how.Park {
		p.rapid(p.opt.Park)
	}
	for _, word := range p.how.End {
		p.line(word)
	}
	p.line(p.how.Last)
}

// up takes the blade to travel height.
func (p *program) up() {
	z := p.count(p.opt.Machine.Knife.ZUp)
	if p.z != z {
		p.z = z
		p.begin("G0")
		p.word('Z', z)
		p.end()
	}
}

// op writes one operation.
func (p *program) op(op path.Op) error {
	p.note(fmt.Sprintf("%s %s %s", op.Layer, op.Part, op.Feature))
	p.rapid(op.Moves[0].From)
	active := p.opt.Kind == Cut || p.opt.Kind == Light
	beam := !p.knife && active
	if active {
		p.assist(p.how.AirOn([...]string{"letter", "score", "cut", "cut"}[op.Layer]))
	}
	if beam {
		p.burn("S" + short(op.Power, p.powerDigits()))
	}
	for _, m := range op.Moves {
		if err := p.move(m); err != nil {
			return err
		}
	}
	if beam {
		p.dark()
	}
	if p.knife {
		p.up()
	}
	return nil
}

// powerDigits are the decimals of an S word: a ten thousandth of full power or finer.
func (p *program) powerDigits() int {
	if full := p.opt.Machine.PowerScale; full > 0 && full < 10 {
		return 5
	}
	return 3
}

// depth brings the blade to a move's height on the spot, before the move.
func (p *program) depth(m path.Move) {
	z := p.count(m.Z)
	if z == p.z {
		return
	}
	k := p.opt.Machine.Knife
	f := k.Lift
	if z < p.z {
		f = k.Plunge
	}
	if m.From == m.To || f <= 0 {
		f = m.Feed
	}
	p.z = z
	p.begin("G1")
	p.word('Z', z)
	p.feedWord(f)
	p.end()
}

func (p *program) rapid(to geom.Point) {
	p.x, p.y = p.count(to.X), p.count(to.Y)
	p.begin("G0")
	p.xy()
	if p.how.Power == machine.PowerWithMove && !p.knife && p.power != "S0" {
		p.buf = append(p.buf, " S0"...)
		p.power = "S0"
	}
	p.end()
}

// move writes one move from where the program stands.
func (p *program) move(m path.Move) error {
	if p.knife && p.opt.Kind == Cut {
		p.depth(m)
	}
	x, y := p.count(m.To.X), p.count(m.To.Y)
	if x == p.x && y == p.y {
		// Shorter than the last digit: nothing to move. A longer arc that ends
		// where it starts cannot be, because no arc exceeds half a circle.
		return nil
	}
	a, arc := centre{}, false
	if m.Bulge != 0 {
		var err error
		if a, arc, err = p.arc(m.Segment, x, y); err != nil {
			return err
		}
	}
	p.x, p.y = x, y
	switch {
	case !arc:
		p.begin("G1")
	case m.Bulge > 0:
		p.begin("G3")
	default:
		p.begin("G2")
	}
	p.xy()
	if arc {
		p.word('I', a.i)
		p.word('J', a.j)
	}
	p.feedWord(m.Feed)
	if p.next != "" {
		p.buf = append(append(p.buf, ' '), p.next...)
		p.power, p.next = p.next, ""
	}
	p.end()
	return nil
}

// edges traces a rectangle, nothing active.
func (p *program) edges(b geom.Box) {
	p.note("EDGES")
	f := edgesFeed
	if m := p.opt.Machine.FeedMax; m > 0 && m < f {
		f = m
	}
	p.rapid(b.Min)
	for _, c := range []geom.Point{{X: b.Max.X, Y: b.Min.Y}, b.Max, {X: b.Min.X, Y: b.Max.Y}, b.Min} {
		p.x, p.y = p.count(c.X), p.count(c.Y)
		p.begin("G1")
		p.xy()
		p.feedWord(f)
		p.end()
	}
}

func (p *program) line(s string) {
	p.begin(s)
	p.end()
}
