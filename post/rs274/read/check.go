package read

import "strconv"

// check holds a block against the rules about what may stand together and what
// must stand with what (sections 3.3.5, 3.4 and 3.5). It reports; it stops the line
// only where doing it would have no meaning.
func (x *interp) check(b *block) bool {
	g0, explicit := b.g[gNonModal], b.g[gMotion]
	axes := b.axes()
	takes := g0 == 100 || g0 == 280 || g0 == 300 || g0 == 920
	if takes && explicit != none && explicit != 800 && axes != 0 {
		x.say(AxisWordsTwice, b.gCol[gMotion], gName(g0)+" and "+gName(explicit)+" both want the axis words", "put "+gName(g0)+" on a line of its own")
		return false
	}
	if b.cancels && axes != 0 {
		x.say(GroupTwice, b.gCol[gMotion], "G80 and "+gName(explicit)+" with axis words: which of them is in force is not told", "put G80 on a line of its own")
	}
	if !takes && axes == 0 && explicit > 10 && explicit != 800 { // G0 and G1 alone state the mode
		x.say(NoAxisWord, b.gCol[gMotion], gName(explicit)+" without an axis word", "put the code on the line of the first move")
	}
	if (g0 == 100 || g0 == 920) && axes == 0 {
		x.say(NoAxisWord, b.gCol[gNonModal], gName(g0)+" without an axis word", "say which axes are meant")
		return false
	}
	if g0 == 530 && axes == 0 {
		x.say(NoAxisWord, b.gCol[gNonModal], "G53 without an axis word", "say where to move, in machine coordinates")
	}
	x.refuse(b)
	x.unused(b)
	return x.values(b)
}

// axes returns the bits of the X, Y and Z words.
func (b *block) axes() uint32 { return b.seen & (bit('X') | bit('Y') | bit('Z')) }

// motionOf returns the motion the axis words of b are for: the code on the line,
// or the one in force; none when there are no axis words or a code of group 0 takes them.
func (x *interp) motionOf(b *block) int16 {
	g0 := b.g[gNonModal]
	if b.axes() == 0 || g0 == 100 || g0 == 280 || g0 == 300 || g0 == 920 {
		return none
	}
	if b.g[gMotion] != none {
		return b.g[gMotion]
	}
	return x.motion
}

// refuse reports what is in the language but whose outcome no file can tell.
func (x *interp) refuse(b *block) {
	for _, c := range [3]byte{'A', 'B', 'C'} {
		if b.has(c) && !x.dialect.passes(c) {
			x.say(RotaryAxis, b.col[c-'A'], "word "+string(c)+" turns an axis that this machine does not have", "remove the word; the report's own interpreter would drop it in silence")
		}
	}
	if b.has('Z') && !x.hasZ {
		x.say(NoSuchAxis, b.col['Z'-'A'], "word Z moves an axis that this machine does not have", "remove the Z words, or choose the machine the program is for")
	}
	if g := b.g[gComp]; g == 410 || g == 420 {
		x.say(CutterComp, b.gCol[gComp], gName(g)+" shifts the path by a radius from the controller's table", "write the path that the tool's centre takes, with G40")
	}
	if b.g[gLength] == 430 {
		x.say(ToolLength, b.gCol[gLength], "G43 shifts Z by a length from the controller's table", "set work zero with the tool in place, with G49")
	}
	switch g := b.g[gMotion]; g {
	case 382:
		x.say(Probe, b.gCol[gMotion], "after G38.2 the position depends on what the probe meets", "probe before the program, not in it")
	case 840, 860, 870, 880:
		x.say(CycleRefused, b.gCol[gMotion], "cycle "+gName(g)+" waits for a spindle or a hand", "use G81, G82, G83, G85 or G89, or write the moves out")
	}
	if b.m[mTool] == 6 {
		x.changeTool(b)
	}
	if b.m[mStop] == 60 {
		x.say(Pallet, b.mCol[mStop], "where M60 moves the pallet is not in the file", "end the program and begin another")
	}
}

// unused reports words that nothing on the line uses.
func (x *interp) unused(b *block) {
	used := bit('X') | bit('Y') | bit('Z') | bit('F') | bit('S') | bit('T') | bit('A') | bit('B') | bit('C')
	if b.seen&^used == 0 {
		return
	}
	switch b.g[gNonModal] {
	case 40:
		used |= bit('P')
	case 100:
		used |= bit('P') | bit('L')
	}
	if b.extra || b.g[gPath] == 640 { // a tolerance, or what belongs to a code passed over
		used |= bit('P') | bit('Q')
	}
	switch x.motionOf(b) {
	case 20, 30:
		used |= bit('I') | bit('J') | bit('K') | bit('R')
	case 810, 850:
		used |= bit('R') | bit('L')
	case 820, 890:
		used |= bit('R') | bit('L') | bit('P')
	case 830:
		used |= bit('R') | bit('L') | bit('Q')
	case 840, 860, 870, 880, 382: // refused already
		used |= bit('R') | bit('L') | bit('P') | bit('Q') | bit('I') | bit('J') | bit('K')
	}
	if b.g[gComp] == 410 || b.g[gComp] == 420 {
		used |= bit('D')
	}
	if b.g[gLength] == 430 {
		used |= bit('H')
	}
	for i := 0; i < len(letters); i++ {
		if c := letters[i]; b.has(c) && used&bit(c) == 0 && !x.dialect.passes(c) {
			x.say(UnusedWord, b.col[c-'A'], "no code on the line uses the word "+string(c), "remove it, or write the code it belongs to")
		}
	}
}

// values reports values out of their range.
func (x *interp) values(b *block) bool {
	for _, c := range [...]byte{'F', 'S', 'T', 'H', 'L', 'D'} {
		if b.has(c) && b.val[c-'A'] < 0 {
			x.fault(Fault{Code: Negative, Line: x.at, Col: int(b.col[c-'A']), Value: b.val[c-'A'], Limit: 0, Unit: string(c),
				Text: "negative " + string(c) + " word", Help: "give a value of 0 or more"})
			return false
		}
	}
	for _, c := range [...]byte{'T', 'L', 'H', 'D'} {
		if v := b.val[c-'A']; b.has(c) && !isInt(v) {
			x.say(NotInteger, b.col[c-'A'], string(c)+" wants a whole number, not "+strconv.FormatFloat(v, 'f', -1, 64), "give a whole number")
			return false
		}
	}
	return true
}

func isInt(v float64) bool { _, ok := asInt(v); return ok }

// changeTool judges M6. What is in the spindle needs no change; the first tool a program
// asks for may be in.
func (x *interp) changeTool(b *block) {
	want := x.tool
	if b.has('T') {
		want, _ = asInt(b.val['T'-'A'])
	}
	switch {
	case x.tools && want > 0 && want == x.toolIn:
	case x.tools && want > 0 && x.toolIn == 0:
		x.toolIn = want
		x.fault(Fault{Code: ToolTaken, Line: x.at, Col: int(b.mCol[mTool]), Text: "where the axes go during M6 is not in the file",
			Help: "let the machine profile say tool_in: " + strconv.Itoa(want) + " if that tool is in the spindle", Taken: "tool " + strconv.Itoa(want) + " is in the spindle"})
	default:
		x.say(ToolChange, b.mCol[mTool], "where the axes go during M6 is not in the file", "make a program for each tool")
	}
}
