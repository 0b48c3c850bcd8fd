package read

import (
	"bytes"

	"spotjig/cam/machine"
)

// interp is the state of one run of a program.
type interp struct {
	sinks []Sink
	batch *Batch
	count map[Code]int // of faults so far
	skip  bool         // the block delete switch is on
	texts bool         // comments are wanted
	full  bool         // the batch must go before the next line
	bad   bool         // a fault was found

	dialect dialect
	beam    bool // M3, M4 and S stand for a beam
	hasZ    bool
	tools   bool // the machine has a spindle and so may have tools
	machine bool // there is a profile

	// Modes; stated has a bit for every modal group the program or the profile stated.
	stated      uint32
	motion      int16 // code times ten
	plane       Plane
	incremental bool
	inverse     bool
	scale       float64 // mm for one unit
	arcTol      float64 // mm
	toR         bool
	system      int
	path        Path
	moved       bool // something was moved, shifted or fed: units may not change any more

	feed    float64 // as the F word said, program units a minute
	feedSet bool
	s       float64
	sWord   float64 // the S word last read, which the controller may not have taken yet
	turn    Turn

	// Of a beam: what the program has stated of it, and what was told for want of it.
	switchStated, powerStated                bool
	beamTold, powerTold, switchTold, settled bool

	tool, toolIn int // the tool that T names and the one in the spindle, 0 not known
	drilled      int // moves made by canned cycles so far
	lost         [3]bool
	anyLost      bool // the place of an axis is not known
	centersAbs   bool // G90.1

	pos       Point // machine mm
	origin    [10]Point
	known     [10][3]bool
	shift     Point // G92, mm
	kept      Point // G92 as stored for G92.3
	keptKnown bool
	home      [2]Point // G28, G30
	homeKnown [2]bool

	params [paramMax + 1]float64
	set    [paramMax + 1]bool
	zero   bool // parameters never set are zero
	ended  bool

	cycle cycle
	blk   block
	at    int64 // line in hand
}

func newInterp(opt Options, sinks []Sink) *interp {
	x := &interp{sinks: sinks, texts: opt.Texts, batch: newBatch(batchMax), motion: none, scale: 1, arcTol: 0.002, system: 1, hasZ: true, tools: true}
	x.dialect = dialectOf(opt.Machine)
	x.settled = true
	if m := opt.Machine; m == nil {
		x.known[1] = [3]bool{true, true, true} // work zero is machine zero
	} else {
		x.adopt(m)
	}
	switch {
	case opt.Start != nil:
		x.pos = pointOf(*opt.Start)
	case opt.Machine != nil && opt.Machine.Park != nil:
		x.pos = pointOf(*opt.Machine.Park)
	default:
		x.pos = x.origin[1]
	}
	return x
}

// adopt takes over what the profile declares.
func (x *interp) adopt(m *machine.Profile) {
	x.machine, x.hasZ, x.tools, x.zero = true, m.HasZ, m.HasSpindle, m.ParametersZero
	x.beam = m.Process == machine.Laser && !m.HasSpindle
	x.toolIn = m.ToolIn
	if m.Min.X < m.Max.X && m.Min.Y < m.Max.Y { // where a work zero that nobody declared is taken to be
		x.origin[1] = Point{m.Min.X, m.Min.Y}
	}
	for n, o := range m.Offsets {
		if n >= 1 && n <= 9 {
			x.origin[n], x.known[n] = pointOf(o), [3]bool{true, true, true}
		}
	}
	for i, h := range [2]*machine.Axes{m.Home28, m.Home30} {
		if h != nil {
			x.home[i], x.homeKnown[i] = pointOf(*h), true
		}
	}
	x.keptKnown = m.ParametersZero
	x.powerOn(m.PowerOn)
	if m.AfterEnd == "kept" { // the last program may have left anything
		x.stated, x.switchStated, x.powerStated = 0, false, false
	}
	x.settle()
}

// clone copies the state for the second run; its faults count anew.
func (x *interp) clone() *interp {
	y := *x
	y.count, y.blk = nil, block{}
	return &y
}

