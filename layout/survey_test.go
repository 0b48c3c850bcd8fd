package layout_test

import (
	"math"
	"math/rand"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"spotjig/layout"
	"spotjig/layout/problem"
)

// trueTable is a straight-sided outline in the table frame and the readings a
// perfect tape gives there, worked out apart from the code under test.
type trueTable struct{ c [4][2]float64 }

func (q trueTable) span(a, b [2]float64) float64 { return math.Hypot(a[0]-b[0], a[1]-b[1]) }

// on is the point of the side from corner i to corner j, s from i.
func (q trueTable) on(i, j int, s float64) [2]float64 {
	n := q.span(q.c[i], q.c[j])
	return [2]float64{q.c[i][0] + s/n*(q.c[j][0]-q.c[i][0]), q.c[i][1] + s/n*(q.c[j][1]-q.c[i][1])}
}

// Corners: 0 head right, 1 foot right, 2 foot left, 3 head left.
func (q trueTable) survey(side, width, diag float64) layout.Survey {
	half := func(i, j int) [2]float64 { return q.on(i, j, q.span(q.c[i], q.c[j])/2) }
	return layout.Survey{SideStation: side, WidthStation: width, DiagStation: diag,
		LengthLeft:    q.span(q.on(3, 0, side), q.on(2, 1, side)),
		LengthRight:   q.span(q.on(0, 3, side), q.on(1, 2, side)),
		WidthHead:     q.span(q.on(0, 1, width), q.on(3, 2, width)),
		WidthMiddle:   q.span(half(0, 1), half(3, 2)),
		WidthFoot:     q.span(q.on(1, 0, width), q.on(2, 3, width)),
		DiagLeftHead:  q.span(q.on(3, 2, diag), q.on(1, 0, diag)),
		DiagRightHead: q.span(q.on(0, 1, diag), q.on(2, 3, diag)),
	}
}

// drawTable draws an outline as far from true as tables come: the head nose on
// x = 0 with the origin in its middle.
func drawTable(t *rapid.T) trueTable {
	l := rapid.Float64Range(1700, 3600).Draw(t, "length")
	w := l / 2
	off := func(name string) float64 { return rapid.Float64Range(-4, 4).Draw(t, name) }
	h := (w + off("head")) / 2
	lean := off("lean")
	return trueTable{[4][2]float64{{0, -h}, {l + off("foot right"), lean - w/2 + off("right")},
		{l + off("foot left"), lean + w/2 + off("left")}, {0, h}}}
}

func TestPerfectReadingsGiveTheOutline(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		q := drawTable(t)
		got, rep, err := layout.Fit(q.survey(200, 300, 250))
		require.NoError(t, err)
		for i := range q.c {
			assert.InDelta(t, q.c[i][0], got.Corners[i][0], 1e-6)
			assert.InDelta(t, q.c[i][1], got.Corners[i][1], 1e-6)
		}
		for _, r := range rep.Readings {
			assert.InDelta(t, 0, r.Apart, 1e-6, r.Name)
		}
		assert.Empty(t, rep.Unmeasured)
	})
}

