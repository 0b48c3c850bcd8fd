package read_test

import (
	"bytes"
	"context"
	"fmt"
	"math"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"spotjig/cam/machine"
	"spotjig/post/rs274/read"
)

// What changes of single signs and terms showed to be untested.

// motionOf are the moves among what a recorder kept.
func motionOf(r *recorder) []read.Event {
	var out []read.Event
	for _, e := range r.events {
		if e.Kind <= read.Arc {
			out = append(out, e.Event)
		}
	}
	return out
}

// Numbers of every count of digits before and behind the point, of either sign, are
// what strconv makes of the same text, by the short cut and past it. (A number of more
// than 15 digits, or beyond 1e9, is another test's.)
func TestPlainNumbersOfEveryLength(t *testing.T) {
	const digits = "918273645546372"
	var texts []string
	for whole := 0; whole <= 9; whole++ {
		for part := 0; whole+part <= 15; part++ {
			for _, sign := range []string{"", "-"} {
				text := sign + digits[:whole] + "." + digits[whole:whole+part]
				if whole+part > 0 {
					texts = append(texts, text)
				}
				if part == 0 && whole > 0 {
					texts = append(texts, strings.TrimSuffix(text, "."))
				}
				if whole == 0 && part > 0 {
					texts = append(texts, sign+"0."+digits[:part-part/15])
				}
			}
		}
	}
	require.Greater(t, len(texts), 250)
	var b bytes.Buffer
	b.WriteString("G21 G90 G17 G94 G40 G49 G54 F600\n")
	for i, s := range texts {
		// Between other words, at the end of its line, and before a comment.
		b.WriteString([]string{"X" + s + " Y1.5 S100\n", "Y2 Z-0.25 X" + s + "\n", "X" + s + "Y7\n", "X" + s + " (on)\n"}[i%4])
	}
	b.WriteString("M2\n")
	m := declared()
	m.Offsets = map[int]machine.Axes{1: {}}
	for _, opt := range []read.Options{{Machine: m}, read.Options{Machine: m}.Slow()} {
		r, _ := record(t, b.Bytes(), opt)
		require.Empty(t, r.faults)
		moves := motionOf(r)
		require.Len(t, moves, len(texts))
		for i, s := range texts {
			want, err := strconv.ParseFloat(s, 64)
			require.NoError(t, err)
			assert.Equal(t, want, moves[i].To[0], s)
		}
	}
}

// Feeds are per minute, and an inch is 25.4 mm, by the short cut and past it.
func TestPlainFeeds(t *testing.T) {
	m := declared()
	m.Offsets = map[int]machine.Axes{1: {}}
	for _, opt := range []read.Options{{Machine: m}, read.Options{Machine: m}.Slow()} {
		for units, scale := range map[string]float64{"G21": 1, "G20": 25.4} {
			r, _ := record(t, []byte(units+" G90 G17 G94 G40 G49 G54 F600\nG1 X1\nX2 F90\nX3\nG0 X4\nG1 X5\nM2\n"), opt)
			require.Empty(t, r.faults)
			var got []float64
			for i, e := range motionOf(r) {
				got = append(got, e.Feed)
				assert.Equal(t, scale*float64(i+1), e.To[0])
			}
			assert.InDeltaSlice(t, []float64{10 * scale, 1.5 * scale, 1.5 * scale, 0, 1.5 * scale}, got, 1e-12, units)
		}
	}
}

// A helix rises evenly, and where the radii differ the way is a spiral whose radius
// changes evenly (our own reading; NIST IR 6556 section 3.5.3 leaves it open).
func TestHelixAndSpiral(t *testing.T) {
	for _, plane := range []read.Plane{read.XY, read.ZX, read.YZ} {
		u, v, n := plane.Axes()
		k := read.Curve{Plane: plane, Radius: 10, RadiusTo: 12, Sweep: -math.Pi / 2}
		k.Center[u], k.Center[v] = 3, -4
		k.From[u], k.From[v], k.From[n] = 3, 6, 7
		k.To[u], k.To[v], k.To[n] = 15, -4, -1
		for f := 0.0; f <= 1; f += 0.125 {
			q := k.At(f)
			s, c := math.Sincos(math.Pi/2 - f*math.Pi/2)
			r := 10 + 2*f
			assert.InDelta(t, 3+r*c, q[u], 1e-9)
			assert.InDelta(t, -4+r*s, q[v], 1e-9)
			assert.InDelta(t, 7-8*f, q[n], 1e-9)
		}
		box := k.Box()
		assert.Equal(t, -1.0, box[0][n])
		assert.Equal(t, 7.0, box[1][n])
		for f := 0.0; f <= 1; f += 1.0 / 64 {
			for i, x := range k.At(f) {
				assert.GreaterOrEqual(t, x, box[0][i]-1e-9)
				assert.LessOrEqual(t, x, box[1][i]+1e-9)
			}
		}
		assert.InDelta(t, math.Hypot(10*math.Pi/2, 8), k.Length(), 1e-9)
	}
}

