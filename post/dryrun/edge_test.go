package dryrun

import (
	"cmp"
	"fmt"
	"math"
	"math/rand"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"spotjig/cam/machine"
	"spotjig/post/rs274/read"
)

// What changes of single signs and terms showed to be untested.

// found counts the findings of one code.
func found(r Report, code string) (n int64) {
	for _, p := range r.Problems {
		if p.Code == code {
			n += p.Count
		}
	}
	return n
}

// A zone from 200,150 to 250,200 and single moves past, along and through it, each alone:
// the ways there and back are in another work offset's corner and touch nothing. Whether
// a straight meets a rectangle is told by walking along it in steps of 0.01 mm.
func TestKeepOutMoveByMove(t *testing.T) {
	opt := seedOptions(habit{})
	opt.Machine.KeepOut = []machine.Zone{{Name: "clamp", Min: machine.Axes{X: 200, Y: 150}, Max: machine.Axes{X: 250, Y: 200}}}
	inside := func(x, y float64) bool { return x > 200 && x < 250 && y > 150 && y < 200 }
	for _, m := range [][4]float64{
		{180, 170, 270, 170}, {270, 170, 180, 170}, {220, 130, 220, 220}, {220, 220, 220, 130}, // through
		{180, 140, 270, 210}, {270, 210, 180, 140}, {180, 210, 270, 140}, // across
		{190, 190, 215, 215}, {215, 215, 190, 190}, {185, 165, 215, 135}, {240, 140, 265, 165}, // across a corner
		{180, 195, 205, 220}, {180, 155, 215, 120}, {235, 130, 260, 155}, // past a corner, box against box
		{180, 100, 270, 149}, {180, 201, 270, 260}, {190, 100, 199, 300}, {251, 100, 260, 300}, // past a side
		{180, 150, 270, 150}, {200, 140, 200, 210}, // along a side
		{210, 160, 240, 190}, {210, 160, 300, 160}, {225, 175, 225, 300}, // from inside
		{180, 170, 199.9, 170}, {180, 170, 200.1, 170}, // just before, just in
	} {
		want := false
		for k := 0.0; k <= 1; k += 0.0001 {
			want = want || inside(m[0]+k*(m[2]-m[0]), m[1]+k*(m[3]-m[1]))
		}
		start := machine.Axes{X: m[0], Y: m[1]}
		opt.Start = &start
		text := fmt.Sprintf(modesLine+"G1 X%g Y%g F600\nM2\n", m[2], m[3])
		assert.Equal(t, want, found(judgeText(t, text, opt), KeepOut) > 0, "%v", m)
	}
}

// The same for arcs about 225,120 that pass under the zone, reach into it, or start in it.
func TestKeepOutArcByArc(t *testing.T) {
	opt := seedOptions(habit{})
	opt.Machine.KeepOut = []machine.Zone{{Name: "clamp", Min: machine.Axes{X: 200, Y: 150}, Max: machine.Axes{X: 250, Y: 200}}}
	for r, want := range map[float64]bool{29.9: false, 30.1: true, 60: true, 83: true, 84: false, 90: false} {
		// Over the top: nearest corner 39.05 away, lower side 30, far corners hypot(25, 80) = 83.82.
		start := machine.Axes{X: 225 - r, Y: 120}
		opt.Start = &start
		text := fmt.Sprintf(modesLine+"G2 X%g Y120 I%g J0 F600\nM2\n", 225+r, r)
		assert.Equal(t, want, found(judgeText(t, text, opt), KeepOut) > 0, "radius %g", r)
		text = fmt.Sprintf(modesLine+"G3 X%g Y120 I%g J0 F600\nM2\n", 225+r, r)
		opt.Machine.Min.Y = -100
		assert.Zero(t, found(judgeText(t, text, opt), KeepOut), "radius %g, the other way round", r)
		opt.Machine.Min.Y = 0
	}
}

