package work

import (
	"cmp"
	"errors"
	"runtime"
	"runtime/debug"
	"sync"

	"spotjig/cam/jig"
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
	return eachBy(n, runtime.GOMAXPROCS(0), do, done)
}

// EachWaiting does n pieces of work that wait more than they work, so many at a time, and
// returns the error of the lowest number.
func EachWaiting(n, hands int, do func(i int) error) error {
	return first(eachBy(n, hands, do, func(int) {}))
}

// first is the error of the lowest number. The panic of one goes on.
func first(errs []error) error {
	for _, err := range errs {
		if b := (*Bug)(nil); errors.As(err, &b) {
			panic(b.Value) // main reports it
		}
	}
	return cmp.Or(errs...)
}

func eachBy(n, hands int, do func(i int) error, done func(n int)) []error {
	errs := make([]error, n)
	one := func(i int) (err error) {
		defer func() {
			if r := recover(); r != nil {
				err = &Bug{r, debug.Stack()}
			}
		}()
		return do(i)
	}
	ended := 0
	var telling sync.Mutex
	jig.Together(n, hands, func(i int) {
		errs[i] = one(i)
		telling.Lock()
		defer telling.Unlock()
		ended++
		done(ended)
	})
	return errs
}
