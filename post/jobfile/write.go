// Package jobfile writes a new job file: every key there is, with its unit and default in
// comments, and what was answered filled in. It asks a person for the answers, too.
package jobfile

import (
	"cmp"
	_ "embed" // the commented job file
	"fmt"
	"slices"
	"strings"
	"text/template"

	"spotjig/cam/machine"
	"spotjig/layout/job"
	"spotjig/layout/problem"
)

//go:embed new.yaml
var newYAML string

// What is taken where nothing is answered.
const (
	usualSize    = "9 ft pool"
	usualGames   = "pool"
	usualMachine = "laser-600x400"
)

// Write fills the answers into the commented job file and reads it, so that what it returns
// is a job that reads. Its faults are problems without a file and a line, as no file is
// written yet.
func Write(a job.Answers) (string, error) {
	profile, ok := machine.Lookup(cmp.Or(a.Machine, usualMachine))
	if !ok {
		return "", problem.Problem{Field: "machine", Code: "M001", Msg: fmt.Sprintf("unknown built-in machine %q; %s", a.Machine, problem.DidYouMean(a.Machine, machine.ProfileNames())),
			Help: `"spotjig list machines" shows them`}
	}
	sold := cmp.Or(a.Size, usualSize)
	if sold == job.OtherSize {
		sold = ""
	}
	kind, sheet := "cast acrylic", "5 mm"
	if profile.Process == machine.Knife {
		kind, sheet = "polyester film", "0.35 mm"
	}
	var games []string
	for _, g := range gamesNamed(cmp.Or(a.Games, usualGames)) {
		games = append(games, job.Quote(g))
	}
	baulk := cmp.Or(a.Baulk, "scaled")
	values := map[string]string{
		"Name":       job.Quote(strings.TrimSpace(sold + " table")),
		"Size":       sizeLine(sold),
		"Length":     sideLine("length", a.Length, "2541 mm"),
		"Width":      sideLine("width", a.Width, "1269.5 mm"),
		"Measured":   measuredLine(a.Measured),
		"Baulk":      baulk,
		"BaulkPad":   strings.Repeat(" ", max(0, 18-len(baulk))),
		"Games":      strings.Join(games, ", "),
		"Machine":    profile.Name,
		"MachinePad": strings.Repeat(" ", max(0, 23-len(profile.Name))),
		"Kind":       kind,
		"Sold":       sheet,
	}
	var b strings.Builder
	if err := template.Must(template.New("job").Option("missingkey=error").Parse(newYAML)).Execute(&b, values); err != nil {
		panic("jobfile: internal error: " + err.Error())
	}
	j, _, err := job.Read("", []byte(b.String()), job.Options{})
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

// gamesNamed parts the games in an answer, however they are joined.
func gamesNamed(text string) []string {
	return slices.DeleteFunc(strings.FieldsFunc(text, func(r rune) bool { return strings.ContainsRune(" ,;/&+", r) }),
		func(g string) bool { return strings.EqualFold(g, "and") })
}
