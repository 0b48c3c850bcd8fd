package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"spotjig/cam/machine"
	"spotjig/cmd/spotjig/folder"
	"spotjig/cmd/spotjig/named"
	"spotjig/cmd/spotjig/terminal"
	"spotjig/layout/job"
	"spotjig/layout/problem"
	"spotjig/post/dryrun"
)

// dryrunOptions is what the command line of dryrun says.
type dryrunOptions struct {
	Files    []string // programs, folders and patterns
	Machine  string   // catalogue name or file
	Material string   // catalogue name or file
	Stock    string   // WxHxT
	Start    string   // x,y,z
	Assume   bool
	JSON     bool
	Quiet    bool
	In       io.Reader
	Explain  string // a code
}

// newDryrunCmd binds the flags of dryrun and calls run.
func newDryrunCmd(run func(context.Context, dryrunOptions) error) *cobra.Command {
	var opt dryrunOptions
	cmd := &cobra.Command{
		Use:   "dryrun FILE...",
		Short: "Bounds and hazards of any program, before beam or blade moves",
		Long: "dryrun reads RS-274 programs, whoever wrote them, and holds them against a\n" +
			"machine: where the head goes, what it does there, how long it takes, and every\n" +
			"place where that is wrong or not known. FILE is a program, a folder of programs,\n" +
			"a pattern, or - for standard input.",
		Example: "  spotjig dryrun --machine laser-600x400 part.nc\n" +
			"  spotjig dryrun --machine laser-600x400 --assume bought.nc\n" +
			"  spotjig dryrun --machine shop.yaml --stock 600x400x5 --json incoming/\n" +
			"  spotjig dryrun --explain D701",
		RunE: func(cmd *cobra.Command, args []string) error {
			opt.Files, opt.In = args, cmd.InOrStdin()
			return run(cmd.Context(), opt)
		},
	}
	f := cmd.Flags()
	f.StringVar(&opt.Machine, "machine", "", "machine to hold the program against, `NAME|FILE`; without it language and extents only")
	f.StringVar(&opt.Material, "material", "", "material with its power cap, `NAME|FILE`")
	f.StringVar(&opt.Stock, "stock", "", "sheet with its corner at work zero, `WxHxT`, mm or with units")
	f.StringVar(&opt.Start, "start", "", "where the head stands, `x,y,z`, machine mm (default the profile's park, else work zero)")
	f.BoolVar(&opt.Assume, "assume", false, "take what is usual where the program does not say, and tell what the verdict rests on")
	jsonFlag(cmd, &opt.JSON)
	quietFlag(cmd, &opt.Quiet)
	f.StringVar(&opt.Explain, "explain", "", "tell what a `CODE` means and stop")
	return cmd
}

// runDryrun judges every program and writes all reports to out. It returns the exit
// status: 0 when every program passes, 1 when one does not or cannot be read, 2 for
// wrong usage, 130 when interrupted.
func runDryrun(ctx context.Context, opt dryrunOptions, out, errw io.Writer) int {
	if opt.Explain != "" {
		return explainCode(opt.Explain, out, errw)
	}
	in := &reading{in: opt.In}
	base, exit := dryrunSetup(opt, in, streams{out, errw, opt.JSON, "spotjig dryrun"})
	if exit != 0 {
		return exit
	}
	files := named.Programs(opt.Files)
	if len(files) == 0 {
		fmt.Fprintln(errw, "spotjig: no program named\n    help: spotjig dryrun FILE... --machine NAME")
		return 2
	}
	var reports []dryrun.Report
	for _, f := range files {
		base.File = f
		r, err := dryrunFile(ctx, base, in, errw)
		if ctx.Err() != nil {
			fmt.Fprintln(errw, "spotjig: interrupted")
			return 130
		}
		if err != nil {
			r = dryrun.Unreadable(f, folder.Reason(err))
			if !opt.JSON {
				fmt.Fprint(errw, terminal.Fold(errw, fmt.Sprintf("%s: %s\n", f, folder.Reason(err))))
			}
		}
		reports = append(reports, r)
		if r.Verdict == dryrun.Fail {
			exit = 1
		}
	}
	if opt.Quiet && !opt.JSON {
		reports = slices.DeleteFunc(reports, func(r dryrun.Report) bool { return r.Verdict == dryrun.Pass })
	}
	if err := writeReports(out, reports, opt.JSON); err != nil {
		fmt.Fprintf(errw, "spotjig: write report: %v\n", err)
		return 1
	}
	return exit
}

// writeReports writes what was found, for programs or for people.
func writeReports(out io.Writer, reports []dryrun.Report, json bool) error {
	if json {
		return dryrun.WriteJSON(out, reports)
	}
	var b strings.Builder
	if err := dryrun.WriteText(&b, reports, terminal.Columns(out)); err != nil {
		return err
	}
	_, err := io.WriteString(out, terminal.Fold(out, b.String()))
	return err
}

