package manual

import (
	"os"
	"runtime/debug"
	"testing"
)

// TestMain lets the heap grow: schemas and readers are asked thousands of times, and memory is
// cheaper here than collecting it.
func TestMain(m *testing.M) {
	debug.SetGCPercent(400)
	os.Exit(m.Run())
}
