package jig_test

import (
	"os"
	"runtime/debug"
	"testing"
)

// TestMain gives memory away for time: tests design jigs by the hundred.
func TestMain(m *testing.M) {
	debug.SetGCPercent(400)
	os.Exit(m.Run())
}
