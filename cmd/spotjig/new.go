package main

import (
	"bufio"
	"bytes"
	_ "embed" // the commented job file travels in the program
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"slices"
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
	baulk    string // the choice of baulk line
	measured bool   // stated to be measured nose to nose
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
		Args:    cobra.ExactArgs(1),
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
	quietFlag(c, &o.quiet)
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
	if o.file == standardInput {
		text, err := newJob(o)
		if err == nil {
			_, err = io.WriteString(out, text)
		}
		return err
	}
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
		return "", problem.Problem{Field: "machine", Code: "M001", Msg: fmt.Sprintf("unknown built-in machine %q; %s", o.machine, problem.DidYouMean(o.machine, machine.ProfileNames())),
			Help: `"spotjig list machines" shows them`}
	}
	sold := or(o.size, "9 ft pool")
	if sold == job.OtherSize {
		sold = ""
	}
	kind, sheet := "cast acrylic", "5 mm"
	if profile.Process == machine.Knife {
		kind, sheet = "polyester film", "0.35 mm"
	}
	var games []string
	for _, g := range gamesNamed(or(o.games, "pool")) {
		games = append(games, job.Quote(g))
	}
	values := map[string]string{
		"Name":       job.Quote(strings.TrimSpace(sold + " table")),
		"Size":       sizeLine(sold),
		"Length":     sideLine("length", o.length, "2541 mm"),
		"Width":      sideLine("width", o.width, "1269.5 mm"),
		"Measured":   measuredLine(o.measured),
		"Baulk":      or(o.baulk, "scaled"),
		"BaulkPad":   strings.Repeat(" ", max(0, 18-len(or(o.baulk, "scaled")))),
		"Games":      strings.Join(games, ", "),
		"Machine":    profile.Name,
		"MachinePad": strings.Repeat(" ", max(0, 23-len(profile.Name))),
		"Kind":       kind,
		"Sold":       sheet,
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

// sizeLine is the line of the table's name, commented out when it has none.
func sizeLine(sold string) string {
	if sold == "" {
		return "  # size: 9 ft pool             # as sold; \"spotjig list games\" shows the sizes known"
	}
	return fmt.Sprintf("  %-30s# as sold; \"spotjig list games\" shows the sizes known", "size: "+job.Quote(sold))
}

// measuredLine is the line that states how the sides were measured, commented out when
// nobody said so.
func measuredLine(stated bool) string {
	line := "measured: nose-to-nose      # say so when the size is also a nominal or slate size"
	if stated {
		return "  " + line
	}
	return "  # " + line
}

// sideLine is the line of a length, commented out when it is not measured yet.
func sideLine(key, value, example string) string {
	if value == "" {
		return fmt.Sprintf("  # %-28s# measure it, then remove the mark in front", key+": "+example)
	}
	return fmt.Sprintf("  %-30s# cushion nose to cushion nose", key+": "+job.Quote(value))
}

// or is the value, or the other when there is none.
func or(value, other string) string {
	if value == "" {
		return other
	}
	return value
}

// interview asks a person for what a new job needs, one line a question, on out. An
// answer is judged at once and asked for again until it can be used; an empty line,
// and the end of the input, take what stands in brackets.
type interview struct {
	in  *bufio.Reader
	out io.Writer
	end bool  // of the input
	err error // of reading or printing, the first
}

// answersMax bounds what is read of a person's answers, bytes.
const answersMax = 64 << 10

// askNew asks for table, games and machine.
func askNew(o *newOptions, in io.Reader, out io.Writer) error {
	iv := &interview{in: bufio.NewReader(io.LimitReader(in, answersMax)), out: out}
	a := job.Answers{}
	a.Size = iv.ask("Table as sold, or \"other\"", "9 ft pool", job.SizeAnswer)
	iv.surface(&a)
	a.Games = iv.ask("Games, joined by commas", "pool", func(s string) (string, error) {
		return strings.ToLower(strings.Join(gamesNamed(s), ", ")), knownGames(s)
	})
	if take, why := a.BaulkLine(); take != "" {
		iv.say(why)
		a.Baulk = iv.ask("Baulk line: head-string, scaled, fifth or both", take, job.BaulkAnswer)
	}
	o.machine = iv.ask("Machine", "laser-600x400", func(s string) (string, error) {
		if _, ok := machine.Lookup(s); !ok {
			return s, fmt.Errorf("unknown built-in machine; %s", problem.DidYouMean(s, machine.ProfileNames()))
		}
		return s, nil
	})
	o.size, o.length, o.width, o.games, o.baulk, o.measured = a.Size, a.Length, a.Width, a.Games, a.Baulk, a.Measured
	return iv.err
}

// surface asks for length and width until the two can be a playing surface's; again for the
// one alone that cannot be.
func (iv *interview) surface(a *job.Answers) {
	for length, width := true, true; !iv.done(); {
		if length {
			a.Length = iv.ask("Length, nose to nose; a bare number is mm", a.Length, job.SideAnswer)
		}
		if width {
			a.Width = iv.ask("Width, nose to nose; a bare number is mm", a.Width, job.SideAnswer)
		}
		if one := a.Length == "" || a.Width == ""; one && a.Length+a.Width != "" {
			if length && width {
				iv.say("both sides are needed, or neither: then the file says that they are not measured")
				length, width = a.Length == "", a.Width == ""
				continue
			}
			a.Length, a.Width = "", "" // left out again
		}
		length, width = true, true
		fault, doubt := a.Surface()
		switch {
		case fault == nil && doubt == nil:
			return
		case fault != nil && a.Swapped():
			iv.say(sayWhy(*fault))
			if iv.yes("Exchange the two", true) {
				a.Length, a.Width, length, width = a.Width, a.Length, false, false
			}
		case fault != nil && fault.Code != "J013":
			iv.say(sayWhy(*fault))
			if fault.Code == "L009" { // of one side
				length, width = fault.Field != "table.width", fault.Field != "table.length"
			}
		default:
			if fault == nil {
				fault = doubt
			}
			iv.say(sayWhy(*fault))
			if iv.yes("Were both measured between the cushion noses, at nose height", false) {
				a.Measured = true
				return
			}
			a.Length, a.Width = "", "" // not measured: the file says so
		}
	}
}

// done tells whether nobody answers any more.
func (iv *interview) done() bool { return iv.end || iv.err != nil }

// say prints a text, each line of it set in by two blanks and wrapped.
func (iv *interview) say(text string) {
	var b bytes.Buffer
	for line := range strings.Lines(text) {
		wrap(&b, "  ", strings.TrimSpace(line))
	}
	if _, err := iv.out.Write(b.Bytes()); iv.err == nil {
		iv.err = err
	}
}

// yes asks for a yes or no.
func (iv *interview) yes(text string, def bool) bool {
	word := map[bool]string{true: "yes", false: "no"}
	got := iv.ask(text+"?", word[def], func(s string) (string, error) {
		switch strings.ToLower(s) {
		case "y", "yes":
			return "yes", nil
		case "n", "no":
			return "no", nil
		}
		return "", errors.New("answer yes or no")
	})
	return got == "yes"
}

// ask prints one question and returns the answer as take makes it, def when there is
// none. What take refuses is asked again.
func (iv *interview) ask(text, def string, take func(string) (string, error)) string {
	for !iv.done() {
		if _, err := fmt.Fprintf(iv.out, "%s [%s]: ", text, or(def, "not measured yet")); err != nil {
			iv.err = err
			break
		}
		line, err := iv.in.ReadString('\n')
		iv.end = errors.Is(err, io.EOF)
		if err != nil && !iv.end {
			iv.err = fmt.Errorf("read answer: %w", err)
			break
		}
		answer := strings.TrimSpace(line)
		if answer == "" {
			break
		}
		got, err := take(answer)
		if err == nil {
			iv.say(job.Repeated(got, answer))
			return got
		}
		iv.say(sayWhy(err))
	}
	return def
}

// sayWhy is what is wrong with an answer, and what to answer instead.
func sayWhy(err error) string {
	if list := problem.From(err); len(list) > 0 {
		return list[0].Msg + "\n" + list[0].Help
	}
	return err.Error()
}

// gamesNamed parts the games in an answer, however they are joined.
func gamesNamed(text string) []string {
	return slices.DeleteFunc(strings.FieldsFunc(text, func(r rune) bool { return strings.ContainsRune(" ,;/&+", r) }),
		func(g string) bool { return strings.EqualFold(g, "and") })
}

// knownGames refuses games that are not built in.
func knownGames(text string) error {
	var ids []string
	for _, g := range layout.Games() {
		ids = append(ids, g.ID)
	}
	for _, g := range gamesNamed(text) {
		if !slices.Contains(ids, strings.ToLower(g)) {
			return fmt.Errorf("unknown game %q; %s", g, problem.DidYouMean(g, ids))
		}
	}
	return nil
}
