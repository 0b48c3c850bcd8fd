package jig

import (
	"math"
	"sort"

	"spotjig/layout"
	"spotjig/layout/geom"
)

// member is one straight part of a template: a rectangle that tile may split
// into pieces, template frame.
type member struct {
	role Role
	box  geom.Box
}

// band is a member that lies across the centre line.
type band struct {
	role Role
	box  geom.Box
	full bool // reaches both side noses: carries side fins and legs
}

// plan lays out the members.
//
// Idea: every long transverse line gets a crosspiece from side nose to side
// nose (near lines share one); what lies off the centre line gets a wing or, on
// a crosspiece, a pad wide enough to hold it; marks on the centre line lie on
// the spine that ties the bands together; the first crosspiece stands on two
// legs against the end nose. A template without a transverse line gets a
// crosspiece near its nose for the side fins.
func plan(tp *Template, lim Limits, table layout.Table) {
	var across, local []Element
	for _, e := range tp.Elements {
		switch {
		case e.Transverse() && e.Length() > 0.6*table.W:
			across = append(across, e)
		case !lim.onSpine(e):
			local = append(local, e)
		}
	}
	bands := crosspieces(tp, across, lim, table)
	rails := takeRails(&local)
	bands = lim.addWings(bands, local)
	addMembers(tp, bands, rails, lim, table)
}

// onSpine reports whether the element lies along the centre line, within the spine's
// width, or is a line that the spine is widened for.
func (lim Limits) onSpine(e Element) bool {
	b := e.Bounds()
	room := lim.MemberWidth/2 - lim.Web - lim.Half()
	if e.lengthwise() && e.Length() > railLeast {
		room = spineWide/2 + stripApart + lim.railEdge()
	}
	return b.Max.Y < room && b.Min.Y > -room
}

// crosspieces returns one band for each group of transverse lines that can
// share it, from the nose inwards.
func crosspieces(tp *Template, across []Element, lim Limits, table layout.Table) []band {
	half := table.W/2 - lim.EndGap
	if len(across) == 0 {
		u := sideStation(tp, lim)
		return []band{{Crosspiece, geom.Box{Min: geom.Point{X: u[0], Y: -half}, Max: geom.Point{X: u[1], Y: half}}, true}}
	}
	sort.SliceStable(across, func(i, j int) bool { return across[i].A.X < across[j].A.X })
	limit := math.Max(lim.BedW, lim.BedH)
	var out []band
	lo, hi := across[0].A.X, across[0].A.X
	share := 0.5 // of what a crosspiece is wider than its lines need, on the nose's side: tails go into it from both sides
	switch {
	case lim.draw.nose:
		share = 1
	case lim.Seat != nil: // nothing goes into film, and a weight stands beside the lines
		share = 0
	}
	flush := func() {
		b := geom.Box{Min: geom.Point{X: lo - lim.lineEdge(), Y: -half}, Max: geom.Point{X: hi + lim.lineEdge(), Y: half}}
		if grow := lim.MemberWidth - b.Width(); grow > 0 {
			b.Min.X -= grow * share
			b.Max.X += grow * (1 - share)
		}
		out = append(out, band{Crosspiece, b, true})
	}
	for _, e := range across[1:] {
		if e.A.X-lo > math.Min(limit-2*lim.lineEdge(), 260) {
			flush()
			lo = e.A.X
		}
		hi = e.A.X
	}
	flush()
	if half := table.L / 2; out[0].box.Min.X > half-MiddleWant-lim.MemberWidth { // no side contact at the middle pockets
		u := sideStation(tp, lim)
		out = append([]band{{Crosspiece, geom.Box{Min: geom.Point{X: u[0], Y: out[0].box.Min.Y}, Max: geom.Point{X: u[1], Y: out[0].box.Max.Y}}, true}}, out...)
	}
	return out
}

