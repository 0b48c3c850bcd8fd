package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"math"
	"strings"

	"github.com/spf13/cobra"

	"spotjig/cam/jig"
	"spotjig/cam/machine"
	"spotjig/cmd/spotjig/folder"
	"spotjig/layout/figure"
	"spotjig/layout/screen"
	"spotjig/post"
	"spotjig/post/work"
)

// makeOptions are the flags of make.
type makeOptions struct {
	job    string   // "" for the embedded demo
	jobs   []string // several, each into a folder of its own in out; then job is ""
	out    string
	force  bool
	share  bool // pieces of several jobs lie on the same sheets
	allTxt bool // print passed checks too
	json   bool
	quiet  bool
	in     io.Reader
	shape  work.Options
	given  func(flag string) bool // on the command line; nil: none
}

func newMakeCmd(run func(context.Context, makeOptions) error) *cobra.Command {
	o := makeOptions{}
	c := &cobra.Command{
		Use:   "make [JOB]...",
		Short: "Make every file of a job, proved before they are written",
		Long: "make reads a job file, designs the template, lays it on sheets, writes drawings\n" +
			"and programs, reads them back, proves them and then replaces DIR as a whole.\n" +
			"Without JOB it makes an embedded demo job. Of several jobs, or of a folder of them,\n" +
			"each is made into DIR/NAME, named after its file; when one fails, the others are made.\n" +
			"With --share-sheets those for one machine and sheet lie on the same sheets, in\n" +
			"DIR/shared-1 and on: pieces and files begin with the letter of their job.",
		Example: "  spotjig make\n  spotjig make club.yaml -o jig --svg\n  spotjig make one.yaml two.yaml -o jigs --share-sheets\n  spotjig make - -o jig --json < club.yaml",
		RunE: func(c *cobra.Command, args []string) error {
			if len(args) > 1 || len(args) == 1 && isFolder(args[0]) {
				o.jobs = args
			} else if len(args) == 1 {
				o.job = args[0]
			}
			if o.share && len(o.jobs) == 0 {
				return usageError{errors.New("--share-sheets is for several jobs, or a folder of them")}
			}
			o.given = c.Flags().Changed
			o.in = c.InOrStdin()
			return run(c.Context(), o)
		},
	}
	c.Flags().StringVarP(&o.out, "out", "o", "spotjig-out", "folder to write")
	c.Flags().BoolVar(&o.force, "force", false, "replace files in DIR that were edited by hand")
	c.Flags().BoolVar(&o.share, "share-sheets", false, "lay the pieces of several jobs on the same sheets")
	c.Flags().BoolVarP(&o.allTxt, "verbose", "v", false, "print the checks that passed as well")
	c.Flags().StringVar(&o.shape.Paper, "paper", "a4", "paper of job sheet and proof: a4 or letter")
	c.Flags().StringVar(&o.shape.ProofOf, "proof-of", "template", "what the paper proof shows: template or marks")
	c.Flags().BoolVar(&o.shape.SVG, "svg", false, "write the table and sheet pictures as SVG files as well")
	jsonFlag(c, &o.json)
	quietFlag(c, &o.quiet)
	return c
}

// check refuses values that no output knows.
func (o makeOptions) check() error {
	if p := o.shape.Paper; p != "a4" && p != "letter" {
		return usageError{fmt.Errorf("--paper %q: it is a4 or letter", p)}
	}
	if p := o.shape.ProofOf; p != "template" && p != "marks" {
		return usageError{fmt.Errorf("--proof-of %q: it is template or marks", p)}
	}
	return folderName("-o ", o.out)
}

// runMake builds the job in memory, and writes it only if every check allows it.
func runMake(ctx context.Context, o makeOptions, out, errw io.Writer) error {
	if err := o.check(); err != nil {
		return err
	}
	if len(o.jobs) > 0 {
		return makeMany(ctx, o, out, errw)
	}
	l, err := (&reading{in: o.in}).job(o.job)
	if err != nil {
		return err
	}
	stage := stageLine(errw)
	o.shape.Stage = stage
	made, err := o.build(ctx, l)
	if stage != nil {
		stage("")
	}
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
		summarise(toldTo(out, l), l, made, o)
	}
	return nil
}

// build makes a job's set in memory. Of a set's own job, what is not asked for otherwise is
// as it was.
func (o makeOptions) build(ctx context.Context, l loaded) (work.Made, error) {
	o.shape.Version = thisBuild().Stamp
	was := l.Made
	if was.Version == "" {
		return l.Build(ctx, o.shape)
	}
	o.asMade(was)
	if was.TestPiece {
		return l.BuildTestPiece(ctx, o.shape)
	}
	return l.Build(ctx, o.shape)
}

// asMade takes the choices that a set was made with, but for those on the command line.
func (o *makeOptions) asMade(was work.Choices) {
	given := func(flag string) bool { return o.given != nil && o.given(flag) }
	if !given("paper") {
		o.shape.Paper = was.Paper
	}
	if !given("proof-of") {
		o.shape.ProofOf = was.ProofOf
	}
	if !given("svg") {
		o.shape.SVG = was.SVG
	}
	o.shape.Grid, o.shape.Stock = was.Grid, was.Stock
}

// writeSet writes a finished set into its folder, unless a check of it failed; name is what
// its job is called.
func writeSet(ctx context.Context, made work.Made, dir, name string, opt folder.Options) error {
	if err := work.Refused(name, dir, made.Failures()); err != nil {
		return err
	}
	return folder.Replace(ctx, dir, made.Files, opt)
}

// stageLine returns what draws the stage in hand on one line of a terminal, and
// wipes it for ""; nil where nobody watches.
func stageLine(w io.Writer) func(string) {
	screen, ok := terminal(w)
	if !ok {
		return nil
	}
	return func(stage string) { fmt.Fprintf(screen, "\r%-60s\r%s", "", stage) }
}