// explainCode tells what a code means, as the command explain does.
func explainCode(code string, out, errw io.Writer) int {
	if err := runExplain(explainOptions{words: []string{code}}, out); err != nil {
		fmt.Fprintf(errw, "spotjig: %v\n    help: run spotjig explain --help\n", err)
		return exitUsage
	}
	return exitDone
}

// dryrunSetup turns names and numbers of the command line into options. Faults in
// what was typed exit 2, faults in a file 1.
func dryrunSetup(opt dryrunOptions, in *reading, to streams) (o dryrun.Options, exit int) {
	errw := to.errw
	var err error
	o.Assume = opt.Assume
	if o.Start, err = placeFlag(opt.Start); err == nil {
		o.Stock, err = stockFlag(opt.Stock)
	}
	if err != nil {
		fmt.Fprint(errw, terminal.Fold(errw, fmt.Sprintf("spotjig: %v\n", err)))
		return o, 2
	}
	if opt.Machine != "" {
		if o.Machine, err = machineFlag(in, opt.Machine); err != nil {
			return o, exitCode(context.Background(), err, to)
		}
	}
	if opt.Material != "" {
		if o.Material, err = materialFlag(in, opt.Material, o.Machine); err != nil {
			return o, exitCode(context.Background(), err, to)
		}
	}
	return o, 0
}

// machineFlag finds a machine by catalogue name, else by file.
func machineFlag(in *reading, name string) (*machine.Profile, error) {
	if p, ok := machine.Lookup(name); ok {
		return &p, nil
	}
	data, err := in.upTo(name, job.FileMax)
	if err != nil {
		return nil, notBuiltIn("machine", name, machine.ProfileNames(), err)
	}
	p, err := machine.ParseProfile(name, data)
	return &p, err
}

// materialFlag finds a material by catalogue name, else by file.
func materialFlag(in *reading, name string, m *machine.Profile) (*machine.Material, error) {
	if mat, ok := machine.LookupMaterial(name); ok {
		return &mat, nil
	}
	data, err := in.upTo(name, job.FileMax)
	if err != nil {
		return nil, notBuiltIn("material", name, machine.MaterialNames(), err)
	}
	if m == nil {
		m = &machine.Profile{}
	}
	mat, err := machine.ParseMaterial(name, data, *m)
	return &mat, err
}

// notBuiltIn is the fault of a name that is neither built in nor a file's.
func notBuiltIn(what, name string, known []string, err error) error {
	var usage usageError
	if errors.As(err, &usage) {
		return err
	}
	return problem.Problem{File: name, Field: "--" + what, Code: "F001", Msg: fmt.Sprintf("neither a %s that is built in nor a file that can be read: %s%s", what, folder.Reason(err), didYouMean(name, known)),
		Help: "built in are " + strings.Join(known, ", ")}
}

// placeFlag reads x,y or x,y,z.
func placeFlag(s string) (*machine.Axes, error) {
	if s == "" {
		return nil, nil
	}
	parts := strings.Split(s, ",")
	if len(parts) < 2 || len(parts) > 3 {
		return nil, fmt.Errorf("--start %q: want x,y,z\n    help: for example --start 0,0,10", s)
	}
	v, err := lengths(parts)
	if err != nil {
		return nil, fmt.Errorf("--start %q: %w", s, err)
	}
	return &machine.Axes{X: v[0], Y: v[1], Z: v[2]}, nil
}

// stockFlag reads WxH or WxHxT.
func stockFlag(s string) (*dryrun.Box3, error) {
	if s == "" {
		return nil, nil
	}
	v, err := job.ParseSheet(s)
	if err != nil {
		return nil, fmt.Errorf("--stock %q: %w", s, err)
	}
	return dryrun.StockOf(v), nil
}

func lengths(parts []string) (v [3]float64, err error) {
	for i, p := range parts {
		if v[i], err = job.ParseLength(strings.TrimSpace(p)); err != nil {
			return v, err
		}
	}
	return v, nil
}

// dryrunFile judges one file, with a bar on a terminal when it takes long.
func dryrunFile(ctx context.Context, opt dryrun.Options, in *reading, errw io.Writer) (dryrun.Report, error) {
	if opt.File == standardInput {
		r, err := in.standard()
		if err != nil {
			return dryrun.Report{}, err
		}
		return dryrun.Run(ctx, r, opt)
	}
	f, err := os.Open(opt.File)
	if err != nil {
		return dryrun.Report{}, err
	}
	defer f.Close()
	info, err := f.Stat()
	if err != nil {
		return dryrun.Report{}, err
	}
	if info.IsDir() {
		return dryrun.Report{}, named.ErrNoPrograms
	}
	show, clear := terminal.Bar(errw, filepath.Base(opt.File), info.Size())
	defer clear()
	opt.Progress = show
	return dryrun.Run(ctx, f, opt)
}
