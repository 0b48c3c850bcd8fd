package manual

import (
	"fmt"
	"io"
	"strings"
)

// Options say how the manual is written.
type Options struct {
	Width int // characters of a line, at most; 0: 80
}

// Write prints entries for people, each a head line and its text, set in and broken
// into lines, with a blank line between.
func Write(w io.Writer, entries []Entry, opt Options) error {
	if opt.Width == 0 {
		opt.Width = 80
	}
	var b strings.Builder
	for i, e := range entries {
		if i > 0 {
			b.WriteString("\n")
		}
		b.WriteString(head(e) + "\n")
		for _, text := range []string{e.Text, wanted(e), otherwise(e), example(e)} {
			for _, l := range broken(text, opt.Width-indent) {
				fmt.Fprintf(&b, "%*s%s\n", indent, "", l)
			}
		}
	}
	_, err := io.WriteString(w, b.String())
	return err
}

// indent is how far the text below a head line is set in.
const indent = 4

// headings stand before each kind in the reference.
func headings() map[Kind]string {
	return map[Kind]string{
		Key:   "KEYS of job, machine and material files, in the order of the job file",
		Check: "CHECKS of a finished job, by name",
		Code:  "CODES of problems and findings",
		Word:  "WORDS of the trade, as spotjig uses them",
	}
}

// WriteAll prints the whole reference, kind by kind.
func WriteAll(w io.Writer, opt Options) error {
	all := Entries()
	for len(all) > 0 {
		n := 1
		for n < len(all) && all[n].Kind == all[0].Kind {
			n++
		}
		if _, err := fmt.Fprintf(w, "%s\n\n", headings()[all[0].Kind]); err != nil {
			return err
		}
		if err := Write(w, all[:n], opt); err != nil {
			return err
		}
		if all = all[n:]; len(all) > 0 {
			if _, err := io.WriteString(w, "\n\n"); err != nil {
				return err
			}
		}
	}
	return nil
}

// head is an entry's first line.
func head(e Entry) string {
	names := strings.Join(e.Names, ", ")
	if e.Title != "" {
		return names + ": " + e.Title
	}
	if e.Kind != Key {
		return names + " (" + string(e.Kind) + ")"
	}
	of, _, _ := strings.Cut(e.Names[0], ".")
	if of != "machine" && of != "material" {
		of = "job"
	}
	return names + " (key of a " + of + ")"
}

// wanted says what a key's reader takes.
func wanted(e Entry) string {
	switch {
	case e.Form == "":
		return ""
	case len(e.Values) > 0:
		return e.Form + ": " + strings.Join(e.Values, ", ")
	case e.Limits == "":
		return e.Form
	}
	return e.Form + ": " + e.Limits
}

// otherwise says what holds where a key is not there.
func otherwise(e Entry) string {
	if e.Default == "" || strings.HasPrefix(e.Default, "needed") {
		return e.Default
	}
	return "default: " + e.Default
}

// example is a key's example as it stands in a file.
func example(e Entry) string {
	if e.Example == "" {
		return ""
	}
	return "example: " + last(e.Names[0]) + ": " + e.Example
}

// broken breaks a text at blanks into lines of so many characters, longer words whole.
func broken(text string, width int) []string {
	var out []string
	line := ""
	for _, word := range strings.Fields(text) {
		if line != "" && len([]rune(line))+1+len([]rune(word)) > width {
			out, line = append(out, line), ""
		}
		if line != "" {
			line += " "
		}
		line += word
	}
	if line != "" {
		out = append(out, line)
	}
	return out
}
