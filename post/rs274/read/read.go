// Package read interprets RS-274/NGC programs, anybody's, as NIST IR 6556 (Kramer,
// Proctor, Messina, The NIST RS274/NGC Interpreter - Version 3, 17 August 2000)
// defines them. It gives the moves in machine coordinates and every place where
// the program says something the language, or what is known of the machine, does
// not allow. It judges no travel, beam or blade: that is for whoever takes its
// events.
//
// A line goes through four stages, a file each: line.go and expr.go read it into a
// block (every value evaluated, nothing done yet), check.go holds the block against
// the rules about what may stand together, exec.go does what it says in the order
// the report lays down, and fast.go takes the short cut that plain lines allow.
// The short cut does nothing of its own: whatever it does not know it hands back.
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
	// faultTexts is how many faults of a code are worded; further ones are only counted.
	faultTexts = 20
	// batchMax is how many events are handed over at once.
	batchMax = 512
	// bufSize is how much of the file is held at once.
	bufSize = 256 << 10
)

// Options say what is known before the first line.
type Options struct {
	Machine *machine.Profile // nil: the report alone, and work zero is machine zero
	Start   *machine.Axes    // where the head stands, machine mm; nil: the profile's park, else work zero
	Texts   bool             // comments are wanted as events

	slow bool // every line goes through the full interpreter
}

