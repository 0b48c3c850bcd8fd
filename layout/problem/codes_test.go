package problem_test

import (
	"io/fs"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"spotjig/layout/problem"
)

var codeWord = regexp.MustCompile(`"([FJLMS]\d{3})"`)

// readerCode is a code of the readers of files; what later stages raise is tested
// with them.
var readerCode = regexp.MustCompile(`^(F|L|M|J0[0-8])`)
var codeInTest = regexp.MustCompile(`\b([FJLM]\d{3})\b`)

// codesIn collects the codes that files of the repository name.
func codesIn(t *testing.T, re *regexp.Regexp, want func(path string) bool) map[string]string {
	t.Helper()
	found := map[string]string{}
	files := 0
	for _, root := range []string{"../../layout", "../../cam", "../../post/work", "../../cmd", "../../testdata/jobs"} {
		err := filepath.WalkDir(root, func(path string, d fs.DirEntry, err error) error {
			if err != nil || d.IsDir() || !want(path) {
				return err
			}
			data, err := os.ReadFile(path)
			for _, m := range re.FindAllStringSubmatch(string(data), -1) {
				found[m[1]] = path
			}
			files++
			return err
		})
		require.NoError(t, err)
	}
	require.NotZero(t, files)
	return found
}

// The manual lists what the code raises, and nothing else.
func TestEveryCodeIsListed(t *testing.T) {
	raised := codesIn(t, codeWord, func(path string) bool {
		return strings.HasSuffix(path, ".go") && !strings.HasSuffix(path, "_test.go")
	})
	listed := map[string]bool{}
	last := ""
	for _, c := range problem.Codes() {
		assert.Less(t, last, c.ID, "sorted, each once")
		last = c.ID
		listed[c.ID] = true
		assert.Greater(t, len(c.Text), 30, "%s has no paragraph", c.ID)
		assert.True(t, raised[c.ID] != "", "%s is listed, but nothing raises it", c.ID)
	}
	for id, path := range raised {
		assert.True(t, listed[id], "%s: %s is not listed in layout/problem/codes.txt", path, id)
	}
}

// Every code of the readers of files is asked for by some test or bad file.
func TestEveryCodeIsTested(t *testing.T) {
	tested := codesIn(t, codeInTest, func(path string) bool {
		return strings.HasSuffix(path, "_test.go") || strings.HasSuffix(path, ".txtar") || strings.Contains(path, "/bad/")
	})
	for _, c := range problem.Codes() {
		if readerCode.MatchString(c.ID) {
			assert.True(t, tested[c.ID] != "", "%s: no test raises it", c.ID)
		}
	}
}
