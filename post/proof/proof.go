// Package proof holds what is about to be written against what it must be. It
// judges the text of the files, read back by code that shares nothing with the
// code that wrote them: programs against their toolpaths (as-read), programs
// against the nominal parts (as-cut), the parts against the marks on the table
// (as-assembled), drawings and record against the parts. A check that fails
// stops everything: nothing is written.
package proof

import (
	"fmt"
	"math"

	"spotjig/cam/jig"
	"spotjig/post"
)

func missing(id, name string) jig.Check {
	return jig.Check{ID: id, Verdict: jig.Fail, Text: "there is no " + name}
}

// Held checks that no drawing of a sheet goes out whose pieces would not fit it.
func Held(name string, there bool) jig.Check {
	c := jig.Check{ID: "held", Verdict: jig.Pass, Text: name + " is held back until the sheet's thickness is measured"}
	if there {
		return failed(c, name+".dxf is drawn for a thickness that nobody has measured")
	}
	return c
}

// CuttingOf returns how the set's sheets are cut.
func CuttingOf(set post.Set) Cutting {
	m := set.Material
	return Cutting{
		Kerf: m.Kerf, Passes: m.Cut.Passes, Scores: m.Score.Passes, Letters: m.Letter.Passes, Ties: set.Job.Jig.Ties, TieWidth: set.Job.Jig.TieWidth,
		Power: m.Cut.Power, Score: m.Score.Power, Letter: m.Letter.Power,
	}
}

// merge makes one check of those with one id: the first that fails, else the
// one with the worst value. Order is that of first appearance.
func merge(all []jig.Check) []jig.Check {
	var out []jig.Check
	where := map[string]int{}
	count := map[string]int{}
	for _, c := range all {
		count[c.ID]++
		i, ok := where[c.ID]
		if !ok {
			where[c.ID] = len(out)
			out = append(out, c)
			continue
		}
		if out[i].Verdict != jig.Fail && (c.Verdict == jig.Fail || c.Value > out[i].Value) {
			out[i] = c
		}
	}
	for i, c := range out {
		if n := count[c.ID]; n > 1 && c.Verdict == jig.Pass && c.ID != "as-shown" {
			out[i].Text = fmt.Sprintf("%d sheets, the worst: %s", n, c.Text)
		}
		if math.IsNaN(c.Value) || math.IsInf(c.Value, 0) {
			out[i].Value, out[i].Verdict = 0, jig.Fail
		}
	}
	return out
}
