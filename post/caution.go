package post

import (
	"fmt"
	"strings"

	"spotjig/cam/machine"
	"spotjig/layout/figure"
)

// Cautions returns the cautions that belong to this machine, sheet and its
// settings, and to drawings that have the kerf taken or not, most serious first. They
// remind; the machine's manual, local codes and licensed practice decide (SAFETY.md).
func Cautions(p machine.Profile, m machine.Material, compensated bool) []string {
	var out []string
	switch p.Process {
	case machine.Laser:
		beam := "Class 4 beam: lid shut, interlocks working, eyewear marked for this laser's wavelength."
		if p.Wavelength > 0 {
			beam = fmt.Sprintf("Class 4 beam: lid shut, interlocks working, eyewear marked for %.0f nm.", p.Wavelength)
		}
		fire := "Fire: never leave a running cut; extinguisher in reach, bed clean, air assist on."
		if t := p.StillFor(m); t > p.StillMax {
			fire += fmt.Sprintf(" At this feed the beam stays up to %s s in one place, in the smallest holes: try one on an offcut.", figure.Fixed(t, 1))
		}
		out = append(out, beam, fire,
			"Fume: extract outdoors or as your local code says, and for 20 minutes after the job.",
			"Cut only sheet you know: no PVC or vinyl, ABS, polycarbonate or unknown plastic.")
	case machine.Knife:
		out = append(out,
			"Blade: hands off the bed while it moves; power off before you touch the holder.",
			"Set the blade's depth by hand on an offcut; store it capped.")
	default:
		kerf := "These drawings carry no kerf: the shop applies its own and says so before it cuts."
		if compensated {
			kerf = fmt.Sprintf("These drawings have a kerf of %g mm taken already: the shop cuts on the line, and says so before it cuts with another.", m.Kerf)
		}
		out = append(out, kerf)
		switch {
		case !m.Measured:
			out = append(out, "Order in two steps: fins, and plates with slots for them, only when the sheet's thickness is measured, written into the job with ordered: plates, and the job made again.")
		case m.InSteps():
			out = append(out, "Second step: the plates without fin slots are ordered already; their drawings are not sent, nor cut, again.")
		default:
			out = append(out, "One order, plates and fins together. Where plates were ordered before the sheet was measured, write ordered: plates into material and make the job again: else they are cut twice.")
		}
	}
	out = append(out, unproven(p, m)...)
	if p.Process != machine.Shop {
		out = append(out,
			"Moving axes: home, run the edges and the dry-run program first, emergency stop in reach.",
			"A clean dry run proves travel, power words and order; not clamps, focus, depth or the sheet.")
	}
	if strings.Contains(m.Kind, "acrylic") {
		out = append(out, "Fresh acrylic edges are sharp: scrape the arrises; no solvent or alcohol on cut edges.")
	}
	return out
}

// unproven says which settings nobody has proved on this machine.
func unproven(p machine.Profile, m machine.Material) []string {
	names := unprovenNames(p, m)
	if len(names) == 0 {
		return nil
	}
	return []string{"Not proven on this machine: settings for " + strings.Join(names, ", ") + ". Try them on an offcut and stand by."}
}

// unprovenNames names those settings; a shop has none of ours.
func unprovenNames(p machine.Profile, m machine.Material) []string {
	if p.Process == machine.Shop {
		return nil
	}
	var names []string
	for _, s := range []struct {
		name string
		set  machine.Setting
	}{{"cut", m.Cut}, {"score", m.Score}, {"letter", m.Letter}} {
		if s.set.Proven == "" {
			names = append(names, s.name)
		}
	}
	return names
}

// ThicknessOf tells how thick a material is and whether that was measured.
func ThicknessOf(m machine.Material) string {
	if !m.Measured {
		return fmt.Sprintf("not measured, %g mm thick as sold", m.Thickness)
	}
	return fmt.Sprintf("measured %g mm thick, sold as %g mm", m.Thickness, m.Sold)
}
