package main

import (
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"runtime/debug"

	"spotjig/cmd/spotjig/stamp"
	"spotjig/layout/problem"

	"github.com/spf13/cobra"
)

// stamped is what a builder without a checkout, who has only the source, says of it:
// go build -ldflags "-X main.stamped=0.1.0+0123456789ab". The linker sets it.
var stamped string

// thisBuild is the stamp of the running program, from what the Go linker wrote into it.
func thisBuild() stamp.Build {
	info, ok := debug.ReadBuildInfo()
	if !ok {
		info = &debug.BuildInfo{}
	}
	return stamp.Of(version, stamped, info)
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
		Args:    takes(0, 0),
		RunE:    func(*cobra.Command, []string) error { return run(o) },
	}
	c.Flags().BoolVar(&o.json, "json", false, "report as JSON")
	c.Flags().BoolVar(&o.licences, "licences", false, "what it is made of, and the terms of its letters")
	return c
}

func runVersion(o versionOptions, s stamp.Build, out io.Writer) error {
	if o.licences {
		if o.json {
			return usageError{errors.New("--json and --licences: choose one")}
		}
		return stamp.WriteLicences(out)
	}
	if o.json {
		return printJSON(out, struct {
			stamp.Build
			Problems []problem.Told `json:"problems"`
		}{s, []problem.Told{}})
	}
	_, err := fmt.Fprintf(out, "spotjig %s\nstamp %s\n%s, %s\n", s, s.Stamp, s.Go, s.Target)
	return err
}

// printJSON writes a value as JSON set in by two blanks, letters as they are.
func printJSON(out io.Writer, v any) error {
	e := json.NewEncoder(out)
	e.SetEscapeHTML(false)
	e.SetIndent("", "  ")
	return e.Encode(v)
}
