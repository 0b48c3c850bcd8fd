package proof_test

import (
	"testing"

	"go.uber.org/goleak"
)

// TestMain fails when the tests leave a goroutine behind.
func TestMain(m *testing.M) { goleak.VerifyTestMain(m) }