// sideStation chooses where a crosspiece without a line of its own stands: its
// side fins 200 mm or more from the corner, taking in a spot near there so
// that no joint comes close to it.
func sideStation(tp *Template, lim Limits) [2]float64 {
	u := 252.0
	for _, e := range tp.Elements {
		if e.IsDot() && e.A.X > 150 && e.A.X < 380 {
			u = math.Max(e.A.X, 206)
			return [2]float64{math.Min(u-lim.MemberWidth/2, e.A.X-32), u + lim.MemberWidth/2}
		}
	}
	return [2]float64{u - lim.MemberWidth/2, u + lim.MemberWidth/2}
}

// railLeast: a shorter lengthwise line gets a wing, mm.
const railLeast = 300.0

// takeRails takes the long lengthwise lines away from the centre line out of the local
// elements: rails are laid along them.
func takeRails(local *[]Element) []Element {
	var rails, rest []Element
	for _, e := range *local {
		if e.lengthwise() && e.Length() > railLeast {
			rails = append(rails, e)
		} else {
			rest = append(rest, e)
		}
	}
	*local = rest
	return rails
}

// addWings gives every element off the centre line a wing across the spine, and
// turns a wing that meets a crosspiece into a pad on it.
func (lim Limits) addWings(bands []band, local []Element) []band {
	var wings []band
	for _, e := range local {
		b := e.Bounds()
		edge := lim.Web + lim.Half() + 4
		half := math.Max(math.Abs(b.Min.Y), math.Abs(b.Max.Y)) + edge
		if e.IsDot() {
			half = math.Max(math.Abs(b.Min.Y), math.Abs(b.Max.Y)) + lim.spotEdge()
		}
		w := geom.Box{Min: geom.Point{X: b.Min.X - edge, Y: -half}, Max: geom.Point{X: b.Max.X + edge, Y: half}}
		if grow := lim.MemberWidth - w.Width(); grow > 0 {
			w.Min.X -= grow / 2
			w.Max.X += grow / 2
		}
		wings = append(wings, band{Wing, w, false})
	}
	wings = mergeBands(wings, 40+lim.draw.near)
	for _, w := range wings {
		on := -1
		for i, b := range bands {
			if b.full && w.box.Min.X < b.box.Max.X+wingReach+lim.draw.far && w.box.Max.X > b.box.Min.X-wingReach-lim.draw.far {
				on = i
			}
		}
		if on < 0 {
			bands = append(bands, w)
			continue
		}
		pad := w
		pad.role = Pad
		pad.box.Min.X = math.Min(pad.box.Min.X, bands[on].box.Min.X)
		pad.box.Max.X = math.Max(pad.box.Max.X, bands[on].box.Max.X)
		bands = append(bands, pad)
	}
	sort.SliceStable(bands, func(i, j int) bool { return bands[i].box.Min.X < bands[j].box.Min.X })
	return bands
}

// lineEdge is the distance from a crosspiece's edge to its nearest line: room for
// the lettering, and for the hole of a spot on the line.
func (lim Limits) lineEdge() float64 {
	return math.Max(lineEdge, lim.Hole+lim.Web+4) + lim.draw.edge
}

// wingReach: a wing nearer than this to a crosspiece becomes a pad on it, which saves
// two joints for one piece more, mm.
const wingReach = 110.0

// spotEdge is how far a side seam stands from a spot: clear of joints, and far
// enough that a line through both keeps a slot between hole and seam.
func (lim Limits) spotEdge() float64 {
	return math.Max(lim.JointClear+lim.Notch+lim.Hole+2, lim.Hole+2*lim.Web+2*lim.Half()+12)
}

// mergeBands joins bands whose extents along u come nearer than gap.
func mergeBands(in []band, gap float64) []band {
	sort.SliceStable(in, func(i, j int) bool { return in[i].box.Min.X < in[j].box.Min.X })
	var out []band
	for _, b := range in {
		if n := len(out); n > 0 && b.box.Min.X < out[n-1].box.Max.X+gap {
			out[n-1].box = out[n-1].box.Union(b.box)
			continue
		}
		out = append(out, b)
	}
	return out
}