// The stated plus-minus is twice the standard deviation of readings that are as
// likely anywhere inside the tape's resolution; that holds about 95 of 100
// (Guide to the Expression of Uncertainty in Measurement, 4.3.7 and 6.3). Of 60
// draws at 95 in 100, fewer than 47 inside happens about once in a million (the
// binomial's tail); every draw must lie inside the sum of the errors.
func TestCornersLieInsideTheStatedUncertainty(t *testing.T) {
	const draws, least = 60, 47
	rapid.Check(t, func(t *rapid.T) {
		q := drawTable(t)
		pm := rapid.Float64Range(0.2, 1.5).Draw(t, "resolution")
		rng := rand.New(rand.NewSource(rapid.Int64().Draw(t, "seed")))
		read := q.survey(200, 300, 250)
		read.Resolution = pm
		var inside [4][2]int
		for range draws {
			s := read
			for _, v := range []*float64{&s.LengthLeft, &s.LengthRight, &s.WidthHead, &s.WidthMiddle, &s.WidthFoot, &s.DiagLeftHead, &s.DiagRightHead} {
				*v += (2*rng.Float64() - 1) * pm
			}
			got, rep, err := layout.Fit(s)
			require.NoError(t, err)
			for i := range q.c {
				for k := range 2 {
					off := math.Abs(got.Corners[i][k] - q.c[i][k])
					if off <= rep.CornerPM[i][k]+1e-9 {
						inside[i][k]++
					}
					sum := 0.0
					for _, e := range got.Spread {
						sum += math.Abs(e[i][k])
					}
					// Spread is twice the standard deviation, 2/sqrt(3) of the
					// resolution; a hundredth more for what is not linear.
					if limit := sum*math.Sqrt(3)/2*1.01 + 1e-9; off > limit {
						t.Fatalf("corner %d, axis %d: %g off, past %g", i, k, off, limit)
					}
				}
			}
		}
		for i := range inside {
			for k := range inside[i] {
				assert.GreaterOrEqual(t, inside[i][k], least, "corner %d, axis %d", i, k)
			}
		}
	})
}

func TestLengthAndWidthAloneGiveTheRectangleExactly(t *testing.T) {
	for _, s := range []layout.Survey{
		{LengthLeft: 2540, WidthMiddle: 1270},
		{LengthRight: 2540, WidthHead: 1270},
		{LengthLeft: 2540, LengthRight: 2540, WidthHead: 1270, WidthMiddle: 1270, WidthFoot: 1270},
	} {
		got, rep, err := layout.Fit(s)
		require.NoError(t, err)
		assert.Equal(t, [4][2]float64{{0, -635}, {2540, -635}, {2540, 635}, {0, 635}}, got.Corners)
		assert.Equal(t, 2540.0, got.L)
		assert.Equal(t, 1270.0, got.W)
		assert.Contains(t, rep.Unmeasured, "out-of-square")
	}
}

// Hand arithmetic. A table 2540 x 1270 leaning 5 mm to the left over its length:
// diagonals between points 317.5 mm from the end noses span 1905 along, and
// 1270 less or more 5·1905/2540 = 3.75 across:
// from the left of the head, sqrt(1905² + 1266.25²) = 2287.447; from the right,
// sqrt(1905² + 1273.75²) = 2291.607; they differ by -4.16. Side noses are then
// sqrt(2540² + 5²) = 2540.0049 long, and the points 317.5·5/2540 mm aside.
func TestLeaningTable(t *testing.T) {
	q := trueTable{[4][2]float64{{0, -635}, {2540, -630}, {2540, 640}, {0, 635}}}
	s := q.survey(317.5, 317.5, 317.5)
	assert.InDelta(t, 2287.447, s.DiagLeftHead, 0.01)
	assert.InDelta(t, 2291.607, s.DiagRightHead, 0.01)
	got, rep, err := layout.Fit(s)
	require.NoError(t, err)
	assert.InDelta(t, 5, got.OutOfSquare, 1e-6)
	assert.InDelta(t, math.Atan(5.0/2540)*180/math.Pi, rep.OutOfSquareDeg, 1e-9)
	assert.InDelta(t, -4.16, rep.DiagonalDiff, 0.01)
	assert.InDelta(t, 0, got.Taper, 1e-6)

	// Marks follow: lines parallel to the head nose, spots on the middle of the
	// widths, which here leans 5 in 2540, and each at its own distance.
	p := plan(t, layout.Request{Table: got, Games: []string{"pool", "snooker"}})
	string1 := mark(t, p, "head-string")
	assert.InDelta(t, string1.X, string1.X2, 1e-9)
	l := got.L
	assert.InDelta(t, l/4, string1.X, 1e-9)
	for _, id := range []string{"head-spot", "centre-spot", "foot-spot", "black"} {
		m := mark(t, p, id)
		assert.InDelta(t, m.X*5/2540, m.Y, 1e-6, id)
		assert.InDelta(t, m.Y, m.MovedY, 1e-9, id)
	}
	assert.InDelta(t, 2540-l/11, mark(t, p, "black").X, 1e-6, "an eleventh from the foot nose")
	assert.InDelta(t, 2540.0/2, mark(t, p, "blue").X, 1e-6)
}

