package read

// offset returns what is added to a program coordinate to give machine mm.
func (x *interp) offset(axis int) float64 { return x.origin[x.system][axis] + x.shift[axis] }

// targets returns where the axis words of b lead, machine mm; axes not named stay.
func (x *interp) targets(b *block) Point {
	to := x.pos
	for i := 0; i < 3; i++ {
		c := byte('X' + i)
		if !b.has(c) {
			continue
		}
		v := b.val[c-'A'] * x.scale
		if x.anyLost {
			x.find(b, i)
		}
		switch {
		case b.g[gNonModal] == 530:
			to[i] = v
		case x.incremental:
			to[i] = x.pos[i] + v
		default:
			to[i] = v + x.offset(i)
		}
	}
	return to
}

// needModes reports the modes a move depends on that neither the program nor the
// profile states, each once.
func (x *interp) needModes(b *block) {
	const all = 1<<gUnits | 1<<gDistance | 1<<gPlane | 1<<gSystem | 1<<gComp | 1<<gLength
	if x.stated&all == all {
		return
	}
	for _, m := range [...]struct {
		group      int
		code       Code
		what, word string
	}{
		{gUnits, UnitsUnstated, "units", "G21 (mm) or G20 (inch)"},
		{gDistance, DistanceUnstated, "distance mode", "G90 (absolute) or G91 (incremental)"},
		{gPlane, PlaneUnstated, "plane of arcs", "G17, G18 or G19"},
		{gSystem, OffsetUnstated, "work offset", "G54 to G59.3"},
		{gComp, CompUnstated, "cutter radius compensation", "G40"},
		{gLength, LengthUnstated, "tool length offset", "G49"},
	} {
		x.need(m.group, m.code, b.axisCol, m.what, m.word)
	}
}

// need reports one mode that is not stated, once.
func (x *interp) need(group int, code Code, col uint16, what, word string) {
	if x.stated&(1<<group) != 0 {
		return
	}
	x.stated |= 1 << group
	help := "state " + word + " before the first move, or declare it under power_on in the machine profile"
	x.fault(Fault{Code: code, Line: x.at, Col: int(col), Text: "no " + what + " stated: the controller would use whatever was left in it", Help: help,
		Taken: x.inForce(group) + " is in force"})
}

// needOrigin reports axes whose work origin nobody declared, once a system.
func (x *interp) needOrigin(b *block) {
	for i := 0; i < 3; i++ {
		if c := byte('X' + i); b.has(c) && !x.incremental && !x.known[x.system][i] {
			x.known[x.system] = [3]bool{true, true, true}
			name := systemName(x.system)
			code := OffsetUnknown
			if x.system == 1 {
				code = OriginTaken
			}
			x.say(code, b.col[c-'A'], "the origin of "+name+" is not known", "declare it under offsets in the machine profile")
		}
	}
}

// move does the motion of a line.
func (x *interp) move(b *block, motion int16) {
	x.needModes(b)
	if !x.settled {
		x.needBeam(b, motion)
	}
	if b.g[gNonModal] == 530 {
		if motion != 0 && motion != 10 || x.incremental {
			x.say(BadG53, b.gCol[gNonModal], "G53 goes with G0 or G1 in G90 only", "write a straight move in G90")
		}
	} else {
		x.needOrigin(b)
	}
	x.moved = true
	if x.anyLost && motion != 0 {
		x.placed(b, motion)
	}
	switch motion {
	case 0:
		x.straight(Rapid, b, x.targets(b), 0)
	case 10:
		to := x.targets(b)
		x.straight(Line, b, to, x.speed(b, dist(x.pos, to)))
	case 20, 30:
		x.arc(b, motion == 20)
	case 800:
		x.say(NoMotionMode, b.axisCol, "axis words after G80, which ended the motion mode", "write G0 or G1 before the move")
	case 810, 820, 830, 850, 890:
		x.drill(b, motion)
	default: // refused; the likeliest meaning of its words is a move there
		x.straight(Line, b, x.targets(b), 0)
	}
}

// straight emits a straight move and makes it.
func (x *interp) straight(k Kind, b *block, to Point, feed float64) *Event {
	e := x.emit(k, x.at, to)
	e.Feed = feed
	for i := range e.Cols {
		if b.has(byte('X' + i)) {
			e.Cols[i] = b.col['X'+i-'A']
		}
	}
	x.pos = to
	return e
}

// speed returns the feed of a move of the given length, mm/s; 0 and a fault when it is not stated.
func (x *interp) speed(b *block, length float64) float64 {
	x.need(gFeedMode, FeedModeUnstated, b.axisCol, "feed mode", "G94")
	if x.inverse {
		if !b.has('F') || x.feed <= 0 {
			x.say(InverseMissing, b.axisCol, "no F word on a line in G93, where each move needs its own", "give F as one over the minutes the move takes")
			return 0
		}
		return length * x.feed / 60
	}
	if !x.feedSet || x.feed <= 0 {
		text := "no feed set before this move"
		if x.feedSet {
			text = "feed is zero"
		}
		x.say(FeedMissing, b.axisCol, text, "write an F word before the first G1, G2 or G3")
		return 0
	}
	return x.feed * x.scale / 60
}

// nonModal does G10, G28, G30 and the G92 family.
func (x *interp) nonModal(b *block) {
	switch g := b.g[gNonModal]; g {
	case 100:
		x.setOrigin(b)
	case 280, 300:
		x.goHome(b, g)
	case 920, 921, 922, 923:
		x.setShift(b, g)
	}
}

