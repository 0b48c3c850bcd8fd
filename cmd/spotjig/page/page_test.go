package page

import (
	"bufio"
	"context"
	"io"
	"net/http"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"spotjig/post/web"
)

// The folder of a page is new, empty or an older page's: nothing else is written into.
func TestWrite(t *testing.T) {
	files, err := web.Files(web.Program{Wasm: []byte("\x00asm"), Version: "1"})
	require.NoError(t, err)
	dir := filepath.Join(t.TempDir(), "page")
	require.NoError(t, Write(dir, files))
	require.NoError(t, Write(dir, files), "an older page is replaced")
	assert.Len(t, types, len(files))
	for _, f := range files {
		assert.Contains(t, types, f.Name)
		got, err := os.ReadFile(filepath.Join(dir, f.Name))
		require.NoError(t, err)
		assert.Equal(t, f.Data, got)
	}
	require.NoError(t, os.WriteFile(filepath.Join(dir, "mine.txt"), nil, 0o600))
	assert.ErrorContains(t, Write(dir, files), "mine.txt")
	assert.ErrorContains(t, Check(dir), "F014")
	assert.ErrorContains(t, Write(filepath.Join(dir, "mine.txt"), files), "F013")
	assert.ErrorContains(t, Check(filepath.Join(dir, "no", "page")), "F013")
	fresh := filepath.Join(dir, "fresh")
	require.NoError(t, Check(fresh))
	assert.NoDirExists(t, fresh)
}

// The stamp is that of the source that is compiled, not of the program that compiles it.
func TestPageIsStampedAsItsSource(t *testing.T) {
	if _, err := exec.LookPath("git"); err != nil {
		t.Skip("skipped: no git")
	}
	ctx, dir := context.Background(), t.TempDir()
	file := filepath.Join(dir, "cmd", "spotjig", "main.go")
	require.NoError(t, os.MkdirAll(filepath.Dir(file), 0o755))
	_, err := sourceStamp(ctx, dir)
	require.ErrorContains(t, err, "main.go")
	require.NoError(t, os.WriteFile(file, []byte("package main\n"), 0o600))
	_, err = sourceStamp(ctx, dir)
	require.ErrorContains(t, err, "which version")
	require.NoError(t, os.WriteFile(file, []byte("package main\n\nconst version = \"7.8.9\"\n"), 0o600))
	is := func(want string) {
		t.Helper()
		got, err := sourceStamp(ctx, dir)
		require.NoError(t, err)
		assert.Equal(t, want, got)
	}
	git := func(args ...string) string {
		t.Helper()
		out, err := tool(ctx, dir, nil, "git", append([]string{"-c", "user.name=n", "-c", "user.email=e@example.org", "-c", "commit.gpgsign=false"}, args...)...)
		require.NoError(t, err)
		return strings.TrimSpace(out)
	}
	is("7.8.9+unknown")
	git("init", "-q")
	is("7.8.9+unknown")
	git("add", ".")
	git("commit", "-q", "-m", "m")
	commit := git("rev-parse", "HEAD")[:12]
	is("7.8.9+" + commit)
	require.NoError(t, os.WriteFile(filepath.Join(dir, "new.go"), []byte("package new\n"), 0o600))
	is("7.8.9+" + commit + ".changed")
	inner := filepath.Join(dir, "inner", "cmd", "spotjig")
	require.NoError(t, os.MkdirAll(inner, 0o755))
	require.NoError(t, os.WriteFile(filepath.Join(inner, "main.go"), []byte("const version = \"1.0.0\"\n"), 0o600))
	got, err := sourceStamp(ctx, filepath.Join(dir, "inner"))
	require.NoError(t, err)
	assert.Equal(t, "1.0.0+unknown", got, "the checkout round it is not its own")
}

// --serve gives the page's files to this computer, nothing else, and ends when asked to.
func TestServe(t *testing.T) {
	files, err := web.Files(web.Program{Wasm: []byte("\x00asm"), Version: "1"})
	require.NoError(t, err)
	ctx, cancel := context.WithCancel(context.Background())
	r, w := io.Pipe()
	done := make(chan error, 1)
	go func() { done <- Serve(ctx, files, w) }()
	line, err := bufio.NewReader(r).ReadString('\n')
	require.NoError(t, err)
	address, _, _ := strings.Cut(line, " ")
	require.True(t, strings.HasPrefix(address, "http://127.0.0.1:"), line)
	client := http.Client{Transport: &http.Transport{DisableKeepAlives: true}}
	for name, status := range map[string]int{"": 200, "index.html": 200, "sw.js": 200, "manifest.webmanifest": 200, "page.go": 404, "../page.go": 404} {
		got, err := client.Get(address + name)
		require.NoError(t, err)
		assert.Equal(t, status, got.StatusCode, name)
		require.NoError(t, got.Body.Close())
	}
	got, err := client.Post(address, "text/plain", nil)
	require.NoError(t, err)
	require.NoError(t, got.Body.Close())
	assert.Equal(t, 404, got.StatusCode, "it takes nothing")
	cancel()
	require.ErrorIs(t, <-done, context.Canceled)
}
