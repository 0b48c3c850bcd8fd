package jig

import (
	"fmt"
	"math"
	"strings"

	"spotjig/cam/machine"
	"spotjig/layout"
	"spotjig/layout/figure"
	"spotjig/layout/job"
)

// Which tables one jig serves.

// lengthClass is the range of playing-surface length one jig serves. Every mark is
// indexed from its own end nose, and on a longer table its rule moves it by a share of the
// difference of its own: none where the rule is a figure, a quarter at L/4. Of a stated
// tolerance, what the mark's likely error leaves may be spent on that; where none is
// stated, another length may move a mark by classMove, which adds to its budget. A middle
// spot marked by reversal, or set between the templates, does not care how long the table is.
func lengthClass(all []*Template, budgets []Budget, req Request) [2]float64 {
	l := req.Table.L
	if req.Want.For == job.ForThis {
		return [2]float64{l, l}
	}
	if req.settings != nil {
		return req.settings.serves
	}
	return req.about(reach(all, req, spare(budgets)))
}

// spare is how far another length may move a mark.
func spare(budgets []Budget) func(id string) float64 {
	return func(id string) float64 {
		for _, b := range budgets {
			if b.Mark == id && b.stated {
				return math.Max(0, b.Tolerance-b.Likely)
			}
		}
		return classMove
	}
}

// mayMove is the same before there are budgets.
func mayMove(all []*Template, lim Limits, req Request) func(id string) float64 {
	if !req.Want.ToleranceStated && req.Want.Tolerances == nil {
		return spare(nil)
	}
	req.bare = true
	return spare(budgets(all, lim, req, nil))
}

// reach is how far another table's length may differ for no mark to be further from its
// rule than it may, mm.
func reach(all []*Template, req Request, may func(id string) float64) float64 {
	give := classMost
	for id, share := range lengthShares(all, req) {
		if share > leastShare {
			give = math.Min(give, may(id)/share)
		}
	}
	return math.Floor(give*10+1e-6) / 10
}

// about is the table's length and so much either way, as far as the same rules hold.
func (r Request) about(give float64) [2]float64 {
	l := r.Table.L
	out := [2]float64{l - give, l + give}
	if r.AlikeTo > 0 {
		out = [2]float64{math.Max(out[0], r.AlikeFrom), math.Min(out[1], r.AlikeTo)}
	}
	return out
}

// classMove is how far a table of another length may have a mark from its rule, mm: less
// than a pencil line and the eye beside it (common practice).
const classMove = 0.5

// classMost: beyond this the scaled marks of two tables are visibly not the
// same, whatever the budget says, mm.
const classMost = 13.0

// leastShare: a mark that follows less of a difference of length stays where it is.
const leastShare = 1e-6

// lengthShares are how much of a change of length moves each mark of the templates against
// its own end nose, as a fraction, at the point of it where that is most.
func lengthShares(all []*Template, req Request) map[string]float64 {
	out := map[string]float64{}
	for _, tp := range all {
		for _, e := range tp.Elements {
			if e.mark == reversedSpot(req) {
				continue
			}
			for _, p := range e.probes() {
				out[e.mark] = math.Max(out[e.mark], e.drift(p).Len())
			}
		}
	}
	return out
}

// Size is a published length of playing surface with its tolerance, mm.
type Size struct {
	Name   string
	L, Tol float64
}

// classCheck states the range of length that the jig serves.
func classCheck(all []*Template, serves [2]float64, req Request) Check {
	give := (serves[1] - serves[0]) / 2
	text := "serves tables " + figure.Between(serves[0], serves[1]) + " long"
	most := mostShare(all, req) * furthest(serves, req.Table.L)
	if req.settings != nil {
		most = req.settings.leaves()
		text += " by the leaves behind its shoes"
	}
	if most >= leastTold {
		text += "; at either end a mark stands up to " + figure.MM(most) + " from its rule"
	} else {
		text += "; every mark stays at its rule"
	}
	if give == 0 {
		text = "serves this table only"
	}
	return Check{ID: "length-class", Verdict: Pass, Value: give, Unit: "mm", Text: text}
}

// leastTold: what is less is not told of, mm; lengths are told in tenths.
const leastTold = 0.05

// mostShare is the largest of lengthShares.
func mostShare(all []*Template, req Request) float64 {
	most := 0.0
	for _, share := range lengthShares(all, req) {
		most = math.Max(most, share)
	}
	return most
}

// furthest is how far the further end of a range is from a length.
func furthest(of [2]float64, l float64) float64 {
	return math.Max(math.Abs(of[0]-l), math.Abs(of[1]-l))
}

// tradeMoves are the distances from their rules for which the range is told, mm.
var tradeMoves = []float64{0.5, 1, 2}

// tradeCheck tells tolerance against range: the lengths that the jig serves where a mark
// may be so far from its rule, and how far it is where a published size is served whole.
func tradeCheck(all []*Template, req Request) []Check {
	if req.Want.For == job.ForThis {
		return nil
	}
	most := mostShare(all, req)
	if most <= leastShare {
		return nil
	}
	byMove := func(serves func(may func(id string) float64) [2]float64) string {
		var told []string
		for _, move := range tradeMoves {
			of := serves(func(string) float64 { return move })
			told = append(told, "within "+figure.MM(move)+" "+figure.Between(of[0], of[1]))
		}
		return strings.Join(told, ", ")
	}
	bare := byMove(func(may func(id string) float64) [2]float64 { return req.about(reach(all, req, may)) })
	with := func() string {
		return byMove(func(may func(id string) float64) [2]float64 { return planSettings(all, req, may).serves })
	}
	text := "how long the tables are that one jig serves, by how far a mark may be from its rule: "
	if req.settings != nil {
		return []Check{{ID: "length-trade", Verdict: Pass, Value: most, Text: text + with() + "; without shoes and leaves: " + bare}}
	}
	text += bare
	for _, s := range req.Sizes {
		whole := [2]float64{s.L - s.Tol, s.L + s.Tol}
		text += fmt.Sprintf("; any table of %s (%s) within %s", s.Name, figure.Between(whole[0], whole[1]), figure.MM(most*furthest(whole, req.Table.L)))
	}
	if req.Machine.Process != machine.Knife { // film and card have no shoes
		text += "; with shoes and leaves (jig.settings: yes): " + with()
	}
	return []Check{{ID: "length-trade", Verdict: Pass, Value: most, Text: text}}
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
