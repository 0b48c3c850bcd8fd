package manual

import (
	"fmt"
	"strings"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"
)

// CommandsPage is the help of every command as one manual page, spotjig(1), with the exit
// statuses at its end.
func CommandsPage(root *cobra.Command, exits []Term, source string) Page {
	p := Page{Name: root.Name(), Number: 1, Brief: root.Short, Source: source, Parts: []Part{
		{Title: "SYNOPSIS", Text: "  " + root.Name() + " COMMAND [ARGUMENTS] [FLAGS]"},
		{Title: "DESCRIPTION", Text: root.Long},
		{Title: "COMMANDS"},
	}}
	for _, c := range root.Commands() {
		if !c.Hidden && c.Name() != "help" {
			p.Parts = append(p.Parts, commandPart(c))
		}
	}
	p.Parts = append(p.Parts, Part{Title: "EXIT STATUS", Terms: exits},
		Part{Title: "SEE ALSO", Text: root.Name() + "(7): every key, check, code and word."})
	return p
}

// commandPart is a command's help.
func commandPart(c *cobra.Command) Part {
	text := "  " + c.UseLine() + "\n\n" + c.Short + "."
	for _, more := range []string{c.Long, c.Example} {
		if more != "" {
			text += "\n\n" + more
		}
	}
	part := Part{Title: c.Name(), Sub: true, Text: text}
	c.LocalFlags().VisitAll(func(f *pflag.Flag) {
		if f.Name != "help" {
			part.Terms = append(part.Terms, flagTerm(f))
		}
	})
	return part
}

// flagTerm is a flag as its help shows it.
func flagTerm(f *pflag.Flag) Term {
	value, text := pflag.UnquoteUsage(f)
	name := "--" + f.Name
	if f.Shorthand != "" {
		name = "-" + f.Shorthand + ", " + name
	}
	if f.DefValue != "" && f.DefValue != "false" {
		text = fmt.Sprintf("%s (default %s)", text, f.DefValue)
	}
	return Term{Name: strings.TrimSpace(name + " " + value), Texts: []string{text}}
}
