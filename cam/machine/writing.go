package machine

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"spotjig/layout/figure"
	"spotjig/layout/job"
)

// Where the S word stands: alone behind the beam word, on its line, or on the first move of
// each cut.
const (
	PowerOwnLine  = "own-line"
	PowerWithBeam = "with-beam"
	PowerWithMove = "with-move"
)

// Writing says how programs are written for the machine, beyond what its controller
// understands. What is empty is as Filled gives it.
type Writing struct {
	Power string // where the S word stands
	// OneCode: no line holds two G or M codes.
	OneCode bool
	// Comments are written in "brackets", behind "semicolons", or there are "none".
	Comments string
	// Numbers are "full", with all decimals, or "short", without zeros at their end.
	Numbers string
	LineEnd string // "lf" or "crlf"
	Inch    bool   // programs in inches, G20
	// Air is the word that switches air assist on, "M7" or "M8", "" for none; it is on for
	// the operations of AirFor: "cut", "score", "letter".
	Air    string
	AirFor []string
	Pause  bool     // M0 between marks, openings and outlines
	Park   bool     // at the end the head goes where it stood at the start
	Start  []string // words behind the modes, one a line
	End    []string // words before the end, one a line
	Last   string   // "M2" or "M30"
}

// Filled returns how programs are written where nothing is said of a field.
func (w Writing) Filled() Writing {
	w.Power, w.Comments, w.Numbers = cmp.Or(w.Power, PowerOwnLine), cmp.Or(w.Comments, "brackets"), cmp.Or(w.Numbers, "full")
	w.LineEnd, w.Last = cmp.Or(w.LineEnd, "lf"), cmp.Or(w.Last, "M2")
	if w.AirFor == nil {
		w.AirFor = []string{"cut"}
	}
	return w
}

// Decimals is how many digits after the point programs hold.
func (w Writing) Decimals() int {
	if w.Inch {
		return 5
	}
	return 4
}

// Digit is the last of them in mm.
func (w Writing) Digit() float64 {
	if w.Inch {
		return figure.MMPerInch * 1e-5
	}
	return 1e-4
}

// AirOn reports whether air assist is on for a kind of operation.
func (w Writing) AirOn(kind string) bool {
	return w.Air != "" && slices.Contains(w.Filled().AirFor, kind)
}

// readWriting reads how programs are written, and refuses by name what the controller
// would not understand.
func readWriting(f *job.Fields, p *Profile) {
	w := &p.Writing
	*w = w.Filled()
	if p.Traits.PowerWord == "M" && w.Power == PowerOwnLine {
		w.Power = PowerWithBeam // S alone on a line is passed over
	}
	w.Power = f.Word("power", w.Power, PowerOwnLine, PowerWithBeam, PowerWithMove)
	w.OneCode = f.Yes("one_code", w.OneCode)
	w.Comments = f.Word("comments", w.Comments, "brackets", "semicolons", "none")
	w.Numbers = f.Word("numbers", w.Numbers, "full", "short")
	w.LineEnd = f.Word("line_end", w.LineEnd, "lf", "crlf")
	w.Inch = f.Word("unit", map[bool]string{false: "mm", true: "in"}[w.Inch], "mm", "in") == "in"
	air := f.Word("air", cmp.Or(w.Air, "none"), "none", "M7", "M8")
	if w.Air = strings.ToUpper(air); w.Air == "NONE" {
		w.Air = ""
	}
	if words := f.Words("air_for", wordsMax); words != nil {
		w.AirFor = nil
		for _, v := range words {
			if v = strings.ToLower(v); v != "cut" && v != "score" && v != "letter" {
				f.Fault("air_for", "M019", fmt.Sprintf("%q is no operation", v), "name those of cut, score and letter that want air")
			}
			w.AirFor = append(w.AirFor, v)
		}
	}
	w.Pause = f.Yes("pause", w.Pause)
	w.Park = f.Yes("park", w.Park)
	if words := f.Words("start", wordsMax); words != nil {
		w.Start = modeWords(f, "start", words)
	}
	if words := f.Words("end", wordsMax); words != nil {
		w.End = modeWords(f, "end", words)
	}
	w.Last = f.Word("last", w.Last, "M2", "M30")
	checkWriting(f, *p)
	f.Done()
}

