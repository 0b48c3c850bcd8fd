package read_test

import (
	"bytes"
	"context"
	"errors"
	"flag"
	"fmt"
	"io"
	"math"
	"math/rand"
	"os"
	"slices"
	"strings"
	"testing"
	"testing/iotest"
	"time"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"spotjig/cam/machine"
	"spotjig/post/rs274/read"
)

// fixSeed makes random tests draw the same thousand programs every time, unless asked otherwise.
func fixSeed() {
	if f := flag.Lookup("rapid.checks"); f != nil && f.Value.String() == "100" {
		_ = f.Value.Set("1000")
	}
	if f := flag.Lookup("rapid.seed"); f != nil && f.Value.String() == "0" {
		_ = f.Value.Set("274")
	}
}

// happening is an event with what it points to, by value. Numbers are kept to the bit, so that
// 0 and -0 differ; a long program has a hundred thousand of them, which are compared, not printed.
type happening struct {
	read.Event
	bits [5]uint64 // of To, S and Feed
	more string    // the arc, the comment or the note
}

// recorder keeps everything it is given.
type recorder struct {
	events []happening
	faults []string
	fork   *recorder
}

func (r *recorder) Take(b *read.Batch) error {
	for _, e := range b.Events {
		h := happening{Event: e}
		for i, f := range []float64{e.To[0], e.To[1], e.To[2], e.S, e.Feed} {
			h.bits[i] = math.Float64bits(f)
		}
		if i := e.Extra; i >= 0 {
			h.Extra = -1 // where it lies in its batch says nothing
			switch e.Kind {
			case read.Arc:
				h.more = fmt.Sprintf("%+v", b.Arcs[i])
			case read.Comment:
				h.more = b.Texts[i]
			case read.Noted:
				h.more = fmt.Sprintf("%+v", b.Notes[i])
			}
		}
		r.events = append(r.events, h)
	}
	for _, f := range b.Faults {
		r.faults = append(r.faults, fmt.Sprintf("%+v", f))
	}
	return nil
}

// sameEvents names the first event in which two readings of a program differ.
func sameEvents(t require.TestingT, want, got []happening, program string) {
	if slices.Equal(want, got) {
		return
	}
	require.Len(t, got, len(want), "events of %q", program)
	for i := range want {
		require.Equal(t, want[i], got[i], "event %d of %q", i, program)
	}
}

func (r *recorder) Fork() (read.Sink, error) {
	r.fork = &recorder{}
	return r.fork, nil
}

func record(t require.TestingT, program []byte, opt read.Options) (*recorder, read.Summary) {
	r := &recorder{}
	sum, err := read.Run(context.Background(), bytes.NewReader(program), opt, r)
	require.NoError(t, err)
	return r, sum
}

// declared is a machine about which everything is known.
func declared() *machine.Profile {
	return &machine.Profile{Process: machine.Laser, HasZ: true, HasSpindle: true, ParametersZero: true, Traits: machine.Traits{HomeWords: "all"},
		PowerOn: []string{"G21 G90 G17 G94 G54 G40 G49 G1"}, Offsets: map[int]machine.Axes{1: {X: 1, Y: -2, Z: 3}, 2: {X: 50}},
		Home28: &machine.Axes{}, Home30: &machine.Axes{X: 10, Y: 20, Z: 30}}
}

// plainish draws a line that the short cut takes, or nearly takes.
func plainish(t *rapid.T) string {
	number := rapid.SampledFrom([]string{"0", "5.1", "-5.1", "12.345", "100.0000", "-0", "-0.0", ".5", "5.", "-.25", "123456789.5", "12345678",
		"0.123456789", "1.2345678901234567", "+3", "1 2.5", "007.50", ".", "-", "", "1.2.3", "99999999", "000000001.5", "3.14159265"})
	word := rapid.Custom(func(t *rapid.T) string {
		l := rapid.SampledFrom(strings.Split("X Y Z S F G X Y x y z s f g N I J Q", " ")).Draw(t, "letter")
		n := number.Draw(t, "number")
		if l == "G" || l == "g" || l == "N" {
			n = rapid.SampledFrom([]string{"0", "1", "00", "01", "2", "1.", "0.5", "-1", "1.0", "90", "91", "53", "12345", "123456"}).Draw(t, "code")
		}
		return l + n
	})
	sep := rapid.SampledFrom([]string{" ", "", "  ", "\t", " \t"}).Draw(t, "sep")
	line := strings.Join(rapid.SliceOfN(word, 0, 5).Draw(t, "words"), sep)
	tail := rapid.SampledFrom([]string{"", "", "", " ", "(c)", " (a comment)", "(é)", "(", "(a(b))", ")", " (a) X1", ";x", "%", "/", "\x00"}).Draw(t, "tail")
	head := rapid.SampledFrom([]string{"", "", "", " ", "(c) ", "/", "N10 ", "n7", "N1.5 ", "\t"}).Draw(t, "head")
	return head + line + tail
}

