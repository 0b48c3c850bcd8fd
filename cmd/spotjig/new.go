package main

import (
	"bufio"
	_ "embed" // the commented job file travels in the program
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"slices"
	"strconv"
	"strings"
	"text/template"

	"github.com/spf13/cobra"

	"spotjig/cam/machine"
	"spotjig/layout"
	"spotjig/layout/job"
	"spotjig/layout/problem"
)

//go:embed new.yaml
var newYAML string

// newOptions are the argument and flags of new.
type newOptions struct {
	file     string // what to write
	size     string // the rest: "" not given
	length   string
	width    string
	games    string // joined by commas
	machine  string
	terminal bool // a person sits at the input and can be asked
}

func newNewCmd(run func(newOptions) error) *cobra.Command {
	o := newOptions{}
	c := &cobra.Command{
		Use:   "new FILE",
		Short: "Write a commented job file to edit",
		Long: "new writes a job file with every key, its unit and its default. It never\n" +
			"overwrites. On a terminal, with none of the flags, it asks a few questions first.",
		Args: cobra.ExactArgs(1),
		RunE: func(c *cobra.Command, args []string) error {
			o.file = args[0]
			o.terminal = readsTerminal(c.InOrStdin())
			return run(o)
		},
	}
	c.Flags().StringVar(&o.size, "size", "", "the table as sold, e.g. \"9 ft pool\"")
	c.Flags().StringVar(&o.length, "length", "", "playing surface, cushion nose to cushion nose")
	c.Flags().StringVar(&o.width, "width", "", "playing surface, cushion nose to cushion nose")
	c.Flags().StringVar(&o.games, "games", "", "games to mark, joined by commas")
	c.Flags().StringVar(&o.machine, "machine", "", "a built-in machine")
	return c
}

// readsTerminal tells whether a person may sit at the input.
func readsTerminal(in io.Reader) bool {
	f, ok := in.(*os.File)
	if !ok {
		return false
	}
	info, err := f.Stat()
	if err != nil || info.Mode()&os.ModeCharDevice == 0 {
		return false
	}
	// The null device is a character device too, and nobody sits at it.
	null, err := os.Stat(os.DevNull)
	return err != nil || !os.SameFile(info, null)
}

