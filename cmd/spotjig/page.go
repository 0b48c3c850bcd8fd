package main

import (
	"context"
	"fmt"
	"io"
	"path/filepath"

	"github.com/spf13/cobra"

	"spotjig/cmd/spotjig/page"
	"spotjig/layout/figure"
	"spotjig/post/web"
)

// pageOptions are the flags of page.
type pageOptions struct {
	out    string
	serve  bool
	source string // the checkout; "" the one that the current folder is in
	stamp  string // what a builder who has only the source says of it; "" ask git
}

func newPageCmd(run func(context.Context, pageOptions) error) *cobra.Command {
	var o pageOptions
	c := &cobra.Command{
		Use:   "page",
		Short: "The tool as a page for phone and browser, nothing installed",
		Long: "page compiles the program for the browser and puts it into one HTML page, with a\n" +
			"manifest and a service worker beside it that put the page on a phone's home screen.\n" +
			"It needs the source: run it inside a checkout, with Go installed. The page works\n" +
			"by double click, or from any web server; it loads nothing and sends nothing.\n" +
			"With --serve it is shown on this computer's own address until you press Ctrl-C.",
		Example: "  spotjig page -o page\n  spotjig page --serve",
		Args:    takes(0, 0),
		RunE:    func(c *cobra.Command, _ []string) error { return run(c.Context(), o) },
	}
	c.Flags().StringVarP(&o.out, "out", "o", "spotjig-page", "folder to write")
	c.Flags().BoolVar(&o.serve, "serve", false, "show the page on the loopback address instead")
	c.Flags().StringVar(&o.stamp, "stamp", "", "the source's `STAMP`, where no checkout tells it: it stands in every file")
	return c
}

// runPage builds the page and writes it, or shows it.
func runPage(ctx context.Context, o pageOptions, out io.Writer) error {
	if err := folderName("-o ", o.out); err != nil {
		return err
	}
	if !o.serve {
		if err := page.Check(o.out); err != nil {
			return err
		}
	}
	files, err := page.Build(ctx, o.source, o.stamp)
	if err != nil {
		return err
	}
	if o.serve {
		return page.Serve(ctx, files, out)
	}
	if err := page.Write(o.out, files); err != nil {
		return err
	}
	size := 0
	for _, f := range files {
		size += len(f.Data)
	}
	_, err = fmt.Fprintf(out, "wrote %s, %s, to %s\nopen %s in a browser, or put the folder on a web server\n",
		figure.Count(len(files), "file"), figure.Count(size, "byte"), o.out, filepath.Join(o.out, web.PageName))
	return err
}
