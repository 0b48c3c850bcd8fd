package dryrun

import (
	"fmt"
	"math"
	"slices"

	"spotjig/cam/machine"
	"spotjig/layout/figure"
	"spotjig/layout/geom"
	"spotjig/post/rs274/read"
)

// listMax is how many findings of a code are listed; the rest are counted.
const listMax = 20

// tinyOver: a place this far past a limit is on it. Far above the rounding of
// decimal fractions, far below the last digit of any program.
const tinyOver = 1e-6

// judge takes the events of one run of the program.
type judge struct {
	opt  Options
	m    *machine.Profile
	fork *judge // the run with the block delete switch on, if there is one

	laser, knife bool
	router       bool
	dark         bool      // rapids are dark whatever M3, M4 and S say
	beamWord     read.Turn // M3 or M4 as the profile says; Off: either
	spot         spot
	bore         read.Point // of a router: where the tool last cut, and how deep there
	smax, scap   float64    // S limits; +Inf where there is none
	fmax         float64    // mm/s
	min, max     read.Point
	zones        []machine.Zone
	stock        *Box3 // machine coordinates
	top, floor   float64
	hasFloor     bool

	pos         read.Point
	moved       bool
	all, work   extent  // of all motion; of what the beam or the tool works
	feed, rapid float64 // how far the head has gone so, mm
	step        float64 // the longest move, mm

	fired    bool // the beam is on and nothing has moved since
	firedAt  int64
	firedCol int
	paused   int64 // line of the last M0 or M1 not followed by motion
	watch    bool  // begin is to be called before the next move
	easy     bool  // plain may judge moves inside safe
	safe     Box3
	found    map[string]*pile // by code
	over     [3][2]excess     // by axis: past the lower limit of travel, past the upper
	burnt    *burnt           // nil: repeats do not count
	blade    *blade           // nil: no knife
}

// pile is what was found under one code.
type pile struct {
	list []Problem
	rest int64 // how many more
	line int64 // the first of those
	col  int
}

func newJudge(opt Options) *judge {
	inf := math.Inf(1)
	j := &judge{opt: opt, m: opt.Machine, watch: true, smax: inf, scap: inf, fmax: inf, found: map[string]*pile{},
		all: newExtent(), work: newExtent(),
		min: read.Point{-inf, -inf, -inf}, max: read.Point{inf, inf, inf}}
	origin := machine.Axes{}
	if m := j.m; m != nil {
		origin = m.Offsets[1]
		j.adopt(m, origin)
	}
	if opt.Stock != nil {
		j.stock = &Box3{add(opt.Stock.Min, origin), add(opt.Stock.Max, origin)}
	}
	start := opt.start()
	j.pos = read.Point{start.X, start.Y, start.Z}
	j.easy, j.safe = len(j.zones) == 0 && j.blade == nil && !j.router, j.safeBox()
	return j
}

func add(a, b machine.Axes) machine.Axes {
	return machine.Axes{X: a.X + b.X, Y: a.Y + b.Y, Z: a.Z + b.Z}
}

// adopt takes the machine's limits over.
func (j *judge) adopt(m *machine.Profile, origin machine.Axes) {
	j.laser = beamMachine(m)
	j.knife, j.router = m.Process == machine.Knife, m.Process == machine.Router
	j.dark = m.DarkRapids
	if j.laser {
		j.beamWord = map[string]read.Turn{"M3": read.Forward, "M4": read.Reverse}[m.BeamWord]
		j.spot = newSpot(m, j.opt.Material)
	}
	if m.PowerScale > 0 && j.laser {
		j.smax = m.PowerScale
	}
	if mat := j.opt.Material; mat != nil && mat.PowerCap > 0 && j.laser {
		j.scap = mat.PowerCap
	}
	if m.FeedMax > 0 {
		j.fmax = float64(m.FeedMax) * (1 + feedSlack)
	}
	lo, hi := [3]float64{m.Min.X, m.Min.Y, m.Min.Z}, [3]float64{m.Max.X, m.Max.Y, m.Max.Z}
	for i := range lo {
		if lo[i] < hi[i] { // a profile without travel on an axis limits nothing there
			j.min[i], j.max[i] = lo[i]-tinyOver, hi[i]+tinyOver
		}
	}
	j.zones = m.KeepOut
	j.top = origin.Z
	if j.knife && m.Knife.ZFloor < 0 {
		j.floor, j.hasFloor = origin.Z+m.Knife.ZFloor, true
	}
	if j.router && m.Floor < 0 {
		j.floor, j.hasFloor = origin.Z+m.Floor, true
	}
	if j.knife && !j.opt.quick {
		j.blade = newBlade(m.Knife, origin.Z, j.opt.Start != nil || m.Park != nil)
	}
	if m.RepeatMax > 0 && !j.opt.quick {
		j.burnt = newBurnt(m.RepeatMax)
	}
}

// feedSlack: a feed that is the limit but for rounding is the limit.
const feedSlack = 1e-9

