package layout

import (
	"errors"
	"math"
)

// A survey is fitted by five numbers that say how the outline differs from
// nothing: its length along the middle and mean width, how far the foot nose
// lies to the left of where a square table has it, how much longer the left side
// is than the right, and how much wider the foot is than the head. Together they
// are every straight-sided outline up to where it stands in the room.
//
// Every reading is a distance between two places on the outline, so the model of
// a reading is that distance on the outline the five numbers give; a nose that
// bows off its string brings both places of a reading nearer by the bow there.
// Gauss and Newton's method finds the numbers that leave the least squares
// (Björck, Numerical Methods for Least Squares Problems, section 9.2). A number
// no reading tells of stays as on a true table: the numbers are taken up in the
// order above, each only when some reading depends on it beyond those before.
//
// The fit is linear enough at these sizes (mm in metres) for errors to be
// carried through its matrix: the column of the pseudoinverse that belongs to a
// reading says how the numbers move for a mm of that reading.
//
// Worked example: left side 2540, right side 2540, width 1270, diagonals equal:
// the shift to the left is nothing. With the left-head diagonal 1 mm the longer,
// the foot lies about diagonal/(2·width) = 1.1 mm to the right.

// shape is the five numbers of an outline, mm.
type shape [5]float64

const (
	shapeL     = iota // length along the middle
	shapeW            // mean width
	shapeLean         // foot nose to the left of square
	shapeSkew         // left side longer than right
	shapeTaper        // foot wider than head
)

// shapeNames are the numbers' names as a fitter says them.
var shapeNames = [5]string{"length", "width", "out-of-square", "squareness of the foot nose", "taper"}

// corners returns the outline in the table frame.
func (s shape) corners() [4][2]float64 {
	l, k := s[shapeL], s[shapeSkew]/2
	head, foot := (s[shapeW]-s[shapeTaper]/2)/2, (s[shapeW]+s[shapeTaper]/2)/2
	d := s[shapeLean]
	return [4][2]float64{{0, -head}, {l - k, d - foot}, {l + k, d + foot}, {0, head}}
}

// reading is one distance the fitter measured.
type reading struct {
	name  string
	field string // as Survey and the job file name it
	value float64
	from  spotOn
	to    spotOn
}

// spotOn is a place on the outline: so far along the side from its first corner,
// or from its last, or at a share of it.
type spotOn struct {
	side    nose
	at      float64 // mm from the first corner in the direction given; unused when half
	fromEnd bool
	half    bool
}

// nose is one of the four cushions.
type nose int

const (
	noseRight nose = iota // head right corner to foot right corner
	noseFoot              // foot right to foot left
	noseLeft              // head left to foot left
	noseHead              // head right to head left
)

// ends returns the corners a nose runs between, as indexes of the outline.
func (n nose) ends() (a, b int) {
	switch n {
	case noseRight:
		return 0, 1
	case noseFoot:
		return 1, 2
	case noseLeft:
		return 3, 2
	}
	return 0, 3
}

// on returns the place on an outline with that much bow on each nose. The bow
// is a parabola, nothing at the nose's ends and all of it in the middle.
func (s spotOn) on(c [4][2]float64, bow [4]float64) (x, y float64) {
	i, j := s.side.ends()
	ax, ay, bx, by := c[i][0], c[i][1], c[j][0], c[j][1]
	n := math.Hypot(bx-ax, by-ay)
	k := s.at / n
	switch {
	case s.half:
		k = 0.5
	case s.fromEnd:
		k = 1 - k
	}
	x, y = ax+k*(bx-ax), ay+k*(by-ay)
	if g := bow[s.side]; g != 0 {
		// Towards the bed is to the left of the way the right and foot noses
		// run here, and to the right of the way the other two run.
		nx, ny := -(by-ay)/n, (bx-ax)/n
		if s.side == noseLeft || s.side == noseHead {
			nx, ny = -nx, -ny
		}
		off := g * 4 * k * (1 - k)
		x, y = x+off*nx, y+off*ny
	}
	return x, y
}

// model returns what a reading would be on an outline.
func (r reading) model(s shape, bow [4]float64) float64 {
	c := s.corners()
	ax, ay := r.from.on(c, bow)
	bx, by := r.to.on(c, bow)
	return math.Hypot(bx-ax, by-ay)
}

// stations of a survey, with the defaults filled in from the readings taken.
type stations struct{ side, width, diag float64 }

// mean returns the mean of the readings that were taken, 0 for none.
func mean(v ...float64) float64 {
	sum, n := 0.0, 0
	for _, x := range v {
		if x > 0 {
			sum, n = sum+x, n+1
		}
	}
	if n == 0 {
		return 0
	}
	return sum / float64(n)
}

// rough returns a first length and width: the means of what was read, or twice
// and half the other, or from a diagonal.
func (s Survey) rough() (l, w float64) {
	l = mean(s.LengthLeft, s.LengthRight)
	w = mean(s.WidthHead, s.WidthMiddle, s.WidthFoot)
	switch {
	case l == 0 && w == 0: // 2:1, so the diagonal is sqrt(5)/2 of the length
		l = mean(s.DiagLeftHead, s.DiagRightHead) * 2 / math.Sqrt(5)
		w = l / 2
	case l == 0:
		l = 2 * w
	case w == 0:
		w = l / 2
	}
	return l, w
}

