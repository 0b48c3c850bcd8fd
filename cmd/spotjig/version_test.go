package main

import (
	"bytes"
	"context"
	"encoding/json"
	"os"
	"path/filepath"
	"runtime/debug"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"spotjig/cmd/spotjig/stamp"
	"spotjig/layout/job"
	"spotjig/post/work"
)

// The stamp stands in the head of every file but the two whose formats have no head: the
// table of marks, and the hashes, which are over all others.
func TestStampInEveryHead(t *testing.T) {
	texts := []string{quickLaser, shortCard}
	if testing.Short() {
		texts = texts[:1]
	}
	if os.Getenv("SPOTJIG_ALL") != "" { // larger ones, which write files of the same kinds
		card, err := os.ReadFile("../../testdata/jobs/knife-card.yaml")
		require.NoError(t, err)
		texts = append(texts, string(job.Demo()), string(card))
	}
	for _, text := range texts {
		o, err := work.Read("job.yaml", []byte(text), nil)
		require.NoError(t, err)
		opt := makeDefaults
		opt.Version, opt.SVG = "0.1.0+0123456789ab.changed", true
		made, err := o.Build(context.Background(), opt)
		require.NoError(t, err)
		require.Empty(t, made.Failures())
		for _, f := range made.Files {
			if f.Name == "marks.csv" || f.Name == work.SumsName {
				continue
			}
			if filepath.Ext(f.Name) == ".pdf" {
				// A producer in UTF-16, which a reader of PDF shows in its properties.
				assert.Contains(t, strings.ReplaceAll(string(f.Data), "\x00", ""), opt.Version, f.Name)
				continue
			}
			head := f.Data[:min(len(f.Data), 1000)]
			assert.Contains(t, string(head), opt.Version, f.Name)
		}
	}
}

// Pieces are lettered with the version alone: two builds that cut the same write the same
// moves, and only the heads tell them apart.
func TestStampMovesNothing(t *testing.T) {
	moves := func(made work.Made, stamp string) string {
		for _, f := range made.Files {
			if f.Name == "sheet-1.nc" {
				return strings.ReplaceAll(string(f.Data), stamp, "")
			}
		}
		t.Fatal("no program")
		return ""
	}
	o, err := work.Read("job.yaml", []byte(quickLaser), nil)
	require.NoError(t, err)
	opt := makeDefaults
	opt.Version = version + "+0123456789ab"
	require.NotEqual(t, makeDefaults.Version, opt.Version)
	made, err := o.Build(context.Background(), opt)
	require.NoError(t, err)
	assert.Equal(t, moves(buildText(t, quickLaser), makeDefaults.Version), moves(made, opt.Version))
}

func TestVersionAsJSON(t *testing.T) {
	s := stamp.Of(version, "", &debug.BuildInfo{GoVersion: "go1.26", Settings: []debug.BuildSetting{{Key: "vcs.revision", Value: "abc"}, {Key: "vcs.modified", Value: "true"}}})
	var out bytes.Buffer
	require.NoError(t, runVersion(versionOptions{json: true}, s, &out))
	var got map[string]any
	require.NoError(t, json.Unmarshal(out.Bytes(), &got))
	delete(got, "target")
	assert.Equal(t, map[string]any{"version": version, "stamp": version + "+abc.changed", "problems": []any{}, "module": "", "commit": "abc", "date": "", "changed": true, "go": "go1.26"}, got)
}
