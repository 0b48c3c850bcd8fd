package machine

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"spotjig/layout/job"
	"spotjig/layout/problem"
)

// Traits is what a controller does with a program, as its manual says. The zero value
// is the published report and nothing known beyond it. What is not known is judged in
// every way it may be.
type Traits struct {
	// AfterEnd says what M2 and M30 leave in force: "restored", the modes of power-on, or
	// "kept", the program's, so that power-on tells nothing about the next job.
	// "" is taken as restored.
	AfterEnd string
	// LineEnds says what ends a line: "any" of CR, LF and both, or "lf", so that a CR
	// alone ends none. "" is not known.
	LineEnds string
	// DarkRapids: the beam is off in G0 whatever M3, M4 and S say.
	DarkRapids bool
	// PowerWord says where S is taken from: "S", wherever it stands, or "M", only when M3 or
	// M4 is run on its line or after it, so that S0 alone darkens nothing. "" is taken as "S".
	PowerWord string
	// HomeWords says which axes G28 and G30 send home when axis words stand with them:
	// "all" (the report), or "named". "" is not known, and both are reckoned.
	HomeWords string
	// ActsOn lists bytes that are taken as commands as soon as they arrive, in comments
	// too: "0x21", or a range "0x80-0xFF". nil is not known; empty is none.
	ActsOn []string
	// ArcTolerance is how far the two radii of an arc may differ, mm; 0 is the report's
	// 0.002 mm, or 0.0002 inch.
	ArcTolerance float64
	// Decimals is how many digits after the point are read; 0: as many as there are.
	Decimals int
	// Refused lists codes that the controller stops at, such as "G92".
	Refused []string
}

// controller is one of the built-in sets of traits.
type controller struct {
	name      string
	powerOn   string
	semicolon bool
	millis    bool
	traits    Traits
}

// streamedBytes are the bytes that controllers fed line by line, or what feeds them, take at
// once (common practice): NUL, flow control, reset, end of file, escape, stop, state, go
// on, and everything outside ASCII.
func streamedBytes() []string {
	return []string{"0x00", "0x11", "0x13", "0x18", "0x1A", "0x1B", "0x21", "0x3F", "0x7E", "0x80-0xFF"}
}

// usualModes are in force at power-on on nearly every controller that states any
// (common practice).
const usualModes = "G21 G90 G17 G94 G54 G40 G49"

// arcUsual is a tolerance of radii that four decimals of an inch and three of a
// millimetre stay inside: 2*sqrt(2)*0.00005 in = 0.0036 mm, and the same again at the centre.
const arcUsual = 0.01

// controllers are built in by what they do.
func controllers() []controller {
	return []controller{
		{name: "report-only"},
		{name: "line-streamed", powerOn: usualModes, semicolon: true,
			traits: Traits{AfterEnd: "restored", PowerWord: "S", ActsOn: streamedBytes(), ArcTolerance: arcUsual}},
		{name: "line-streamed-dark", powerOn: usualModes, semicolon: true,
			traits: Traits{AfterEnd: "restored", DarkRapids: true, PowerWord: "S", ActsOn: streamedBytes(), ArcTolerance: arcUsual}},
		{name: "full-language", powerOn: usualModes + " G98", semicolon: true,
			traits: Traits{AfterEnd: "restored", PowerWord: "S", HomeWords: "all", ActsOn: []string{}, ArcTolerance: arcUsual}},
		{name: "file-run", powerOn: usualModes + " G98", semicolon: true, millis: true,
			traits: Traits{AfterEnd: "kept", PowerWord: "S", HomeWords: "named", ActsOn: []string{}, ArcTolerance: arcUsual}},
	}
}

// ControllerNames lists the built-in controllers.
func ControllerNames() []string {
	return names(controllers(), func(c controller) string { return c.name })
}

// setController gives the profile a built-in controller's traits.
func (p *Profile) setController(name string) bool {
	all := controllers()
	i := slices.IndexFunc(all, func(c controller) bool { return plainWord(c.name) == plainWord(name) })
	if i < 0 {
		return false
	}
	c := all[i]
	p.Controller, p.Traits = c.name, c.traits
	p.PowerOn, p.SemicolonComments, p.DwellMillis = strings.Fields(c.powerOn), c.semicolon, c.millis
	return true
}

// readController reads the name of the built-in traits that a machine starts from.
func readController(f *job.Fields, p *Profile) {
	name := f.Text("controller", p.Controller, NameMax)
	if name == "" || name == p.Controller {
		return
	}
	if !p.setController(name) {
		f.Fault("controller", "M008", fmt.Sprintf("unknown controller %q; %s", name, problem.DidYouMean(name, ControllerNames())),
			"known are "+strings.Join(ControllerNames(), ", ")+"; or leave it out and state the traits under dialect")
	}
}

// readTraits reads the traits, key by key.
func readTraits(f *job.Fields, p *Profile) {
	t := &p.Traits
	t.AfterEnd = f.Word("after_end", t.AfterEnd, "restored", "kept")
	t.LineEnds = f.Word("line_ends", t.LineEnds, "any", "lf")
	t.DarkRapids = f.Yes("dark_rapids", t.DarkRapids)
	t.PowerWord = f.Word("power_word", t.PowerWord, "S", "M")
	unsaid := t.HomeWords == ""
	t.HomeWords = f.Word("home_words", t.HomeWords, "all", "named")
	if unsaid && t.HomeWords == "all" && p.Home28 == nil && p.Home30 == nil {
		// To a home that nobody knows every axis is lost, as where nothing is said.
		f.Idle("home_words", "where G28 and G30 go is not stated", "give homes beside it, or remove it")
	}
	if words := f.Words("acts_on", wordsMax); words != nil {
		t.ActsOn = byteWords(f, words)
	}
	t.ArcTolerance = f.Length("arc_tolerance", job.Range{Default: t.ArcTolerance, Min: 0, Max: 1})
	t.Decimals = f.Whole("decimals", job.Range{Default: float64(t.Decimals), Min: 0, Max: 10})
	if words := f.Words("refused_words", wordsMax); words != nil {
		t.Refused = modeWords(f, "refused_words", words)
	}
}

// byteWords checks bytes written as 0x21 or 0x80-0xFF; "none" alone is the empty list.
func byteWords(f *job.Fields, words []string) []string {
	out := []string{}
	if len(words) == 1 && strings.EqualFold(words[0], "none") {
		return out
	}
	for _, w := range words {
		if _, _, ok := byteRange(w); !ok {
			f.Fault("acts_on", "M018", fmt.Sprintf("%q is no byte", w), "write bytes as 0x21 and ranges as 0x80-0xFF, or none")
			return nil
		}
		out = append(out, w)
	}
	return out
}

// byteRange reads one entry of ActsOn.
func byteRange(w string) (lo, hi byte, ok bool) {
	a, b, two := strings.Cut(w, "-")
	if !two {
		b = a
	}
	at := func(s string) (byte, bool) {
		v, err := strconv.ParseUint(s, 0, 8)
		return byte(v), err == nil && len(s) > 2
	}
	lo, okA := at(a)
	hi, okB := at(b)
	return lo, hi, okA && okB && lo <= hi
}

// Acts reports which bytes are taken as commands at once. Of a controller about which
// nothing is known those are all that any is known to take.
func (t Traits) Acts() (table [256]bool) {
	words := t.ActsOn
	if words == nil {
		words = streamedBytes()
	}
	for _, w := range words {
		lo, hi, ok := byteRange(w)
		for c := int(lo); ok && c <= int(hi); c++ {
			table[c] = true
		}
	}
	return table
}
