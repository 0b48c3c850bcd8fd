package post

import (
	"fmt"
	"strings"

	"spotjig/cam/jig"
	"spotjig/cam/machine"
	"spotjig/layout/figure"
)

// Outlook is what somebody wants to know of a finished job before anything else: may it be
// cut as it stands, what holds it back, and what to do next.
type Outlook struct {
	Verdict string   // one sentence
	Holds   []string // what stands in the way, each a phrase; none when nothing does
	Next    []string // steps, in order
}

// Outlook weighs the job as made: a check that failed, settings that nobody has proved on
// this machine, a thickness that nobody has measured. Warnings hold nothing back; they are
// counted.
func (s Set) Outlook() Outlook {
	failed, warned := 0, 0
	for _, c := range s.Checks {
		switch c.Verdict {
		case jig.Fail:
			failed++
		case jig.Warn:
			warned++
		}
	}
	var o Outlook
	if failed > 0 {
		o.Holds = append(o.Holds, figure.Count(failed, "check")+" failed")
		o.Next = append(o.Next, "change the job as the failed checks say")
	}
	shop := s.Machine.Process == machine.Shop
	if !s.Material.Measured {
		why := "fins fit to a tenth of a millimetre"
		if s.Machine.Process == machine.Knife {
			why = "the blade's depth hangs on it"
		}
		o.Holds = append(o.Holds, "the sheet's thickness is not measured, and "+why)
	}
	if !s.Material.Measured && !shop {
		o.Next = append(o.Next, "measure the sheet at four places and write material.thickness into the job")
	}
	if names := unprovenNames(s.Machine, s.Material); len(names) > 0 {
		o.Holds = append(o.Holds, "settings not proven on this machine: "+strings.Join(names, ", "))
		o.Next = append(o.Next, "cut the test piece (spotjig coupon), and write what it tells and who proved the settings into the job")
	}
	o.Verdict = "Ready to cut"
	if len(o.Holds) > 0 {
		o.Verdict = "Not ready to cut"
	}
	now, drawings := s.orderable(), "sheet-N.dxf, at nominal size"
	if s.Compensated() {
		drawings = "sheet-N-compensated.dxf, to be cut on the line"
	}
	switch {
	case shop && s.AtOnce() && failed == 0:
		o.Verdict = "Ready to order"
		o.Next = append(o.Next, "send the shop order.pdf and the drawings, "+drawings)
	case shop && s.Material.Measured && failed == 0:
		o.Verdict = fmt.Sprintf("Ready to order the second step, %s of %d", figure.Count(now, "sheet"), len(s.Sheets))
		o.Next = append(o.Next, "send the shop order.pdf and the drawings that it lists, "+drawings)
	case shop && now > 0 && failed == 0:
		o.Verdict = fmt.Sprintf("Ready to order the first step, %s of %d", figure.Count(now, "sheet"), len(s.Sheets))
		o.Next = append(o.Next, "send the shop order.pdf and the drawings there are, "+drawings,
			"measure what arrives at four places, write material.thickness and material.ordered: plates into the job, make again, order the rest")
	case shop:
		o.Verdict = "Not ready to order"
		o.Next = append(o.Next, "measure the shop's sheet at four places, write material.thickness into the job, make again")
	default:
		o.Next = append(o.Next, "print "+s.FileName("job-sheet.pdf")+" and follow it: edges, then dry run with beam or blade off, then cut")
	}
	if warned > 0 {
		o.Verdict += fmt.Sprintf(", with %s", figure.Count(warned, "warning"))
	}
	return o
}

// orderable counts the sheets that wait for nothing and are not ordered yet.
func (s Set) orderable() int {
	n := 0
	for i := range s.Sheets {
		if !s.Held(i) && !s.Ordered(i) {
			n++
		}
	}
	return n
}
