package path

import (
	"fmt"
	"math"
	"strings"

	"spotjig/cam/jig"
	"spotjig/cam/machine"
	"spotjig/layout/geom"
)

// contour is one chain the blade's tip follows: nominal, sheet frame. A closed
// one has the kept material on its left: outlines run counter-clockwise,
// openings clockwise.
type contour struct {
	layer   Layer
	part    string
	feature string
	shape   geom.Contour   // as drawn
	chain   []geom.Segment // as cut: tight arcs turned into corners
	closed  bool
	setting machine.Setting
	noStart []geom.Segment // edges on which no cut may start, sheet frame
	ways    []strokeWay    // scores and letters: where they may begin
	box     geom.Box       // of the shape, and of all ways
	offset  float64        // that it is cut with
	piece   int            // whose it is
	held    []int          // opening: the pieces that lie in it
	done    bool
}

// piece is one part on the sheet.
type piece struct {
	id      string
	outline geom.Contour // sheet frame, counter-clockwise
	near    geom.Box     // its box, grown by wasteGap
	cuts    []contour
	holder  int          // the piece in whose opening this one lies, -1 if none
	hole    geom.Contour // that opening; empty if none
}

// layer returns the piece's contours of one layer, in the part's order.
func (p piece) layer(l Layer) []*contour {
	var out []*contour
	for i := range p.cuts {
		if p.cuts[i].layer == l {
			out = append(out, &p.cuts[i])
		}
	}
	return out
}

// gatherPieces brings every part on the sheet into the sheet frame, scaled.
func gatherPieces(req KnifeRequest) ([]piece, error) {
	var out []piece
	for _, on := range req.Sheet.Placed {
		part, ok := findPart(req.Parts, on.ID)
		if !ok {
			return nil, fmt.Errorf("%w: the sheet holds part %q, which the jig does not have", ErrKnife, on.ID)
		}
		p, err := gatherPiece(part, on.On, req)
		if err != nil {
			return nil, err
		}
		out = append(out, p)
	}
	findHolders(out)
	return out, nil
}

func findPart(parts []jig.Part, id string) (jig.Part, bool) {
	for _, p := range parts {
		if p.ID == id {
			return p, true
		}
	}
	return jig.Part{}, false
}

// findHolders notes which pieces lie in an opening of another.
func findHolders(pieces []piece) {
	for i := range pieces {
		pieces[i].holder = -1
		at := pieces[i].outline.Start()
		for j, q := range pieces {
			if j == i || !q.outline.Contains(at) {
				continue
			}
			for _, c := range q.layer(Opening) {
				if c.shape.Contains(at) {
					pieces[i].holder, pieces[i].hole = j, c.shape
					c.held = append(c.held, i)
				}
			}
		}
	}
}

// gatherPiece lists the contours of one part, sheet frame.
func gatherPiece(part jig.Part, on geom.Placement, req KnifeRequest) (piece, error) {
	p := piece{id: part.ID}
	var fault error
	offset := req.offsetOf(part.ID)
	add := func(l Layer, feature string, c geom.Contour) geom.Contour {
		shape := part.AtCutSize(c).Transform(on)
		set, err := knifeSetting(req, part, l)
		if err != nil && fault == nil {
			fault = err
		}
		chain, err := loosen(shape.Segments(), req.Machine.Knife)
		if err != nil && fault == nil {
			fault = fmt.Errorf("%w: %s %s %s: %w", ErrKnife, l, part.ID, feature, err)
		}
		ways := []strokeWay(nil)
		if l < Opening && err == nil {
			ways = waysOf(chain, shape.Closed())
		}
		box := shape.Bounds()
		for _, w := range ways {
			box = box.Include(w.at)
		}
		p.cuts = append(p.cuts, contour{ways: ways, box: box, offset: offset, layer: l, part: part.ID, feature: feature, shape: shape, chain: chain, closed: shape.Closed(), setting: set})
		return shape
	}
	for _, c := range part.Letters {
		add(Lettering, "text", c)
	}
	for i, c := range part.Scores {
		add(Score, fmt.Sprintf("line %d", i+1), c)
	}
	for _, o := range part.Openings {
		add(Opening, openingName(o), o.Contour())
	}
	p.outline = add(Outline, "outline", part.Outline)
	p.near = p.outline.Bounds().Grow(wasteGap)
	p.cuts[len(p.cuts)-1].noStart = noStart(part, on)
	return p, fault
}

// openingName returns an opening's id if that names its mark ("black",
// "long-string/2"), so that the slots of one line can be told apart; else the
// mark it serves; else the id.
func openingName(o jig.Opening) string {
	if o.Mark == "" || strings.HasPrefix(o.ID, o.Mark) {
		return o.ID
	}
	return o.Mark
}

