package read

import (
	"bytes"
	"math"
	"strconv"
	"unicode/utf8"
)

// A block is one line read: the value of every word, before anything is done.
type block struct {
	seen    uint32        // bit l-'A' for every letter with one value
	val     [26]float64   // by letter
	col     [26]uint16    // by letter
	g       [groups]int16 // code times ten by modal group, none where there is none
	gCol    [groups]uint16
	m       [groups]int16 // M code by modal group
	mCol    [groups]uint16
	mCount  int
	first   uint16 // column of the first word
	axisCol uint16 // column of the first axis word
	sets    []assign
	texts   []string // comments
	words   bool     // there is something else than comments
	extra   bool     // a code the user lets pass, that is in no table, was passed over
	cancels bool     // G80 stands beside another motion code
}

// assign is a parameter setting, done when every value of the line has been read (section 3.3.3).
type assign struct {
	index int
	value float64
}

const none int16 = -1

// letters of the language that take one value; G and M are read apart, N comes first only.
const letters = "ABCDFHIJKLPQRSTXYZ"

func bit(letter byte) uint32 { return 1 << (letter - 'A') }

func (b *block) has(letter byte) bool { return b.seen&bit(letter) != 0 }

// reset empties the block, keeping its slices.
func (b *block) reset() {
	b.seen, b.mCount, b.first, b.axisCol, b.words, b.extra, b.cancels = 0, 0, 0, 0, false, false, false
	b.sets, b.texts = b.sets[:0], b.texts[:0]
	for i := range b.g {
		b.g[i], b.m[i] = none, none
	}
}

// scanner reads one line. Spaces and tabs mean nothing outside comments, even
// inside numbers (section 3.3), so that every look at the next character skips them.
type scanner struct {
	s     []byte
	i     int
	x     *interp
	b     *block
	depth int
	f     Fault // the first fault; Code is empty while there is none
}

// peek returns the next character in upper case without taking it; 0 at the end.
func (s *scanner) peek() byte {
	for s.i < len(s.s) {
		c := s.s[s.i]
		if c == ' ' || c == '\t' {
			s.i++
			continue
		}
		if c >= 'a' && c <= 'z' {
			c -= 'a' - 'A'
		}
		return c
	}
	return 0
}

// take steps over the character peek showed.
func (s *scanner) take() { s.i++ }

// atEnd reports whether nothing is left. A NUL is not the end.
func (s *scanner) atEnd() bool { s.peek(); return s.i >= len(s.s) }

// fail notes the first fault of the line, at byte i.
func (s *scanner) fail(code Code, i int, text, help string) {
	if s.f.Code == "" {
		s.f = Fault{Code: code, Col: s.column(i), Text: text, Help: help}
	}
}

func (s *scanner) ok() bool { return s.f.Code == "" }

// column turns a byte offset into a column in characters.
func (s *scanner) column(i int) int { return utf8.RuneCount(s.s[:min(i, len(s.s))]) + 1 }

// col16 is column for an event.
func (s *scanner) col16(i int) uint16 { return uint16(min(s.column(i), math.MaxUint16)) }

// parse reads the line into b. It returns false after a fault that makes the line worthless.
func (x *interp) parse(line []byte, b *block) (Fault, bool) {
	b.reset()
	s := scanner{s: line, x: x, b: b}
	if s.peek() == '/' {
		s.take()
	}
	if s.peek() == 'N' {
		s.lineNumber()
	}
	for s.ok() && !s.atEnd() {
		s.item()
	}
	return s.f, s.ok()
}

// lineNumber reads N and one to five digits (section 3.3.1).
func (s *scanner) lineNumber() {
	at := s.i
	s.take()
	n := 0
	for c := s.peek(); c >= '0' && c <= '9'; c = s.peek() {
		s.take()
		n++
	}
	c := s.peek()
	if n == 0 || n > 5 || c == '.' || c == '-' || c == '+' {
		s.fail(BadLineNumber, at, "line number is not one to five digits", "number lines N0 to N99999, or leave the numbers out")
	}
}

// item reads a comment, a word or a parameter setting.
func (s *scanner) item() {
	c := s.peek()
	at := s.i
	switch {
	case c == '(':
		s.comment()
	case c == ';':
		if !s.x.dialect.semicolon {
			s.x.say(SemicolonComment, s.col16(at), "a semicolon comment is outside the report", "use ( ), or let the machine profile say that its controller takes semicolon comments")
		}
		s.text(s.s[s.i+1:])
		s.i = len(s.s)
	case c == '#':
		s.setting()
	case c >= 'A' && c <= 'Z':
		s.word(c)
	default:
		s.badCharacter(at, c)
	}
}

// comment reads ( to ), which must not hold another ( (section 3.3.4).
func (s *scanner) comment() {
	at := s.i
	for i := s.i + 1; i < len(s.s); i++ {
		switch s.s[i] {
		case ')':
			s.text(s.s[s.i+1 : i])
			s.i = i + 1
			return
		case '(':
			s.fail(BadComment, i, "comment inside a comment", "take the inner brackets out")
			return
		}
	}
	s.fail(BadComment, at, "comment is not closed on its line", "close it with )")
}

