package main

import (
	"bytes"
	"encoding/json"
	"fmt"
	"maps"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"
	"unicode/utf8"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"spotjig/cmd/spotjig/terminal"
	"spotjig/layout/problem"
)

// hostileText are strings that try to leave their place in some format, by name.
func hostileText(t testing.TB) map[string]string {
	t.Helper()
	data, err := os.ReadFile("../../testdata/hostile.txt")
	require.NoError(t, err)
	out := map[string]string{}
	for line := range strings.Lines(string(data)) {
		if strings.HasPrefix(line, "#") {
			continue
		}
		f := strings.Split(strings.TrimSuffix(line, "\n"), "\t")
		text, err := strconv.Unquote(f[len(f)-1])
		require.NoError(t, err, line)
		if len(f) == 3 {
			n, err := strconv.Atoi(f[1])
			require.NoError(t, err, line)
			text = strings.Repeat(text, n)
		}
		out[f[0]] = text
	}
	require.Greater(t, len(out), 25)
	return out
}

// printableHostile are the hostile texts that are one printable line, which a
// file may well hold: they are letters like any other.
func printableHostile(s string) bool {
	for _, r := range s {
		if problem.Unseen(r) || r == utf8.RuneError {
			return false
		}
	}
	return len(s) < 200
}

// TestHostileTextInAFile writes each hostile text, quoted, in the place of every
// value of a job file with every kind of key. What cannot be printed is refused
// with its place, and the message is plain.
func TestHostileTextInAFile(t *testing.T) {
	t.Parallel()
	base := fullJob(t)
	lines := strings.Split(base, "\n")
	value := regexp.MustCompile(`^(\s*(?:- )?[a-z_]+: )(\S.*)$`)
	hostile := hostileText(t)
	names := slices.Sorted(maps.Keys(hostile))
	every := 19
	switch {
	case os.Getenv("SPOTJIG_ALL") != "":
		every = 1
	case testing.Short():
		every = len(names)
	}
	keys, cases := 0, 0
	for i, line := range lines {
		at := value.FindStringSubmatch(line)
		if at == nil {
			continue
		}
		keys++
		for k, name := range names {
			if (k+i)%every != 0 {
				continue // every nineteenth, another one for each key
			}
			text := hostile[name]
			quoted, err := json.Marshal(text)
			require.NoError(t, err)
			if !utf8.ValidString(text) {
				quoted = []byte(`"` + text + `"`)
			}
			changed := append([]string(nil), lines...)
			changed[i] = at[1] + string(quoted)
			err = readAll(t, strings.Join(changed, "\n"))
			cases++
			if err == nil {
				if strings.HasPrefix(line, "notes:") { // its line ends become blanks
					text = strings.NewReplacer("\n", " ", "\r", " ", "\t", " ").Replace(text)
				}
				assert.True(t, printableHostile(text), "%s taken in %q", name, line)
				continue
			}
			list := problem.From(err)
			require.NotEmpty(t, list, "%v", err)
			assert.Positive(t, list[0].Line, "%s in %q: %v", name, line, list[0])
			var screen bytes.Buffer
			w := &terminal.Plain{W: &screen}
			fmt.Fprintln(w, list.Error())
			require.NoError(t, w.Close())
			assert.Less(t, screen.Len(), 20_000, "%s in %q", name, line)
			requirePlain(t, name, strings.ReplaceAll(screen.String(), "\n", ""))
		}
	}
	assert.Greater(t, keys, 60)
	t.Logf("%d keys, %d cases", keys, cases)
}

// fullJob is a job file with a key of every kind, one a line.
func fullJob(t testing.TB) string {
	text, err := os.ReadFile("../../testdata/full.yaml")
	require.NoError(t, err)
	require.NoError(t, readAll(t, string(text)))
	return string(text)
}

// readAll reads a job file's text and all its sections, without designing a jig.
func readAll(t testing.TB, text string) error {
	t.Helper()
	name := filepath.Join(t.TempDir(), "job.yaml")
	require.NoError(t, os.WriteFile(name, []byte(text), 0o600))
	l, err := loadJob(name)
	if err != nil {
		return err
	}
	_, _, err = l.Sheet()
	return err
}

// requirePlain asserts that a text has nothing in it that does something
// instead of being seen, a tab between cells apart.
func requirePlain(t *testing.T, name, s string) {
	t.Helper()
	require.True(t, utf8.ValidString(s), name)
	for _, r := range s {
		require.False(t, problem.Unseen(r) && r != '\t', "%s: %U", name, r)
	}
}
