package main

import (
	"bytes"
	"context"
	"crypto/sha256"
	"fmt"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"spotjig/layout/problem"
	"spotjig/post/work"
)

// smallJob is quickly made, and quickly proved again.
const smallJob = "../../testdata/jobs/shop-9ft.yaml"

// made is the demo job's folder, made once and copied for each case.
func made(t *testing.T) []work.File {
	t.Helper()
	return buildJob(t, "").Files
}

// makeDefaults are make's without a flag.
var makeDefaults = work.Options{Version: version, Paper: "a4", ProofOf: "template"}

// buildJob builds a job file in memory; path "" is the demo.
func buildJob(t testing.TB, path string) work.Made {
	t.Helper()
	l, err := loadJob(path)
	require.NoError(t, err)
	m, err := l.Build(context.Background(), makeDefaults)
	require.NoError(t, err)
	return m
}

func verify(dir string) (string, error) {
	var out bytes.Buffer
	err := runVerify(context.Background(), verifyOptions{dir: dir}, &out)
	return out.String(), err
}

func TestVerify(t *testing.T) {
	files := made(t)
	write := func(t *testing.T) string {
		dir := filepath.Join(t.TempDir(), "out")
		require.NoError(t, replaceFolder(context.Background(), dir, files, folderOptions{}))
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
		{"edited", "F033", "sheet-1.nc", func(t *testing.T, dir string) { put(t, dir, "sheet-1.nc", "M2\n") }},
		{"missing", "F032", "marks.csv", func(t *testing.T, dir string) { require.NoError(t, os.Remove(filepath.Join(dir, "marks.csv"))) }},
		{"foreign", "F034", "notes.txt", func(t *testing.T, dir string) { put(t, dir, "notes.txt", "") }},
		{"record broken", "F031", work.RecordName, func(t *testing.T, dir string) { put(t, dir, work.RecordName, "{") }},
		{"record gone", "F031", work.RecordName, func(t *testing.T, dir string) { require.NoError(t, os.Remove(filepath.Join(dir, work.RecordName))) }},
		{"a hole in the record edited", "F035", "", editRecord(`"mark":"yellow","x":`, `"mark":"yellow","x":1`)},
		{"the machine in the record edited", "F035", "", editRecord(`"max":{"x":600,`, `"max":{"x":300,`)},
		{"an impossible shape in the record", "F031", "", editRecord(`"scale":1,`, `"scale":9,`)},
		{"set aside", "F036", "", func(t *testing.T, dir string) {
			w, err := targetOf(dir)
			require.NoError(t, err)
			require.NoError(t, os.Rename(w.dir, w.old))
		}},
		{"never written", "F036", "", func(t *testing.T, dir string) {
			w, err := targetOf(dir)
			require.NoError(t, err)
			require.NoError(t, os.Rename(w.dir, w.fresh))
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
		w, err := targetOf(dir)
		require.NoError(t, err)
		require.NoError(t, os.Mkdir(w.fresh, 0o777))
		out, err := verify(dir)
		require.NoError(t, err)
		assert.Contains(t, out, "cut off")
	})
}

// The values of a record, each changed by itself in a folder that is otherwise as
// it was written: verify names the record, and so does make, which does not
// replace it unless forced. One value of each key in each section is tried, and
// one of each list.
func TestEditedRecordIsNamed(t *testing.T) {
	b := buildJob(t, smallJob)
	files := b.Files
	dir := filepath.Join(t.TempDir(), "out")
	require.NoError(t, replaceFolder(context.Background(), dir, files, folderOptions{}))
	sound, err := os.ReadFile(filepath.Join(dir, work.RecordName))
	require.NoError(t, err)
	edits := recordEdits(string(sound))
	require.Greater(t, len(edits), 150)
	codes := map[string]int{}
	for i, edited := range edits {
		require.NotEqual(t, string(sound), edited)
		put(t, dir, work.RecordName, edited)
		out, err := verify(dir)
		list := problem.From(err)
		require.NotEmpty(t, list, edited)
		require.Empty(t, out)
		require.Contains(t, list.Error(), work.RecordName)
		require.NotEmpty(t, list[0].Help)
		codes["verify "+list[0].Code]++
		if i%4 != 0 { // make looks with the same eyes
			continue
		}
		err = replaceFolder(context.Background(), dir, files, folderOptions{})
		list = problem.From(err)
		require.NotEmpty(t, list, edited)
		require.Contains(t, list.Error(), work.RecordName)
		codes["make "+list[0].Code]++
	}
	t.Logf("%d edits of the record, each named by verify, each fourth refused by make: %v", len(edits), codes)
	require.Greater(t, codes["make F015"], 30)

	put(t, dir, work.RecordName, strings.Replace(string(sound), `"turn_deg":`, `"turn_deg":1`, 1))
	var said, errw bytes.Buffer
	require.Equal(t, exitProblem, run(context.Background(), []string{"make", smallJob, "-o", dir}, nil, &said, &errw))
	require.Contains(t, errw.String(), "edited since it was written: record.json")
	require.Equal(t, exitDone, run(context.Background(), []string{"make", smallJob, "-o", dir, "--force"}, nil, &said, &errw), errw.String())
	_, err = verify(dir)
	require.NoError(t, err)
}

// recordEdits are a record with one value changed, for the first value of each
// key in each section, and the first of each list.
func recordEdits(text string) []string {
	value := regexp.MustCompile(`"([a-z0-9_]+)": ?("(?:[^"\\]|\\.)*"|-?[0-9][0-9.]*|true|false|null)|(?:"([a-z0-9_]+)": ?)\[+("(?:[^"\\]|\\.)*"|-?[0-9][0-9.]*)`)
	heads := regexp.MustCompile(`(?m)^"[a-z]+": `)
	var out []string
	seen := map[string]bool{}
	for _, at := range value.FindAllStringSubmatchIndex(text, -1) {
		key, from, to := "", at[4], at[5]
		if at[2] >= 0 {
			key = text[at[2]:at[3]]
		} else {
			key, from, to = text[at[6]:at[7]]+"[]", at[8], at[9]
		}
		section := len(heads.FindAllString(text[:at[1]], -1))
		if id := fmt.Sprint(section, key); seen[id] {
			continue
		} else {
			seen[id] = true
		}
		was := text[from:to]
		with := map[string]string{"true": "false", "false": "true", "null": "1", "0": "1"}[was]
		switch {
		case with != "":
		case was[0] == '"':
			with = `"x` + was[1:]
		default:
			with = was[:len(was)-1] + string('0'+(was[len(was)-1]-'0'+1)%10)
		}
		out = append(out, text[:from]+with+text[to:])
	}
	return out
}

// editRecord changes the record and computes its own hash anew, so that no hash
// can tell.
func editRecord(old, put string) func(*testing.T, string) {
	return func(t *testing.T, dir string) {
		name := filepath.Join(dir, work.RecordName)
		b, err := os.ReadFile(name)
		require.NoError(t, err)
		s := strings.Replace(string(b), old, put, 1)
		require.NotEqual(t, string(b), s)
		own := regexp.MustCompile(`(?m)^"self": ".*"$`)
		blank := own.ReplaceAllString(s, `"self": ""`)
		s = own.ReplaceAllString(s, fmt.Sprintf(`"self": "%x"`, sha256.Sum256([]byte(blank))))
		require.NoError(t, os.WriteFile(name, []byte(s), 0o600))
	}
}
