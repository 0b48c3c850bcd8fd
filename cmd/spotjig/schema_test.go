package main

import (
	"bytes"
	"context"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"spotjig/post/record"
)

// The record's schema that the command prints is the one that whole sets are held against (in
// post/work): letter by letter.
func TestSchemaOfTheRecord(t *testing.T) {
	var printed, held bytes.Buffer
	require.NoError(t, runSchema(recordSchema, &printed))
	require.NoError(t, record.WriteSchema(&held))
	assert.Equal(t, held.String(), printed.String())
}

// A new job names its schema in its first line, in the way that editors of YAML look for,
// and the name is the one that the help tells people to print it under.
func TestNewNamesItsSchema(t *testing.T) {
	dir := t.TempDir()
	name := filepath.Join(dir, "club.yaml")
	var out, errw bytes.Buffer
	require.Equal(t, exitDone, run(context.Background(), []string{"new", name, "--size", "9 ft pool", "--length", "2541", "--width", "1269.5", "--games", "pool"}, nil, &out, &errw), errw.String())
	text, err := os.ReadFile(name)
	require.NoError(t, err)
	first, _, _ := strings.Cut(string(text), "\n")
	assert.Equal(t, "# yaml-language-server: $schema=spotjig-job.schema.json", first)
	assert.Contains(t, newSchemaCmd(nil).Example, "schema job > spotjig-job.schema.json")
	assert.Contains(t, string(text), "spotjig schema job > spotjig-job.schema.json")
}
