package read

import (
	"math"
	"strconv"
)

// real reads a real value (section 3.3.2): a number, a parameter, a bracketed
// expression, or a function of one.
func (s *scanner) real() float64 {
	if s.depth++; s.depth > depthMax {
		s.fail(TooDeep, s.i, "brackets, functions and parameters more than "+strconv.Itoa(depthMax)+" deep", "work the value out in steps, with parameters")
	}
	defer func() { s.depth-- }()
	if !s.ok() {
		return 0
	}
	c := s.peek()
	switch {
	case c == '[':
		return s.bracket()
	case c == '#':
		at := s.i
		s.take()
		n, ok := s.index(at)
		if !ok {
			return 0
		}
		return s.parameter(n, at)
	case c >= 'A' && c <= 'Z':
		return s.function()
	}
	return s.number()
}

// number reads a sign, digits and at most one point; no exponent (section 3.3.2.1).
func (s *scanner) number() float64 {
	var text [digitsMax + 3]byte
	at := s.i
	n, digits, points := 0, 0, 0
	whole, decimals := uint64(0), 0 // the digits as one number, while they fit
	spaced := false
	for {
		before := s.i
		c := s.peek()
		spaced = spaced || n > 0 && s.i > before && (c == '.' || c >= '0' && c <= '9')
		switch {
		case (c == '+' || c == '-') && n == 0:
		case c == '.':
			points++
		case c >= '0' && c <= '9':
			digits++
			whole = whole*10 + uint64(c-'0')
			decimals += points
		default:
			if spaced {
				s.x.say(SpacedNumber, s.col16(at), "a blank inside a number: "+string(text[:n])+" here, cut short elsewhere", "write the number without blanks")
			}
			if decimals > s.x.dialect.decimals {
				s.x.say(TooPrecise, s.col16(at), strconv.Itoa(decimals)+" decimals where this controller reads "+strconv.Itoa(s.x.dialect.decimals), "round the program's numbers")
			}
			if digits > 0 && digits <= plainDigits {
				v := float64(whole) / tens[decimals]
				if text[0] == '-' {
					v = -v
				}
				return s.check(at, v)
			}
			return s.finish(at, text[:n], digits)
		}
		if points > 1 {
			s.fail(BadNumber, s.i, "number with two decimal points", "write one point")
			return 0
		}
		if digits > digitsMax {
			s.fail(NumberTooLarge, at, "number of more than "+strconv.Itoa(digitsMax)+" digits", "round it")
			return 0
		}
		text[n] = c
		n++
		s.take()
	}
}

// finish turns the characters of a number into its value.
func (s *scanner) finish(at int, text []byte, digits int) float64 {
	if c := s.peek(); digits == 0 && !s.atEnd() && (c == 0 || c >= 0x80) {
		s.badCharacter(s.i, c)
		return 0
	}
	if digits == 0 {
		s.fail(BadNumber, s.i, "a value is missing here", "write a number, a #parameter or an [expression] after the letter")
		return 0
	}
	v, err := strconv.ParseFloat(string(text), 64)
	if err != nil {
		s.fail(BadNumber, at, "not a number", "write digits with at most one point")
		return 0
	}
	return s.check(at, v)
}

// check refuses values that are not finite or that nobody means.
func (s *scanner) check(at int, v float64) float64 {
	if math.IsNaN(v) || math.IsInf(v, 0) {
		s.fail(BadValue, at, "the value is not a finite number", "look at the expression")
		return 0
	}
	if math.Abs(v) > numberMax {
		s.fail(NumberTooLarge, at, "a number beyond "+strconv.FormatFloat(numberMax, 'f', 0, 64), "a decimal point may be missing")
		return 0
	}
	if v == 0 {
		return 0 // no negative zero
	}
	return v
}

// index reads the number of a parameter after its sign.
func (s *scanner) index(at int) (int, bool) {
	v := s.real()
	if !s.ok() {
		return 0, false
	}
	n, ok := asInt(v)
	if !ok || n < 1 || n > paramMax {
		s.fail(ParamRange, at, "no parameter "+strconv.FormatFloat(v, 'f', -1, 64)+"; they are 1 to "+strconv.Itoa(paramMax), "use one of those")
		return 0, false
	}
	return n, true
}

// parameter returns the value of #n.
func (s *scanner) parameter(n, at int) float64 {
	v, ok := s.x.param(n)
	if !ok {
		s.fail(ParamUnset, at, "parameter #"+strconv.Itoa(n)+" was never set: its value would come from the controller's memory",
			"set it before it is used")
	}
	return v
}

// bracket reads [ expression ]. Three ranks, equal rank from left to right
// (section 3.3.2.3): ** before * / MOD before + - OR XOR AND.
func (s *scanner) bracket() float64 {
	s.take()
	v := s.sum()
	if s.ok() && s.peek() != ']' {
		s.fail(BadExpression, s.i, "an operator or ] is missing here", "operators are ** * / MOD + - OR XOR AND")
	}
	s.take()
	return v
}

