package work

import (
	"runtime"
	"runtime/debug"
	"sync"
	"sync/atomic"
)

// Bug is the panic of one piece of work among several. The others go on; the caller panics
// when all are done and reported.
type Bug struct {
	Value any
	Stack []byte
}

// Error says that the panic itself is printed below.
func (b *Bug) Error() string { return "a bug of ours, told of below" }

// Each does n pieces of work, as many at a time as there are processors, and calls done with
// how many have ended. It returns the error of each.
func Each(n int, do func(i int) error, done func(n int)) []error {
	errs := make([]error, n)
	one := func(i int) (err error) {
		defer func() {
			if r := recover(); r != nil {
				err = &Bug{r, debug.Stack()}
			}
		}()
		return do(i)
	}
	var next, ended atomic.Int64
	var wait sync.WaitGroup
	var telling sync.Mutex
	for range min(n, runtime.GOMAXPROCS(0)) {
		wait.Go(func() {
			for i := int(next.Add(1)) - 1; i < n; i = int(next.Add(1)) - 1 {
				errs[i] = one(i)
				telling.Lock()
				done(int(ended.Add(1)))
				telling.Unlock()
			}
		})
	}
	wait.Wait()
	return errs
}
