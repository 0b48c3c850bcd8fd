package read

import "strconv"

// exec does what a block says, in the order of section 3.8, Table 8, whatever the
// order of the words in the text.
func (x *interp) exec(b *block) {
	for _, t := range b.texts {
		if !x.texts {
			break
		}
		x.batch.Texts = append(x.batch.Texts, t)
		x.emit(Comment, x.at, x.pos).Extra = int32(len(x.batch.Texts) - 1)
	}
	for _, a := range b.sets {
		x.params[a.index], x.set[a.index] = a.value, true
		if a.index >= 5161 && a.index <= 5190 {
			x.say(MemoryWritten, 1, "parameter #"+strconv.Itoa(a.index)+" is a home in the controller's memory: the next program goes elsewhere", "set homes by hand, not in a program")
		}
		x.setHome(a)
	}
	if !b.words || !x.check(b) {
		return
	}
	x.order(b)
	motion := x.motionOf(b)
	x.setFeed(b)
	x.setSpindle(b, motion)
	if b.g[gNonModal] == 40 {
		x.dwell(b)
	}
	x.setModes(b)
	x.nonModal(b)
	if b.g[gMotion] != none {
		x.setMode(gMotion, b.g[gMotion])
	}
	if b.axes() != 0 && motion != none {
		x.move(b, motion)
	} else if b.axes() != 0 && !x.takesAxes(b) {
		x.say(NoMotionMode, b.axisCol, "axis words, but no motion code is in force", "write G0 or G1 before the first move")
	}
	x.stop(b)
}

// takesAxes reports whether a code of group 0 uses the axis words.
func (x *interp) takesAxes(b *block) bool {
	g := b.g[gNonModal]
	return g == 100 || g == 280 || g == 300 || g == 920
}

// setHome lets a program set the homes of G28 and G30 through their parameters.
func (x *interp) setHome(a assign) {
	for i, first := range [2]int{5161, 5181} {
		if k := a.index - first; k >= 0 && k < 3 {
			x.home[i][k] = a.value * x.scale
			x.homeKnown[i] = x.homeKnown[i] || x.set[first] && x.set[first+1] && x.set[first+2]
		}
	}
}

// order notes words that run before the move of their line though they stand
// after its axis words.
func (x *interp) order(b *block) {
	if b.axisCol == 0 {
		return
	}
	if m := b.m[mSpindle]; m != none && b.mCol[mSpindle] > b.axisCol {
		mark := StopBeforeMove
		if m != 5 {
			mark = StartBeforeMove
		}
		x.note(mark, b.mCol[mSpindle], "M"+string(byte('0'+m)))
	}
	for _, grp := range [...]int{gPlane, gDistance, gFeedMode, gUnits, gSystem} {
		if g := b.g[grp]; g != none && b.gCol[grp] > b.axisCol && x.changes(grp, g) {
			x.note(ModeBeforeMove, b.gCol[grp], gName(g))
		}
	}
}

// changes reports whether the code makes a difference to the mode in force.
func (x *interp) changes(grp int, code int16) bool {
	if x.stated&(1<<grp) == 0 {
		return true
	}
	switch grp {
	case gPlane:
		return x.plane != Plane((code-170)/10)
	case gDistance:
		return x.incremental != (code == 910)
	case gFeedMode:
		return x.inverse != (code == 930)
	case gUnits:
		return (x.scale == inch) != (code == 200)
	}
	return x.system != systemOf(code)
}

// setFeed does G93, G94 and F. The F word's number is kept; its unit is the one in
// force when a move uses it.
func (x *interp) setFeed(b *block) {
	if g := b.g[gFeedMode]; g != none {
		x.feedBefore(gFeedMode, b, g, FeedModeUnstated)
		if x.inverse != (g == 930) {
			x.feedSet = false
		}
		x.setMode(gFeedMode, g)
	}
	if b.has('F') {
		x.feed, x.feedSet = b.val['F'-'A'], true
	}
}

