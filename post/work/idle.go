package work

import (
	"fmt"

	"spotjig/cam/machine"
	"spotjig/layout/job"
	"spotjig/layout/problem"
)

// A key that a person stated and that cannot matter in the job is never passed over. Where
// it asks for a thing that would be missed, the job is refused; where it is a figure of a
// thing that is not there, the job is made and the key is told. What a key of the job means
// on a machine is here; what the job, the machine or the sheet alone can tell, their
// readers tell as they read it.

// unmade refuses what is asked for and nobody who cuts by this process makes.
func (o *Order) unmade(p machine.Profile) error {
	j := o.Job.Jig
	film := "templates of film and card are joined by laps and set to blocks or boxes"
	var list problem.List
	for _, asked := range []struct {
		is       bool
		by       []machine.Process
		key      string
		msg, why string
	}{
		{j.Ties > 0, []machine.Process{machine.Knife}, "jig.ties", fmt.Sprintf("%d ties an outline are asked for, and a blade cuts none", j.Ties), "remove ties: a blade's sheet is stuck to its mat"},
		{j.Ties > 0, []machine.Process{machine.Shop}, "jig.ties", fmt.Sprintf("%d ties an outline are asked for, and a shop's drawing cuts none", j.Ties), "remove ties: a shop holds its pieces in its own way"},
		{j.Joint == "keyed", []machine.Process{machine.Knife}, "jig.joint", "keyed joints are asked for, and a blade cuts none", "remove joint: " + film},
		{j.FinFix == "screwed", []machine.Process{machine.Knife}, "jig.fins", "screwed fins are asked for, and a blade cuts no fins", "remove fins: " + film},
		{j.SpareFins, []machine.Process{machine.Knife}, "jig.spare_fins", "spare fins are asked for, and a blade cuts no fins", "remove spare_fins: " + film},
		{j.Settings && j.For != "this", []machine.Process{machine.Knife}, "jig.settings", "shoes with leaves are asked for, and a blade cuts no fins for them to stand at", "remove settings, or cut the jig of sheet on a laser: " + film},
	} {
		for _, by := range asked.by {
			if asked.is && p.Process == by {
				list.Add(problem.Problem{Field: asked.key, Code: "J095", Msg: asked.msg, Help: asked.why})
			}
		}
	}
	if len(list) == 0 {
		return nil
	}
	return o.Located(list)
}

// idleOn tells of keys of the template that mean nothing on the machine.
func (o *Order) idleOn(p machine.Profile) problem.List {
	var list problem.List
	tell := func(why string, keys ...string) {
		for _, key := range keys {
			if o.Job.Ledger.Stated(key) {
				list.Add(job.IdleKey(key, why, "remove it, or cut the jig of sheet on a laser"))
			}
		}
	}
	if p.Process == machine.Knife {
		tell("a template of film or card has no fins", "jig.fit", "jig.fins")
		tell("pieces of film and card are joined by laps", "jig.joint", "jig.joint_closure", "jig.joint_slip")
	}
	return job.Locate(o.Name(), o.source, list)
}