// addMembers turns bands into members: pads with arms, legs, spine.
func addMembers(tp *Template, bands []band, rails []Element, lim Limits, table layout.Table) {
	bands = lim.settle(tp, bands, table)
	last := 0.0
	for _, b := range bands {
		if b.full {
			last = math.Max(last, b.box.Max.X)
		}
	}
	tp.EndAt = endPlace(table)
	strips := stripsFor(tp, rails, last, lim)
	for i := range strips {
		strips[i].laid = strips[i].laidFrom(bands, lim)
	}
	pads := padsFor(bands, strips)
	var centre []geom.Box // what covers the centre line, from the nose inwards
	for _, b := range bands {
		pad, onPad := pads.on(b.box)
		switch {
		case b.role == Wing:
			tp.members = append(tp.members, member{Wing, clearOfStrips(b.box, strips)})
			centre = append(centre, tp.members[len(tp.members)-1].box)
		case b.full && !onPad:
			tp.members = append(tp.members, member{Crosspiece, b.box})
			centre = append(centre, b.box)
		case b.full:
			tp.members = append(tp.members, padAndArms(pad, b.box, 60+lim.draw.arm)...)
			centre = append(centre, pad)
		}
	}
	sort.SliceStable(centre, func(i, j int) bool { return centre[i].Min.X < centre[j].Min.X })
	addLegs(tp, bands, centre, strips, lim)
	addSpine(tp, centre, lim)
	partRails(tp, lim)
}

// besideApart is between a spine and a rail beside it, of which each needs its width, mm.
const besideApart = 2.0

// partRails moves a rail aside that wants part of the place of a spine widened for a line of
// its own: by what it has beyond the room that its line needs. Where that is too little,
// the spine is narrower by what it has beyond its own.
func partRails(tp *Template, lim Limits) {
	for i := range tp.members {
		rail := &tp.members[i]
		if rail.role != Rail && rail.role != Leg {
			continue
		}
		for k := range tp.members {
			spine := &tp.members[k]
			if spine.role != Spine || !rail.box.Grow(-0.01).Overlaps(spine.box) {
				continue
			}
			half, near := spine.box.Max.Y, math.Min(math.Abs(rail.box.Min.Y), math.Abs(rail.box.Max.Y))
			inner, outer := lim.linesIn(tp, rail.box, spine.box)
			to := max(near, min(half+besideApart, outer, near+railMore))
			if to-besideApart < inner { // two lines with no room for an edge of each between them
				continue
			}
			off := math.Copysign(to-near, rail.box.Center().Y)
			rail.box.Min.Y, rail.box.Max.Y = rail.box.Min.Y+off, rail.box.Max.Y+off
			half = math.Min(half, to-besideApart)
			spine.box.Min.Y, spine.box.Max.Y = -half, half
		}
	}
}

// linesIn is how near to the centre line a spine's edge may be for the marks on it, and how
// far from there a rail's for its own.
func (lim Limits) linesIn(tp *Template, rail, spine geom.Box) (inner, outer float64) {
	inner, outer = spinePlain/2, math.Inf(1)
	for _, e := range tp.Elements {
		b := e.Bounds()
		low, high := math.Min(math.Abs(b.Min.Y), math.Abs(b.Max.Y)), math.Max(math.Abs(b.Min.Y), math.Abs(b.Max.Y))
		switch {
		case lim.onSpine(e) && b.Min.X < spine.Max.X && b.Max.X > spine.Min.X:
			inner = math.Max(inner, high+lim.lineEdge())
		case e.lengthwise() && e.Length() > railLeast && b.Min.X < rail.Max.X && b.Max.X > rail.Min.X:
			outer = math.Min(outer, low-lim.lineEdge())
		}
	}
	return inner, outer
}

