package jobfile

import (
	"bufio"
	"cmp"
	"errors"
	"fmt"
	"io"
	"slices"
	"strings"

	"spotjig/cam/machine"
	"spotjig/layout"
	"spotjig/layout/job"
	"spotjig/layout/problem"
	"spotjig/layout/screen"
)

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

// Ask asks for table, games and machine. An error is of reading or printing.
func Ask(in io.Reader, out io.Writer) (job.Answers, error) {
	iv := &interview{in: bufio.NewReader(io.LimitReader(in, answersMax)), out: out}
	a := job.Answers{}
	a.Size = iv.ask("Table as sold, or \"other\"", usualSize, job.SizeAnswer)
	iv.surface(&a)
	a.Games = iv.ask("Games, joined by commas", usualGames, func(s string) (string, error) {
		return strings.ToLower(strings.Join(gamesNamed(s), ", ")), knownGames(s)
	})
	if take, why := a.BaulkLine(); take != "" {
		iv.say(why)
		a.Baulk = iv.ask("Baulk line: head-string, scaled, fifth or both", take, job.BaulkAnswer)
	}
	a.Machine = iv.ask("Machine", usualMachine, func(s string) (string, error) {
		if _, ok := machine.Lookup(s); !ok {
			return s, fmt.Errorf("unknown built-in machine; %s", problem.DidYouMean(s, machine.ProfileNames()))
		}
		return s, nil
	})
	return a, iv.err
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
	var b strings.Builder
	for line := range strings.Lines(text) {
		b.WriteString(screen.Paragraph("  ", strings.TrimSpace(line), screen.Columns))
	}
	if _, err := io.WriteString(iv.out, b.String()); iv.err == nil {
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
		if _, err := fmt.Fprintf(iv.out, "%s [%s]: ", text, cmp.Or(def, "not measured yet")); err != nil {
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