// summarise tells a person what was made, the most important first.
func summarise(w io.Writer, l loaded, b work.Made, o makeOptions) {
	s := b.Set
	headline(w, s)
	outlook(w, s)
	fmt.Fprintf(w, "  games    %s\n", strings.Join(s.Job.Games, ", "))
	fmt.Fprintf(w, "  marks    %d\n", len(s.Marks))
	fins := 0
	for _, p := range s.Jig.Parts {
		if p.OnTable.Upright {
			fins++
		}
	}
	fmt.Fprintf(w, "  pieces   %d: %d flat, %s; %s\n", len(s.Jig.Parts), len(s.Jig.Parts)-fins, figure.Count(fins, "fin"), figure.Count(len(s.Jig.Joints), "joint"))
	wrap(w, "  serves   ", "tables "+figure.Between(s.Jig.LengthMin, s.Jig.LengthMax)+" long")
	for _, c := range s.Checks {
		if strings.HasPrefix(c.ID, "serves:") {
			wrap(w, "           ", map[bool]string{true: "yes: ", false: "NO: "}[c.Verdict == jig.Pass]+c.Text)
		}
	}
	if says := s.Says("length-trade"); says != "" {
		wrap(w, "           ", says)
	}
	cut, travel, time := 0.0, 0.0, 0.0
	for i, sh := range s.Sheets {
		says := figure.Sheet(sh.Width, sh.Height) + ", " + figure.Count(len(sh.Placed), "piece") + ", " + figure.Share(sh.UsedFraction) + " used"
		if s.Machine.Process != machine.Shop {
			says += ", " + figure.Time(sh.Time)
		}
		if s.Held(i) {
			says += ", held back"
		}
		if wide, high := s.Offcut(i); wide > 0 {
			says += ", leaves " + figure.Sheet(math.Floor(wide), math.Floor(high))
		}
		wrap(w, fmt.Sprintf("  sheet %-2d ", sh.N), says)
		cut, travel, time = cut+sh.CutLen, travel+sh.TravelLen, time+sh.Time
	}
	if s.Machine.Process != machine.Shop {
		fmt.Fprintf(w, "  cut      %s, travel %s, about %s (estimate, +-20 %%)\n", figure.Metres(cut), figure.Metres(travel), figure.Time(time))
	}
	printChecks(w, s.Checks, o.allTxt)
	for _, n := range l.Notes {
		wrap(w, "  note     ", n.Msg)
	}
	for _, c := range s.Cautions {
		wrap(w, "  caution  ", c)
	}
	fmt.Fprintf(w, "wrote %s to %s\n", figure.Count(len(b.Files), "file"), o.out)
}

// outlook says first what matters most: may it be cut, how true it is, what stands in the
// way, and what comes next.
func outlook(w io.Writer, s post.Set) {
	o := s.Outlook()
	fmt.Fprintln(w)
	wrap(w, "", o.Verdict+".")
	if says := s.Says("accuracy"); says != "" {
		wrap(w, "  jig      ", says)
	}
	for _, h := range o.Holds {
		wrap(w, "  waits    ", h)
	}
	for i, n := range o.Next {
		wrap(w, fmt.Sprintf("  next %d   ", i+1), n)
	}
	fmt.Fprintln(w)
}

// printChecks prints the verdicts. Without all, what passes is counted, and
// checks of one kind that warn (a budget for each mark, a gap for each line) are
// told together.
func printChecks(w io.Writer, cs []jig.Check, all bool) {
	if all {
		for _, c := range cs {
			printCheck(w, c)
		}
		return
	}
	passed := 0
	var order []string
	kinds := map[string][]jig.Check{}
	for _, c := range cs {
		if c.Verdict == jig.Pass {
			passed++
			continue
		}
		if strings.HasPrefix(c.ID, "serves:") {
			continue // told with what the jig serves
		}
		kind, _, _ := strings.Cut(c.ID, ":")
		if kinds[kind] == nil {
			order = append(order, kind)
		}
		kinds[kind] = append(kinds[kind], c)
	}
	for _, k := range order {
		printKind(w, k, kinds[k])
	}
	fmt.Fprintf(w, "  pass     %s (each by name with -v, and in record.json)\n", figure.Count(passed, "check"))
}

func printCheck(w io.Writer, c jig.Check) {
	wrap(w, fmt.Sprintf("  %-8s ", c.Verdict), c.ID+": "+c.Text+c.Figures())
}

// printKind prints the checks of one kind, many of them as one line.
func printKind(w io.Writer, kind string, cs []jig.Check) {
	if len(cs) < 3 {
		for _, c := range cs {
			printCheck(w, c)
		}
		return
	}
	var names []string
	for _, c := range cs {
		_, name, _ := strings.Cut(c.ID, ":")
		names = append(names, name)
	}
	wrap(w, fmt.Sprintf("  %-8s ", cs[0].Verdict), fmt.Sprintf("%s: %s: %s", kind, kindText(kind), strings.Join(names, ", ")))
}

// kindText says what checks of one kind that warn have in common.
func kindText(kind string) string {
	switch kind {
	case "budget":
		return "likely further off than the tolerance, or 1 mm where the job states none"
	case "cover":
		return "slots reach less than they should; close the rest with a straightedge"
	case "gap":
		return "a longer gap than usual to close with a straightedge"
	}
	return "see -v"
}

// wrap prints text behind a lead as wide as the screen, later lines indented like the first.
func wrap(w io.Writer, lead, text string) {
	if t, ok := w.(told); ok {
		text = firstUnit(text, t.look) // before it is broken into lines
	}
	fmt.Fprint(w, screen.Paragraph(lead, text, columns(w)))
}
