package read

import (
	"strconv"
	"strings"

	"spotjig/cam/machine"
)

// groups is one more than the highest modal group number.
const groups = 14

// The modal groups of Table 4 that the interpreter asks about by name.
const (
	gNonModal = 0
	gMotion   = 1
	gPlane    = 2
	gDistance = 3
	gFeedMode = 5
	gUnits    = 6
	gComp     = 7
	gLength   = 8
	gReturn   = 10
	gSystem   = 12
	gPath     = 13

	mStop     = 4
	mTool     = 6
	mSpindle  = 7
	mCoolant  = 8
	mOverride = 9
)

// gGroup returns the modal group of a G code times ten (Table 4).
func gGroup(code int16) (int, bool) {
	switch code {
	case 40, 100, 280, 300, 530, 920, 921, 922, 923:
		return gNonModal, true
	case 0, 10, 20, 30, 382, 800, 810, 820, 830, 840, 850, 860, 870, 880, 890:
		return gMotion, true
	case 170, 180, 190:
		return gPlane, true
	case 900, 910:
		return gDistance, true
	case 930, 940:
		return gFeedMode, true
	case 200, 210:
		return gUnits, true
	case 400, 410, 420:
		return gComp, true
	case 430, 490:
		return gLength, true
	case 980, 990:
		return gReturn, true
	case 540, 550, 560, 570, 580, 590, 591, 592, 593:
		return gSystem, true
	case 610, 611, 640:
		return gPath, true
	}
	return 0, false
}

// mGroup returns the modal group of an M code (Table 4).
func mGroup(code int16) (int, bool) {
	switch code {
	case 0, 1, 2, 30, 60:
		return mStop, true
	case 6:
		return mTool, true
	case 3, 4, 5:
		return mSpindle, true
	case 7, 8, 9:
		return mCoolant, true
	case 48, 49:
		return mOverride, true
	}
	return 0, false
}

// gName prints a G code times ten.
func gName(code int16) string {
	s := "G" + strconv.Itoa(int(code/10))
	if code%10 != 0 {
		s += "." + strconv.Itoa(int(code%10))
	}
	return s
}

// dialect is what a controller allows beyond the report, as its profile states.
type dialect struct {
	semicolon bool
	millis    bool
	centerAbs bool // G90.1 is understood
	powerByM  bool // S is taken only when M3 or M4 is run
	homes     string
	arcTol    float64 // mm; 0: the report's
	decimals  int
	acts      [256]bool
	refused   map[string]bool
	words     map[string]bool // upper case: "M106", or a letter alone for any value
}

func dialectOf(m *machine.Profile) dialect {
	if m == nil {
		return dialect{decimals: digitsMax, acts: machine.Traits{}.Acts()}
	}
	d := dialect{semicolon: m.SemicolonComments, millis: m.DwellMillis, centerAbs: !m.NoArcCenterAbs, powerByM: m.PowerWord == "M", homes: m.HomeWords,
		arcTol: m.ArcTolerance, decimals: m.Decimals, acts: m.Acts(), words: map[string]bool{}, refused: map[string]bool{}}
	if d.decimals == 0 {
		d.decimals = digitsMax
	}
	for _, w := range m.Refused {
		d.refused[w] = true
	}
	for _, w := range m.ExtraWords {
		d.words[strings.ToUpper(strings.TrimSpace(w))] = true
	}
	return d
}

// passes reports whether any word with the letter is to be passed over.
func (d dialect) passes(letter byte) bool { return len(d.words) > 0 && d.words[string(letter)] }

// passesCode reports whether the word is to be passed over.
func (d dialect) passesCode(letter byte, v float64) bool {
	return len(d.words) > 0 && d.words[string(letter)+strconv.FormatFloat(v, 'f', -1, 64)]
}

// powerOn sets the modes that the profile declares for power-on; words it does
// not know are left to the reader of profiles.
func (x *interp) powerOn(words []string) {
	for _, w := range strings.Fields(strings.ToUpper(strings.Join(words, " "))) {
		x.switchStated = x.switchStated || w == "M5"
		x.powerStated = x.powerStated || w == "S0"
		if len(w) < 2 || w[0] != 'G' {
			continue
		}
		v, err := strconv.ParseFloat(w[1:], 64)
		if err != nil {
			continue
		}
		code := int16(v*10 + 0.5)
		if grp, ok := gGroup(code); ok && grp != gNonModal {
			x.setMode(grp, code)
		}
	}
}

// setMode puts a code of group grp into force.
func (x *interp) setMode(grp int, code int16) {
	x.stated |= 1 << grp
	switch grp {
	case gMotion:
		x.motion = code
	case gPlane:
		x.plane = Plane((code - 170) / 10) // G18 is the plane of Z and X, G19 of Y and Z
	case gDistance:
		x.incremental = code == 910
	case gFeedMode:
		x.inverse = code == 930
	case gUnits:
		x.scale, x.arcTol = 1, 0.002
		if code == 200 {
			x.scale, x.arcTol = inch, 0.0002*inch
		}
		if t := x.dialect.arcTol; t > 0 {
			x.arcTol = t
		}
	case gReturn:
		x.toR = code == 990
	case gSystem:
		x.system = systemOf(code)
	case gPath:
		x.path = map[int16]Path{610: Exact, 611: ExactStop, 640: Continuous}[code]
	}
}

// inForce names the code of a group that is in force, stated or not.
func (x *interp) inForce(grp int) string {
	pick := func(second bool, a, b string) string {
		if second {
			return b
		}
		return a
	}
	switch grp {
	case gPlane:
		return [...]string{"G17", "G18", "G19"}[x.plane]
	case gDistance:
		return pick(x.incremental, "G90", "G91")
	case gFeedMode:
		return pick(x.inverse, "G94", "G93")
	case gUnits:
		return pick(x.scale == inch, "G21", "G20")
	case gComp:
		return "G40"
	case gLength:
		return "G49"
	case gReturn:
		return pick(x.toR, "G98", "G99")
	}
	return systemName(x.system)
}

// systemName is the word for a coordinate system.
func systemName(n int) string {
	return [...]string{"", "G54", "G55", "G56", "G57", "G58", "G59", "G59.1", "G59.2", "G59.3"}[n]
}

// inch is one inch in mm, exactly.
const inch = 25.4

// systemOf returns 1 for G54 to 9 for G59.3.
func systemOf(code int16) int {
	if code > 590 {
		return 6 + int(code-590)
	}
	return int(code-540)/10 + 1
}
