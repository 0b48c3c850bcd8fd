package read_test

import (
	"context"
	"fmt"
	"math"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"spotjig/cam/machine"
	"spotjig/post/rs274/read"
)

// grammar draws random programs of the whole language, most lines well formed.
type grammar struct{ t *rapid.T }

func (g grammar) pick(list ...string) string { return rapid.SampledFrom(list).Draw(g.t, "pick") }

func (g grammar) chance(of int) bool { return rapid.IntRange(1, of).Draw(g.t, "chance") == 1 }

func (g grammar) number() string {
	n := rapid.IntRange(-4000, 4000).Draw(g.t, "n")
	return g.pick(fmt.Sprintf("%d.%02d", n/100, abs(n%100)), fmt.Sprint(n/100), fmt.Sprintf("%.1f", float64(n)/100))
}

func abs(n int) int {
	if n < 0 {
		return -n
	}
	return n
}

// value draws a real value, now and then worked out.
func (g grammar) value(depth int) string {
	if depth == 0 || !g.chance(5) {
		return g.number()
	}
	switch rapid.IntRange(0, 4).Draw(g.t, "form") {
	case 0:
		return "#" + g.pick("1", "2", "3", "#1", "[1+1]", "5221", "5220", "5211", "100")
	case 1:
		return g.pick("ABS", "FIX", "FUP", "ROUND", "SIN", "COS", "SQRT", "LN", "EXP", "TAN", "ACOS", "ASIN", "sin") + "[" + g.value(depth-1) + "]"
	case 2:
		return "ATAN[" + g.value(depth-1) + "]/[" + g.value(depth-1) + "]"
	case 3:
		return "[" + g.value(depth-1) + " " + g.pick("+", "-", "*", "/", "MOD", "**", "OR", "XOR", "AND", "or") + " " + g.value(depth-1) + "]"
	}
	return "[" + g.value(depth-1) + "+" + g.value(depth-1) + "*" + g.value(depth-1) + "]"
}

func (g grammar) axes() string {
	var w []string
	for _, a := range []string{"X", "Y", "Z"} {
		if g.chance(2) {
			w = append(w, a+g.value(2))
		}
	}
	if len(w) == 0 {
		w = append(w, "X"+g.value(2))
	}
	return strings.Join(w, " ")
}

// arc draws an arc in any plane that is on its circle: a quarter, half, three quarters or whole.
func (g grammar) arc() string {
	code := g.pick("G2", "G3")
	plane := rapid.IntRange(0, 2).Draw(g.t, "plane")
	u, v, w := [3]string{"X", "Z", "Y"}[plane], [3]string{"Y", "X", "Z"}[plane], [3]string{"Z", "Y", "X"}[plane]
	cu, cv := [3]string{"I", "K", "J"}[plane], [3]string{"J", "I", "K"}[plane]
	head := "G91 " + [3]string{"G17", "G18", "G19"}[plane] + " " + code
	r := float64(rapid.IntRange(1, 2000).Draw(g.t, "r")) / 100
	helix := ""
	if g.chance(3) {
		helix = " " + w + g.number()
	}
	a := math.Pi / 12 * float64(rapid.IntRange(0, 23).Draw(g.t, "a"))
	b := math.Pi / 12 * float64(rapid.IntRange(0, 23).Draw(g.t, "b"))
	du, dv := r*(math.Cos(b)-math.Cos(a)), r*(math.Sin(b)-math.Sin(a))
	if g.chance(8) { // off its circle, by more or less than is allowed
		du += g.pickFloat(0.0005, 0.02, 0.5)
	}
	if g.chance(3) {
		return fmt.Sprintf("%s %s%.5f %s%.5f R%.4f%s", head, u, du, v, dv, r*g.pickFloat(1, 1.001, 1.5, -1, -1.5), helix)
	}
	return fmt.Sprintf("%s %s%.5f %s%.5f %s%.5f %s%.5f%s", head, u, du, v, dv, cu, -r*math.Cos(a), cv, -r*math.Sin(a), helix)
}

