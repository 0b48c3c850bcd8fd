// Package proof is what the proofs share. A proof holds what is about to be written
// against what it must be: it judges the text of a file, read back by code that shares
// nothing with the code that wrote it. Here are programs as re-read, edges as lines and arcs
// with their distances, parts as placed, and the tally of what was cut when; the proofs
// themselves are in the packages below, by what they prove.
package proof

import (
	"fmt"
	"math"

	"spotjig/cam/jig"
	"spotjig/layout/geom"
)

// Merge makes one check of those with one id: the first that fails, else the one with the
// worst value. Of values that are alike to 1e-6 the first counts, so that the sheet that is
// named does not depend on a processor's rounding. The order is that of first appearance.
func Merge(all []jig.Check) []jig.Check {
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
		if out[i].Verdict != jig.Fail && (c.Verdict == jig.Fail || c.Value > out[i].Value+alike) {
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

// Tolerances that several proofs share, mm.
const (
	// Digit is the last digit a program in millimetres prints. Moves end within
	// half of it in each axis; slack is for the arithmetic of a comparison only.
	Digit    = 0.0001
	Slack    = 1e-9
	PowerTol = 0.0005 // S is printed with three decimals
	// ErrorsMax is how many faults a check lists; more would not help anybody.
	ErrorsMax = 5

	alike = 1e-6 // the record's last digit
)

// At prints a place, mm.
func At(p geom.Point) string { return fmt.Sprintf("(%.4f, %.4f)", p.X, p.Y) }

// Failed is the check with the verdict fail and why.
func Failed(c jig.Check, text string) jig.Check {
	c.Verdict, c.Text = jig.Fail, text
	return c
}

// Faults are what a proof finds wrong, the first few of it.
type Faults []string

// Add notes a fault.
func (f *Faults) Add(form string, a ...any) {
	if len(*f) < ErrorsMax {
		*f = append(*f, fmt.Sprintf(form, a...))
	}
}

// Stretch is part of an edge, in mm along it.
type Stretch struct{ From, To float64 }