// Fork returns a judge in the same state.
func (j *judge) Fork() (read.Sink, error) {
	j.fork = j.clone()
	return j.fork, nil
}

// clone returns a judge in the same state, with findings of its own.
func (j *judge) clone() *judge {
	k := *j
	k.fork = nil
	k.found = map[string]*pile{}
	for c, p := range j.found {
		q := *p
		q.list = slices.Clone(p.list)
		k.found[c] = &q
	}
	if j.burnt != nil {
		k.burnt = j.burnt.clone()
	}
	if j.blade != nil {
		b := *j.blade
		k.blade = &b
	}
	return &k
}

// find adds a finding. more completes it and is called only while there is room.
func (j *judge) find(code string, line int64, col int, more func(p *Problem)) {
	q := j.found[code]
	if q == nil {
		q = &pile{}
		j.found[code] = q
	}
	if summed[code] && len(q.list) == 1 {
		q.list[0].Count++
		return
	}
	if len(q.list) >= listMax {
		if q.rest++; q.rest == 1 {
			q.line, q.col = line, col
		}
		return
	}
	p := Problem{Line: line, Col: col, Code: code, Severity: severity(code), Count: 1}
	more(&p)
	if p.Help == "" {
		p.Help = remedy(code)
	}
	q.list = append(q.list, p)
}

// site is where a finding is, and the figures that tell it.
type site struct {
	line         int64
	col          int
	value, limit float64
	unit         string // "": no figures
}

// firstWord is the line's first word.
func firstWord(e *read.Event) site { return site{line: e.Line, col: int(e.Col)} }

// axisWord is an axis's word, or the line's first where there is none.
func axisWord(e *read.Event, axis int) site { return site{line: e.Line, col: columnOf(e, axis)} }

// of is the site with what was found there against its limit.
func (s site) of(value, limit float64, unit string) site {
	s.value, s.limit, s.unit = value, limit, unit
	return s
}

// report adds a finding with its text.
func (j *judge) report(code string, at site, format string, args ...any) {
	j.find(code, at.line, at.col, func(p *Problem) {
		if at.unit != "" {
			p.number(at.value, at.limit, at.unit)
		}
		p.Text = fmt.Sprintf(format, args...)
	})
}

// number puts value and limit into a problem.
func (p *Problem) number(value, limit float64, unit string) {
	value, limit = geom.Millionth(value), geom.Millionth(limit)
	p.Value, p.Limit, p.Unit = &value, &limit, unit
}

// Take judges a batch.
func (j *judge) Take(b *read.Batch) error {
	for i := range b.Faults {
		j.fault(&b.Faults[i])
	}
	for i := 0; i < len(b.Events); i++ {
		if j.easy {
			if i += j.plain(b.Events[i:]); i == len(b.Events) {
				break
			}
		}
		e := &b.Events[i]
		switch e.Kind {
		case read.Rapid, read.Line:
			j.straight(e)
		case read.Arc:
			j.arc(e, &b.Arcs[e.Extra])
		case read.Comment:
		default:
			j.other(e, b)
		}
	}
	return nil
}

// fault passes on what the reader found.
func (j *judge) fault(f *read.Fault) {
	j.find(string(f.Code), f.Line, f.Col, func(p *Problem) {
		p.Text, p.Help, p.taken = f.Text, f.Help, f.Taken
		if f.Unit != "" {
			p.number(f.Value, f.Limit, f.Unit)
		}
	})
}

// on reports whether the beam is on in e's state.
func (j *judge) on(e *read.Event) bool {
	return j.laser && e.Turn != read.Off && e.S > 0 && !(j.dark && e.Kind == read.Rapid)
}

// begin is called before the first move of the program, and before the first after a stop. It
// takes in the place where the head stands, and reports a move after a stop.
func (j *judge) begin(e *read.Event) {
	if !j.moved && j.outside(j.pos) {
		j.travel(e, j.pos, j.pos)
	}
	j.watch, j.moved = false, true
	j.all.include(j.pos, e.Line)
	if line := j.paused; line > 0 {
		j.paused = 0
		j.report(PauseMoves, site{line: line}, "the program stops here and goes on moving on line %d", e.Line)
	}
}

// straight judges a rapid or a line.
func (j *judge) straight(e *read.Event) {
	if j.watch {
		j.begin(e)
	}
	from := j.pos
	j.pos = e.To
	j.all.include(e.To, e.Line)
	d := length(from, e.To)
	if d > j.step {
		j.step = d
	}
	on := j.on(e)
	if e.Kind == read.Rapid {
		j.rapid += d
		if on {
			j.beamInRapid(e, from)
		}
	} else {
		j.feed += d
		j.cutting(e, d, on)
	}
	if on {
		if e.Kind == read.Line {
			j.burns(e, from, d, !j.spot.on && d > j.spot.reach || j.spot.on && j.spot.leaves(e.To))
		}
	} else if j.spot.on && j.spot.leaves(e.To) {
		j.spot.on = false
	}
	if on || e.Kind == read.Line && j.sinks(from[2], e.To[2]) {
		j.work.include(from, e.Line)
		j.work.include(e.To, e.Line)
	}
	if j.outside(e.To) {
		j.travel(e, e.To, e.To)
	}
	if !j.opt.quick {
		j.rest(e, from, on)
	}
}

