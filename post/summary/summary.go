// Package summary tells a person on a screen what was made: the job, whether it may be cut,
// what it comes to, and the checks. Nothing of it is for programs.
package summary

import (
	"fmt"
	"io"
	"math"
	"strings"

	"spotjig/cam/jig"
	"spotjig/cam/machine"
	"spotjig/layout/figure"
	"spotjig/layout/problem"
	"spotjig/layout/screen"
	"spotjig/post"
)

// Reader is where a person reads: no line is longer than the screen is wide, and of every
// length the unit asked for comes first.
type Reader struct {
	io.Writer
	Look screen.Look
}

// Write turns the units of what is written in one call.
func (r Reader) Write(b []byte) (int, error) {
	_, err := io.WriteString(r.Writer, r.units(string(b)))
	return len(b), err
}

// Paragraph prints text behind a lead, later lines indented as far as the lead is long.
func (r Reader) Paragraph(lead, text string) {
	// Units turn before the text is broken into lines.
	fmt.Fprint(r, screen.Paragraph(lead, r.units(text), r.Look.Columns))
}

func (r Reader) units(text string) string {
	if r.Look.Inches {
		return figure.InchesFirst(text)
	}
	return text
}

// Headline says which job it is.
func Headline(w io.Writer, s post.Set) {
	fmt.Fprintf(w, "%s\n%s\n", s.Title(), post.Parts(", ", s.Table.Name, "playing surface "+figure.By(s.Table.L, s.Table.W)))
}

// Set tells a person what was made, the most important first, with what is to be known beside
// it; all prints the checks that passed, too.
func Set(w Reader, s post.Set, notes problem.List, all bool) {
	Headline(w, s)
	outlook(w, s)
	fmt.Fprintf(w, "  games    %s\n", strings.Join(s.Job.Games, ", "))
	fmt.Fprintf(w, "  marks    %d\n", len(s.Marks))
	fins, shoes := 0, 0
	for _, p := range s.Jig.Parts {
		switch {
		case p.Role == jig.NoseShoe:
			shoes++
		case p.OnTable.Upright:
			fins++
		}
	}
	stand := figure.Count(fins, "fin")
	if shoes > 0 {
		stand += ", " + figure.Count(shoes, "shoe")
	}
	fmt.Fprintf(w, "  pieces   %d: %d flat, %s; %s\n", len(s.Jig.Parts), len(s.Jig.Parts)-fins-shoes, stand, figure.Count(len(s.Jig.Joints), "joint"))
	w.Paragraph("  serves   ", "tables "+figure.Between(s.Jig.LengthMin, s.Jig.LengthMax)+" long")
	for _, c := range s.Checks {
		if strings.HasPrefix(c.ID, "serves:") {
			w.Paragraph("           ", map[bool]string{true: "yes: ", false: "NO: "}[c.Verdict == jig.Pass]+c.Text)
		}
	}
	if says := s.Says("length-trade"); says != "" {
		w.Paragraph("           ", says)
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
		if s.Ordered(i) {
			says += ", ordered already"
		}
		if wide, high := s.Offcut(i); wide > 0 {
			says += ", leaves " + figure.Sheet(math.Floor(wide), math.Floor(high))
		}
		w.Paragraph(fmt.Sprintf("  sheet %-2d ", sh.N), says)
		cut, travel, time = cut+sh.CutLen, travel+sh.TravelLen, time+sh.Time
	}
	if s.Machine.Process != machine.Shop {
		fmt.Fprintf(w, "  cut      %s, travel %s, about %s (estimate, +-20 %%)\n", figure.Metres(cut), figure.Metres(travel), figure.Time(time))
	}
	Checks(w, s.Checks, all)
	beside(w, s, notes)
}

// beside is what to know beside a set: notes on the job, and cautions.
func beside(w Reader, s post.Set, notes problem.List) {
	for _, n := range notes {
		w.Paragraph("  note     ", n.OneLine())
	}
	for _, c := range s.Cautions {
		w.Paragraph("  caution  ", c)
	}
}

// outlook says first what matters most: may it be cut, how true it is, what stands in the
// way, and what comes next.
func outlook(w Reader, s post.Set) {
	o := s.Outlook()
	fmt.Fprintln(w)
	w.Paragraph("", o.Verdict+".")
	if says := s.Says("accuracy"); says != "" {
		w.Paragraph("  jig      ", says)
	}
	for _, h := range o.Holds {
		w.Paragraph("  waits    ", h)
	}
	for i, n := range o.Next {
		w.Paragraph(fmt.Sprintf("  next %d   ", i+1), n)
	}
	fmt.Fprintln(w)
}

// Checks prints the verdicts. Without all, what passes is counted, and
// checks of one kind that warn (a budget for each mark, a gap for each line) are
// told together.
func Checks(w Reader, cs []jig.Check, all bool) {
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

func printCheck(w Reader, c jig.Check) {
	w.Paragraph(fmt.Sprintf("  %-8s ", c.Verdict), c.ID+": "+c.Text+c.Figures())
}

// printKind prints the checks of one kind, many of them as one line.
func printKind(w Reader, kind string, cs []jig.Check) {
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
	w.Paragraph(fmt.Sprintf("  %-8s ", cs[0].Verdict), fmt.Sprintf("%s: %s: %s", kind, kindText(kind), strings.Join(names, ", ")))
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

// TestPiece tells a person what test piece was made, with a grid of settings or without, and
// what to do with it.
func TestPiece(w Reader, s post.Set, notes problem.List, grid, all bool) {
	m := s.Material
	allowed := fmt.Sprintf("kerf allowed for %.3f mm", m.Kerf)
	next := "cut it, copy reading.txt elsewhere, fill the copy in, run: spotjig kerf COPY"
	if s.Machine.Process == machine.Knife {
		allowed = fmt.Sprintf("blade's offset %.2f mm", s.Machine.Knife.Offset)
		next = "cut it, read it as reading.txt says, and put offset and depth into machine and material"
	}
	w.Paragraph("", fmt.Sprintf("test piece for %s, %s %.2f mm, %s", s.Machine.Name, m.Kind, m.Thickness, allowed))
	for _, sh := range s.Sheets {
		w.Paragraph(fmt.Sprintf("  sheet %-2d ", sh.N), figure.Sheet(sh.Width, sh.Height)+", "+figure.Count(len(sh.Placed), "piece")+", "+figure.Time(sh.Time))
	}
	Checks(w, s.Checks, all)
	beside(w, s, notes)
	if grid {
		w.Paragraph("  next     ", "run grid.nc on an offcut first; put the power and feed that just cut through, and those that just score, into the job, and make the test piece again")
	}
	w.Paragraph("  next     ", next)
}

// Heading stands before what is told of the i-th of several files.
func Heading(w io.Writer, i, of int, name string) {
	if i > 0 {
		fmt.Fprintln(w)
	}
	if of > 1 {
		fmt.Fprintf(w, "%s:\n", name)
	}
}
