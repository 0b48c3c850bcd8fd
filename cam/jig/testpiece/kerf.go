package testpiece

import (
	"math"

	"spotjig/layout/geom"
)

// Kerf from a test piece
//
// A comb is n pieces cut by n+1 parallel lines, the outermost L apart. Each line
// takes one kerf, so pushed together the pieces measure M = L - n k (derivation:
// n pieces have lost half a kerf on either side). Example: L 100, n 10, M 98.40
// gives k = 0.160.
//
// The walls of a beam's cut lean, so a piece is wider at one face than at the
// other. Laid all one way up, pieces touch at their wider face and the jaws
// close on it too: M tells the kerf there. With every other piece turned over
// the leaning walls lie flat on each other, and the row measures
//
//	T = (n+1)/2 w + (n-1)/2 v       w = M/n the wider face, v the other
//
// because n trapezoids laid alternately make a trapezoid (n odd) or a
// parallelogram (n even) that is as long as this from corner to corner. So
// v = (2T - (n+1)w)/(n-1), and the kerf there is L/n - v. Example: n 10, L 100,
// w 9.80, v 9.70 gives M 98.00 and T 97.55.

// CombKerf is the width of cut by a comb: n pieces cut by n+1 parallel lines, the
// outermost length apart, that measure together when they are pushed together.
func CombKerf(n int, length, together float64) float64 { return (length - together) / float64(n) }

// CombKerfTurned is the width of cut at the other face: the same comb measures
// together with all pieces one way up, and turned with every other piece turned
// over. It needs two pieces at least.
func CombKerfTurned(n int, length, together, turned float64) float64 {
	k := float64(n)
	wide := together / k
	return length/k - (2*turned-(k+1)*wide)/(k-1)
}

// TaperDeg is how far each wall of a cut leans, degrees: atan of half the
// difference of the kerfs at both faces over the sheet's thickness. Positive:
// wider at the beam face.
func TaperDeg(beamKerf, exitKerf, thickness float64) float64 {
	return geom.Angle(math.Atan((beamKerf - exitKerf) / 2 / thickness)).Degrees()
}

// SkewMicrons is how far y is out of square to x, in µm a metre, by the sides
// a (along x) and b (along y) of a rectangle as cut and its diagonals. A
// parallelogram whose angle is g more than square has diagonals with
// up² - down² = 4 a b sin g; up runs from lower left to upper right.
// Positive: +y leans towards +x.
func SkewMicrons(a, b, up, down float64) float64 {
	return 1e6 * math.Asin((up*up-down*down)/(4*a*b))
}

// Estimate is a measured value with its expanded uncertainty.
type Estimate struct {
	Value float64
	PM    float64 // plus or minus, about 95 % (coverage factor 2)
}

// estimate doubles a standard uncertainty (JCGM 100:2008, 6.2 and 6.3: k = 2).
func estimate(v, u float64) Estimate { return Estimate{v, 2 * u} }

func (e Estimate) u() float64 { return e.PM / 2 }

// Gauge is an instrument, mm.
type Gauge struct {
	Step float64 // the last digit or division that is read
	PM   float64 // what the maker allows it to be off, plus or minus
}

// mean returns the mean of repeated readings and its standard uncertainty:
// the scatter of the mean, for few readings widened by Student's t; the last
// digit, rectangular over one step; and the instrument's own error, rectangular
// (JCGM 100:2008: 4.2.3 and G.3, F.2.2.1, 4.3.7). hand is how well one reading
// alone is held to repeat, plus or minus; it stands in for the scatter there.
func (g Gauge) mean(v []float64, hand float64) (mean, u float64) {
	for _, x := range v {
		mean += x / float64(len(v))
	}
	scatter := hand / math.Sqrt(3)
	if n := len(v); n > 1 {
		sum := 0.0
		for _, x := range v {
			sum += float64((x - mean) * (x - mean))
		}
		scatter = math.Sqrt(sum/float64(n-1)/float64(n)) * studentT(n-1) / 2
	}
	return mean, math.Sqrt(scatter*scatter + g.Step*g.Step/12 + g.PM*g.PM/3)
}

// studentT is the factor of a 95 % interval with so many degrees of freedom
// (JCGM 100:2008, table G.2).
func studentT(freedom int) float64 {
	t := [...]float64{12.71, 4.30, 3.18, 2.78, 2.57, 2.45, 2.36, 2.31, 2.26, 2.23}
	return t[min(max(freedom, 1), len(t))-1]
}

// ppm is a millionth.
const ppm = 1e-6
