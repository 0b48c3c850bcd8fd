package folder

import (
	"bytes"
	"os"
	"path/filepath"
	"syscall"
	"testing"

	"github.com/stretchr/testify/require"
)

// A disk that is full when the new set is written: a tmpfs of 256 kB that
// holds the old set and has no room for another.
func TestDiskFullLeavesTheOldSet(t *testing.T) {
	disk := t.TempDir()
	if err := syscall.Mount("tmpfs", disk, "tmpfs", 0, "size=256k"); err != nil {
		t.Skipf("cannot mount a small disk: %v", err)
	}
	t.Cleanup(func() { syscall.Unmount(disk, 0) })
	dir := filepath.Join(disk, "out")
	require.NoError(t, replace(t, dir, "a", Options{}))
	filler := bytes.Repeat([]byte("x"), 204_800)
	require.NoError(t, os.WriteFile(filepath.Join(disk, "filler"), filler, 0o600))
	p := requireCode(t, replace(t, dir, "b", Options{}), "F013")
	require.Contains(t, p.Msg, "no space left")
	requireGeneration(t, dir, "a")
	require.NoError(t, os.Remove(filepath.Join(disk, "filler")))
	require.NoError(t, replace(t, dir, "b", Options{}))
	requireGeneration(t, dir, "b")
}
