package layout_test

import (
	"flag"
	"os"
	"testing"
)

// TestMain fixes the seed of the property tests unless the command line gives
// one, so that every run tries the same cases.
func TestMain(m *testing.M) {
	flag.Parse()
	if f := flag.Lookup("rapid.seed"); f != nil && f.Value.String() == "0" {
		if err := f.Value.Set("20261120"); err != nil {
			panic(err)
		}
	}
	os.Exit(m.Run())
}
