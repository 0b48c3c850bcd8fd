package testpiece

import (
	"fmt"
	"math"
	"strings"

	"spotjig/cam/jig"
	"spotjig/cam/jig/plate"
	"spotjig/layout/geom"
)

// square is a plain square, with a hole and a slot for the marker. Its sides
// are measured, so cuts start on its corners.
func (c *design) square(side float64) group {
	p := c.slab("SQUARE", Square, side, side)
	r := c.lim.PlanRadius
	p.NoStart = append(p.NoStart, sides(geom.Point{X: r}, geom.Point{X: side - r})...)
	p.NoStart = append(p.NoStart, sides(geom.Point{X: side, Y: r}, geom.Point{X: side, Y: side - r})...)
	p.NoStart = append(p.NoStart, sides(geom.Point{X: side - r, Y: side}, geom.Point{X: r, Y: side})...)
	p.NoStart = append(p.NoStart, sides(geom.Point{Y: side - r}, geom.Point{Y: r})...)
	spot := geom.Point{X: side * 0.25, Y: side * 0.36}
	p.Openings = append(p.Openings, jig.Round("SPOT", jig.OpenSpot, spot, jig.Round3(c.lim.Hole)))
	pen := math.Min(couponPen, side*0.3)
	from := geom.Point{X: side * 0.55, Y: spot.Y}
	p.Openings = append(p.Openings, jig.Opening{ID: "PEN", Kind: jig.OpenSlot, Figure: geom.Line(from, geom.Point{X: from.X + pen, Y: from.Y}), Width: c.lim.Slot})
	under := spot.Y - math.Max(c.lim.Hole, c.lim.Slot/2) - 2 - jig.BodyHigh
	c.centred(&p, "SPOT", geom.Point{X: spot.X, Y: under}, jig.BodyHigh, side*0.3)
	c.centred(&p, "PEN", geom.Point{X: from.X + pen/2, Y: under}, jig.BodyHigh, side*0.3)
	mid, room := side/2, side-12
	c.centred(&p, fmt.Sprintf("SQUARE %g X %g", side, side), geom.Point{X: mid, Y: side * 0.8}, jig.BodyHigh*1.3, room)
	m := c.req.Material
	c.centred(&p, fmt.Sprintf("%s %.2f MM", ascii(m.Kind), m.Thickness), geom.Point{X: mid, Y: side * 0.68}, jig.SmallHigh, room)
	c.centred(&p, fmt.Sprintf("KERF ALLOWED FOR %.3f", m.Kerf), geom.Point{X: mid, Y: side * 0.59}, jig.SmallHigh, room)
	c.centred(&p, ">X", geom.Point{X: side - 9, Y: 4}, jig.SmallHigh, 8)
	c.centred(&p, "^Y", geom.Point{X: 9, Y: side - 8}, jig.SmallHigh, 8)
	c.out.Cut.Square = side
	b := c.single(p)
	b.first = true
	return b
}

// ascii keeps what the alphabet has, in capitals as the pieces are lettered.
func ascii(s string) string {
	return strings.Map(func(r rune) rune {
		switch {
		case r >= 'a' && r <= 'z':
			return r - 'a' + 'A'
		case r < ' ' || r > '~':
			return '?'
		}
		return r
	}, s)
}

// pitch is the distance between the lines of a comb: a piece must not be
// narrower than the sheet is thick and should not fall between the bed's supports.
func (c *design) pitch() float64 {
	fall := math.Min(math.Floor(c.req.Machine.SupportGrid)+1, pieceMost)
	return math.Max(math.Max(pieceLeast, math.Ceil(1.5*c.lim.Thickness)), fall)
}