// keepIn cuts a band back to what a template may cover: from a lip short of the
// nose to its own half of the table, and clear of the side noses.
func keepIn(tp *Template, b geom.Box, lim Limits, table layout.Table) geom.Box {
	half := table.W/2 - lim.EndGap
	b.Min.X, b.Max.X = math.Max(b.Min.X, lim.Lip), math.Min(b.Max.X, reachMax(tp))
	if b.Width() < lim.MemberWidth { // the middle of the table cut it short
		b.Min.X = b.Max.X - lim.MemberWidth
	}
	if b.Min.X < lim.Lip+spineLeast { // too near the nose for a leg
		b.Min.X = lim.Lip
	}
	b.Min.Y, b.Max.Y = math.Max(b.Min.Y, -half), math.Min(b.Max.Y, half)
	return b
}

// clearOfStrips widens a wing or a pad whose end a leg or a rail would meet with part of
// its width only, on the stretch that it is wanted on, or lie on before it.
func clearOfStrips(b geom.Box, strips []strip) geom.Box {
	for _, s := range strips {
		near := b.Max.Y > s.Lo-stripApart && b.Max.Y < s.Hi+stripApart && s.from < b.Max.X+stripApart && s.until > b.Min.X-stripApart
		over := b.Max.Y > s.Lo && b.Max.Y < s.Hi && s.laid < b.Max.X && s.until > b.Min.X
		if near || over {
			b.Max.Y = s.Hi + stripApart
			b.Min.Y = -b.Max.Y
		}
	}
	return b
}

// padSet is the pads that lie on crosspieces.
type padSet []geom.Box

func (p padSet) on(cross geom.Box) (geom.Box, bool) {
	for _, b := range p {
		if b.Min.X <= cross.Min.X+1e-9 && b.Max.X >= cross.Max.X-1e-9 {
			return b, true
		}
	}
	return geom.Box{}, false
}

// padsFor collects the pads, clear of legs and rails.
func padsFor(bands []band, strips []strip) padSet {
	var out padSet
	for _, b := range bands {
		if b.role == Pad {
			out = append(out, clearOfStrips(b.box, strips))
		}
	}
	return mergePads(out)
}

func mergePads(in padSet) padSet {
	var out padSet
	for _, b := range in {
		if n := len(out); n > 0 && b.Min.X < out[n-1].Max.X {
			out[n-1] = out[n-1].Union(b)
			continue
		}
		out = append(out, b)
	}
	return out
}

// Span is an interval: of v on the left side, which the right side mirrors, or of the
// distance along a line or an arc.
type Span struct{ Lo, Hi float64 }

// strip is a leg or a rail: where it stands, on the left side, which the right side
// mirrors, and the stretch along the table that it is wanted on.
type strip struct {
	Span
	from, until float64
	laid        float64 // where it begins, no further from the nose than it is wanted
	role        Role
}

// laidFrom is where a strip begins: at the last crosspiece before the stretch it is wanted
// on, or before all of them near the nose.
func (s strip) laidFrom(bands []band, lim Limits) float64 {
	from := s.nearest(lim)
	for _, b := range bands {
		if b.full && b.box.Min.X <= s.from {
			from = math.Max(from, b.box.Max.X)
		}
	}
	return from
}

// nearest is how near to the nose a strip begins at most.
func (s strip) nearest(lim Limits) float64 {
	if s.role == Rail {
		return lim.Lip + railShort
	}
	return lim.Lip
}

const (
	stripApart = 12.0 // between a strip's edge and what it passes
	stripJoin  = 40.0 // strips nearer than this are one
	cornerAway = 202.0
)

// endPlace is how far from the centre line the end contacts stand: as far out as leaves
// them 200 mm from the corners.
func endPlace(table layout.Table) float64 { return table.W/2 - cornerAway }