func (s *scanner) sum() float64 {
	v := s.product()
	for s.ok() {
		switch {
		case s.operator("+"):
			v += s.product()
		case s.operator("-"):
			v -= s.product()
		case s.operator("OR"):
			w := s.product()
			v = truth(v != 0 || w != 0)
		case s.operator("XOR"):
			w := s.product()
			v = truth((v != 0) != (w != 0))
		case s.operator("AND"):
			w := s.product()
			v = truth(v != 0 && w != 0)
		default:
			return v
		}
		v = s.check(s.i, v)
	}
	return v
}

func truth(b bool) float64 {
	if b {
		return 1
	}
	return 0
}

func (s *scanner) product() float64 {
	v := s.power()
	for s.ok() {
		at := s.i
		switch {
		case s.operator("*"):
			v *= s.power()
		case s.operator("/"):
			w := s.power()
			if w == 0 && s.ok() {
				s.fail(BadValue, at, "division by zero", "look at the divisor")
				return 0
			}
			v /= w
		case s.operator("MOD"):
			v = s.modulo(at, v, s.power())
		default:
			return v
		}
		v = s.check(at, v)
	}
	return v
}

// modulo is never negative: what is left of v after taking whole steps of |w| from below.
func (s *scanner) modulo(at int, v, w float64) float64 {
	if w == 0 && s.ok() {
		s.fail(BadValue, at, "MOD by zero", "look at the divisor")
		return 0
	}
	v = math.Mod(v, w)
	if v < 0 {
		v += math.Abs(w)
	}
	return v
}

func (s *scanner) power() float64 {
	v := s.real()
	for s.ok() {
		at := s.i
		if !s.operator("**") {
			return v
		}
		w := s.real()
		if v < 0 && w != math.Trunc(w) && s.ok() {
			s.fail(BadValue, at, "a negative number to a power that is not whole", "look at the base")
			return 0
		}
		v = s.check(at, math.Pow(v, w))
	}
	return v
}

// operator takes the operator if it comes next. * is not taken where ** stands.
func (s *scanner) operator(name string) bool {
	at := s.i
	for k := 0; k < len(name); k++ {
		if s.peek() != name[k] {
			s.i = at
			return false
		}
		s.take()
	}
	if name == "*" && s.peek() == '*' {
		s.i = at
		return false
	}
	return true
}

// function reads a function and its argument (section 3.3.2.4); angles are in degrees.
func (s *scanner) function() float64 {
	at := s.i
	for _, name := range [...]string{"ABS", "ACOS", "ASIN", "ATAN", "COS", "EXP", "FIX", "FUP", "LN", "ROUND", "SIN", "SQRT", "TAN"} {
		if !s.operator(name) {
			continue
		}
		if s.peek() != '[' {
			s.fail(BadExpression, s.i, name+" without [ after it", "write "+name+"[value]")
			return 0
		}
		v := s.real()
		if name == "ATAN" {
			return s.atan(v)
		}
		return s.apply(name, at, v)
	}
	s.fail(BadNumber, at, "a value is missing here", "write a number, a #parameter, an [expression] or a function; functions are ABS ACOS ASIN ATAN COS EXP FIX FUP LN ROUND SIN SQRT TAN")
	return 0
}

// atan reads the second half of ATAN[y]/[x].
func (s *scanner) atan(y float64) float64 {
	at := s.i
	if !s.ok() {
		return 0
	}
	if s.peek() != '/' {
		s.fail(BadExpression, s.i, "ATAN wants two values", "write ATAN[y]/[x]")
		return 0
	}
	s.take()
	if s.peek() != '[' {
		s.fail(BadExpression, s.i, "ATAN wants two values", "write ATAN[y]/[x]")
		return 0
	}
	x := s.real()
	if x == 0 && y == 0 && s.ok() {
		s.fail(BadValue, at, "ATAN of two zeros has no direction", "look at the arguments")
		return 0
	}
	return s.check(at, math.Atan2(y, x)*180/math.Pi)
}

// apply works a function out.
func (s *scanner) apply(name string, at int, v float64) float64 {
	if !s.ok() {
		return 0
	}
	const rad = math.Pi / 180
	bad := false
	switch name {
	case "ABS":
		v = math.Abs(v)
	case "ACOS":
		bad, v = v < -1 || v > 1, math.Acos(v)/rad
	case "ASIN":
		bad, v = v < -1 || v > 1, math.Asin(v)/rad
	case "COS":
		v = math.Cos(v * rad)
	case "EXP":
		v = math.Exp(v)
	case "FIX":
		v = math.Floor(v)
	case "FUP":
		v = math.Ceil(v)
	case "LN":
		bad, v = v <= 0, math.Log(v)
	case "ROUND":
		v = math.Round(v)
	case "SIN":
		v = math.Sin(v * rad)
	case "SQRT":
		bad, v = v < 0, math.Sqrt(v)
	case "TAN":
		v = math.Tan(v * rad)
	}
	if bad {
		s.fail(BadValue, at, name+" of a value it has no answer for", "look at the argument")
		return 0
	}
	return s.check(at, v)
}
