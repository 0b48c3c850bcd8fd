package main

import (
	"context"
	"fmt"
	"io"

	"github.com/spf13/cobra"

	"spotjig/layout/figure"
	"spotjig/layout/job"
	"spotjig/post/summary"
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
			"the kerf, slots for a fin's tongue, dovetail sockets for a tail, a joint as the job\n" +
			"has it, a square, a hole and a slot for the marker, and four ticks far apart. Cut\n" +
			"it, measure it, fill in a copy of DIR/reading.txt and run \"spotjig kerf\" on the\n" +
			"copy.\n" +
			"With --grid a second program cuts and scores small squares at stepped power and\n" +
			"feed; run that one first, on an offcut, and put what you find into the job.",
		Example: "  spotjig coupon club.yaml -o test-piece",
		Args:    takes(1, 1),
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
	made, err := makeInto(ctx, o.out, o.force, l, func() (work.Made, error) { return l.BuildTestPiece(ctx, opt) })
	if err != nil {
		return err
	}
	switch {
	case o.json:
		return printMade(out, l, made, o.out)
	case !o.quiet:
		summary.TestPiece(toldTo(out, l), made.Set, l.Notes, o.grid, o.verbose)
		fmt.Fprintf(out, "wrote %s to %s\n", figure.Count(len(made.Files), "file"), o.out)
	}
	return nil
}