// Sink takes what the interpreter finds.
type Sink interface {
	// Take is given a full batch and returns an empty one to fill next, which may be the same after Reset.
	Take(b *Batch) (*Batch, error)
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

// Run interprets the program r and hands events to sink. The error is r's, the
// sink's or ctx's; faults of the program are in the batches.
func Run(ctx context.Context, r io.Reader, opt Options, sink Sink) (Summary, error) {
	p := newProgram(opt, sink)
	sum := Summary{Start: p.runs[0].pos.axes()}
	err := p.read(ctx, r)
	sum.Lines = p.line
	if err != nil {
		return sum, err
	}
	return sum, p.finish()
}

// program is a file being read: one or two runs of the interpreter over the same
// lines, the second with the block delete switch on.
type program struct {
	runs    []*interp
	line    int64 // number of the line being read
	percent int   // lines of percent seen
	started bool  // a line that is not blank has been seen
	lineMax int   // longest line of the machine
	slow    bool
}

func newProgram(opt Options, sink Sink) *program {
	p := &program{runs: []*interp{newInterp(opt, sink)}, lineMax: LineMax, slow: opt.slow}
	if m := opt.Machine; m != nil && m.LineMax > 0 {
		p.lineMax = m.LineMax
	}
	return p
}

// read cuts r into pieces that end at a line end and interprets them.
func (p *program) read(ctx context.Context, r io.Reader) error {
	buf := make([]byte, bufSize+1+pad) // one byte spare for a closing line end
	kept, skip := 0, false
	for {
		if err := ctx.Err(); err != nil {
			return err
		}
		n, err := r.Read(buf[kept:bufSize])
		if err != nil && err != io.EOF {
			return err
		}
		end, atEnd := kept+n, err == io.EOF
		if atEnd && end > 0 && buf[end-1] != '\n' && buf[end-1] != '\r' {
			buf[end] = '\n'
			end++
		}
		from := 0
		if skip { // pass over the rest of a line too long to hold; its end counts it
			if from = bytes.IndexAny(buf[:end], "\r\n"); from < 0 {
				from = end
			}
			skip = from == end
		}
		last := end
		if !atEnd {
			last = from + lastEnd(buf[from:end])
		}
		if e := p.lines(buf[from:last+pad], last-from); e != nil || atEnd {
			return e
		}
		if kept = copy(buf, buf[last:end]); kept > lineHard {
			p.tooLong(kept)
			skip, kept = true, 0
		}
	}
}

// tooLong reports a line that is passed over.
func (p *program) tooLong(n int) {
	p.runs[0].fault(Fault{Code: LineTooLong, Line: p.line + 1, Col: 1, Value: float64(n), Limit: lineHard, Unit: "characters",
		Text: "line is longer than can be read", Help: "break the line up"})
}

// lastEnd returns the place after the last line end of b: a line feed, or, in a
// file that has none, a carriage return that is not the last byte.
func lastEnd(b []byte) int {
	if i := bytes.LastIndexByte(b, '\n'); i >= 0 {
		return i + 1
	}
	if i := bytes.LastIndexByte(b[:max(len(b)-1, 0)], '\r'); i >= 0 {
		return i + 1
	}
	return 0
}

// lines interprets the whole lines of b[:n], which ends with a line end: plain ones
// the fast way.
func (p *program) lines(b []byte, n int) error {
	for i := 0; i < n; {
		if !p.slow && p.plainState() {
			var err error
			if i, err = p.plain(b, i, n); err != nil {
				return err
			}
			if i >= n {
				return nil
			}
		}
		j := i
		for b[j] != '\n' && b[j] != '\r' {
			j++
		}
		if err := p.one(b[i:j]); err != nil {
			return err
		}
		i = j + 1
		if b[j] == '\r' && i < n && b[i] == '\n' {
			i++
		}
	}
	return nil
}

// one interprets a line, without its end.
func (p *program) one(s []byte) error {
	p.line++
	first := p.runs[0]
	if max := p.lineMax; len(s) > max {
		first.fault(Fault{Code: LineTooLong, Line: p.line, Col: max + 1, Value: float64(len(s)), Limit: float64(max), Unit: "characters",
			Text: "line is too long", Help: "break the line up, or let the machine profile state the controller's own line length"})
	}
	t := bytes.Trim(s, " \t")
	if len(t) == 0 {
		return nil
	}
	if len(t) == 1 && t[0] == '%' {
		p.percentLine()
		return nil
	}
	p.started = true
	if p.percent >= 2 {
		first.afterEnd(s, p.line)
		return nil
	}
	if t[0] == '/' && len(p.runs) == 1 {
		if err := p.fork(); err != nil {
			return err
		}
	}
	for _, x := range p.runs {
		if err := x.runLine(s, p.line); err != nil {
			return err
		}
	}
	return nil
}

// percentLine counts a line of one percent sign. The first must come before
// everything else (section 3.1).
func (p *program) percentLine() {
	switch {
	case p.percent == 0 && p.started:
		p.runs[0].fault(Fault{Code: PercentMisplaced, Line: p.line, Col: 1, Text: "percent line in a program that did not begin with one",
			Help: "begin and end the program with a percent line, or use none"})
	case p.percent >= 2:
		p.runs[0].fault(Fault{Code: AfterEnd, Line: p.line, Col: 1, Text: "percent line after the end of the program",
			Help: "delete what follows the closing percent line"})
	default:
		p.percent++
	}
	p.started = true
}

// fork begins the second run, in which lines with a block delete sign are skipped.
func (p *program) fork() error {
	x := p.runs[0]
	if err := x.flush(); err != nil {
		return err
	}
	s, err := x.sink.Fork()
	if err != nil {
		return err
	}
	y := x.clone()
	y.sink, y.batch, y.skip = s, NewBatch(), true
	p.runs = append(p.runs, y)
	return nil
}

// finish judges how the file ended and hands over what is left.
func (p *program) finish() error {
	for i, x := range p.runs {
		switch {
		case p.percent == 1 && i == 0:
			x.fault(Fault{Code: PercentOpen, Line: p.line, Text: "the opening percent line has no closing one",
				Help: "the file may be cut short: end it with a line of one percent sign"})
		case p.percent == 0 && !x.ended:
			x.fault(Fault{Code: NoEnd, Line: p.line, Text: "the program has no end: no M2, M30 or percent lines",
				Help: "the file may be cut short: end the program with M2"})
		}
		if !x.ended {
			x.emit(End, p.line, x.pos).Col = 0
		}
		if err := x.flush(); err != nil {
			return err
		}
	}
	return nil
}
