package jig

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"spotjig/cam/machine"
	"spotjig/layout"
	"spotjig/layout/geom"
	"spotjig/layout/job"
)

// Growth dL = alpha·dT·L, by calculator, on 1270 and 2540 mm over 10 K and on 1270
// mm over 5 K. Coefficients: acrylic 70e-6 as a round figure and 4.0e-5 per degree
// Fahrenheit (a maker's glazing notes) = 72e-6 per kelvin; polyester film 17e-6
// (its data sheet, 30 to 50 degrees); polypropylene 100e-6, the upper end of
// tables of polymers; rigid PVC 70e-6, from 50 to 100e-6 there.
func TestGrowthFigures(t *testing.T) {
	for _, row := range []struct {
		alpha            float64
		small, big, half float64
	}{
		{70e-6, 0.8890, 1.7780, 0.4445},
		{4.0e-5 * 9 / 5, 0.9144, 1.8288, 0.4572},
		{17e-6, 0.2159, 0.4318, 0.10795},
		{100e-6, 1.2700, 2.5400, 0.6350},
	} {
		var req Request
		req.Material.Expansion = row.alpha
		req.Want.ShopTempC, req.Want.HallTempC = 25, 15
		// 10 K are known of; 4 K either way are not, or 2 where the job gives the hall's.
		assert.InDelta(t, row.small*14/10, warmthError(req.Want, req.Material)*1270, 5e-5)
		assert.InDelta(t, row.big*14/10, warmthError(req.Want, req.Material)*2540, 5e-5)
		req.Want.HallTempC, req.Want.TemperatureStated = 30, true
		assert.InDelta(t, row.half*7/5, warmthError(req.Want, req.Material)*1270, 5e-5)
		// Compensated, 2 K of doubt about the hall are left.
		req.Want.CompensateGrowth = true
		assert.InDelta(t, row.half*2/5, warmthError(req.Want, req.Material)*1270, 5e-5)
	}
}

// Damp: polyester film 6e-6 per % of humidity (from memory) over 20 %; acrylic 0.2 %
// from dry to 60 % (a maker of extruded sheet), 33e-6 per %: 2.54 mm on 1270.
func TestDampFigures(t *testing.T) {
	for _, row := range []struct{ beta, rh, small, big, within float64 }{
		{6e-6, 20, 0.1524, 0.3048, 5e-5},
		{0.002 / 60, 60, 2.54, 5.08, 5e-5},
		{33e-6, 60, 2.54, 5.08, 0.06},
	} {
		var req Request
		req.Material.Moisture = row.beta
		unknown := dampError(req.Want, req.Material)
		assert.InDelta(t, row.beta*4.5, unknown, 1e-12)
		req.Want.ShopRH, req.Want.HallRH = row.rh, 0
		assert.InDelta(t, row.small, (dampError(req.Want, req.Material)-unknown)*1270, row.within)
		assert.InDelta(t, row.big, (dampError(req.Want, req.Material)-unknown)*2540, row.within)
	}
}

// The catalogue's coefficients are the published ones.
func TestCatalogueGrowsAsPublished(t *testing.T) {
	for name, want := range map[string][2]float64{ // least and most published, per kelvin
		"cast-acrylic-5":      {60e-6, 77e-6},
		"extruded-acrylic-3":  {60e-6, 77e-6},
		"polyester-film-0.35": {17e-6, 17e-6},
		"polypropylene-0.8":   {81e-6, 100e-6},
		"vinyl-0.3":           {50e-6, 100e-6},
	} {
		m, ok := machine.LookupMaterial(name)
		require.True(t, ok, name)
		assert.GreaterOrEqual(t, m.Expansion, want[0]-1e-12, name)
		assert.LessOrEqual(t, m.Expansion, want[1]+1e-12, name)
	}
}

