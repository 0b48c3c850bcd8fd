// Package dryrun holds a program against a machine before the beam or the blade
// moves: where the head goes, what it does there, how long it takes, and every
// place where that is wrong or not known. It judges the program as post/rs274/read
// reads it and knows nothing of who wrote it.
//
// A clean verdict means that nothing of what is listed in codes.txt was found. It
// does not mean that the focus, the clamps that no profile mentions, or the
// power for the sheet are right.
package dryrun

import (
	"context"
	"io"

	"spotjig/cam/machine"
	"spotjig/post/rs274/read"
)

// Box3 is a box, mm.
type Box3 struct{ Min, Max machine.Axes }

// StockOf is a sheet of that width, height and thickness with its corner at work zero.
func StockOf(size [3]float64) *Box3 {
	return &Box3{Min: machine.Axes{Z: -size[2]}, Max: machine.Axes{X: size[0], Y: size[1]}}
}

// Options say what the program is held against.
type Options struct {
	File     string            // how to call the program
	Machine  *machine.Profile  // nil: language and extents only
	Material *machine.Material // nil: no power cap
	Stock    *Box3             // the sheet in work coordinates, its upper face at Z 0; nil: unknown
	Start    *machine.Axes     // where the head stands, machine mm; nil: the profile's park, else work zero
	Assume   bool              // what is not stated but usual is taken, and told
	Progress func(bytes int64) // told how far the reader has come; may be nil

	Laps bool // what each stretch of travel and of work takes is told

	quick bool // bounds and beam only
}

// Run reads the program r to its end and judges it. Faults of the program are in
// the report; the error is r's or ctx's.
func Run(ctx context.Context, r io.Reader, opt Options) (Report, error) {
	if opt.Progress != nil {
		r = &counter{r: r, progress: opt.Progress}
	}
	j, c := newJudge(opt), newTimer(opt)
	sinks := []read.Sink{j}
	if c != nil {
		sinks = append(sinks, c)
	}
	in := read.Options{Machine: opt.Machine, Start: opt.Start}
	sum, err := read.Run(ctx, r, in, sinks...)
	if err != nil {
		return Report{File: opt.File}, err
	}
	return report(opt, sum, j, c), nil
}

// counter tells how many bytes have gone through it.
type counter struct {
	r        io.Reader
	n        int64
	progress func(int64)
}

func (c *counter) Read(b []byte) (int, error) {
	n, err := c.r.Read(b)
	c.n += int64(n)
	c.progress(c.n)
	return n, err
}