// comb is n pieces between n+1 lines that cross two more, laid along x or y.
func (c *design) comb(axis string, w, h float64) (group, bool) {
	k, p := c.req.Material.Kerf, c.pitch()
	n := int(math.Floor(math.Min(combLong, math.Min(w, h)-2*combOver)/p + 1e-9))
	n = min(n, combMost)
	if n < combLeast || combHigh+2*combOver > math.Min(w, h) {
		return group{}, false
	}
	long := float64(n) * p
	c.out.Cut.Pieces, c.out.Cut.Comb = n, long
	b := group{name: "comb " + axis, w: long + 2*combOver, h: combHigh + 2*combOver}
	at := func(along, across float64) geom.Point { return geom.Point{X: along, Y: across} }
	if axis == "Y" {
		b.w, b.h = b.h, b.w
		at = func(along, across float64) geom.Point { return geom.Point{X: across, Y: along} }
	}
	for i := 0; i < n; i++ {
		size := at(p-k, combHigh-k)
		piece := jig.Part{ID: fmt.Sprintf("%s%d", axis, i+1), Role: CombPiece, Outline: geom.Rect(geom.Box{Max: size})}
		c.centred(&piece, piece.ID, geom.Point{X: size.X / 2, Y: size.Y/2 - jig.SmallHigh/2}, jig.BodyHigh, size.X-3)
		b.laid = append(b.laid, c.add(piece, at(combOver+float64(i)*p+k/2, combOver+k/2)))
	}
	line := func(from, to geom.Point) {
		b.lines = append(b.lines, Line{axis, geom.Segment{From: from, To: to}})
	}
	for i := 0; i <= n; i++ {
		x := combOver + float64(i)*p
		lo, hi := at(x, 0), at(x, combHigh+2*combOver)
		if i%2 == 1 {
			lo, hi = hi, lo
		}
		line(lo, hi)
	}
	for _, y := range []float64{combOver, combOver + combHigh} {
		line(at(0, y), at(long+2*combOver, y))
	}
	return b, true
}

// ladder is the slots for a fin's tab, a row a plate, as many plates as the bed
// asks for.
func (c *design) ladder(room float64) []group {
	r := c.lim
	most := r.Thickness + slotFirst + slotStep*(slotCount-1)
	step := most + r.Web
	each := max(1, min(slotCount, int((room-r.Web)/step))) // if there is no room for one, lay says so
	plates := (slotCount + each - 1) / each
	each = (slotCount + plates - 1) / plates
	foot, head := math.Max(r.Web, 6), math.Max(r.Web, 8)
	high := foot + most + couponTab + 2*jig.SlotFree + head + 6
	var out []group
	for first := 0; first < slotCount; first += each {
		n := min(each, slotCount-first)
		p := c.slab(fmt.Sprintf("L%d", len(out)+1), SlotLadder, r.Web+float64(n)*step, high)
		for i := 0; i < n; i++ {
			width := jig.Round3(r.Thickness + slotFirst + slotStep*float64(first+i))
			x := r.Web + most/2 + float64(i)*step
			from := geom.Point{X: x, Y: foot + most/2}
			to := geom.Point{X: x, Y: from.Y + couponTab + 2*jig.SlotFree}
			letter := SlotLetter(first + i)
			p.Openings = append(p.Openings, jig.Opening{ID: letter, Kind: jig.OpenFin, Figure: geom.Line(from, to), Width: width})
			c.centred(&p, letter, geom.Point{X: x, Y: to.Y + most/2 + 2}, jig.BodyHigh, step)
			c.centred(&p, fmt.Sprintf("%.2f", width), geom.Point{X: x, Y: 2}, jig.LeastHigh, step-1.5)
			c.out.Cut.Slots = append(c.out.Cut.Slots, width)
		}
		w := p.Outline.Bounds().Width()
		c.centred(&p, "SLOTS FOR THE TONGUE", geom.Point{X: w / 2, Y: high - 4.5}, jig.LeastHigh+0.4, w-6)
		out = append(out, c.single(p))
	}
	return out
}

// couponTail is the dovetail that is tried: the smallest the jig has.
func (c *design) couponTail() jig.Tail { return jig.Tail{Neck: c.lim.Neck, Long: c.lim.Tail} }

