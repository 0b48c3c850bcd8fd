package jig

import (
	"fmt"
	"math"
	"slices"
	"sort"
	"strings"

	"spotjig/cam/jig/budget"
	"spotjig/layout/figure"
)

// A lever is a key of the job that would better a mark's budget: every one is pulled,
// and those that bring something are told, best first.
type lever struct {
	say    string
	pulled accuracy // what is then known
}

// leverLeast: a lever that brings less is not worth a word, mm; lengths are told in tenths.
const leverLeast = 0.05

// leversTold is how many are told at most.
const leversTold = 3

// leversOf lists what a maker can do, with the half-width that care gives; what would change
// nothing is left out.
func leversOf(acc accuracy) []lever {
	var out []lever
	add := func(say string, pull func(*accuracy)) {
		with := acc
		pull(&with)
		out = append(out, lever{say, with})
	}
	lower := func(say string, of func(*accuracy) *float64, to float64) {
		if *of(&acc) > to {
			add(say, func(a *accuracy) { *of(a) = to })
		}
	}
	lower("paper strips at the noses (jig.nose_contact: 0.1)", func(a *accuracy) *float64 { return &a.contact }, 0.1)
	lower("a steel tape (survey.resolution: 0.25)", func(a *accuracy) *float64 { return &a.tape }, 0.25)
	lower("the kerf from a coupon (material.kerf_pm: 0.02)", func(a *accuracy) *float64 { return &a.edge }, 0.01)
	lower("the machine's scale from a coupon (machine.scale_ppm)", func(a *accuracy) *float64 { return &a.scale }, measuredPPM*1e-6)
	lower("both lengths and both diagonals in the survey", func(a *accuracy) *float64 { return &a.shape }, 0)
	lower("the side scales read with a glass (jig.side_reading: 0.1)", func(a *accuracy) *float64 { return &a.reading }, 0.1)
	lower("thread and gauge looked at through a glass (jig.sighting: 0.1)", func(a *accuracy) *float64 { return &a.sight }, 0.1)
	lower("a string along the noses, its gaps in the survey", func(a *accuracy) *float64 { return &a.bow }, strungPM)
	if acc.standing == finsTerm {
		if seat := acc.seat[0]; seat > 0.05 || len(acc.seat) > 1 {
			add("fins seated by a feeler leaf (jig.fin_seat: 0.05)", func(a *accuracy) { a.seat = []float64{math.Min(seat, 0.05)} })
		}
		lower("the test piece's joint read by a feeler leaf (jig.joint_closure: 0.03)", func(a *accuracy) *float64 { return &a.closure }, 0.03)
	}
	if acc.standing == blocksTerm {
		add("blocks set by a square and a feeler leaf (jig.fin_seat: 0.05)", func(a *accuracy) { a.seat = []float64{0.05} })
	}
	if more := acc.play - 2*acc.edge - boreClear; !acc.sticker && more > leverLeast {
		add(fmt.Sprintf("a marker that fills its hole (jig.marker.guide: %.2g)", acc.guide+more),
			func(a *accuracy) { a.guide, a.play = a.guide+more, a.play-more })
	}
	if acc.table.Surveyed && !acc.known {
		add("a jig for this table alone (jig.for: this)", func(a *accuracy) { a.known = true })
	}
	return out
}

// advice tells the levers that better a mark's element, with what each brings by itself. One
// that changes no effect brings nothing.
func (l *laid) advice(e Element, b Budget, levers []lever, keyed map[string]float64) string {
	now := l.effectsOf(e)
	return advised(levers, b, keyed, func(i int) Budget {
		then := l.pulled[i].effectsOf(e)
		if slices.EqualFunc(now, then, func(a, b []budget.Effect) bool { return slices.EqualFunc(a, b, budget.Effect.Equal) }) {
			return b
		}
		return worstOf(e.mark, then)
	})
}

// advised is the gauge's budget with its levers.
func (m *middlePlan) advised(all []*Template, acc accuracy, keyed map[string]float64) Budget {
	b, levers := m.lands, leversOf(acc)
	b.Improve = advised(levers, b, keyed, func(i int) Budget { return m.budget(all, levers[i].pulled) })
	return b
}

// advised tells the levers by what each brings, again being the budget with one of them
// pulled; keyed joints, which want templates of their own, by what every mark comes to with them.
func advised(levers []lever, b Budget, keyed map[string]float64, again func(i int) Budget) string {
	type gain struct {
		say string
		by  float64
	}
	var gains []gain
	for i, l := range levers {
		if by := b.Likely - again(i).Likely; by > leverLeast+1e-6 {
			gains = append(gains, gain{l.say, by})
		}
	}
	if with, ok := keyed[b.Mark]; ok && b.Likely-with > leverLeast+1e-6 {
		gains = append(gains, gain{"keyed joints (jig.joint: keyed)", b.Likely - with})
	}
	sort.SliceStable(gains, func(i, j int) bool { return gains[i].by > gains[j].by+1e-6 })
	var out []string
	for i, g := range gains {
		if i == leversTold {
			break
		}
		out = append(out, figure.MM(g.by)+" by "+g.say)
	}
	return strings.Join(out, ", ")
}
