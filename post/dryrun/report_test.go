package dryrun

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"io"
	"runtime"
	"runtime/debug"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"spotjig/cam/machine"
	"spotjig/post/rs274/read"
)

// TestJSONShape: names and kinds are API; other people's scripts read them.
func TestJSONShape(t *testing.T) {
	r := judgeText(t, modesLine+"G0 X700 Y10\nM2\n", seedOptions(habit{name: "a.nc"}))
	var b bytes.Buffer
	require.NoError(t, WriteJSON(&b, []Report{r}))
	var doc map[string][]map[string]any
	require.NoError(t, json.Unmarshal(b.Bytes(), &doc))
	require.Len(t, doc["files"], 1)
	f := doc["files"][0]
	assert.Equal(t, "a.nc", f["file"])
	assert.Equal(t, "fail", f["verdict"])
	for _, k := range []string{"start", "end", "min", "max"} {
		xyz, ok := f[k].(map[string]any)
		require.True(t, ok, k)
		assert.Len(t, xyz, 3, k)
	}
	assert.Equal(t, map[string]any{"x": 700.0, "y": 10.0, "z": 0.0}, f["max"])
	for _, k := range []string{"feed_mm", "rapid_mm", "time_s", "beam_on_s", "lines"} {
		assert.IsType(t, 0.0, f[k], k)
	}
	p := f["problems"].([]any)[0].(map[string]any)
	assert.Equal(t, map[string]any{"file": "a.nc", "line": 2.0, "col": 4.0, "code": "D601", "severity": "error", "value": 700.0, "limit": 600.0, "unit": "mm", "count": 1.0,
		"text": "X reaches 700.000 mm, 100.000 mm past the upper limit of 600.000 mm; first on line 2, worst on line 2", "help": remedy("D601")}, p)
}

// TestNothingMoves: positions are null before any motion, and told on a fail.
func TestNothingMoves(t *testing.T) {
	r := judgeText(t, "O100\nM2\n", seedOptions(habit{}))
	assert.Equal(t, Fail, r.Verdict)
	assert.Nil(t, r.Start)
	assert.Nil(t, r.End)
	assert.Nil(t, r.Min)
	assert.Nil(t, r.Max)
	r = judgeText(t, modesLine+"O100\nG0 X5\nM2\n", seedOptions(habit{}))
	assert.Equal(t, Fail, r.Verdict)
	assert.Equal(t, &XYZ{X: 5}, r.End)
}

// TestFindingsAreCapped: as many are listed as listMax, the rest is counted in one more.
func TestFindingsAreCapped(t *testing.T) {
	for _, n := range []int{listMax, listMax + 1, 5000} {
		for _, line := range []string{"G5 X1", "G92 X0"} {
			r := judgeText(t, modesLine+strings.Repeat(line+"\n", n)+"M2\n", seedOptions(habit{}))
			sum := r.Errors() + r.Warnings()
			assert.EqualValues(t, n, sum, line)
			assert.Len(t, r.Problems, min(n, listMax+1), line)
			for _, p := range r.Problems {
				assert.NotEmpty(t, p.Text)
				assert.NotEmpty(t, p.Help)
			}
			if n > listMax {
				last := r.Problems[listMax]
				assert.EqualValues(t, n-listMax, last.Count)
				assert.EqualValues(t, listMax+2, last.Line, "where the rest begins")
			}
		}
	}
}

// TestTravelIsOneFindingALimit: first line, worst line, how often.
func TestTravelIsOneFindingALimit(t *testing.T) {
	r := judgeText(t, modesLine+"G0 X610\nG0 X650\nG0 X605\nG0 X1 Y-3\nM2\n", seedOptions(habit{}))
	require.Len(t, r.Problems, 2)
	p := r.Problems[0]
	assert.Equal(t, []any{int64(2), int64(3), 650.0, 600.0}, []any{p.Line, p.Count, *p.Value, *p.Limit})
	assert.Contains(t, p.Text, "first on line 2, worst on line 3")
	assert.Equal(t, -3.0, *r.Problems[1].Value)
}

