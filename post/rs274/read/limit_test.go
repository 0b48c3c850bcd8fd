package read_test

import (
	"bytes"
	"context"
	"fmt"
	"io"
	"runtime"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"spotjig/cam/machine"
	"spotjig/post/rs274/read"
)

// faultsOf runs a program on a machine about which everything is known.
func faultsOf(t testing.TB, program string, change func(*machine.Profile)) []read.Fault {
	m := declared()
	if change != nil {
		change(m)
	}
	f, err := read.Program(context.Background(), strings.NewReader(program), read.Options{Machine: m}, nil)
	require.NoError(t, err)
	return f
}

// TestLimits tries every limit at its value and one past it.
func TestLimits(t *testing.T) {
	deep := func(n int) string {
		return "G0 X" + strings.Repeat("[", n-1) + "1" + strings.Repeat("]", n-1) + "\nM2\n"
	}
	cycle := func(holes int) string { return fmt.Sprintf("G98 G91 F1\nG81 X0 Z-1 R1 L%d\nM2\n", holes) }
	for _, c := range []struct {
		name     string
		at, past string
		code     read.Code
		change   func(*machine.Profile)
	}{
		{"line length", "(" + strings.Repeat("x", read.LineMax-2) + ")\nM2\n", "(" + strings.Repeat("x", read.LineMax-1) + ")\nM2\n", read.LineTooLong, nil},
		{"plain line length", "G0 X1" + strings.Repeat(" ", read.LineMax-5) + "\nM2\n", "G0 X1" + strings.Repeat(" ", read.LineMax-4) + "\nM2\n", read.LineTooLong, nil},
		{"line length of the machine", "G0 X1 (12345678901)\nM2\n", "G0 X1 (123456789012)\nM2\n", read.LineTooLong, func(m *machine.Profile) { m.LineMax = 19 }},
		{"digits", "G0 X0." + strings.Repeat("1", read.DigitsMax-1) + "\nM2\n", "G0 X0." + strings.Repeat("1", read.DigitsMax) + "\nM2\n", read.NumberTooLarge, nil},
		{"size of a number", "G0 X1000000000\nM2\n", "G0 X1000000001\nM2\n", read.NumberTooLarge, nil},
		{"depth of brackets", deep(read.DepthMax), deep(read.DepthMax + 1), read.TooDeep, nil},
		{"depth of parameters", "#1=1\nG0 X" + strings.Repeat("#", read.DepthMax-1) + "1\nM2\n", "#1=1\nG0 X" + strings.Repeat("#", read.DepthMax) + "1\nM2\n", read.TooDeep, nil},
		{"parameters, high", fmt.Sprintf("#%d=1\nM2\n", read.ParamMax), fmt.Sprintf("#%d=1\nM2\n", read.ParamMax+1), read.ParamRange, nil},
		{"parameters, low", "#1=1\nM2\n", "#0=1\nM2\n", read.ParamRange, nil},
		{"line number", "N99999 G0 X1\nM2\n", "N100000 G0 X1\nM2\n", read.BadLineNumber, nil},
		{"M words", "M3 M7 M48 M0\nM2\n", "M3 M7 M48 M0 M6\nM2\n", read.TooManyM, nil},
		{"moves of a cycle", cycle(read.CycleMax/3 - 1), cycle(read.CycleMax), read.TooManyMoves, nil},
		{"radii of an arc, mm", "F1\nG2 X10.002 Y0 I5 J0\nM2\n", "F1\nG2 X10.0021 Y0 I5 J0\nM2\n", read.OffCircle, func(m *machine.Profile) { m.Offsets[1] = machine.Axes{} }},
		{"radii of an arc, inch", "G20\nF1\nG2 X1.0002 Y0 I0.5 J0\nM2\n", "G20\nF1\nG2 X1.00021 Y0 I0.5 J0\nM2\n", read.OffCircle, func(m *machine.Profile) { m.Offsets[1] = machine.Axes{} }},
		{"nearly whole numbers", "G1.0 X1 F1\nM2\n", "G1.00001 X1 F1\nM2\n", read.NearCode, nil},
	} {
		t.Run(c.name, func(t *testing.T) {
			assert.Empty(t, faultsOf(t, c.at, c.change), "at the limit")
			f := faultsOf(t, c.past, c.change)
			require.NotEmpty(t, f, "past the limit")
			assert.Equal(t, c.code, f[0].Code, "%+v", f)
			assert.NotEmpty(t, f[0].Help)
		})
	}
}