// A beam that leaves the sheet is told on each side, in the middle of many plain moves
// too, and not when it stays on the edge or is off.
func TestOffEachSideOfTheSheet(t *testing.T) {
	stock := Box3{Min: machine.Axes{X: 100, Y: 50, Z: -5}, Max: machine.Axes{X: 300, Y: 200}}
	for _, tc := range []struct {
		to    string
		beam  string
		off   bool
		value float64
	}{
		{"X301 Y100", "M4 S300", true, 301}, {"X99 Y100", "M4 S300", true, 99}, {"X150 Y201", "M4 S300", true, 201}, {"X150 Y49", "M4 S300", true, 49},
		{"X300 Y200", "M4 S300", false, 0}, {"X100 Y50", "M4 S300", false, 0}, {"X301 Y100", "M5 S0", false, 0},
	} {
		var b strings.Builder
		b.WriteString(modesLine + "M5 S0\nG0 X140 Y100\n" + tc.beam + "\nF600\n")
		for i := range 300 {
			fmt.Fprintf(&b, "G1 X%d Y%d\n", 150+i%40, 100+i%30)
		}
		fmt.Fprintf(&b, "G1 %s\n", tc.to)
		for i := range 300 {
			fmt.Fprintf(&b, "G1 X%d Y%d\n", 150+i%40, 100+i%30)
		}
		b.WriteString("S0\nM5\nM2\n")
		opt := seedOptions(habit{})
		opt.Stock, opt.Machine.RepeatMax = &stock, 0
		r := judgeText(t, b.String(), opt)
		if !tc.off {
			assert.Empty(t, r.Problems, tc.to)
			continue
		}
		i := slices.IndexFunc(r.Problems, func(p Problem) bool { return p.Code == OffStock })
		require.GreaterOrEqual(t, i, 0, tc.to)
		assert.Equal(t, tc.value, *r.Problems[i].Value, tc.to)
	}
}

// Work zero may lie anywhere, also in height: sheet, mat and blade are where it is.
func TestHeightsFromWorkZero(t *testing.T) {
	knife := func() Options {
		opt := seedOptions(habit{knife: true})
		opt.Machine.Offsets = map[int]machine.Axes{1: {X: 10, Y: 20, Z: 7}}
		opt.Machine.Max.X, opt.Machine.Max.Y, opt.Machine.Max.Z = 700, 400, 30
		opt.Machine.Min.Z = -20
		return opt
	}
	for text, want := range map[string][]string{
		"G0 Z5\nG0 X100 Y100\nG1 Z-1.2 F300\n":            nil,
		"G0 Z5\nG0 X100 Y100\nG1 Z-1.201 F300\n":          {BelowFloor},
		"G0 Z5\nG0 X100 Y100\nG1 Z-0.6 F300\nG0 X120\n":   {BladeRapid},
		"G0 Z0.1\nG0 X100 Y100\n":                         nil,
		"G0 Z5\nG0 X598 Y100\nG1 Z-0.6 F300\nG1 X601\n":   {OffStock},
		"G0 Z5\nG0 X598 Y100\nG1 Z-0.6 F300\nG1 X599.9\n": nil,
	} {
		r := judgeText(t, modesLine+text+"G0 Z5\nM2\n", knife())
		assert.Equal(t, strings.Join(want, " "), strings.Join(codesOf(r), " "), text)
	}
	laser := seedOptions(habit{})
	laser.Machine.Offsets = map[int]machine.Axes{1: {Z: 20}}
	for z, want := range map[string]int64{"-5": 0, "-5.1": 1} {
		r := judgeText(t, modesLine+"M5 S0\nG0 X10 Y10\nG1 Z"+z+" F300\nM2\n", laser)
		assert.Equal(t, want, found(r, ThroughSheet), z)
	}
}

// A zero power cap is none, and a cap counts for beams only.
func TestPowerCapEdges(t *testing.T) {
	cut := modesLine + "M5 S0\nG0 X10 Y10\nM4\nS%d\nG1 X50 F600\nS0\nM5\nM2\n"
	for cap, want := range map[float64]int64{0: 0, 0.5: 1, 299: 1, 300: 0, 301: 0} {
		opt := seedOptions(habit{})
		opt.Material = &machine.Material{Name: "card", PowerCap: cap}
		assert.Equal(t, want > 0, found(judgeText(t, fmt.Sprintf(cut, 300), opt), PowerCap) > 0, "cap %g", cap)
	}
}

// A beam switched off behind the words of a move is told when it was on; in the dark
// nothing is missing.
func TestStopBehindAMove(t *testing.T) {
	on := modesLine + "M5 S0\nG0 X10 Y10\nM4\nS300\nG1 X50 F600\nG1 X60 M5\nS0\nM2\n"
	dark := modesLine + "M5 S0\nG0 X10 Y10\nM4\nS300\nG1 X50 F600\nS0\nG1 X60 M5\nM2\n"
	assert.EqualValues(t, 1, found(judgeText(t, on, seedOptions(habit{})), StopEarly))
	assert.Zero(t, found(judgeText(t, dark, seedOptions(habit{})), StopEarly))
}

