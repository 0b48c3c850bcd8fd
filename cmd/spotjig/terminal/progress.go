package terminal

import (
	"fmt"
	"io"
	"strings"
	"time"

	"spotjig/layout/problem"
)

// Stage returns what draws the stage in hand on one line of a terminal, and
// wipes it for ""; nil where nobody watches.
func Stage(w io.Writer) func(string) {
	f, ok := device(w)
	if !ok {
		return nil
	}
	return func(stage string) { fmt.Fprintf(f, "\r%-60s\r%s", "", stage) }
}

// Bar draws how much of so many bytes is done, on a terminal, once that takes long. Nothing is
// drawn on anything else, nor for no bytes.
func Bar(w io.Writer, name string, total int64) (show func(done int64), clear func()) {
	f, ok := device(w)
	if !ok || total == 0 {
		return nil, func() {}
	}
	b := &bar{w: f, name: problem.Printable(name), total: total, begun: time.Now()}
	return b.show, b.clear
}

// bar is a line that grows.
type bar struct {
	w     io.Writer
	name  string
	total int64
	begun time.Time
	last  time.Time
}

// show draws the bar, from the first second on, five times a second.
func (b *bar) show(done int64) {
	now := time.Now()
	if now.Sub(b.begun) < time.Second || now.Sub(b.last) < 200*time.Millisecond {
		return
	}
	b.last = now
	const width = 30
	n := int(width * done / b.total)
	fmt.Fprintf(b.w, "\r%s [%s%s] %d %%", b.name, strings.Repeat("=", n), strings.Repeat(" ", width-n), 100*done/b.total)
}

// clear takes the bar away.
func (b *bar) clear() {
	if !b.last.IsZero() {
		fmt.Fprintf(b.w, "\r%s\r", strings.Repeat(" ", len(b.name)+42))
	}
}
