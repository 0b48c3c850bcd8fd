// Package machine holds what is known of a cutting machine and of the sheet it
// cuts: profiles built in, read from a file, or given in the job.
package machine

import (
	"math"

	"spotjig/layout/geom"
)

// Feed is a speed in mm/s.
type Feed float64

// PerMinute returns the feed in mm/min, as an F word in G94 states it.
func (f Feed) PerMinute() float64 { return float64(f) * 60 }

// FeedPerMinute converts mm/min. PerMinute gives the number back within one part
// in 10^15.
func FeedPerMinute(v float64) Feed { return Feed(v / 60) }

// Process says how the sheet is cut.
type Process string

// The processes.
const (
	Laser  Process = "laser"
	Knife  Process = "knife"
	Router Process = "router" // a spindle; for the dry run of anybody's programs, no jig is made for it
	Shop   Process = "shop"   // no machine of one's own: drawings and papers, no programs
)

// Axes is a value per axis, mm.
type Axes struct{ X, Y, Z float64 }

// Zone is a box in machine coordinates that the head must not enter.
type Zone struct {
	Name     string
	Min, Max Axes
}

// Unbounded is the Z extent of a zone given in plan only.
func Unbounded() float64 { return math.Inf(1) }

// Profile is one machine. Every value is filled in by the reader of profiles.
type Profile struct {
	Name    string
	Process Process

	Min, Max Axes   // soft limits, machine coordinates, mm
	HasZ     bool   // false: Z words are refused
	Park     *Axes  // where the head stands when a program begins, machine mm; nil: work zero
	KeepOut  []Zone // clamps and the like, machine coordinates

	// What the controller assumes at power-on, e.g. "G21 G90 G17 G94 G54 G40 G49 G1".
	PowerOn []string
	// Work offsets G54..G59.3 by number 1..9, machine coordinates; those not declared are unknown.
	Offsets map[int]Axes
	// "zero" when numbered parameters are all zero at the start; "" when unknown.
	ParametersZero bool
	Home28, Home30 *Axes // G28 and G30 homes, machine mm; nil: unknown

	// Beam.
	BeamWord    string  // "M4" (power follows speed, dark when still) or "M3" (constant)
	PowerScale  float64 // the S word that means full power, e.g. 1000
	PierceMax   float64 // longest dwell with the beam on, s
	StillMax    float64 // longest time with the beam on in one place, moving or not, s; 0: twice PierceMax
	StillStated bool    // somebody stated StillMax: it holds however slow a cut is
	Wavelength  float64 // nm, 0 unknown
	HasSpindle  bool    // false: S and M3/M4 belong to the beam; tool words are refused

	// Motion.
	FeedMax  Feed    // fastest cutting move
	RapidMax Feed    // fastest travel
	Rate     float64 // what an hour of it costs, in the money of the sheets; 0 when not known
	AccelCut float64 // mm/s²
	AccelRap float64 // mm/s²
	Junction float64 // junction deviation, mm

	// Tools.
	ToolIn int     // the tool in the spindle, which M6 may ask for; 0: not known
	Floor  float64 // deepest Z of a router, work coordinates (negative); 0: the travel only

	// Controller is the name of the built-in traits the profile started from; "" none.
	Controller string
	Traits

	// Dialect of the controller, beyond the published report.
	SemicolonComments bool
	DwellMillis       bool     // G4 P counts milliseconds
	ExtraWords        []string // words passed over because the user lists them, e.g. "M8", "M9", "G64"
	LineMax           int      // longest line in characters
	NoArcCenterAbs    bool     // G90.1 refused (always so unless the profile says otherwise)

	// How programs are written for it.
	Writing Writing

	// Knife.
	Knife KnifeProfile

	// Limits the shop sets for itself; zero means no limit.
	TimeMax     float64 // s, estimated
	RepeatMax   int     // how often the same path may be burnt
	MarginBed   float64 // mm kept free inside the travel on every side (default 5)
	SupportGrid float64 // mm between bed supports (default 12)
	ScaleX      float64 // parts per million the machine cuts large in x, as measured; budgeted, never compensated
	ScaleY      float64
	SkewMicrons float64 // µm out of square per metre, as measured
}

// What to do with arcs that are tighter than a blade follows.
const (
	ArcsRefuse = "refuse"
	ArcsCorner = "corner"
)

// KnifeProfile is the trailing blade and its heights. Z in work coordinates:
// zero on the sheet's upper face, up positive.
type KnifeProfile struct {
	Offset       float64    // mm the tip trails the pivot
	Wedge        geom.Angle // of the cutting edge to the sheet
	ZUp, ZSkin   float64    // clear of the sheet; just in the skin, for swivels
	Plunge, Lift Feed
	Swivel       Feed       // pivot speed during a swivel
	SwivelMax    geom.Angle `rec:"swivel_deg"` // turns up to this are swivelled at full depth
	ArcMin       float64    // smallest tip radius the blade follows, mm
	ArcTight     string     // ArcsRefuse or ArcsCorner: what to do with tighter arcs
	Misalign     geom.Angle `rec:"misalign"` // heading error allowed when a contour begins; the record has it in degrees
	SheetMax     float64    // thickest sheet, mm
	ZFloor       float64    // deepest Z, the mat, mm (negative)
}

// Material is a sheet and how it is cut.
type Material struct {
	Name      string  // catalogue name
	Kind      string  // e.g. "cast acrylic"
	Colour    string  // "clear", "black", ...; "" unknown. What a visible beam needs to know
	Sold      float64 // thickness as the dealer calls it, mm
	Thickness float64 // measured, mm; as sold when Measured is false
	Measured  bool    // the thickness was measured: fins and slots may be cut to it
	Ordered   string  // what a shop has on order already: OrderedNothing or OrderedPlates
	Kerf      float64 // width of cut at the exit face, mm
	KerfPM    float64 // its +- as measured, mm
	Expansion float64 // per kelvin
	Moisture  float64 // strain per % relative humidity
	Density   float64 // kg/m³
	Modulus   float64 // Pa
	Sheets    []Stock
	Cut       Setting
	Score     Setting
	Letter    Setting
	PowerCap  float64 // S not to be exceeded in this material; 0: the machine's full scale
}

// What of a shop's sheets is on order when a job is made.
const (
	OrderedNothing = "nothing"
	OrderedPlates  = "plates" // those without slots for fins, the first of two steps
)

// InSteps reports whether a shop is ordered from in two steps: plates without slots for
// fins first, and when a sheet of that batch is measured, fins and plates with slots. A
// sheet measured before anything is ordered is ordered from at once.
func (m Material) InSteps() bool { return !m.Measured || m.Ordered == OrderedPlates }

// Stock is one size of sheet. Count 0 means as many as needed; Price is of one sheet,
// in whatever money, 0 when not known.
type Stock struct {
	Width, Height float64
	Count         int
	Price         float64
}

// Is tells whether a sheet of that size is of this stock, either way round.
func (s Stock) Is(width, height float64) bool {
	return s.Width == width && s.Height == height || s.Width == height && s.Height == width
}

// Setting is a user's power and feed for one kind of cut.
type Setting struct {
	Power  float64 // S word
	Feed   Feed
	Passes int
	Depth  float64 // knife: Z of the last pass, mm (negative down)
	Proven string  // who proved it on this machine and when; "" = not proven
}
