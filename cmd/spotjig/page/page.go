// Package page makes the tool as a page from its source, writes its folder, and shows it to
// this computer.
package page

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"net"
	"net/http"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"time"

	"spotjig/cam/jig"
	"spotjig/cmd/spotjig/folder"
	"spotjig/cmd/spotjig/stamp"
	"spotjig/layout/problem"
	"spotjig/post/web"
)

// flags compile the page's program. A call inlined is code twice: what is called a few
// times a job is left as it is written, what works through a set is not.
var flags = []string{"-trimpath", "-buildvcs=false", "-ldflags=-s -w -buildid=", "-gcflags=all=-l", "-gcflags=spotjig/...=",
	"-gcflags=runtime/...=", "-gcflags=math/...=", "-gcflags=slices=", "-gcflags=strings=", "-gcflags=bytes="}

// Build compiles the program for the browser from a checkout, that of the current folder when
// source is "", and makes the page of it. given is the source's stamp where no checkout tells
// it. The error is a Problem.
func Build(ctx context.Context, source, given string) ([]web.File, error) {
	noSource := func(err error) error {
		return problem.Problem{Code: "F027", Msg: "the page cannot be built: " + err.Error(),
			Help: "run it inside a checkout of spotjig, with Go installed; a release carries the page ready made"}
	}
	told, err := tool(ctx, source, nil, "go", "list", "-m", "-f", "{{.Path}}\t{{.Dir}}")
	if err != nil {
		return nil, noSource(err)
	}
	module, root, _ := strings.Cut(strings.TrimSpace(told), "\t")
	if module != "spotjig" {
		return nil, noSource(errors.New("this folder is not in spotjig's source"))
	}
	goroot, err := tool(ctx, root, nil, "go", "env", "GOROOT")
	if err != nil {
		return nil, noSource(err)
	}
	support, err := os.ReadFile(filepath.Join(strings.TrimSpace(goroot), "lib", "wasm", "wasm_exec.js"))
	if err != nil {
		return nil, noSource(err)
	}
	tmp, err := os.MkdirTemp("", "spotjig-page-")
	if err != nil {
		return nil, noSource(err)
	}
	defer os.RemoveAll(tmp)
	to := filepath.Join(tmp, "page.wasm")
	if _, err := tool(ctx, root, []string{"GOOS=js", "GOARCH=wasm"}, "go", slices.Concat([]string{"build", "-o", to}, flags, []string{"./cmd/spotjig-page"})...); err != nil {
		return nil, noSource(err)
	}
	wasm, err := os.ReadFile(to)
	if err != nil {
		return nil, noSource(err)
	}
	if given == "" {
		if given, err = sourceStamp(ctx, root); err != nil {
			return nil, noSource(err)
		}
	}
	return web.Files(web.Program{Wasm: wasm, Support: string(support), Version: stamp.Text(given), Notice: jig.LetteringNotice()})
}

// versionLine is where the source says which version it is.
var versionLine = regexp.MustCompile(`(?m)^const version = "([^"]*)"$`)

// sourceStamp is the stamp of the source in a folder, as that of a program built there by
// Go, and not of the program that runs.
func sourceStamp(ctx context.Context, root string) (string, error) {
	text, err := os.ReadFile(filepath.Join(root, "cmd", "spotjig", "main.go"))
	if err != nil {
		return "", err
	}
	found := versionLine.FindSubmatch(text)
	if found == nil {
		return "", errors.New("the source does not say which version it is")
	}
	commit, changed := "", false
	// A folder inside another's checkout is not its top.
	if told, err := tool(ctx, root, nil, "git", "rev-parse", "--show-prefix", "HEAD"); err == nil {
		if prefix, head, _ := strings.Cut(strings.TrimRight(told, "\n"), "\n"); prefix == "" {
			changes, err := tool(ctx, root, nil, "git", "status", "--porcelain")
			if err != nil {
				return "", err
			}
			commit, changed = head, changes != ""
		}
	}
	return stamp.OfSource(string(found[1]), commit, changed), nil
}

// tool runs a command in a folder and returns what it prints.
func tool(ctx context.Context, dir string, env []string, name string, args ...string) (string, error) {
	c := exec.CommandContext(ctx, name, args...)
	c.Dir, c.Env = dir, append(os.Environ(), env...)
	var out, faults bytes.Buffer
	c.Stdout, c.Stderr = &out, &faults
	if err := c.Run(); err != nil {
		if first, _, _ := strings.Cut(strings.TrimSpace(faults.String()), "\n"); first != "" {
			err = errors.New(first)
		}
		return "", err
	}
	return out.String(), nil
}

// Check refuses a folder that is neither new, empty nor an older page's, or that would stand
// in none. It changes nothing, so that it is asked before a page is built.
func Check(dir string) error {
	entries, err := os.ReadDir(dir)
	if errors.Is(err, fs.ErrNotExist) {
		_, err = os.Stat(filepath.Dir(filepath.Clean(dir)))
	}
	if err != nil {
		return cannotWrite(dir, err)
	}
	for _, e := range entries {
		if _, ours := types[e.Name()]; !ours {
			return problem.Problem{File: dir, Code: "F014", Msg: "holds " + e.Name() + ", which is no part of a page", Help: "choose an empty or new folder with -o"}
		}
	}
	return nil
}

func cannotWrite(dir string, err error) problem.Problem {
	return problem.Problem{File: dir, Code: "F013", Msg: "cannot be written: " + folder.Reason(err), Help: "choose another folder with -o"}
}

// Write writes the page's folder, which must be one that Check lets pass.
func Write(dir string, files []web.File) error {
	if err := Check(dir); err != nil {
		return err
	}
	if err := os.Mkdir(dir, 0o755); err != nil && !errors.Is(err, fs.ErrExist) {
		return cannotWrite(dir, err)
	}
	for _, f := range files {
		name := filepath.Join(dir, f.Name)
		err := os.WriteFile(name+".new", f.Data, 0o644)
		if err == nil {
			err = os.Rename(name+".new", name)
		}
		if err != nil {
			os.Remove(name + ".new")
			return cannotWrite(dir, err)
		}
	}
	return nil
}

// types are the content types of the page's files: all there are.
var types = map[string]string{web.PageName: "text/html; charset=utf-8", web.ManifestName: "application/manifest+json", web.ServiceName: "text/javascript; charset=utf-8"}

// Serve shows the page on the loopback address until ctx ends.
func Serve(ctx context.Context, files []web.File, out io.Writer) error {
	listener, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		return err
	}
	if _, err := fmt.Fprintf(out, "http://%s/ shows the page to this computer; Ctrl-C ends it\n", listener.Addr()); err != nil {
		return errors.Join(err, listener.Close())
	}
	s := http.Server{Handler: Handler(files), ReadHeaderTimeout: 10 * time.Second}
	defer context.AfterFunc(ctx, func() { s.Close() })()
	if err := s.Serve(listener); !errors.Is(err, http.ErrServerClosed) {
		return err
	}
	return ctx.Err()
}

// Handler gives out the page's files and nothing else.
func Handler(files []web.File) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		name := strings.TrimPrefix(r.URL.Path, "/")
		if name == "" {
			name = web.PageName
		}
		i := slices.IndexFunc(files, func(f web.File) bool { return f.Name == name })
		if i < 0 || r.Method != http.MethodGet && r.Method != http.MethodHead {
			http.NotFound(w, r)
			return
		}
		w.Header().Set("Content-Type", types[name])
		w.Header().Set("X-Content-Type-Options", "nosniff")
		http.ServeContent(w, r, name, time.Time{}, bytes.NewReader(files[i].Data))
	})
}