// TestEveryCodeIsTold: every code of the reader and the judge is in the table, with a paragraph.
func TestEveryCodeIsTold(t *testing.T) {
	require.Greater(t, len(Codes()), 90)
	for _, c := range Codes() {
		text, ok := Explain(strings.ToLower(c))
		require.True(t, ok, c)
		assert.Greater(t, len(text), 100, c)
		assert.Contains(t, []string{Error, Warning}, severity(c))
		assert.NotEmpty(t, remedy(c))
	}
	_, ok := Explain("D999")
	assert.False(t, ok)
}

// TestLimitsOfTheMachine tries the judge's limits at their value and just past.
func TestLimitsOfTheMachine(t *testing.T) {
	for _, c := range []struct{ name, at, past, code string }{
		{"travel", "G0 X600", "G0 X600.0001", Travel},
		{"power", "G0 X1 Y1\nM4 S1000\nG1 X2 F600\nM5", "G0 X1 Y1\nM4 S1000.1\nG1 X2 F600\nM5", PowerScale},
		{"feed", "G1 X10 F12000", "G1 X10 F12000.1", FeedOver},
		{"pierce", "G0 X1\nM3 S5\nG4 P0.5\nG1 X2 F600\nM5", "G0 X1\nM3 S5\nG4 P0.501\nG1 X2 F600\nM5", DwellBeam},
		{"time", "G4 P59\n" + strings.Repeat("G4 P59\n", 60), "G4 P59\n" + strings.Repeat("G4 P59\n", 61), TooLong},
		{"repeats", "M4 S5\nF600\nG1 X1 Y1\nX2\nX1\nX2\nX1\nM5", "M4 S5\nF600\nG1 X1 Y1\nX2\nX1\nX2\nX1\nX2\nM5", BurntOften},
		{"sheet", "M4 S5\nG1 X600 F600\nM5\nG0 Z-5", "G0 Z-5.0001", ThroughSheet},
		{"edge of the clamp", "G0 X550 Y360\nG0 X570", "G0 X550 Y360.0001\nG0 X570", KeepOut},
		{"long dwell", "G4 P59.9", "G4 P60", DwellLong},
	} {
		t.Run(c.name, func(t *testing.T) {
			at := judgeText(t, modesLine+c.at+"\nM2\n", seedOptions(habit{}))
			assert.Empty(t, at.Problems)
			past := judgeText(t, modesLine+c.past+"\nM2\n", seedOptions(habit{}))
			assert.Contains(t, codesOf(past), c.code)
		})
	}
}

// TestRepeatWindow: a path burnt again is found within the last 65,536 cutting moves, and not beyond.
func TestRepeatWindow(t *testing.T) {
	run := func(between int) Report {
		var b strings.Builder
		b.WriteString(modesLine + "M4 S5\nF6000\nG1 X10 Y10\nX11\n")
		for i := 0; i < between; i++ {
			fmt.Fprintf(&b, "G1 X%.4f Y%.4f\n", 20+float64(i%300), 20+float64(i)/300)
		}
		b.WriteString("X10 Y10\nX11\nM5\nM2\n")
		opt := seedOptions(habit{})
		opt.Machine.RepeatMax, opt.Machine.KeepOut = 1, nil
		return judgeText(t, b.String(), opt)
	}
	assert.Contains(t, codesOf(run(window-3)), BurntOften)
	assert.NotContains(t, codesOf(run(window)), BurntOften)
}

// TestBothWaysIsOnePath: a path there and back is burnt twice, an arc and its chord are two paths.
func TestBothWaysIsOnePath(t *testing.T) {
	opt := seedOptions(habit{})
	opt.Machine.RepeatMax = 1
	there := judgeText(t, modesLine+"G0 X10 Y10\nM4 S5\nG1 X20 F600\nX10\nM5\nM2\n", opt)
	assert.Contains(t, codesOf(there), BurntOften)
	chord := judgeText(t, modesLine+"G0 X10 Y10\nM4 S5\nG1 X20 F600\nG3 X10 Y10 I-5\nM5\nM2\n", opt)
	assert.Empty(t, chord.Problems)
	steps := judgeText(t, "G21 G91 G17 G94 G40 G49 G54\nG0 X10 Y10\nM4 S5\nF600\nG1 X0.1\nX0.1\nX0.1\nX-0.1\nM5\nM2\n", opt)
	assert.Contains(t, codesOf(steps), BurntOften, "rounding of steps does not hide a repeat")
}

