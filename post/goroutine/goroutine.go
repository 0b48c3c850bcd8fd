// Package goroutine finds goroutines of ours that were left behind. It is for
// tests only: every package that starts one checks in its TestMain that none is
// left when its tests have ended (cmd/spotjig/tidy_test.go holds it to that).
package goroutine

import (
	"fmt"
	"io"
	"runtime"
	"slices"
	"strings"
	"time"
)

// ours is in the stack of every goroutine that runs our code or was started by it.
const ours = "spotjig/"

// stackMax bounds the text of all stacks, bytes.
const stackMax = 64 << 20

// A goroutine that has done its work may need a moment to end: patience times
// pause, altogether a second, are waited for.
const (
	patience = 100
	pause    = 10 * time.Millisecond
)

// Running returns the stacks of all goroutines that run our code or were started
// by it, but the caller's, by their first word, "goroutine N".
func Running() map[string]string {
	buf := make([]byte, 1<<16)
	n := runtime.Stack(buf, true)
	for n == len(buf) && n < stackMax {
		buf = make([]byte, 2*len(buf))
		n = runtime.Stack(buf, true)
	}
	out := map[string]string{}
	for i, stack := range strings.Split(string(buf[:n]), "\n\n") {
		id, _, _ := strings.Cut(stack, " [")
		if i > 0 && strings.Contains(stack, ours) { // the caller's is the first
			out[id] = stack
		}
	}
	return out
}

// LeftBehind returns the stacks of goroutines that were not running before and do
// not end in a second, in order.
func LeftBehind(before map[string]string) []string {
	var out []string
	for range patience {
		out = nil
		for id, stack := range Running() {
			if _, was := before[id]; !was {
				out = append(out, stack)
			}
		}
		if len(out) == 0 {
			return nil
		}
		time.Sleep(pause)
	}
	slices.Sort(out)
	return out
}

// Tests are a package's tests, a *testing.M.
type Tests interface{ Run() int }

// Check runs the tests and returns their exit status, or 1 after it has written
// the stacks of what they left behind.
func Check(m Tests, w io.Writer) int {
	before := Running()
	code := m.Run()
	left := LeftBehind(before)
	for _, stack := range left {
		fmt.Fprintf(w, "left behind: %s\n\n", stack)
	}
	if code == 0 && len(left) > 0 {
		code = 1
	}
	return code
}
