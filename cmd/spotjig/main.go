// Command spotjig turns a cue table's measurements into a reusable marking
// template: marks, parts, sheets, toolpath, DXF and plain G-code, dry-run
// before anything moves.
package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"os/signal"
	"runtime/debug"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"spotjig/cmd/spotjig/terminal"
	"spotjig/layout/problem"
	"spotjig/layout/screen"
)

// version is lettered on the pieces. What tells builds apart, and stands in every file, is
// a build's stamp, which begins with it.
const version = "0.1.0"

// Exit statuses are API.
const (
	exitDone        = 0
	exitProblem     = 1 // a problem in the input or a failed check
	exitUsage       = 2
	exitBug         = 3
	exitInterrupted = 130
)

// gcPercent lets the heap grow to three times what is alive before it is swept: a run is
// over within a second. Sweeping at twice that takes longer, and so do the pages that more
// than three times ask of the system for the first time. Who wants it otherwise sets GOGC.
const gcPercent = 200

// patience is how long an interrupted command may take to end by itself.
const patience = time.Second

func main() {
	if os.Getenv("GOGC") == "" {
		debug.SetGCPercent(gcPercent)
	}
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt)
	calm := context.AfterFunc(ctx, func() {
		// What waits for a person, or for a pipe that nobody writes to, does not look at
		// the context. A run may be cut off anywhere: the folder is whole (package folder).
		time.Sleep(patience)
		fmt.Fprintln(os.Stderr, "spotjig: interrupted")
		os.Exit(exitInterrupted)
	})
	code := run(ctx, os.Args[1:], os.Stdin, os.Stdout, os.Stderr)
	calm()
	stop()
	os.Exit(code)
}

// usageError is wrong use of the command line; it earns a pointer to the help.
type usageError struct{ error }

// failedError is a verdict already printed: only the exit status is left.
type failedError struct{ error }

// statusError is an exit status whose reason has been printed.
type statusError int

func (e statusError) Error() string { return fmt.Sprintf("exit status %d", int(e)) }

// exitStatus turns a status into an error, nil for done.
func exitStatus(code int) error {
	if code == exitDone {
		return nil
	}
	return statusError(code)
}

// run does the work of one call and returns the exit status. What it prints is
// made plain on the way (terminal.Plain).
func run(ctx context.Context, args []string, in io.Reader, out, errw io.Writer) (code int) {
	plainOut, plainErr := &terminal.Plain{W: out}, &terminal.Plain{W: errw}
	defer func() {
		if err := errors.Join(plainOut.Close(), plainErr.Close()); err != nil && code == exitDone {
			code = exitProblem
		}
	}()
	return runPlain(ctx, args, in, plainOut, plainErr)
}

func runPlain(ctx context.Context, args []string, in io.Reader, out, errw io.Writer) (code int) {
	defer func() {
		if r := recover(); r != nil {
			fmt.Fprintf(errw, "spotjig: this is a bug of ours: %v\n    help: send us the job file, the command and what follows\nspotjig %s\n%s", r, thisBuild(), debug.Stack())
			code = exitBug
		}
	}()
	return execute(ctx, newRootCmd(ctx, in, out, errw), args, out, errw)
}

// execute runs one command of the tree, and tells how it ended.
func execute(ctx context.Context, root *cobra.Command, args []string, out, errw io.Writer) int {
	root.SetArgs(args)
	c, err := root.ExecuteC()
	return exitCode(ctx, hinted(root, err), streams{out: out, errw: errw, json: reportsJSON(c), command: c.CommandPath()})
}

// streams are where a command's end is told: as JSON in its report, else on standard error.
type streams struct {
	out, errw io.Writer
	json      bool
	command   string // as it is called: the help that tells how to use it
}

// exitCode prints an error, if there is one left to print, and says what it means.
func exitCode(ctx context.Context, err error, to streams) int {
	errw := to.errw
	var usage usageError
	var failed failedError
	var status statusError
	switch {
	case err == nil:
		return exitDone
	case errors.As(err, &status):
		return int(status)
	case ctx.Err() != nil:
		fmt.Fprintln(errw, "spotjig: interrupted; nothing was changed")
		return exitInterrupted
	case errors.As(err, &failed):
		return exitProblem
	case errors.As(err, &usage) || strings.HasPrefix(err.Error(), "unknown command"):
		fmt.Fprint(errw, terminal.Fold(errw, fmt.Sprintf("spotjig: %v\n    help: run %s --help\n", err, to.command)))
		return exitUsage
	}
	if to.json {
		if err := printFaults(to.out, err); err != nil {
			fmt.Fprintf(errw, "spotjig: %v\n", err)
		}
	} else if list := problem.From(err); len(list) > 0 {
		fmt.Fprint(errw, terminal.Fold(errw, list.Error()+"\n"))
	} else {
		fmt.Fprint(errw, terminal.Fold(errw, fmt.Sprintf("spotjig: %v\n", err)))
	}
	return exitProblem
}

