package main

import (
	"bytes"
	"context"
	"encoding/json"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"spotjig/layout/problem"
)

// file writes a file into a folder of the test's own and returns its name.
func file(t *testing.T, name, text string) string {
	t.Helper()
	p := filepath.Join(t.TempDir(), name)
	require.NoError(t, os.WriteFile(p, []byte(text), 0o644))
	return p
}

const marksJob = `
name: Hall
table: {size: 9 ft pool, length: 100 in, width: 50 in}
games: [pool, snooker]
choices: {baulk_line: head-string}
balls: {diameter: 2 1/4 in}
`

func TestMarksFlags(t *testing.T) {
	var got marksOptions
	c := newMarksCmd(func(_ context.Context, o marksOptions) error { got = o; return nil })
	c.SetArgs([]string{"hall.yaml", "--format", "csv"})
	require.NoError(t, c.ExecuteContext(context.Background()))
	got.in = nil
	assert.Equal(t, marksOptions{job: "hall.yaml", format: "csv"}, got)

	c = newMarksCmd(func(context.Context, marksOptions) error { t.Error("ran"); return nil })
	c.SetArgs([]string{"--format", "jason"})
	c.SilenceErrors, c.SilenceUsage = true, true
	err := c.ExecuteContext(context.Background())
	require.ErrorAs(t, err, new(usageError))
	assert.Contains(t, err.Error(), `did you mean "json"?`)
}

func TestMarksFormats(t *testing.T) {
	job := file(t, "hall.yaml", marksJob)
	show := func(format string) string {
		var b bytes.Buffer
		require.NoError(t, runMarks(context.Background(), marksOptions{job: job, format: format}, &b))
		return b.String()
	}
	table := show("table")
	assert.Contains(t, table, "playing surface: 2540.0 mm (100 in) long, 1270.0 mm (50 in) wide, taken as true")
	assert.Contains(t, table, "head spot, brown spot, pool and snooker")
	assert.Contains(t, table, "pool, WPA 9 ft")
	assert.Contains(t, table, "choice baulk_line: head-string")
	csv := show("csv")
	assert.True(t, strings.HasPrefix(csv, "id,also,name,games,kind,group,x_mm,"))
	assert.Contains(t, csv, `head-string,baulk-line,"head string, baulk line",pool;snooker,line,,635.0000,-635.0000,635.0000,635.0000,`)
	var doc struct{ Marks []struct{ ID string } }
	require.NoError(t, json.Unmarshal([]byte(show("json")), &doc))
	assert.Len(t, doc.Marks, 12)
	assert.Contains(t, show("card"), "marking-out order")
}

func TestBallsOfAJob(t *testing.T) {
	job := file(t, "bar.yaml", "table: {length: 76 in, width: 38 in}\ngames: [pool, snooker]\nballs: {diameter: 2 1/4 in}\n")
	var b bytes.Buffer
	require.NoError(t, runBalls(context.Background(), ballsOptions{job: job, format: "table"}, &b))
	assert.Contains(t, b.String(), "play 10 reds: 15 overlap the black by 5.2 mm")
	b.Reset()
	require.NoError(t, runBalls(context.Background(), ballsOptions{job: job, format: "json"}, &b))
	var doc struct {
		Snooker struct {
			Fits      bool
			Recommend int `json:"recommend_reds"`
		}
	}
	require.NoError(t, json.Unmarshal(b.Bytes(), &doc))
	assert.False(t, doc.Snooker.Fits)
	assert.Equal(t, 10, doc.Snooker.Recommend)
}

func TestMarkedVerdicts(t *testing.T) {
	job := file(t, "hall.yaml", marksJob)
	read := func(text string) (string, error) {
		var b bytes.Buffer
		err := runMarked(context.Background(), markedOptions{job: job, readings: []string{file(t, "read.txt", text)}}, &b)
		return b.String(), err
	}
	out, err := read("by: A. Fitter\nblue: head 1270.5 mm\n")
	require.NoError(t, err)
	assert.Contains(t, out, "every place measured is inside its tolerance")
	out, err = read("blue: head 1276 mm\n")
	require.ErrorAs(t, err, new(failedError))
	assert.Contains(t, out, "OUTSIDE")
	out, err = read("\nbleu: head 1272 mm\n")
	found := problem.From(err)
	require.Len(t, found, 1)
	assert.Empty(t, out)
	assert.True(t, strings.HasSuffix(found[0].File, "read.txt"))
	assert.Equal(t, 2, found[0].Line)
	assert.Contains(t, found[0].Help, `did you mean "blue"?`)
	err = runMarked(context.Background(), markedOptions{job: job, readings: []string{"nosuch.txt"}}, &bytes.Buffer{})
	assert.Equal(t, "F001", problem.From(err)[0].Code)
}

// Bad surveys and house marks are told in the job file, on their own line.
func TestBadJobInputsAreLocated(t *testing.T) {
	for _, c := range []struct {
		text, code string
		line       int
	}{
		{"table: {size: x}\nsurvey:\n  length_left: 2540\n  length_right: 2540\n  width_head: 1270\n  width_foot: 1270\n" +
			"  diagonal_left_head: 2330\n  diagonal_right_head: 2290\ngames: [pool]\n", "S043", 7},
		{"table: {length: 2540, width: 1270}\ngames: [pool]\nhouse:\n  - {id: a, kind: spot, x: L/4, y: \"0\"}\n  - {id: b, kind: spot, x: L/4 + 5 yd, y: \"0\"}\n", "S024", 5},
	} {
		err := runMarks(context.Background(), marksOptions{job: file(t, "bad.yaml", c.text), format: "table"}, &bytes.Buffer{})
		found := problem.From(err)
		require.Len(t, found, 1, "%v", err)
		assert.Equal(t, c.code, found[0].Code)
		assert.Equal(t, c.line, found[0].Line)
		assert.NotEmpty(t, found[0].Help)
	}
}