// text looks for what acts in a comment and keeps it if anybody wants it.
func (s *scanner) text(t []byte) {
	s.acting(t)
	if s.x.texts {
		s.b.texts = append(s.b.texts, string(t))
	}
}

// badCharacter says what a character that starts nothing might have been.
func (s *scanner) badCharacter(at int, c byte) {
	text, help := "character "+strconv.QuoteRuneToASCII(rune(c))+" begins no word", "write the line anew: words are a letter and a value"
	r, n := utf8.DecodeRune(s.s[at:])
	switch {
	case c == 0:
		text, help = "NUL character", "the file is damaged or not a program: write it again as plain ASCII"
	case r == 0xFEFF:
		text, help = "byte-order mark", "save the file as plain ASCII, without a mark in front"
	case c >= 0x80 && r == utf8.RuneError && n == 1:
		text, help = "byte 0x"+strconv.FormatUint(uint64(c), 16)+" is not ASCII", "write plain ASCII outside comments"
	case c >= 0x80:
		text, help = "character "+strconv.QuoteRuneToASCII(r)+" is not ASCII", "write plain ASCII outside comments"
	case c == '/':
		text, help = "block delete sign inside the line", "put / before everything else on the line"
	case c == '$' || c == '!' || c == '~' || c == '?':
		text, help = "character '"+string(c)+"' is a command to some controllers, not a word", "take controller commands out of the program"
	case c == '%':
		text, help = "percent sign with something else on its line", "put the percent sign on a line of its own"
	case c == ',':
		text, help = "a comma in a word", "write a decimal point where one was meant, as in X10.5; leaving the comma out makes another number"
	case c == '*':
		text, help = "a checksum is outside the report", "write the program without checksums"
	case c == ')':
		text, help = "bracket ) closes no comment", "write the line anew: a comment runs from ( to )"
	}
	s.fail(BadCharacter, at, text, help)
}

// setting reads #index=value.
func (s *scanner) setting() {
	at := s.i
	s.take()
	n, ok := s.index(at)
	if !ok {
		return
	}
	if s.peek() != '=' {
		s.fail(BadExpression, s.i, "parameter without = after it", "set a parameter as #12=3.4")
		return
	}
	s.take()
	v := s.real()
	if !s.ok() {
		return
	}
	if reserved(n) {
		s.fail(ParamReserved, at, "parameter #"+strconv.Itoa(n)+" belongs to the controller",
			"use parameters 1 to 5000 for values of your own")
		return
	}
	s.b.words = true
	s.b.sets = append(s.b.sets, assign{n, v})
}

// reserved reports whether the report gives parameter n a meaning that a program
// may not write past us (Table 2): probe results, G92 shift, active system, origins.
// Homes (5161.., 5181..) may be set.
func reserved(n int) bool {
	return n >= 5061 && n <= 5066 || n >= 5211 && n <= 5216 || n >= 5220 && n <= 5390
}

// word reads a letter and its value.
func (s *scanner) word(c byte) {
	at := s.i
	switch c {
	case 'E', 'O', 'U', 'V', 'W':
		if s.x.dialect.passes(c) {
			s.take()
			s.real()
			return
		}
		if c == 'O' && s.name(at) {
			return
		}
		s.badLetter(at, c)
		return
	case 'N':
		s.fail(BadLineNumber, at, "line number is not the first word", "put N before every other word")
		return
	}
	s.take()
	v := s.real()
	if !s.ok() {
		return
	}
	s.b.words = true
	if s.b.first == 0 {
		s.b.first = s.col16(at)
	}
	switch c {
	case 'G':
		s.gWord(at, v)
	case 'M':
		s.mWord(at, v)
	default:
		s.plain(at, c, v)
	}
}

// name takes O and digits alone on a line before anything moves for the program's name.
func (s *scanner) name(at int) bool {
	i := at + 1
	for i < len(s.s) && s.s[i] >= '0' && s.s[i] <= '9' {
		i++
	}
	rest := bytes.TrimLeft(s.s[i:], " \t")
	if s.x.moved || s.b.words || i == at+1 || len(rest) > 0 && rest[0] != '(' && rest[0] != ';' {
		return false
	}
	s.i = i
	s.x.say(ProgramName, s.col16(at), "O and a number alone: a name, to controllers that know names", "leave the line out")
	return true
}

// badLetter words the fault of a letter the language does not have (section 3.3.2, appendix E.3).
func (s *scanner) badLetter(at int, c byte) {
	help := "the letters are A B C D F G H I J K L M N P Q R S T X Y Z; a machine profile may list words to pass over"
	if c == 'O' {
		help = "subprograms, loops and program numbers are outside the report: write the moves out"
	}
	s.fail(BadLetter, at, "letter "+string(c)+" is not in the language", help)
}

