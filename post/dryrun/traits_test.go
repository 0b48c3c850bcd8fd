package dryrun

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"

	"spotjig/cam/machine"
)

// Each trait of a controller, both ways: what it decides about one program.
func TestTraits(t *testing.T) {
	rows := modesLine + "M5 S0\nG0 X10 Y10\nM4 S300\nF600\nG1 X60\nG0 X10 Y20\nG1 X60\nS0\nM5\nM2\n"
	byS := modesLine + "M5 S0\nG0 X10 Y10\nM4 S300\nF600\nG1 X60\nS0\nG0 X10 Y20\nM5\nM2\n"
	home := modesLine + "M5 S0\nF600\nG0 X50 Y50\nG91 G28 Y0\nG90\nG1 X60\nM2\n"
	bare := "M5 S0\nG0 X10 Y10\nG1 X20 F600\nM2\n"
	words := strings.Fields("G21 G90 G17 G94 G40 G49 G54")
	tool := modesLine + "M5 S0\nT2 M6\nG0 X10\nM2\n"
	for _, c := range []struct {
		name, text string
		set        func(m *machine.Profile)
		want       []string
	}{
		{"rapids not dark", rows, nil, []string{RapidBeam}},
		{"rapids dark", rows, func(m *machine.Profile) { m.DarkRapids = true }, nil},
		{"S taken anywhere", byS, nil, nil},
		{"S taken with M3 and M4", byS, func(m *machine.Profile) { m.PowerWord = "M" }, []string{RapidBeam}},
		{"home words not known", home, nil, []string{WentHome, "D214", "D214"}},
		{"all axes home", home, func(m *machine.Profile) { m.HomeWords = "all" }, []string{WentHome}},
		{"named axes home", home, func(m *machine.Profile) { m.HomeWords = "named" }, []string{WentHome}},
		{"modes at power-on", bare, func(m *machine.Profile) { m.PowerOn = append(m.PowerOn, words...) }, nil},
		{"modes at power-on, kept by the last program", bare, func(m *machine.Profile) { m.PowerOn, m.AfterEnd = append(m.PowerOn, words...), "kept" },
			[]string{"D301", "D302", "D303", "D304", "D306", "D307", "D305"}},
		{"bytes that may act", modesLine + "M5 S0\nG0 X1 (a!b?)\nM2\n", nil, []string{"D136"}},
		{"no bytes that act", modesLine + "M5 S0\nG0 X1 (a!b?)\nM2\n", func(m *machine.Profile) { m.ActsOn = []string{} }, nil},
		{"line ends not known", strings.ReplaceAll(byS, "\n", "\r"), nil, []string{"D138"}},
		{"any line end", strings.ReplaceAll(byS, "\n", "\r"), func(m *machine.Profile) { m.LineEnds = "any" }, nil},
		{"arcs of the report", modesLine + "M5 S0\nF600\nG0 X10 Y10\nG2 X20.006 I5\nM2\n", nil, []string{"D401"}},
		{"arcs of the controller", modesLine + "M5 S0\nF600\nG0 X10 Y10\nG2 X20.006 I5\nM2\n", func(m *machine.Profile) { m.ArcTolerance = 0.01 }, nil},
		{"absolute centres", modesLine + "M5 S0\nF600\nG90.1\nG0 X10 Y10\nG2 X20 I15 J10\nG91.1\nG2 X30 I5\nM2\n", func(m *machine.Profile) { m.NoArcCenterAbs = false }, nil},
		{"the tool that is in", tool, func(m *machine.Profile) { m.HasSpindle, m.ToolIn = true, 2 }, nil},
		{"another tool", tool, func(m *machine.Profile) { m.HasSpindle, m.ToolIn = true, 1 }, []string{"D206"}},
		{"no tool known", tool, func(m *machine.Profile) { m.HasSpindle = true }, []string{"D213"}},
	} {
		opt := seedOptions(habit{})
		opt.Machine.Home28 = &machine.Axes{X: 1, Y: 399, Z: 20}
		if c.set != nil {
			c.set(opt.Machine)
		}
		assert.ElementsMatch(t, c.want, codesOf(judgeText(t, c.text, opt)), c.name)
	}
}

// The beam's time is that of cuts where rapids are dark: 2 x 50 mm at 10 mm/s.
func TestDarkRapidsTakeNoBeamTime(t *testing.T) {
	text := modesLine + "M5 S0\nG0 X10 Y10\nM4 S300\nF600\nG1 X60\nG0 X10 Y20\nG1 X60\nS0\nM5\nM2\n"
	opt := seedOptions(habit{})
	opt.Machine.DarkRapids = true
	assert.InDelta(t, 10, judgeText(t, text, opt).BeamOnS, 0.1)
	opt.Machine.DarkRapids = false
	assert.Greater(t, judgeText(t, text, opt).BeamOnS, 10.1)
}

// A stay is counted in time, whatever it is made of: just under the limit and just over it.
func TestStaysAtTheLimit(t *testing.T) {
	for _, c := range []struct {
		name, under, over string
	}{
		// still_max 1 s, two kerfs 0.4 mm: 0.4 mm/s is 24 mm/min.
		{"a crawl", "G1 X30 F24.1", "G1 X30 F23.9"},
		{"an arc's crawl", "G2 X30 Y10 I5 F24.1", "G2 X30 Y10 I5 F23.9"},
		{"a dwell and a step", "G4 P0.4\nG1 X20.3 F33\nG1 X30 F600", "G4 P0.4\nG1 X20.3 F29\nG1 X30 F600"},
		{"lines of power", strings.Repeat("S301\nS300\n", 470), strings.Repeat("S301\nS300\n", 510)},
	} {
		for text, want := range map[string]bool{c.under: false, c.over: true} {
			r := judgeText(t, modesLine+"M5 S0\nF600\nG0 X10 Y10\nM4\nS300\nG1 X20\n"+text+"\nG1 X40 F600\nS0\nM5\nM2\n", seedOptions(habit{}))
			assert.Equal(t, want, found(r, StillLong) > 0, "%s: %v", c.name, r.Problems)
		}
	}
}

// A sheet cut at 1 mm/s, kerf 0.42: the beam may take 14 kerfs at that feed, 5.88 s, over two
// kerfs, 0.84 mm, which is 0.143 mm/s or 8.57 mm/min, and no more. A limit that is stated holds.
func TestStaysOfASlowCut(t *testing.T) {
	for _, c := range []struct {
		feed string
		held bool
		over bool
	}{{"60", false, false}, {"8.7", false, false}, {"8.4", false, true}, {"60", true, false}, {"50.7", true, false}, {"50.1", true, true}} {
		opt := seedOptions(habit{})
		opt.Machine.StillMax, opt.Machine.StillStated = 1, c.held
		opt.Material = &machine.Material{Kerf: 0.42, Cut: machine.Setting{Feed: 1}}
		r := judgeText(t, modesLine+"M5 S0\nF600\nG0 X10 Y10\nM4\nS300\nG1 X20\nG1 X30 F"+c.feed+"\nG1 X40 F600\nS0\nM5\nM2\n", opt)
		assert.Equal(t, c.over, found(r, StillLong) > 0, "%+v: %v", c, r.Problems)
	}
}
