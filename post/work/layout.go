package work

import (
	"fmt"
	"math"

	"spotjig/cam/jig"
	"spotjig/layout"
)

// jigMarks are the marks the template is made for: those of the table as
// surveyed for one table, those of the true rectangle of its size for a class. It
// says so when the difference matters.
func (r *run) jigMarks() ([]layout.Mark, []jig.Check, error) {
	if r.Survey == nil || r.Job.Jig.For == "this" {
		return r.Plan.Marks, nil, nil
	}
	worst := layout.Mark{}
	most := 0.0
	for _, m := range r.Plan.Marks {
		if by := math.Hypot(m.MovedX, m.MovedY); by > most {
			worst, most = m, by
		}
	}
	limit := r.Job.Jig.Tolerance / 3
	c := jig.Check{ID: "survey-skew", Verdict: jig.Pass, Value: most, Limit: limit, Unit: "mm",
		Text: "how far the table's own shape moves a mark from the true rectangle"}
	if most > limit {
		c.Verdict = jig.Warn
		c.Text = fmt.Sprintf("the table's own shape moves the %s from the true rectangle: make the jig for this table (jig.for: this)", worst.Name)
	}
	req := r.Request()
	req.Table = layout.Table{Name: req.Table.Name, L: req.Table.L, W: req.Table.W, TapePM: req.Table.TapePM,
		NoseHeight: req.Table.NoseHeight, Undercut: req.Table.Undercut}
	plan, err := layout.NewPlan(req)
	if err != nil {
		return nil, nil, r.Located(err)
	}
	return plan.Marks, []jig.Check{c}, nil
}

// otherSize: a table this share of the length off a published size is another
// size, not that one badly fitted.
const otherSize = 0.02

// layoutChecks are what survey, sizes and ball fit say of the job.
func (r *run) layoutChecks() []jig.Check {
	var out []jig.Check
	for _, c := range layout.CheckSizes(r.Job.Table, r.Job.Games) {
		v := jig.Pass
		if !c.Inside {
			v = jig.Warn
		}
		if math.Abs(c.OffL) > otherSize*c.L {
			continue // another size of table: the game is marked at its scale
		}
		out = append(out, jig.Check{ID: "size:" + c.Game, Verdict: v, Value: c.OffL, Limit: c.TolL, Unit: "mm", Text: c.Text()})
	}
	fit, err := layout.FitBalls(r.Request())
	if err == nil && fit.Snooker != nil {
		v := jig.Pass
		if !fit.Snooker.Fits {
			v = jig.Warn
		}
		out = append(out, jig.Check{ID: "balls", Verdict: v, Value: fit.Ball, Limit: fit.Snooker.LargestBall, Unit: "mm", Text: fit.Snooker.Advice})
	}
	for _, f := range r.Plan.Findings {
		out = append(out, jig.Check{ID: "marks", Verdict: jig.Warn, Value: f.Distance, Limit: r.Job.Choices.MinApart, Unit: "mm", Text: f.Text})
	}
	return out
}
