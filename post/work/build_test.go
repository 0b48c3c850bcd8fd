package work

import (
	"bytes"
	"context"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"spotjig/cam/jig"
	"spotjig/cam/machine"
)

// jobFiles are all jobs of testdata, found by pattern.
func jobFiles(t testing.TB) []string {
	files, err := filepath.Glob("../../testdata/jobs/*.yaml")
	require.NoError(t, err)
	require.NotEmpty(t, files)
	return files
}

// TestEveryJobIsProved makes every job of testdata in memory. The proofs inside
// make must all have run, and none may fail: the cut as read back leaves the
// nominal parts within 0.002 mm, every opening lies on its mark within 0.001 mm,
// and every program is within the machine.
func TestEveryJobIsProved(t *testing.T) {
	for i, file := range jobFiles(t) {
		// The whole list takes minutes on a small machine: SPOTJIG_ALL=1 runs it.
		if os.Getenv("SPOTJIG_ALL") == "" && !quickJob(file) || testing.Short() && i%4 != 0 {
			continue
		}
		t.Run(filepath.Base(file), func(t *testing.T) {
			t.Parallel()
			b := buildJob(t, file)
			seen := map[string]bool{}
			for _, c := range b.Set.Checks {
				kind, _, _ := strings.Cut(c.ID, ":")
				seen[kind] = true
				assert.NotEqual(t, jig.Fail, c.Verdict, "%s: %g against %g: %s", c.ID, c.Value, c.Limit, c.Text)
			}
			want := []string{"as-assembled", "as-covered", "as-grown", "as-joined", "dxf", "marks-csv", "record", "spots"}
			switch b.Set.Machine.Process {
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

// quickJob picks the jobs that every test run proves: a bed, the survey, house marks, a
// shop and card.
func quickJob(file string) bool {
	for _, part := range []string{"78x39-bed-600x400", "bar-survey", "house-marks", "shop", "card"} {
		if strings.Contains(file, part) {
			return true
		}
	}
	return false
}

// TestSameJobSameBytes makes a job again behind another, with nothing kept of the first time.
func TestSameJobSameBytes(t *testing.T) {
	long(t)
	first := buildJob(t, "")
	_, err := buildAnew("../../testdata/jobs/shop-9ft.yaml")
	require.NoError(t, err)
	o, err := loadJob("")
	require.NoError(t, err)
	again, err := o.Build(context.Background(), anew())
	require.NoError(t, err)
	require.Equal(t, len(first.Files), len(again.Files))
	for i, f := range first.Files {
		assert.Equal(t, f.Name, again.Files[i].Name)
		assert.True(t, bytes.Equal(f.Data, again.Files[i].Data), "%s differs", f.Name)
	}
}

// The longest of the thousand generated jobs that testdata/evidence.md tells of: three jigs
// of film, lettered in full; a jig of plate of which a dozen plans are drawn, because the usual
// one cannot be cut; and film whose tight arcs are cut as corners, with thousands of places
// to start at.
const longestCut, longestSearched, longestStarts = 5576, 5677, 5874

// BenchmarkMake is the whole job in process, to memory.
func BenchmarkMake(b *testing.B) {
	for _, c := range []struct {
		name, file string
		seed       uint64 // of a generated job; 0: the file
	}{
		{name: "demo"},
		{name: "full size on 300x200", file: "../../testdata/jobs/full-bed-300x200-snooker.yaml"},
		{name: "the longest to cut", seed: longestCut},
		{name: "the longest searched", seed: longestSearched},
		{name: "the most starts", seed: longestStarts},
	} {
		b.Run(c.name, func(b *testing.B) {
			load := func() (*Order, error) { return loadJob(c.file) }
			if c.seed > 0 {
				text := []byte(generatedJob(c.seed)) // a job is tried while it is drawn: that is not timed
				load = func() (*Order, error) { return Read("job.yaml", text, nil) }
			}
			b.ReportAllocs()
			b.ResetTimer()
			for range b.N {
				o, err := load()
				require.NoError(b, err)
				made, err := o.Build(context.Background(), anew())
				require.NoError(b, err)
				require.Empty(b, made.Failures())
				require.NotEmpty(b, made.Files)
			}
		})
	}
}
