package main

import (
	"errors"
	"fmt"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"runtime/debug"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/rogpeppe/go-internal/testscript"
	"github.com/spf13/cobra"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"go.uber.org/goleak"
)

// TestMain lets scripts run the program as "spotjig", through the real main, and
// fails when the tests leave a goroutine behind.
func TestMain(m *testing.M) {
	testscript.Main(leaveNone{m}, map[string]func(){"spotjig": main, withoutExchange: mainWithoutExchange, unconfirming: mainUnconfirming})
}

// roomyGC lets the tests' heap grow further than the command's: whole jobs are made by the
// dozen, and memory is cheaper here than collecting it.
const roomyGC = 400

// leaveNone runs tests and looks for goroutines left behind.
type leaveNone struct{ m *testing.M }

func (l leaveNone) Run() int {
	debug.SetGCPercent(roomyGC)
	os.Setenv("GOGC", strconv.Itoa(roomyGC)) // for the programs that tests start
	code := l.m.Run()
	if err := goleak.Find(); err != nil && code == 0 {
		fmt.Fprintln(os.Stderr, "left behind:", err)
		return 1
	}
	return code
}

// scriptParams are shared by all scripts: "exits N COMMAND..." holds a command to its
// exit status, $TESTDATA is the repository's testdata, and what begins with [all] is left to
// a run with SPOTJIG_ALL=1.
func scriptParams(t *testing.T) testscript.Params {
	t.Helper()
	data, err := filepath.Abs(filepath.Join(root, "testdata"))
	require.NoError(t, err)
	return testscript.Params{
		Setup: func(env *testscript.Env) error {
			env.Setenv("TESTDATA", data)
			env.Setenv("GOGC", strconv.Itoa(roomyGC))
			return nil
		},
		Cmds: map[string]func(ts *testscript.TestScript, neg bool, args []string){"exits": exits},
		Condition: func(name string) (bool, error) {
			if name != "all" {
				return false, fmt.Errorf("unknown condition %q", name)
			}
			return os.Getenv("SPOTJIG_ALL") != "", nil
		},
	}
}

// exits runs a command and compares its exit status.
func exits(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) < 2 {
		ts.Fatalf("usage: exits STATUS COMMAND ARGS...")
	}
	want, err := strconv.Atoi(args[0])
	ts.Check(err)
	got := 0
	var exit *exec.ExitError
	if err := ts.Exec(args[1], args[2:]...); errors.As(err, &exit) {
		got = exit.ExitCode()
	} else if err != nil {
		ts.Fatalf("%v", err)
	}
	if got != want {
		ts.Fatalf("exit status %d, want %d", got, want)
	}
}

func TestScripts(t *testing.T) {
	t.Parallel()
	files, err := filepath.Glob("testdata/script/*.txtar")
	require.NoError(t, err)
	require.NotEmpty(t, files)
	p := scriptParams(t)
	all := os.Getenv("SPOTJIG_ALL") != ""
	for _, f := range files {
		// Many sets each: between two edits other tests look at the most of it.
		long := slices.Contains([]string{"coupon.txtar", "marked.txtar", "share.txtar", "units.txtar"}, filepath.Base(f))
		some := slices.Contains([]string{"completion.txtar", "explain.txtar", "make.txtar"}, filepath.Base(f))
		if all || !long && !(testing.Short() && some) {
			p.Files = append(p.Files, f)
		}
	}
	testscript.Run(t, p)
}

// fence is a block of README.md between its marks, however far it is set in.
var fence = regexp.MustCompile("(?m)^ *```([a-z]+)(?: ([a-z.-]+))?\n((?:.*\n)*?) *```$")

// readmeScript turns README.md into a script: its shell blocks in order, and the
// files that it tells the reader to save.
func readmeScript(readme string) (script string, commands int) {
	var run, files strings.Builder
	for _, m := range fence.FindAllStringSubmatch(readme, -1) {
		language, name, body := m[1], m[2], m[3]
		if name != "" {
			files.WriteString("-- " + name + " --\n")
			for _, l := range strings.SplitAfter(body, "\n") {
				files.WriteString(strings.TrimLeft(l, " "))
			}
			continue
		}
		if language != "sh" {
			continue
		}
		for _, l := range strings.Split(body, "\n") {
			l = strings.TrimSpace(l)
			if c, ok := strings.CutPrefix(l, "go run ./cmd/spotjig"); ok {
				l = "spotjig" + c
			}
			if strings.HasPrefix(l, "spotjig ") {
				run.WriteString("exec " + l + "\n")
				commands++
			}
		}
	}
	return run.String() + files.String(), commands
}

