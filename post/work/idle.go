package work

import (
	"fmt"

	"spotjig/cam/machine"
	"spotjig/layout/job"
	"spotjig/layout/problem"
)

// A key that somebody stated but that has no effect in this job is never ignored silently. If
// it asks for a thing that the user would miss, such as screwed fins from a blade, the job is
// refused; if it is a figure of a thing that the job does not have, the job is made with a
// note on the key. Here are the keys of the job that depend on the machine's process; keys
// without effect in the job, the machine or the sheet alone are noted by their readers.

// unmade refuses a job that asks for what its machine's process cannot make.
func (o *Order) unmade(p machine.Profile) error {
	j := o.Job.Jig
	film := "templates of film and card are joined by laps and set to blocks or boxes"
	var list problem.List
	for _, ask := range []struct {
		asked          bool
		by             machine.Process // that cannot make it
		key, msg, help string
	}{
		{j.Ties > 0, machine.Knife, "jig.ties", fmt.Sprintf("%d ties an outline are asked for, and a blade cuts none", j.Ties), "remove ties: a blade's sheet is stuck to its mat"},
		{j.Ties > 0, machine.Shop, "jig.ties", fmt.Sprintf("%d ties an outline are asked for, and a shop's drawing cuts none", j.Ties), "remove ties: a shop holds its pieces in its own way"},
		{j.Joint == job.JointKeyed, machine.Knife, "jig.joint", "keyed joints are asked for, and a blade cuts none", "remove joint: " + film},
		{j.FinFix == "screwed", machine.Knife, "jig.fins", "screwed fins are asked for, and a blade cuts no fins", "remove fins: " + film},
		{j.SpareFins, machine.Knife, "jig.spare_fins", "spare fins are asked for, and a blade cuts no fins", "remove spare_fins: " + film},
		{j.Settings && j.For != job.ForThis, machine.Knife, "jig.settings", "shoes with leaves are asked for, and a blade cuts no fins for them to stand at", "remove settings, or cut the jig of sheet on a laser: " + film},
	} {
		if ask.asked && p.Process == ask.by {
			list.Add(problem.Problem{Field: ask.key, Code: "J095", Msg: ask.msg, Help: ask.help})
		}
	}
	return o.Located(list)
}

// idleOn are notes on the stated keys of the template that have no effect on this machine.
func (o *Order) idleOn(p machine.Profile) problem.List {
	var list problem.List
	idle := func(why string, keys ...string) {
		for _, key := range keys {
			if o.Job.Ledger.Stated(key) {
				list.Add(problem.Idle(key, why, "remove it, or cut the jig of sheet on a laser"))
			}
		}
	}
	if p.Process == machine.Knife {
		idle("a template of film or card has no fins", "jig.fit", "jig.fins")
		idle("pieces of film and card are joined by laps", "jig.joint", "jig.joint_closure", "jig.joint_slip")
	}
	return job.Locate(o.Name(), o.source, list)
}
