package main

import (
	"bytes"
	"context"
	"io"

	"github.com/spf13/cobra"

	"spotjig/cam/jig/testpiece"
	"spotjig/layout/problem"
	"spotjig/layout/screen"
	"spotjig/post/summary"
)

// kerfOptions are the arguments of kerf.
type kerfOptions struct {
	readings []string
	json     bool
	in       io.Reader
}

func newKerfCmd(run func(context.Context, kerfOptions) error) *cobra.Command {
	var o kerfOptions
	c := &cobra.Command{
		Use:   "kerf READINGS...",
		Short: "Work out kerf, fits and scale from a measured test piece",
		Long: "kerf reads a filled-in copy of the form that coupon wrote (reading.txt) and works\n" +
			"out the width of cut at both faces with its uncertainty, the taper, which slot\n" +
			"fits, what a joint leaves open, and how large and how square the machine cuts. It\n" +
			"ends with the lines to write into the job file. What was left empty is not worked out. Several forms are\n" +
			"told one after another.",
		Example: "  spotjig kerf filled-in.txt\n  spotjig kerf monday.txt friday.txt --json",
		Args:    takes(1, anyNumber),
		RunE: func(c *cobra.Command, args []string) error {
			o.readings, o.in = args, c.InOrStdin()
			return run(c.Context(), o)
		},
	}
	jsonFlag(c, &o.json)
	return c
}

// kerfJSON is the report of kerf: what each form tells.
type kerfJSON struct {
	Files    []fileFindings `json:"files"`
	Problems []problem.Told `json:"problems"`
}

// fileFindings are those of one form.
type fileFindings struct {
	File string `json:"file"`
	testpiece.Told
}

// runKerf prints what the readings tell, and nothing when one of the forms is at fault.
func runKerf(_ context.Context, o kerfOptions, out io.Writer) error {
	var b bytes.Buffer
	report := kerfJSON{Files: []fileFindings{}, Problems: []problem.Told{}}
	read := &reading{in: o.in}
	for i, name := range o.readings {
		data, err := read.file(name)
		if err != nil {
			return err
		}
		r, err := testpiece.ReadForm(name, data)
		if err != nil {
			return err
		}
		found, notes, err := r.Work()
		if err != nil {
			return err
		}
		report.Files = append(report.Files, fileFindings{name, found.Told()})
		report.Problems = append(report.Problems, notes.ToldAsNotes()...)
		summary.Heading(&b, i, len(o.readings), name)
		for _, n := range notes.Sorted() {
			b.WriteString(screen.Paragraph("  note     ", n.Field+": "+n.Msg+" ["+n.Code+"]; "+n.Help, screen.Columns))
		}
		if err := found.Write(&b); err != nil {
			return err
		}
	}
	if o.json {
		return printJSON(out, report)
	}
	_, err := out.Write(b.Bytes())
	return err
}