// A foot nose out of square: left side 4 mm longer. The foot marks keep their
// distance square to the foot nose and lie parallel to it.
func TestFootMarksFollowTheFootNose(t *testing.T) {
	got, _, err := layout.Fit(trueTable{[4][2]float64{{0, -635}, {2538, -635}, {2542, 635}, {0, 635}}}.survey(200, 300, 250))
	require.NoError(t, err)
	p := plan(t, layout.Request{Table: got, Games: []string{"pool", "snooker"}, Choices: layout.Choices{Black: "scaled"}})
	fromFoot := func(x, y float64) float64 { // square to the line through the foot corners
		return (2540 + y*4/1270 - x) / math.Hypot(1, 4.0/1270)
	}
	black := mark(t, p, "black")
	assert.InDelta(t, got.L*12.75/140.5, fromFoot(black.X, black.Y), 1e-6)
	foot := mark(t, p, "foot-spot")
	assert.InDelta(t, got.L/4, fromFoot(foot.X, foot.Y), 1e-6)
	for _, id := range []string{"rack-left", "rack-right", "rack-apex"} {
		m := mark(t, p, id)
		assert.InDelta(t, fromFoot(m.X, m.Y), fromFoot(m.X2, m.Y2), 1e-9, id)
		assert.InDelta(t, 25, math.Hypot(m.X2-m.X, m.Y2-m.Y), 1e-9, id)
	}
}

// A string along each nose finds it 2 mm in at the middle of the right side:
// the middle width is 2 mm short, the widths at 200 mm by a parabola's part, and
// the outline is the rectangle all the same.
func TestBowedNoseIsTakenOut(t *testing.T) {
	k := 200.0 / 2000
	part := 2 * 4 * k * (1 - k) // 0.72
	assert.InDelta(t, 0.72, part, 1e-12)
	got, _, err := layout.Fit(layout.Survey{LengthLeft: 2000, LengthRight: 2000, WidthStation: 200,
		WidthHead: 1000 - part, WidthMiddle: 998, WidthFoot: 1000 - part, GapRight: 2})
	require.NoError(t, err)
	assert.InDelta(t, 1000, got.W, 1e-3)
	assert.InDelta(t, 0, got.Taper, 1e-3)
}

