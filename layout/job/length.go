package job

import (
	"cmp"
	"errors"
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"
	"unicode"
	"unicode/utf8"

	"spotjig/layout/figure"
	"spotjig/layout/problem"
)

// Limits of a written length.
const (
	// lengthTextMax: longest text read as a length, in bytes. The longest sensible
	// one, "11 feet 8 15/16 inches", has 22.
	lengthTextMax = 40
	// lengthMax: 100 m. No hall is longer, and no arithmetic on a table comes near
	// the end of a float64's exact digits.
	lengthMax = 100_000.0
	// lengthGrid: what is read is rounded to one part in so many of a mm, a thousandth
	// of the last digit any file prints, so that 12 in is 304.8 mm and not its neighbour.
	lengthGrid = 1e9
	// denominatorMax: finest fraction of an inch found on a tape or a rule.
	denominatorMax = 128
)

// lengthExamples is the remedy for whatever is not a length.
const lengthExamples = `write it like 2540, 2540 mm, 254 cm, 2.54 m, 100 in, 8 ft 4 in, 8' 4" or 46 1/2 in`

// unit is a unit of length.
type unit struct {
	mm     float64 // mm in one of it
	isFeet bool    // inches may follow
	isInch bool    // may follow feet
}

// units are what lengths are written in, by their names.
var units = []struct {
	names string
	unit
}{
	{"mm millimetre millimetres millimeter millimeters", unit{mm: 1}},
	{"cm centimetre centimetres centimeter centimeters", unit{mm: 10}},
	{"m metre metres meter meters", unit{mm: 1000}},
	{`in inch inches "`, unit{mm: figure.MMPerInch, isInch: true}},
	{"ft foot feet '", unit{mm: 304.8, isFeet: true}},
}

// unitNamed returns the unit spelt so, after lowering and plain quotes.
func unitNamed(name string) (unit, bool) {
	for _, u := range units {
		if slices.Contains(strings.Fields(u.names), name) {
			return u.unit, true
		}
	}
	return unit{}, false
}

// unitNames lists what is suggested for a unit we do not know.
func unitNames() []string {
	return []string{"mm", "cm", "m", "in", "ft", "inch", "inches", "feet", "metre"}
}

// ParseLength reads a length as a fitter writes it and returns mm: a bare number
// is mm; mm, cm, m, in and ft (or ' and ", also as primes and curly quotes) may
// follow it; inches may have a fraction, after a blank or a hyphen, and may follow
// whole feet. A leading sign is read; whether a negative length makes sense is the
// caller's to say. The error is a problem.Problem without place or field.
//
// The value is rounded to 1e-9 mm.
func ParseLength(text string) (float64, error) {
	if len(text) > lengthTextMax {
		return 0, lengthFault("L001", fmt.Sprintf("a length of %d bytes is longer than any length is written (%d)", len(text), lengthTextMax), lengthExamples)
	}
	if !utf8.ValidString(text) {
		return 0, lengthFault("L001", "not text in UTF-8", lengthExamples)
	}
	s := &lengthScanner{all: text, rest: plainLength(text)}
	v, err := s.length()
	if err != nil {
		return 0, err
	}
	if math.Abs(v) > lengthMax {
		return 0, lengthFault("L008", fmt.Sprintf("%q is more than %g m", text, lengthMax/1000), "check the unit: a bare number is in mm")
	}
	return OnGrid(v), nil
}

// ParseSheet reads a sheet as typed, "600x400x5" or "24 in x 16 in": width and height, both
// above zero, and the thickness, 0 when it is not told.
func ParseSheet(text string) (v [3]float64, err error) {
	parts := strings.Split(strings.ToLower(strings.ReplaceAll(text, "×", "x")), "x")
	if len(parts) < 2 || len(parts) > 3 {
		return v, errors.New("want WxHxT\n    help: for example 600x400x5")
	}
	for i, p := range parts {
		if v[i], err = ParseLength(strings.TrimSpace(p)); err != nil {
			return v, err
		}
	}
	if v[0] <= 0 || v[1] <= 0 || v[2] < 0 {
		return v, errors.New("a sheet has width and height above zero\n    help: for example 600x400x5")
	}
	return v, nil
}

// OnGrid rounds a length to what is read of one: whoever works one out of others writes it
// so, to be read back as the same.
func OnGrid(v float64) float64 {
	return math.Round(v*lengthGrid)/lengthGrid + 0 // + 0 turns a written -0 into 0
}

