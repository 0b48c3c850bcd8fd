package main

import (
	"bytes"
	"context"
	"os"
	"path/filepath"
	"sync"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"spotjig/cmd/spotjig/folder"
	"spotjig/layout/problem"
	"spotjig/post/work"
)

// smallJob is quickly made, and quickly proved again.
const smallJob = "../../testdata/jobs/shop-9ft.yaml"

// makeDefaults are make's without a flag.
var makeDefaults = work.Options{Version: thisBuild().Stamp, Paper: "a4", ProofOf: "template"}

// built is what tests have made, each job once for all of them: none changes it.
var built sync.Map

// buildOnce builds what a key stands for, or returns what was built before.
func buildOnce(t testing.TB, key string, build func() (work.Made, error)) work.Made {
	t.Helper()
	once, _ := built.LoadOrStore(key, sync.OnceValues(build))
	m, err := once.(func() (work.Made, error))()
	require.NoError(t, err)
	return m
}

// buildJob builds a job file in memory; path "" is the demo.
func buildJob(t testing.TB, path string) work.Made {
	t.Helper()
	return buildOnce(t, path, func() (work.Made, error) {
		l, err := loadJob(path)
		if err != nil {
			return work.Made{}, err
		}
		return l.Build(context.Background(), makeDefaults)
	})
}

// buildText builds a job in memory from its text.
func buildText(t testing.TB, text string) work.Made {
	t.Helper()
	return buildOnce(t, text, func() (work.Made, error) {
		o, err := work.Read("job.yaml", []byte(text), nil)
		if err != nil {
			return work.Made{}, err
		}
		return o.Build(context.Background(), makeDefaults)
	})
}

func verify(dir string) (string, error) {
	var out bytes.Buffer
	err := runVerify(context.Background(), verifyOptions{dirs: []string{dir}, again: (*work.Order).Again}, &out)
	return out.String(), err
}

// beside is what a run may leave beside a folder: "old" or "new".
func beside(dir, what string) string {
	return filepath.Join(filepath.Dir(dir), "."+filepath.Base(dir)+".spotjig-"+what)
}

func put(t *testing.T, dir, name, text string) {
	t.Helper()
	require.NoError(t, os.WriteFile(filepath.Join(dir, name), []byte(text), 0o600))
}

func TestVerify(t *testing.T) {
	files := buildText(t, conventionsJob).Files
	write := func(t *testing.T) string {
		dir := filepath.Join(t.TempDir(), "out")
		require.NoError(t, folder.Replace(context.Background(), dir, files, folder.Options{}))
		return dir
	}
	t.Run("sound", func(t *testing.T) {
		dir := write(t)
		out, err := verify(dir)
		require.NoError(t, err)
		assert.Contains(t, out, "whole and unedited")
		assert.NotContains(t, out, "note")
	})
	for _, row := range []struct {
		name, code, file string
		spoil            func(t *testing.T, dir string)
	}{
		{"edited", "F033", "sheet-1.dxf", func(t *testing.T, dir string) { put(t, dir, "sheet-1.dxf", "0\nEOF\n") }},
		{"missing", "F032", "marks.csv", func(t *testing.T, dir string) { require.NoError(t, os.Remove(filepath.Join(dir, "marks.csv"))) }},
		{"foreign", "F034", "notes.txt", func(t *testing.T, dir string) { put(t, dir, "notes.txt", "") }},
		{"job gone", "F031", work.JobName, func(t *testing.T, dir string) { require.NoError(t, os.Remove(filepath.Join(dir, work.JobName))) }},
		{"record gone", "F032", work.RecordName, func(t *testing.T, dir string) { require.NoError(t, os.Remove(filepath.Join(dir, work.RecordName))) }},
		{"set aside", "F036", "", func(t *testing.T, dir string) {
			require.NoError(t, os.Rename(dir, beside(dir, "old")))
		}},
		{"never written", "F036", "", func(t *testing.T, dir string) {
			require.NoError(t, os.Rename(dir, beside(dir, "new")))
		}},
		{"absent", "F030", "", func(t *testing.T, dir string) { require.NoError(t, os.RemoveAll(dir)) }},
		{"a file", "F030", "", func(t *testing.T, dir string) {
			require.NoError(t, os.RemoveAll(dir))
			put(t, filepath.Dir(dir), "out", "")
		}},
	} {
		t.Run(row.name, func(t *testing.T) {
			dir := write(t)
			row.spoil(t, dir)
			out, err := verify(dir)
			list := problem.From(err)
			require.NotEmpty(t, list, "%v", err)
			assert.Empty(t, out, "nothing good is said of a bad folder")
			assert.Equal(t, row.code, list[0].Code, list[0].Msg)
			assert.NotEmpty(t, list[0].Help)
			assert.Contains(t, list[0].File, row.file)
		})
	}
	t.Run("cut off but whole", func(t *testing.T) {
		dir := write(t)
		require.NoError(t, os.Mkdir(beside(dir, "new"), 0o777))
		out, err := verify(dir)
		require.NoError(t, err)
		assert.Contains(t, out, "cut off")
	})
}