// setOrigin does G10 L2 P (section 3.5.5).
func (x *interp) setOrigin(b *block) {
	col := b.gCol[gNonModal]
	l, okL := asInt(b.val['L'-'A'])
	p, okP := asInt(b.val['P'-'A'])
	if !b.has('L') || !okL || l != 2 {
		x.say(BadG10, col, "G10 without L2", "only G10 L2 is in the language")
		return
	}
	if !b.has('P') || !okP || p < 1 || p > 9 {
		x.say(BadG10, col, "G10 L2 wants P1 to P9", "say which coordinate system is meant")
		return
	}
	x.say(MemoryWritten, col, "G10 writes an origin into the controller's memory: the next program is cut elsewhere", "set origins by hand before the program, and state G54 to G59.3 in it")
	for i := 0; i < 3; i++ {
		if c := byte('X' + i); b.has(c) {
			x.need(gUnits, UnitsUnstated, b.axisCol, "units", "G21 (mm) or G20 (inch)")
			x.origin[p][i], x.known[p][i] = b.val[c-'A']*x.scale, true
			x.moved = true
		}
	}
}

// goHome does G28 and G30: to the point the axis words name, if any, then home (section
// 3.5.8). The report sends all axes home; controllers in use send those named. Where
// nobody says which, both are reckoned: the way of all holds the other's, and the place
// of an axis in which they differ is lost.
func (x *interp) goHome(b *block, g int16) {
	i, col := 0, b.gCol[gNonModal]
	if g == 300 {
		i = 1
	}
	named := [3]bool{b.has('X'), b.has('Y'), b.has('Z')}
	bare := b.axes() == 0
	if !bare {
		x.needModes(b)
		if !x.settled {
			x.needBeam(b, 0)
		}
		x.needOrigin(b)
		x.straight(Rapid, b, x.targets(b), 0)
	}
	x.moved = true
	if !x.homeKnown[i] {
		x.say(HomeUnknown, col, "where "+gName(g)+" goes is kept in the controller", "declare the home in the machine profile, or move there with G53")
		for k := range named {
			if bare || named[k] || x.dialect.homes != "named" {
				x.lose(k)
			}
		}
		x.note(WentNowhere, col, gName(g))
		return
	}
	x.note(UsedHome, col, gName(g))
	from, to := x.pos, x.home[i]
	for k := range named {
		if bare || named[k] || x.dialect.homes == "all" {
			x.lost[k] = false
			continue
		}
		switch {
		case x.dialect.homes == "named":
			to[k] = from[k]
		case x.dialect.homes == "" && to[k] != from[k]:
			x.lose(k)
		}
	}
	x.anyLost = x.lost != [3]bool{}
	x.emit(Rapid, x.at, to).Col = col
	x.pos = to
}

// lose makes the place of an axis unknown, if the machine has it.
func (x *interp) lose(axis int) {
	if axis < 2 || x.hasZ {
		x.lost[axis], x.anyLost = true, true
	}
}

// find makes the place of an axis known again, by a word that says it absolutely.
func (x *interp) find(b *block, axis int) {
	if !x.lost[axis] {
		return
	}
	if x.incremental && b.g[gNonModal] != 530 {
		if b.val['X'+axis-'A'] != 0 { // a step of nothing moves nothing
			x.lostAt(b, axis)
		}
		return
	}
	x.lost[axis] = false
	x.anyLost = x.lost != [3]bool{}
}

// placed reports a cut that begins where an axis is not known. The height of a cycle that
// goes on was told when it was lost.
func (x *interp) placed(b *block, motion int16) {
	_, _, w := x.plane.Axes()
	for i, l := range x.lost {
		if l && !(i == w && motion == x.cycle.code && motion >= 810) {
			x.lostAt(b, i)
		}
	}
}

// lostAt reports an axis whose place is not known, and takes it as it was reckoned.
func (x *interp) lostAt(b *block, axis int) {
	x.say(PlaceUnknown, b.axisCol, "where "+string(rune('X'+axis))+" stands after G28, G30 or a cycle that runs in two ways is not known here",
		"go to a stated place with G90 G0 first; or let the machine profile say where home is and which axes go there")
	x.lost[axis] = false
	x.anyLost = x.lost != [3]bool{}
}

// setShift does G92, G92.1, G92.2 and G92.3 (section 3.5.18).
func (x *interp) setShift(b *block, g int16) {
	col := b.gCol[gNonModal]
	x.note(UsedShift, col, gName(g))
	x.moved = true
	switch g {
	case 920:
		x.need(gUnits, UnitsUnstated, b.axisCol, "units", "G21 (mm) or G20 (inch)")
		x.need(gSystem, OffsetUnstated, b.axisCol, "work offset", "G54 to G59.3")
		x.needOrigin(b)
		for i := 0; i < 3; i++ {
			if c := byte('X' + i); b.has(c) {
				if x.lost[i] {
					x.lostAt(b, i)
				}
				x.shift[i] = x.pos[i] - x.origin[x.system][i] - b.val[c-'A']*x.scale
			}
		}
		x.kept, x.keptKnown = x.shift, true
	case 921:
		x.shift, x.kept, x.keptKnown = Point{}, Point{}, true
	case 922:
		x.shift = Point{}
	case 923:
		if !x.keptKnown {
			x.say(ShiftUnknown, col, "G92.3 brings back a shift from an earlier program", "set the shift with G92 in this program")
		}
		x.shift = x.kept
	}
}