// What README.md tells a reader to type works as it stands, from top to bottom.
func TestReadmeCommands(t *testing.T) {
	if testing.Short() {
		t.Skip("the demo and three other jobs: left out with -short")
	}
	data, err := os.ReadFile(filepath.Join(root, "README.md"))
	require.NoError(t, err)
	script, commands := readmeScript(string(data))
	require.GreaterOrEqual(t, commands, 8, script)
	file := filepath.Join(t.TempDir(), "readme.txtar")
	require.NoError(t, os.WriteFile(file, []byte(script), 0o644))
	p := scriptParams(t)
	p.Files = []string{file}
	testscript.Run(t, p)
}

// The table of commands names every command and every flag, and no other.
func TestReadmeListsEveryFlag(t *testing.T) {
	data, err := os.ReadFile(filepath.Join(root, "README.md"))
	require.NoError(t, err)
	_, section, _ := strings.Cut(string(data), "\n## Commands\n")
	section, _, _ = strings.Cut(section, "\n## ")
	rows := map[string]string{}
	for _, m := range regexp.MustCompile("(?m)^\\| `spotjig ([a-z]+)[^`]*` \\|.*$").FindAllStringSubmatch(section, -1) {
		rows[m[1]] = m[0]
	}
	for _, c := range commands(nil, io.Discard, io.Discard) {
		row := rows[c.Name()]
		if !assert.NotEmpty(t, row, "no row for %s", c.Name()) {
			continue
		}
		checkFlags(t, c, row)
		delete(rows, c.Name())
	}
	assert.Empty(t, rows, "commands that are no more")
}

// checkFlags compares a command's flags with those of its row.
func checkFlags(t *testing.T, c *cobra.Command, row string) {
	t.Helper()
	known := map[string]bool{}
	for _, m := range regexp.MustCompile(`(?m)^ +(?:-(\w), )?--([a-z-]+)`).FindAllStringSubmatch(c.Flags().FlagUsages(), -1) {
		known["--"+m[2]] = true
		if m[1] != "" {
			assert.Contains(t, row, "-"+m[1], c.Name())
			continue
		}
		assert.Contains(t, row, "--"+m[2], c.Name())
	}
	for _, f := range regexp.MustCompile(`--[a-z-]+`).FindAllString(row, -1) {
		assert.True(t, known[f], "%s has no flag %s", c.Name(), f)
	}
}

// The tests that README.md sends a doubter to are there.
func TestReadmeNamesTests(t *testing.T) {
	data, err := os.ReadFile(filepath.Join(root, "README.md"))
	require.NoError(t, err)
	found := regexp.MustCompile("`go test (?:-tags [a-z]+ )?\\./([a-z0-9/]+) -run '?([A-Za-z|\\\\]+)'?(?: -v)?`").FindAllStringSubmatch(string(data), -1)
	require.GreaterOrEqual(t, len(found), 5)
	require.Equal(t, strings.Count(string(data), "`go test ")-strings.Count(string(data), "`go test ./...`"), len(found), "one of them is not understood")
	for _, m := range found {
		files, err := filepath.Glob(filepath.Join(root, filepath.FromSlash(m[1]), "*_test.go"))
		require.NoError(t, err)
		var source strings.Builder
		for _, f := range files {
			text, err := os.ReadFile(f)
			require.NoError(t, err)
			source.Write(text)
		}
		for _, name := range strings.Split(strings.ReplaceAll(m[2], `\`, ""), "|") {
			assert.Regexp(t, `(?m)^func Test\w*`+name, source.String(), "%s has no test called %s", m[1], name)
		}
	}
}

// README.md and DEVELOPERS.md stay pages that are read: 22 kB. What does not fit belongs
// into explain, a schema, a command's help, or testdata/evidence.md.
func TestReadmeIsShort(t *testing.T) {
	for _, name := range []string{"README.md", "DEVELOPERS.md"} {
		data, err := os.ReadFile(filepath.Join(root, name))
		require.NoError(t, err)
		assert.LessOrEqual(t, len(data), 22<<10, name)
	}
}