// TestLongestLine: a line longer than is held is passed over with one fault, and the
// line after it has its right number.
func TestLongestLine(t *testing.T) {
	for _, n := range []int{read.LineHard, read.LineHard + 1, read.BufSize, 3 * read.BufSize} {
		f := faultsOf(t, strings.Repeat("x", n)+"\nG5 X1\nM2\n", nil)
		var lines []int64
		for _, one := range f {
			lines = append(lines, one.Line)
		}
		assert.EqualValues(t, 1, lines[0], n)
		assert.EqualValues(t, 2, lines[len(lines)-1], n)
	}
}

// TestFaultsAreWordedUpToALimit: past it they are counted, not worded.
func TestFaultsAreWordedUpToALimit(t *testing.T) {
	f := faultsOf(t, strings.Repeat("G5 X1\n", read.FaultTexts+1)+"M2\n", nil)
	require.Len(t, f, read.FaultTexts+1)
	assert.NotEmpty(t, f[read.FaultTexts-1].Text)
	assert.Empty(t, f[read.FaultTexts].Text)
}

// endless gives the same line for as long as it is asked to, and then the end.
type endless struct {
	line string
	left int
}

func (e *endless) Read(b []byte) (int, error) {
	if e.left <= 0 {
		return copy(b, "M2\n"), io.EOF
	}
	n := 0
	for n+len(e.line) <= len(b) {
		n += copy(b[n:], e.line)
	}
	e.left -= n
	return n, nil
}

// TestMemoryIsFlat reads many lines, faults, comments, and bytes without a line end: what
// is held afterwards does not grow with the file.
func TestMemoryIsFlat(t *testing.T) {
	if testing.Short() {
		t.Skip("reads 28 MB")
	}
	for _, line := range []string{"G1 X1 S5\n", "G5 X1\n", "(c)\n", "/X1\n", "x", "\r", "#1=[#1+1] X#1\n"} {
		runtime.GC()
		var before, after runtime.MemStats
		runtime.ReadMemStats(&before)
		_, err := read.Run(context.Background(), &endless{"G21 G90 G17 G94 G40 G49 G54 F1\n" + line, 1 << 10}, read.Options{Machine: declared()}, keeper{})
		require.NoError(t, err)
		_, err = read.Run(context.Background(), &endless{line, 4 << 20}, read.Options{Machine: declared()}, keeper{})
		require.NoError(t, err)
		runtime.GC()
		runtime.ReadMemStats(&after)
		assert.Less(t, int64(after.HeapAlloc)-int64(before.HeapAlloc), int64(2<<20), "%q", line)
	}
}

// keeper takes batches and keeps nothing.
type keeper struct{}

func (keeper) Take(b *read.Batch) error { return nil }
func (keeper) Fork() (read.Sink, error) { return keeper{}, nil }

// TestInterrupted stops soon after ctx is done.
func TestInterrupted(t *testing.T) {
	ctx, stop := context.WithCancel(context.Background())
	stop()
	_, err := read.Run(ctx, &endless{"G1 X1 S5\n", 1 << 30}, read.Options{}, keeper{})
	assert.ErrorIs(t, err, context.Canceled)
}

// FuzzRead: any bytes, no panic, both ways through alike, and the number of events is bounded by the number of bytes.
func FuzzRead(f *testing.F) {
	for _, s := range []string{"%\nG0 X1\n%\n", "G21G90G17G94G40G49G54F1\nG1X1Y2\nG2X3I1\nM2", "#1=[2**3]X#1", "(é)\r\n\x00", "/G0X1\nM2\n", "G98G81X1Z-1R1F1L9\nG83Q.001X1", "N1G0X-.5\r\r\nM30%"} {
		f.Add([]byte(s))
	}
	f.Fuzz(func(t *testing.T, b []byte) {
		fast, fs := record(t, b, read.Options{Machine: declared(), Texts: true})
		slow, ss := record(t, b, read.Options{Machine: declared(), Texts: true}.Slow())
		require.Equal(t, slow.faults, fast.faults)
		sameEvents(t, slow.events, fast.events, string(b))
		require.Equal(t, ss, fs)
		require.LessOrEqual(t, fs.Lines, int64(len(b)+1))
		require.LessOrEqual(t, len(fast.events), (bytes.Count(b, []byte("\n"))+bytes.Count(b, []byte("\r"))+1)*(read.CycleMax+10)+10)
	})
}