// summed is what a program comes to on a machine about which everything is known.
func summed(t *testing.T, program string, change func(*machine.Profile)) (*recorder, []read.Fault) {
	t.Helper()
	m := declared()
	m.Offsets = map[int]machine.Axes{1: {}, 2: {X: 50}}
	if change != nil {
		change(m)
	}
	r := &recorder{}
	_, err := read.Run(context.Background(), strings.NewReader(program), read.Options{Machine: m}, r)
	require.NoError(t, err)
	return r, faultsOf(t, program, change)
}

// refusals are the faults but those of a controller's memory written, after which all is known.
func refusals(faults []read.Fault) (out []read.Fault) {
	for _, f := range faults {
		if f.Code != read.MemoryWritten {
			out = append(out, f)
		}
	}
	return out
}

// Homes set through their parameters (NIST IR 6556 Table 2: 5161 to 5163 for G28, 5181
// to 5183 for G30), in the units of the program, all three before the first use.
func TestHomesByParameters(t *testing.T) {
	for _, tc := range []struct {
		program string
		want    read.Point
	}{
		{"#5161=1 #5162=2 #5163=3\nG28\nM2\n", read.Point{1, 2, 3}},
		{"#5181=4 #5182=5 #5183=6\nG30\nM2\n", read.Point{4, 5, 6}},
		{"G20\n#5161=1 #5162=2 #5163=3\nG28\nM2\n", read.Point{25.4, 50.8, 76.2}},
	} {
		r, faults := summed(t, tc.program, func(m *machine.Profile) { m.Home28, m.Home30 = nil, nil })
		require.Empty(t, refusals(faults), tc.program)
		require.Len(t, faults, 3, "each home written is told")
		moves := motionOf(r)
		require.Len(t, moves, 1)
		for i := range tc.want {
			assert.InDelta(t, tc.want[i], moves[0].To[i], 1e-9, tc.program)
		}
	}
	for _, program := range []string{"#5161=1 #5162=2\nG28\nM2\n", "#5162=1 #5163=2\nG28\nM2\n", "#5161=1 #5163=2\nG28\nM2\n", "#5161=1 #5162=2 #5163=3\nG30\nM2\n", "#5160=1 #5161=1 #5162=2\nG28\nM2\n"} {
		_, faults := summed(t, program, func(m *machine.Profile) { m.Home28, m.Home30 = nil, nil })
		require.NotEmpty(t, faults, program)
		assert.Equal(t, read.HomeUnknown, refusals(faults)[0].Code, program)
	}
}

