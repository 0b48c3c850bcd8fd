package main

import (
	"fmt"
	"io"
	"strings"

	"github.com/spf13/cobra"

	"spotjig/cam/machine"
	"spotjig/layout"
	"spotjig/layout/figure"
	"spotjig/layout/job"
	"spotjig/layout/screen"
)

// listOptions say what to list.
type listOptions struct {
	what string
	json bool
}

// listTopics are what can be listed.
func listTopics() []string { return []string{"games", "machines", "materials"} }

func newListCmd(run func(listOptions) error) *cobra.Command {
	var o listOptions
	c := &cobra.Command{
		Use:       "list games|machines|materials",
		Short:     "Show what is built in",
		Example:   "  spotjig list games",
		Args:      oneWord(listTopics()),
		ValidArgs: listTopics(),
		RunE: func(_ *cobra.Command, args []string) error {
			o.what = args[0]
			return run(o)
		},
	}
	jsonFlag(c, &o.json)
	return c
}

// runList prints one catalogue as a table.
func runList(o listOptions, out io.Writer) error {
	if o.json {
		return printJSON(out, listed(o.what))
	}
	var b strings.Builder
	switch wide := columns(out); o.what {
	case "games":
		b.WriteString(screen.Table(gameRows(), wide) + "\n" + screen.Table(sizeRows(), wide))
	case "machines":
		b.WriteString(screen.Table(machineRows(), wide))
	case "materials":
		b.WriteString(screen.Table(materialRows(), wide))
	}
	_, err := io.WriteString(out, b.String())
	return err
}

// gameRows are the games with how well their rules are sourced.
func gameRows() [][]string {
	rows := [][]string{{"ID", "GAME", "RULES FROM"}}
	for _, g := range layout.Games() {
		rows = append(rows, []string{g.ID, g.Name, g.Grounds()})
	}
	return rows
}

// sizeRows are the sizes of tables that a job may name.
func sizeRows() [][]string {
	rows := [][]string{{"TABLE", "PUBLISHED SURFACE", "FROM"}}
	for _, s := range job.Sizes() {
		rows = append(rows, []string{s.Name, figure.MM(s.L) + " x " + figure.MM(s.W), s.Source})
	}
	return rows
}

// machineRows are the machines with their process and travel.
func machineRows() [][]string {
	rows := [][]string{{"MACHINE", "PROCESS", "TRAVEL"}}
	for _, p := range machine.Profiles() {
		travel := fmt.Sprintf("%g x %g mm", p.Max.X-p.Min.X, p.Max.Y-p.Min.Y)
		if p.Process == machine.Shop {
			travel = "drawings only"
		}
		rows = append(rows, []string{p.Name, string(p.Process), travel})
	}
	return rows
}

// materialRows are the sheets and what may cut each.
func materialRows() [][]string {
	rows := [][]string{{"MATERIAL", "KIND", "SOLD", "LASER", "KNIFE"}}
	for _, m := range machine.Materials() {
		rows = append(rows, []string{m.Name, m.Kind, fmt.Sprintf("%g mm", m.Sold), figure.YesNo(m.CutBy(machine.Laser)), figure.YesNo(m.CutBy(machine.Knife))})
	}
	return rows
}

// listJSON is the report of list: one catalogue, the others left out.
type listJSON struct {
	Games     []gameJSON     `json:"games,omitempty"`
	Sizes     []sizeJSON     `json:"sizes,omitempty"`
	Machines  []machineJSON  `json:"machines,omitempty"`
	Materials []materialJSON `json:"materials,omitempty"`
	Problems  []problemJSON  `json:"problems"`
}

type gameJSON struct {
	ID    string `json:"id"`
	Name  string `json:"name"`
	Rules string `json:"rules"` // how well they are sourced
}

// sizeJSON is a table as sold with its published surface, mm.
type sizeJSON struct {
	Name   string  `json:"name"`
	Length float64 `json:"length"`
	Width  float64 `json:"width"`
	Source string  `json:"source"`
}

// machineJSON is a machine with its travel, mm; 0: drawings only.
type machineJSON struct {
	Name    string  `json:"name"`
	Process string  `json:"process"`
	TravelX float64 `json:"travel_x"`
	TravelY float64 `json:"travel_y"`
}

// materialJSON is a sheet with what may cut it.
type materialJSON struct {
	Name  string  `json:"name"`
	Kind  string  `json:"kind"`
	Sold  float64 `json:"sold"` // mm
	Laser bool    `json:"laser"`
	Knife bool    `json:"knife"`
}

// listed is one catalogue.
func listed(what string) listJSON {
	out := listJSON{Problems: []problemJSON{}}
	switch what {
	case "games":
		for _, g := range layout.Games() {
			out.Games = append(out.Games, gameJSON{g.ID, g.Name, g.Grounds()})
		}
		for _, s := range job.Sizes() {
			out.Sizes = append(out.Sizes, sizeJSON{s.Name, s.L, s.W, s.Source})
		}
	case "machines":
		for _, p := range machine.Profiles() {
			m := machineJSON{Name: p.Name, Process: string(p.Process)}
			if p.Process != machine.Shop {
				m.TravelX, m.TravelY = p.Max.X-p.Min.X, p.Max.Y-p.Min.Y
			}
			out.Machines = append(out.Machines, m)
		}
	case "materials":
		for _, m := range machine.Materials() {
			out.Materials = append(out.Materials, materialJSON{m.Name, m.Kind, m.Sold, m.CutBy(machine.Laser), m.CutBy(machine.Knife)})
		}
	}
	return out
}
