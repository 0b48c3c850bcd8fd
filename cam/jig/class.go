package jig

import (
	"fmt"
	"math"
	"strings"

	"spotjig/layout"
	"spotjig/layout/figure"
	"spotjig/layout/job"
)

// Which tables one jig serves.

// lengthClass is the range of playing-surface length one jig serves. Every mark
// is indexed from its own end nose and stands at a fixed share of the length, so
// a table dL longer moves the mark by that share of dL. Of a stated tolerance, what
// the mark's likely error leaves may be spent on that; where none is stated, another
// length may move a mark by classMove, which adds to its budget. A middle spot marked by
// reversal, or set between the templates, does not care how long the table is.
func lengthClass(budgets []Budget, req Request) [2]float64 {
	l := req.Table.L
	if req.Want.For == "this" {
		return [2]float64{l, l}
	}
	give := math.Inf(1)
	for _, b := range budgets {
		share := lengthShare(b.Mark, req.Table, req.Marks)
		if share == 0 || b.Method == ByGauge || b.Mark == middleSpot(req.Table, req.Marks) && turnsRound(req) {
			continue
		}
		move := classMove
		if b.stated {
			move = math.Max(0, b.Tolerance-b.RSS)
		}
		give = math.Min(give, move/share)
	}
	if math.IsInf(give, 1) {
		give = req.Want.Tolerance / 2
	}
	give = math.Floor(math.Min(give, classMost)*10) / 10
	return [2]float64{l - give, l + give}
}

// classMove is how far a table of another length may have a mark from its rule, mm: less
// than a pencil line and the eye beside it (common practice).
const classMove = 0.5

// classMost: beyond this the scaled marks of two tables are visibly not the
// same, whatever the budget says, mm.
const classMost = 13.0

// lengthShare is how much of a change of length moves the mark, as a fraction.
func lengthShare(id string, table layout.Table, marks []layout.Mark) float64 {
	share, l := 0.0, table.L
	for _, m := range marks {
		if m.ID != id {
			continue
		}
		for _, e := range elementsOf(m) {
			if e.lengthwise() {
				continue
			}
			b := e.Bounds()
			for _, x := range []float64{b.Min.X, b.Max.X} {
				if x > l/2+middleTol {
					x = l - x
				}
				share = math.Max(share, x/l)
			}
		}
	}
	return share
}

// classCheck states the range of length that the jig serves.
func classCheck(serves [2]float64, stated bool) Check {
	give := (serves[1] - serves[0]) / 2
	text := "serves tables " + figure.Between(serves[0], serves[1]) + " long"
	if !stated {
		text += "; at either end a mark stands up to " + figure.MM(classMove) + " from its rule"
	}
	if give == 0 {
		text = "serves this table only"
	}
	return Check{ID: "length-class", Verdict: Pass, Value: give, Unit: "mm", Text: text}
}

// servesChecks says of every other table of the job whether this jig serves it,
// and by how much it does not: in length by the range that the budgets leave, in
// width by how far the side fins slide.
func servesChecks(lim Limits, table layout.Table, also []job.AlsoTable, serves [2]float64) []Check {
	var out []Check
	for _, t := range also {
		long, wide := beyond(serves, t.L), beyondSide(table, t.W, lim.SideTravel)
		c := Check{ID: "serves:" + t.Name, Verdict: Pass, Value: math.Max(long, wide), Unit: "mm",
			Text: fmt.Sprintf("one jig serves %s, %s, too: its side noses then stand at %s from the centre line", t.Name, figure.By(t.L, t.W), figure.MM(t.W/2))}
		if long > servesTol || wide > servesTol {
			c.Verdict = Warn
			c.Text = fmt.Sprintf("the jig does not serve %s, %s:", t.Name, figure.By(t.L, t.W))
			if long > servesTol {
				c.Text += " " + figure.MM(long) + " outside the range of length;"
			}
			if wide > servesTol {
				c.Text += " each side fin would have to slide " + figure.MM(wide) + " further;"
			}
			c.Text = strings.TrimSuffix(c.Text, ";")
		}
		out = append(out, c)
	}
	return out
}

// servesTol: a table this much beyond what a jig serves is served, mm: rounding.
const servesTol = 1e-9

// beyond is how far a length lies outside a range, mm; below 0 inside it.
func beyond(serves [2]float64, l float64) float64 {
	return math.Max(serves[0]-l, l-serves[1])
}

// beyondSide is how much further than its travel a side fin would have to slide for a
// table of another width, mm.
func beyondSide(table layout.Table, w, travel float64) float64 {
	return math.Abs(w-table.W)/2 - travel
}

// Serves reports whether a jig as asked for one table serves another that is marked alike.
func (j Jig) Serves(own layout.Table, want job.Jig, other layout.Table) bool {
	return beyond([2]float64{j.LengthMin, j.LengthMax}, other.L) <= servesTol && beyondSide(own, other.W, want.SideTravel) <= servesTol
}
