package read

// Code is a fault's stable, searchable code.
type Code string

// The faults of a program. What each means at length is told by post/dryrun.
const (
	BadCharacter     Code = "D101"
	BadLetter        Code = "D102"
	UnknownG         Code = "D103"
	UnknownM         Code = "D104"
	BadNumber        Code = "D105"
	NumberTooLarge   Code = "D106"
	WordTwice        Code = "D107"
	GroupTwice       Code = "D108"
	TooManyM         Code = "D109"
	BadComment       Code = "D110"
	BadLineNumber    Code = "D111"
	LineTooLong      Code = "D112"
	BadExpression    Code = "D113"
	BadValue         Code = "D114"
	TooDeep          Code = "D115"
	ParamRange       Code = "D116"
	ParamUnset       Code = "D117"
	ParamReserved    Code = "D118"
	UnusedWord       Code = "D119"
	NoAxisWord       Code = "D120"
	AxisWordsTwice   Code = "D121"
	NoMotionMode     Code = "D122"
	NotInteger       Code = "D123"
	Negative         Code = "D124"
	MissingWord      Code = "D125"
	PercentOpen      Code = "D126"
	PercentMisplaced Code = "D127"
	NoEnd            Code = "D128"
	AfterEnd         Code = "D129"
	BadG10           Code = "D130"
	BadG53           Code = "D131"
	TooManyMoves     Code = "D132"
	BadCycle         Code = "D133"
	NearCode         Code = "D134"
	SpacedNumber     Code = "D135"
	ActingByte       Code = "D136"
	ActingComment    Code = "D137"
	LoneReturn       Code = "D138"
	MixedEnds        Code = "D139"
	ByteOrderMark    Code = "D140"
	TooPrecise       Code = "D141"
	RefusedCode      Code = "D142"
	SettingsLine     Code = "D143"
	SemicolonComment Code = "D144"
	ProgramName      Code = "D145"

	RotaryAxis    Code = "D201"
	CutterComp    Code = "D202"
	ToolLength    Code = "D203"
	Probe         Code = "D204"
	CycleRefused  Code = "D205"
	ToolChange    Code = "D206"
	Pallet        Code = "D207"
	HomeUnknown   Code = "D208"
	OffsetUnknown Code = "D209"
	ShiftUnknown  Code = "D210"
	UnitsChanged  Code = "D211"
	NoSuchAxis    Code = "D212"
	ToolTaken     Code = "D213"
	PlaceUnknown  Code = "D214"
	OriginTaken   Code = "D215"
	MemoryWritten Code = "D216"

	UnitsUnstated    Code = "D301"
	DistanceUnstated Code = "D302"
	PlaneUnstated    Code = "D303"
	OffsetUnstated   Code = "D304"
	FeedModeUnstated Code = "D305"
	CompUnstated     Code = "D306"
	LengthUnstated   Code = "D307"
	ReturnUnstated   Code = "D308"
	BeamUnstated     Code = "D309"
	PowerUnstated    Code = "D310"
	SwitchUnstated   Code = "D311"

	OffCircle       Code = "D401"
	RadiusShort     Code = "D402"
	RadiusNoChord   Code = "D403"
	RadiusAndCenter Code = "D404"
	NoCenter        Code = "D405"
	WrongCenterWord Code = "D406"
	ZeroRadius      Code = "D407"
	NoPlaneWord     Code = "D408"

	FeedMissing    Code = "D501"
	InverseMissing Code = "D502"
)

// Fault is one place where a program breaks a rule of the language, or asks for
// what is not known. Text and Help are empty when as many faults of the code
// have been worded as anyone would read.
type Fault struct {
	Code  Code
	Line  int64
	Col   int     // in characters, from 1; 0 when it belongs to no place in the line
	Value float64 // the value found, where one number tells it
	Limit float64 // the limit it breaks
	Unit  string  // unit of both; empty: there is no number to tell
	Text  string
	Help  string
	Taken string // what is taken in place of what the program does not say, if it could be taken
}

// fault notes a fault.
func (x *interp) fault(f Fault) {
	if x.count == nil {
		x.count = map[Code]int{}
	}
	if x.count[f.Code]++; x.count[f.Code] > faultTexts {
		f.Text, f.Help = "", ""
	}
	x.bad = true
	x.batch.Faults = append(x.batch.Faults, f)
	if len(x.batch.Faults) >= batchMax {
		x.full = true
	}
}
