// Package read interprets RS-274/NGC programs, anybody's, as NIST IR 6556 (Kramer,
// Proctor, Messina, The NIST RS274/NGC Interpreter - Version 3, 17 August 2000)
// defines them. It gives the moves in machine coordinates and every place where
// the program says something the language, or what is known of the machine, does
// not allow. It judges no travel, beam or blade: that is for whoever takes its
// events.
//
// A line goes through three stages: line.go and expr.go read it into a block (every value
// evaluated, nothing done yet), check.go holds the block against the rules about what may
// stand together, and exec.go, motion.go, arc.go and cycle.go do what it says in the order
// that the report lays down. fast.go takes a short cut through all three for plain lines;
// whatever it does not know it hands back.
//
// After a fault the interpreter goes on with the likeliest meaning, so that
// positions are told even when the program fails.
package read

import (
	"bytes"
	"context"
	"io"

	"spotjig/cam/machine"
)

// Limits on what is read. Each has a test at the limit and one past it.
const (
	// LineMax is the longest line the report allows, in characters (section 3.3).
	LineMax = 256
	// lineHard is the longest line held in memory; longer ones are passed over with a fault.
	lineHard = 64 << 10
	// digitsMax is the most digits in one number; float64 holds 17, nobody needs 40.
	digitsMax = 40
	// numberMax is the largest number taken for a meant one: 1,000 km in mm.
	numberMax = 1e9
	// depthMax bounds brackets, functions and parameter signs inside one another.
	depthMax = 32
	// paramMax is the highest numbered parameter (section 3.2.1).
	paramMax = 5399
	// cycleMax bounds the moves one line of a canned cycle may make.
	cycleMax = 10000
	// drilledMax bounds the moves that all cycles of a program may make.
	drilledMax = 5_000_000
	// faultTexts is how many faults of a code are worded; further ones are only counted.
	faultTexts = 20
	// batchMax is how many events are handed over at once: a batch stays in the
	// processor's nearest memory.
	batchMax = 512
	// bufSize is how much of the file is held at once, bufMin the least.
	bufSize, bufMin = 256 << 10, 4 * lineHard / 3
)

// Options say what is known before the first line.
type Options struct {
	Machine *machine.Profile // nil: the report alone, and work zero is machine zero
	Start   *machine.Axes    // where the head stands, machine mm; nil: the profile's park, else work zero
	Texts   bool             // comments are wanted as events

	slow bool // every line goes through the full interpreter
}

// Sink takes what the interpreter finds, in the program's order.
type Sink interface {
	// Take is given a batch, which is filled anew when Take has returned.
	Take(b *Batch) error
	// Fork is called at most once, at the first line with a block delete sign. It
	// returns a sink in the same state that is given the rest of the program as it
	// runs with the block delete switch on; the first goes on with the switch off.
	Fork() (Sink, error)
}

// Summary is what a run knows of the file as a whole.
type Summary struct {
	Lines int64
	Start machine.Axes // machine mm
}

// Run interprets the program r and hands all events to each of the sinks. The error is
// r's, a sink's or ctx's; faults of the program are in the batches.
func Run(ctx context.Context, r io.Reader, opt Options, sinks ...Sink) (Summary, error) {
	p := newProgram(r, opt, sinks)
	sum := Summary{Start: p.runs[0].pos.axes()}
	err := p.run(ctx)
	sum.Lines = p.line
	return sum, err
}

// program is a file being read: one or two runs of the interpreter over the same
// lines, the second with the block delete switch on.
type program struct {
	text    cutter
	b       []byte // whole lines being read, and pad bytes more
	i, n    int    // the next line and the end of the last one in b
	runs    []*interp
	line    int64 // number of the line being read
	percent int   // lines of percent seen
	loose   int64 // line of a percent that closes a program which none opened; -1: told to be misplaced
	crlf    int64 // lines that end in CR LF
	lone    int64 // lines that end in CR
	loneAt  int64 // the first of those
	started bool  // a line that is not blank has been seen
	forking bool  // the next line is the first with a block delete sign
	lineMax int   // longest line of the machine
	slow    bool
	anyEnds bool // the controller takes any line end
}

func newProgram(r io.Reader, opt Options, sinks []Sink) *program {
	p := &program{text: newCutter(r), runs: []*interp{newInterp(opt, sinks)}, lineMax: LineMax, slow: opt.slow}
	if m := opt.Machine; m != nil && m.LineMax > 0 {
		p.lineMax = m.LineMax
	}
	p.anyEnds = opt.Machine != nil && opt.Machine.LineEnds == "any"
	return p
}

// run interprets what is left of the program.
func (p *program) run(ctx context.Context) error {
	for more := true; more; {
		var err error
		if more, err = p.fill(ctx); err != nil {
			return err
		}
		if err = p.hand(); err != nil {
			return err
		}
		if p.forking {
			if err = p.fork(); err != nil {
				return err
			}
		}
	}
	p.finish()
	return p.hand()
}

// fill interprets lines until a batch is full, a second run is to begin or the file is
// at its end. It reports whether there is more.
func (p *program) fill(ctx context.Context) (bool, error) {
	for {
		if p.i < p.n {
			if p.lines(); p.i < p.n {
				return true, nil
			}
		}
		if p.text.atEnd {
			return false, nil
		}
		if err := ctx.Err(); err != nil {
			return false, err
		}
		if err := p.piece(); err != nil {
			return false, err
		}
	}
}

// hand hands all batches over.
func (p *program) hand() error {
	for _, x := range p.runs {
		if err := x.flush(); err != nil {
			return err
		}
	}
	return nil
}