func newRootCmd(ctx context.Context, in io.Reader, out, errw io.Writer) *cobra.Command {
	root := &cobra.Command{
		Use:   "spotjig",
		Short: "Mark cue tables with a template cut on your own machine",
		Long: "spotjig works out where every spot, line and arc of the chosen games goes on a\n" +
			"measured table and makes the files to cut a reusable marking template.\n" +
			"Lasers blind and burn, blades cut: read SAFETY.md before you run a program.",
		SilenceErrors: true,
		SilenceUsage:  true,
		// The command of our own refuses a shell it does not know.
		CompletionOptions: cobra.CompletionOptions{DisableDefaultCmd: true},
		Version:           thisBuild().String(),
	}
	root.SetUsageTemplate(strings.ReplaceAll(root.UsageTemplate(), "FlagUsages ", fmt.Sprintf("FlagUsagesWrapped %d ", terminal.Columns(out))))
	root.SetHelpFunc(func(c *cobra.Command, _ []string) {
		about := c.Long
		if about == "" {
			about = c.Short
		}
		const noise = "[=true|false]" // what a switch may be given; its column stays
		usage := strings.ReplaceAll(c.UsageString(), noise, strings.Repeat(" ", len(noise)))
		fmt.Fprint(out, screen.Prose(about, terminal.Columns(out))+screen.Fold(usage, terminal.Columns(out)))
	})
	root.SetVersionTemplate("spotjig {{.Version}}\n")
	root.SetContext(ctx)
	root.SetIn(in)
	root.SetOut(out)
	root.SetErr(errw)
	root.DisableSuggestions = true // hinted does that, on one line
	root.SetFlagErrorFunc(func(c *cobra.Command, err error) error { return usageError{hintedFlag(c, err)} })
	root.AddCommand(commands(in, out, errw)...)
	complete(root.Commands())
	for _, c := range root.Commands() {
		if args := c.Args; args != nil {
			c.Args = func(c *cobra.Command, a []string) error {
				if err := args(c, a); err != nil {
					return usageError{err}
				}
				return nil
			}
		}
	}
	return root
}

// commands lists every command, in the order the help shows them.
func commands(in io.Reader, out, errw io.Writer) []*cobra.Command {
	return []*cobra.Command{
		newNewCmd(func(o newOptions) error { return runNew(o, in, out) }),
		newMarksCmd(func(ctx context.Context, o marksOptions) error { return runMarks(ctx, o, out) }),
		newBallsCmd(func(ctx context.Context, o ballsOptions) error { return runBalls(ctx, o, out) }),
		newMakeCmd(func(ctx context.Context, o makeOptions) error { return runMake(ctx, o, out, errw) }),
		newCouponCmd(func(ctx context.Context, o couponOptions) error { return runCoupon(ctx, o, out) }),
		newKerfCmd(func(ctx context.Context, o kerfOptions) error { return runKerf(ctx, o, out) }),
		newDryrunCmd(func(ctx context.Context, o dryrunOptions) error { return exitStatus(runDryrun(ctx, o, out, errw)) }),
		newVerifyCmd(func(ctx context.Context, o verifyOptions) error { return runVerify(ctx, o, out) }),
		newMarkedCmd(func(ctx context.Context, o markedOptions) error { return runMarked(ctx, o, out) }),
		newPageCmd(func(ctx context.Context, o pageOptions) error { return runPage(ctx, o, out) }),
		newListCmd(func(o listOptions) error { return runList(o, out) }),
		newExplainCmd(func(o explainOptions) error { return runExplain(o, out) }),
		newSchemaCmd(func(name string) error { return runSchema(name, out) }),
		newManCmd(func(root *cobra.Command, page string) error { return runMan(root, page, out) }),
		newCompletionCmd(func(root *cobra.Command, shell string) error { return runCompletion(root, shell, out) }),
		newVersionCmd(func(o versionOptions) error { return runVersion(o, thisBuild(), out) }),
	}
}
