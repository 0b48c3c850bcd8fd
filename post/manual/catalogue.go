package manual

import (
	"fmt"
	"io"

	"spotjig/cam/machine"
	"spotjig/layout"
	"spotjig/layout/figure"
	"spotjig/layout/job"
	"spotjig/layout/screen"
)

// Topics are what can be listed.
func Topics() []string { return []string{"games", "machines", "materials"} }

// Catalogue is what is built in of one topic; the others are left out.
type Catalogue struct {
	Games     []Game     `json:"games,omitempty"`
	Sizes     []Size     `json:"sizes,omitempty"`
	Machines  []Machine  `json:"machines,omitempty"`
	Materials []Material `json:"materials,omitempty"`
}

// Game is a game with how well its rules are sourced.
type Game struct {
	ID    string `json:"id"`
	Name  string `json:"name"`
	Rules string `json:"rules"`
}

// Size is a table as sold with its published surface, mm.
type Size struct {
	Name   string  `json:"name"`
	Length float64 `json:"length"`
	Width  float64 `json:"width"`
	Source string  `json:"source"`
}

// Machine is a machine with its travel, mm; 0: drawings only.
type Machine struct {
	Name    string  `json:"name"`
	Process string  `json:"process"`
	TravelX float64 `json:"travel_x"`
	TravelY float64 `json:"travel_y"`
}

// Material is a sheet with what may cut it.
type Material struct {
	Name  string  `json:"name"`
	Kind  string  `json:"kind"`
	Sold  float64 `json:"sold"` // mm
	Laser bool    `json:"laser"`
	Knife bool    `json:"knife"`
}

// List is the catalogue of a topic; with games come the sizes of tables that a job may name.
func List(topic string) Catalogue {
	var c Catalogue
	switch topic {
	case "games":
		for _, g := range layout.Games() {
			c.Games = append(c.Games, Game{g.ID, g.Name, g.Grounds()})
		}
		for _, s := range job.Sizes() {
			c.Sizes = append(c.Sizes, Size{s.Name, s.L, s.W, s.Source})
		}
	case "machines":
		for _, p := range machine.Profiles() {
			m := Machine{Name: p.Name, Process: string(p.Process)}
			if p.Process != machine.Shop {
				m.TravelX, m.TravelY = p.Max.X-p.Min.X, p.Max.Y-p.Min.Y
			}
			c.Machines = append(c.Machines, m)
		}
	case "materials":
		for _, m := range machine.Materials() {
			c.Materials = append(c.Materials, Material{m.Name, m.Kind, m.Sold, m.CutBy(machine.Laser), m.CutBy(machine.Knife)})
		}
	}
	return c
}

// Write prints the catalogue as tables, so many columns wide.
func (c Catalogue) Write(w io.Writer, width int) error {
	games := [][]string{{"ID", "GAME", "RULES FROM"}}
	for _, g := range c.Games {
		games = append(games, []string{g.ID, g.Name, g.Rules})
	}
	sizes := [][]string{{"TABLE", "PUBLISHED SURFACE", "FROM"}}
	for _, s := range c.Sizes {
		sizes = append(sizes, []string{s.Name, figure.MM(s.Length) + " x " + figure.MM(s.Width), s.Source})
	}
	machines := [][]string{{"MACHINE", "PROCESS", "TRAVEL"}}
	for _, m := range c.Machines {
		travel := fmt.Sprintf("%g x %g mm", m.TravelX, m.TravelY)
		if m.TravelX == 0 {
			travel = "drawings only"
		}
		machines = append(machines, []string{m.Name, m.Process, travel})
	}
	materials := [][]string{{"MATERIAL", "KIND", "SOLD", "LASER", "KNIFE"}}
	for _, m := range c.Materials {
		materials = append(materials, []string{m.Name, m.Kind, fmt.Sprintf("%g mm", m.Sold), figure.YesNo(m.Laser), figure.YesNo(m.Knife)})
	}
	text := ""
	for _, rows := range [][][]string{games, sizes, machines, materials} {
		if len(rows) == 1 {
			continue // of another topic
		}
		if text != "" {
			text += "\n"
		}
		text += screen.Table(rows, width)
	}
	_, err := io.WriteString(w, text)
	return err
}
