package main

import (
	"fmt"
	"io"
	"strings"

	"github.com/spf13/cobra"

	"spotjig/post/manual"
)

// manPages are what man can print: the commands, in section 1, and the reference, in 7.
func manPages() []string { return []string{"commands", "reference"} }

func newManCmd(run func(root *cobra.Command, page string) error) *cobra.Command {
	return &cobra.Command{
		Use:   "man " + strings.Join(manPages(), "|"),
		Short: "Print a manual page, for the command man",
		Long: "man prints a page in the form that the command man shows: the commands with their flags, or\n" +
			"everything that explain knows.",
		Example:   "  spotjig man commands > spotjig.1 && man ./spotjig.1\n  spotjig man reference > spotjig.7",
		Args:      oneWord(manPages()),
		ValidArgs: manPages(),
		RunE:      func(c *cobra.Command, args []string) error { return run(c.Root(), args[0]) },
	}
}

func runMan(root *cobra.Command, page string, out io.Writer) error {
	source := "spotjig " + version
	if page == "reference" {
		return manual.WritePage(out, manual.ReferencePage(source))
	}
	return manual.WritePage(out, manual.CommandsPage(root, exitTerms(), source))
}

// exitTerms are the exit statuses with their meaning.
func exitTerms() []manual.Term {
	var out []manual.Term
	for _, e := range []struct {
		status int
		text   string
	}{
		{exitDone, "done, warnings included"},
		{exitProblem, "a problem in the input, or a check or program that failed; for marked, a mark outside the tolerance"},
		{exitUsage, "wrong usage"},
		{exitBug, "a bug of ours; please send the job file and what was printed"},
		{exitInterrupted, "interrupted"},
	} {
		out = append(out, manual.Term{Name: fmt.Sprint(e.status), Texts: []string{e.text}})
	}
	return out
}
