package dryrun

import (
	"bytes"
	"context"
	"fmt"
	"io"
	"math"
	"math/rand"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"spotjig/cam/machine"
)

// benchSize is how long a benchmark's program is, bytes.
const benchSize = 64 << 20

// rasterProgram is a picture burnt in rows: G1 rows with X, Y, S words (half of them
// modal), dark G0 row starts, a few arcs and comments, on a 600 x 400 mm laser.
func rasterProgram(size int) []byte {
	rnd := rand.New(rand.NewSource(7))
	var b bytes.Buffer
	b.WriteString("(raster benchmark)\nG21 G90 G17 G94 G40 G49 G54\nM5 S0\nF6000\nM4\n")
	y := 0.0
	for b.Len() < size {
		if y += 0.1; y > 390 {
			y = 0.1
		}
		x, rapid := 5.0, true
		fmt.Fprintf(&b, "G0 X5.000 Y%.3f S0\n", y)
		for i := 0; i < 2000; i++ {
			if x += [3]float64{0.1, 0.2, 0.15}[rnd.Intn(3)]; x > 580 {
				x, rapid = 5, true
				fmt.Fprintf(&b, "G0 X5.000 Y%.3f S0\n", y)
			}
			if s := rnd.Intn(1001); rapid || i%3 != 0 {
				fmt.Fprintf(&b, "G1 X%.3f S%d\n", x, s)
			} else {
				fmt.Fprintf(&b, "X%.3f Y%.3f S%d\n", x, y, s)
			}
			rapid = false
		}
		fmt.Fprintf(&b, "G2 X%.3f Y%.3f I2.5 J0 S300 (arc)\n", x+5, y)
	}
	b.WriteString("S0\nM5\nM2\n")
	return b.Bytes()
}

// arcProgram is nothing but arcs.
func arcProgram(size int) []byte {
	var b bytes.Buffer
	b.WriteString("G21 G90 G17 G94 G40 G49 G54\nM5 S0\nF3000\nG0 X300 Y50\nM4\nS300\n")
	for i := 0; b.Len() < size; i++ {
		r, y := 10+float64(i%500)/10, 50+float64(i/500%20000)/100
		fmt.Fprintf(&b, "G2 X%.4f Y%.4f I%.4f J0\nG3 X300.0000 Y%.4f I%.4f J0\n", 300+r, y, r/2, y, -r/2)
		if i%500 == 499 {
			fmt.Fprintf(&b, "G1 X300 Y%.4f\n", 50+float64((i+1)/500%20000)/100)
		}
	}
	b.WriteString("S0\nM5\nM2\n")
	return b.Bytes()
}

// commentProgram has long comments on every line.
func commentProgram(size int) []byte {
	var b bytes.Buffer
	b.WriteString("G21 G90 G17 G94 G40 G49 G54\nM5 S0\nF3000\nG0 X300 Y200\n")
	for i := 0; b.Len() < size; i++ {
		fmt.Fprintf(&b, "G1 X%.3f (%s)\n", 300+100*math.Sin(float64(i)), bytes.Repeat([]byte("what this move is for, at length, "), 4))
	}
	b.WriteString("M2\n")
	return b.Bytes()
}

// expressionProgram works every coordinate out.
func expressionProgram(size int) []byte {
	var b bytes.Buffer
	b.WriteString("G21 G90 G17 G94 G40 G49 G54\nM5 S0\nF3000\n#1=300 #2=200\n#3=50\n")
	for i := 0; b.Len() < size; i++ {
		fmt.Fprintf(&b, "#4=%d\nG1 X[#1+#3*COS[#4]] Y[#2+#3*SIN[#4]]\nG1 X[#1-[#3/2]**2/50+ABS[-%d]] Y[#2+#4 MOD 7]\n", i%360, i%9)
	}
	b.WriteString("M2\n")
	return b.Bytes()
}

// benchMachine has every limit switched on.
func benchMachine() *machine.Profile {
	return &machine.Profile{
		Name: "bench", Process: machine.Laser, Max: machine.Axes{X: 600, Y: 400}, Offsets: map[int]machine.Axes{1: {}},
		PowerScale: 1000, PierceMax: 0.5, BeamWord: "M4",
		FeedMax: 200, RapidMax: 300, AccelCut: 1500, AccelRap: 3000, Junction: 0.02,
		LineMax: 256, RepeatMax: 3, TimeMax: 1e9,
	}
}

