package machine

import (
	"fmt"
	"strings"

	"spotjig/layout/job"
	"spotjig/layout/problem"
)

// Visible blue diodes, nm: 445 to 455 are sold; anything from violet to green goes
// through clear acrylic alike (it passes 92 % of visible light).
const blueMin, blueMax = 400.0, 550.0

// laserMay tells whether a laser may cut this kind of sheet at all.
func laserMay(m Material) bool {
	k, ok := kindNamed(m.Kind)
	return ok && k.noLaser == ""
}

// CheckMaterial refuses a sheet that must not or cannot be cut on the machine; the
// error is a problem.Problem with a field and no place, nil when all is well. A
// shop judges for itself: only unknown material is refused then.
func CheckMaterial(p Profile, m Material) error {
	key, prob := misfit(p, m)
	if prob == nil {
		return nil
	}
	prob.Field = "material." + key
	return *prob
}

// CutBy tells whether a process may cut the sheet on some machine.
func (m Material) CutBy(p Process) bool {
	return CheckMaterial(Profile{Process: p, Knife: KnifeProfile{SheetMax: m.Thickness}}, m) == nil
}

// misfit finds the first thing that keeps the machine from cutting the sheet, and
// the material's key it is about.
func misfit(p Profile, m Material) (key string, prob *problem.Problem) {
	fault := func(code, msg, help string) *problem.Problem {
		return &problem.Problem{Code: code, Msg: msg, Help: help}
	}
	k, ok := kindNamed(m.Kind)
	switch {
	case !ok:
		return "kind", fault("M012", fmt.Sprintf("unknown kind of material %q", m.Kind), "nothing is cut that cannot be named: ask the supplier for the data sheet")
	case p.Process == Laser && k.noLaser != "":
		return "kind", fault("M020", fmt.Sprintf("%s must not be cut with a laser: %s", k.name, k.noLaser), "use cast acrylic on the laser; film and thin sheet go on a knife")
	case p.Process == Laser && passesBlue(p, m):
		return "colour", fault("M021", fmt.Sprintf("a %g nm beam passes through %s %s and lands on what lies below", p.Wavelength, colourWord(m.Colour), k.name),
			"use opaque sheet, best black, and write its colour; or a machine of another wavelength")
	case p.Process == Laser && m.Kerf == 0:
		return "kerf", fault("M010", "a kerf of 0 mm: every laser takes some width", "cut a test piece and measure it at the exit face; acrylic is 0.1 to 0.3 mm")
	case p.Process == Knife && k.noKnife != "":
		return "kind", fault("M022", fmt.Sprintf("%s on a knife: %s", k.name, k.noKnife), "use polyester film, card, vinyl or thin polypropylene on the knife")
	case p.Process == Knife && m.Thickness > p.Knife.SheetMax:
		return "thickness", fault("M023", fmt.Sprintf("a sheet of %g mm is thicker than the knife's %g mm", m.Thickness, p.Knife.SheetMax), "use thinner sheet, or give the blade's own limit as knife.sheet_max")
	}
	return "", nil
}

// passesBlue tells whether a visible blue beam would go through the sheet.
func passesBlue(p Profile, m Material) bool {
	if p.Wavelength < blueMin || p.Wavelength > blueMax || !strings.Contains(m.Kind, "acrylic") {
		return false
	}
	c := strings.ToLower(m.Colour)
	for _, through := range []string{"clear", "transparent", "blue", "frost", "tint"} {
		if strings.Contains(c, through) {
			return true
		}
	}
	return c == ""
}

// colourWord names a colour for people.
func colourWord(c string) string {
	if c == "" {
		return "acrylic of unknown colour, here"
	}
	return c
}

// checkOn reports what CheckMaterial finds at its place in the file.
func checkOn(f *job.Fields, p Profile, m Material) {
	if key, prob := misfit(p, m); prob != nil {
		f.Fault(key, prob.Code, prob.Msg, prob.Help)
	}
}
