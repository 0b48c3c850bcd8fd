package jig_test

import (
	"runtime/debug"
	"testing"

	"go.uber.org/goleak"
)

// TestMain gives memory away for time: tests design jigs by the hundred.
func TestMain(m *testing.M) {
	debug.SetGCPercent(400)
	goleak.VerifyTestMain(m)
}