// TestPlainAgrees runs programs of plain and nearly plain lines through the short cut and
// past it: events, columns, faults and counts are the same, whatever the line ends.
func TestPlainAgrees(t *testing.T) {
	fixSeed()
	rapid.Check(t, func(t *rapid.T) {
		var b strings.Builder
		b.WriteString("G21 G90 G17 G94 G40 G49 G54 F600\nM3\n")
		n := rapid.IntRange(1, 30).Draw(t, "lines")
		for i := 0; i < n; i++ {
			b.WriteString(plainish(t))
			b.WriteString(rapid.SampledFrom([]string{"\n", "\n", "\n", "\r\n", "\r", "\n\n", "\r\r\n"}).Draw(t, "end"))
		}
		b.WriteString(rapid.SampledFrom([]string{"M2\n", "M2", "", "M30\nX1\n"}).Draw(t, "close"))
		opt := read.Options{}
		if rapid.Bool().Draw(t, "machine") {
			opt.Machine = declared()
			opt.Machine.HasZ = rapid.Bool().Draw(t, "z")
			opt.Machine.LineMax = rapid.SampledFrom([]int{0, 20, 256}).Draw(t, "longest")
		}
		opt.Texts = rapid.Bool().Draw(t, "texts")
		fast, fs := record(t, []byte(b.String()), opt)
		slow, ss := record(t, []byte(b.String()), opt.Slow())
		require.Equal(t, slow.faults, fast.faults, "%q", b.String())
		sameEvents(t, slow.events, fast.events, b.String())
		require.Equal(t, ss, fs)
		require.Equal(t, slow.fork == nil, fast.fork == nil)
	})
}

// TestPiecesDoNotMatter reads one program in pieces of every size from 1 byte on: a file
// comes as the disk gives it.
func TestPiecesDoNotMatter(t *testing.T) {
	program := "G21 G90 G17 G94 G40 G49 G54 F600\r\nG0 X1 Y2\r\nG1 X3.25\r\n\r\n(end)\rX4\rY5\r\nM2\r\n"
	whole, sum := record(t, []byte(program), read.Options{})
	require.Len(t, whole.faults, 1, "the CR alone")
	for n := 1; n <= len(program); n++ {
		r := &recorder{}
		s, err := read.Run(context.Background(), &pieces{[]byte(program), n}, read.Options{}, r)
		require.NoError(t, err)
		require.Equal(t, sum, s, n)
		sameEvents(t, whole.events, r.events, fmt.Sprintf("%d bytes at once", n))
	}
}

// TestRunStops: an error of the file, of the sink or an interruption ends the run, and
// nothing is handed over afterwards.
func TestRunStops(t *testing.T) {
	broken, full := errors.New("broken"), errors.New("full")
	head := "G21 G90 G17 G94 G40 G49 G54 F600\n"
	line := "G1 X1\nG1 X2\n"
	r := io.MultiReader(strings.NewReader(head+strings.Repeat(line, 1000)), iotest.ErrReader(broken))
	_, err := read.Run(context.Background(), r, read.Options{}, &recorder{})
	require.ErrorIs(t, err, broken)

	s := &refuser{after: 50, err: full}
	_, err = read.Run(context.Background(), &endless{line, 1 << 24}, read.Options{}, s)
	require.ErrorIs(t, err, full)
	require.Equal(t, s.after, s.calls, "nothing is handed over after a refusal")

	ctx, cancel := context.WithCancel(context.Background())
	_, err = read.Run(ctx, &endless{line, 1 << 30}, read.Options{}, &refuser{after: 50, do: cancel})
	require.ErrorIs(t, err, context.Canceled)
}

// TestLongProgramsThatFork: a line with a block delete sign in the first piece of a program
// longer than the reader's buffer once hung: two runs go on from there, and the one that
// skips was never handed over. Faults, comments and line ends fall on the borders of
// pieces; what comes out is what the full interpreter alone makes of it.
func TestLongProgramsThatFork(t *testing.T) {
	head := "G21 G90 G17 G94 G54 G40 G49\nF600\n"
	for name, text := range map[string]string{
		"at the head":      head + "/G0 X1\n" + strings.Repeat("G1 X2.5\n", 40_000) + "M2\n",
		"behind a piece":   head + strings.Repeat("G1 X2.5\n", 40_000) + "/G0 X1\n" + strings.Repeat("G1 X3 (c)\r\n", 40_000) + "M2\n",
		"all through":      head + strings.Repeat("G1 X2.5 Y1\n/G1 X9\n", 30_000) + "M2\n",
		"faults all along": head + "/G0 X1\n" + strings.Repeat("G1 X2.5\nG1 X1..2\nG77 X1\n", 15_000) + "M2\n",
		"long lines":       head + "/G0 X1\n" + strings.Repeat("G1 X2.5 ("+strings.Repeat("c", 300)+")\n", 2_000) + "M2\n",
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			type outcome struct {
				fast, slow *recorder
				fs, ss     read.Summary
			}
			done := make(chan outcome, 1)
			go func() {
				var o outcome
				o.fast, o.fs = record(t, []byte(text), read.Options{})
				o.slow, o.ss = record(t, []byte(text), read.Options{}.Slow())
				done <- o
			}()
			select {
			case o := <-done:
				require.Equal(t, o.ss, o.fs)
				require.Equal(t, o.slow.faults, o.fast.faults)
				require.NotNil(t, o.fast.fork)
				sameEvents(t, o.slow.events, o.fast.events, name)
				sameEvents(t, o.slow.fork.events, o.fast.fork.events, name)
			case <-time.After(time.Minute):
				t.Fatal("it hangs")
			}
		})
	}
}

