package main

import (
	"fmt"
	"regexp"
	"slices"
	"strings"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"spotjig/layout/problem"
)

// Hints for what was mistyped on the command line.

// unknownCommand is what cobra says of a command that it does not know.
var unknownCommand = regexp.MustCompile(`^unknown command "([^"]*)"`)

// hinted words an unknown command with the nearest that there is.
func hinted(root *cobra.Command, err error) error {
	if err == nil {
		return nil
	}
	m := unknownCommand.FindStringSubmatch(err.Error())
	if m == nil {
		return err
	}
	var names []string
	for _, c := range root.Commands() {
		names = append(names, c.Name())
	}
	return usageError{fmt.Errorf("unknown command %q%s", m[1], didYouMean(m[1], names))}
}

// hintedFlag words an unknown flag with the nearest that the command has.
func hintedFlag(c *cobra.Command, err error) error {
	m := regexp.MustCompile(`^unknown flag: --(.+)$`).FindStringSubmatch(err.Error())
	if m == nil {
		return err
	}
	var names []string
	c.Flags().VisitAll(func(f *pflag.Flag) { names = append(names, f.Name) })
	if near := problem.Nearest(m[1], names); near != "" {
		return fmt.Errorf("unknown flag --%s; did you mean --%s?", m[1], near)
	}
	return fmt.Errorf("unknown flag --%s", m[1])
}

// didYouMean is the end of a message: the nearest of the names, nothing when none is near.
func didYouMean(word string, names []string) string {
	if near := problem.Nearest(word, names); near != "" {
		return fmt.Sprintf("; did you mean %q?", near)
	}
	return ""
}

// oneWord wants one argument, which is one of the words.
func oneWord(words []string) cobra.PositionalArgs {
	return func(_ *cobra.Command, args []string) error {
		if len(args) != 1 {
			return fmt.Errorf("name one of them: %s", strings.Join(words, ", "))
		}
		if !slices.Contains(words, args[0]) {
			return fmt.Errorf("%q: %s", args[0], problem.DidYouMean(args[0], words))
		}
		return nil
	}
}
