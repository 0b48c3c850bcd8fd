package main

import (
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"regexp"
	"runtime"
	"runtime/debug"
	"strings"

	"spotjig/layout/problem"

	"github.com/spf13/cobra"

	"spotjig/cam/jig"
)

// stamped is what a builder without a checkout, who has only the source, says of it:
// go build -ldflags "-X main.stamped=0.1.0+0123456789ab". The linker sets it.
var stamped string

// buildStamp tells one build of the program from another. Stamp is what stands in every
// file: the version, and behind a + the commit (as semver 2.0.0, section 10, has it).
type buildStamp struct {
	Version string `json:"version"`
	Stamp   string `json:"stamp"`
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
	s := buildStamp{Version: version, Stamp: stamped, Go: info.GoVersion, Target: runtime.GOOS + "/" + runtime.GOARCH}
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
	if s.Stamp == "" {
		s.Stamp = version + "+" + s.state()
	}
	s.Stamp = stampText(s.Stamp)
	return s
}

// state says in one word what the source was.
func (s buildStamp) state() string {
	switch {
	case s.Commit != "" && s.Changed:
		return fmt.Sprintf("%.*s.changed", shortCommit, s.Commit)
	case s.Commit != "":
		return fmt.Sprintf("%.*s", shortCommit, s.Commit)
	case s.Module != "":
		return s.Module
	}
	return "unknown"
}

// stampText makes a dot of whatever may not stand in a stamp, so that every format takes it.
func stampText(s string) string {
	number, state, _ := strings.Cut(s, "+")
	return notInStamp.ReplaceAllString(number, ".") + "+" + notInStamp.ReplaceAllString(state, ".")
}

// notInStamp is what build metadata may not hold: semver 2.0.0, section 10.
var notInStamp = regexp.MustCompile(`[^0-9A-Za-z.-]+`)

// shortCommit is as many digits of a commit as a person compares.
const shortCommit = 12

// String is the stamp on one line.
func (s buildStamp) String() string {
	switch {
	case s.Commit == "" && stamped != "":
		return s.Stamp
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
type versionOptions struct{ json, licences bool }

func newVersionCmd(run func(versionOptions) error) *cobra.Command {
	var o versionOptions
	c := &cobra.Command{
		Use:   "version",
		Short: "Which build of spotjig this is",
		Long: "version names the version, and the commit that this program was built from. Both stand in\n" +
			"every file as one word, the stamp. The same job under the same stamp gives the same\n" +
			"bytes, but for two stamps that name no one source: +unknown, built outside a checkout, and\n" +
			".changed, built from a checkout with changes.",
		Example: "  spotjig version\n  spotjig version --json\n  spotjig version --licences",
		Args:    cobra.NoArgs,
		RunE:    func(*cobra.Command, []string) error { return run(o) },
	}
	c.Flags().BoolVar(&o.json, "json", false, "report as JSON")
	c.Flags().BoolVar(&o.licences, "licences", false, "what it is made of, and the terms of its letters")
	return c
}

func runVersion(o versionOptions, s buildStamp, out io.Writer) error {
	if o.licences {
		if o.json {
			return usageError{errors.New("--json and --licences: choose one")}
		}
		return printLicences(out)
	}
	if o.json {
		return printJSON(out, struct {
			buildStamp
			Problems []problem.Told `json:"problems"`
		}{s, []problem.Told{}})
	}
	_, err := fmt.Fprintf(out, "spotjig %s\nstamp %s\n%s, %s\n", s, s.Stamp, s.Go, s.Target)
	return err
}

// printLicences names the modules in the program and shows the alphabet's terms, which must
// travel with it.
func printLicences(out io.Writer) error {
	var b strings.Builder
	if info, ok := debug.ReadBuildInfo(); ok {
		b.WriteString("Linked into the program beside Go's own library; their licences lie in the archive's\nfolder licences:\n")
		for _, m := range info.Deps {
			fmt.Fprintf(&b, "  %s %s\n", m.Path, m.Version)
		}
		b.WriteString("\n")
	}
	b.WriteString("The letters on the pieces:\n" + jig.LetteringNotice())
	_, err := io.WriteString(out, b.String())
	return err
}

// printJSON writes a value as JSON set in by two blanks, letters as they are.
func printJSON(out io.Writer, v any) error {
	e := json.NewEncoder(out)
	e.SetEscapeHTML(false)
	e.SetIndent("", "  ")
	return e.Encode(v)
}
