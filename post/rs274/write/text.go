package write

import (
	"bytes"
	"fmt"
	"math"
	"strings"

	"spotjig/cam/machine"
	"spotjig/cam/path"
	"spotjig/layout/figure"
	"spotjig/layout/geom"
)

// count turns mm into whole counts of the last digit printed. It is the one
// place where a coordinate is rounded.
func (p *program) count(mm float64) int64 { return int64(math.Round(mm * p.scale)) }

// fixed prints n counts of ten to the minus dec: always dec decimals, never an
// exponent, never a minus before nothing.
func fixed(n int64, dec int) string { return string(appendFixed(nil, n, dec)) }

// appendFixed is fixed at the end of b.
func appendFixed(b []byte, n int64, dec int) []byte {
	if n < 0 {
		b, n = append(b, '-'), -n
	}
	var digits [24]byte
	i := len(digits)
	for k := 0; k <= dec || n > 0; k++ {
		if k == dec && dec > 0 {
			i--
			digits[i] = '.'
		}
		i--
		digits[i] = byte('0' + n%10)
		n /= 10
	}
	return append(b, digits[i:]...)
}

// short prints a power or feed with at most dec decimals and no idle zeros.
func short(v float64, dec int) string {
	s := fixed(int64(math.Round(v*math.Pow10(dec))), dec)
	if dec == 0 {
		return s
	}
	return strings.TrimSuffix(strings.TrimRight(s, "0"), ".")
}

// word adds a letter and a length to the line being built.
func (p *program) word(letter byte, n int64) {
	p.buf = append(p.buf, ' ', letter)
	p.buf = appendFixed(p.buf, n, p.dec)
	if p.how.Numbers == "short" {
		p.buf = bytes.TrimSuffix(bytes.TrimRight(p.buf, "0"), []byte{'.'})
	}
}

// xy adds the place where the program now stands.
func (p *program) xy() {
	p.word('X', p.x)
	p.word('Y', p.y)
}

// feedWord adds the F word, when the feed changes.
func (p *program) feedWord(f machine.Feed) {
	if f == p.feed {
		return
	}
	p.feed = f
	v, dec := f.PerMinute(), 2
	if p.how.Inch {
		v, dec = v/figure.MMPerInch, 3
	}
	p.buf = append(p.buf, " F"...)
	p.buf = append(p.buf, short(v, dec)...)
}

// begin starts a line of words, end writes it.
func (p *program) begin(code string) { p.buf = append(p.buf[:0], code...) }

func (p *program) end() {
	p.longest = max(p.longest, len(p.buf))
	if p.how.LineEnd == "crlf" {
		p.buf = append(p.buf, '\r')
	}
	p.buf = append(p.buf, '\n')
	_, _ = p.w.Write(p.buf) // bufio keeps the first error; Flush returns it
}

// header writes the comments at the top.
func (p *program) header(tp path.Toolpath) {
	p.text(strings.TrimSpace("spotjig " + p.opt.Version))
	p.text(p.title())
	p.text("Written for: " + p.opt.Machine.Says())
	if p.opt.Job != "" {
		p.text("Job: " + p.opt.Job)
	}
	if p.opt.Table != "" {
		p.text("Table: " + p.opt.Table)
	}
	p.text(fmt.Sprintf("Sheet %d of %d", tp.Sheet, max(p.opt.Sheets, tp.Sheet)))
	p.text(p.extents(tp.Bounds))
	for _, n := range p.opt.Notes {
		p.text(n)
	}
	for _, c := range p.opt.Cautions {
		p.text("CAUTION: " + c)
	}
}

func (p *program) title() string {
	tool := "beam"
	if p.knife {
		tool = "blade"
	}
	switch p.opt.Kind {
	case DryRun:
		if p.knife {
			return "DRY RUN: the motion of the cut with the blade up throughout"
		}
		return "DRY RUN: the motion of the cut with the beam off throughout"
	case Light:
		return "FIRST LIGHT: a square with the beam off, a tick at the lowest power, back to the work zero"
	case Edges:
		return "EDGES: traces the rectangle the job needs, nothing is cut"
	}
	return "CUTTING PROGRAM: " + tool + " active"
}

// extents says what the cut needs from work zero, lead-ins included.
func (p *program) extents(b geom.Box) string {
	unit := "mm"
	if p.how.Inch {
		unit = "in"
	}
	n := func(f float64) string { return fixed(p.count(f), p.dec) }
	return fmt.Sprintf("Extents X %s to %s, Y %s to %s %s", n(b.Min.X), n(b.Max.X), n(b.Min.Y), n(b.Max.Y), unit)
}

// note writes one comment line, cut off where it is too long.
func (p *program) note(s string) {
	if p.how.Comments == "none" {
		return
	}
	c := comment(s, p.lineMx)
	if p.how.Comments == "semicolons" {
		c = "; " + c[1:len(c)-1]
	}
	p.line(c)
}

// text writes a paragraph as comment lines, broken between words.
func (p *program) text(s string) {
	room := p.lineMx - 2
	line := ""
	for _, w := range strings.Fields(clean(s)) {
		for len(w) > room {
			if line != "" {
				p.note(line)
				line = ""
			}
			p.note(w[:room])
			w = w[room:]
		}
		switch {
		case line == "":
			line = w
		case len(line)+1+len(w) <= room:
			line += " " + w
		default:
			p.note(line)
			line = w
		}
	}
	if line != "" {
		p.note(line)
	}
}

// comment returns one comment line of at most n characters.
func comment(s string, n int) string {
	s = strings.Join(strings.Fields(clean(s)), " ")
	// "(MSG," would be shown by the machine as a message (NIST IR 6556 section 3.3.4).
	if len(s) >= 4 && strings.EqualFold(s[:4], "msg,") {
		s = "note: " + s
	}
	if len(s) > n-2 {
		s = strings.TrimSpace(s[:n-2])
	}
	return "(" + s + ")"
}

// clean makes text fit for a comment: printable ASCII without the characters
// that end or open comments or that some controllers act on wherever they
// meet them (brackets, % and ! ~ ? $); a semicolon becomes a dash. Signs of measure become words; any other
// letter outside ASCII becomes an underscore, so that it is seen to be missing.
func clean(s string) string {
	var b strings.Builder
	for _, r := range s {
		switch {
		case r == ';': // acted on by some; the sentence must not run together
			b.WriteString(" -")
		case r == '(' || r == ')' || r == '%' || r == '!' || r == '~' || r == '?' || r == '$':
		case r >= 0x20 && r < 0x7f:
			b.WriteRune(r)
		case r < 0x20 || r == 0x7f || r == 0xa0:
			b.WriteByte(' ')
		case r == '½':
			b.WriteString(" 1/2")
		case r == '¼':
			b.WriteString(" 1/4")
		case r == '¾':
			b.WriteString(" 3/4")
		case r == '×':
			b.WriteByte('x')
		case r == '°':
			b.WriteString(" deg")
		case r == '±':
			b.WriteString("+-")
		case r == 'µ' || r == 'μ':
			b.WriteByte('u')
		case r == '–' || r == '—' || r == '−':
			b.WriteByte('-')
		case r == '’' || r == '‘' || r == '′':
			b.WriteByte('\'')
		case r == '“' || r == '”' || r == '″':
			b.WriteByte('"')
		default:
			b.WriteByte('_')
		}
	}
	return b.String()
}
