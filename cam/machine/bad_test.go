package machine_test

import (
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"spotjig/cam/machine"
	"spotjig/layout/job"
	"spotjig/layout/problem"
)

// expected is a fault that a bad file writes on its own line:
//
//	key: value    # ! J008 "part of what is said"
//
// A line that begins with "#!" expects a fault without a line.
type expected struct {
	line       int
	code, says string
}

var expectation = regexp.MustCompile(`# ?! ([A-Z]\d{3}) "(.*)"\s*$`)

func expectedIn(text string) []expected {
	var out []expected
	for i, line := range strings.Split(text, "\n") {
		if m := expectation.FindStringSubmatch(line); m != nil {
			e := expected{line: i + 1, code: m[1], says: m[2]}
			if strings.HasPrefix(line, "#!") {
				e.line = 0
			}
			out = append(out, e)
		}
	}
	return out
}

// readWhole reads a job file as the command does: the job, then its machine and
// material.
func readWhole(path string, data []byte) (job.Job, machine.Profile, machine.Material, problem.List, error) {
	j, notes, err := job.Read(path, data, job.Options{})
	if err != nil {
		return j, machine.Profile{}, machine.Material{}, notes, err
	}
	p, m, more, err := machine.Read(j.Machine, j.Material, machine.Options{Open: os.ReadFile})
	return j, p, m, append(notes, more...), err
}

// Each bad file gives the faults that it names, on their lines, and no others.
func TestBadFiles(t *testing.T) {
	paths, err := filepath.Glob("../../testdata/jobs/bad/*.yaml")
	require.NoError(t, err)
	require.NotEmpty(t, paths)
	for _, path := range paths {
		t.Run(filepath.Base(path), func(t *testing.T) {
			data, err := os.ReadFile(path)
			require.NoError(t, err)
			want := expectedIn(string(data))
			require.NotEmpty(t, want, "the file names no fault")

			_, _, _, _, err = readWhole(path, data)
			require.Error(t, err)
			got := problem.From(err)
			for _, p := range got {
				assert.Equal(t, path, p.File)
				assert.NotEmpty(t, p.Help)
				assert.True(t, p.Line == 0 || p.Col > 0, "no column: %s", p)
			}
			for _, w := range want {
				found := false
				for _, p := range got {
					if p.Line == w.line && p.Code == w.code {
						found = true
						assert.Contains(t, p.Field+": "+p.Msg, w.says)
					}
				}
				assert.True(t, found, "no %s on line %d", w.code, w.line)
			}
			assert.Len(t, got, len(want), "faults that the file does not name:\n%s", got)
		})
	}
}
