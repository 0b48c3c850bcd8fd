package main

import (
	"encoding/json"
	"fmt"
	"io"
	"runtime"
	"runtime/debug"

	"github.com/spf13/cobra"
)

// buildStamp tells one build of the program from another. Version is what stands in
// every file; two builds of one version differ by their commit.
type buildStamp struct {
	Version string `json:"version"`
	Module  string `json:"module"`  // as Go names it; "" when it does not
	Commit  string `json:"commit"`  // "" when not built inside a checkout
	Date    string `json:"date"`    // of the commit, never of the build
	Changed bool   `json:"changed"` // files differed from the commit
	Go      string `json:"go"`
	Target  string `json:"target"`
}

// thisBuild is the stamp of the running program, from what the Go linker wrote into it.
func thisBuild() buildStamp {
	info, ok := debug.ReadBuildInfo()
	if !ok {
		info = &debug.BuildInfo{}
	}
	return stampOf(info)
}

// stampOf reads a build's own information.
func stampOf(info *debug.BuildInfo) buildStamp {
	s := buildStamp{Version: version, Go: info.GoVersion, Target: runtime.GOOS + "/" + runtime.GOARCH}
	if info.Main.Version != "(devel)" {
		s.Module = info.Main.Version
	}
	for _, kv := range info.Settings {
		switch kv.Key {
		case "vcs.revision":
			s.Commit = kv.Value
		case "vcs.time":
			s.Date = kv.Value
		case "vcs.modified":
			s.Changed = kv.Value == "true"
		}
	}
	return s
}

// shortCommit is as many digits of a commit as a person compares.
const shortCommit = 12

// String is the stamp on one line.
func (s buildStamp) String() string {
	switch {
	case s.Commit == "" && s.Module != "":
		return fmt.Sprintf("%s (module %s)", s.Version, s.Module)
	case s.Commit == "":
		return s.Version + " (commit not known: built outside a checkout)"
	}
	text := fmt.Sprintf("%s (commit %.*s of %s", s.Version, shortCommit, s.Commit, s.Date)
	if s.Changed {
		text += ", changed since"
	}
	return text + ")"
}

// versionOptions are the flags of version.
type versionOptions struct{ json bool }

func newVersionCmd(run func(versionOptions) error) *cobra.Command {
	var o versionOptions
	c := &cobra.Command{
		Use:   "version",
		Short: "Which build of spotjig this is",
		Long: "version names the version that stands in every file, and the commit that this program\n" +
			"was built from. Files of the same job are the same, byte for byte, from the same build.",
		Example: "  spotjig version\n  spotjig version --json",
		Args:    cobra.NoArgs,
		RunE:    func(*cobra.Command, []string) error { return run(o) },
	}
	c.Flags().BoolVar(&o.json, "json", false, "report as JSON")
	return c
}

func runVersion(o versionOptions, s buildStamp, out io.Writer) error {
	if o.json {
		return printJSON(out, s)
	}
	_, err := fmt.Fprintf(out, "spotjig %s\n%s, %s\n", s, s.Go, s.Target)
	return err
}

// printJSON writes a value as JSON set in by two blanks, letters as they are.
func printJSON(out io.Writer, v any) error {
	e := json.NewEncoder(out)
	e.SetEscapeHTML(false)
	e.SetIndent("", "  ")
	return e.Encode(v)
}