// loosen turns arcs tighter than ArcMin into corners, or refuses them.
func loosen(chain []geom.Segment, k machine.KnifeProfile) ([]geom.Segment, error) {
	var out []geom.Segment
	for _, s := range chain {
		if !s.IsArc() || s.Radius() >= k.ArcMin-joinSlack {
			out = append(out, s)
			continue
		}
		if k.ArcTight == machine.ArcsRefuse {
			return nil, fmt.Errorf("arc of radius %.3f mm at %.2f, %.2f is tighter than the blade's %g mm",
				s.Radius(), s.From.X, s.From.Y, k.ArcMin)
		}
		out = append(out, cornered(s)...)
	}
	return out, nil
}

// joinSlack keeps a radius that equals the limit from being refused for a
// rounding error; the radius of a part moved across a 3 m sheet is good to 1e-9.
const joinSlack = 1e-6

// cornered replaces an arc by the fewest tangent lines that stay within flatTol
// of it: n corners of sweep/n, whose points stand out by r(1/cos(sweep/2n) - 1)
// on the arc's outer side. First and last line are tangent at the arc's ends, so
// no corner is added there.
func cornered(s geom.Segment) []geom.Segment {
	r, sweep := s.Radius(), float64(s.Sweep())
	half := math.Acos(r / (r + flatTol))
	n := int(math.Ceil(math.Abs(sweep)/(2*half) - 1e-9))
	h := sweep / float64(2*n)
	c := s.Center()
	spoke := s.From.Sub(c).Scale(1 / math.Cos(h))
	var out []geom.Segment
	from := s.From
	for i := 0; i < n; i++ {
		v := c.Add(turned(spoke, h*float64(2*i+1)))
		out = append(out, geom.Segment{From: from, To: v})
		from = v
	}
	return append(out, geom.Segment{From: from, To: s.To})
}

// turned returns v turned counter-clockwise by a radians.
func turned(v geom.Vec, a float64) geom.Vec {
	s, c := math.Sincos(a)
	return geom.Vec{X: float64(c*v.X) - float64(s*v.Y), Y: float64(s*v.X) + float64(c*v.Y)}
}

// turnBetween returns the signed angle from u to v, -pi..pi, counter-clockwise
// positive. Half a turn is always +pi, whatever rounding says.
func turnBetween(u, v geom.Vec) float64 {
	a := math.Atan2(u.Cross(v), u.Dot(v))
	if a < -math.Pi+1e-9 {
		return math.Pi
	}
	return a
}

// station is a place on a chain: segment and fraction along it.
type station struct {
	seg int
	t   float64
}

// from returns a closed chain as travelled once round from a station.
func from(chain []geom.Segment, s station) []geom.Segment {
	n := len(chain)
	var out []geom.Segment
	if s.t == 0 {
		for i := range chain {
			out = append(out, chain[(s.seg+i)%n])
		}
		return out
	}
	before, after := chain[s.seg].Split(s.t)
	out = append(out, after)
	for i := 1; i < n; i++ {
		out = append(out, chain[(s.seg+i)%n])
	}
	return append(out, before)
}

// first returns the beginning of a chain, of length l or a little more, and not past a corner
// of more than sharp radians. It ends, and leaves, no piece of an arc that leastOf forbids.
func (b *blade) first(chain []geom.Segment, l, sharp float64) []geom.Segment {
	var out []geom.Segment
	for i, s := range chain {
		if i > 0 && (l < joinSlack || math.Abs(turnBetween(chain[i-1].Tangent(1), s.Tangent(0))) > sharp) {
			break
		}
		have, least := s.Length(), b.leastOf(s)
		if take := math.Max(l, least); take < have-least {
			head, _ := s.Split(take / have)
			return append(out, head)
		}
		out, l = append(out, s), l-have
		if l < 0 {
			break
		}
	}
	return out
}

// leastOf is the length of the shortest piece of an arc that may be cut by itself: the pivot's
// way rises above its chord by riseLeast. A flatter one is printed as its chord, and that asks
// for another heading than the blade has on the arc. Lines may be cut anywhere.
func (b *blade) leastOf(s geom.Segment) float64 {
	if !s.IsArc() {
		return 0
	}
	r := s.Radius()
	return r * math.Sqrt(8*riseLeast/math.Hypot(r, b.k.Offset))
}

// lengthOf is how long a chain is.
func lengthOf(chain []geom.Segment) (l float64) {
	for _, s := range chain {
		l += s.Length()
	}
	return l
}

// smoothTol: turns below this (0.01 degrees) are no corner; over an offset of
// 1 mm they swing the pivot by 0.0002 mm.
const smoothTol = float64(geom.Degree / 100)

// reversed returns a chain travelled backwards.
func reversed(chain []geom.Segment) []geom.Segment {
	n := len(chain)
	out := make([]geom.Segment, n)
	for i, s := range chain {
		out[n-1-i] = s.Reversed()
	}
	return out
}

// barred reports whether a cut may not start at p: p lies on an edge that
// locates, ends excepted.
func (c contour) barred(p geom.Point) bool {
	for _, s := range c.noStart {
		if _, d := s.Nearest(p); d < barSlack && p.Dist(s.From) > barSlack && p.Dist(s.To) > barSlack {
			return true
		}
	}
	return false
}

// barSlack: a start this near a locating edge is on it; above what a tight arc
// turned into corners stands out.
const barSlack = 0.05
