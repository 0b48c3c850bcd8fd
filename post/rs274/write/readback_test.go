package write_test

import (
	"context"
	"math"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"spotjig/cam/machine"
	"spotjig/cam/path"
	"spotjig/layout/geom"
	"spotjig/post/rs274/read"
	"spotjig/post/rs274/write"
)

// inches is the machine, its programs in inches or not.
func inches(m machine.Profile, inch bool) machine.Profile {
	m.Writing.Inch = inch
	return m
}

// gather is a sink that keeps everything.
type gather struct {
	events []read.Event
	arcs   []read.Curve
	faults []read.Fault
}

func (g *gather) Take(b *read.Batch) error {
	for _, e := range b.Events {
		if e.Kind == read.Arc {
			g.arcs = append(g.arcs, b.Arcs[e.Extra])
			e.Extra = int32(len(g.arcs) - 1)
		}
		g.events = append(g.events, e)
	}
	g.faults = append(g.faults, b.Faults...)
	return nil
}

func (g *gather) Fork() (read.Sink, error) { return g, nil }

func readBack(t require.TestingT, text string) *gather {
	g := &gather{}
	_, err := read.Run(context.Background(), strings.NewReader(text), read.Options{}, g)
	require.NoError(t, err)
	require.Empty(t, g.faults, text)
	return g
}

// The reader, which shares no code with the writer, gets the motion back: every
// end within half the last digit, arcs as arcs with their sense, no fault found.
func TestProgramsReadBack(t *testing.T) {
	for _, inch := range []bool{false, true} {
		rapid.Check(t, func(t *rapid.T) {
			n := rapid.IntRange(1, 3).Draw(t, "ops")
			var tp path.Toolpath
			for i := 0; i < n; i++ {
				one := toolpath(drawChain(t))
				tp.Sheet, tp.Process, tp.Ops = 1, one.Process, append(tp.Ops, one.Ops...)
				tp.Bounds = geom.EmptyBox().Union(one.Bounds)
			}
			kind := rapid.SampledFrom([]write.Kind{write.Cut, write.DryRun}).Draw(t, "kind")
			g := readBack(t, program(t, tp, write.Options{Machine: inches(laser(), inch), Kind: kind}))
			half := 0.00005
			if inch {
				half = 0.000127
			}
			at, k := geom.Point{}, 0
			next := func() (e read.Event, ok bool) {
				for ; k < len(g.events); k++ {
					if e := g.events[k]; e.Kind <= read.Arc {
						return e, true
					}
				}
				return read.Event{}, false
			}
			for _, op := range tp.Ops {
				e, ok := next()
				require.True(t, ok)
				require.Equal(t, read.Rapid, e.Kind)
				require.Equal(t, read.Off, e.Turn)
				near(t, op.Moves[0].From, e.To, half)
				at = geom.Point{X: e.To[0], Y: e.To[1]}
				k++
				for _, m := range op.Moves {
					e, ok := next()
					here := geom.Point{X: e.To[0], Y: e.To[1]}
					if !ok || e.Kind == read.Rapid || math.Abs(here.X-m.To.X) > half+1e-9 || math.Abs(here.Y-m.To.Y) > half+1e-9 {
						require.Less(t, m.To.Dist(at), 3*half) // left out: no longer than a digit
						continue
					}
					k++
					require.InDelta(t, 10, e.Feed, 1e-3)
					require.Equal(t, kind == write.Cut, e.Turn == read.Reverse && e.S == 800)
					if e.Kind == read.Arc {
						c := g.arcs[e.Extra]
						require.InDelta(t, float64(m.Sweep()), c.Sweep, 0.5)
						require.InDelta(t, c.Radius, c.RadiusTo, 0.0006)
						near(t, m.Center(), c.Center, 0.0006)
					}
					at = here
				}
			}
			_, more := next()
			require.False(t, more)
			require.Equal(t, read.End, g.events[len(g.events)-1].Kind)
		})
	}
}

func near(t require.TestingT, want geom.Point, got read.Point, tol float64) {
	require.InDelta(t, want.X, got[0], tol+1e-9)
	require.InDelta(t, want.Y, got[1], tol+1e-9)
}