// runNew writes the file. It asks only when nothing is given and someone is there.
func runNew(o newOptions, in io.Reader, out io.Writer) error {
	if _, err := os.Lstat(o.file); err == nil {
		return existsAlready(o.file)
	}
	if o.terminal && o.size+o.length+o.width+o.games+o.machine == "" {
		if err := askNew(&o, in, out); err != nil {
			return err
		}
	}
	text, err := newJob(o)
	if err != nil {
		return err
	}
	if err := writeNewFile(o.file, text); err != nil {
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
	var at *fs.PathError
	if errors.As(err, &at) {
		err = at.Err
	}
	return problem.Problem{File: file, Code: "F025", Msg: "cannot be written: " + err.Error(), Help: "check that its folder is there, writable and not full"}
}

// newJob fills in the commented job file and reads it, so that what is written is a
// job that reads.
func newJob(o newOptions) (string, error) {
	profile, ok := machine.Lookup(or(o.machine, "laser-600x400"))
	if !ok {
		return "", problem.Problem{Field: "machine", Code: "M001", Msg: fmt.Sprintf("unknown built-in machine %q; %s", o.machine, problem.DidYouMean(o.machine, machineNames())),
			Help: `"spotjig list machines" shows them`}
	}
	kind, sold := "cast acrylic", "5 mm"
	if profile.Process == machine.Knife {
		kind, sold = "polyester film", "0.35 mm"
	}
	var games []string
	for _, g := range strings.FieldsFunc(or(o.games, "pool"), func(r rune) bool { return r == ',' || r == ' ' }) {
		games = append(games, quoteYAML(g))
	}
	values := map[string]string{
		"Name":       quoteYAML(or(o.size, "9 ft pool") + " table"),
		"Size":       quoteYAML(or(o.size, "9 ft pool")),
		"Length":     sideLine("length", o.length, "2541 mm"),
		"Width":      sideLine("width", o.width, "1269.5 mm"),
		"Games":      strings.Join(games, ", "),
		"Machine":    profile.Name,
		"MachinePad": strings.Repeat(" ", max(0, 23-len(profile.Name))),
		"Kind":       kind,
		"Sold":       sold,
	}
	var b strings.Builder
	if err := template.Must(template.New("job").Option("missingkey=error").Parse(newYAML)).Execute(&b, values); err != nil {
		panic("new: internal error: " + err.Error())
	}
	j, _, err := job.Read(o.file, []byte(b.String()), job.Options{})
	if err == nil {
		_, _, _, err = machine.Read(j.Machine, j.Material, machine.Options{})
	}
	return b.String(), withoutPlace(err)
}

// withoutPlace takes the lines off faults in a file that was not written.
func withoutPlace(err error) error {
	list := problem.From(err)
	if len(list) == 0 {
		return err
	}
	var out problem.List
	for _, p := range list {
		p.File, p.Line, p.Col = "", 0, 0
		out = append(out, p)
	}
	return out.Err()
}

// sideLine is the line of a length, commented out when it is not measured yet.
func sideLine(key, value, example string) string {
	if value == "" {
		return fmt.Sprintf("  # %-28s# measure it, then remove the mark in front", key+": "+example)
	}
	return fmt.Sprintf("  %-30s# cushion nose to cushion nose", key+": "+quoteYAML(value))
}

// quoteYAML writes a text so that YAML reads it back whatever is in it.
func quoteYAML(s string) string {
	if s != "" && strings.Trim(s, "abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789 .-/") == "" && strings.Trim(s, " ") == s && s[0] != '-' {
		return s
	}
	if strings.ContainsFunc(s, func(r rune) bool { return !strconv.IsPrint(r) }) {
		return strconv.QuoteToASCII(s) // refused when it is read
	}
	return "'" + strings.ReplaceAll(s, "'", "''") + "'"
}

// or is the value, or the other when there is none.
func or(value, other string) string {
	if value == "" {
		return other
	}
	return value
}

// machineNames lists the built-in machines.
func machineNames() []string {
	var out []string
	for _, p := range machine.Profiles() {
		out = append(out, p.Name)
	}
	return out
}

// question is one line asked of a person.
type question struct {
	text, def string
	into      *string
	check     func(string) error
}

// asksMax: how often a question is repeated before the default stands.
const asksMax = 3

// askNew asks for table, games and machine. An empty line takes the default, and so
// does the end of the input.
func askNew(o *newOptions, in io.Reader, out io.Writer) error {
	length := func(s string) error { _, err := job.ParseLength(s); return err }
	r := bufio.NewReader(io.LimitReader(in, 64<<10))
	for _, q := range []question{
		{"Table as sold", "9 ft pool", &o.size, nil},
		{"Length of the playing surface, cushion nose to cushion nose", "", &o.length, length},
		{"Width of the playing surface, cushion nose to cushion nose", "", &o.width, length},
		{"Games, joined by commas", "pool", &o.games, knownGames},
		{"Machine", "laser-600x400", &o.machine, func(s string) error {
			if _, ok := machine.Lookup(s); !ok {
				return errors.New("known: " + strings.Join(machineNames(), ", "))
			}
			return nil
		}},
	} {
		if err := q.ask(r, out); err != nil {
			return err
		}
	}
	return nil
}

// ask prints one question and reads its answer.
func (q question) ask(in *bufio.Reader, out io.Writer) error {
	def := or(q.def, "not measured yet")
	for range asksMax {
		if _, err := fmt.Fprintf(out, "%s [%s]: ", q.text, def); err != nil {
			return err
		}
		line, err := in.ReadString('\n')
		if err != nil && !errors.Is(err, io.EOF) {
			return fmt.Errorf("read answer: %w", err)
		}
		answer := strings.TrimSpace(line)
		if answer == "" {
			break
		}
		if q.check == nil || q.check(answer) == nil {
			*q.into = answer
			return nil
		}
		if _, err := fmt.Fprintln(out, sayWhy(q.check(answer))); err != nil {
			return err
		}
	}
	*q.into = q.def
	return nil
}

// sayWhy is what is wrong with an answer, on lines set in by two blanks.
func sayWhy(err error) string {
	if list := problem.From(err); len(list) > 0 {
		return "  " + list[0].Msg + "\n  " + list[0].Help
	}
	return "  " + err.Error()
}

// knownGames refuses games that are not built in.
func knownGames(text string) error {
	var ids []string
	for _, g := range layout.Games() {
		ids = append(ids, g.ID)
	}
	for _, g := range strings.FieldsFunc(text, func(r rune) bool { return r == ',' || r == ' ' }) {
		if !slices.Contains(ids, strings.ToLower(g)) {
			return fmt.Errorf("unknown game %q; %s", g, problem.DidYouMean(g, ids))
		}
	}
	return nil
}