// lengthFault builds the error of ParseLength.
func lengthFault(code, msg, help string) problem.Problem {
	return problem.Problem{Code: code, Msg: msg, Help: help}
}

// plainLength lowers the text and spells primes, curly quotes, fraction signs and
// odd blanks the plain way. Two single quotes are an inch mark.
func plainLength(text string) string {
	s := strings.NewReplacer(
		"′", "'", "’", "'", "‘", "'", "″", `"`, "”", `"`, "“", `"`,
		"¼", " 1/4 ", "½", " 1/2 ", "¾", " 3/4 ", "⅛", " 1/8 ", "⅜", " 3/8 ", "⅝", " 5/8 ", "⅞", " 7/8 ",
		"⁄", "/", "−", "-", "\u00a0", " ", "\u2009", " ", "\u202f", " ", "\t", " ",
	).Replace(strings.ToLower(text))
	return strings.TrimSpace(strings.ReplaceAll(s, "''", `"`))
}

// lengthScanner reads one length from its front.
type lengthScanner struct{ all, rest string }

// fault words an error about the whole text.
func (s *lengthScanner) fault(code, msg, help string) error {
	return lengthFault(code, fmt.Sprintf("%q: %s", s.all, msg), help)
}

// length = [sign] quantity [quantity], the second only as inches after feet.
func (s *lengthScanner) length() (float64, error) {
	sign := 1.0
	switch {
	case strings.HasPrefix(s.rest, "-"):
		sign, s.rest = -1, strings.TrimSpace(s.rest[1:])
	case strings.HasPrefix(s.rest, "+"):
		s.rest = strings.TrimSpace(s.rest[1:])
	}
	first, err := s.quantity()
	if err != nil {
		return 0, err
	}
	if s.rest == "" {
		return sign * first.n * first.u.mm, nil
	}
	if !first.u.isFeet {
		return 0, s.fault("L007", fmt.Sprintf("%q is left over after the length", s.rest), "only inches may follow, and only after feet: 8 ft 4 in")
	}
	second, err := s.quantity()
	switch {
	case err != nil:
		return 0, err
	case s.rest != "":
		return 0, s.fault("L007", fmt.Sprintf("%q is left over after the length", s.rest), lengthExamples)
	case !second.u.isInch:
		return 0, s.fault("L007", "only inches may follow feet", `write 8 ft 4 in or 8' 4"`)
	case !first.whole:
		return 0, s.fault("L007", "feet with a fraction, then inches", "write whole feet and inches, or inches alone")
	case second.n >= 12:
		return 0, s.fault("L007", "12 inches or more after feet", "carry them into feet, or write inches alone")
	}
	return sign * (first.n*12 + second.n) * figure.MMPerInch, nil
}

// quantity is a number with its unit.
type quantity struct {
	n     float64
	whole bool // written without point and fraction
	u     unit
}

// quantity = number [unit].
func (s *lengthScanner) quantity() (quantity, error) {
	q, fraction, err := s.number()
	if err != nil {
		return q, err
	}
	s.rest = strings.TrimLeft(s.rest, " ")
	end := strings.IndexFunc(s.rest, func(r rune) bool { return r == ' ' || r == '-' || '0' <= r && r <= '9' })
	switch {
	case strings.HasPrefix(s.rest, "'") || strings.HasPrefix(s.rest, `"`):
		end = 1
	case end < 0:
		end = len(s.rest)
	}
	name := s.rest[:end]
	s.rest = strings.TrimLeft(s.rest[end:], " ")
	if s.rest != "" && s.rest[0] == '-' && len(s.rest) > 1 && isDigit(s.rest[1]) {
		s.rest = s.rest[1:] // 8'-4", as builders write it
	}
	if name == "" {
		return s.bare(q, fraction)
	}
	u, ok := unitNamed(strings.TrimSuffix(name, "."))
	if !ok {
		return q, s.unknownUnit(name)
	}
	if fraction && !u.isFeet && !u.isInch {
		return q, s.fault("L006", "a fraction of a metric unit", "write metric lengths with a decimal point: 12.5 mm")
	}
	q.u = u
	return q, nil
}

// bare is a number with no unit: mm, unless a fraction says that inches were meant.
func (s *lengthScanner) bare(q quantity, fraction bool) (quantity, error) {
	if fraction {
		return q, s.fault("L006", "a fraction without a unit", "write the unit: 46 1/2 in")
	}
	if s.rest != "" {
		return q, s.fault("L001", "two numbers without a unit", lengthExamples)
	}
	q.u = unit{mm: 1}
	return q, nil
}