// What the dialect of a machine allows, and what it does not.
func TestDialectOfTheMachine(t *testing.T) {
	for _, tc := range []struct {
		name, program string
		change        func(*machine.Profile)
		code          read.Code // "" when it is clean
		clean         bool
	}{
		{"semicolon refused", "G0 X1 ; there\nM2\n", nil, read.SemicolonComment, false},
		{"semicolon allowed", "G0 X1 ; there\nM2\n", func(m *machine.Profile) { m.SemicolonComments = true }, "", true},
		{"M106 refused", "M106\nM2\n", nil, read.UnknownM, false},
		{"M106 allowed", "M106 S255\nM2\n", func(m *machine.Profile) { m.ExtraWords = []string{" m106 "} }, "", true},
		{"M107 still refused", "M107\nM2\n", func(m *machine.Profile) { m.ExtraWords = []string{"M106"} }, read.UnknownM, false},
		{"G12.1 refused", "G12.1\nM2\n", nil, read.UnknownG, false},
		{"G12.1 allowed", "G12.1 P1\nM2\n", func(m *machine.Profile) { m.ExtraWords = []string{"G12.1"} }, "", true},
		{"E refused", "G0 X1 E5\nM2\n", nil, read.BadLetter, false},
		{"E allowed", "G0 X1 E5\nM2\n", func(m *machine.Profile) { m.ExtraWords = []string{"E"} }, "", true},
		{"A refused", "G0 X1 A5\nM2\n", nil, read.RotaryAxis, false},
		{"A allowed", "G0 X1 A5\nM2\n", func(m *machine.Profile) { m.ExtraWords = []string{"A"} }, "", true},
		{"G70", "G70\nM2\n", nil, read.UnknownG, false},
		{"M100", "M100\nM2\n", nil, read.UnknownM, false},
		{"M-1", "M-1\nM2\n", nil, read.UnknownM, false},
	} {
		t.Run(tc.name, func(t *testing.T) {
			_, faults := summed(t, tc.program, tc.change)
			if tc.clean {
				require.Empty(t, faults)
				return
			}
			require.NotEmpty(t, faults)
			assert.Equal(t, tc.code, faults[0].Code, fmt.Sprint(faults))
		})
	}
}

// A dwell is in seconds, in milliseconds where the machine says so.
func TestDwellUnits(t *testing.T) {
	for _, program := range []string{"G4 P1500\nM2\n", "G98 F60\nG82 X1 Z-1 R1 P1500\nM2\n", "G98 F60\nG89 X1 Z-1 R1 P1500\nM2\n"} {
		for millis, want := range map[bool]float64{false: 1500, true: 1.5} {
			r, faults := summed(t, program, func(m *machine.Profile) { m.DwellMillis = millis })
			require.Empty(t, faults, program)
			var got []float64
			for _, e := range r.events {
				if e.Kind == read.Dwell {
					got = append(got, e.Feed)
				}
			}
			assert.Equal(t, []float64{want}, got, "%s millis %v", program, millis)
		}
	}
}

// Parameters tied to the state (NIST IR 6556 Table 2): homes, the G92 shift, the
// system in force and its origins, in the units in force.
func TestStateByParameters(t *testing.T) {
	for _, tc := range []struct {
		name, program string
		want          read.Point // where the last move leads, machine mm
	}{
		{"home of G28", "G0 X#5161 Y#5162 Z#5163\nM2\n", read.Point{11, 12, 13}},
		{"home of G30", "G0 X#5181 Y#5182 Z#5183\nM2\n", read.Point{21, 22, 23}},
		{"homes in inches", "G20\nG0 X#5161 Y#5182 Z#5183\nM2\n", read.Point{11, 22, 23}},
		{"shift", "G0 X10 Y20 Z30\nG92 X3 Y4 Z5\nG53 G0 X#5211 Y#5212 Z#5213\nM2\n", read.Point{7, 16, 25}},
		{"shift in inches", "G20\nG0 X10 Y20 Z30\nG92 X3 Y4 Z5\nG53 G0 X#5211 Y#5212 Z#5213\nM2\n", read.Point{7 * 25.4, 16 * 25.4, 25 * 25.4}},
		{"system", "G53 G0 X#5220\nG55\nG53 G0 Y#5220\nM2\n", read.Point{1, 2, 0}},
		{"origin", "G53 G0 X#5241 Y#5242 Z#5243\nM2\n", read.Point{50, 51, 52}},
		{"origin in inches", "G20\nG53 G0 X#5241 Y#5242 Z#5243\nM2\n", read.Point{50, 51, 52}},
		{"origin set here", "G10 L2 P9 X1 Y2 Z3\nG53 G0 X#5381 Y#5382 Z#5383\nM2\n", read.Point{1, 2, 3}},
	} {
		r, faults := summed(t, tc.program, func(m *machine.Profile) {
			m.Home28, m.Home30 = &machine.Axes{X: 11, Y: 12, Z: 13}, &machine.Axes{X: 21, Y: 22, Z: 23}
			m.Offsets = map[int]machine.Axes{1: {}, 2: {X: 50, Y: 51, Z: 52}}
		})
		require.Empty(t, refusals(faults), tc.name)
		moves := motionOf(r)
		for i, v := range tc.want {
			assert.InDelta(t, v, moves[len(moves)-1].To[i], 1e-9, tc.name)
		}
	}
	for _, n := range []int{5061, 5066, 5211, 5216, 5220, 5221, 5386, 5390} {
		_, faults := summed(t, fmt.Sprintf("#%d=1\nM2\n", n), nil)
		require.NotEmpty(t, faults, n)
		assert.Equal(t, read.ParamReserved, faults[0].Code, n)
	}
	for _, n := range []int{5060, 5067, 5210, 5217, 5219, 5391} {
		_, faults := summed(t, fmt.Sprintf("#%d=1\nM2\n", n), nil)
		assert.Empty(t, faults, n)
	}
}

