package read

import (
	"os"
	"testing"

	"spotjig/post/goroutine"
)

// TestMain fails when the tests leave a goroutine behind.
func TestMain(m *testing.M) { os.Exit(goroutine.Check(m, os.Stderr)) }
