package jig

import (
	"fmt"
	"runtime"
	"runtime/debug"
	"sync"
	"sync/atomic"
)

// Together calls do for 0 to n-1, side by side, so many at a time; it returns when all have
// ended. None of them may write what another reads, so that what they make does not depend
// on which is first. A panic of the lowest number is the caller's then.
func Together(n, hands int, do func(i int)) {
	faults := make([]any, n)
	one := func(i int) {
		defer func() {
			if v := recover(); v != nil {
				faults[i] = fmt.Sprintf("%v\n%s", v, debug.Stack()) // where it was is lost with its goroutine
			}
		}()
		do(i)
	}
	var next atomic.Int64
	work := func() {
		for i := int(next.Add(1)) - 1; i < n; i = int(next.Add(1)) - 1 {
			one(i)
		}
	}
	var others sync.WaitGroup
	for range min(n, hands) - 1 {
		others.Go(work)
	}
	work() // the caller's own hand
	others.Wait()
	for _, fault := range faults {
		if fault != nil {
			panic(fault)
		}
	}
}

// each is Together with as many at a time as there are processors.
func each(n int, do func(i int)) { Together(n, runtime.GOMAXPROCS(0), do) }

// both does two things side by side.
func both(one, other func()) {
	each(2, func(i int) { [2]func(){one, other}[i]() })
}