// In G93 the F word is one over the minutes of the move (NIST IR 6556 section 3.5.19):
// 13 mm in a sixtieth of a minute are 13 mm/s, along a straight in space, an arc and
// a helix alike.
func TestInverseTime(t *testing.T) {
	for _, tc := range []struct {
		line string
		want float64
	}{
		{"G1 X3 Y4 Z12 F60", 13}, {"G1 X-3 Y-4 Z-12 F60", 13}, {"G1 Y5 Z-12 F30", 6.5}, {"G1 X2 F60", 2},
		{"G2 X10 Y0 I5 J0 F60", 5 * math.Pi}, {"G3 X10 Y0 Z4 I5 J0 F60", math.Hypot(5*math.Pi, 4)},
	} {
		r, faults := summed(t, "G93\n"+tc.line+"\nM2\n", nil)
		require.Empty(t, faults, tc.line)
		assert.InDelta(t, tc.want, motionOf(r)[0].Feed, 1e-9, tc.line)
	}
	for _, program := range []string{"G93\nG1 X1\nM2\n", "G93\nG1 X1 F60\nX2\nM2\n"} {
		_, faults := summed(t, program, nil)
		require.NotEmpty(t, faults, program)
		assert.Equal(t, read.InverseMissing, faults[0].Code, program)
	}
	_, faults := summed(t, "F60\nG93\nG1 X1 F60\nG94\nX2\nM2\n", nil)
	require.NotEmpty(t, faults, "the F of G93 is none of G94")
	assert.Equal(t, read.FeedMissing, faults[0].Code)
}

// A pecking cycle as section 3.5.16.4 has it: down a peck at the feed, out to R, back
// to 0.254 mm (0.010 inch) above where it was, but not above R; at the end to R or to
// where it came from.
func TestPecks(t *testing.T) {
	type step struct {
		kind read.Kind
		z    float64
	}
	for program, want := range map[string][]step{
		"G99 F60\nG0 Z5\nG83 X1 Z-2.5 R1 Q2\nM2\n":  {{read.Rapid, 5}, {read.Rapid, 5}, {read.Rapid, 1}, {read.Line, -1}, {read.Rapid, 1}, {read.Rapid, -0.746}, {read.Line, -2.5}, {read.Rapid, 1}},
		"G98 F60\nG0 Z5\nG83 X1 Z0.5 R1 Q0.2\nM2\n": {{read.Rapid, 5}, {read.Rapid, 5}, {read.Rapid, 1}, {read.Line, 0.8}, {read.Rapid, 1}, {read.Rapid, 1}, {read.Line, 0.6}, {read.Rapid, 1}, {read.Rapid, 0.854}, {read.Line, 0.5}, {read.Rapid, 5}},
		"G98 F60\nG0 Z5\nG81 X1 Z-2 R1\nM2\n":       {{read.Rapid, 5}, {read.Rapid, 5}, {read.Rapid, 1}, {read.Line, -2}, {read.Rapid, 5}},
		"G99 F60\nG0 Z5\nG85 X1 Z-2 R1\nM2\n":       {{read.Rapid, 5}, {read.Rapid, 5}, {read.Rapid, 1}, {read.Line, -2}, {read.Line, 1}},
	} {
		r, faults := summed(t, program, nil)
		require.Empty(t, faults, program)
		var got []step
		for _, e := range motionOf(r) {
			got = append(got, step{e.Kind, math.Round(e.To[2]*1e6) / 1e6})
		}
		assert.Equal(t, want, got, program)
	}
}

