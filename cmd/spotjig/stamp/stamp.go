// Package stamp tells one build of the program from another, in one word that stands in every
// file.
package stamp

import (
	"fmt"
	"io"
	"regexp"
	"runtime"
	"runtime/debug"
	"strings"

	"spotjig/cam/jig"
)

// Build tells one build of the program from another. Stamp is what stands in every
// file: the version, and behind a + the commit (as semver 2.0.0, section 10, has it).
type Build struct {
	Version string `json:"version"`
	Stamp   string `json:"stamp"`
	Module  string `json:"module"`  // as Go names it; "" when it does not
	Commit  string `json:"commit"`  // "" when not built inside a checkout
	Date    string `json:"date"`    // of the commit, never of the build
	Changed bool   `json:"changed"` // files differed from the commit
	Go      string `json:"go"`
	Target  string `json:"target"`

	given bool // by a builder who had only the source
}

// Of reads a build's own information; given is what its builder says of the source, "" when
// the checkout tells it.
func Of(version, given string, info *debug.BuildInfo) Build {
	s := Build{Version: version, Stamp: given, given: given != "", Go: info.GoVersion, Target: runtime.GOOS + "/" + runtime.GOARCH}
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
	s.Stamp = Text(s.Stamp)
	return s
}

// OfSource is the stamp of a source as Go would give it to a program built there; commit is ""
// outside a checkout.
func OfSource(version, commit string, changed bool) string {
	return version + "+" + Build{Commit: commit, Changed: changed}.state()
}

// state says in one word what the source was.
func (s Build) state() string {
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

// Text makes a dot of whatever may not stand in a stamp, so that every format takes it.
func Text(s string) string {
	number, state, _ := strings.Cut(s, "+")
	return notInStamp.ReplaceAllString(number, ".") + "+" + notInStamp.ReplaceAllString(state, ".")
}

// notInStamp is what build metadata may not hold: semver 2.0.0, section 10.
var notInStamp = regexp.MustCompile(`[^0-9A-Za-z.-]+`)

// shortCommit is as many digits of a commit as a person compares.
const shortCommit = 12

// String is the stamp on one line.
func (s Build) String() string {
	switch {
	case s.Commit == "" && s.given:
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

// WriteLicences names the modules in the program and shows the alphabet's terms, which must
// travel with it.
func WriteLicences(out io.Writer) error {
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