// knifePath is one square cut by a trailing blade: down on the spot, round with a
// lifted turn at each corner, up.
func knifePath() path.Toolpath {
	const up, down, skin = 5.0, -0.6, -0.2
	at := pt(10, 10)
	op := path.Op{Layer: path.Outline, Part: "F1", Feature: "outline", Closed: true, Pass: 1}
	z := up
	add := func(to geom.Point, height float64, f machine.Feed, lift bool) {
		op.Moves = append(op.Moves, path.Move{Segment: geom.Segment{From: at, To: to}, Z: height, Feed: f, Lift: lift})
		at, z = to, height
	}
	add(at, down, 5, false)
	for _, c := range []geom.Point{pt(40, 10), pt(40, 40), pt(10, 40), pt(10, 10)} {
		add(c, z, 20, false)
		add(at, skin, 10, false)
		add(at, down, 5, false)
	}
	add(at, up, 10, false)
	op.Last = len(op.Moves)
	return path.Toolpath{Sheet: 1, Process: machine.Knife, Ops: []path.Op{op}, Bounds: geom.Box{Min: pt(10, 10), Max: pt(40, 40)}}
}

func knife() machine.Profile {
	return machine.Profile{Process: machine.Knife, HasZ: true, Knife: machine.KnifeProfile{Offset: 0.5, ZUp: 5, ZSkin: -0.2, Plunge: 5, Lift: 10}}
}

func TestKnifeProgram(t *testing.T) {
	text := program(t, knifePath(), write.Options{Machine: knife()})
	require.NotRegexp(t, `(?m)^[MS][0-9]*[345]`, text, "no beam words")
	require.Contains(t, text, `
G0 Z5.0000
(OUTLINE F1 outline)
G0 X10.0000 Y10.0000
G1 Z-0.6000 F300
G1 X40.0000 Y10.0000 F1200
G1 Z-0.2000 F600
G1 Z-0.6000 F300
`)
	g := readBack(t, text)
	for _, e := range g.events {
		switch {
		case e.Kind == read.Rapid:
			require.InDelta(t, 5, e.To[2], 1e-9, "travel at the blade-up height")
		case e.Kind == read.Line:
			require.Contains(t, []float64{-0.6, -0.2, 5}, math.Round(e.To[2]*1e4)/1e4)
		}
	}
	require.InDelta(t, 5, g.events[len(g.events)-2].To[2], 1e-9)
	for _, kind := range []write.Kind{write.DryRun, write.Edges} {
		g := readBack(t, program(t, knifePath(), write.Options{Machine: knife(), Kind: kind}))
		moves := 0
		for _, e := range g.events {
			if e.Kind <= read.Arc {
				moves++
				require.InDelta(t, 5, e.To[2], 1e-9, "the blade stays up")
			}
		}
		require.Equal(t, 6, moves) // up, there, four sides
	}
}

func TestKnifeNeedsAHeightToTravelAt(t *testing.T) {
	m := knife()
	m.Knife.ZUp = 0
	err := write.Write(&strings.Builder{}, knifePath(), write.Options{Machine: m})
	require.ErrorIs(t, err, write.ErrProgram)
	require.ErrorContains(t, err, "blade-up height")
}

// BenchmarkWrite writes 4,000 moves, about what one full sheet of lettered
// pieces holds.
func BenchmarkWrite(b *testing.B) {
	var all []geom.Contour
	for i := 0; i < 1000; i++ {
		all = append(all, geom.Circle(pt(float64(i%40)*15+7, float64(i/40)*15+7), 1.46).Reversed(), geom.MustOpen(
			geom.Vertex{At: pt(float64(i%40)*15, float64(i/40)*15)}, geom.Vertex{At: pt(float64(i%40)*15+4, float64(i/40)*15)}, geom.Vertex{At: pt(float64(i%40)*15+4, float64(i/40)*15+5)}))
	}
	tp := toolpath(all...)
	b.ReportAllocs()
	for b.Loop() {
		var sb strings.Builder
		if err := write.Write(&sb, tp, write.Options{Machine: laser()}); err != nil {
			b.Fatal(err)
		}
		b.SetBytes(int64(sb.Len()))
	}
}
