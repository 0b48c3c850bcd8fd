package work

import (
	"math"

	"spotjig/cam/jig"
	"spotjig/layout"
	"spotjig/layout/job"
)

// jigMarks are the marks the template is made for: for one table those of the table as
// surveyed, for a class of tables those of a true rectangle of its size. The mark's error
// budget holds the difference, and jig.Design warns of it.
func (r *run) jigMarks() ([]layout.Mark, error) {
	if r.Survey == nil || r.Job.Jig.For == job.ForThis {
		return r.Plan.Marks, nil
	}
	req := r.Request()
	req.Table = layout.Table{Name: req.Table.Name, L: req.Table.L, W: req.Table.W, TapePM: req.Table.TapePM,
		NoseHeight: req.Table.NoseHeight, Undercut: req.Table.Undercut}
	plan, err := layout.NewPlan(req)
	if err != nil {
		return nil, r.Located(err)
	}
	return plan.Marks, nil
}

// otherSize: a table whose length differs from a published size by more than this share is
// taken to be of another size, not a badly fitted table of that size.
const otherSize = 0.02

// sizes are the published sizes that the table is meant to be, with a tolerance.
func (r *run) sizes() []jig.Size {
	var out []jig.Size
	for _, c := range layout.CheckSizes(r.Job.Table, r.Job.Games) {
		if c.TolL > 0 && math.Abs(c.OffL) <= otherSize*c.L {
			out = append(out, jig.Size{Name: c.Game + ", " + c.Size, L: c.L, Tol: c.TolL})
		}
	}
	return out
}

// layoutChecks are the checks of the published sizes, the ball fit and the marks' places.
func (r *run) layoutChecks() []jig.Check {
	var out []jig.Check
	for _, c := range layout.CheckSizes(r.Job.Table, r.Job.Games) {
		if math.Abs(c.OffL) > otherSize*c.L {
			continue // another size of table: the game is marked at its scale
		}
		out = append(out, jig.Check{ID: "size:" + c.Game, Verdict: jig.WarnUnless(c.Inside), Value: c.OffL, Limit: c.TolL, Unit: "mm", Text: c.Text()})
	}
	fit, err := layout.FitBalls(r.Request())
	if err == nil && fit.Snooker != nil {
		out = append(out, jig.Check{ID: "balls", Verdict: jig.WarnUnless(fit.Snooker.Fits), Value: fit.Ball, Limit: fit.Snooker.LargestBall, Unit: "mm", Text: fit.Snooker.Advice})
	}
	for _, f := range r.Plan.Findings {
		out = append(out, jig.Check{ID: "marks", Verdict: jig.Warn, Value: f.Distance, Limit: r.Job.Choices.MinApart, Unit: "mm", Text: f.Text})
	}
	return out
}
