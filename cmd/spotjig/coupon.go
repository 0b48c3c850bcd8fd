package main

import (
	"context"
	"fmt"
	"io"

	"github.com/spf13/cobra"

	"spotjig/cam/machine"
	"spotjig/cmd/spotjig/folder"
	"spotjig/layout/figure"
	"spotjig/layout/job"
	"spotjig/post/work"
)

// couponOptions are the flags of coupon.
type couponOptions struct {
	job     string
	out     string
	grid    bool
	stock   string // of an offcut, WxH; "": the job's sheet
	force   bool
	verbose bool
	json    bool
	quiet   bool
	in      io.Reader
}

func newCouponCmd(run func(context.Context, couponOptions) error) *cobra.Command {
	o := couponOptions{}
	c := &cobra.Command{
		Use:   "coupon JOB",
		Short: "Make a test piece that tells this machine's kerf, fits and scale",
		Long: "coupon makes the files of a test piece for the job's machine and sheet: combs for\n" +
			"the kerf, slots for a fin's tongue, dovetail sockets for a tail, a square, a hole\n" +
			"and a slot for the marker, and four ticks far apart. Cut it, measure it, fill in\n" +
			"a copy of DIR/reading.txt and run \"spotjig kerf\" on the copy.\n" +
			"With --grid a second program cuts and scores small squares at stepped power and\n" +
			"feed; run that one first, on an offcut, and put what you find into the job.",
		Example: "  spotjig coupon club.yaml -o test-piece",
		Args:    cobra.ExactArgs(1),
		RunE: func(c *cobra.Command, args []string) error {
			o.job, o.in = args[0], c.InOrStdin()
			return run(c.Context(), o)
		},
	}
	c.Flags().StringVarP(&o.out, "out", "o", "spotjig-coupon", "folder to write")
	c.Flags().BoolVar(&o.grid, "grid", false, "also a grid of squares at stepped power and feed")
	c.Flags().StringVar(&o.stock, "stock", "", "cut it from one offcut, `WxH`, mm or with units")
	c.Flags().BoolVar(&o.force, "force", false, "replace files in DIR that were edited by hand")
	jsonFlag(c, &o.json)
	quietFlag(c, &o.quiet)
	c.Flags().BoolVarP(&o.verbose, "verbose", "v", false, "print the checks that passed as well")
	return c
}

// runCoupon builds the test piece in memory and writes it if every check allows.
func runCoupon(ctx context.Context, o couponOptions, out io.Writer) error {
	if err := folderName("-o ", o.out); err != nil {
		return err
	}
	l, err := (&reading{in: o.in}).job(o.job)
	if err != nil {
		return err
	}
	opt := work.Options{Version: thisBuild().Stamp, Grid: o.grid}
	if o.stock != "" {
		if opt.Stock, err = job.ParseOffcut(o.stock); err != nil {
			return usageError{fmt.Errorf("--stock: %w", err)}
		}
	}
	made, err := l.BuildTestPiece(ctx, opt)
	if err != nil {
		return err
	}
	if err := writeSet(ctx, made, o.out, l.Name(), folder.Options{Force: o.force, Inputs: *l.inputs}); err != nil {
		return err
	}
	switch {
	case o.json:
		return printMade(out, l, made, o.out)
	case !o.quiet:
		summariseCoupon(out, l, made, o)
	}
	return nil
}

// summariseCoupon tells a person what was made and what to do with it.
func summariseCoupon(w io.Writer, l loaded, b work.Made, o couponOptions) {
	m := b.Set.Material
	allowed := fmt.Sprintf("kerf allowed for %.3f mm", m.Kerf)
	next := "cut it, copy reading.txt elsewhere, fill the copy in, run: spotjig kerf COPY"
	if b.Set.Machine.Process == machine.Knife {
		allowed = fmt.Sprintf("blade's offset %.2f mm", b.Set.Machine.Knife.Offset)
		next = "cut it, read it as reading.txt says, and put offset and depth into machine and material"
	}
	wrap(w, "", fmt.Sprintf("test piece for %s, %s %.2f mm, %s", b.Set.Machine.Name, m.Kind, m.Thickness, allowed))
	for _, s := range b.Set.Sheets {
		wrap(w, fmt.Sprintf("  sheet %-2d ", s.N), figure.Sheet(s.Width, s.Height)+", "+figure.Count(len(s.Placed), "piece")+", "+figure.Time(s.Time))
	}
	printChecks(w, b.Set.Checks, o.verbose)
	for _, n := range l.Notes {
		wrap(w, "  note     ", n.Msg)
	}
	for _, c := range b.Set.Cautions {
		wrap(w, "  caution  ", c)
	}
	if o.grid {
		wrap(w, "  next     ", "run grid.nc on an offcut first; put the power and feed that just cut through, and those that just score, into the job, and make the test piece again")
	}
	wrap(w, "  next     ", next)
	fmt.Fprintf(w, "wrote %s to %s\n", figure.Count(len(b.Files), "file"), o.out)
}
