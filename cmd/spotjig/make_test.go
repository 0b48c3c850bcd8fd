package main

import (
	"bytes"
	"context"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"spotjig/cmd/spotjig/folder"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// quickLaser is a job that a laser cuts and that is quickly made.
const quickLaser = `name: Weir Street, table 3
table: {size: 7 ft pool, length: 1981.2 mm, width: 990.6 mm}
games: [carom]
jig: {letters: short}
machine: laser-600x400
`

// TestFailedCheckWritesNothing runs the whole command over a folder that exists.
func TestFailedCheckWritesNothing(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "out")
	var out, errw bytes.Buffer
	require.NoError(t, folder.Replace(context.Background(), dir, buildText(t, quickLaser).Files, folder.Options{}))
	before, err := os.ReadFile(filepath.Join(dir, "record.json"))
	require.NoError(t, err)
	file := filepath.Join(t.TempDir(), "tight.yaml")
	text := strings.Replace(quickLaser, "letters: short", "letters: short, tolerance: 0.2 mm", 1)
	require.NoError(t, os.WriteFile(file, []byte(text), 0o644))
	require.Equal(t, exitProblem, run(context.Background(), []string{"make", file, "-o", dir}, nil, &out, &errw))
	assert.Contains(t, errw.String(), "budget:")
	after, err := os.ReadFile(filepath.Join(dir, "record.json"))
	require.NoError(t, err)
	assert.Equal(t, before, after)
}
