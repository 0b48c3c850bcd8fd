package dryrun

import (
	"runtime/debug"
	"testing"

	"go.uber.org/goleak"
)

// TestMain fails when the tests leave a goroutine behind. They read programs by the
// thousand: memory is cheaper here than collecting it.
func TestMain(m *testing.M) {
	debug.SetGCPercent(400)
	goleak.VerifyTestMain(m)
}
