package layout

import (
	"fmt"
	"slices"
	"strings"

	"spotjig/layout/problem"
)

// Idle returns a problem for every choice that asks for something which no game of the
// request has: an anchor where no game marks anchors, two baulk lines where no game has
// two; and for what is said of the balls, by keys that a person stated, and no game needs.
// A choice at its default asks for nothing. Fields are those of the job file.
func (r Request) Idle(stated func(key string) bool) problem.List {
	var out problem.List
	games := strings.Join(r.Games, " and ")
	for _, b := range []struct {
		key, what string
		used      func(game) bool
	}{
		{"balls.reds", "a triangle of reds", func(g game) bool { return g.Reds > 0 }},
		{"balls.rack_wall", "a rack", game.racks},
	} {
		if stated(b.key) && !slices.ContainsFunc(r.Games, func(id string) bool { g, _ := gameNamed(id); return b.used(g) }) {
			out.Add(problem.Idle(b.key, games+" has not "+b.what, "remove it, or name a game that has"))
		}
	}
	for _, c := range choiceNames() {
		got := r.Choices.pick(c)
		if got == "" || got == "none" || got == choiceDefaults[c] || r.answered(c, got) {
			continue
		}
		field := "choices." + string(c)
		if c == choiceRack {
			field = "jig.rack"
		}
		out.Add(problem.Idle(field, fmt.Sprintf("no mark of %s depends on %q", games, got), "remove it, or name a game that has such marks"))
	}
	return out
}

// racks reports whether a game sets its balls up in a rack that has a wall: pool marks its
// outline, and of snooker's reds FitBalls tells whether the wall has room before the black.
func (g game) racks() bool {
	return g.Reds > 0 || slices.ContainsFunc(g.Marks, func(m rule) bool {
		return slices.ContainsFunc(append([]at{m.A, m.B}, m.Around...), func(a at) bool { return a.Along.Wall != 0 || a.Across.Wall != 0 })
	})
}

// choiceDefaults are what the job's reader takes where nothing is said.
var choiceDefaults = map[choice]string{choiceBaulk: "scaled", choiceD: "width/6", choiceBlack: "length/11", choiceRack: "corners", choiceBox: "none"}

// answered reports whether some game of the request has, for the choice's value, a formula
// other than the default's, or a mark.
func (r Request) answered(c choice, got string) bool {
	return slices.ContainsFunc(r.Games, func(id string) bool {
		g, _ := gameNamed(id)
		for _, v := range g.Values {
			if v.By == c && slices.ContainsFunc(v.Formulas, func(f formula) bool { return f.For == got && !f.D.same(v.Formulas[0].D) }) {
				return true
			}
		}
		return slices.ContainsFunc(g.Marks, func(m rule) bool { return m.Only.Choice == c && m.Only.Is == got })
	})
}

// same reports whether two distances without named values are the same formula.
func (d dist) same(e dist) bool {
	return d.L == e.L && d.W == e.W && d.Ball == e.Ball && d.Wall == e.Wall && d.MM == e.MM && len(d.Terms)+len(e.Terms) == 0
}