// The blade's heading is known once what it may be off has died away: from 179 degrees,
// tan(phi/2) falls as exp(-s/d), so 1 degree is reached after d·ln(tan 89.5 / tan 0.5) =
// 9.4826 d: 4.7413 mm for d 0.5. The third move at depth is told when the first, the
// run-in, was shorter than that.
func TestRunInThatIsLongEnough(t *testing.T) {
	for s, want := range map[float64]int64{4.6: 1, 4.85: 0} {
		text := fmt.Sprintf(modesLine+"G0 Z5\nG0 X100 Y100\nG1 Z-0.6 F300\nG1 X%.3f F900\nG1 X%.3f\nG1 X%.3f\nG0 Z5\nM2\n", 100+s, 100.5+s, 103+s)
		r := judgeText(t, text, seedOptions(habit{knife: true}))
		assert.Equal(t, want, found(r, BladeHeading), "run-in of %g mm: %v", s, r.Problems)
	}
	assert.InDelta(t, 4.7413, 0.5*math.Log(math.Tan(89.5*math.Pi/180)/math.Tan(0.5*math.Pi/180)), 1e-4)
	assert.InDelta(t, 1, fadeDeg(179, math.Exp(-9.4826)), 1e-3)
	assert.InDelta(t, 90, fadeDeg(90, 1), 1e-9)
}

// A turn is told in degrees as it is, also across the direction where angles begin anew;
// in the skin the blade turns freely.
func TestTurnsInEveryDirection(t *testing.T) {
	for deg := 0.0; deg < 360; deg += 15 {
		for _, turn := range []float64{40, -40} {
			s, c := math.Sincos(deg * math.Pi / 180)
			s2, c2 := math.Sincos((deg + turn) * math.Pi / 180)
			x, y := 300+20*c, 150+20*s
			moves := fmt.Sprintf("G1 X%.5f Y%.5f F900\nG1 X%.5f Y%.5f\nG1 X%.5f Y%.5f\n", 300+10*c, 150+10*s, x, y, x+10*c2, y+10*s2)
			r := judgeText(t, modesLine+"G0 Z5\nG0 X300 Y150\nG1 Z-0.6 F300\n"+moves+"G0 Z5\nM2\n", seedOptions(habit{knife: true}))
			require.Equal(t, []string{BladeTurn}, codesOf(r), "from %g by %g: %v", deg, turn, r.Problems)
			assert.InDelta(t, 40, *r.Problems[0].Value, 0.01, "from %g by %g", deg, turn)
			r = judgeText(t, modesLine+"G0 Z5\nG0 X300 Y150\nG1 Z-0.05 F300\n"+moves+"G0 Z5\nM2\n", seedOptions(habit{knife: true}))
			assert.Empty(t, r.Problems, "in the skin, from %g by %g", deg, turn)
		}
	}
}

// The longest single move, of both runs of a program with lines that may be skipped.
func TestLongestMove(t *testing.T) {
	r := judgeText(t, modesLine+"G0 X3 Y4\n/G0 X300 Y4\nG0 X3 Y16\nM2\n", seedOptions(habit{}))
	assert.InDelta(t, 297.2422, r.StepMM, 1e-3, "from 300,4 back to 3,16")
	r = judgeText(t, modesLine+"G0 X3 Y4\nG0 X3 Y16\nG1 X7 F600\nM2\n", seedOptions(habit{}))
	assert.InDelta(t, 12, r.StepMM, 1e-9)
}

// Problems come by line, then column, then code, then text.
func TestOrderOfProblems(t *testing.T) {
	list := []Problem{{Line: 1, Col: 1, Code: "D1", Text: "a"}, {Line: 1, Col: 1, Code: "D1", Text: "b"}, {Line: 1, Col: 1, Code: "D2", Text: "a"},
		{Line: 1, Col: 2, Code: "D1", Text: "a"}, {Line: 2, Col: 1, Code: "D1", Text: "a"}}
	for i, a := range list {
		for k, b := range list {
			assert.Equal(t, cmp.Compare(i, k), compare(a, b), "%v %v", a, b)
		}
	}
}

// The report in words: what is read by people, line by line.
func TestReportInWords(t *testing.T) {
	var b strings.Builder
	require.NoError(t, WriteText(&b, []Report{judgeText(t, modesLine+"M5 S0\nG0 X30 Y40\nM4\nS300\nG1 X130 F600\nS0\nM5\nG0 X700\nM2\n", seedOptions(habit{name: "a.nc"}))}, 80))
	got := b.String()
	assert.True(t, strings.HasPrefix(got, "a.nc: fail: 1 error, 0 warnings\na.nc:9:4: error"), "the verdict comes first")
	for _, want := range []string{
		"a.nc:9:4: error: X reaches 700.000 mm, 100.000 mm past the upper limit of 600.000 mm; first on line 9, worst on line 9 [D601]\n    help: ",
		"\n  X        0.000 to 700.000 mm (lines 3, 9); beam on 30.000 to 130.000 mm\n           (lines 6, 6)\n",
		"\n  Y        0.000 to 40.000 mm (lines 3, 3); beam on 40.000 to 40.000 mm\n           (lines 6, 6)\n",
		"\n  Z        0.000 to 0.000 mm (lines 3, 3); beam on 0.000 to 0.000 mm\n           (lines 6, 6)\n",
		"\n  starts   at X0.000 Y0.000 Z0.000, ends at X700.000 Y40.000 Z0.000, machine\n           coordinates\n",
		"\n  moves    100.0 mm at feed, 620.0 mm rapid, longest move 570.0 mm, 10 lines\n",
		"beam on for 10 s; the estimate is good to a fifth\n",
		"\n  codes    D601 1\n", "a.nc: fail: 1 error, 0 warnings\n",
	} {
		assert.Contains(t, got, want)
	}
	b.Reset()
	require.NoError(t, WriteText(&b, []Report{judgeText(t, "O100\nM2\n", seedOptions(habit{name: "b.nc"})), Unreadable("c.nc", "gone")}, 80))
	assert.Contains(t, b.String(), "\n  moves    nothing, 2 lines\n")
	assert.Contains(t, b.String(), "c.nc: error: cannot be read: gone [")
	assert.NotContains(t, b.String(), "about")
}

