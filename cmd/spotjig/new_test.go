package main

import (
	"bytes"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"spotjig/cam/machine"
	"spotjig/layout/job"
	"spotjig/layout/problem"
)

func TestNewCmdBindsFlags(t *testing.T) {
	var got newOptions
	c := newNewCmd(func(o newOptions) error { got = o; return nil })
	c.SetIn(strings.NewReader(""))
	c.SetArgs([]string{"club.yaml", "--size", "8 ft pool", "--length", "88 in", "--width", "44 in", "--games", "pool,snooker", "--machine", "laser-900x600"})
	require.NoError(t, c.Execute())
	assert.Equal(t, newOptions{file: "club.yaml", given: job.Answers{Size: "8 ft pool", Length: "88 in", Width: "44 in", Games: "pool,snooker", Machine: "laser-900x600"}}, got)

	c = newNewCmd(func(newOptions) error { t.Fatal("ran without a file"); return nil })
	c.SilenceErrors, c.SilenceUsage = true, true
	c.SetArgs([]string{}) // nil would be the test's own arguments
	assert.Error(t, c.Execute())
}

// What new writes is a job that reads, with what was given in it.
func TestNewWritesAJobThatReads(t *testing.T) {
	tests := []struct {
		name string
		o    newOptions
		l    float64
	}{
		{"nothing given", newOptions{}, 2540},
		{"all given", newOptions{given: job.Answers{Size: `Ann's "best": # 1`, Length: `8' 4"`, Width: "1268", Games: "snooker, pool", Machine: "laser-900x600"}}, 2540},
		{"a knife", newOptions{given: job.Answers{Size: "7 ft pool", Machine: "knife-600x300"}}, 1981.2},
		{"a shop", newOptions{given: job.Answers{Machine: "shop"}}, 2540},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			tt.o.file = filepath.Join(t.TempDir(), "job.yaml")
			var out bytes.Buffer
			require.NoError(t, runNew(tt.o, strings.NewReader("never read"), &out))
			assert.Contains(t, out.String(), "wrote "+tt.o.file)
			data, err := os.ReadFile(tt.o.file)
			require.NoError(t, err)
			j, _, err := job.Read(tt.o.file, data, job.Options{})
			require.NoError(t, err)
			assert.InDelta(t, tt.l, j.Table.L, 1e-9)
			if tt.o.given.Size != "" {
				assert.Equal(t, tt.o.given.Size, j.Table.Name)
			}
			p, _, _, err := machine.Read(j.Machine, j.Material, machine.Options{})
			require.NoError(t, err)
			if tt.o.given.Machine != "" {
				want, _ := machine.Lookup(tt.o.given.Machine)
				assert.Equal(t, want.Process, p.Process)
				assert.Equal(t, want.Max, p.Max)
			}
		})
	}
}

func TestNewRefuses(t *testing.T) {
	dir := t.TempDir()
	there := filepath.Join(dir, "there.yaml")
	require.NoError(t, os.WriteFile(there, []byte("mine"), 0o644))
	link := filepath.Join(dir, "link.yaml")
	require.NoError(t, os.Symlink(filepath.Join(dir, "gone"), link))
	tests := []struct {
		name string
		o    newOptions
		code string
	}{
		{"a file that exists", newOptions{file: there}, "F024"},
		{"a link to nowhere", newOptions{file: link}, "F024"},
		{"a folder", newOptions{file: dir}, "F024"},
		{"no such folder", newOptions{file: filepath.Join(dir, "no", "x.yaml")}, "F025"},
		{"unknown machine", newOptions{file: filepath.Join(dir, "a"), given: job.Answers{Machine: "laser-600x500"}}, "M001"},
		{"unknown game", newOptions{file: filepath.Join(dir, "b"), given: job.Answers{Games: "poool"}}, "J012"},
		{"a slate size", newOptions{file: filepath.Join(dir, "c"), given: job.Answers{Length: "108 in", Width: "54 in"}}, "J013"},
		{"no length", newOptions{file: filepath.Join(dir, "d"), given: job.Answers{Length: "long", Width: "50 in"}}, "L001"},
		{"text that would be more YAML", newOptions{file: filepath.Join(dir, "e"), given: job.Answers{Size: "x\ngames: [snooker]"}}, "J004"},
		{"an escape", newOptions{file: filepath.Join(dir, "f"), given: job.Answers{Size: "x\x1b]0;x\a"}}, "J004"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			err := runNew(tt.o, strings.NewReader(""), &bytes.Buffer{})
			require.Error(t, err)
			require.NotEmpty(t, problem.From(err), err.Error())
			assert.Equal(t, tt.code, problem.From(err)[0].Code, err.Error())
			if tt.code != "F024" {
				assert.NoFileExists(t, tt.o.file)
			}
		})
	}
	data, err := os.ReadFile(there)
	require.NoError(t, err)
	assert.Equal(t, "mine", string(data))
	_, err = os.Lstat(filepath.Join(dir, "gone"))
	assert.ErrorIs(t, err, os.ErrNotExist)
}

// What is answered stands in the file; the questions come first.
func TestNewAsksOnATerminal(t *testing.T) {
	file := filepath.Join(t.TempDir(), "job.yaml")
	var out bytes.Buffer
	require.NoError(t, runNew(newOptions{file: file, terminal: true}, strings.NewReader("8 ft pool\n"), &out))
	assert.Regexp(t, `^Table as sold, .*\n?.*wrote `, out.String())
	data, err := os.ReadFile(file)
	require.NoError(t, err)
	assert.Contains(t, string(data), "\n  size: 8 ft pool ")
}

// Someone who gave a flag, or no one at all, is not asked.
func TestNewDoesNotAskOtherwise(t *testing.T) {
	for name, o := range map[string]newOptions{"flag": {terminal: true, given: job.Answers{Games: "pool"}}, "pipe": {}} {
		o.file = filepath.Join(t.TempDir(), "job.yaml")
		var out bytes.Buffer
		require.NoError(t, runNew(o, strings.NewReader("snooker\n"), &out), name)
		assert.NotContains(t, out.String(), "]: ", name)
	}
}