// railEdge is the distance from a rail's edge to the line along it.
func (lim Limits) railEdge() float64 { return lim.lineEdge() + railMore }

// railMore is what a rail has beyond the room that its line needs, mm.
const railMore = 4.0

// stripsFor lays the legs, which carry the end contacts, to the last crosspiece, and a rail
// along every long lengthwise line; what lies near each other is one. They come from the
// centre line outwards.
func stripsFor(tp *Template, rails []Element, last float64, lim Limits) []strip {
	all := []strip{{Span: Span{tp.EndAt - lim.MemberWidth/2, tp.EndAt + lim.MemberWidth/2}, from: lim.Lip, until: last, role: Leg}}
	for _, e := range rails {
		lo := math.Min(math.Abs(e.A.Y), math.Abs(e.B.Y)) - lim.railEdge()
		hi := math.Max(math.Max(math.Abs(e.A.Y), math.Abs(e.B.Y))+lim.railEdge(), lo+lim.MemberWidth)
		all = append(all, strip{Span: Span{lo, hi}, from: math.Min(e.A.X, e.B.X), until: math.Min(math.Max(e.A.X, e.B.X), reachMax(tp)), role: Rail})
	}
	sort.SliceStable(all, func(i, j int) bool { return all[i].Lo < all[j].Lo })
	var out []strip
	for _, s := range all {
		n := len(out)
		if n == 0 || s.Lo > out[n-1].Hi+stripJoin {
			out = append(out, s)
			continue
		}
		o := &out[n-1]
		o.Hi, o.from, o.until = math.Max(o.Hi, s.Hi), math.Min(o.from, s.from), math.Max(o.until, s.until)
		if s.role == Leg {
			o.role = Leg
		}
	}
	return out
}

// padAndArms splits a crosspiece that carries a pad: the pad in the middle, an
// arm on each side of it, where it is at least so long.
func padAndArms(pad, cross geom.Box, least float64) []member {
	out := []member{{Pad, pad}}
	if cross.Max.Y-pad.Max.Y < least {
		out[0].box.Max.Y, out[0].box.Min.Y = cross.Max.Y, cross.Min.Y
		return out
	}
	right := geom.Box{Min: cross.Min, Max: geom.Point{X: cross.Max.X, Y: pad.Min.Y}}
	left := geom.Box{Min: geom.Point{X: cross.Min.X, Y: pad.Max.Y}, Max: cross.Max}
	return append(out, member{Arm, right}, member{Arm, left})
}

// addLegs runs each strip on both sides from the end nose inwards, between all that lies
// across its way. A band that reaches the nose itself carries the end contacts, and no leg
// is laid there.
func addLegs(tp *Template, bands []band, centre []geom.Box, strips []strip, lim Limits) {
	across := append([]geom.Box(nil), centre...)
	for _, b := range bands {
		if b.full {
			across = append(across, b.box)
		}
	}
	sort.SliceStable(across, func(i, j int) bool { return across[i].Min.X < across[j].Min.X })
	for _, s := range strips {
		from := s.nearest(lim)
		for _, b := range across {
			if b.Max.Y < s.Hi || b.Min.X > s.until {
				continue
			}
			if b.Min.X-from > legLeast && b.Min.X > s.from {
				legPair(tp, s, from, b.Min.X)
			}
			from = math.Max(from, b.Max.X)
		}
		if s.until-from > spineLeast {
			legPair(tp, s, from, s.until)
		}
	}
}

const (
	legLeast  = 40.0 // no shorter leg is laid
	railShort = 3.0  // a rail ends this far short of what touches the nose
)

// legPair adds a strip's stretch on each side; away from the nose a leg is a rail.
func legPair(tp *Template, s strip, from, to float64) {
	role := Rail
	if s.role == Leg && from < nearNose {
		role = Leg
	}
	for _, side := range []float64{-1, 1} {
		b := geom.EmptyBox().Include(geom.Point{X: from, Y: side * s.Lo}).Include(geom.Point{X: to, Y: side * s.Hi})
		tp.members = append(tp.members, member{role, b})
	}
}