// piece gets the next lines.
func (p *program) piece() error {
	long, err := p.text.next()
	if err != nil {
		return err
	}
	if long > 0 {
		p.tooLong(long)
	}
	p.b, p.i, p.n = p.text.whole, 0, len(p.text.whole)-pad
	return nil
}

// tooLong reports a line that is passed over.
func (p *program) tooLong(n int) {
	p.runs[0].fault(Fault{Code: LineTooLong, Line: p.line + 1, Col: 1, Value: float64(n), Limit: lineHard, Unit: "characters",
		Text: "line is longer than can be read", Help: "break the line up"})
}

// lines interprets the lines in hand, plain ones the fast way, until a batch is full or
// a second run is to begin.
func (p *program) lines() {
	b := p.b
	for p.i < p.n && !p.full() {
		if !p.slow && p.plainState() {
			if p.i = p.plain(b, p.i, p.n); p.i >= p.n || p.runs[0].full {
				return
			}
		}
		j := p.i
		for b[j] != '\n' && b[j] != '\r' {
			j++
		}
		if p.forking = len(p.runs) == 1 && p.percent < 2 && firstByte(b[p.i:j]) == '/'; p.forking {
			return
		}
		p.one(b[p.i:j])
		p.i = j + 1
		if b[j] == '\r' && p.i < p.n && b[p.i] == '\n' {
			p.i++
			p.crlf++
		} else if b[j] == '\r' {
			if p.lone++; p.lone == 1 {
				p.loneAt = p.line
			}
		}
	}
}

// full reports whether a batch is full.
func (p *program) full() bool { return p.runs[0].full || len(p.runs) > 1 && p.runs[1].full }

// one interprets a line, without its end.
func (p *program) one(s []byte) {
	p.line++
	first := p.runs[0]
	if max := p.lineMax; len(s) > max {
		first.fault(Fault{Code: LineTooLong, Line: p.line, Col: max + 1, Value: float64(len(s)), Limit: float64(max), Unit: "characters",
			Text: "line is too long", Help: "break the line up, or let the machine profile state the controller's own line length"})
	}
	if rest, ok := bytes.CutPrefix(s, []byte("\xEF\xBB\xBF")); ok && p.line == 1 {
		first.fault(Fault{Code: ByteOrderMark, Line: 1, Col: 1, Text: "byte-order mark before the first word", Help: "save the file as plain ASCII, without a mark in front"})
		s = rest
	}
	t := bytes.Trim(s, " \t")
	if len(t) == 0 {
		return
	}
	if len(t) == 1 && t[0] == '%' {
		p.percentLine()
		return
	}
	p.started = true
	if p.loose > 0 {
		first.fault(misplaced(p.loose))
		p.loose = -1
	}
	if p.percent >= 2 {
		first.afterEnd(s, p.line)
		return
	}
	for _, x := range p.runs {
		x.runLine(s, p.line)
	}
}

// percentLine counts a line of one percent sign. The first must come before
// everything else (section 3.1).
func (p *program) percentLine() {
	switch {
	case p.percent == 0 && p.started && p.loose == 0:
		p.loose = p.line // well and good if nothing follows
	case p.percent == 0 && p.started:
		p.runs[0].fault(misplaced(p.line))
	case p.percent >= 2:
		p.runs[0].fault(Fault{Code: AfterEnd, Line: p.line, Col: 1, Text: "percent line after the end of the program",
			Help: "delete what follows the closing percent line"})
	default:
		p.percent++
	}
	p.started = true
}

// misplaced is the fault of a percent line where none belongs.
func misplaced(line int64) Fault {
	return Fault{Code: PercentMisplaced, Line: line, Col: 1, Text: "percent line in a program that did not begin with one",
		Help: "begin and end the program with a percent line, or use none"}
}

// fork begins the second run, in which lines with a block delete sign are skipped.
func (p *program) fork() error {
	x := p.runs[0]
	y := x.clone()
	y.sinks, y.batch, y.skip = nil, newBatch(batchMax), true
	for _, s := range x.sinks {
		f, err := s.Fork()
		if err != nil {
			return err
		}
		y.sinks = append(y.sinks, f)
	}
	p.runs, p.forking = append(p.runs, y), false
	return nil
}

// finish judges how the file ended.
func (p *program) finish() {
	p.judgeEnds()
	for i, x := range p.runs {
		switch {
		case p.percent == 1 && i == 0 && !x.ended:
			x.fault(Fault{Code: PercentOpen, Line: p.line, Text: "the opening percent line has no closing one",
				Help: "the file may be cut short: end it with a line of one percent sign"})
		case p.percent == 0 && !x.ended:
			x.fault(Fault{Code: NoEnd, Line: p.line, Text: "the program has no end: no M2, M30 or percent lines",
				Help: "the file may be cut short: end the program with M2"})
		}
		if !x.ended {
			x.emit(End, p.line, x.pos).Col = 0
		}
	}
}

// judgeEnds judges what the lines end with.
func (p *program) judgeEnds() {
	feeds := p.line - p.crlf - p.lone
	if p.text.added {
		feeds--
	}
	x := p.runs[0]
	switch {
	case p.lone > 0 && !p.anyEnds:
		x.fault(Fault{Code: LoneReturn, Line: p.loneAt, Value: float64(p.lone), Unit: "lines", Text: "lines that end in a CR alone: a controller that waits for LF reads several as one",
			Help: "save the program with LF or CR LF at every line's end"})
	case feeds > 0 && p.crlf > 0 && !p.anyEnds:
		x.fault(Fault{Code: MixedEnds, Line: 0, Value: float64(min(feeds, p.crlf)), Unit: "lines", Text: "some lines end in LF and some in CR LF: the program was put together from two, or changed on its way",
			Help: "look whether it is whole, and save it with one kind of line end"})
	}
}
