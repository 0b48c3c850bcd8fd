package read

import "spotjig/cam/machine"

// Point is a place in machine coordinates, mm, by axis: 0 is X, 1 Y, 2 Z.
type Point [3]float64

func (p Point) axes() machine.Axes { return machine.Axes{X: p[0], Y: p[1], Z: p[2]} }

func pointOf(a machine.Axes) Point { return Point{a.X, a.Y, a.Z} }

// Kind says what an event is.
type Kind uint8

// The kinds of event.
const (
	Rapid   Kind = iota + 1 // straight move at traverse rate
	Line                    // straight move at feed
	Arc                     // arc or helix at feed; Batch.Arcs[Extra] is its shape
	Dwell                   // G4; Feed holds the seconds
	Spin                    // M3, M4 or M5 was executed
	Power                   // an S word was executed on a line that moves nothing
	Pause                   // M0, M1 or M60
	End                     // the program ends
	Comment                 // Batch.Texts[Extra] is what stands between the brackets
	Noted                   // something to know; Batch.Notes[Extra]
	Reach                   // where the head may come on a controller that reads the line in another way
)

// Turn is the state of the spindle, or of the beam on a laser.
type Turn uint8

// The states M5, M3 and M4 leave.
const (
	Off     Turn = 0
	Forward Turn = 3 // M3
	Reverse Turn = 4 // M4
)

// Path is the path control mode.
type Path uint8

// The path control modes. Unstated is the machine's own, taken as Continuous.
const (
	Unstated   Path = iota
	Exact           // G61
	ExactStop       // G61.1
	Continuous      // G64
)

// Event is one thing the program does, with the state it is done in. It is kept
// to one cache line, because a program may have a hundred million of them.
type Event struct {
	Kind  Kind
	Turn  Turn
	Path  Path
	Extra int32     // index into the batch's Arcs, Texts or Notes
	Cols  [3]uint16 // columns of the X, Y and Z words, 0 where there is none
	Col   uint16    // column of the line's first word, or of the word that did this
	Line  int64
	To    Point   // machine mm: where the move ends, or where the head stands
	S     float64 // the S value in force
	Feed  float64 // mm/s along the path; for a dwell, seconds; 0 for a rapid
}

// Curve is the shape of an arc or helix, machine mm.
type Curve struct {
	From, To Point
	Plane    Plane
	Center   Point   // on the axis, at the height of From
	Radius   float64 // of the start, in the plane
	RadiusTo float64 // of the end: may differ from Radius by the report's tolerance, more on a fault
	Sweep    float64 // radians, positive from the plane's first axis to its second; never 0, at most a full turn
}

// Plane is the plane of arcs.
type Plane uint8

// The planes: the first and second axis are X Y, Z X and Y Z, in turning sense
// (sections 3.5.3 and 2.1.2.6).
const (
	XY Plane = iota
	ZX
	YZ
)

// Axes returns the indices of the plane's first and second axis, in turning sense, and of the axis square to it.
func (p Plane) Axes() (first, second, normal int) {
	switch p {
	case ZX:
		return 2, 0, 1
	case YZ:
		return 1, 2, 0
	}
	return 0, 1, 2
}

// Mark is a fact about a line that no language rule forbids but that someone may want to know.
type Mark uint8

// The facts noted.
const (
	UsedShift       Mark = iota + 1 // G92 or one of its kin
	UsedHome                        // G28 or G30
	StopBeforeMove                  // M5 stands after the axis words of its line, and runs before the move
	StartBeforeMove                 // M3 or M4 stands after the axis words
	ModeBeforeMove                  // a mode word stands after the axis words
	FarRadius                       // a radius arc near half or whole turn
	NearCircle                      // a centre arc that ends next to its start
	LongDwell                       // a dwell so long that milliseconds may have been meant
	ToolWord                        // T
	BlendWide                       // G64 with a P that lets corners be cut far
	CycleTwoWays                    // a canned cycle that controllers run in two ways
	WentNowhere                     // G28 or G30 to a home that is not known; the place told is where the way there begins
)

// Note is a fact with the word that gave rise to it, and the figures that tell it.
type Note struct {
	Mark         Mark
	Word         string
	Value, Limit float64 // in the unit that the fact has; 0 where no figure tells it
}

// Batch is a run of events and faults in program order.
type Batch struct {
	Events []Event
	Arcs   []Curve
	Texts  []string
	Notes  []Note
	Faults []Fault
}

// newBatch returns an empty batch with room for n events.
func newBatch(n int) *Batch { return &Batch{Events: make([]Event, 0, n)} }

// room returns the events with all their capacity, which holds n at least.
func (b *Batch) room(n int) []Event {
	if cap(b.Events) < n {
		b.Events = append(make([]Event, 0, n), b.Events...)
	}
	return b.Events[:cap(b.Events)]
}

// Reset empties the batch for use again.
func (b *Batch) Reset() {
	b.Events, b.Arcs, b.Texts = b.Events[:0], b.Arcs[:0], b.Texts[:0]
	b.Notes, b.Faults = b.Notes[:0], b.Faults[:0]
}