// Two pins 300 mm apart, 0.1 mm of play at one of them: 0.0190986 degrees, 0.4233
// mm at 1270 mm. The pins are a template's two end fins here.
func TestTwoPins(t *testing.T) {
	on := &Piece{Box: geom.Box{Max: geom.Point{X: 1300, Y: 10}}}
	at := func(x, y float64) *Fin { return &Fin{Front: geom.Point{X: x, Y: y}, On: on} }
	s := &laying{tp: &Template{Pieces: []*Piece{on}}, path: map[*Piece][]*Seam{on: {}},
		ends: [2]*Fin{at(0, -150), at(0, 150)}, sides: []*Fin{at(0, -600), at(0, 600)}}
	v := s.of(source{e1: 0.1}, on, geom.Point{X: 1270})
	assert.InDelta(t, 0.4233, math.Abs(v.Y), 5e-5)
	far := s.of(source{e1: 0.1}, on, geom.Point{X: 1270, Y: 1})
	assert.InDelta(t, 0.0190986, math.Abs(math.Atan(far.X-v.X))*180/math.Pi, 5e-8)
}

// Joint play is what the flanks leave: 0.08 mm square to a flank of 1:3 is 0.08·sqrt(10)/3
// = 0.08433 mm along the seam, by calculator. Shut, its shoulders may stay open by 0.05
// mm at either end, which turns a seam of 96 mm by 0.5208 milliradian.
func TestJointPlay(t *testing.T) {
	a := &Piece{Box: geom.Box{Max: geom.Point{X: 100, Y: 96}}}
	b := &Piece{Box: geom.Box{Min: geom.Point{X: 100}, Max: geom.Point{X: 200, Y: 96}}}
	j := &Seam{A: a, B: b, From: geom.Point{X: 100}, To: geom.Point{X: 100, Y: 96}}
	fin := &Fin{}
	s := &laying{tp: &Template{Seams: []*Seam{j}}, path: map[*Piece][]*Seam{a: {}, b: {j}}, ends: [2]*Fin{fin, fin}}
	play := func(want job.Jig, kerfPM float64) (slip, turn float64) {
		for _, e := range sources(s, accuracyOf(Request{Table: layout.Table{W: 1}, Want: want, Material: machine.Material{KerfPM: kerfPM}}, Limits{Flank: 0.08})) {
			if e.group == "joints" {
				slip, turn = math.Max(slip, math.Abs(e.shift.Y)), math.Max(turn, e.turn)
			}
		}
		return slip, turn
	}
	slip, turn := play(job.Jig{ClosurePM: 0.05}, 0)
	assert.InDelta(t, 0.08433, slip, 5e-6)
	assert.InDelta(t, 0.5208e-3, turn, 5e-8)
	// A kerf known to 0.02 widens either flank by as much, 0.1 sqrt(10)/3 = 0.10541; what a
	// leaf found, 0.06, has it in it: 0.06325, and with 0.03 at the shoulders 0.3125 milliradian.
	slip, _ = play(job.Jig{}, 0.02)
	assert.InDelta(t, 0.10541, slip, 5e-6)
	slip, turn = play(job.Jig{ClosurePM: 0.03, SlipPM: 0.06, SlipStated: true}, 0.02)
	assert.InDelta(t, 0.06325, slip, 5e-6)
	assert.InDelta(t, 0.3125e-3, turn, 5e-8)
	// A key leaves 0.03 beside the flank that locates, or what a leaf found there; the kerf shifts that flank.
	j.Part = "K"
	slip, _ = play(job.Jig{Joint: "keyed"}, 0.02)
	assert.InDelta(t, 0.05, slip, 1e-12)
	slip, _ = play(job.Jig{Joint: "keyed", SlipPM: 0.02, SlipStated: true}, 0.02)
	assert.InDelta(t, 0.04, slip, 1e-12)
	// A dovetail where a keyed job has no room for a key was not what was read.
	j.Part = ""
	slip, _ = play(job.Jig{Joint: "keyed", SlipPM: 0.02, SlipStated: true}, 0.02)
	assert.InDelta(t, 0.10541, slip, 5e-6)
}