// sockets are a row of sockets with growing clearance, a few a plate.
func (c *design) sockets(room float64) []group {
	t := c.couponTail()
	t.Neck += 2 * flankStep * (flankCount - 1) * math.Hypot(1, 1/jig.TailSlope)
	step := t.Head() + 1 + c.lim.Web
	each := max(1, min(flankCount, int((room-c.lim.Web)/step)))
	plates := (flankCount + each - 1) / each
	each = (flankCount + plates - 1) / plates
	deep := c.lim.Tail + c.lim.Toe
	high := math.Ceil(deep + math.Max(c.lim.Web, jig.BodyHigh+6))
	var out []group
	for first := 0; first < flankCount; first += each {
		n := min(each, flankCount-first)
		w := c.lim.Web + float64(n)*step
		p := jig.Part{ID: fmt.Sprintf("S%d", len(out)+1), Role: Sockets}
		cs := []jig.Corner{{At: geom.Point{}, R: c.lim.PlanRadius}, {At: geom.Point{X: w}, R: c.lim.PlanRadius}, {At: geom.Point{X: w, Y: high}, R: c.lim.PlanRadius}}
		for i := n - 1; i >= 0; i-- { // the upper edge is walked from the right
			clear := flankStep * float64(first+i)
			x := c.lim.Web + step*float64(i) + (step-c.lim.Web)/2
			cs = append(cs, c.dovetailWith(clear, plate.OnEdge{S: w - x, T: c.couponTail(), Socket: true}, geom.Point{X: w, Y: high}, geom.Vec{X: -1})...)
			c.centred(&p, fmt.Sprintf("%d: %.2f", first+i+1, clear), geom.Point{X: x, Y: (high-deep)/2 - jig.SmallHigh/2}, jig.SmallHigh, step-2)
		}
		p.Outline = jig.Rounded(append(cs, jig.Corner{At: geom.Point{Y: high}, R: c.lim.PlanRadius}))
		p.NoStart = sides(points(append(cs[2:len(cs):len(cs)], jig.Corner{At: geom.Point{Y: high}}))...)
		out = append(out, c.single(p))
	}
	for i := 0; i < flankCount; i++ {
		c.out.Cut.Flanks = append(c.out.Cut.Flanks, jig.Round3(flankStep*float64(i)))
	}
	return out
}

// points are the corners' places.
func points(cs []jig.Corner) []geom.Point {
	var out []geom.Point
	for _, c := range cs {
		out = append(out, c.At)
	}
	return out
}

// dovetailWith draws a tail or socket with a clearance of its own.
func (c *design) dovetailWith(flank float64, o plate.OnEdge, from geom.Point, dir geom.Vec) []jig.Corner {
	lim := c.lim
	lim.Flank = flank
	return plate.Dovetail(lim, o, from, dir)
}

// tail is a member's end with one tail. Its corners are round enough for the
// loosest socket, whose corners are the sharpest against it.
func (c *design) tail() group {
	t := c.couponTail()
	w, high := math.Ceil(t.Head()+2*pieceLeast), 28.0
	r := c.lim.PlanRadius
	top := c.dovetailWith(flankStep*(flankCount-1), plate.OnEdge{S: w / 2, T: t, Socket: false}, geom.Point{X: w, Y: high}, geom.Vec{X: -1})
	cs := []jig.Corner{{At: geom.Point{}, R: r}, {At: geom.Point{X: w}, R: r}, {At: geom.Point{X: w, Y: high}, R: r}}
	cs = append(append(cs, top...), jig.Corner{At: geom.Point{Y: high}, R: r})
	p := jig.Part{ID: "TAIL", Role: Tail, Outline: jig.Rounded(cs), NoStart: sides(points(cs[2:])...)}
	c.centred(&p, "TAIL", geom.Point{X: w / 2, Y: 15}, jig.BodyHigh, w-6)
	c.centred(&p, "LETTERS UP", geom.Point{X: w / 2, Y: 7}, jig.SmallHigh, w-6)
	return c.single(p)
}

// joint is one joint as the job has it, its parts by themselves.
func (c *design) joint() ([]group, error) {
	trial, err := plate.NewTrial(c.req)
	if err != nil {
		return nil, err
	}
	c.out.Joint, c.out.Cut.Keyed, c.out.Checks = trial.Joint, trial.Joint.Part != "", trial.Checks
	var out []group
	for _, p := range trial.Parts {
		out = append(out, c.single(p))
	}
	return out, nil
}

// tongue is a handle with a fin's tab on it.
func (c *design) tongue() group {
	const handle, wide = 25.0, 44.0
	lo, hi, top := (wide-couponTab)/2, (wide+couponTab)/2, handle+math.Ceil(c.lim.Thickness)+12
	r := c.lim.PlanRadius
	cs := []jig.Corner{
		{At: geom.Point{}, R: r}, {At: geom.Point{X: wide}, R: r}, {At: geom.Point{X: wide, Y: handle}, R: r},
		{At: geom.Point{X: hi, Y: handle}, R: c.lim.InnerRadius}, {At: geom.Point{X: hi, Y: top}, R: 1},
		{At: geom.Point{X: lo, Y: top}, R: 1}, {At: geom.Point{X: lo, Y: handle}, R: c.lim.InnerRadius}, {At: geom.Point{Y: handle}, R: r},
	}
	p := jig.Part{ID: "TONGUE", Role: Tongue, Outline: jig.Rounded(cs), NoStart: sides(points(cs[2:])...)}
	c.centred(&p, "TONGUE", geom.Point{X: wide / 2, Y: 10}, jig.BodyHigh, wide-6)
	return c.single(p)
}