// unknownUnit tells apart what people write in the place of a unit.
func (s *lengthScanner) unknownUnit(name string) error {
	if strings.HasPrefix(name, "e") && s.rest != "" || name == "e" {
		return s.fault("L004", "numbers with an exponent are not read", "write the number out: 2540, not 2.54e3")
	}
	if strings.HasPrefix(name, ",") {
		return s.fault("L005", "a comma inside a number", cmp.Or(problem.CommaHelp(strings.TrimSpace(s.all)), lengthExamples))
	}
	if !strings.ContainsFunc(name, unicode.IsLetter) || name == "x" || name == "by" || name == "to" {
		return s.fault("L002", fmt.Sprintf("unknown unit %q", name), "one length goes here: "+lengthExamples)
	}
	return s.fault("L002", fmt.Sprintf("unknown unit %q; %s", name, problem.DidYouMean(name, unitNames())), lengthExamples)
}

// number = decimal | whole ("-" | " ") fraction | fraction.
func (s *lengthScanner) number() (q quantity, fraction bool, err error) {
	digits := s.decimal()
	if digits == "" || digits == "." {
		return q, false, s.notANumber()
	}
	if strings.HasPrefix(s.rest, "/") {
		q.n, err = s.over(digits)
		return q, true, err
	}
	q.n, err = strconv.ParseFloat(digits, 64)
	if err != nil {
		return q, false, s.fault("L001", "not a number", lengthExamples)
	}
	q.whole = !strings.Contains(digits, ".")
	top, rest, ok := mixedFraction(s.rest)
	if !ok {
		return q, false, nil
	}
	if !q.whole {
		return q, true, s.fault("L006", "a decimal point and a fraction in one number", "write 46.5 in or 46 1/2 in")
	}
	s.rest = rest
	f, err := s.over(top)
	if err == nil && f >= 1 {
		err = s.fault("L006", "the fraction after a whole number is 1 or more", "carry it into the whole number: 47 in, not 46 2/2 in")
	}
	q.n, q.whole = q.n+f, false
	return q, true, err
}

// notANumber words what stands where a number should.
func (s *lengthScanner) notANumber() error {
	switch strings.TrimLeft(s.rest, ".") {
	case "":
		return s.fault("L001", "no length", lengthExamples)
	case "nan", "inf", "infinity":
		return s.fault("L003", "not a finite length", lengthExamples)
	}
	return s.fault("L001", "not a length", lengthExamples)
}

// decimal takes digits with at most one point from the front.
func (s *lengthScanner) decimal() string {
	i, points := 0, 0
	for i < len(s.rest) && (isDigit(s.rest[i]) || s.rest[i] == '.' && points == 0) {
		if s.rest[i] == '.' {
			points++
		}
		i++
	}
	d := s.rest[:i]
	s.rest = s.rest[i:]
	return d
}

// mixedFraction looks for the "1/2" of "46 1/2" or "46-1/2": it returns the
// digits over the stroke and what follows them, stroke included.
func mixedFraction(rest string) (top, after string, ok bool) {
	t := strings.TrimLeft(rest, " ")
	if t == rest {
		if !strings.HasPrefix(t, "-") {
			return "", "", false
		}
		t = strings.TrimLeft(t[1:], " ") // the sign ½ is read as " 1/2"
	}
	i := 0
	for i < len(t) && isDigit(t[i]) {
		i++
	}
	if i == 0 || i == len(t) || t[i] != '/' {
		return "", "", false
	}
	return t[:i], t[i:], true
}

// over reads "/32" from the front and divides by it.
func (s *lengthScanner) over(top string) (float64, error) {
	s.rest = s.rest[1:]
	bottom := s.decimal()
	n, err1 := strconv.Atoi(top)
	d, err2 := strconv.Atoi(bottom)
	if err1 != nil || err2 != nil {
		return 0, s.fault("L006", "a fraction needs whole numbers above and below the stroke", "write it like 46 1/2 in")
	}
	if d < 2 || d > denominatorMax {
		return 0, s.fault("L006", fmt.Sprintf("a fraction in parts of %d", d), fmt.Sprintf("tapes are divided in halves to 1/%d", denominatorMax))
	}
	return float64(n) / float64(d), nil
}

func isDigit(c byte) bool { return '0' <= c && c <= '9' }
