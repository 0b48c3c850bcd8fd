package main

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

	"github.com/spf13/cobra"

	"spotjig/cam/jig"
	"spotjig/cmd/spotjig/folder"
	"spotjig/layout/figure"
	"spotjig/layout/problem"
	"spotjig/post/web"
)

// pageOptions are the flags of page.
type pageOptions struct {
	out    string
	serve  bool
	source string // the checkout; "" the one that the current folder is in
	stamp  string // what a builder who has only the source says of it; "" ask git
}

func newPageCmd(run func(context.Context, pageOptions) error) *cobra.Command {
	var o pageOptions
	c := &cobra.Command{
		Use:   "page",
		Short: "The tool as a page for phone and browser, nothing installed",
		Long: "page compiles the program for the browser and puts it into one HTML page, with a\n" +
			"manifest and a service worker beside it that put the page on a phone's home screen.\n" +
			"It needs the source: run it inside a checkout, with Go installed. The page works\n" +
			"by double click, or from any web server; it loads nothing and sends nothing.\n" +
			"With --serve it is shown on this computer's own address until you press Ctrl-C.",
		Example: "  spotjig page -o page\n  spotjig page --serve",
		Args:    cobra.NoArgs,
		RunE:    func(c *cobra.Command, _ []string) error { return run(c.Context(), o) },
	}
	c.Flags().StringVarP(&o.out, "out", "o", "spotjig-page", "folder to write")
	c.Flags().BoolVar(&o.serve, "serve", false, "show the page on the loopback address instead")
	c.Flags().StringVar(&o.stamp, "stamp", "", "the source's `STAMP`, where no checkout tells it: it stands in every file")
	return c
}

// runPage builds the page and writes it, or shows it.
func runPage(ctx context.Context, o pageOptions, out io.Writer) error {
	if err := folderName("-o ", o.out); err != nil {
		return err
	}
	files, err := buildPage(ctx, o)
	if err != nil {
		return err
	}
	if o.serve {
		return servePage(ctx, files, out)
	}
	if err := writePage(o.out, files); err != nil {
		return err
	}
	size := 0
	for _, f := range files {
		size += len(f.Data)
	}
	_, err = fmt.Fprintf(out, "wrote %s, %s, to %s\nopen %s in a browser, or put the folder on a web server\n",
		figure.Count(len(files), "file"), figure.Count(size, "byte"), o.out, filepath.Join(o.out, web.PageName))
	return err
}

// pageFlags compile the page's program. A call inlined is code twice: what is called a few
// times a job is left as it is written, what works through a set is not.
var pageFlags = []string{"-trimpath", "-buildvcs=false", "-ldflags=-s -w -buildid=", "-gcflags=all=-l", "-gcflags=spotjig/...=",
	"-gcflags=runtime/...=", "-gcflags=math/...=", "-gcflags=slices=", "-gcflags=strings=", "-gcflags=bytes="}

// buildPage compiles the program for the browser and makes the page of it.
func buildPage(ctx context.Context, o pageOptions) ([]web.File, error) {
	noSource := func(err error) error {
		return problem.Problem{Code: "F027", Msg: "the page cannot be built: " + err.Error(),
			Help: "run it inside a checkout of spotjig, with Go installed; a release carries the page ready made"}
	}
	told, err := tool(ctx, o.source, nil, "go", "list", "-m", "-f", "{{.Path}}\t{{.Dir}}")
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
	if _, err := tool(ctx, root, []string{"GOOS=js", "GOARCH=wasm"}, "go", slices.Concat([]string{"build", "-o", to}, pageFlags, []string{"./cmd/spotjig-page"})...); err != nil {
		return nil, noSource(err)
	}
	wasm, err := os.ReadFile(to)
	if err != nil {
		return nil, noSource(err)
	}
	stamp := o.stamp
	if stamp == "" {
		if stamp, err = sourceStamp(ctx, root); err != nil {
			return nil, noSource(err)
		}
	}
	return web.Files(web.Program{Wasm: wasm, Support: string(support), Version: stampText(stamp), Notice: jig.LetteringNotice()})
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
	s := buildStamp{Version: string(found[1])}
	// A folder inside another's checkout is not its top.
	if told, err := tool(ctx, root, nil, "git", "rev-parse", "--show-prefix", "HEAD"); err == nil {
		if prefix, commit, _ := strings.Cut(strings.TrimRight(told, "\n"), "\n"); prefix == "" {
			changes, err := tool(ctx, root, nil, "git", "status", "--porcelain")
			if err != nil {
				return "", err
			}
			s.Commit, s.Changed = commit, changes != ""
		}
	}
	return s.Version + "+" + s.state(), nil
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

// writePage writes the page's folder, which must be new, empty or an older page's.
func writePage(dir string, files []web.File) error {
	entries, err := os.ReadDir(dir)
	if errors.Is(err, fs.ErrNotExist) {
		err = os.Mkdir(dir, 0o755)
	}
	if err != nil {
		return problem.Problem{File: dir, Code: "F013", Msg: "cannot be written: " + folder.Reason(err), Help: "choose another folder with -o"}
	}
	for _, e := range entries {
		if !slices.ContainsFunc(files, func(f web.File) bool { return f.Name == e.Name() }) {
			return problem.Problem{File: dir, Code: "F014", Msg: "holds " + e.Name() + ", which is no part of a page", Help: "choose an empty or new folder with -o"}
		}
	}
	for _, f := range files {
		name := filepath.Join(dir, f.Name)
		err := os.WriteFile(name+".new", f.Data, 0o644)
		if err == nil {
			err = os.Rename(name+".new", name)
		}
		if err != nil {
			os.Remove(name + ".new")
			return problem.Problem{File: dir, Code: "F013", Msg: "cannot be written: " + folder.Reason(err), Help: "choose another folder with -o"}
		}
	}
	return nil
}

// pageTypes are the content types of the page's files.
var pageTypes = map[string]string{web.PageName: "text/html; charset=utf-8", web.ManifestName: "application/manifest+json", web.ServiceName: "text/javascript; charset=utf-8"}

// servePage shows the page on the loopback address until ctx ends.
func servePage(ctx context.Context, files []web.File, out io.Writer) error {
	listener, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		return err
	}
	if _, err := fmt.Fprintf(out, "http://%s/ shows the page to this computer; Ctrl-C ends it\n", listener.Addr()); err != nil {
		return errors.Join(err, listener.Close())
	}
	s := http.Server{Handler: pageHandler(files), ReadHeaderTimeout: 10 * time.Second}
	defer context.AfterFunc(ctx, func() { s.Close() })()
	if err := s.Serve(listener); !errors.Is(err, http.ErrServerClosed) {
		return err
	}
	return ctx.Err()
}

// pageHandler gives out the page's files and nothing else.
func pageHandler(files []web.File) http.Handler {
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
		w.Header().Set("Content-Type", pageTypes[name])
		w.Header().Set("X-Content-Type-Options", "nosniff")
		http.ServeContent(w, r, name, time.Time{}, bytes.NewReader(files[i].Data))
	})
}