// A nose bowed by 0.3 mm stands 0.3·4·0.1·0.9 = 0.108 mm off its line a tenth of the way
// along it, at both fins alike, and there its end line is. Where the length is read it
// stands 0.225 mm off, so that the length reads 0.117 mm short of each nose's end line, an
// eighth of that 0.0146.
func TestBowIsOneCause(t *testing.T) {
	on := &Piece{Box: geom.Box{Max: geom.Point{X: 300, Y: 800}}}
	at := func(x, y float64) *Fin { return &Fin{Front: geom.Point{X: x, Y: y}, On: on} }
	s := &laying{tp: &Template{End: "head", Pieces: []*Piece{on}}, path: map[*Piece][]*Seam{on: {}},
		ends: [2]*Fin{at(0, -400), at(0, 400)}, sides: []*Fin{at(200, -500), at(200, 500)}}
	all := bows(s, accuracy{table: layout.Table{L: 2000, W: 1000}, bow: 0.3})
	require.Len(t, all, 4)
	for _, e := range all[:2] { // both ends' noses
		v := s.of(e, on, geom.Point{X: 250, Y: 300})
		assert.InDelta(t, 0.014625, v.X, 1e-9)
		assert.InDelta(t, 0, v.Y, 1e-9)
	}
	// Each side nose, twice as long, 0.6·4·0.1·0.9 there, and the middle goes by half of it.
	for _, e := range all[2:] {
		v := s.of(e, on, geom.Point{X: 250})
		assert.InDelta(t, 0.108, math.Abs(v.Y), 1e-9)
	}
	assert.Equal(t, rightNose, all[2].nose)
	s.tp.End = "foot"
	assert.Equal(t, leftNose, s.noseOf(s.sides[0]))
	// Both gaps read as 1 mm: the survey's length is that between the noses' ends, 0.36 mm
	// more at each than from end line to end line, an eighth of that 0.045.
	known := bows(s, accuracy{table: layout.Table{L: 2000, W: 1000, NoseBow: 1}})
	assert.InDelta(t, 0.045, s.of(known[0], on, geom.Point{X: 250}).X, 1e-9)
}

// A nose 2 mm out of square over the width turns a template by that: by hand, a spot 400
// mm further from the nose than the side fins goes 400·2/1000 = 0.8 mm across.
func TestNoseOutOfSquare(t *testing.T) {
	s := &laying{sides: []*Fin{{Front: geom.Point{X: 200, Y: -500}}, {Front: geom.Point{X: 200, Y: 500}}}}
	table := layout.Table{L: 2000, W: 1000, Corners: [4][2]float64{{0, -500}, {1999, -500}, {2001, 500}, {0, 500}}}
	turn := noseTurn("foot", table.Corners, table)
	assert.InDelta(t, 2e-3, turn, 1e-12)
	assert.Zero(t, noseTurn("head", table.Corners, table))
	assert.InDelta(t, 0.8, math.Abs(s.offCentre(turn, geom.Point{X: 600, Y: 300}).Y), 1e-9)
}

// A guide with 0.3 mm of play in a hole through 5 mm of sheet: 0.15 mm at the lower face,
// and a lean of 0.3 in 5 over half a millimetre of nap, 0.03. Out of true by hand.
func TestMarkerIsHeldByItsHole(t *testing.T) {
	acc := accuracy{play: 0.3, guide: 2.8, thick: 5}
	assert.InDelta(t, 0.18, acc.marker(), 1e-9)
	acc.play = 0
	assert.InDelta(t, 0, acc.marker(), 1e-9)
	acc.play = 2.1
	assert.InDelta(t, 1.05+0.5*math.Tan(5*math.Pi/180), acc.marker(), 1e-9, "thinner is worse")
	acc.play, acc.sticker = 0.5, true
	assert.InDelta(t, 0.25, acc.marker(), 1e-9, "an adhesive spot lies flat")
}