// M5 ends the beam, whatever stood before, and S alone changes the power.
func TestTurnAndPower(t *testing.T) {
	r, faults := summed(t, "M3 S100\nG1 X1 F60\nM4\nX2\nS50\nX3\nM5\nX4\nM2\n", nil)
	require.Empty(t, faults)
	var got []string
	for _, e := range motionOf(r) {
		got = append(got, fmt.Sprint(e.Turn, e.S))
	}
	assert.Equal(t, []string{fmt.Sprint(read.Forward, 100), fmt.Sprint(read.Reverse, 100), fmt.Sprint(read.Reverse, 50), fmt.Sprint(read.Off, 50)}, got)
}

// What is in the language but whose outcome no file can tell is refused by its name,
// each code by itself, with its own words beside it and nothing said of those.
func TestRefusedByName(t *testing.T) {
	for program, want := range map[string]read.Code{
		"G41 D1\nM2\n": read.CutterComp, "G42 D1\nM2\n": read.CutterComp, "G41\nM2\n": read.CutterComp, "G42\nM2\n": read.CutterComp,
		"G43 H1\nM2\n": read.ToolLength, "G38.2 X1 F60\nM2\n": read.Probe,
		"G98 F60\nG84 X1 Z-1 R1 L1\nM2\n": read.CycleRefused, "G98 F60\nG86 X1 Z-1 R1 P1 L1\nM2\n": read.CycleRefused,
		"G98 F60\nG87 X1 Z-1 R1 I1 J1 K1\nM2\n": read.CycleRefused, "G98 F60\nG88 X1 Z-1 R1 P1 Q1\nM2\n": read.CycleRefused,
		"M6\nM2\n": read.ToolChange, "M60\nM2\n": read.Pallet,
		"F-1\nM2\n": read.Negative, "S-1\nM2\n": read.Negative, "T-1\nM2\n": read.Negative,
		"G43 H-1\nM2\n": read.ToolLength, "G10 L-2 P1 X1\nM2\n": read.Negative, "G41 D-1\nM2\n": read.CutterComp,
		"T1.5\nM2\n": read.NotInteger, "G10 L2.5 P1 X1\nM2\n": read.NotInteger,
		"G98 F60\nG81 X1 Z-1\nM2\n": read.MissingWord, "G98 F60\nG81 X1 R1\nM2\n": read.MissingWord, "G98 F60\nG82 X1 Z-1 R1\nM2\n": read.MissingWord,
		"G98 F60\nG83 X1 Z-1 R1\nM2\n": read.MissingWord, "G98 F60\nG89 X1 Z-1 R1\nM2\n": read.MissingWord,
		"G98 F60\nG83 X1 Z-1 R1 Q0\nM2\n": read.Negative, "G98 F60\nG82 X1 Z-1 R1 P-1\nM2\n": read.Negative,
		"G98 F60\nG81 X1 Z-1 R1 L0\nM2\n": read.BadCycle, "G98 F60\nG81 X1 Z2 R1\nM2\n": read.BadCycle,
		"G0 X1 P1\nM2\n": read.UnusedWord, "G0 X1 I1\nM2\n": read.UnusedWord, "G0 X1 K1\nM2\n": read.UnusedWord, "G1 X1 F60 R1\nM2\n": read.UnusedWord,
		"G4 P1 Q1\nM2\n": read.UnusedWord, "G40 D1\nM2\n": read.UnusedWord, "G49 H1\nM2\n": read.UnusedWord,
		"G2 X1 F60\nM2\n": read.NoCenter, "G2 X1 I1 R1 F60\nM2\n": read.RadiusAndCenter, "G2 X1 K1 F60\nM2\n": read.WrongCenterWord,
		"G2 Z1 I1 F60\nM2\n": read.NoPlaneWord, "G2 X1 I0 J0 F60\nM2\n": read.ZeroRadius, "G2 X2 R0 F60\nM2\n": read.ZeroRadius,
		"G2 X0 Y0 R1 F60\nM2\n": read.RadiusNoChord, "G2 X2.1 R1 F60\nM2\n": read.RadiusShort,
		"G92 G1 X1 F60\nM2\n": read.AxisWordsTwice, "G28 G0 X1\nM2\n": read.AxisWordsTwice, "G2\nM2\n": read.NoAxisWord, "G80 G0 X1\nM2\n": read.GroupTwice, "T1 M6\nT2 M6\nM2\n": read.ToolTaken, "G92\nM2\n": read.NoAxisWord,
		"G53\nM2\n": read.NoAxisWord, "G10 L3 P1 X1\nM2\n": read.BadG10, "G10 L2 P0 X1\nM2\n": read.BadG10, "G10 L2 P10 X1\nM2\n": read.BadG10,
		"G91\nG53 G0 X1\nM2\n": read.BadG53, "G80\nX1\nM2\n": read.NoMotionMode,
	} {
		_, faults := summed(t, program, nil)
		var codes []read.Code
		for _, f := range faults {
			codes = append(codes, f.Code)
		}
		require.NotEmpty(t, codes, program)
		assert.Equal(t, want, codes[0], "%s: %+v", program, faults)
		if want == read.CutterComp || want == read.CycleRefused || want == read.Probe {
			assert.NotContains(t, codes, read.UnusedWord, program)
		}
	}
}

