package main

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"

	"github.com/spf13/cobra"

	"spotjig/cmd/spotjig/folder"
	"spotjig/cmd/spotjig/terminal"
	"spotjig/layout/job"
	"spotjig/layout/problem"
	"spotjig/post/jobfile"
)

// newOptions are the argument and flags of new.
type newOptions struct {
	file     string // what to write
	given    job.Answers
	quiet    bool
	terminal bool // a person sits at the input and can be asked
}

func newNewCmd(run func(newOptions) error) *cobra.Command {
	o := newOptions{}
	c := &cobra.Command{
		Use:   "new FILE",
		Short: "Write a commented job file to edit",
		Long: "new writes a job file with every key, its unit and its default. It never\n" +
			"overwrites. On a terminal, with none of the flags, it asks a few questions first.",
		Example: "  spotjig new - --size '9 ft pool' --games pool | spotjig marks -\n  spotjig new club.yaml --size '9 ft pool' --length 2541 --width 1269.5 --games pool,snooker",
		Args:    takes(1, 1),
		RunE: func(c *cobra.Command, args []string) error {
			o.file = args[0]
			o.terminal = terminal.Asks(c.InOrStdin())
			return run(o)
		},
	}
	c.Flags().StringVar(&o.given.Size, "size", "", "the table as sold, e.g. \"9 ft pool\"")
	c.Flags().StringVar(&o.given.Length, "length", "", "playing surface, cushion nose to cushion nose")
	c.Flags().StringVar(&o.given.Width, "width", "", "playing surface, cushion nose to cushion nose")
	c.Flags().StringVar(&o.given.Games, "games", "", "games to mark, joined by commas")
	c.Flags().StringVar(&o.given.Machine, "machine", "", "a built-in machine")
	quietFlag(c, &o.quiet)
	return c
}

// runNew writes the file. It asks only when nothing is given and someone is there.
func runNew(o newOptions, in io.Reader, out io.Writer) error {
	if o.file == standardInput {
		text, err := jobfile.Write(o.given)
		if err == nil {
			_, err = io.WriteString(out, text)
		}
		return err
	}
	if _, err := os.Lstat(o.file); err == nil {
		return existsAlready(o.file)
	}
	if o.terminal && o.given == (job.Answers{}) {
		var err error
		if o.given, err = jobfile.Ask(in, out); err != nil {
			return err
		}
	}
	text, err := jobfile.Write(o.given)
	if err != nil {
		return err
	}
	if err := writeNewFile(o.file, text); err != nil || o.quiet {
		return err
	}
	_, err = fmt.Fprintf(out, "wrote %s\nedit it, then: spotjig make %s -o DIR\n", o.file, o.file)
	return err
}

func existsAlready(file string) problem.Problem {
	return problem.Problem{File: file, Code: "F024", Msg: "exists already and is never overwritten", Help: "choose another name, or remove it yourself"}
}

// writeNewFile creates the file with the text, or leaves nothing behind.
func writeNewFile(file, text string) error {
	f, err := os.OpenFile(file, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o644)
	if errors.Is(err, fs.ErrExist) {
		return existsAlready(file)
	}
	if err == nil {
		_, err = io.WriteString(f, text)
		err = errors.Join(err, f.Close())
		if err != nil {
			os.Remove(file)
		}
	}
	if err == nil {
		return nil
	}
	return problem.Problem{File: file, Code: "F025", Msg: "cannot be written: " + folder.Reason(err), Help: "check that its folder is there, writable and not full"}
}
