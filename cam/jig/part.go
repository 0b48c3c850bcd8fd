// Package jig turns marks into the parts of a reusable template: members,
// joints, fins, openings, scores and lettering.
package jig

import (
	"cmp"
	"math"
	"strings"

	"spotjig/cam/jig/budget"
	"spotjig/layout/figure"
	"spotjig/layout/geom"
)

// OpeningKind says what an opening is for.
type OpeningKind string

// The kinds of opening.
const (
	OpenSpot   OpeningKind = "spot"    // circle: a hole for the marking tool or a sticker
	OpenPair   OpeningKind = "pair"    // straight slot whose half-circle ends are the holes of two spots
	OpenSlot   OpeningKind = "slot"    // straight slot with half-circle ends
	OpenArc    OpeningKind = "arcslot" // arc slot with half-circle ends
	OpenFin    OpeningKind = "fin"     // slot that takes a fin's tab
	OpenFinger OpeningKind = "finger"  // circle to lift the piece by
	OpenHang   OpeningKind = "hang"    // circle to hang it by
	OpenSocket OpeningKind = "socket"  // circle for a pin that sets two lapped pieces
)

// Opening is one closed hole through a part, part frame, at nominal size: all that lies
// within half its width of a figure.
type Opening struct {
	ID   string
	Kind OpeningKind
	Mark string // the mark it serves; "" for none
	Far  string // of a pair: the mark at the figure's other end

	geom.Figure         // a circle's centre, or what a slot's middle runs along
	Width       float64 // a circle's diameter, a slot's width, mm
}

// Round is a circular opening of a radius, mm.
func Round(id string, kind OpeningKind, centre geom.Point, radius float64) Opening {
	return Opening{ID: id, Kind: kind, Figure: geom.Dot(centre), Width: 2 * radius}
}

// Contour returns the opening's edge, closed, clockwise, part frame.
func (o Opening) Contour() geom.Contour { return o.Grown(o.Width / 2).Reversed() }

// Pose says where a part goes on the table. Flat: p' = R(Turn) p + (X, Y), on
// the cloth. Upright: part +x runs along Turn in plan and part +y is table +z;
// X, Y, Z is where the part's origin stands (the mid-plane of its thickness).
type Pose struct {
	X, Y, Z float64
	Turn    geom.Angle
	Upright bool
}

// Plan returns the placement of a flat part, part frame to table frame.
func (p Pose) Plan() geom.Placement { return geom.Placement{X: p.X, Y: p.Y, Turn: p.Turn} }

// Role says what a part is for; it is lettered on the piece and kept in the record.
type Role string

// The roles of a template's parts. Flat: a pad or a crosspiece with its arms, legs and
// rails along the table, a wing or the spine on the centre line. Upright: fins, or the
// boxes that card folds in their stead. A plug drops into a sticker's hole. A gauge sets a
// spot in the middle of the table, between the templates. A key shuts a joint. A shoe stands
// across an end fin's front and touches the nose in its stead.
const (
	Pad        Role = "pad"
	Crosspiece Role = "crosspiece"
	Arm        Role = "arm"
	Leg        Role = "leg"
	Rail       Role = "rail"
	Wing       Role = "wing"
	Spine      Role = "spine"
	EndFin     Role = "end fin"
	SideFin    Role = "side fin"
	EndBox     Role = "end box"
	SideBox    Role = "side box"
	Plug       Role = "plug"
	GaugePlate Role = "gauge"
	SlidingKey Role = "key"
	NoseShoe   Role = "shoe"
)

// Touches tells what touches a nose: upright, but no fin that a shoe stands before.
func (p Part) Touches() bool { return p.OnTable.Upright && p.Shoe == "" }

// Box tells a box of folded card.
func (r Role) Box() bool { return r == EndBox || r == SideBox }

// Side tells what touches a side nose.
func (r Role) Side() bool { return r == SideFin || r == SideBox }