// Ruled along the true edge a line does not care how wide its slot is: half of 0.1 mm of
// the guide's thickness, and what it leans below the sheet, 0.03 as above, one way only.
func TestMarkerIsRuledAlongOneEdge(t *testing.T) {
	s := &laying{tp: &Template{}}
	e := Element{Figure: geom.Line(geom.Point{X: 500, Y: -300}, geom.Point{X: 500, Y: 300})}
	for _, slot := range []float64{3.1, 4} {
		got := s.marked(e, geom.Point{X: 500}, accuracy{slot: slot, guide: slot - 0.3, thick: 5})
		require.Len(t, got, 2)
		assert.InDelta(t, -0.05, got[0].By.X, 1e-9, "towards the nose")
		assert.InDelta(t, -0.03, got[1].By.X, 1e-9)
		assert.True(t, got[1].Gap)
	}
	dot := s.marked(Element{Figure: geom.Dot(geom.Point{X: 500})}, geom.Point{X: 500}, accuracy{play: 0.3, thick: 5})
	assert.InDelta(t, 0.18, dot[0].Any, 1e-9, "a spot has no edge")
}

// A machine that cuts 1 mm a metre out of square turns a piece 1 m long by that
// against a seam across its end, whichever way it lies; one that is 1 mm a metre
// long in x and short in y does so along it. (Geometry of a sheared rectangle.)
func TestStrainedPiece(t *testing.T) {
	a := &Piece{Box: geom.Box{Min: geom.Point{X: -100, Y: -50}, Max: geom.Point{Y: 50}}}
	b := &Piece{Box: geom.Box{Min: geom.Point{Y: -50}, Max: geom.Point{X: 1000, Y: 50}}}
	c := &Piece{Box: geom.Box{Min: geom.Point{X: 1000, Y: -50}, Max: geom.Point{X: 1500, Y: 50}}}
	ab := &Seam{A: a, B: b, From: geom.Point{Y: -50}, To: geom.Point{Y: 50}}
	bc := &Seam{A: b, B: c, From: geom.Point{X: 1000, Y: -50}, To: geom.Point{X: 1000, Y: 50}}
	s := &laying{path: map[*Piece][]*Seam{a: {}, b: {ab}, c: {ab, bc}}}
	end := geom.Point{X: 1000}
	v := s.bend(source{bent: b, strain: strain{xy: 0.5e-3}}, b, end)
	assert.InDelta(t, 1.0, math.Abs(v.Y), 1e-9)
	assert.InDelta(t, 0, v.X, 1e-9)
	v = s.bend(source{bent: b, strain: strain{xx: 1e-3, yy: -1e-3}}, b, end)
	assert.InDelta(t, 1.0, v.X, 1e-9)
	assert.InDelta(t, 0, v.Y, 1e-9)
	// The next piece is moved but not turned: a sheared rectangle's ends stay parallel.
	v = s.bend(source{bent: b, strain: strain{xy: 0.5e-3}}, c, geom.Point{X: 1500})
	assert.InDelta(t, 1.0, math.Abs(v.Y), 1e-9)
	// What lies before the piece is not touched.
	assert.Zero(t, s.bend(source{bent: b, strain: strain{xy: 1}}, a, geom.Point{X: -50}))
}

// Kerf, by calculator: 0.18 mm of kerf, half of it to the waste side. A hole of
// 57.15 is cut along a circle of 56.97, an outside corner of 10 along 10.09, an
// inside fillet of 2.5 along 2.41, a plate 100 x 50 with corners of 10 along 283.397340 mm.
func TestKerfFigures(t *testing.T) {
	const half = 0.18 / 2
	hole, err := geom.Circle(geom.Point{}, 57.15/2).Reversed().Offset(half)
	require.NoError(t, err)
	assert.InDelta(t, 56.97, hole.Bounds().Width(), 1e-9)
	fillet, err := geom.Circle(geom.Point{}, 2.5).Reversed().Offset(half)
	require.NoError(t, err)
	assert.InDelta(t, 2.41, fillet.Bounds().Width()/2, 1e-9)
	c := func(x, y float64) Corner { return Corner{geom.Point{X: x, Y: y}, 10} }
	plate, err := Rounded([]Corner{c(0, 0), c(100, 0), c(100, 50), c(0, 50)}).Offset(half)
	require.NoError(t, err)
	assert.InDelta(t, 283.397340, plate.Length(), 1e-6)
	assert.InDelta(t, 100.18, plate.Bounds().Width(), 1e-9)
	for _, s := range plate.Segments() {
		if s.IsArc() {
			assert.InDelta(t, 10.09, s.Radius(), 1e-9)
		}
	}
}
