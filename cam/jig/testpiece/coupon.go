// Package testpiece designs what is cut before the jig, to learn what machine and
// sheet do: a coupon for a beam, one for a blade, and a grid of settings.
package testpiece

import (
	"fmt"
	"math"
	"sort"

	"spotjig/cam/jig"
	"spotjig/cam/machine"
	"spotjig/layout/figure"
	"spotjig/layout/geom"
)

// The test piece
//
// It is cut from the sheet and on the machine of the job, and its pieces tell a
// maker what the job file asks for:
//
//	combs    n pieces between n+1 parallel lines, one comb along x, one along y:
//	         the kerf at both faces (kerf.go)
//	ladder   slots for a fin's tab, A the tightest, and a tongue to try in them
//	sockets  for one dovetail tail as the jig has it, 1 the tightest
//	joint    one as the job has it, keyed or dovetailed, drawn by the same code: what is left
//	         open at its shoulders and beside its tail
//	square   100 mm, with a spot hole and a pen slot of the job's marker
//	ticks    four crosses at the corners of the first sheet: the machine's scale
//	         and squareness. They stay on what is left of the sheet
//
// Kerf is allowed for as in any job, so what comes out differs from nominal by what
// the job's kerf is wrong. The combs' lines alone are cut as drawn, once, because a
// line cut twice is wider: two neighbouring pieces share it, and the pieces of a
// comb are drawn as they come out with the job's kerf.

// The roles of a test piece's parts. The pieces that a comb's lines make have no
// outline cut of their own.
const (
	Square     jig.Role = "square"
	SlotLadder jig.Role = "slot ladder"
	Sockets    jig.Role = "sockets"
	Tail       jig.Role = "tail"
	Tongue     jig.Role = "tongue"
	CombPiece  jig.Role = "comb piece"
	TrialPiece jig.Role = "coupon" // of a blade
)

// Coupon is a test piece: its parts, where they lie, and what they were drawn to.
type Coupon struct {
	Parts  []jig.Part
	Joint  jig.Joint // between those of its parts that are put together
	Sheets []Sheet
	Cut    Cut
	Checks []jig.Check
}

// Sheet is one sheet of it. Sheet frame: origin at the lower left corner
// of the stock.
type Sheet struct {
	Width, Height float64
	Laid          []Laid
	// Lines are the combs' cuts, through the sheet, in order: piece after piece is
	// freed. The pieces they make are among Laid.
	Lines []Line
}

// Line is one straight cut of a comb.
type Line struct {
	Comb string // "X" or "Y": the axis along which the comb measures
	geom.Segment
}

// Laid says where a part lies; it is never turned, because x and y are tested.
type Laid struct {
	ID string
	At geom.Point // its origin, sheet frame
}

// Measures of the test piece, mm. Nine slots from a tenth tighter than the sheet to
// three tenths wider hold every fit from a press to a rattle.
const (
	slotFirst, slotStep = -0.10, 0.05
	slotCount           = 9
	flankStep           = 0.05
	flankCount          = 4
	couponTab           = 20.0 // the tongue's width
	couponPen           = 30.0 // the pen slot's length
	squareSide          = 100.0
	combLong            = 150.0 // the jaws of the usual caliper open so far
	combMost            = 10    // pieces
	combLeast           = 4
	combHigh            = 30.0 // their length
	combOver            = 3.0  // how far the lines run on into waste
	pieceLeast          = 10.0 // a piece's least width
	pieceMost           = 16.0 // a piece is made no wider than this for the bed's supports
	tickArm             = 4.0
	tickBand            = 12.0 // kept for crosses and their lettering
	squareLeast         = 40.0 // on a smaller one the caliper's own error hides what it should show
	slugLeast           = 0.3  // the slug of the tightest slot is at least this thick
)

// NewCoupon designs a test piece for the machine and the sheet of a job. A sheet or
// bed too small for a piece is a *SizeError; a sheet too thin for slots, and stock
// that does not suffice, are plain errors.
func NewCoupon(req jig.Request) (Coupon, error) {
	c := &design{req: req, lim: jig.LimitsFor(req), font: jig.NewFont()}
	if least := c.lim.Thickness + slotFirst - req.Material.Kerf; least < slugLeast {
		return Coupon{}, fmt.Errorf("a slot of %.2f mm leaves no slug beside a kerf of %.2f mm: the sheet is too thin for fins", c.lim.Thickness+slotFirst, req.Material.Kerf)
	}
	c.chooseStock()
	if err := c.fill(); err != nil {
		return Coupon{}, err
	}
	c.ticks()
	c.out.Checks = append(c.checks(), c.out.Checks...)
	return c.out, nil
}