// Part is one piece cut from sheet. Its frame: face up, origin at the lower
// left of its outline's box.
type Part struct {
	ID       string // e.g. "H2"; unique in the jig
	Template string // Head or Foot; a test piece's own
	Role     Role
	Outline  geom.Contour
	Openings []Opening
	Scores   []geom.Contour // open chains: fold, registration and scale lines
	// ScoreDepth is, for a knife, the Z of the scores where they are folds and must
	// be deeper than the material's setting for lines; 0: that setting.
	ScoreDepth float64
	Letters    []geom.Contour // open chains: lettering strokes
	Text       []string       // what the lettering says, for people
	OnTable    Pose
	Scale      float64 // of what is cut to what is drawn here; 0 counts as 1
	// Shoe is the part that stands before this end fin and touches the nose; "" for none.
	Shoe string
	// NoStart are the edges of the outline on which no cut may start and no tie
	// may sit, part frame: shoulders, flanks, lips, fin fronts, datum and reference edges.
	NoStart []geom.Segment
	// Seams are the chains of the outline that belong to joints: shoulder, tail
	// and socket edges, part frame.
	Seams []geom.Contour
}

// CutScale is the part's scale: what makes up for the sheet's growth multiplies the part
// about its origin.
func (p Part) CutScale() float64 { return cmp.Or(p.Scale, 1) }

// AtCutSize is one of the part's contours at the size at which it is cut, part frame.
func (p Part) AtCutSize(c geom.Contour) geom.Contour { return c.Scaled(p.CutScale()) }

// Lies reports whether the part lies on the cloth and is laid by hand: no fin or box,
// no plug, no key.
func (p Part) Lies() bool { return !p.OnTable.Upright && p.Role != Plug && p.Role != SlidingKey }

// FitsThickness reports whether the part's shape follows the thickness of the sheet: a
// fin, or a plate with a slot for one.
func (p Part) FitsThickness() bool {
	for _, o := range p.Openings {
		if o.Kind == OpenFin {
			return true
		}
	}
	return p.OnTable.Upright
}

// KnifeTrial is a coupon's part that is cut with an offset or a depth of its own.
type KnifeTrial struct {
	Part   string
	Offset float64 // mm; 0: the profile's
	Depth  float64 // Z of the last pass through the sheet; 0: the material's
}

// Joint is one seam between two parts, table frame.
type Joint struct {
	Tail, Socket string     // ids of the part that has the tails and of the one that has the sockets
	From, To     geom.Point // the seam's ends, table frame
	Key          string     // what makes it unlike the others, for people
	Part         string     // id of the sliding key that shuts it; "" for none
}

// Verdict is the outcome of a check.
type Verdict string

// The verdicts.
const (
	Pass Verdict = "pass"
	Warn Verdict = "warn"
	Fail Verdict = "fail"
)

// Check is one thing looked at, with its value and limit.
type Check struct {
	ID      string
	Verdict Verdict
	Value   float64
	Limit   float64
	Unit    string
	Text    string
}

// Figures are a check's value and limit behind its text: " (26.3 mm, limit 25.0 mm)".
func (c Check) Figures() string {
	switch {
	case c.Limit == 0 && c.Unit == "":
		return ""
	case c.Limit == 0:
		return " (" + figure.Short(c.Value, 3) + " " + c.Unit + ")"
	case c.Unit == "mm" && math.Abs(c.Value-c.Limit) > 0.1: // tenths tell them apart
		return " (" + figure.MM(c.Value) + ", limit " + figure.MM(c.Limit) + ")"
	}
	return strings.TrimRight(" ("+figure.Short(c.Value, 3)+", limit "+figure.Short(c.Limit, 3)+" "+c.Unit, " ") + ")"
}

// Ways to set a mark.
const (
	ByTemplate = "template"
	ByReversal = "reversal"
	ByGauge    = "thread and gauge"
)

// Budget is the error budget of one mark, mm.
type Budget struct {
	Mark   string
	Method string // ByTemplate; ByReversal for a spot marked from both ends, ByGauge for one set between them
	budget.Total
	Tolerance float64
	Verdict   Verdict
	stated    bool   // the job states it: what is likely beyond is refused
	Improve   string // the keys that would better it, and by how much
}

// Jig is a whole template set.
type Jig struct {
	Parts                []Part
	Joints               []Joint
	Checks               []Check
	Budgets              []Budget
	LengthMin, LengthMax float64   // the range of playing-surface length it serves
	Settings             []Setting // of the templates, for a table of another length; none without shoes
	Gauges               []Gauge   // those that set a spot between the templates, in the order of their use
}