// TestRandomLongPrograms: programs of two and a half buffers of random lines, with block
// delete signs, comments, line ends of every kind and, about every border of the
// reader's pieces, faults. The short cut in pieces of random size makes of them what the full
// interpreter makes of the whole. Every run reads one of them; SPOTJIG_ALL=1 reads three.
func TestRandomLongPrograms(t *testing.T) {
	if testing.Short() {
		t.Skip("long programs")
	}
	plain := []string{"G1 X2.5", "G1 X3.25 Y1", "X1 Y2", "G0 X4 S0", "Y-1.5", "G1 X7 (c)", "(words)", "", "N10 G1 X2", "G2 X2 Y2 I1 J0", "G91 G1 X0.1", "G90", "M5", "S100", "G4 P0.1"}
	odd := []string{"/G1 X9", "/(c)", "G77 X1", "G1 X1..2", "X1 00", "G1 X1 (a", "; semi", "(stop!)", "/M0", "G1 X1,5", "$30=1", "@", "%", strings.Repeat("x", 300), "G1.00001 X1"}
	programs := int64(1)
	if os.Getenv("SPOTJIG_ALL") != "" {
		programs = 3
	}
	for seed := range programs {
		rnd := rand.New(rand.NewSource(seed))
		var b strings.Builder
		b.WriteString("G21 G90 G17 G94 G54 G40 G49\nF600\n")
		for b.Len() < 5*read.BufSize/2 {
			list, of := plain, 400
			if off := b.Len() % read.BufSize; off < 200 || off > read.BufSize-200 {
				of = 3
			}
			if rnd.Intn(of) == 0 {
				list = odd
			}
			b.WriteString(list[rnd.Intn(len(list))])
			end := "\n"
			if rnd.Intn(50) == 0 {
				end = []string{"\r\n", "\r", "\n\n"}[rnd.Intn(3)]
			}
			b.WriteString(end)
		}
		b.WriteString("M2\n")
		program := []byte(b.String())
		done := make(chan string, 1)
		go func() {
			var runs [2]*recorder
			var sums [2]read.Summary
			for i, opt := range []read.Options{{}, read.Options{}.Slow()} {
				var r io.Reader = bytes.NewReader(program)
				if i == 0 {
					r = &pieces{program, 1000 + rnd.Intn(read.BufSize)}
				}
				runs[i] = &recorder{}
				sums[i], _ = read.Run(context.Background(), r, opt, runs[i])
			}
			f, s := runs[0], runs[1]
			switch {
			case sums[0] != sums[1]:
				done <- "counts"
			case !slices.Equal(f.faults, s.faults):
				done <- "faults"
			case !slices.Equal(f.events, s.events):
				done <- "events"
			case (f.fork == nil) != (s.fork == nil) || f.fork != nil && !slices.Equal(f.fork.events, s.fork.events):
				done <- "events with the block delete switch on"
			default:
				done <- ""
			}
		}()
		select {
		case differ := <-done:
			require.Empty(t, differ, "seed %d", seed)
		case <-time.After(2 * time.Minute):
			t.Fatalf("seed %d hangs", seed)
		}
	}
}

// refuser takes batches up to a number and then does something.
type refuser struct {
	calls, after int
	err          error
	do           func()
}

func (r *refuser) Take(b *read.Batch) error {
	if r.calls++; r.calls < r.after {
		return nil
	}
	if r.do != nil {
		r.do()
	}
	return r.err
}

func (r *refuser) Fork() (read.Sink, error) { return r, nil }

// pieces gives n bytes at a time.
type pieces struct {
	b []byte
	n int
}

func (p *pieces) Read(to []byte) (int, error) {
	n := copy(to, p.b[:min(p.n, len(p.b))])
	p.b = p.b[n:]
	if n == 0 {
		return 0, io.EOF
	}
	return n, nil
}
