package main

import (
	"fmt"
	"io"
	"strings"
	"text/tabwriter"

	"github.com/spf13/cobra"

	"spotjig/cam/machine"
	"spotjig/layout"
	"spotjig/layout/figure"
	"spotjig/layout/job"
)

// listOptions say what to list.
type listOptions struct{ what string }

// listTopics are what can be listed.
func listTopics() []string { return []string{"games", "machines", "materials"} }

func newListCmd(run func(listOptions) error) *cobra.Command {
	return &cobra.Command{
		Use:       "list games|machines|materials",
		Short:     "Show what is built in",
		Example:   "  spotjig list games",
		Args:      cobra.MatchAll(cobra.ExactArgs(1), cobra.OnlyValidArgs),
		ValidArgs: listTopics(),
		RunE: func(_ *cobra.Command, args []string) error {
			return run(listOptions{what: args[0]})
		},
	}
}

// runList prints one catalogue as a table.
func runList(o listOptions, out io.Writer) error {
	var b strings.Builder
	w := tabwriter.NewWriter(&b, 0, 0, 2, ' ', 0)
	switch o.what {
	case "games":
		listGames(w)
	case "machines":
		listMachines(w)
	case "materials":
		listMaterials(w)
	}
	if err := w.Flush(); err != nil {
		return err
	}
	_, err := io.WriteString(out, b.String())
	return err
}

// listGames shows each game with how well its rules are sourced, then the sizes of
// tables that a job may name.
func listGames(w io.Writer) {
	fmt.Fprintln(w, "ID\tGAME\tRULES FROM")
	for _, g := range layout.Games() {
		fmt.Fprintf(w, "%s\t%s\t%s\n", g.ID, g.Name, gradeText(g.Grade))
	}
	fmt.Fprintln(w, "\nTABLE\tPUBLISHED SURFACE\tFROM")
	for _, s := range job.Sizes() {
		fmt.Fprintf(w, "%s\t%s x %s\t%s\n", s.Name, figure.MM(s.L), figure.MM(s.W), s.Source)
	}
}

// gradeText says what a grade of sources means.
func gradeText(grade string) string {
	switch grade {
	case "A":
		return "rule body"
	case "B":
		return "encyclopaedia, trade body or maker"
	case "C":
		return "how-to or glossary"
	case "K":
		return "computed or common practice"
	}
	return "from memory"
}

// listMachines shows each machine's process and travel.
func listMachines(w io.Writer) {
	fmt.Fprintln(w, "MACHINE\tPROCESS\tTRAVEL")
	for _, p := range machine.Profiles() {
		travel := fmt.Sprintf("%g x %g mm", p.Max.X-p.Min.X, p.Max.Y-p.Min.Y)
		if p.Process == machine.Shop {
			travel = "drawings only"
		}
		fmt.Fprintf(w, "%s\t%s\t%s\n", p.Name, p.Process, travel)
	}
}

// listMaterials shows each sheet and what may cut it.
func listMaterials(w io.Writer) {
	fmt.Fprintln(w, "MATERIAL\tKIND\tSOLD\tLASER\tKNIFE")
	for _, m := range machine.Materials() {
		fmt.Fprintf(w, "%s\t%s\t%g mm\t%s\t%s\n", m.Name, m.Kind, m.Sold, may(machine.Laser, m), may(machine.Knife, m))
	}
}

// may tells whether a process may cut a sheet.
func may(p machine.Process, m machine.Material) string {
	profile := machine.Profile{Process: p, Knife: machine.KnifeProfile{SheetMax: m.Thickness}}
	if machine.CheckMaterial(profile, m) != nil {
		return "no"
	}
	return "yes"
}