// rest judges what a quick run leaves out: zones, sheet, blade, router and repeats.
func (j *judge) rest(e *read.Event, from read.Point, on bool) {
	if len(j.zones) > 0 {
		j.keepOut(e, from)
	}
	if j.stock != nil || j.hasFloor {
		j.sheet(e, boxOf(from, e.To), on)
	}
	if j.blade != nil {
		j.blade.straight(j, e, from)
	}
	if j.router {
		j.mill(e, from)
	}
	if j.burnt != nil && on && e.Kind == read.Line {
		j.repeat(e, &from, 0)
	}
}

func length(a, b read.Point) float64 {
	dx, dy, dz := b[0]-a[0], b[1]-a[1], b[2]-a[2]
	return math.Sqrt(dx*dx + dy*dy + dz*dz)
}

// cutting judges power, feed and standstill of a feed move.
func (j *judge) cutting(e *read.Event, d float64, on bool) {
	if e.Feed > j.fmax {
		j.tooFast(e)
	}
	if !on {
		return
	}
	if e.S > j.smax || e.S > j.scap {
		j.power(e)
	}
	if d == 0 {
		j.report(NoMotion, firstWord(e), "cutting move that goes nowhere, with the beam on")
		return
	}
	j.fired = false
}

// arc judges an arc.
func (j *judge) arc(e *read.Event, c *read.Curve) {
	if j.watch {
		j.begin(e)
	}
	box := c.Box()
	j.all.include(box[0], e.Line)
	j.all.include(box[1], e.Line)
	from := j.pos
	j.pos = e.To
	d := c.Length()
	j.feed += d
	j.step = math.Max(j.step, d)
	on := j.on(e)
	j.cutting(e, d, on)
	switch {
	case on:
		j.burns(e, from, d, j.spot.arcLeaves(from, c))
	case j.spot.on && j.spot.leaves(e.To):
		j.spot.on = false
	}
	if on || j.sinks(box[0][2], box[0][2]) {
		j.work.include(box[0], e.Line)
		j.work.include(box[1], e.Line)
	}
	if j.outside(box[0]) || j.outside(box[1]) {
		j.travel(e, box[0], box[1])
	}
	if j.opt.quick {
		return
	}
	if len(j.zones) > 0 {
		j.keepOutArc(e, c)
	}
	if j.stock != nil || j.hasFloor {
		j.sheet(e, box, on)
	}
	if j.blade != nil {
		j.blade.arc(j, e, c)
	}
	if j.router {
		j.mill(e, box[0])
	}
	if j.burnt != nil && on {
		m := c.Middle()
		j.repeat(e, &from, hashCells(cell(m[0]), cell(m[1]), m[2]))
	}
}

// other judges what is not a move.
func (j *judge) other(e *read.Event, b *read.Batch) {
	switch e.Kind {
	case read.Spin, read.Power:
		j.switched(e)
	case read.Dwell:
		j.dwell(e)
	case read.Pause:
		j.pause(e)
	case read.End:
		j.end(e)
	case read.Reach:
		j.reach(e)
	case read.Noted:
		j.note(e, &b.Notes[e.Extra])
	}
}

// sinks reports whether a blade or a spindle's tool is in the sheet at the lower of two heights.
func (j *judge) sinks(a, b float64) bool {
	return (j.knife || j.router) && math.Min(a, b) < j.top-tinyOver
}

// reach judges a place where the head may come if a controller reads the line in another way.
func (j *judge) reach(e *read.Event) {
	j.all.include(e.To, e.Line)
	if j.outside(e.To) {
		j.travel(e, e.To, e.To)
	}
	if j.stock != nil || j.hasFloor {
		j.sheet(e, [2]read.Point{e.To, e.To}, false)
	}
}

// late judges the time that the program takes, s.
func (j *judge) late(total float64) {
	if m := j.m; m.TimeMax > 0 && total > m.TimeMax {
		j.report(TooLong, site{}.of(total, m.TimeMax, "s"), "estimated time %s is over the limit of %s", figure.Time(total), figure.Time(m.TimeMax))
	}
}

// problems lists what was found.
func (j *judge) problems() []Problem {
	var out []Problem
	for code, q := range j.found {
		for _, p := range q.list {
			if summed[code] && p.Count > 1 {
				p.Text += fmt.Sprintf(" (%d in all)", p.Count)
			}
			out = append(out, p)
		}
		if q.rest > 0 {
			out = append(out, Problem{Line: q.line, Col: q.col, Code: code, Severity: severity(code), Count: q.rest,
				Text: fmt.Sprintf("%d more from here on", q.rest), Help: remedy(code)})
		}
	}
	return append(out, j.travelProblems()...)
}
