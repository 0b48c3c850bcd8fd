// Package job reads a job file and resolves it: every default filled in.
package job

import (
	"slices"

	"spotjig/layout"
)

// Job is a job file as resolved. Lengths in mm.
type Job struct {
	File    string // as given on the command line; "" for the embedded demo
	Name    string
	Date    string // as written, YYYY-MM-DD; lettered on the jig; "" when not given
	Notes   string // one line of printable text
	Units   string // which unit people read first: UnitsMM or UnitsInch
	Table   layout.Table
	Survey  *layout.Survey // nil: the table was given by length and width alone
	Games   []string
	Choices layout.Choices
	Balls   layout.Balls
	House   []layout.HouseMark
	Also    []AlsoTable // other tables of the same class that the jig should serve
	Jig     Jig
	Copies  int    // how many jigs are made, one at least
	DXF     string // "nominal", or "compensated": drawings have the kerf taken already
	Colours Colours

	Made   Made    // of a set's own job file: what it was made with beside the job
	Ledger *Ledger // every value the job came to; the machine's and material's once they are read

	// The machine and material sections as found, for cam/machine to read;
	// layout knows nothing of machines.
	Machine, Material Section
}

// What a jig may be for, how spots are marked, and how pieces are joined.
const (
	ForClass, ForThis         = "class", "this"
	SpotsPoint, SpotsSticker  = "point", "sticker"
	JointDovetail, JointKeyed = "dovetail", "keyed"
)

// Jig is what the fitter asks of the template. Lengths in mm.
type Jig struct {
	For                  string        // ForClass or ForThis
	MarkerTip            float64       // width of the line the tool draws
	MarkerGuide          float64       // the tool's thickness at plate height
	Spots                string        // SpotsPoint or SpotsSticker
	Sticker              float64       // diameter of the adhesive spot
	Tolerance            float64       // of a mark; 1 where the job states none
	ToleranceStated      bool          // a mark beyond it is refused, not warned of
	Tolerances           []NamedLength // stated for some marks, by id; the others have what is usual
	NosePM               float64       // nose contact, +- a fin
	SeatPM               float64       // a fin out of its place in its slot and on its lip, +-
	SeatStated           bool          // the job gives it, which holds for blocks too
	ReadingPM            float64       // a reading of a side scale, +-
	SightPM              float64       // a thread or a tape's line over a line or a mark, +-
	ClosurePM            float64       // an end of a joint pulled shut stays open by at most this
	SlipPM               float64       // left beside a shut joint's tail, square to a flank
	SlipStated           bool          // as a test piece's joint was read
	Fit                  string        // "press", "slide", "loose"
	Joint                string        // JointDovetail or JointKeyed
	Settings             bool          // end fins on shoes, set to a table's length by leaves
	FinFix               string        // "bonded" or "screwed"
	Ties                 int           // ties an outline, 0 none
	TieWidth             float64
	PieceMax             float64 // longest piece allowed; 0 no limit
	SpareFins            bool
	Letters              string  // "full", "short" or "none"
	SideTravel           float64 // how far a side fin slides either way
	ShopTempC, HallTempC float64 // °C
	ShopRH, HallRH       float64 // % relative humidity
	TemperatureStated    bool    // the job gives the hall's temperature
	HumidityStated       bool    // the job gives the hall's humidity
	CompensateGrowth     bool    // scale the parts so that they are true at HallTempC
}

// ToleranceOf is a mark's tolerance, and whether the job states it. A mark answers to
// every id that it has.
func (j Jig) ToleranceOf(ids ...string) (mm float64, stated bool) {
	for _, t := range j.Tolerances {
		if slices.Contains(ids, t.Name) {
			return t.MM, true
		}
	}
	return j.Tolerance, j.ToleranceStated
}

// Colours are those of what is cut in drawings whose colours mean something to the
// machine's software, as #rrggbb.
type Colours struct{ Lettering, Score, Opening, Outline string }

// AlsoTable is another measured table that one jig should serve, mm.
type AlsoTable struct {
	Name string
	L, W float64
}

// Made is what a set was made with beside its job: the tool's version and the choices of
// the command.
type Made struct {
	Version string
	What    string // "template" or "test piece"
	Grid    bool
	Paper   string
	ProofOf string
	SVG     bool
	Stock   Offcut
}

// TestPiece tells whether the set is that of a test piece.
func (m Made) TestPiece() bool { return m.What == "test piece" }

// Offcut is the piece of sheet that a test piece is cut from, mm; 0 by 0: the job's sheet.
type Offcut struct{ Width, Height float64 }

// The units that a job may have people read first; the other stands behind it. Files for
// machines are in mm whatever is chosen.
const (
	UnitsMM   = "mm"
	UnitsInch = "in"
)
