package main

import (
	"bytes"
	"context"
	"fmt"
	"os"
	"path/filepath"
	"runtime/debug"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"spotjig/cam/jig"
	"spotjig/cam/machine"
	jobfile "spotjig/layout/job"
)

// jobFiles are all jobs of testdata, found by pattern.
func jobFiles(t testing.TB) []string {
	files, err := filepath.Glob("../../testdata/jobs/*.yaml")
	require.NoError(t, err)
	require.NotEmpty(t, files)
	return files
}

// buildJob builds a job file in memory; path "" is the demo.
func buildJob(t testing.TB, path string, hook steps) built {
	l, err := loadJob(path)
	require.NoError(t, err)
	b, err := build(context.Background(), &l, hook)
	require.NoError(t, err)
	return b
}

// TestEveryJobIsProved makes every job of testdata in memory. The proofs inside
// make must all have run, and none may fail: the cut as read back leaves the
// nominal parts within 0.002 mm, every opening lies on its mark within 0.001 mm,
// and every program is within the machine.
func TestEveryJobIsProved(t *testing.T) {
	for _, file := range jobFiles(t) {
		// The whole list takes minutes on a small machine: SPOTJIG_ALL=1 runs it.
		if os.Getenv("SPOTJIG_ALL") == "" && !quickJob(file) {
			continue
		}
		t.Run(filepath.Base(file), func(t *testing.T) {
			t.Parallel()
			b := buildJob(t, file, steps{})
			seen := map[string]bool{}
			for _, c := range b.set.Checks {
				kind, _, _ := strings.Cut(c.ID, ":")
				seen[kind] = true
				assert.NotEqual(t, jig.Fail, c.Verdict, "%s: %g against %g: %s", c.ID, c.Value, c.Limit, c.Text)
			}
			want := []string{"as-assembled", "as-covered", "as-grown", "as-joined", "dxf", "marks-csv", "record", "spots"}
			switch b.set.Machine.Process {
			case machine.Laser:
				want = append(want, "as-read", "as-cut", "as-marked", "as-ordered", "dry-run", "web", "tip")
			case machine.Knife:
				want = append(want, "as-read", "as-ordered", "tip-path", "tip-complete", "tip-depth", "tip-overrun", "dry-run")
			}
			for _, id := range want {
				assert.True(t, seen[id], "no check %q among %v", id, seen)
			}
		})
	}
}

// quickJob picks the jobs that every test run proves: a bed of each kind, the
// survey, house marks, a shop and card.
func quickJob(file string) bool {
	for _, part := range []string{"600x400", "100x50-bed-300x200", "full-bed-900x600", "bar-survey", "house-marks", "shop", "card"} {
		if strings.Contains(file, part) {
			return true
		}
	}
	return false
}

func TestSameJobSameBytes(t *testing.T) {
	first := buildJob(t, "", steps{})
	buildJob(t, "../../testdata/jobs/78x39-bed-600x400-both.yaml", steps{})
	again := buildJob(t, "", steps{})
	require.Equal(t, len(first.files), len(again.files))
	for i, f := range first.files {
		assert.Equal(t, f.name, again.files[i].name)
		assert.True(t, bytes.Equal(f.data, again.files[i].data), "%s differs", f.name)
	}
}

// TestFailedCheckWritesNothing runs the whole command over a folder that exists.
func TestFailedCheckWritesNothing(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "out")
	var out, errw bytes.Buffer
	require.Equal(t, exitDone, run(context.Background(), []string{"make", "-o", dir}, nil, &out, &errw), errw.String())
	before, err := os.ReadFile(filepath.Join(dir, "record.json"))
	require.NoError(t, err)
	job := filepath.Join(t.TempDir(), "tight.yaml")
	text := strings.Replace(string(jobfile.Demo()), "tolerance: 1.5 mm", "tolerance: 0.2 mm", 1)
	require.NoError(t, os.WriteFile(job, []byte(text), 0o644))
	require.Equal(t, exitProblem, run(context.Background(), []string{"make", job, "-o", dir}, nil, &out, &errw))
	assert.Contains(t, errw.String(), "budget:")
	after, err := os.ReadFile(filepath.Join(dir, "record.json"))
	require.NoError(t, err)
	assert.Equal(t, before, after)
}

// BenchmarkMake is the whole job in process, to memory.
func BenchmarkMake(b *testing.B) {
	defer debug.SetGCPercent(debug.SetGCPercent(gcPercent))
	for _, c := range []struct{ name, job string }{
		{"demo", ""},
		{"full size on 300x200", "../../testdata/jobs/full-bed-300x200-snooker.yaml"},
	} {
		b.Run(c.name, func(b *testing.B) {
			b.ReportAllocs()
			for range b.N {
				l, err := loadJob(c.job)
				require.NoError(b, err)
				made, err := build(context.Background(), &l, steps{})
				require.NoError(b, err)
				if len(made.files) == 0 {
					b.Fatal(fmt.Errorf("nothing made"))
				}
			}
		})
	}
}
