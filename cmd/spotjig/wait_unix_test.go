//go:build unix

package main

import (
	"os"
	"os/exec"
	"path/filepath"
	"syscall"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// TestInterruptEndsWhatWaits: a pipe that nobody writes to as job, machine or program, and a
// question that nobody answers, once held the program for ever, interrupt or not. Each is
// the real program, interrupted while it waits.
func TestInterruptEndsWhatWaits(t *testing.T) {
	pipe := filepath.Join(t.TempDir(), "pipe")
	require.NoError(t, syscall.Mkfifo(pipe, 0o600))
	program := filepath.Join(t.TempDir(), "a.nc")
	require.NoError(t, os.WriteFile(program, []byte("M2\n"), 0o600))
	for name, args := range map[string][]string{
		"job": {"make", pipe}, "machine": {"dryrun", "--machine", pipe, program}, "program": {"dryrun", pipe}, "readings": {"kerf", pipe},
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			c := exec.Command("spotjig", args...)
			require.NoError(t, c.Start())
			time.Sleep(2 * time.Second) // until it waits: on a busy machine it starts slowly
			require.NoError(t, c.Process.Signal(os.Interrupt))
			ended := make(chan error, 1)
			go func() { ended <- c.Wait() }()
			select {
			case <-ended:
				assert.Equal(t, exitInterrupted, c.ProcessState.ExitCode())
			case <-time.After(20 * time.Second):
				_ = c.Process.Kill()
				t.Fatal("it does not end")
			}
		})
	}
}

// A machine file without an end is read no further than a machine file may be long.
func TestEndlessMachineFile(t *testing.T) {
	_, err := machineFlag(new(reading), "/dev/zero")
	assert.Error(t, err)
}
