package jig

import (
	"sync/atomic"
	"testing"

	"github.com/stretchr/testify/assert"
)

// TestTogether wants each number called once, never more at a time than asked, and of several
// panics that of the lowest number, when all have ended.
func TestTogether(t *testing.T) {
	for _, hands := range []int{1, 2, 7} {
		for _, n := range []int{0, 1, 2, 50} {
			var calls [50]atomic.Int32
			var now, most, ended atomic.Int32
			Together(n, hands, func(i int) {
				k := now.Add(1)
				for m := most.Load(); k > m && !most.CompareAndSwap(m, k); m = most.Load() {
				}
				calls[i].Add(1)
				now.Add(-1)
			})
			for i := range calls {
				assert.Equal(t, i < n, calls[i].Load() == 1, "%d of %d by %d", i, n, hands)
			}
			assert.LessOrEqual(t, int(most.Load()), hands)
			if n < 50 {
				continue
			}
			func() {
				defer func() {
					v := recover()
					assert.Contains(t, v, "fault 3\n")
					assert.Contains(t, v, "together_test.go", "where it was")
					assert.EqualValues(t, n, ended.Load())
				}()
				Together(n, hands, func(i int) {
					defer ended.Add(1)
					if i == 3 || i == 40 {
						panic([]string{3: "fault 3", 40: "fault 40"}[i])
					}
				})
			}()
		}
	}
}