// design carries one test piece.
type design struct {
	req    jig.Request
	lim    jig.Limits
	font   jig.Font
	stock  machine.Stock // as it lies on the bed
	usable geom.Box      // for outlines, sheet frame
	out    Coupon
}

// chooseStock takes the sheet of which the machine reaches most, turned when that
// is more.
func (c *design) chooseStock() {
	p, m := c.req.Machine, c.req.Material
	at := p.Offsets[1]
	margin := p.MarginBed + jig.RoomFor(p, m).Edge
	best := -1.0
	for _, s := range m.Sheets {
		for _, t := range []machine.Stock{s, {Width: s.Height, Height: s.Width, Count: s.Count}} {
			w, h := math.Min(t.Width, p.Max.X-at.X)-2*margin, math.Min(t.Height, p.Max.Y-at.Y)-2*margin
			if a := math.Max(0, w) * math.Max(0, h); a > best+1e-6 {
				best, c.stock = a, t
				c.usable = geom.Box{Min: geom.Point{X: margin, Y: margin}, Max: geom.Point{X: margin + w, Y: margin + h}}
			}
		}
	}
}

// group is parts that are laid together, origin at the lower left of their box.
type group struct {
	name  string
	w, h  float64
	laid  []Laid
	lines []Line
	first bool // belongs on the first sheet
}

// fill makes every group and lays them on sheets.
func (c *design) fill() error {
	w := c.usable.Width()
	h := c.usable.Height() - 2*tickBand
	side := 10 * math.Floor(math.Min(squareSide, math.Min(w, h))/10)
	if side < squareLeast {
		return &jig.SizeError{Piece: "the test piece's square", NeedW: squareLeast, NeedH: squareLeast, UsableW: math.Max(0, w), UsableH: math.Max(0, h), Reason: "a smaller one tells nothing"}
	}
	groups := []group{c.square(side)}
	for _, axis := range []string{"X", "Y"} {
		b, ok := c.comb(axis, w, h)
		if !ok {
			return c.tooSmall("a comb of the test piece", float64(combLeast)*c.pitch()+2*combOver, combHigh+2*combOver)
		}
		groups = append(groups, b)
	}
	groups = append(groups, c.ladder(w)...)
	groups = append(groups, c.sockets(w)...)
	groups = append(groups, c.tail(), c.tongue())
	joint, err := c.joint()
	if err != nil {
		return err
	}
	return c.lay(append(groups, joint...))
}

func (c *design) tooSmall(piece string, w, h float64) error {
	return &jig.SizeError{Piece: piece, NeedW: w, NeedH: h, UsableW: c.usable.Width(), UsableH: c.usable.Height() - 2*tickBand,
		Reason: "use a larger sheet or a thinner one"}
}

// add files a part and returns it laid at a place of its group.
func (c *design) add(p jig.Part, at geom.Point) Laid {
	p.Template, p.Scale = "coupon", 1
	c.out.Parts = append(c.out.Parts, p)
	return Laid{p.ID, at}
}

// single is a group of one part.
func (c *design) single(p jig.Part) group {
	b := p.Outline.Bounds()
	return group{name: p.ID, w: b.Width(), h: b.Height(), laid: []Laid{c.add(p, geom.Point{})}}
}

// write letters a text with its baseline starting at a point, no wider than room,
// and keeps it for people.
func (c *design) write(p *jig.Part, text string, at geom.Point, high, room float64) {
	p.Letters = append(p.Letters, c.strokes(text, at, high, room)...)
	p.Text = append(p.Text, text)
}

func (c *design) strokes(text string, at geom.Point, high, room float64) []geom.Contour {
	if w := c.font.Width(text, high); w > room {
		high *= room / w
	}
	return c.font.Strokes(text, high, geom.Placement{X: at.X, Y: at.Y})
}

// centred letters a text about the middle of its baseline.
func (c *design) centred(p *jig.Part, text string, at geom.Point, high, room float64) {
	w := math.Min(c.font.Width(text, high), room)
	c.write(p, text, geom.Point{X: at.X - w/2, Y: at.Y}, high, room)
}