// What the blade's arithmetic leans on.
func TestAnglesAreFolded(t *testing.T) {
	for _, a := range []float64{0, 1, -1, 3, -3} {
		for k := -3.0; k <= 3; k++ {
			assert.InDelta(t, a, angle(a+k*2*math.Pi), 1e-12)
		}
	}
	assert.Equal(t, [2]read.Point{{1, 2, 3}, {4, 5, 6}}, boxOf(read.Point{4, 2, 6}, read.Point{1, 5, 3}))
}

// A mode stated behind the words of a move is told when it changes something, and only then.
func TestModesBehindAMove(t *testing.T) {
	for line, want := range map[string]int64{
		"G1 X20 G91": 1, "G1 X20 G90": 0, "G91 G1 X20": 0, "G1 X20 G18": 1, "G1 X20 G17": 0, "G1 X20 G55": 1, "G1 X20 G54": 0,
		"G1 X20 F1 G93": 1, "G1 X20 G94": 0, "G1 X20 G21": 0, "G1 X20 G20": 1,
	} {
		r := judgeText(t, modesLine+"M5 S0\nG0 X10 Y10\nF600\n"+line+"\nM2\n", seedOptions(habit{}))
		assert.Equal(t, want, found(r, ModeEarly), "%s: %v", line, r.Problems)
	}
}

// A head that stands outside the travel is told at the first move, though that leads back
// inside; at the limit itself it is not.
func TestStartOutsideTheTravel(t *testing.T) {
	for x, want := range map[float64]int64{-10: 1, 0: 0, 600: 0, 601: 1} {
		opt := seedOptions(habit{})
		opt.Start = &machine.Axes{X: x, Y: 10}
		assert.Equal(t, want, found(judgeText(t, modesLine+"G0 X20 Y20\nG0 X30\nM2\n", opt), Travel), "from X%g", x)
	}
}

// Arcs and helices of every plane against a box, held against 20,000 places along each.
func TestArcsThroughABoxPlaceByPlace(t *testing.T) {
	rnd := rand.New(rand.NewSource(11))
	lo, hi := read.Point{-3, -2, -1}, read.Point{4, 5, 2}
	through, past := 0, 0
	for range 400 {
		c := read.Curve{Plane: read.Plane(rnd.Intn(3)), Radius: 0.5 + 12*rnd.Float64(), Sweep: (rnd.Float64()*2 - 1) * 2 * math.Pi}
		u, v, n := c.Plane.Axes()
		for i := range c.Center {
			c.Center[i] = rnd.Float64()*16 - 8
		}
		a := rnd.Float64() * 2 * math.Pi
		c.From, c.To, c.RadiusTo = c.Center, c.Center, c.Radius
		c.From[u], c.From[v] = c.Center[u]+c.Radius*math.Cos(a), c.Center[v]+c.Radius*math.Sin(a)
		c.To[u], c.To[v] = c.Center[u]+c.Radius*math.Cos(a+c.Sweep), c.Center[v]+c.Radius*math.Sin(a+c.Sweep)
		c.To[n] += rnd.Float64()*8 - 4
		deepest := math.Inf(-1) // how far inside the box it comes
		for k := 0; k <= 20000; k++ {
			p := c.At(float64(k) / 20000)
			d := math.Inf(1)
			for i := range p {
				d = math.Min(d, math.Min(p[i]-lo[i], hi[i]-p[i]))
			}
			deepest = math.Max(deepest, d)
		}
		if math.Abs(deepest) < 0.005 { // as far as the places are apart
			continue
		}
		require.Equal(t, deepest > 0, arcCrosses(&c, lo, hi), "%+v comes in by %g", c, deepest)
		if deepest > 0 {
			through++
		} else {
			past++
		}
	}
	assert.Greater(t, through, 40)
	assert.Greater(t, past, 50)
}
