// Package dryrun holds a program against a machine before the beam or the blade
// moves: where the head goes, what it does there, how long it takes, and every
// place where that is wrong or not known. It judges the program as post/rs274/read
// reads it and knows nothing of who wrote it.
//
// A clean verdict means that nothing of what is listed in codes.go was found. It
// does not mean that the focus, the clamps that no profile mentions, or the
// power for the sheet are right.
package dryrun

import (
	"context"
	"io"
	"runtime"

	"spotjig/cam/machine"
	"spotjig/post/rs274/read"
)

// Box3 is a box, mm.
type Box3 struct{ Min, Max machine.Axes }

// Options say what the program is held against.
type Options struct {
	File     string            // how to call the program
	Machine  *machine.Profile  // nil: language and extents only
	Material *machine.Material // nil: no power cap
	Stock    *Box3             // the sheet in work coordinates, its upper face at Z 0; nil: unknown
	Start    *machine.Axes     // where the head stands, machine mm; nil: the profile's park, else work zero
	Progress func(bytes int64) // told how far the reader has come; may be nil

	serial bool // one goroutine, whatever the number of processors
	quick  bool // bounds and beam only
}

// Run reads the program r to its end and judges it. Faults of the program are in
// the report; the error is r's or ctx's.
func Run(ctx context.Context, r io.Reader, opt Options) (Report, error) {
	j := newJudge(opt)
	var sink read.Sink = j
	var line *pipeline
	if !opt.serial && runtime.GOMAXPROCS(0) > 1 {
		line = newPipeline(j)
		sink = line.end(0)
	}
	if opt.Progress != nil {
		r = &counter{r: r, tell: opt.Progress}
	}
	sum, err := read.Run(ctx, r, read.Options{Machine: opt.Machine, Start: opt.Start}, sink)
	judges := []*judge{j}
	if line != nil {
		judges = line.close()
	} else if j.fork != nil {
		judges = append(judges, j.fork)
	}
	if err != nil {
		return Report{File: opt.File}, err
	}
	return report(opt, sum, judges), nil
}

// counter tells how many bytes have gone through it.
type counter struct {
	r    io.Reader
	n    int64
	tell func(int64)
}

func (c *counter) Read(b []byte) (int, error) {
	n, err := c.r.Read(b)
	c.n += int64(n)
	c.tell(c.n)
	return n, err
}

// pipeline lets the judge work on one processor while the reader works on another.
// Batches go round: the reader fills one while the judge empties others.
type pipeline struct {
	work   chan parcel
	free   chan *read.Batch
	done   chan struct{}
	judges []*judge
}

type parcel struct {
	who  int
	b    *read.Batch
	fork bool
}

// pipeDepth batches are under way at most.
const pipeDepth = 8

func newPipeline(j *judge) *pipeline {
	p := &pipeline{work: make(chan parcel, pipeDepth), free: make(chan *read.Batch, pipeDepth+2), done: make(chan struct{}), judges: []*judge{j}}
	for i := 0; i < pipeDepth; i++ {
		p.free <- read.NewBatch()
	}
	go p.run()
	return p
}

func (p *pipeline) run() {
	defer close(p.done)
	for w := range p.work {
		if w.fork {
			p.judges = append(p.judges, p.judges[0].clone())
			continue
		}
		p.judges[w.who].take(w.b)
		w.b.Reset()
		p.free <- w.b
	}
}

// close waits for the judge and returns it, and its fork if there is one.
func (p *pipeline) close() []*judge {
	close(p.work)
	<-p.done
	return p.judges
}

func (p *pipeline) end(who int) read.Sink { return pipeEnd{p, who} }

// pipeEnd is where the reader puts batches in.
type pipeEnd struct {
	p   *pipeline
	who int
}

func (e pipeEnd) Take(b *read.Batch) (*read.Batch, error) {
	e.p.work <- parcel{who: e.who, b: b}
	return <-e.p.free, nil
}

func (e pipeEnd) Fork() (read.Sink, error) {
	e.p.work <- parcel{fork: true}
	return pipeEnd{e.p, 1}, nil
}