// flush hands the batch over.
func (x *interp) flush() error {
	x.full = false
	if len(x.batch.Events)+len(x.batch.Faults) == 0 {
		return nil
	}
	for _, s := range x.sinks {
		if err := s.Take(x.batch); err != nil {
			return err
		}
	}
	x.batch.Reset()
	return nil
}

// emit adds an event.
func (x *interp) emit(k Kind, line int64, to Point) *Event {
	x.batch.Events = append(x.batch.Events, Event{Kind: k, Turn: x.turn, Path: x.path, Line: line, To: to, S: x.s, Extra: -1, Col: x.blk.first})
	if len(x.batch.Events) >= batchMax {
		x.full = true
	}
	return &x.batch.Events[len(x.batch.Events)-1]
}

// note adds a fact about the line.
func (x *interp) note(m Mark, col uint16, word string) { x.noteFigures(m, col, word, 0, 0) }

// noteFigures notes a fact that a value and the limit it passes tell.
func (x *interp) noteFigures(m Mark, col uint16, word string, value, limit float64) {
	x.batch.Notes = append(x.batch.Notes, Note{m, word, value, limit})
	e := x.emit(Noted, x.at, x.pos)
	e.Extra, e.Col = int32(len(x.batch.Notes)-1), col
}

// say adds a fault at a column of the line in hand.
func (x *interp) say(c Code, col uint16, text, help string) {
	x.fault(Fault{Code: c, Line: x.at, Col: int(col), Text: text, Help: help})
}

// param returns the value of parameter n. Those that the report ties to the
// state (Table 2) are told from the state, in the units in force.
func (x *interp) param(n int) (float64, bool) {
	switch {
	case n >= 5161 && n <= 5163 && !x.set[n]:
		return x.home[0][n-5161] / x.scale, x.homeKnown[0]
	case n >= 5181 && n <= 5183 && !x.set[n]:
		return x.home[1][n-5181] / x.scale, x.homeKnown[1]
	case n >= 5211 && n <= 5213:
		return x.shift[n-5211] / x.scale, true
	case n == 5220:
		return float64(x.system), true
	case n >= 5221 && n <= 5386:
		k, axis := (n-5221)/20+1, (n-5221)%20
		if axis < 3 {
			return x.origin[k][axis] / x.scale, x.known[k][axis]
		}
	}
	return x.params[n], x.set[n] || x.zero
}

// runLine interprets one line that is neither blank nor a percent sign.
func (x *interp) runLine(s []byte, line int64) {
	x.at = line
	if x.skip && firstByte(s) == '/' {
		return
	}
	if firstByte(s) == '$' && isSetting(s) {
		x.say(SettingsLine, 1, "a line that changes a setting of the controller", "send settings by themselves, and let the machine profile say what they are")
		return
	}
	if x.ended {
		x.afterEnd(s, line)
	} else if f, ok := x.parse(s, &x.blk); !ok {
		f.Line = line
		x.fault(f)
	} else {
		x.exec(&x.blk)
	}
}

func firstByte(s []byte) byte {
	for _, c := range s {
		if c != ' ' && c != '\t' {
			return c
		}
	}
	return 0
}

// afterEnd reports a line with anything but comments after the program's end:
// whoever sends the file line by line may still send it.
func (x *interp) afterEnd(s []byte, line int64) {
	x.at = line
	if _, ok := x.parse(s, &x.blk); ok && !x.blk.words {
		return
	}
	f := Fault{Code: AfterEnd, Line: line, Col: max(int(x.blk.first), 1), Text: "words after the end of the program",
		Help: "delete what follows the end; a sender that works line by line would still send it"}
	x.fault(f)
}

// isSetting reports whether the line is $, a number, = and a number: a setting in the
// memory of some controllers, and nothing that moves.
func isSetting(s []byte) bool {
	name, value, ok := bytes.Cut(bytes.TrimSpace(s)[1:], []byte("="))
	number := func(t []byte) bool { return len(t) > 0 && len(bytes.Trim(t, "0123456789.")) == 0 }
	return ok && number(bytes.TrimSpace(name)) && number(bytes.TrimLeft(bytes.TrimSpace(value), "+-"))
}
