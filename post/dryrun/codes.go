package dryrun

import (
	_ "embed"
	"maps"
	"slices"
	"strings"

	"spotjig/layout/problem"
)

// The codes of what the judge finds; those of what the reader finds stand in post/rs274/read.
const (
	NoFile       = "D001"
	FeedOver     = "D503"
	TooLong      = "D504"
	DwellLong    = "D505"
	RadiusFar    = "D409"
	CircleNear   = "D410"
	CycleWays    = "D411"
	WideBlend    = "D412"
	Travel       = "D601"
	OffStock     = "D602"
	KeepOut      = "D603"
	BelowFloor   = "D604"
	ThroughSheet = "D605"
	Shifted      = "D606"
	WentHome     = "D607"
	PauseMoves   = "D608"
	RapidBeam    = "D701"
	DwellBeam    = "D702"
	StillBeam    = "D703"
	EndBeam      = "D704"
	PauseBeam    = "D705"
	PowerScale   = "D706"
	PowerCap     = "D707"
	StopEarly    = "D708"
	StartEarly   = "D709"
	ModeEarly    = "D710"
	BurntOften   = "D711"
	NoMotion     = "D712"
	NoSpindle    = "D713"
	NoTools      = "D714"
	OtherWord    = "D715"
	StillLong    = "D716"
	MillStill    = "D717"
	MillRapid    = "D718"
	BladeRapid   = "D801"
	BladeTurn    = "D802"
	BladePlunge  = "D803"
	BladeHeading = "D804"
	BladeArc     = "D805"
	BladeHeight  = "D806"
	BladeLeft    = "D807"
	BladeFast    = "D808"
)

// entry is one line of the table of codes.
type entry struct {
	severity string
	title    string
	remedy   string
	explain  string
}

// assumption is what --assume takes in place of what a program does not say.
type assumption struct {
	taken     string // when the finding does not say it better
	otherwise string // what happens if it is otherwise
}

// assumable are the codes that --assume turns into assumptions: usual, and not to be
// told from the file.
var assumable = map[string]assumption{
	"D128": {"the file is whole", "it was cut short, and the beam may stay on"},
	"D140": {"the byte-order mark is not sent", "the first line is lost, with what it states"},
	"D143": {"settings lines leave the machine as the profile says", "travel, speed and power are other than judged"},
	"D144": {"a semicolon begins a comment", "what was meant as text is run"},
	"D145": {"O and its number name the program", "a subprogram begins there, or the controller stops"},
	"D203": {"the length that G43 takes is of the tool that work zero was set with", "every depth is off by the difference"},
	"D208": {"the stored home lies inside the travel and the way there is clear", "the head runs into its end or a clamp"},
	"D213": {"the first tool asked for is in the spindle", "the head moves anywhere to change it"},
	"D215": {"work zero of G54 is the travel's lower left corner", "everything lies elsewhere, and may leave the travel"},
	"D301": {"G21 is in force", "all lengths are 25.4 times as large or as small"},
	"D302": {"G90 is in force", "places are steps or steps places: the head runs away"},
	"D303": {"G17 is in force", "arcs lie in another plane"},
	"D304": {"G54 is in force", "everything lies at another work zero"},
	"D305": {"G94 is in force", "speeds are times"},
	"D306": {"G40 is in force", "every cut is shifted by a radius"},
	"D307": {"G49 is in force", "every depth is shifted by a length"},
	"D308": {"G98 is in force", "drills travel at the other height"},
	"D309": {"M5 and S0 are in force when the program begins", "the first travel burns"},
	"D606": {"the head stands where it is said to when the program begins", "everything is shifted"},
	"D607": {"the way to the stored home is clear", "the head runs into a clamp"},
	"D806": {"the blade stands clear of the sheet when the program begins", "the first travel drags it through the sheet"},
	"D715": {"the other beam word is meant", "power does not follow speed as meant: corners and starts burn, or nothing is cut"},
	"D608": {"nobody moves head or sheet during a stop", "what follows is cut elsewhere"},
}

// summed are the codes of which one finding stands for all.
var summed = map[string]bool{"D136": true, "D137": true}

// severity returns the severity of a code.
func severity(code string) string {
	e, ok := table[code]
	if !ok {
		panic("dryrun: internal error: code " + code + " is not in the table")
	}
	return e.severity
}

// remedy returns what to do about a code when the finding does not say it better.
func remedy(code string) string { return table[code].remedy }

// Codes lists all codes in order.
func Codes() []string {
	return slices.Sorted(maps.Keys(table))
}

// Explain tells what a code means and what to do, as a paragraph; ok is false for a
// code that does not exist.
func Explain(code string) (text string, ok bool) {
	code = strings.ToUpper(strings.TrimSpace(code))
	e, ok := table[code]
	if !ok {
		return "", false
	}
	return code + " " + e.title + " (" + e.severity + ")\n\n" + e.explain + " To mend it: " + e.remedy + ".\n", true
}

//go:embed codes.txt
var codesText string

// table is codes.txt by code.
var table = readTable()

func readTable() map[string]entry {
	out := map[string]entry{}
	for _, row := range problem.Rows(codesText, 5) {
		out[row[0]] = entry{severity: row[1], title: row[2], remedy: row[3], explain: row[4]}
	}
	return out
}