func (g grammar) pickFloat(list ...float64) float64 {
	return rapid.SampledFrom(list).Draw(g.t, "factor")
}

func (g grammar) cycle() string {
	code := g.pick("G81", "G82", "G83", "G85", "G89")
	s := "G94 G98 " + g.pick("G90", "G91") + " " + g.pick("G17", "G17", "G18", "G19") + " " + code + " X" + g.number() + " Y" + g.number()
	if g.chance(3) {
		s = strings.Replace(s, "G98", "G99", 1)
	}
	s += fmt.Sprintf(" Z%d R%d", rapid.IntRange(-8, 4).Draw(g.t, "z"), rapid.IntRange(0, 6).Draw(g.t, "r"))
	if code == "G82" || code == "G89" {
		s += " P0.5"
	}
	if code == "G83" {
		s += " Q" + g.pick("1", "0.5", "2.25")
	}
	if g.chance(3) {
		s += fmt.Sprintf(" L%d", rapid.IntRange(0, 3).Draw(g.t, "l"))
	}
	return s
}

// line draws a line; one in thirty is likely wrong.
func (g grammar) line() string {
	if g.chance(30) {
		return g.pick("G5 X1", "G0 G1 X1", "X1 X2", "G4", "G4 P-1", "G10 L20 P1 X0", "G53 G2 X1 I1", "O100", "G92", "K1", "G41 D1", "G43 H1", "M6", "A5 G0 X1",
			"G38.2 Z-1", "G80 X1", "M3 M5", "M60", "#0=1", "#5221=3", "#[1=2", "G2 X1 I1 K1", "G2 X1", "G2 X1 R0", "N100000 G0 X1", "G0 X1 (a", "F-1", "T1.5", "G84 X1 Z1 R1", "G1 X[1/0]",
			"G0 X[SQRT[-1]]", "G56 G90 G0 X1", "G0 X1 (a(b))", "G0 X1..2", "G0X", "@", "G0 X1e5", "G93 G1 X1", "G20", "G1.00001 X1", "G0 X1 00", "G80 G0 X1", "G2", "G0 X- 5", "M1 M2", "E1")
	}
	switch rapid.IntRange(0, 13).Draw(g.t, "kind") {
	case 0, 1, 2, 3:
		return g.pick("G0 ", "G1 ", "G90 G0 ", "G91 G1 ", "G90 G1 ", "") + g.axes() + g.pick("", "", " F200", " S100", " M8", " (note)")
	case 4, 5, 6:
		return g.arc()
	case 7:
		return g.cycle() + g.pick("", "\nX1 Y2", "\nG90 X5", "\nG91 Y3 L2", "\nG80")
	case 8:
		return "G10 L2 P" + g.pick("1", "2", "3", "9") + " " + g.axes()
	case 9:
		return g.pick("G54", "G55", "G92 "+g.axes(), "G92.1", "G92.2", "G92.3", "G92 X0", "G92 Z1.5")
	case 10:
		return g.pick("G28", "G30", "G28 "+g.axes(), "G30 X1", "G90 G53 G0 "+g.axes(), "G90 G53 G1 X3")
	case 11:
		return "#" + g.pick("1", "2", "3", "100") + "=" + g.value(2) + g.pick("", " #2=#1", " G0 X#1")
	case 12:
		return g.pick("G4 P0.25", "G61", "G61.1", "G64", "M0", "M3 S100", "M5", "G17", "G18", "G19", "T2", "M48", "M7 M3", "(nothing)", "", "G80", "G0", "G90 G1", "G0 G80", "G91.1", "G64 P0.05", "G91 G28 Z0", "G90 G0 X1 Y1 Z1")
	}
	return g.pick("G93 G1 X1 F2\nG94 F100", "G93\nX3 F4\nG94 F50", "g1 x 1.5 y -2", "N5 G0 Z3", "G1 F300 X2")
}

