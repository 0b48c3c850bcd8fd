package layout

// Table is the playing surface as the marks see it, mm.
type Table struct {
	Name string  // as sold, e.g. "9 ft pool"
	L, W float64 // playing surface, nose to nose
	// Corners of the fitted outline, table frame: head right, foot right, foot
	// left, head left (counter-clockwise from the head right corner). A true
	// rectangle when there is no survey.
	Corners [4][2]float64
	// What the survey found; zero without one.
	OutOfSquare, Taper, DiagonalDiff float64
	NoseHeight                       float64 // mm above the bed; 0 not measured
	Undercut                         float64 // mm the rubber falls back below the nose; 0 not measured
	NoseBow                          float64 // mm an end nose is off its string at its middle, from the survey
	Strung                           bool    // a string was stretched along both end noses and its gaps were read, 0 or not
	TapePM                           float64 // tape resolution, +- mm
	Surveyed                         bool
	Squared                          bool // readings tell how square both ends are: diagonals, and both lengths
	// The survey's independent errors: how far each moves the corners at about
	// 95 % confidence. Empty without a survey; then TapePM stands for L and W.
	Spread [][4][2]float64
}