// A whole spiral from radius 10 to 12 or from 12 to 10, about 3,-4, lies in the box of
// the greater, on all four sides.
func TestSpiralBoxOnEverySide(t *testing.T) {
	for _, r := range [][2]float64{{10, 12}, {12, 10}} {
		for _, sweep := range []float64{2 * math.Pi, -2 * math.Pi} {
			k := read.Curve{Plane: read.XY, Radius: r[0], RadiusTo: r[1], Sweep: sweep, Center: read.Point{3, -4}, From: read.Point{3 + r[0], -4}, To: read.Point{3 + r[1], -4}}
			box := k.Box()
			for i, c := range []float64{3, -4} {
				assert.LessOrEqual(t, box[0][i], c-12)
				assert.GreaterOrEqual(t, box[1][i], c+12)
			}
			for f := 0.0; f <= 1; f += 1.0 / 256 {
				for i, x := range k.At(f) {
					assert.True(t, x >= box[0][i]-1e-9 && x <= box[1][i]+1e-9, "%v at %g", r, f)
				}
			}
		}
	}
}

// G92.3 brings back what this program set; what another left behind is not known.
func TestShiftFromBefore(t *testing.T) {
	unknown := func(m *machine.Profile) { m.ParametersZero = false }
	_, faults := summed(t, "G92.3\nM2\n", unknown)
	require.NotEmpty(t, faults)
	assert.Equal(t, read.ShiftUnknown, faults[0].Code)
	r, faults := summed(t, "G0 X10\nG92 X3\nG92.2\nG0 X1\nG92.3\nG0 X1\nG92.1\nG92.3\nG0 X1\nM2\n", unknown)
	require.Empty(t, faults)
	var got []float64
	for _, e := range motionOf(r) {
		got = append(got, e.To[0])
	}
	assert.Equal(t, []float64{10, 1, 8, 1}, got)
}

