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
	words     map[string]bool // upper case: "M106", or a letter alone for any value
}

func dialectOf(m *machine.Profile) dialect {
	if m == nil {
		return dialect{}
	}
	d := dialect{semicolon: m.SemicolonComments, millis: m.DwellMillis, words: map[string]bool{}}
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
	case gReturn:
		x.toR = code == 990
	case gSystem:
		x.system = systemOf(code)
	case gPath:
		x.path = map[int16]Path{610: Exact, 611: ExactStop, 640: Continuous}[code]
	}
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