// stations fills the default stations in: the first sights, L/8 along the sides
// and W/4 along the ends, and W/4 for the diagonals.
func (s Survey) stations() stations {
	l, w := s.rough()
	st := stations{s.SideStation, s.WidthStation, s.DiagStation}
	if st.side == 0 {
		st.side = w / 4
	}
	if st.width == 0 {
		st.width = l / 8
	}
	if st.diag == 0 {
		st.diag = w / 4
	}
	return st
}

// readings lists what was measured, in the order a fitter goes round.
func (s Survey) readings() []reading {
	st := s.stations()
	start := func(n nose, at float64) spotOn { return spotOn{side: n, at: at} }
	end := func(n nose, at float64) spotOn { return spotOn{side: n, at: at, fromEnd: true} }
	half := func(n nose) spotOn { return spotOn{side: n, half: true} }
	all := []reading{
		{"left length", "length_left", s.LengthLeft, end(noseHead, st.side), end(noseFoot, st.side)},
		{"right length", "length_right", s.LengthRight, start(noseHead, st.side), start(noseFoot, st.side)},
		{"head width", "width_head", s.WidthHead, start(noseRight, st.width), start(noseLeft, st.width)},
		{"middle width", "width_middle", s.WidthMiddle, half(noseRight), half(noseLeft)},
		{"foot width", "width_foot", s.WidthFoot, end(noseRight, st.width), end(noseLeft, st.width)},
		{"diagonal from left head", "diagonal_left_head", s.DiagLeftHead, start(noseLeft, st.diag), end(noseRight, st.diag)},
		{"diagonal from right head", "diagonal_right_head", s.DiagRightHead, start(noseRight, st.diag), end(noseLeft, st.diag)},
	}
	var out []reading
	for _, r := range all {
		if r.value != 0 {
			out = append(out, r)
		}
	}
	return out
}

// bow returns how far each nose stands off its string, towards the bed.
func (s Survey) bow() [4]float64 {
	return [4]float64{noseRight: s.GapRight, noseFoot: s.GapFoot, noseLeft: s.GapLeft, noseHead: s.GapHead}
}

// fit is a survey being fitted.
type fit struct {
	readings []reading
	bow      [4]float64
	shape    shape
	free     []int       // the numbers some reading tells of
	inverse  [][]float64 // free numbers by readings: mm of the number for a mm of the reading
}

const (
	// stepSize of the differences a derivative is taken by, mm: large against
	// rounding (1e-12 mm), small against a table.
	stepSize = 1e-3
	// dependTol: a number is taken up only when a reading tells of it apart from
	// the others by a tenth of a mm for a mm; below that the tape's error would
	// come out more than ten times as large.
	dependTol = 0.1
	// settleTol ends the fit, mm. A step leaves about a millionth of itself to
	// do, so what remains is below the rounding of a length of metres.
	settleTol = 1e-9
	// fitStepsMax is far past what quadratic convergence needs (five or six).
	fitStepsMax = 50
	// snapPerMM rounds the fitted numbers, to 1e-10 mm, so that a survey which is
	// a rectangle gives that rectangle exactly.
	snapPerMM = 1e10
)

// jacobian returns d(reading)/d(number).
func (f *fit) jacobian() [][5]float64 {
	out := make([][5]float64, len(f.readings))
	for i, r := range f.readings {
		for j := range f.shape {
			up, down := f.shape, f.shape
			up[j] += stepSize
			down[j] -= stepSize
			out[i][j] = (r.model(up, f.bow) - r.model(down, f.bow)) / (2 * stepSize)
		}
	}
	return out
}

// run fits the shape. It reports an error when the readings do not give both
// length and width.
func (f *fit) run(l, w float64) error {
	f.shape = shape{shapeL: l, shapeW: w}
	if f.free = independent(f.jacobian()); len(f.free) < 2 || f.free[0] != shapeL || f.free[1] != shapeW {
		return errUndetermined
	}
	for range fitStepsMax {
		f.inverse = pseudoinverse(f.jacobian(), f.free)
		rest := f.residuals()
		step := 0.0
		for i, j := range f.free {
			d := dot(f.inverse[i], rest)
			f.shape[j] += d
			step = math.Max(step, math.Abs(d))
		}
		if step < settleTol {
			break
		}
	}
	for j := range f.shape {
		f.shape[j] = math.Round(f.shape[j]*snapPerMM) / snapPerMM
	}
	return nil
}

// residuals returns what each reading is above the fitted outline's.
func (f *fit) residuals() []float64 {
	out := make([]float64, len(f.readings))
	for i, r := range f.readings {
		out[i] = r.value - r.model(f.shape, f.bow)
	}
	return out
}

func dot(a, b []float64) float64 {
	sum := 0.0
	for i := range a {
		sum += float64(a[i] * b[i])
	}
	return sum
}

var errUndetermined = errors.New("the readings do not give both a length and a width")