func TestImpossibleReadings(t *testing.T) {
	good := trueTable{[4][2]float64{{0, -635}, {2540, -635}, {2540, 635}, {0, 635}}}.survey(200, 300, 250)
	_, _, err := layout.Fit(good)
	require.NoError(t, err)
	for _, c := range []struct {
		name             string
		with             func(s *layout.Survey)
		code, field, msg string
	}{
		{"diagonals apart, sides alike", func(s *layout.Survey) { s.DiagLeftHead += 20; s.DiagRightHead -= 20; s.LengthLeft += 1 },
			"S043", "survey.diagonal_left_head", "the diagonals differ by 40.0 mm, which puts the table 48.6 mm out of square over its length, where at most 25.4 mm can be marked"},
		{"both diagonals long", func(s *layout.Survey) { s.DiagLeftHead += 25.4; s.DiagRightHead += 25.4 },
			"S043", "survey.diagonal_left_head", "both diagonals together are +25.4 mm against what the lengths and widths make them"},
		{"lengths apart", func(s *layout.Survey) { s.LengthLeft += 50 }, "S043", "survey.length_left", "the left and right lengths differ by 50.0 mm"},
		{"widths apart", func(s *layout.Survey) { s.WidthFoot -= 30 }, "S043", "survey.width_head", "the head and foot widths differ by 30.0 mm"},
		{"middle width alone off", func(s *layout.Survey) { s.WidthMiddle += 8 }, "S043", "survey.width_middle", "the middle width of 1278.0 mm does not go with the others"},
		{"inches for mm", func(s *layout.Survey) { s.LengthLeft = 100 }, "S040", "survey.length_left", "100 mm is not between 300 and 6000 mm"},
		{"negative", func(s *layout.Survey) { s.WidthHead = -1270 }, "S040", "survey.width_head", "-1270 mm is not between 300 and 6000 mm"},
		{"no number", func(s *layout.Survey) { s.WidthHead = math.NaN() }, "S040", "survey.width_head", "NaN mm"},
		{"in the pocket", func(s *layout.Survey) { s.SideStation = 99 }, "S041", "survey.side_station", "99 mm is not between 100 mm"},
		{"past the middle", func(s *layout.Survey) { s.DiagStation = 1300 }, "S041", "survey.diagonal_station", "the middle of the nose, 1270.0 mm"},
		{"string", func(s *layout.Survey) { s.GapHead = 16 }, "S040", "survey.gap_head", "16 mm is not between -15 and 15 mm"},
		{"tape", func(s *layout.Survey) { s.Resolution = 11 }, "S040", "survey.resolution", "11 mm"},
		{"nose", func(s *layout.Survey) { s.NoseHeight = 61 }, "S040", "survey.nose_height", "61 mm"},
		{"square table", func(s *layout.Survey) { *s = layout.Survey{LengthLeft: 1000, WidthHead: 1000} }, "S043", "survey", "about twice as long as wide"},
		{"one diagonal off", func(s *layout.Survey) { s.DiagRightHead = 0; s.DiagLeftHead += 30 }, "S043", "survey.diagonal_left_head", "mm out of square over its length, where at most 25.4 mm can be marked"},
		{"nothing", func(s *layout.Survey) { *s = layout.Survey{} }, "S042", "survey", "do not give both"},
		{"no width", func(s *layout.Survey) { *s = layout.Survey{LengthLeft: 2540, LengthRight: 2540} }, "S042", "survey", "do not give both"},
		{"no length", func(s *layout.Survey) { *s = layout.Survey{WidthHead: 1270} }, "S042", "survey", "do not give both"},
	} {
		t.Run(c.name, func(t *testing.T) {
			s := good
			c.with(&s)
			_, _, err := layout.Fit(s)
			found := problem.From(err)
			require.NotEmpty(t, found, "refused")
			assert.Equal(t, c.code, found[0].Code)
			assert.Equal(t, c.field, found[0].Field)
			assert.Contains(t, found[0].Msg, c.msg)
			assert.NotEmpty(t, found[0].Help)
		})
	}
}

// Any subset that gives a length and a width will do: two widths and both
// diagonals, say.
func TestDiagonalsStandInForALength(t *testing.T) {
	s := trueTable{[4][2]float64{{0, -635}, {2540, -635}, {2540, 635}, {0, 635}}}.survey(200, 300, 250)
	s.LengthLeft, s.LengthRight = 0, 0
	got, _, err := layout.Fit(s)
	require.NoError(t, err)
	assert.InDelta(t, 2540, got.L, 1e-6)
}

func TestTapeGivesEveryMarkItsPlusMinus(t *testing.T) {
	// Without a survey the tape's +-1 mm is in the length and in the width: the
	// head string moves by a quarter of it, the foot spot by three quarters, the
	// full-size baulk line (a fixed 29 in) not at all and yellow's side not either.
	p := plan(t, layout.Request{Table: layout.Table{L: 2540, W: 1270, TapePM: 1}, Games: []string{"pool"}})
	assert.InDelta(t, 0.25, mark(t, p, "head-spot").TapeX, 1e-9)
	assert.InDelta(t, 0.75, mark(t, p, "foot-spot").TapeX, 1e-9)
	assert.InDelta(t, 0.5, mark(t, p, "head-string").TapeY, 1e-9, "its ends, at the side noses")
	p = plan(t, layout.Request{Table: layout.Table{L: 3569 + 13, W: 1778, TapePM: 1}, Games: []string{"snooker"}})
	assert.InDelta(t, 0, mark(t, p, "baulk-line").TapeX, 1e-9, "at the limit of full size the rule's own figure holds")
	assert.InDelta(t, 1, mark(t, p, "black").TapeX, 1e-9)
	assert.InDelta(t, 0, mark(t, p, "yellow").TapeY, 1e-9)
}
