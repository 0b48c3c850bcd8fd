package layout

import (
	"fmt"
	"slices"
	"strings"

	"spotjig/layout/problem"
)

// Idle returns a problem for every choice that asks for something which no game of the
// request has: an anchor where no game marks anchors, two baulk lines where no game has
// two. A choice at its default asks for nothing. Fields are those of the job file.
func (r Request) Idle() problem.List {
	var out problem.List
	for _, c := range choiceNames() {
		got := r.Choices.pick(c)
		if got == "" || got == "none" || got == choiceDefaults[c] || r.answered(c, got) {
			continue
		}
		field := "choices." + string(c)
		if c == choiceRack {
			field = "jig.rack"
		}
		out.Add(problem.Problem{Field: field, Code: "J096",
			Msg:  fmt.Sprintf("%q changes nothing: no mark of %s depends on it", got, strings.Join(r.Games, " and ")),
			Help: "remove it, or name a game that has such marks"})
	}
	return out
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
