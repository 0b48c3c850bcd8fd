package read

import (
	"bytes"
	"strconv"
)

// Comments that act
//
// To the report a comment is nothing. Some controllers run what stands in one that opens
// in a certain way, and some take single bytes as commands as soon as they arrive, in
// comments as anywhere. Neither changes what is read here; it is told, because it may
// change what the machine does.

// actingOpeners begin comments that controllers in use act on: they print, log, switch
// probes, call programs or change what is shown. A comma or the end follows those that
// are ordinary words.
func actingOpeners() []string {
	return []string{"PY,", "PROBEOPEN", "PROBECLOSE", "LOGOPEN", "LOGAPPEND", "LOGCLOSE", "LOG,", "AXIS,", "MSG,", "DEBUG,", "PRINT,", "ABORT,"}
}

// openerFirst are the letters those begin with.
const openerFirst = "PLAMDplamd"

// mayAct reports whether a comment needs a closer look.
func (x *interp) mayAct(t []byte) bool {
	t = bytes.TrimLeft(t, " \t")
	if len(t) > 0 && bytes.IndexByte([]byte(openerFirst), t[0]) >= 0 {
		return true
	}
	for _, c := range t {
		if x.dialect.acts[c] {
			return true
		}
	}
	return false
}

// acting reports what in the comment t may act.
func (s *scanner) acting(t []byte) {
	x := s.x
	if x.skip { // told by the first run
		return
	}
	head := bytes.ToUpper(bytes.Join(bytes.Fields(t[:min(len(t), 40)]), nil))
	for _, o := range actingOpeners() {
		if bytes.HasPrefix(head, []byte(o)) {
			x.say(ActingComment, s.col16(s.i), "a comment that begins with "+o+" is a command to some controllers",
				"leave the comment out, or begin it otherwise")
			break
		}
	}
	for _, c := range t {
		if x.dialect.acts[c] {
			x.say(ActingByte, s.col16(s.i), "byte "+byteName(c)+" in a comment is a command to some controllers as soon as it arrives",
				"write comments in letters, digits and plain punctuation; or let the machine profile say under acts_on which bytes act")
			break
		}
	}
}

// byteName shows a byte for people.
func byteName(c byte) string {
	s := "0x" + string("0123456789ABCDEF"[c>>4]) + string("0123456789ABCDEF"[c&15])
	if c > ' ' && c < 0x7F {
		s += " " + strconv.QuoteRune(rune(c))
	}
	return s
}
