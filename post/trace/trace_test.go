package trace_test

import (
	"bytes"
	"context"
	"encoding/xml"
	"errors"
	"fmt"
	"io"
	"math"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"spotjig/cam/machine"
	"spotjig/layout/geom"
	"spotjig/post/trace"
)

func drawn(t testing.TB, program string, opt trace.Options, share float64) string {
	t.Helper()
	w, err := trace.Read(context.Background(), strings.NewReader(program), opt)
	require.NoError(t, err)
	var b bytes.Buffer
	require.NoError(t, w.Write(&b, share))
	return b.String()
}

func laser(t testing.TB) *machine.Profile {
	t.Helper()
	p, ok := machine.Lookup("laser-600x400")
	require.True(t, ok)
	return &p
}

// of returns the path data of a class.
func of(svg, class string) string {
	m := regexp.MustCompile(`<path class="` + class + `" d="([^"]*)"`).FindStringSubmatch(svg)
	if m == nil {
		return ""
	}
	return m[1]
}

const head = "G21 G90 G17 G94 G54 G40 G49\n"

// A beam that is off is travel, at feed too; on, it is work. A blade works at feed.
func TestStrokes(t *testing.T) {
	program := head + "G0 X10 Y20\nM4 S0\nG1 X30 F600 S500\nG1 X40 S0\nM5\nM2\n"
	svg := drawn(t, program, trace.Options{Machine: laser(t)}, trace.Whole)
	assert.Equal(t, "M10 20L30 20", of(svg, "work"))
	assert.Equal(t, "M0 0L10 20M30 20L40 20", of(svg, "travel"))
	assert.Contains(t, svg, `<rect class="bed" x="0" y="0" width="600" height="400"/>`)
	svg = drawn(t, program, trace.Options{}, trace.Whole)
	assert.Equal(t, "M10 20L30 20L40 20", of(svg, "work"))
}

// An arc's points lie on its circle (RS274/NGC report, section 3.5.3), its ends are exact.
func TestArc(t *testing.T) {
	svg := drawn(t, head+"G0 X10 Y0\nG3 X-10 Y0 I-10 J0 F600\nM2\n", trace.Options{}, trace.Whole)
	d := of(svg, "work")
	pts := strings.Split(strings.TrimPrefix(d, "M"), "L")
	require.Greater(t, len(pts), 20)
	assert.Equal(t, "10 0", pts[0])
	assert.Equal(t, "-10 0", pts[len(pts)-1])
	for _, p := range pts {
		xs, ys, _ := strings.Cut(p, " ")
		x, _ := strconv.ParseFloat(xs, 64)
		y, _ := strconv.ParseFloat(ys, 64)
		assert.InDelta(t, 10, math.Hypot(x, y), 0.01)
		assert.GreaterOrEqual(t, y, 0.0)
	}
}

// A finding stands where its line's move ends; one on a line that moves nothing where the
// head is; one of the whole program nowhere.
func TestFindingsAtTheirPlace(t *testing.T) {
	program := head + "G1 X10 Y0 F600\nM8\nG1 X10 Y30\nM2\n"
	svg := drawn(t, program, trace.Options{Findings: []trace.Finding{{Line: 4, Error: true}, {Line: 0}, {Line: 3}, {Line: 2}}}, trace.Whole)
	assert.Contains(t, svg, `<g class="found error"><circle cx="10" cy="-30"`)
	assert.Contains(t, svg, `<g class="found warning"><circle cx="10" cy="0"`)
	assert.Contains(t, svg, ">3, 4</text>")
	assert.NotContains(t, svg, ">2</text>")
}

// As far as a share of the length, the rest faint and the head between them.
func TestPlayed(t *testing.T) {
	svg := drawn(t, head+"G1 X10 Y0 F600\nG1 X10 Y30\nM2\n", trace.Options{}, 0.5)
	assert.Equal(t, "M0 0L10 0L10 10", of(svg, "work"))
	assert.Equal(t, "M10 10L10 30", of(svg, "work come"))
	assert.Contains(t, svg, `<circle class="head" cx="10" cy="10"`)
	svg = drawn(t, head+"G1 X10 Y0 F600\nM2\n", trace.Options{}, math.NaN())
	assert.Contains(t, svg, `<circle class="head" cx="0" cy="0"`)
}

// The sheet lies where the work zero is.
func TestSheet(t *testing.T) {
	p := *laser(t)
	p.Offsets = map[int]machine.Axes{1: {X: 20, Y: 30}}
	svg := drawn(t, head+"G1 X10 Y0 F600\nM2\n", trace.Options{Machine: &p, Stock: geom.Box{Max: geom.Point{X: 100, Y: 50}}}, trace.Whole)
	assert.Contains(t, svg, `<rect class="sheet" x="20" y="30" width="100" height="50"/>`)
}

// However long a program is, its picture stays small, keeps its extent and is well formed.
func TestLongProgram(t *testing.T) {
	var b strings.Builder
	b.WriteString(head + "M4 S500\nF600\n")
	for i := range 150_000 {
		fmt.Fprintf(&b, "G%d X%.2f Y%.2f\n", i%7&1, 300+200*math.Sin(float64(i)/900), 200+150*math.Cos(float64(i)/1100))
	}
	b.WriteString("M5\nM2\n")
	svg := drawn(t, b.String(), trace.Options{Machine: laser(t)}, trace.Whole)
	assert.Less(t, len(svg), 1_500_000)
	assert.Contains(t, svg, "499.9")
	d := xml.NewDecoder(strings.NewReader(svg))
	for {
		if _, err := d.Token(); errors.Is(err, io.EOF) {
			break
		} else {
			require.NoError(t, err)
		}
	}
}

// Nothing of the program's text gets into the picture.
func TestHostileProgram(t *testing.T) {
	for _, program := range []string{"", "%\n%\n", "(</svg><script>alert(1)</script>)\nM2\n", "G1 X1e400\nM2\n", "G1 X999999999999 F1\nM2\n", "/G1 X5 F10\nG1 X7\nM2\n"} {
		svg := drawn(t, program, trace.Options{Machine: laser(t)}, trace.Whole)
		assert.NotContains(t, svg, "script")
		assert.NotContains(t, svg, "NaN")
		assert.NotContains(t, svg, "Inf")
	}
}

func BenchmarkRead(b *testing.B) {
	program := head + "M4 S500\n" + strings.Repeat("G1 X10.5 Y20.25 F600\nG1 X30 Y40.125\n", 20_000) + "M2\n"
	b.SetBytes(int64(len(program)))
	for b.Loop() {
		_, err := trace.Read(context.Background(), strings.NewReader(program), trace.Options{})
		require.NoError(b, err)
	}
}
