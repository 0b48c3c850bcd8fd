package table

import (
	"fmt"
	"math"
	"strings"

	"spotjig/cam/jig"
	"spotjig/layout/figure"
	"spotjig/layout/job"
	"spotjig/post"
	"spotjig/post/proof"
)

// AsTried looks at the joint of a test piece (id as-tried): there is one, in the form that
// the job asks for; its parts, put together, fit as AsJoined has it; and both flanks of
// a dovetail stand off their socket by the clearance that its form tells, mm, which is
// reckoned with when the joint is read.
func AsTried(set post.Set, flank float64) jig.Check {
	c := jig.Check{ID: "as-tried", Limit: markTol, Unit: "mm"}
	if len(set.Jig.Joints) != 1 {
		return proof.Failed(c, fmt.Sprintf("%d joints to be tried", len(set.Jig.Joints)))
	}
	s := set.Jig.Joints[0]
	if asked := set.Job.Jig.Joint == job.JointKeyed; asked != (s.Part != "") {
		return proof.Failed(c, fmt.Sprintf("the joint of %s and %s is not the job's kind, %s", s.Tail, s.Socket, set.Job.Jig.Joint))
	}
	var parts []jig.Part
	for _, p := range set.Jig.Parts {
		if p.ID == s.Tail || p.ID == s.Socket || p.ID == s.Part {
			parts = append(parts, p)
		}
	}
	set.Jig.Parts = parts
	fits := AsJoined(set)
	c.Verdict, c.Value, c.Text = fits.Verdict, fits.Value, fmt.Sprintf("%s and %s go together as the jig's joints do", s.Tail, s.Socket)
	if c.Verdict == jig.Fail {
		return proof.Failed(c, fits.Text)
	}
	if s.Part != "" {
		return c
	}
	j := joints{on: map[string]proof.Shapes{}, byID: map[string]jig.Part{}}
	for _, p := range parts {
		j.byID[p.ID], j.on[p.ID] = p, flatOnTable(p)
	}
	along := s.To.Sub(s.From).Unit()
	flanks := 0
	for _, k := range j.chain(s, s.Tail) {
		if math.Abs(k.B.Sub(k.A).Unit().Cross(along)) > 0.1 {
			flanks++
			j.off(math.Abs(outlineOff(j.on[s.Socket], k.At(0.5))-flank), "a flank's clearance of %.2f at %s", flank, proof.At(k.At(0.5)))
		}
	}
	c.Value = math.Max(c.Value, j.worst)
	if flanks != 2 || len(j.faults) > 0 {
		return proof.Failed(c, fmt.Sprintf("%s, of which two have a clearance; %s", figure.Count(flanks, "flank"), strings.Join(j.faults, "; ")))
	}
	return c
}
