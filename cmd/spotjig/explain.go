package main

import (
	"errors"
	"fmt"
	"io"
	"strings"

	"github.com/spf13/cobra"

	"spotjig/cmd/spotjig/terminal"
	"spotjig/layout/problem"
	"spotjig/post/manual"
)

// explainOptions are the words and flags of explain.
type explainOptions struct {
	words []string
	all   bool
	json  bool
}

func newExplainCmd(run func(explainOptions) error) *cobra.Command {
	var o explainOptions
	c := &cobra.Command{
		Use:   "explain WORD...",
		Short: "What a code, a key, a check or a word of the trade means",
		Long: "explain tells what a word means that stands in a message, in a file or on the job sheet:\n" +
			"the code of a problem, a key with its unit, range and default, a check, a word of the trade.\n" +
			"--all prints the whole reference.",
		Example: "  spotjig explain J013\n  spotjig explain jig.tolerance kerf\n  spotjig explain as-cut\n  spotjig explain --all",
		RunE: func(_ *cobra.Command, args []string) error {
			if o.words = args; o.all != (len(args) == 0) {
				return usageError{errors.New("name the words to explain, or --all")}
			}
			return run(o)
		},
	}
	c.Flags().BoolVar(&o.all, "all", false, "print everything that can be explained")
	c.Flags().BoolVar(&o.json, "json", false, "report as JSON")
	return c
}

// runExplain prints what the words mean; of words that nobody knows it names the
// nearest that are known, and prints nothing.
func runExplain(o explainOptions, out io.Writer) error {
	if o.all && !o.json {
		return manual.WriteAll(out, manual.Options{Width: terminal.Columns(out)})
	}
	entries := manual.Entries()
	if !o.all {
		entries = nil
	}
	for _, w := range o.words {
		found := manual.Find(w)
		if len(found) == 0 {
			return usageError{fmt.Errorf("nothing is called %q%s", w, nearWords(w))}
		}
		entries = append(entries, found...)
	}
	if o.json {
		return printJSON(out, struct {
			Entries  []manual.Entry `json:"entries"`
			Problems []problem.Told `json:"problems"`
		}{entries, []problem.Told{}})
	}
	return manual.Write(out, entries, manual.Options{Width: terminal.Columns(out)})
}

// nearWords suggests what may have been meant.
func nearWords(word string) string {
	near := manual.Near(word)
	if len(near) == 0 {
		return "; spotjig explain --all prints all there is"
	}
	return fmt.Sprintf("; did you mean %s?", strings.Join(near, " or "))
}