// nearNose: what begins nearer to the nose than this carries an end contact, mm.
const nearNose = 30.0

// spineLeast is the shortest spine piece worth cutting: a tail at each end and
// room between; a smaller gap between two bands is closed by the inner one.
const spineLeast = 64.0

// addSpine fills the centre line between bands, on to the last mark that lies
// on it, and to the nose when a line runs there.
func addSpine(tp *Template, centre []geom.Box, lim Limits) {
	lo, hi := math.Inf(1), math.Inf(-1)
	for _, e := range tp.Elements {
		if lim.onSpine(e) {
			b := e.Bounds()
			lo, hi = math.Min(lo, b.Min.X), math.Max(hi, b.Max.X)
		}
	}
	seg := func(from, to float64) {
		half := spineWidth(tp, from, to, lim) / 2
		b := geom.Box{Min: geom.Point{X: from, Y: -half}, Max: geom.Point{X: to, Y: half}}
		tp.members = append(tp.members, member{Spine, b})
	}
	if lo < centre[0].Min.X-20 {
		seg(lim.Lip, centre[0].Min.X)
	}
	for i := 1; i < len(centre); i++ {
		from, to := centre[i-1].Max.X, centre[i].Min.X
		if to-from > spineLeast {
			seg(from, to)
		}
	}
	inner := centre[len(centre)-1]
	last := inner.Max.X
	if end := hi + lim.Web + lim.Hole; end+2 > last {
		to := math.Min(math.Max(end+14, last+spineLeast), reachMax(tp))
		if to-last < spineLeast { // the middle of the table is too near for a piece of its own
			stretchTo(tp, inner, to)
			return
		}
		endSpine(tp, seg, last, to, lim)
	}
}

// endSpine runs the spine on from the last band to the last mark: wide as far as a
// line runs along it, narrow from there.
func endSpine(tp *Template, seg func(from, to float64), from, to float64, lim Limits) {
	line := from
	for _, e := range tp.Elements {
		if e.lengthwise() && lim.onSpine(e) {
			line = math.Max(line, e.Bounds().Max.X+lim.spotEdge())
		}
	}
	// The seam where the width changes keeps clear of what lies near it.
	for moved := true; moved; {
		moved = false
		for _, e := range tp.Elements {
			b := e.Bounds()
			if lim.onSpine(e) && b.Max.X+lim.spotEdge() > line && b.Min.X-lim.spotEdge() < line {
				line, moved = b.Max.X+lim.spotEdge()+0.001, true
			}
		}
	}
	if line-from > spineLeast && to-line > 2*spineLeast {
		seg(from, line)
		from = line
	}
	seg(from, to)
}

// A spine is wide enough for two tails, because play in a joint turns what lies
// beyond it; one that carries a line has a tail on each side of the line.
const (
	spineWide  = 150.0
	spinePlain = 132.0
)

func spineWidth(tp *Template, from, to float64, lim Limits) float64 {
	wide := spinePlain
	for _, e := range tp.Elements {
		b := e.Bounds()
		if e.lengthwise() && lim.onSpine(e) && b.Min.X < to-5 && b.Max.X > from+5 {
			wide = math.Max(wide, spineWide)
			if off := math.Max(b.Max.Y, -b.Min.Y); off > lim.MemberWidth/2-lim.Web-lim.Half() {
				wide = math.Max(wide, 2*(off+lim.railEdge()))
			}
		}
	}
	return wide
}

// stretchTo moves the far edge of the member with the box to u.
func stretchTo(tp *Template, box geom.Box, u float64) {
	for i := range tp.members {
		if tp.members[i].box == box {
			tp.members[i].box.Max.X = math.Max(box.Max.X, u)
		}
	}
}
