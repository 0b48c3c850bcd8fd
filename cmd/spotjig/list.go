package main

import (
	"io"

	"github.com/spf13/cobra"

	"spotjig/cmd/spotjig/terminal"
	"spotjig/layout/problem"
	"spotjig/post/manual"
)

// listOptions say what to list.
type listOptions struct {
	what string
	json bool
}

func newListCmd(run func(listOptions) error) *cobra.Command {
	var o listOptions
	c := &cobra.Command{
		Use:   "list games|machines|materials",
		Short: "Show what is built in",
		Long: "list shows the games with their rules' sources and the sizes of tables, or the machines\n" +
			"and materials that a job may name instead of describing its own.",
		Example:   "  spotjig list games",
		Args:      oneWord(manual.Topics()),
		ValidArgs: manual.Topics(),
		RunE: func(_ *cobra.Command, args []string) error {
			o.what = args[0]
			return run(o)
		},
	}
	jsonFlag(c, &o.json)
	return c
}

// runList prints one catalogue as a table.
func runList(o listOptions, out io.Writer) error {
	list := manual.List(o.what)
	if o.json {
		return printJSON(out, struct {
			manual.Catalogue
			Problems []problem.Told `json:"problems"`
		}{list, []problem.Told{}})
	}
	return list.Write(out, terminal.Columns(out))
}