func (g grammar) program() string {
	var b strings.Builder
	b.WriteString(g.pick("", "", "", "G20\n"))
	if !g.chance(12) {
		b.WriteString("F100\n")
	}
	for i, n := 0, rapid.IntRange(1, 14).Draw(g.t, "lines"); i < n; i++ {
		b.WriteString(g.line() + "\n")
	}
	if !g.chance(20) {
		b.WriteString(g.pick("M2\n", "M30\n", "M2 (end)\n\n"))
	}
	return b.String()
}

// run gives the reader's view: where it ends, how far it went, and the first line with a fault.
type view struct {
	at, lo, hi    read.Point
	length        float64
	rapids, feeds int
	faults        []read.Fault
}

// sending is the machine about which everything is known, with G28's words as stated.
func sending(homes string) *machine.Profile {
	m := declared()
	m.HomeWords = homes
	return m
}

func look(t require.TestingT, program, homes string) view {
	at := machine.Axes{X: 1, Y: -2, Z: 3}
	v := view{at: read.Point{at.X, at.Y, at.Z}}
	v.lo, v.hi = v.at, v.at
	include := func(p read.Point) {
		for i := range p {
			v.lo[i], v.hi[i] = math.Min(v.lo[i], p[i]), math.Max(v.hi[i], p[i])
		}
	}
	faults, err := read.Program(context.Background(), strings.NewReader(program), read.Options{Machine: sending(homes)}, func(s read.Step) error {
		switch s.Kind {
		case read.Rapid, read.Line:
			v.length += math.Sqrt(math.Pow(s.To[0]-v.at[0], 2) + math.Pow(s.To[1]-v.at[1], 2) + math.Pow(s.To[2]-v.at[2], 2))
		case read.Arc:
			v.length += s.Curve.Length()
			box := s.Curve.Box()
			include(box[0])
			include(box[1])
		default:
			return nil
		}
		if s.Kind == read.Rapid {
			v.rapids++
		} else {
			v.feeds++
		}
		include(s.To)
		v.at = s.To
		return nil
	})
	require.NoError(t, err)
	v.faults = refusals(faults)
	return v
}

// TestRandomPrograms runs random programs of the whole language through the reader and the
// oracle: they refuse at the same line, or come to the same place by a way of the
// same length inside the same box. Boxes may differ by what sampling misses, and by
// the 0.002 mm (0.0002 inch) that an arc's radii may, for which the reader grows its box.
func TestRandomPrograms(t *testing.T) {
	fixSeed()
	refused, passed := 0, 0
	rapid.Check(t, func(t *rapid.T) {
		program := grammar{t}.program()
		o := newOracle()
		o.homes = rapid.SampledFrom([]string{"all", "named", ""}).Draw(t, "homes")
		line, err := o.run(program)
		v := look(t, program, o.homes)
		if err != nil {
			refused++
			require.NotEmpty(t, v.faults, "oracle: line %d: %v\n%s", line, err, program)
			require.EqualValues(t, line, v.faults[0].Line, "oracle: %v\nreader: %+v\n%s", err, v.faults[0], program)
			return
		}
		passed++
		require.Empty(t, v.faults, program)
		require.Equal(t, [2]int{o.rapids, o.feeds}, [2]int{v.rapids, v.feeds}, program)
		require.InDelta(t, o.length, v.length, 1e-6*(1+o.length), program)
		for i, a := range axisNames {
			require.InDelta(t, o.at[a], v.at[i], 1e-6, "end %s\n%s", a, program)
			require.InDelta(t, o.lo[a], v.lo[i], 0.006, "min %s\n%s", a, program)
			require.InDelta(t, o.hi[a], v.hi[i], 0.006, "max %s\n%s", a, program)
			require.LessOrEqual(t, v.lo[i], o.lo[a]+1e-9, "the reader's box holds the way: min %s\n%s", a, program)
			require.GreaterOrEqual(t, v.hi[i], o.hi[a]-1e-9, "the reader's box holds the way: max %s\n%s", a, program)
		}
	})
	assert.Greater(t, refused, passed/50, "programs refused")
	assert.Greater(t, passed, (passed+refused)/10, "programs that pass")
	t.Logf("%d programs passed, %d were refused", passed, refused)
}
