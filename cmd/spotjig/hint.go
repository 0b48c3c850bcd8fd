package main

import (
	"fmt"
	"math"
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

// valueless is what pflag says of a flag at the end that wants a value.
var valueless = regexp.MustCompile(`^flag needs an argument: (?:'.' in )?(-.+)$`)

// hintedFlag words an unknown flag with the nearest that the command has, and one without
// its value.
func hintedFlag(c *cobra.Command, err error) error {
	if m := valueless.FindStringSubmatch(err.Error()); m != nil {
		return fmt.Errorf("%s wants a value after it", m[1])
	}
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

// anyNumber is for takes: no number of arguments is too large.
const anyNumber = math.MaxInt

// takes wants as many arguments as that, and tells how the command is written otherwise.
func takes(least, most int) cobra.PositionalArgs {
	return func(c *cobra.Command, args []string) error {
		form := c.Root().Name() + " " + c.Use
		switch {
		case len(args) == 0 && least > 0:
			return fmt.Errorf("nothing is named: %s", form)
		case len(args) < least:
			return fmt.Errorf("more is wanted than %q: %s", args[len(args)-1], form)
		case len(args) > most:
			return fmt.Errorf("%q is one too many: %s", args[most], form)
		}
		return nil
	}
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