// ticks scores four crosses at the corners of what the machine reaches of the
// first sheet and letters them. They lie on what is left of the sheet; the
// square, in whose frame they are kept, is only the piece that is always there.
func (c *design) ticks() {
	host := &c.out.Parts[0]
	var off geom.Vec
	for _, l := range c.out.Sheets[0].Laid {
		if l.ID == host.ID {
			off = geom.Vec{X: -l.At.X, Y: -l.At.Y}
		}
	}
	low := c.usable.Min.Add(geom.Vec{X: tickArm, Y: tickArm}).Add(off)
	x, y := math.Floor(c.usable.Width()-2*tickArm), math.Floor(c.usable.Height()-2*tickArm)
	c.out.Cut.ScaleX, c.out.Cut.ScaleY = x, y
	names := [4]string{"A", "B", "C", "D"}
	for i, at := range [4]geom.Vec{{}, {X: x}, {X: x, Y: y}, {Y: y}} {
		m := low.Add(at)
		host.Scores = append(host.Scores,
			jig.Stroke(m.Add(geom.Vec{X: -tickArm}), m.Add(geom.Vec{X: tickArm})),
			jig.Stroke(m.Add(geom.Vec{Y: -tickArm}), m.Add(geom.Vec{Y: tickArm})))
		beside := geom.Vec{X: tickArm + 3, Y: -jig.BodyHigh / 2}
		if at.X > 0 {
			beside.X = -beside.X
		}
		c.centred(host, names[i], m.Add(beside), jig.BodyHigh, 6)
	}
	mid, room := low.X+x/2, x-2*(tickArm+8)
	c.centred(host, fmt.Sprintf("X %g  Y %g  DIAGONALS %.2f", x, y, math.Hypot(x, y)), geom.Point{X: mid, Y: low.Y - jig.SmallHigh/2}, jig.BodyHigh, room)
	c.centred(host, fmt.Sprintf("SPOTJIG %s TEST PIECE  %s  %s", ascii(c.req.Version), ascii(c.req.Name), ascii(c.req.Date)), geom.Point{X: mid, Y: low.Y + y - jig.SmallHigh/2}, jig.BodyHigh, room)
}

// checks are what to know of the test piece before it is cut.
func (c *design) checks() []jig.Check {
	cut := &c.out.Cut
	cut.Thickness, cut.Kerf, cut.Flank = c.lim.Thickness, c.req.Material.Kerf, c.lim.Flank
	for _, w := range []string{"press", "slide", "loose"} {
		cut.Fits = append(cut.Fits, Fit{Name: w, Clearance: jig.FinClearance(w)})
	}
	p, m := c.req.Machine, c.req.Material
	out := []jig.Check{{ID: "comb-support", Verdict: jig.Pass, Value: c.pitch() - m.Kerf, Limit: p.SupportGrid, Unit: "mm", Text: "comb pieces lie on the bed's supports"}}
	if out[0].Value < out[0].Limit {
		out[0].Verdict, out[0].Text = jig.Warn, "comb pieces are narrower than the bed's supports are apart and may fall through: lay a sheet of card below"
	}
	for _, a := range []struct {
		name          string
		apart, travel float64
	}{{"x", cut.ScaleX, p.Max.X - p.Min.X}, {"y", cut.ScaleY, p.Max.Y - p.Min.Y}} {
		k := jig.Check{ID: "ticks-" + a.name, Verdict: jig.Pass, Value: a.apart, Limit: 0.75 * a.travel, Unit: "mm", Text: "the ticks lie far apart in " + a.name}
		if k.Value < k.Limit {
			k.Verdict, k.Text = jig.Warn, "the sheet is much smaller than the travel in "+a.name+": the ticks tell the machine's scale there less well"
		}
		out = append(out, k)
	}
	if !m.Measured {
		out = append(out, jig.Check{ID: "thickness", Verdict: jig.Warn, Value: m.Thickness, Unit: "mm", Text: "the sheet's thickness was not measured: measure it and make the test piece again, or the slots will not be about the fit"})
	}
	return out
}
