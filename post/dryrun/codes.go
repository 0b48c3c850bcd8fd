package dryrun

import (
	"sort"
	"strings"
)

// The findings of the judge; the reader's own begin with D1 to D5 and are named in
// post/rs274/read.
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
	out := make([]string, 0, len(table))
	for c := range table {
		out = append(out, c)
	}
	sort.Strings(out)
	return out
}

// Explain tells what a code means and what to do, as a paragraph; ok is false for a
// code that does not exist.
func Explain(code string) (text string, ok bool) {
	e, ok := table[strings.ToUpper(strings.TrimSpace(code))]
	if !ok {
		return "", false
	}
	code = strings.ToUpper(strings.TrimSpace(code))
	return code + " " + e.title + " (" + e.severity + ")\n\n" + e.explain + " To mend it: " + e.remedy + ".\n", true
}

// table is the one place that says what a code is worth. Sections are those of NIST IR 6556.
var table = map[string]entry{
	"D001": {Error, "file that cannot be read", "look at the file's name and rights",
		"The file is not there, may not be read, or its disk fails. The other files are judged all the same."},
	"D101": {Error, "character not understood", "write the right character in its place; write plain ASCII",
		"Outside comments the language has ASCII letters, digits and a few signs. Any other byte, such as a NUL or a controller command beginning with $ ! ~ or ?, means something else to every machine, so the line is not run here (section 3.3)."},
	"D102": {Error, "letter not in the language", "write the moves out without that word",
		"E, O, U, V and W begin no word in the report (section 3.3.2, appendix E.3). O words are program numbers, subprograms or loops in other languages; what they do cannot be told from this file."},
	"D103": {Error, "G code not in the language", "use a code of Table 5 of the report, or let the machine profile list a harmless code to pass over",
		"A code outside the report may do nothing on one machine and move on another. Absolute arc centres (G90.1), G70 and G71, splines, mirrored, scaled or rotated coordinates are refused for that reason."},
	"D104": {Error, "M code not in the language", "remove it, or let the machine profile list a harmless code to pass over",
		"M codes outside the report switch whatever the machine's builder wired to them."},
	"D105": {Error, "not a number", "write an optional sign, digits and at most one point",
		"After every letter stands a number, a parameter, an expression in square brackets or a function of one. There are no exponents (section 3.3.2.1)."},
	"D106": {Error, "number too large", "look for a missing decimal point",
		"A number with more than 40 digits or beyond 1,000,000,000 is no length, feed or power of any machine. Old fixed-format files leave the point out, which changes values by powers of ten."},
	"D107": {Error, "word repeated on a line", "make two lines of it",
		"A line may have one word of each letter but G and M; controllers differ in which of two they take (section 3.3.5)."},
	"D108": {Error, "two codes of one kind on a line", "make two lines of it",
		"Codes of one modal group, such as G0 and G1, exclude each other (section 3.4, Table 4)."},
	"D109": {Error, "too many M words on a line", "make two lines of it",
		"A line may have four M words at most (section 3.3.5)."},
	"D110": {Error, "comment not well formed", "close the comment on its line and take inner brackets out",
		"A comment runs from ( to the next ) on the same line and holds no other ( (section 3.3.4). A controller that ends it elsewhere runs words that were meant as text."},
	"D111": {Error, "line number not well formed", "number lines N0 to N99999 at the front, or leave the numbers out",
		"A line number is N and one to five digits, and the first word of its line (section 3.3.1)."},
	"D112": {Error, "line too long", "break the line up",
		"The report allows 256 characters (section 3.3); a controller with a shorter buffer, as its profile states, cuts the line and runs what is left of it."},
	"D113": {Error, "expression not well formed", "write operators and functions as in section 3.3.2",
		"An expression stands in square brackets; operators are ** * / MOD + - OR XOR AND; functions take their argument in square brackets, ATAN two of them: ATAN[y]/[x]."},
	"D114": {Error, "expression without a value", "look at the expression's values",
		"A division by zero, a root or logarithm of a negative number, the arc sine of a number beyond 1: a controller stops here or goes on with anything."},
	"D115": {Error, "expression too deep", "work the value out in steps, with parameters",
		"Brackets, functions and parameter signs inside one another are followed 32 deep."},
	"D116": {Error, "no such parameter", "use parameters 1 to 5399",
		"Parameters are numbered 1 to 5399 (section 3.2.1)."},
	"D117": {Error, "parameter never set", "set the parameter before its first use",
		"A parameter that the program does not set comes from the controller's memory, where the last job left it. A profile may declare that parameters begin at zero."},
	"D118": {Error, "parameter belongs to the controller", "use parameters 1 to 5000 for values of your own",
		"Probe results, the G92 shift, the active coordinate system and the origins live in numbered parameters (Table 2). When a controller acts on a value written there is not told by the report."},
	"D119": {Error, "word that nothing uses", "remove it, or write the code it belongs to",
		"A D, H, I, J, K, L, P, Q or R word without a code that takes it is a sign that something is missing from the line."},
	"D120": {Error, "no axis word", "give the axes to move",
		"The code needs at least one of X, Y and Z on its line. G0 and G1 alone state the mode for the lines that follow."},
	"D121": {Error, "axis words wanted twice", "make two lines of it",
		"G10, G28, G30 or G92 and a motion code on one line both want the axis words (section 3.4)."},
	"D122": {Error, "no motion mode in force", "write G0 or G1 before the move",
		"Axis words mean nothing before a motion code, or after G80 has ended the motion mode (section 3.5.15)."},
	"D123": {Error, "whole number wanted", "give a whole number",
		"The word counts something or names something by number."},
	"D124": {Error, "negative value", "give a value that is not negative",
		"Feed, power, time, repeats and tool numbers are not negative."},
	"D125": {Error, "word missing", "give the word that the code needs",
		"The code cannot be done without it, and a controller may use one left over from before."},
	"D126": {Error, "closing percent line missing", "end the file with a line of one percent sign",
		"A program that begins with a percent line ends with one, or with M2 or M30 (section 3.1). When it does not, the file may have been cut short on its way."},
	"D127": {Error, "percent line in the wrong place", "begin and end with a percent line, or use none",
		"A percent line is the first line that is not blank, and the last (section 3.1). One alone at the very end does no harm."},
	"D128": {Error, "no end of program", "end the program with M2",
		"A program ends with M2, M30 or a second percent line (section 3.1). When it does not, the file may have been cut short on its way, and the beam may stay on."},
	"D129": {Error, "words after the end", "delete what follows the end of the program",
		"Whoever sends the file line by line may send these words too, and the machine runs them."},
	"D130": {Error, "G10 not understood", "write G10 L2 P1 to P9 with axis words",
		"Only G10 L2, which sets the origin of a coordinate system, is in the report (section 3.5.5)."},
	"D131": {Error, "G53 in the wrong place", "write G53 with G0 or G1, in G90",
		"Machine coordinates go with straight moves and absolute distances only (section 3.5.12)."},
	"D132": {Error, "too many moves from one line", "give a smaller L or a larger Q",
		"One line of a canned cycle is followed for 10,000 moves."},
	"D133": {Error, "canned cycle not well formed", "look at R, Z, L and the feed mode",
		"R lies above the bottom of the hole, L is at least 1, and the feed mode is G94 (section 3.5.16)."},
	"D134": {Error, "code that is one by rounding only", "write the code itself",
		"A value within 0.0001 of a code counts as the code (section 3.3.2.1); controllers that cut the decimals off, or compare exactly, take another or none. G0.99999 is G1 here and G0 there."},
	"D135": {Error, "blank inside a number", "write the number without blanks",
		"Blanks mean nothing in the report, so that X1 00 is X100 (section 3.3). Other controllers end the number at the blank and cut at X1, or stop."},
	"D136": {Warning, "byte in a comment that acts at once", "write comments in letters, digits and plain punctuation",
		"Controllers fed line by line commonly take some bytes as commands as soon as they arrive, in comments too: ! stops, ~ goes on, ? asks, 0x18 resets, and bytes from 0x80 on change feed and power while the program runs. NUL, 0x1A, ESC and XOFF end or hold the transfer. A machine profile says under acts_on which bytes its controller takes."},
	"D137": {Warning, "comment that acts", "leave the comment out, or begin it otherwise",
		"Some controllers run comments that begin in certain ways: they log to files, switch probes, change the display, or run a program of another language."},
	"D138": {Error, "lines that end in CR alone", "save the program with LF or CR LF line ends",
		"A controller that waits for LF reads all lines up to the next LF as one: words of several lines at once, or a comment that swallows them. Machines that take any line end say so in the profile, as line_ends: any."},
	"D139": {Warning, "line ends of two kinds", "save the program with one kind of line end",
		"LF in one part and CR LF in another: the program was put together from two, or changed on its way."},
	"D140": {Error, "byte-order mark", "save the file as plain ASCII",
		"The three bytes in front of the first word are sent to the machine with it. Some controllers lose the first line to them, and it is often the one that states the units."},
	"D141": {Error, "more decimals than are read", "round the program's numbers",
		"The profile says how many digits after the point its controller reads. What it does with more is not told: it may cut them off, or stop."},
	"D142": {Error, "code that this controller refuses", "write the program without the code",
		"The profile lists the code under refused_words: the machine stops there, with the beam or the blade as it is."},
	"D143": {Error, "controller's setting in the program", "send settings by themselves",
		"A line of $, a number, = and a value writes a setting into the memory of some controllers: travel, scale of power, steps. What is judged here rests on the profile and not on such a line."},
	"D144": {Error, "semicolon comment", "use ( ), or let the profile say semicolon_comments: yes",
		"Comments stand between round brackets in the report (section 3.3.4). A controller that knows no semicolon stops there, or runs what was meant as text."},
	"D145": {Error, "program's name", "leave the line out",
		"O and a number alone on a line at the head is the program's name to some controllers. The report has no names; in other languages the letter begins a subprogram."},
	"D201": {Error, "rotary axis", "remove A, B and C words",
		"The machine has no such axis. The report's own interpreter drops these words in silence (section 5.2); then the part is not what the program describes."},
	"D202": {Error, "cutter radius compensation", "write the tool's own path, with G40",
		"G41 and G42 shift the path by a radius kept in the controller, which is not in the file (section 3.5.10)."},
	"D203": {Error, "tool length offset", "set work zero with the tool in place, with G49",
		"G43 shifts Z by a length kept in the controller, which is not in the file (section 3.5.11)."},
	"D204": {Error, "probing move", "probe before the program",
		"Where a probing move ends depends on what it meets (section 3.5.9), so that no later position is known."},
	"D205": {Error, "canned cycle refused", "use G81, G82, G83, G85 or G89, or write the moves out",
		"G84, G86, G87 and G88 wait for a spindle to turn or for an operator's hand."},
	"D206": {Error, "tool change", "make a program for each tool",
		"The axes may move anywhere during a tool change (section 3.6.3)."},
	"D207": {Error, "pallet change", "end the program and begin another",
		"What moves when a pallet is changed is not in the file (section 3.6.1)."},
	"D208": {Error, "home not known", "declare the home in the machine profile",
		"G28 and G30 move all axes to a place kept in the controller (section 3.5.8)."},
	"D209": {Error, "work offset not known", "declare it under offsets in the machine profile",
		"The origin of a coordinate system is kept in the controller; without it no place on the machine is known."},
	"D210": {Error, "shift not known", "set the shift with G92 in this program",
		"G92.3 brings back a shift kept in the controller (section 3.5.18)."},
	"D211": {Error, "units changed in the middle", "state the units once, before the first move",
		"What a change of units does to offsets and feeds already set is told in two ways by the report (sections 4.3.3.2 and 4.3.3.3), and by controllers in more."},
	"D212": {Error, "axis not on this machine", "remove the word, or choose the right machine",
		"The profile says that the machine has no Z axis. A controller may drop the word or stop at it."},
	"D213": {Error, "first tool of the program", "let the profile say tool_in if the tool is in the spindle",
		"Where the axes go while a tool is changed is not in the file (section 3.6.3). When the first tool asked for is in already, nothing moves."},
	"D214": {Error, "place not known", "go to a stated place with G90 G0 before anything else",
		"After G28 or G30 an axis stands where the controller keeps its home, or where it stood before, as controllers send all axes or only those named; after some canned cycles the drill stands at one of two heights (D411). Until absolute words say where it is, a cut or a step from there may go anywhere."},
	"D215": {Error, "work zero not known", "declare offsets: {G54: ...} in the machine profile",
		"Where G54 has its zero is kept in the controller. Without it no place on the machine is known."},
	"D216": {Error, "controller's memory rewritten", "set origins and homes by hand, not in a program",
		"G10, and the parameters 5161 to 5390, write work zeros and homes into the controller's memory, where they stay. The next job is cut elsewhere."},
	"D301": {Error, "units not stated", "state G21 or G20 before the first move",
		"Without G20 or G21 the same numbers are inches or millimetres, as the last job left the controller. What a profile declares under power_on counts as stated."},
	"D302": {Error, "distance mode not stated", "state G90 or G91 before the first move",
		"Without G90 or G91 the same numbers are places or steps, as the last job left the controller."},
	"D303": {Error, "plane not stated", "state G17 before the first move",
		"Without G17, G18 or G19 the same arc lies in one of three planes."},
	"D304": {Error, "work offset not stated", "state G54 before the first move",
		"Without G54 to G59.3 the work zero is the one last used."},
	"D305": {Error, "feed mode not stated", "state G94 before the first cut",
		"Without G93 or G94 the same F is a speed or a time."},
	"D306": {Error, "cutter compensation not stated", "state G40 before the first move",
		"Compensation left on shifts every cut."},
	"D307": {Error, "tool length offset not stated", "state G49 before the first move",
		"A length offset left on shifts every depth."},
	"D308": {Error, "return level not stated", "state G98 or G99 before the first cycle",
		"Without G98 or G99 the drill may travel at either of two heights."},
	"D309": {Error, "beam not stated", "write M5 and S0 before the first move",
		"What a program does not state of its beam is what the last one left: M3 may be in force and S anything, and the first travel burns. power_on in the profile may declare M5 and S0."},
	"D310": {Error, "power not stated", "write S before the beam is on",
		"M3 or M4 without any S burns at the power that was used last."},
	"D311": {Error, "beam never switched", "write M3 or M4 where the beam is meant to be on",
		"S is above zero on a cut and no M3, M4 or M5 stands before it: the beam is on or off as the last program left it."},
	"D401": {Error, "arc off its circle", "write more decimals, or work I, J, K out again",
		"The distances from the centre to the two ends differ by more than 0.002 mm, or 0.0002 inch in G20 (section 3.5.3.2). Three decimals in mm are not always enough to stay inside."},
	"D402": {Error, "radius too short", "give a larger radius, or the right end",
		"No circle of that radius passes through both ends."},
	"D403": {Error, "radius arc that ends where it starts", "write a whole circle with I, J, K",
		"Any number of circles of that radius pass through one point (section 3.5.3.1)."},
	"D404": {Error, "radius and centre in one arc", "give I J K or R, not both",
		"The two need not agree."},
	"D405": {Error, "arc without centre or radius", "give I and J, or R",
		"An arc needs I, J, K as its plane wants them, or R (section 3.5.3)."},
	"D406": {Error, "centre word of another plane", "state the plane that is meant",
		"K does not belong to an arc in G17, J not in G18, I not in G19."},
	"D407": {Error, "arc of radius zero", "give the centre's distance from the start",
		"The centre lies on the start or the end of the arc."},
	"D408": {Error, "arc without an end in its plane", "give the end of the arc in the plane in force",
		"At least one axis word of the plane is needed (section 3.5.3)."},
	"D409": {Warning, "radius arc near half or whole turn", "write the arc with I and J, or as two arcs",
		"Near 180 and 360 degrees a last digit of the ends moves the centre far: with R50 a chord short by 0.001 mm moves it 0.22 mm (section 3.5.3.1)."},
	"D410": {Warning, "arc that nearly closes", "write the end exactly as the start for a whole circle, or a line for a tiny step",
		"The ends are a last digit apart, so a controller that rounds may run a whole turn or none."},
	"D411": {Warning, "canned cycle that runs in two ways", "write the moves out, or use G90 and G98",
		"In G91 with G99, R counts for each hole from where the drill stands or once from where the series began; G98 goes back to where the drill stood, or no lower than R. The box holds what either reaches."},
	"D412": {Warning, "corners rounded far", "give G64 a smaller P",
		"G64 P lets the controller leave the path by that much to keep its speed. More than 0.2 mm spoils any fit; the box here is that of the path as programmed."},
	"D501": {Error, "no feed", "write an F word before the first cut",
		"G1, G2 and G3 need a feed above zero."},
	"D502": {Error, "no feed on a line in G93", "give F on every G1, G2 and G3 line in G93",
		"In inverse time mode each F belongs to one move (section 3.5.19)."},
	"D503": {Error, "feed over the machine's limit", "lower F, or correct feed_max in the machine profile",
		"The controller holds the move to what it can, with the power meant for the higher feed; some stop."},
	"D504": {Error, "takes too long", "split the program, or raise the limit in the machine profile",
		"The estimated time is over the limit the shop has set. The estimate is good to a fifth."},
	"D505": {Warning, "long dwell", "look whether the controller counts P in milliseconds, and declare it in the machine profile",
		"G4 P counts seconds here. Some controllers count milliseconds, and a program written for one of those waits a thousand times too long."},
	"D601": {Error, "outside the travel", "move the work zero or the part, or choose a larger machine",
		"A move leads past the machine's soft limits. The report's language checks no travel (appendix A); the machine stops there, loses steps, or hits its frame."},
	"D602": {Error, "outside the sheet", "move the part, or use a larger sheet",
		"The beam or the blade works where there is no sheet."},
	"D603": {Error, "through a keep-out zone", "route the move round the zone, or move the clamp",
		"The head would pass a place that the machine profile forbids. On a rapid the axes need not move together, so the whole box between its ends counts; on a cut the path itself."},
	"D604": {Error, "below the floor", "raise Z, or correct the floor in the machine profile",
		"The blade would go deeper than the mat allows, or a router's tool deeper than its floor."},
	"D605": {Error, "through the sheet", "raise Z, or state the thickness that was measured",
		"The tool would go deeper than the sheet is thick."},
	"D606": {Warning, "shift of coordinates used", "use G54 to G59.3 with origins set beforehand",
		"G92 makes every later place depend on where the head stood, and stays in force in all coordinate systems when the program stops half way."},
	"D607": {Warning, "move to the stored home", "move there with G53",
		"G28 and G30 move all axes to a place kept in the controller; here the profile's is taken."},
	"D608": {Warning, "motion after a stop", "make two programs of it, or do not jog during the stop",
		"During M0 or M1 the operator may move the head or the sheet. What follows is judged as if nobody did."},
	"D701": {Error, "beam on in a rapid", "switch the beam off with M5 or S0 before G0",
		"The head travels at full speed with the beam on and marks or cuts whatever lies under it."},
	"D702": {Error, "beam on in a dwell", "switch the beam off before G4, or shorten it to the profile's pierce_max",
		"The beam stands on one spot for longer than piercing needs: acrylic takes fire."},
	"D703": {Error, "beam on standing still", "switch the beam on right before the cut",
		"The beam is switched on and off again with no move between: it burns one spot for as long as the controller takes over those lines."},
	"D704": {Error, "beam on at the end", "write M5 before M2",
		"The program ends with the beam on. M2 is to switch it off, but not every machine does."},
	"D705": {Error, "beam on at a stop", "write M5 before M0 or M1",
		"The program waits for the operator with the beam on."},
	"D706": {Error, "power over full scale", "lower S, or correct power_scale in the machine profile",
		"S is more than the value that means full power. A controller that holds 8 or 16 bits may wrap it round to any other power."},
	"D707": {Error, "power over the material's cap", "lower S, or choose the material the program is for",
		"The material's own limit is there because it burns."},
	"D708": {Error, "beam off before the move", "write M5 on a line after the move",
		"M5 runs before the motion of its own line, wherever it stands (section 3.8, Table 8): the move after which it stands is made dark and the cut is missing."},
	"D709": {Warning, "beam on before the move", "write M3 or M4 on a line before the move",
		"M3 and M4 run before the motion of their own line, wherever they stand (section 3.8, Table 8)."},
	"D710": {Warning, "mode in force before the move", "write the code on a line of its own",
		"A mode such as G91 is in force for the whole of its line, for axis words before it too (section 3.8, Table 8)."},
	"D711": {Error, "same path burnt too often", "remove the repeats, or raise repeat_max in the machine profile",
		"The same move, in either direction, was made with the beam on more often than the profile allows within the last 65,536 cutting moves."},
	"D712": {Warning, "cut that goes nowhere", "remove the move",
		"A cutting move with the beam on ends where it starts: the beam stands still while the controller takes the line."},
	"D713": {Error, "spindle words on a machine without", "remove M3, M4 and S, or choose the machine the program is for",
		"A machine that cuts with a blade has neither beam nor spindle: the program is for another machine."},
	"D714": {Error, "tool words on a machine without", "remove the T words, or choose the machine the program is for",
		"The machine has one tool. The program is for another, or was written with a wrong setting."},
	"D715": {Error, "other beam word than the profile's", "write the profile's word, or correct beam in the machine profile",
		"On many controllers M4 lets power follow speed and darkens a standing beam, and M3 keeps it constant; on others only one of the two switches the beam. The program uses the one that the profile does not."},
	"D716": {Error, "beam on in one place too long", "switch the beam off where nothing is cut, or cut faster; still_max in the machine profile is the limit",
		"The path gets no further than two kerfs for longer than the profile allows, with the beam on: short dwells in a row, a crawl, steps of a last digit, circles smaller than the kerf, power written again and again. Acrylic takes fire."},
	"D717": {Error, "cut with the spindle off", "write M3 and S before the tool goes down",
		"The tool is pushed through the sheet without turning: it breaks, or moves the sheet."},
	"D718": {Error, "rapid with the tool in the sheet", "lift the tool before G0, and lower it with G1",
		"The tool goes sideways or down below the sheet's upper face at travel speed. Work zero is taken to lie on that face."},
	"D801": {Error, "rapid with the blade down", "lift the blade before G0",
		"The blade is dragged through the sheet at travel speed."},
	"D802": {Error, "blade turned too far while down", "lift the blade to the skin of the sheet to turn it, or swivel it on an arc about its tip",
		"The blade trails behind the head and turns only as it is dragged. A turn larger than the profile allows at full depth tears the sheet or breaks the tip."},
	"D803": {Error, "plunge while moving", "lower the blade with the head standing still",
		"The blade enters the sheet while it is moved sideways."},
	"D804": {Warning, "blade's heading not known", "drag the blade straight for five offsets in waste before the contour",
		"When a program begins the blade may point anywhere. Dragging it straight turns it: 4.7 offsets bring 90 degrees to 1."},
	"D805": {Error, "arc tighter than the blade follows", "use a larger radius, or a corner",
		"On an arc whose radius is near the offset the blade stands across the path."},
	"D806": {Error, "height not stated before the first travel", "lift the blade with G0 Z before anything else, or let the profile say where the head parks",
		"Where the blade stands when the program begins is not known. The first travel may drag it through the sheet."},
	"D807": {Error, "blade down at the end", "lift the blade before M2",
		"The program ends with the blade in the sheet; whoever moves the head next drags it."},
	"D808": {Error, "plunge faster than the profile's", "lower the blade at the plunge feed of the profile",
		"The blade goes down into the sheet faster than the machine's profile allows: the tip breaks."},
}
