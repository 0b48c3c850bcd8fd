package work

import (
	"spotjig/cam/jig"
	"spotjig/layout"
)

// Allowed returns a function that tells how far off a finished mark may be: its tolerance if
// the job states one, else the likely and the worst error of the jig's budget. If no jig can
// be made of the job, it is the usual tolerance. The jig is designed once, when a mark without
// a tolerance is first asked for.
func (o *Order) Allowed() func(layout.Mark) layout.Allowed {
	var holds map[string]jig.Budget
	return func(m layout.Mark) layout.Allowed {
		usual, stated := o.Job.Jig.ToleranceOf(append([]string{m.ID}, m.Also...)...)
		if stated {
			return layout.Within(usual)
		}
		if holds == nil {
			holds = o.holds()
		}
		if b, ok := holds[m.ID]; ok {
			return layout.Allowed{Likely: b.Likely, Worst: b.Worst}
		}
		return layout.Within(usual)
	}
}

// holds are the budgets of the job's jig by mark, none where no jig can be made.
func (o *Order) holds() map[string]jig.Budget {
	out := map[string]jig.Budget{}
	r, err := o.begin(Options{})
	if err != nil || r.design() != nil {
		return out
	}
	for _, b := range r.made.Set.Jig.Budgets {
		out[b.Mark] = b
	}
	return out
}