// slab is a rounded rectangle.
func (c *design) slab(id string, role jig.Role, w, h float64) jig.Part {
	r := c.lim.PlanRadius
	return jig.Part{ID: id, Role: role, Outline: jig.Rounded([]jig.Corner{{At: geom.Point{}, R: r}, {At: geom.Point{X: w}, R: r}, {At: geom.Point{X: w, Y: h}, R: r}, {At: geom.Point{Y: h}, R: r}})}
}

// sides are the straight edges between the points, on which no cut may start.
func sides(v ...geom.Point) []geom.Segment {
	var out []geom.Segment
	for i := 1; i < len(v); i++ {
		out = append(out, geom.Segment{From: v[i-1], To: v[i]})
	}
	return out
}

// lay puts the groups on sheets, each as low and then as far left as it goes on the
// first sheet that has room; the square first, then the largest.
func (c *design) lay(groups []group) error {
	gap := jig.RoomFor(c.req.Machine, c.req.Material).Gap
	room := geom.Box{Min: c.usable.Min.Add(geom.Vec{Y: tickBand}), Max: c.usable.Max.Add(geom.Vec{Y: -tickBand})}
	sort.SliceStable(groups, func(i, k int) bool {
		a, b := groups[i], groups[k]
		if a.first != b.first {
			return a.first
		}
		return jig.Round3(a.w*a.h) > jig.Round3(b.w*b.h)
	})
	var taken [][]geom.Box // by sheet
	for _, b := range groups {
		if b.w > room.Width()+1e-6 || b.h > room.Height()+1e-6 {
			return c.tooSmall("piece "+b.name+" of the test piece", b.w, b.h)
		}
		for n := 0; ; n++ {
			if n == len(taken) {
				taken = append(taken, nil)
				c.out.Sheets = append(c.out.Sheets, Sheet{Width: c.stock.Width, Height: c.stock.Height})
			}
			if at, ok := lowestPlace(taken[n], room, b, gap); ok {
				taken[n] = append(taken[n], geom.Box{Min: at, Max: at.Add(geom.Vec{X: b.w, Y: b.h})})
				c.out.Sheets[n].put(b, geom.Vec(at))
				break
			}
		}
	}
	order := map[string]int{}
	for i, p := range c.out.Parts {
		order[p.ID] = i
	}
	for _, sh := range c.out.Sheets { // as a record lists them
		sort.Slice(sh.Laid, func(i, k int) bool { return order[sh.Laid[i].ID] < order[sh.Laid[k].ID] })
	}
	if n := len(c.out.Sheets); c.stock.Count > 0 && n > c.stock.Count {
		return fmt.Errorf("the test piece needs %s of %s; there are %d", figure.Count(n, "sheet"), figure.Sheet(c.stock.Width, c.stock.Height), c.stock.Count)
	}
	return nil
}

// lowestPlace finds the lowest, then leftmost place for a group: its corner lies in
// line with the room's own or just past a group that is there already.
func lowestPlace(taken []geom.Box, room geom.Box, b group, gap float64) (geom.Point, bool) {
	xs, ys := []float64{room.Min.X}, []float64{room.Min.Y}
	for _, t := range taken {
		xs, ys = append(xs, t.Max.X+gap), append(ys, t.Max.Y+gap)
	}
	sort.Float64s(xs)
	sort.Float64s(ys)
	for _, y := range ys {
		for _, x := range xs {
			box := geom.Box{Min: geom.Point{X: x, Y: y}, Max: geom.Point{X: x + b.w, Y: y + b.h}}
			free := box.Max.X <= room.Max.X+1e-6 && box.Max.Y <= room.Max.Y+1e-6
			for _, t := range taken {
				free = free && !t.Overlaps(box.Grow(gap-1e-6))
			}
			if free {
				return box.Min, true
			}
		}
	}
	return geom.Point{}, false
}

// put lays a group's parts and lines.
func (s *Sheet) put(b group, at geom.Vec) {
	for _, l := range b.laid {
		s.Laid = append(s.Laid, Laid{l.ID, round6(l.At.Add(at))})
	}
	for _, l := range b.lines {
		s.Lines = append(s.Lines, Line{l.Comb, geom.Segment{From: round6(l.From.Add(at)), To: round6(l.To.Add(at))}})
	}
}

// round6 rounds a place to 1e-6 mm.
func round6(p geom.Point) geom.Point {
	return geom.Point{X: geom.Millionth(p.X), Y: geom.Millionth(p.Y)}
}
