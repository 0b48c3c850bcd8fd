package read

import (
	"bytes"
	"context"
	"fmt"
	"math/rand"
	"testing"

	"spotjig/cam/machine"
)

// dropSink throws batches away.
type dropSink struct{}

func (dropSink) Take(*Batch) error   { return nil }
func (dropSink) Fork() (Sink, error) { return dropSink{}, nil }

// BenchmarkPlain reads rows of a picture and does nothing with them.
func BenchmarkPlain(b *testing.B) {
	rnd := rand.New(rand.NewSource(7))
	var t bytes.Buffer
	t.WriteString("G21 G90 G17 G94 G40 G49 G54\nM5 S0\nF6000\nM4\nG0 X5 Y1\n")
	for i, x := 0, 5.0; t.Len() < 16<<20; i++ {
		if x += [3]float64{0.1, 0.2, 0.15}[rnd.Intn(3)]; x > 580 {
			x = 5
		}
		if i%3 != 0 {
			fmt.Fprintf(&t, "G1 X%.3f S%d\n", x, rnd.Intn(1001))
		} else {
			fmt.Fprintf(&t, "X%.3f Y%.3f S%d\n", x, 10.0, rnd.Intn(1001))
		}
	}
	t.WriteString("M2\n")
	b.SetBytes(int64(t.Len()))
	for b.Loop() {
		_, err := Run(context.Background(), bytes.NewReader(t.Bytes()), Options{Machine: &machine.Profile{Offsets: map[int]machine.Axes{1: {}}}}, dropSink{})
		if err != nil {
			b.Fatal(err)
		}
	}
}