// plain keeps the value of a word that is not G or M.
func (s *scanner) plain(at int, c byte, v float64) {
	if s.b.has(c) {
		s.fail(WordTwice, at, "second "+string(c)+" word on one line", "keep one, or make two lines of it")
		return
	}
	s.b.seen |= bit(c)
	s.b.val[c-'A'] = v
	s.b.col[c-'A'] = s.col16(at)
	if c >= 'X' && s.b.axisCol == 0 {
		s.b.axisCol = s.col16(at)
	}
}

// gWord files a G code under its modal group.
func (s *scanner) gWord(at int, v float64) {
	t := math.Round(v * 10)
	if v < 0 || v > 99.95 || math.Abs(v*10-t) > 10*integerTol {
		s.unknownG(at, v)
		return
	}
	code := int16(t)
	grp, known := gGroup(code)
	s.refused("G", v, at)
	if s.x.dialect.passesCode('G', v) {
		s.b.extra = s.b.extra || !known || code == 640
		return
	}
	switch {
	case code == 911 || code == 901 && s.x.dialect.centerAbs:
		s.x.centersAbs = code == 901
		return
	case code == 901:
		s.x.say(UnknownG, s.col16(at), "code G90.1 is not in the language", "arc centres are offsets from the start point here: write I, J, K that way")
		return
	}
	if !known {
		s.unknownG(at, v)
		return
	}
	if math.Abs(v*10-t) > exactTol {
		s.near(at, "G", v, gName(code))
	}
	if old := s.b.g[grp]; grp == gMotion && old != none && (old == 800) != (code == 800) {
		s.b.cancels = true
		s.b.g[grp], s.b.gCol[grp] = max(old%800, code%800), s.col16(at)
		return
	} else if old != none {
		s.fail(GroupTwice, at, gName(old)+" and "+gName(code)+" are of one kind and exclude each other", "keep one, or make two lines of it")
		return
	}
	s.b.g[grp], s.b.gCol[grp] = code, s.col16(at)
}

func (s *scanner) unknownG(at int, v float64) {
	name := "G" + strconv.FormatFloat(v, 'f', -1, 64)
	help := "write the move with the codes of NIST IR 6556; a machine profile may list harmless codes to pass over"
	switch v {
	case 70, 71:
		help = "this code means units to some controllers and a cycle to others: state G20 or G21"
	}
	s.fail(UnknownG, at, "code "+name+" is not in the language", help)
}

// mWord files an M code under its modal group; M7 and M8 share one.
func (s *scanner) mWord(at int, v float64) {
	t := math.Round(v)
	name := "M" + strconv.FormatFloat(v, 'f', -1, 64)
	grp, known := 0, false
	if v >= 0 && v <= 99 && math.Abs(v-t) <= integerTol {
		grp, known = mGroup(int16(t))
	}
	s.refused("M", v, at)
	if s.x.dialect.passesCode('M', v) {
		s.b.extra = s.b.extra || !known
		return
	}
	if !known {
		s.fail(UnknownM, at, "code "+name+" is not in the language",
			"remove it; a machine profile may list harmless codes to pass over")
		return
	}
	if math.Abs(v-t) > exactTol {
		s.near(at, "M", v, "M"+strconv.Itoa(int(t)))
	}
	if old := s.b.m[grp]; old != none {
		s.fail(GroupTwice, at, "M"+strconv.Itoa(int(old))+" and "+name+" are of one kind and exclude each other", "keep one, or make two lines of it")
		return
	}
	s.b.m[grp], s.b.mCol[grp] = int16(t), s.col16(at)
	if s.b.mCount++; s.b.mCount > 4 {
		s.fail(TooManyM, at, "more than four M words on one line", "make two lines of it")
	}
}

// near reports a code that is a code by rounding only.
func (s *scanner) near(at int, letter string, v float64, name string) {
	s.x.say(NearCode, s.col16(at), letter+strconv.FormatFloat(v, 'f', -1, 64)+" is taken for "+name+" here and may be another code elsewhere", "write "+name)
}

// refused reports a code that the profile says the controller stops at.
func (s *scanner) refused(letter string, v float64, at int) {
	if len(s.x.dialect.refused) == 0 {
		return
	}
	if name := letter + strconv.FormatFloat(v, 'f', -1, 64); s.x.dialect.refused[name] {
		s.x.say(RefusedCode, s.col16(at), name+" is a code that this controller refuses", "write the program without it")
	}
}

// exactTol: how far a code worked out may be from itself by rounding.
const exactTol = 1e-9

// integerTol: a value this near an integer counts as it (section 3.3.2.1).
const integerTol = 0.0001

// asInt returns the integer v counts as.
func asInt(v float64) (int, bool) {
	t := math.Round(v)
	if math.Abs(v-t) > integerTol || math.Abs(t) > 1e6 {
		return 0, false
	}
	return int(t), true
}