// TestNoMachine: language and extents only; work zero is machine zero.
func TestNoMachine(t *testing.T) {
	r := judgeText(t, modesLine+"M3 S5000\nG0 X5000 Y1\nG1 X-5 F99999\nM5\nM2\n", Options{})
	assert.Equal(t, Pass, r.Verdict, "%+v", r.Problems)
	assert.Equal(t, &XYZ{X: -5}, r.Min)
	assert.Zero(t, r.TimeS)
}

// TestDialect: what the profile declares is let pass, and nothing else.
func TestDialect(t *testing.T) {
	opt := seedOptions(habit{})
	text := modesLine + "M106 ; fan\nG0 X1 Y1\nG4 P500\nM2\n"
	r := judgeText(t, text, opt)
	assert.Equal(t, Fail, r.Verdict)
	opt.Machine.SemicolonComments, opt.Machine.DwellMillis, opt.Machine.ExtraWords = true, true, []string{"m106"}
	r = judgeText(t, text, opt)
	assert.Equal(t, Pass, r.Verdict, "%+v", r.Problems)
	assert.Less(t, r.TimeS, 1.0)
}

// TestMemory: what a run holds does not grow with the program, and stays under 32 MiB.
func TestMemory(t *testing.T) {
	row := strings.Repeat("G1 X10.5 S100\nX12.25 Y10 S900\nG92 X12.25\nG5\n", 1000)
	defer debug.SetGCPercent(debug.SetGCPercent(100)) // as a program has it by itself
	var before, after runtime.MemStats
	runtime.GC()
	runtime.ReadMemStats(&before)
	peak := uint64(0)
	opt := seedOptions(habit{})
	opt.Progress = func(int64) {
		runtime.ReadMemStats(&after)
		peak = max(peak, after.HeapAlloc)
	}
	_, err := Run(context.Background(), &loop{head: modesLine + "M4\nF600\n", body: row, left: 24 << 20}, opt)
	require.NoError(t, err)
	assert.Less(t, int64(peak)-int64(before.HeapAlloc), int64(32<<20))
}

// loop gives a head once and a body again and again.
type loop struct {
	head, body string
	left       int
}

func (l *loop) Read(b []byte) (int, error) {
	if l.head == "" {
		if l.left <= 0 {
			return 0, io.EOF
		}
		l.head = l.body
	}
	n := copy(b, l.head)
	l.head = l.head[n:]
	l.left -= n
	return n, nil
}

// FuzzRun: any bytes on a laser and on a knife; no panic, a verdict, and the same one twice.
func FuzzRun(f *testing.F) {
	for _, h := range cleanPrograms() {
		f.Add([]byte(h.text), h.knife)
	}
	f.Fuzz(func(t *testing.T, b []byte, knife bool) {
		opt := seedOptions(habit{knife: knife})
		one := judgeText(t, string(b), opt)
		require.Contains(t, []string{Pass, Warn, Fail}, one.Verdict)
		require.Equal(t, judgeText(t, string(b), opt), one)
		require.NoError(t, WriteJSON(&bytes.Buffer{}, []Report{one}))
	})
}

// TestArcZone: an arc that only bulges into a zone is found, one that passes round it is not.
func TestArcZone(t *testing.T) {
	z := machine.Zone{Name: "z", Min: machine.Axes{X: 10, Y: -1}, Max: machine.Axes{X: 12, Y: 1}}
	lo, hi := corners(z)
	half := func(r float64) *read.Curve {
		return &read.Curve{From: read.Point{0, -r, 0}, To: read.Point{0, r, 0}, Radius: r, RadiusTo: r, Sweep: 3.141592653589793}
	}
	assert.False(t, arcCrosses(half(9.99), lo, hi))
	assert.True(t, arcCrosses(half(10.01), lo, hi))
	assert.True(t, arcCrosses(half(12.0), lo, hi))
	assert.False(t, arcCrosses(half(12.05), lo, hi), "corner at 12.0416")
}