// Expressions as NIST IR 6556 sections 3.3.2.3 and 3.3.2.4 have them: three ranks, equal
// ones from left to right, angles in degrees, MOD never negative, FIX down and FUP up.
func TestExpressionsByHand(t *testing.T) {
	for text, want := range map[string]float64{
		"[2+3*4]": 14, "[2*3+4]": 10, "[[2+3]*4]": 20, "[8-3-2]": 3, "[8/4/2]": 1, "[2**3**2]": 64, "[2*3**2]": 18, "[1+6/3-2*0.5]": 2,
		"[-7 MOD 3]": 2, "[7 MOD 3]": 1, "[-7 MOD -3]": 2, "[7 MOD -3]": 1, "[-6 MOD 3]": 0,
		"[1 AND 0]": 0, "[2 AND 3]": 1, "[0 OR 5]": 1, "[0 OR 0]": 0, "[1 XOR 1]": 0, "[0 XOR 2]": 1,
		"ABS[-3]": 3, "ACOS[0]": 90, "ACOS[-1]": 180, "ACOS[1]": 0, "ASIN[1]": 90, "ASIN[-1]": -90, "ATAN[1]/[-1]": 135, "ATAN[-1]/[0]": -90, "COS[60]": 0.5, "SIN[-30]": -0.5, "TAN[45]": 1,
		"EXP[0]": 1, "LN[1]": 0, "SQRT[9]": 3, "SQRT[0]": 0, "FIX[2.8]": 2, "FIX[-2.8]": -3, "FUP[2.1]": 3, "FUP[-2.8]": -2, "ROUND[2.4]": 2, "ROUND[-2.6]": -3,
		"[-2**2]": 4, "[-8**3]": -512, "[4**-1]": 0.25, "[4**0.5]": 2,
	} {
		r, faults := summed(t, "G0 X"+text+"\nM2\n", nil)
		require.Empty(t, faults, text)
		assert.InDelta(t, want, motionOf(r)[0].To[0], 1e-9, text)
	}
	for text, want := range map[string]read.Code{
		"[1/0]": read.BadValue, "[5 MOD 0]": read.BadValue, "[-2**0.5]": read.BadValue, "SQRT[-1]": read.BadValue, "LN[0]": read.BadValue, "LN[-1]": read.BadValue,
		"ACOS[1.01]": read.BadValue, "ACOS[-1.01]": read.BadValue, "ASIN[1.01]": read.BadValue, "ASIN[-1.01]": read.BadValue, "ATAN[0]/[0]": read.BadValue,
		"EXP[1000]": read.BadValue, "[0**-1]": read.BadValue, "EXP[30]": read.NumberTooLarge, "[900000000+900000000]": read.NumberTooLarge, "[100000*100000]": read.NumberTooLarge,
		"[1+2": read.BadExpression, "[1 2]": read.SpacedNumber, "SIN 30": read.BadExpression, "ATAN[1]": read.BadExpression, "ATAN[1]/2": read.BadExpression,
		"#": read.BadNumber, "#0.5": read.ParamRange, "#1.00001": "", "[]": read.BadNumber, "SINH[1]": read.BadExpression, "FOO[1]": read.BadNumber, "--1": read.BadNumber, "1e3": read.BadLetter,
	} {
		_, faults := summed(t, "G0 X"+text+"\nM2\n", nil)
		if want == "" {
			assert.Empty(t, faults, text)
			continue
		}
		require.NotEmpty(t, faults, text)
		assert.Equal(t, want, faults[0].Code, "%s: %+v", text, faults[0])
	}
}

// The origin of a work offset that nobody declared is told once, whichever axis is the
// first to need it, and not where nothing depends on it.
func TestOriginsNobodyDeclared(t *testing.T) {
	unknown := func(m *machine.Profile) { m.Offsets, m.ParametersZero = nil, false }
	for program, want := range map[string]int{
		"G0 X1\nM2\n": 1, "G0 Y1\nM2\n": 1, "G0 Z1\nM2\n": 1, "G0 Y1\nX1 Z1\nM2\n": 1, "G1 F60 Z1\nM2\n": 1, "G2 F60 Y1 I0 J0.5\nM2\n": 1,
		"G28 Y1\nM2\n": 1, "G92 Z0\nM2\n": 1, "G55 G0 X1\nM2\n": 1, "G0 X1\nG55 G0 X1\nM2\n": 2,
		"G53 G0 X1\nM2\n": 0, "G10 L2 P1 X0 Y0 Z0\nG0 X1 Y1 Z1\nM2\n": 0, "G10 L2 P1 X0\nG0 X1\nM2\n": 0, "G10 L2 P1 X0\nG0 Y1\nM2\n": 1, "G28\nM2\n": 0,
	} {
		_, faults := summed(t, program, unknown)
		n := 0
		for _, f := range faults {
			if f.Code == read.OffsetUnknown || f.Code == read.OriginTaken {
				n++
			}
		}
		assert.Equal(t, want, n, "%s: %+v", program, faults)
	}
}

// Units may change only while nothing was measured in them.
func TestUnitsChangeBeforeAnythingElse(t *testing.T) {
	for program, ok := range map[string]bool{
		"G20\nG0 X1\nM2\n": true, "G0 X1\nG20\nM2\n": false, "G10 L2 P1 X1\nG20\nM2\n": false, "G28\nG20\nM2\n": false, "G92 X1\nG20\nM2\n": false, "G0 X1\nG21\nM2\n": true,
	} {
		_, faults := summed(t, program, nil)
		if ok {
			assert.Empty(t, faults, program)
			continue
		}
		require.NotEmpty(t, faults, program)
		assert.Equal(t, read.UnitsChanged, faults[len(faults)-1].Code, program)
	}
}