// feedBefore reports an F word that stands on a line before its unit is stated.
func (x *interp) feedBefore(grp int, b *block, g int16, code Code) {
	if x.stated&(1<<grp) == 0 && x.feedSet && !b.has('F') {
		x.say(code, b.gCol[grp], "F was given before "+gName(g)+", which says what it counts", "state "+gName(g)+" before F, or give F again after it")
	}
}

// setSpindle does S, T and M3 to M5.
func (x *interp) setSpindle(b *block, motion int16) {
	if b.has('T') {
		x.tool, _ = asInt(b.val['T'-'A'])
		x.note(ToolWord, b.col['T'-'A'], "T")
	}
	m := b.m[mSpindle]
	if b.has('S') {
		x.sWord, x.powerStated = b.val['S'-'A'], true
		if !x.dialect.powerByM {
			x.s = x.sWord
		}
	}
	if m != none {
		x.switchStated = true
		if x.dialect.powerByM && m != 5 {
			x.s = x.sWord
		}
		x.turn = Off
		if m != 5 {
			x.turn = Turn(m)
		}
		x.emit(Spin, x.at, x.pos).Col = b.mCol[mSpindle]
	} else if b.has('S') && motion == none {
		x.emit(Power, x.at, x.pos).Col = b.col['S'-'A']
	}
}

// longDwell: a dwell of this many seconds or more may have been meant in milliseconds.
const longDwell = 60

// dwell does G4.
func (x *interp) dwell(b *block) {
	if !b.has('P') {
		x.say(MissingWord, b.gCol[gNonModal], "G4 without a P word", "give the time, as G4 P0.5")
		return
	}
	p := b.val['P'-'A']
	if p < 0 {
		x.fault(Fault{Code: Negative, Line: x.at, Col: int(b.col['P'-'A']), Value: p, Unit: "s", Text: "negative dwell", Help: "give a time of 0 or more"})
		return
	}
	if x.dialect.millis {
		p /= 1000
	}
	if p >= longDwell {
		x.noteFigures(LongDwell, b.col['P'-'A'], "P", p, longDwell)
	}
	x.needPower(b.gCol[gNonModal])
	e := x.emit(Dwell, x.at, x.pos)
	e.Feed, e.Col = p, b.gCol[gNonModal]
}

// wideBlend: corners that may be rounded by more than this spoil any fit, mm.
const wideBlend = 0.2

// setModes does plane, units, coordinate system, path control, distance mode and cycle return.
func (x *interp) setModes(b *block) {
	x.setUnits(b)
	if p := b.val['P'-'A'] * x.scale; b.g[gPath] == 640 && b.has('P') && p > wideBlend {
		x.noteFigures(BlendWide, b.col['P'-'A'], "P", p, wideBlend)
	}
	for _, grp := range [...]int{gPlane, gComp, gLength, gSystem, gPath, gDistance, gReturn} {
		if g := b.g[grp]; g != none {
			x.setMode(grp, g)
		}
	}
}

// setUnits does G20 and G21. The report is of two minds about what a later change
// does to stored lengths (sections 4.3.3.2 and 4.3.3.3), so none is let pass while any
// is in use, and the feed must be stated again.
func (x *interp) setUnits(b *block) {
	g := b.g[gUnits]
	if g == none {
		return
	}
	x.feedBefore(gUnits, b, g, UnitsUnstated)
	change := x.stated&(1<<gUnits) != 0 && (x.scale == inch) != (g == 200)
	if change && x.moved {
		x.say(UnitsChanged, b.gCol[gUnits], gName(g)+" changes the units in the middle of the program",
			"state the units once, before the first move; make two programs of it")
	}
	if change && !b.has('F') {
		x.feedSet = false
	}
	x.setMode(gUnits, g)
}

// stop does M0, M1, M2, M30 and M60.
func (x *interp) stop(b *block) {
	switch m := b.m[mStop]; m {
	case 0, 1, 60:
		x.needPower(b.mCol[mStop])
		x.emit(Pause, x.at, x.pos).Col = b.mCol[mStop]
	case 2, 30:
		x.emit(End, x.at, x.pos).Col = b.mCol[mStop]
		x.ended = true
	}
}
