package dryrun

import (
	"context"
	"os"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"spotjig/cam/machine"
	"spotjig/layout/geom"
	"spotjig/post/rs274/read"
)

// vector is one block of testdata/programs/vectors.txt; the file says what its keys mean.
type vector struct {
	id, program string
	keys        map[string]string
}

func readVectors(t testing.TB) []vector {
	raw, err := os.ReadFile("../../testdata/programs/vectors.txt")
	require.NoError(t, err)
	var out []vector
	for _, b := range strings.Split(string(raw), "\n== ")[1:] {
		head, prog, ok := strings.Cut(b, "\n--\n")
		require.True(t, ok, b)
		lines := strings.Split(head, "\n")
		v := vector{id: lines[0], keys: map[string]string{}}
		for _, l := range lines[1:] {
			k, val, ok := strings.Cut(l, ": ")
			require.True(t, ok, l)
			v.keys[k] = val
		}
		v.program = strings.TrimRight(prog, "\n") + "\n"
		if v.keys["asis"] == "" {
			v.program += "M2\n"
		}
		out = append(out, v)
	}
	require.GreaterOrEqual(t, len(out), 55)
	return out
}

// numbers reads "1 2 3".
func numbers(t testing.TB, s string) machine.Axes {
	var v [3]float64
	f := strings.Fields(s)
	require.Len(t, f, 3, s)
	for i := range v {
		n, err := strconv.ParseFloat(f[i], 64)
		require.NoError(t, err)
		v[i] = n
	}
	return machine.Axes{X: v[0], Y: v[1], Z: v[2]}
}

// vectorMachine is the machine the vectors are written for: everything declared, everything zero.
func vectorMachine() *machine.Profile {
	far := 1000.0
	return &machine.Profile{
		Name: "vectors", Process: machine.Laser, HasZ: true,
		Min: machine.Axes{X: -far, Y: -far, Z: -far}, Max: machine.Axes{X: far, Y: far, Z: far},
		PowerOn: []string{"G21 G90 G17 G94 G54 G40 G49 G1 M5 S0"}, Traits: machine.Traits{HomeWords: "all"}, ParametersZero: true,
		Offsets: map[int]machine.Axes{1: {}, 2: {}}, Home28: &machine.Axes{}, Home30: &machine.Axes{},
		PowerScale: 1000, PierceMax: 0.5,
	}
}

func (v vector) run(t testing.TB) Report {
	m := vectorMachine()
	m.ParametersZero = v.keys["parameters"] != "unknown"
	opt := Options{File: v.id, Machine: m}
	if s := v.keys["start"]; s != "" {
		a := numbers(t, s)
		opt.Start = &a
	}
	r, err := Run(context.Background(), strings.NewReader(v.program), opt)
	require.NoError(t, err)
	return r
}

func near(t testing.TB, want machine.Axes, got *XYZ, what string) {
	require.NotNil(t, got, what)
	assert.InDelta(t, want.X, got.X, 1e-4, what+" X")
	assert.InDelta(t, want.Y, got.Y, 1e-4, what+" Y")
	assert.InDelta(t, want.Z, got.Z, 1e-4, what+" Z")
}

// TestVectors holds every program of testdata/programs/vectors.txt against the
// positions, extents, refusals and findings stated there with their sources.
func TestVectors(t *testing.T) {
	for _, v := range readVectors(t) {
		t.Run(v.id, func(t *testing.T) {
			r := v.run(t)
			if v.keys["end"] != "" {
				near(t, numbers(t, v.keys["end"]), r.End, "end")
				near(t, numbers(t, v.keys["min"]), r.Min, "min")
				near(t, numbers(t, v.keys["max"]), r.Max, "max")
				written := found(r, "D216") // told, and then done
				assert.Equal(t, strings.Contains(v.program, "G10 L2"), written > 0)
				assert.Equal(t, written, r.Errors(), "%+v", r.Problems)
			}
			if c := v.keys["refuse"]; c != "" {
				assert.Equal(t, Fail, r.Verdict)
				assert.Contains(t, codesOf(r), c)
			}
			if f := strings.Fields(v.keys["find"]); len(f) == 2 {
				assert.Contains(t, places(r), f[0]+" "+f[1])
				assert.Equal(t, Fail, r.Verdict)
			}
			if v.keys["clean"] != "" {
				assert.Equal(t, Pass, r.Verdict, "%+v", r.Problems)
			}
			if m := v.keys["moves"]; m != "" {
				assert.Equal(t, strings.Split(m, "; "), movesOf(t, v))
			}
		})
	}
}

func codesOf(r Report) (out []string) {
	for _, p := range r.Problems {
		out = append(out, p.Code)
	}
	return out
}

func places(r Report) (out []string) {
	for _, p := range r.Problems {
		out = append(out, p.Code+" "+strconv.FormatInt(p.Line, 10))
	}
	return out
}

// movesOf lists a vector's moves as its block writes them.
func movesOf(t testing.TB, v vector) (out []string) {
	start := numbers(t, v.keys["start"])
	var events eventList
	_, err := read.Run(context.Background(), strings.NewReader(v.program), read.Options{Machine: vectorMachine(), Start: &start}, &events)
	require.NoError(t, err)
	for _, e := range events {
		word := map[read.Kind]string{read.Rapid: "rapid", read.Line: "feed", read.Arc: "arc"}[e.Kind]
		if word != "" {
			for _, c := range e.To {
				word += " " + strconv.FormatFloat(geom.Millionth(c), 'f', -1, 64)
			}
			out = append(out, word)
		}
	}
	return out
}

// eventList is what a program does with the block delete switch off.
type eventList []read.Event

func (l *eventList) Take(b *read.Batch) error { *l = append(*l, b.Events...); return nil }
func (l *eventList) Fork() (read.Sink, error) { return new(eventList), nil }
