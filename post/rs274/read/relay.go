package read

import (
	"context"
	"fmt"
	"sync"
	"sync/atomic"
)

// How several processors share one program
//
// The interpreter must know how a line ends before it reads the next, and so must each
// sink: they are chains, links in order. But a sink may still be at one stretch of the
// program while the interpreter is at the next. So each worker reads a stretch and then
// sees it through every sink in turn, while another reads on. A worker's events, many
// times the size of their text, never leave its processor: handing them to one
// that does nothing but judge costs more than it gains. A slow worker takes fewer
// stretches than a fast one.

// relay interprets with several workers up to the end of the file or to where a
// second run is to begin; run does the rest.
func (p *program) relay(ctx context.Context) error {
	x := p.runs[0]
	most := x.most
	x.most = p.stretch
	l := &lane{p: p, sinks: x.sinks, last: turns(len(x.sinks))}
	for _, t := range l.last {
		close(t)
	}
	var all sync.WaitGroup
	for range p.workers {
		all.Go(func() { l.work(ctx) })
	}
	all.Wait()
	x.batch, x.most, p.workers = newBatch(most), most, 1
	if bug, ok := l.err.(panicked); ok {
		panic(bug.value) // where the caller can recover
	}
	return l.err
}

// lane is what the workers share.
type lane struct {
	sinks []Sink

	reading sync.Mutex // held by the worker that reads
	p       *program
	over    bool            // nobody reads any more
	last    []chan struct{} // for each sink, closed when it has taken the last stretch read

	stop   atomic.Bool // there is an error
	failed sync.Once
	err    error // the first
}

// turns returns a turn at each of n sinks.
func turns(n int) []chan struct{} {
	t := make([]chan struct{}, n)
	for i := range t {
		t[i] = make(chan struct{})
	}
	return t
}

// work reads stretches and sees each through the sinks when its turn comes.
func (l *lane) work(ctx context.Context) {
	b := newBatch(l.p.stretch)
	for {
		before, done := l.read(ctx, b)
		if done == nil {
			return
		}
		for i, s := range l.sinks {
			<-before[i]
			if !l.stop.Load() {
				l.check(guarded(func() error { return s.Take(b) }))
			}
			close(done[i])
		}
		b.Reset()
	}
}

// check stops all workers when err is one.
func (l *lane) check(err error) {
	if err != nil {
		l.failed.Do(func() { l.err = err })
		l.stop.Store(true)
	}
}

// panicked is a panic on its way from a worker to the caller.
type panicked struct{ value any }

func (p panicked) Error() string { return fmt.Sprint(p.value) }

// guarded calls f and returns a panic of f as an error: a worker that went away without
// a word would leave the others waiting.
func guarded(f func() error) (err error) {
	defer func() {
		if r := recover(); r != nil {
			err = panicked{r}
		}
	}()
	return f()
}

// read reads a stretch into b. It may go to a sink when the channel of before is
// closed, and that of done is to be closed then; there are none when nothing was read.
func (l *lane) read(ctx context.Context, b *Batch) (before, done []chan struct{}) {
	l.reading.Lock()
	defer l.reading.Unlock()
	if l.over || l.stop.Load() {
		return nil, nil
	}
	x := l.p.runs[0]
	x.batch, x.full = b, false
	more := false
	err := guarded(func() (err error) {
		more, err = l.p.fill(ctx)
		return err
	})
	l.check(err)
	l.over = !more || l.p.forking || err != nil
	before, done = l.last, turns(len(l.sinks))
	l.last = done
	return before, done
}
