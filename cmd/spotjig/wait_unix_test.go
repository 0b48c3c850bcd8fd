//go:build unix

package main

import (
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"syscall"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// TestInterruptEndsWhatWaits: a pipe that nobody writes to as job, machine or program, and a
// question that nobody answers, once held the program for ever, interrupt or not. Each is
// the real program, interrupted while it waits: for the pipe to be opened at its other end,
// or for something to come through.
func TestInterruptEndsWhatWaits(t *testing.T) {
	t.Parallel()
	program := filepath.Join(t.TempDir(), "a.nc")
	require.NoError(t, os.WriteFile(program, []byte("M2\n"), 0o600))
	const never = "job, never opened"
	waiting := map[string]*exec.Cmd{}
	for name, args := range map[string][]string{
		never: {"make", "PIPE"}, "job": {"make", "PIPE"},
		"machine": {"dryrun", "--machine", "PIPE", program}, "program": {"dryrun", "PIPE"}, "readings": {"kerf", "PIPE"},
	} {
		pipe := filepath.Join(t.TempDir(), "pipe")
		require.NoError(t, syscall.Mkfifo(pipe, 0o600))
		args[slices.Index(args, "PIPE")] = pipe
		c := exec.Command("spotjig", args...)
		require.NoError(t, c.Start())
		t.Cleanup(func() { _ = c.Process.Kill() })
		waiting[name] = c
		if name == never {
			continue
		}
		// A pipe opens for writing, if that may not wait, once somebody reads it.
		require.Eventually(t, func() bool {
			f, err := os.OpenFile(pipe, os.O_WRONLY|syscall.O_NONBLOCK, 0)
			if err == nil {
				t.Cleanup(func() { _ = f.Close() })
			}
			return err == nil
		}, 20*time.Second, 10*time.Millisecond, name)
	}
	time.Sleep(2 * time.Second) // until the one that opens waits: on a busy machine it starts slowly
	for _, c := range waiting {
		require.NoError(t, c.Process.Signal(os.Interrupt))
	}
	for name, c := range waiting {
		ended := make(chan error, 1)
		go func() { ended <- c.Wait() }()
		select {
		case <-ended:
			assert.Equal(t, exitInterrupted, c.ProcessState.ExitCode(), name)
		case <-time.After(20 * time.Second):
			t.Fatal("it does not end: " + name)
		}
	}
}

// A machine file without an end is read no further than a machine file may be long.
func TestEndlessMachineFile(t *testing.T) {
	_, err := machineFlag(new(reading), "/dev/zero")
	assert.Error(t, err)
}
