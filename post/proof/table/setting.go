package table

import (
	"fmt"
	"math"
	"slices"

	"spotjig/cam/jig"
	"spotjig/layout"
	"spotjig/layout/geom"
	"spotjig/post"
	"spotjig/post/proof"
)

// rowStep is how far apart the end of a row and the next one's beginning may be, mm: lengths
// are told to a tenth.
const rowStep = 0.1

// AsSet holds the table of settings against the rules (id as-set): its rows cover, without a
// gap, all lengths that the jig serves; every mark of a template is in one of its settings;
// and for a table as long as either end of a row says, every mark is placed anew by its rule,
// its template moved by the row's leaves, and may be no further off than the row tells.
func AsSet(set post.Set) jig.Check {
	c := jig.Check{ID: "as-set", Verdict: jig.Pass, Limit: markTol, Unit: "mm", Text: "no settings: one length, or what the tolerance leaves"}
	if len(set.Jig.Settings) == 0 {
		return c
	}
	rows := 0
	for _, s := range set.Jig.Settings {
		if err := covers(s, set.Jig.LengthMin, set.Jig.LengthMax); err != nil {
			return proof.Failed(c, err.Error())
		}
		for _, row := range s.Rows {
			rows++
			off, err := rowOff(set, s, row)
			if err != nil {
				return proof.Failed(c, err.Error())
			}
			c.Value = math.Max(c.Value, math.Abs(off-row.Left))
			if !(math.Abs(off-row.Left) <= markTol) {
				return proof.Failed(c, fmt.Sprintf("%s template, %d leaves: a mark is %.3f mm from its rule, %.3f are told", s.Template, row.Leaves, off, row.Left))
			}
		}
	}
	for _, p := range set.Jig.Parts {
		for _, o := range p.Openings {
			for _, id := range []string{o.Mark, o.Far} {
				if id != "" && p.Role != jig.GaugePlate && p.Role != jig.Plug && !byReversal(set, id) && settingsOf(set, p.Template, id) != 1 {
					return proof.Failed(c, fmt.Sprintf("%s of the %s template has %d settings", id, p.Template, settingsOf(set, p.Template, id)))
				}
			}
		}
	}
	c.Text = fmt.Sprintf("%d settings with %d rows leave every mark as near its rule as told", len(set.Jig.Settings), rows)
	return c
}

// covers looks whether a setting's rows cover a range of lengths, one after the other.
func covers(s jig.Setting, from, to float64) error {
	if len(s.Rows) == 0 || math.Abs(s.Rows[0].From-from) > markTol || math.Abs(s.Rows[len(s.Rows)-1].To-to) > markTol {
		return fmt.Errorf("a setting of the %s template does not reach from %.1f to %.1f mm", s.Template, from, to)
	}
	for i, row := range s.Rows {
		if row.Leaves < 0 || row.Leaves > leavesMost || row.To < row.From {
			return fmt.Errorf("the %s template has a row of %d leaves from %.1f to %.1f mm", s.Template, row.Leaves, row.From, row.To)
		}
		if i > 0 && math.Abs(row.From-s.Rows[i-1].To) > rowStep+markTol {
			return fmt.Errorf("nobody is told how to set the %s template between %.1f and %.1f mm", s.Template, s.Rows[i-1].To, row.From)
		}
	}
	return nil
}

func byReversal(set post.Set, id string) bool {
	return slices.ContainsFunc(set.Jig.Budgets, func(b jig.Budget) bool { return b.Method == jig.ByReversal && b.Of() == id })
}

func settingsOf(set post.Set, template, id string) int {
	n := 0
	for _, s := range set.Jig.Settings {
		if s.Template == template && slices.Contains(s.Marks, id) {
			n++
		}
	}
	return n
}

// rowOff is how far any mark of a setting is from its rule at either end of a row.
func rowOff(set post.Set, s jig.Setting, row jig.SettingRow) (float64, error) {
	most := 0.0
	for _, l := range []float64{row.From, row.To} {
		plan, err := layout.NewPlan(layout.Request{Table: layout.Table{L: l, W: set.Table.W}, Games: set.Job.Games,
			Choices: set.Job.Choices, Balls: set.Job.Balls, House: set.Job.House})
		if err != nil {
			return 0, err
		}
		for _, id := range s.Marks {
			was, is := named(set.Marks, id), named(plan.Marks, id)
			if was < 0 || is < 0 {
				return 0, fmt.Errorf("there is no mark %s on a table %.1f mm long", id, l)
			}
			most = math.Max(most, placedOff(set, s.Template, row, l, set.Marks[was], plan.Marks[is]))
		}
	}
	return most, nil
}

// named is which of the marks goes by an id.
func named(marks []layout.Mark, id string) int {
	return slices.IndexFunc(marks, func(m layout.Mark) bool { return m.ID == id || slices.Contains(m.Also, id) })
}

// bothHalves is how far beyond the table's middle a template may still mark, mm: no template
// reaches further for a line or an arc, and what lies beyond is the other template's.
const bothHalves = 130.0

// placedOff is how far a mark is off where its rule puts it on a table of another length:
// of a spot any way, of a line or an arc square to it.
func placedOff(set post.Set, template string, row jig.SettingRow, l float64, was, is layout.Mark) float64 {
	shift := leaf * float64(row.Leaves-leavesMost/2)
	nose := geom.Vec{X: shift} // how the template stands on the longer table, from where it stood
	if template == jig.Foot {
		nose = geom.Vec{X: l - set.Table.L - shift}
	}
	most := 0.0
	note := func(at geom.Point, v, square geom.Vec) {
		half := set.Table.L / 2
		if template == jig.Head && at.X > half+bothHalves || template == jig.Foot && at.X < half-bothHalves {
			return
		}
		by := v.Add(nose.Scale(-1))
		if square != (geom.Vec{}) {
			most = math.Max(most, math.Abs(by.Dot(square)))
			return
		}
		most = math.Max(most, by.Len())
	}
	to := is.Figures()
	for i, f := range was.Figures() {
		switch {
		case f.IsArc():
			for k := range 73 {
				s, c := math.Sincos(float64(f.Start) + float64(f.End-f.Start)*float64(k)/72)
				out := geom.Vec{X: c, Y: s}
				note(f.A.Add(out.Scale(f.Radius)), to[i].A.Sub(f.A).Add(out.Scale(to[i].Radius-f.Radius)), out)
			}
		case f.IsLine():
			n := f.B.Sub(f.A).Unit().Left()
			note(f.A, to[i].A.Sub(f.A), n)
			note(f.B, to[i].B.Sub(f.B), n)
		default:
			note(f.A, to[i].A.Sub(f.A), geom.Vec{})
		}
	}
	return most
}
