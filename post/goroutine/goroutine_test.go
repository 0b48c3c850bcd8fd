package goroutine

import (
	"bytes"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// leak starts a goroutine that ends when told to, and waits until it runs.
func leak() (end func()) {
	stop, runs := make(chan struct{}), make(chan struct{})
	go func() { close(runs); <-stop }()
	<-runs
	return func() { close(stop) }
}

func TestLeftBehind(t *testing.T) {
	before := Running()
	require.Empty(t, LeftBehind(before))
	end := leak()
	left := LeftBehind(before)
	require.Len(t, left, 1)
	assert.Contains(t, left[0], "goroutine.leak")
	assert.Empty(t, LeftBehind(Running()), "it was there before")
	end()
	assert.Empty(t, LeftBehind(before), "it has ended")
}

// tests is a run of tests that leave something behind, or not.
type tests func() int

func (f tests) Run() int { return f() }

func TestCheck(t *testing.T) {
	var said bytes.Buffer
	var end func()
	assert.Equal(t, 1, Check(tests(func() int { end = leak(); return 0 }), &said))
	assert.Equal(t, 1, strings.Count(said.String(), "left behind: goroutine "), said.String())
	end()
	said.Reset()
	assert.Equal(t, 0, Check(tests(func() int { leak()(); return 0 }), &said))
	assert.Equal(t, 2, Check(tests(func() int { return 2 }), &said), "tests that failed by themselves")
	assert.Empty(t, said.String())
}