func benchOptions() Options {
	return Options{Machine: benchMachine(), Stock: &Box3{Min: machine.Axes{Z: -5}, Max: machine.Axes{X: 600, Y: 400}}}
}

// benchFile lays a program down as a file and returns what opens it.
func benchFile(b *testing.B, program []byte) func() io.ReadCloser {
	name := filepath.Join(b.TempDir(), "program.nc")
	require.NoError(b, os.WriteFile(name, program, 0o600))
	b.SetBytes(int64(len(program)))
	b.ReportAllocs()
	return func() io.ReadCloser {
		f, err := os.Open(name)
		require.NoError(b, err)
		return f
	}
}

func benchRun(b *testing.B, program []byte, opt Options) {
	open := benchFile(b, program)
	for b.Loop() {
		f := open()
		r, err := Run(context.Background(), f, opt)
		require.NoError(b, err)
		require.NotEqual(b, Fail, r.Verdict, "%+v", r.Problems)
		_ = f.Close()
	}
}

// BenchmarkYardstick is the bare tokenizer that the others are measured against, on the
// same kind of file.
func BenchmarkYardstick(b *testing.B) {
	open := benchFile(b, rasterProgram(benchSize))
	for b.Loop() {
		f := open()
		n, _, _, _ := tokenize(f)
		require.Greater(b, n, int64(benchSize))
		_ = f.Close()
	}
}

func BenchmarkRasterBounds(b *testing.B) {
	opt := benchOptions()
	opt.quick = true
	benchRun(b, rasterProgram(benchSize), opt)
}

func BenchmarkRaster(b *testing.B)      { benchRun(b, rasterProgram(benchSize), benchOptions()) }
func BenchmarkArcs(b *testing.B)        { benchRun(b, arcProgram(benchSize), benchOptions()) }
func BenchmarkComments(b *testing.B)    { benchRun(b, commentProgram(benchSize), benchOptions()) }
func BenchmarkExpressions(b *testing.B) { benchRun(b, expressionProgram(benchSize), benchOptions()) }

// Programs made to take long: every line outside the bed, arcs of 10 km through zones,
// cycles of 9,999 holes over them.
func BenchmarkOutside(b *testing.B) {
	var line bytes.Buffer
	for i := range 1000 {
		fmt.Fprintf(&line, "G1 X%d.5 Y-%d\n", 1000+i%7, 100+i%13)
	}
	hostile(b, line.String(), 64<<20, nil)
}

func BenchmarkLongArcs(b *testing.B) {
	hostile(b, "G2 X200 Y0 R10000000\nG3 X0 Y0 R10000000\n", 16<<20, zoned)
}

func BenchmarkManyHoles(b *testing.B) {
	hostile(b, "G91 G98 G81 X0.01 Y0.01 Z-1 R-1 L9999\nG80 G90 G0 X1 Y1 Z5\n", 1<<20, func(m *machine.Profile) {
		zoned(m)
		m.HasZ, m.Min.Z, m.Max.Z = true, -10, 50
	})
}

func zoned(m *machine.Profile) {
	m.KeepOut = []machine.Zone{{Name: "a", Min: machine.Axes{X: 50}, Max: machine.Axes{X: 60, Y: 30}}, {Name: "b", Min: machine.Axes{X: 90, Y: -20}, Max: machine.Axes{X: 110, Y: 5}}}
}

// hostile runs lines repeated up to a size; the program fails and is judged to its end.
func hostile(b *testing.B, lines string, size int, change func(*machine.Profile)) {
	program := []byte("G21 G90 G17 G94 G40 G49 G54 G98\nM5 S0\nF600\nG0 X0 Y0\n" + strings.Repeat(lines, size/len(lines)) + "M2\n")
	opt := benchOptions()
	opt.Stock = nil
	if change != nil {
		change(opt.Machine)
	}
	open := benchFile(b, program)
	for b.Loop() {
		f := open()
		r, err := Run(context.Background(), f, opt)
		require.NoError(b, err)
		require.Equal(b, Fail, r.Verdict)
		_ = f.Close()
	}
}
