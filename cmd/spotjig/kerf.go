package main

import (
	"bytes"
	"context"
	"io"

	"github.com/spf13/cobra"

	"spotjig/cam/jig/testpiece"
)

// kerfOptions are the arguments of kerf.
type kerfOptions struct{ readings string }

func newKerfCmd(run func(context.Context, kerfOptions) error) *cobra.Command {
	return &cobra.Command{
		Use:   "kerf READINGS",
		Short: "Work out kerf, fits and scale from a measured test piece",
		Long: "kerf reads a filled-in copy of the form that coupon wrote (reading.txt) and works\n" +
			"out the width of cut at both faces with its uncertainty, the taper, which slot\n" +
			"fits, and how large and how square the machine cuts. It ends with the lines to\n" +
			"write into the job file. What was left empty is not worked out.",
		Example: "  spotjig kerf filled-in.txt",
		Args:    cobra.ExactArgs(1),
		RunE: func(c *cobra.Command, args []string) error {
			return run(c.Context(), kerfOptions{readings: args[0]})
		},
	}
}

// runKerf prints what the readings tell.
func runKerf(_ context.Context, o kerfOptions, out io.Writer) error {
	data, err := readInput(o.readings)
	if err != nil {
		return err
	}
	r, err := testpiece.ReadForm(o.readings, data)
	if err != nil {
		return err
	}
	found, notes, err := r.Work()
	if err != nil {
		return err
	}
	var b bytes.Buffer
	for _, n := range notes.Sorted() {
		wrap(&b, "  note     ", n.Field+": "+n.Msg+" ["+n.Code+"]; "+n.Help)
	}
	if err := found.Write(&b); err != nil {
		return err
	}
	_, err = out.Write(b.Bytes())
	return err
}