// checkWriting refuses what cannot be written for the controller as it is described.
func checkWriting(f *job.Fields, p Profile) {
	w := p.Writing
	refuse := func(key, help, form string, a ...any) { f.Fault(key, "M019", fmt.Sprintf(form, a...), help) }
	if p.Process == Shop || p.Process == Router {
		return
	}
	if w.Power != PowerWithBeam && p.PowerWord == "M" && p.Process == Laser {
		refuse("power", "write power: with-beam", "the power stands %s, and the controller takes S only from a line with the beam word (dialect.power_word: M)",
			map[string]string{PowerOwnLine: "on a line of its own", PowerWithMove: "with the move"}[w.Power])
	}
	if w.Comments == "semicolons" && !p.SemicolonComments {
		refuse("comments", "write comments: brackets or none, or state dialect.semicolon_comments: yes if the controller's manual says so",
			"comments behind semicolons, on a controller that is not said to read them")
	}
	if d := p.Traits.Decimals; d > 0 && d < w.Decimals() {
		refuse("unit", "write unit: mm, or leave dialect.decimals out if the controller reads more digits than it says",
			"programs hold %d digits after the point, and the controller reads %d", w.Decimals(), d)
	}
	if p.Process == Knife {
		if w.Inch {
			refuse("unit", "write unit: mm", "a blade's heights are written in mm only")
		}
		if w.Air != "" {
			refuse("air", "leave air out", "air assist on a blade")
		}
	}
	written := slices.Concat(w.Start, w.End, []string{w.Last, "M5", p.BeamWord})
	if w.Inch {
		written = append(written, "G20")
	} else {
		written = append(written, "G21")
	}
	if w.Air != "" {
		written = append(written, w.Air, "M9")
	}
	if w.Pause {
		written = append(written, "M0")
	}
	for _, word := range written {
		if slices.Contains(p.Refused, word) {
			refuse("last", "take the word out of dialect.refused_words, or choose another way to write it", "%s would be written, and the controller refuses it", word)
		}
	}
	for _, added := range []struct {
		key   string
		words []string
	}{{"start", w.Start}, {"end", w.End}} {
		for _, word := range added.words {
			if !mayBeAdded(word, p) {
				refuse(added.key, "add words of path control (G61, G61.1, G64), of air (M7, M8, M9), or those of dialect.extra_words", "%s may move, burn or change what the program relies on", word)
			}
		}
	}
}

// mayBeAdded reports whether a word at the start or end changes nothing that the program
// relies on.
func mayBeAdded(word string, p Profile) bool {
	return slices.Contains([]string{"G61", "G61.1", "G64", "M7", "M8", "M9"}, word) || slices.Contains(p.ExtraWords, word)
}

// Says tells people how programs are written for the machine.
func (p Profile) Says() string {
	w := p.Writing.Filled()
	parts := []string{map[bool]string{false: "mm", true: "inches"}[w.Inch] + fmt.Sprintf(" with %d decimals", w.Decimals())}
	if p.Process == Laser {
		where := map[string]string{PowerOwnLine: "on its own line", PowerWithBeam: "on the beam word's line", PowerWithMove: "with the move"}[w.Power]
		parts = append(parts, fmt.Sprintf("beam %s", p.BeamWord), fmt.Sprintf("power S0 to S%g %s", p.PowerScale, where))
		if w.Air != "" {
			parts = append(parts, w.Air+" and M9 for air")
		}
	}
	if w.OneCode {
		parts = append(parts, "one code a line")
	}
	if w.Pause {
		parts = append(parts, "M0 between marks, openings and outlines")
	}
	return strings.Join(append(parts, "end "+w.Last), ", ")
}
