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
	for _, e := range r.moves {
		if e.Kind <= read.Arc {
			out = append(out, e)
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
		require.Empty(t, faults, tc.program)
		moves := motionOf(r)
		require.Len(t, moves, 1)
		for i := range tc.want {
			assert.InDelta(t, tc.want[i], moves[0].To[i], 1e-9, tc.program)
		}
	}
	for _, program := range []string{"#5161=1 #5162=2\nG28\nM2\n", "#5162=1 #5163=2\nG28\nM2\n", "#5161=1 #5163=2\nG28\nM2\n", "#5161=1 #5162=2 #5163=3\nG30\nM2\n", "#5160=1 #5161=1 #5162=2\nG28\nM2\n"} {
		_, faults := summed(t, program, func(m *machine.Profile) { m.Home28, m.Home30 = nil, nil })
		require.NotEmpty(t, faults, program)
		assert.Equal(t, read.HomeUnknown, faults[0].Code, program)
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
		{"semicolon refused", "G0 X1 ; there\nM2\n", nil, read.BadCharacter, false},
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
			for _, e := range r.moves {
				if e.Kind == read.Dwell {
					got = append(got, e.Feed)
				}
			}
			assert.Equal(t, []float64{want}, got, "%s millis %v", program, millis)
		}
	}
}
