package manual

import (
	"fmt"
	"io"
	"slices"
	"strings"
	"unicode"
)

// Page is a manual page for the command man, in the macros of man(7).
type Page struct {
	Name   string // "spotjig"
	Number int    // 1: commands, 5: files, 7: what else there is to know
	Brief  string // what it is, on the line of its name
	Source string // program and version, for the foot
	Parts  []Part
}

// Part is a section of a page, or with Sub a part of the section before it.
type Part struct {
	Title string
	Sub   bool
	Text  string // paragraphs with an empty line between; a paragraph that is set in stays as it is
	Terms []Term
}

// Term is a word with its meaning beside it, each text of which begins a line.
type Term struct {
	Name  string
	Texts []string
}

// pageLine is how long a line of a page's source may get, as is the custom: 80, less
// the escapes.
const pageLine = 72

// WritePage writes a page. It holds no date: the same page gives the same bytes.
func WritePage(w io.Writer, p Page) error {
	var b strings.Builder
	fmt.Fprintf(&b, ".TH %s %d \"\" %s\n", roffWord(strings.ToUpper(p.Name)), p.Number, roffWord(p.Source))
	fmt.Fprintf(&b, ".SH NAME\n%s \\- %s\n", roff(p.Name), roff(p.Brief))
	for _, part := range p.Parts {
		macro := ".SH"
		if part.Sub {
			macro = ".SS"
		}
		fmt.Fprintf(&b, "%s %s\n", macro, roffWord(part.Title))
		for i, text := range strings.Split(strings.Trim(part.Text, "\n"), "\n\n") {
			writeParagraph(&b, text, i == 0)
		}
		for _, t := range part.Terms {
			fmt.Fprintf(&b, ".TP\n.B %s\n", roffWord(t.Name))
			for i, text := range t.Texts {
				if i > 0 {
					b.WriteString(".br\n")
				}
				b.WriteString(roff(strings.Join(broken(text, pageLine), "\n")) + "\n")
			}
		}
	}
	_, err := io.WriteString(w, b.String())
	return err
}

// writeParagraph writes a paragraph; one that is set in keeps its lines.
func writeParagraph(b *strings.Builder, text string, first bool) {
	switch {
	case text == "":
	case strings.HasPrefix(text, "  "):
		fmt.Fprintf(b, ".PP\n.nf\n.RS 4\n")
		for _, l := range strings.Split(text, "\n") {
			b.WriteString(roff(strings.TrimPrefix(l, "  ")) + "\n")
		}
		b.WriteString(".RE\n.fi\n")
	case first:
		b.WriteString(roff(text) + "\n")
	default:
		b.WriteString(".PP\n" + roff(text) + "\n")
	}
}

// roff escapes text, line by line: a backslash, a hyphen that is to stay one, letters
// beyond ASCII, and what would be a macro at the beginning of a line.
func roff(text string) string {
	text = strings.NewReplacer(`\`, `\e`, "-", `\-`).Replace(text)
	var b strings.Builder
	for _, r := range text {
		if r > unicode.MaxASCII {
			fmt.Fprintf(&b, `\[u%04X]`, r)
			continue
		}
		b.WriteRune(r)
	}
	out := strings.Split(b.String(), "\n")
	for i, l := range out {
		if strings.HasPrefix(l, ".") || strings.HasPrefix(l, "'") {
			out[i] = `\&` + l
		}
	}
	return strings.Join(out, "\n")
}

// roffWord is text as one argument of a macro.
func roffWord(text string) string {
	return `"` + strings.ReplaceAll(roff(strings.Join(strings.Fields(text), " ")), `"`, `\(dq`) + `"`
}

// ReferencePage is the whole reference as a manual page, spotjig(7).
func ReferencePage(source string) Page {
	p := Page{Name: "spotjig", Number: 7, Brief: "keys, checks, codes and words of spotjig", Source: source}
	for _, e := range Entries() {
		if title := headings()[e.Kind]; len(p.Parts) == 0 || p.Parts[len(p.Parts)-1].Title != title {
			p.Parts = append(p.Parts, Part{Title: title})
		}
		part := &p.Parts[len(p.Parts)-1]
		name := strings.Join(e.Names, ", ")
		if e.Title != "" {
			name += ": " + e.Title
		}
		texts := slices.DeleteFunc([]string{e.Text, wanted(e), otherwise(e), example(e)}, func(s string) bool { return s == "" })
		part.Terms = append(part.Terms, Term{name, texts})
	}
	return p
}
