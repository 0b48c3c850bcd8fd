package layout

import (
	"fmt"
	"math"
	"strconv"
	"strings"
	"unicode"

	"spotjig/layout/figure"
	"spotjig/layout/problem"
)

// mmPerInch is the inch that rules and readings are in.
const mmPerInch = figure.MMPerInch

// Positions of house marks are small expressions: fractions and multiples of L
// and W, numbers with a unit, + - * / and parentheses.
//
//	expr   = term { ("+" | "-") term }
//	term   = factor { ("*" | "/") factor }
//	factor = { "-" | "+" } ( number [ number "/" number ] [ unit ] [ inches ] | "L" | "W" | "(" expr ")" )
//	unit   = "mm" | "cm" | "m" | "in" | "\"" | "ft" | "'"
//
// Feet and inches may stand side by side, "8 ft 4 in"; "46 1/2 in" is one number. What comes out must be a length. A number without a unit is mm
// where a length is added or given ("L/4 + 10"), and a plain number where
// something is multiplied or divided.

const (
	exprRunesMax = 200 // longer is no position a fitter would write
	exprDepthMax = 20  // parentheses and signs inside one another
)

// expr is a position that depends on the table's length and width.
type expr func(l, w float64) float64

// quantity is a part of an expression with its dimension: 0 a plain number, 1 a
// length, 2 an area and so on.
type quantity struct {
	of  expr
	dim int
}

// parser reads one expression.
type parser struct {
	in    []rune
	pos   int
	depth int
	err   *problem.Problem
}

// parseExpr reads a position. A fault has its Col inside the expression,
// counted in runes from 1.
func parseExpr(s string) (expr, *problem.Problem) {
	p := &parser{in: []rune(s)}
	if len(p.in) > exprRunesMax {
		return nil, &problem.Problem{Col: 1, Code: "S020",
			Msg:  fmt.Sprintf("expression of %d characters; at most %d are read", len(p.in), exprRunesMax),
			Help: `write the position shorter, e.g. "L/4 + 10 mm"`}
	}
	q := p.sum()
	if p.err == nil && p.peek() != 0 {
		p.fail("S021", fmt.Sprintf("%q is not expected here", string(p.peek())),
			`use + - * / and parentheses between L, W and lengths, e.g. "W/6 + 10 mm"`)
	}
	if p.err == nil && q.dim != 1 && q.dim != 0 {
		p.pos = 0
		p.fail("S022", "the expression is "+dimName(q.dim)+", not a length",
			`multiply and divide by plain numbers only, e.g. "L*29/140.5"`)
	}
	if p.err != nil {
		return nil, p.err
	}
	return q.of, nil
}

// dimName says what a dimension is.
func dimName(dim int) string {
	switch dim {
	case 0:
		return "a plain number"
	case 1:
		return "a length"
	case 2:
		return "an area"
	}
	return fmt.Sprintf("a length to the power %d", dim)
}

// fail keeps the first fault, at the place the parser stands.
func (p *parser) fail(code, msg, help string) quantity {
	if p.err == nil {
		p.err = &problem.Problem{Col: p.pos + 1, Code: code, Msg: msg, Help: help}
	}
	p.pos = len(p.in)
	return quantity{of: func(_, _ float64) float64 { return 0 }, dim: 1}
}

// peek returns the next character that is not a blank, 0 at the end.
func (p *parser) peek() rune {
	for p.pos < len(p.in) && unicode.IsSpace(p.in[p.pos]) {
		p.pos++
	}
	if p.pos >= len(p.in) {
		return 0
	}
	return p.in[p.pos]
}

// sum reads terms with + and - between them.
func (p *parser) sum() quantity {
	a := p.product()
	for {
		op := p.peek()
		if op != '+' && op != '-' {
			return a
		}
		at := p.pos
		p.pos++
		b := p.product()
		if a.dim == 0 && b.dim == 1 || a.dim == 1 && b.dim == 0 {
			a.dim, b.dim = 1, 1 // a bare number is mm
		}
		if p.err == nil && a.dim != b.dim {
			p.pos = at
			return p.fail("S022", dimName(a.dim)+" and "+dimName(b.dim)+" do not add",
				"add lengths to lengths")
		}
		x, y, sign := a.of, b.of, 1.0
		if op == '-' {
			sign = -1
		}
		a.of = func(l, w float64) float64 { return x(l, w) + sign*y(l, w) }
	}
}

// product reads factors with * and / between them.
func (p *parser) product() quantity {
	a := p.factor()
	for {
		op := p.peek()
		if op != '*' && op != '/' {
			return a
		}
		p.pos++
		p.peek()
		at := p.pos
		b := p.factor()
		x, y := a.of, b.of
		if op == '*' {
			a = quantity{func(l, w float64) float64 { return x(l, w) * y(l, w) }, a.dim + b.dim}
			continue
		}
		if p.err == nil && b.dim == 0 && y(0, 0) == 0 {
			p.pos = at
			return p.fail("S023", "division by 0", "divide by a number above 0")
		}
		a = quantity{func(l, w float64) float64 { return x(l, w) / y(l, w) }, a.dim - b.dim}
	}
}

// factor reads a signed number, L, W or something in parentheses.
func (p *parser) factor() quantity {
	p.depth++
	defer func() { p.depth-- }()
	if p.depth > exprDepthMax {
		return p.fail("S020", fmt.Sprintf("parentheses or signs nest deeper than %d", exprDepthMax), "write the position simpler")
	}
	switch c := p.peek(); {
	case c == '-' || c == '+':
		p.pos++
		q := p.factor()
		if c == '-' {
			of := q.of
			q.of = func(l, w float64) float64 { return -of(l, w) }
		}
		return q
	case c == '(':
		p.pos++
		q := p.sum()
		if p.err == nil && p.peek() != ')' {
			return p.fail("S021", "a parenthesis is not closed", `add ")"`)
		}
		p.pos = min(p.pos+1, len(p.in)) // already at the end after a fault
		return q
	case c >= '0' && c <= '9' || c == '.':
		return p.number()
	case unicode.IsLetter(c):
		return p.name()
	case c == 0:
		return p.fail("S021", "the expression ends where a length is expected", `e.g. "L/4" or "W/6 + 10 mm"`)
	default:
		return p.fail("S021", fmt.Sprintf("%q is not expected here", string(c)),
			`use + - * / and parentheses between L, W and lengths, e.g. "W/6 + 10 mm"`)
	}
}

// name reads L or W.
func (p *parser) name() quantity {
	at := p.pos
	word := p.word()
	switch strings.ToUpper(word) {
	case "L":
		return quantity{func(l, _ float64) float64 { return l }, 1}
	case "W":
		return quantity{func(_, w float64) float64 { return w }, 1}
	}
	p.pos = at
	return p.fail("S024", fmt.Sprintf("unknown name %q", word), "L is the length and W the width of the playing surface")
}

// word reads letters.
func (p *parser) word() string {
	at := p.pos
	for p.pos < len(p.in) && unicode.IsLetter(p.in[p.pos]) {
		p.pos++
	}
	return string(p.in[at:p.pos])
}

// digits reads a decimal number without sign or exponent.
func (p *parser) digits() (float64, bool) {
	p.peek()
	at := p.pos
	for p.pos < len(p.in) && (p.in[p.pos] >= '0' && p.in[p.pos] <= '9' || p.in[p.pos] == '.') {
		p.pos++
	}
	v, err := strconv.ParseFloat(string(p.in[at:p.pos]), 64)
	if err != nil || math.IsInf(v, 0) {
		p.pos = at
		return 0, false
	}
	return v, true
}

// number reads a number, a mixed number, and the unit behind it.
func (p *parser) number() quantity {
	v, ok := p.digits()
	if !ok {
		return p.fail("S021", "a number is not written plainly", `write digits with at most one point, e.g. "12.5"`)
	}
	if c := p.peek(); c >= '0' && c <= '9' { // 46 1/2 in
		num, _ := p.digits()
		if p.peek() != '/' {
			return p.fail("S021", "two numbers stand side by side", `write a fraction as "46 1/2 in" or put an operator between them`)
		}
		p.pos++
		den, ok := p.digits()
		if !ok || den == 0 {
			return p.fail("S023", "a fraction needs a number above 0 under its line", `e.g. "46 1/2 in"`)
		}
		v += num / den
	}
	mm, unit := p.unit()
	if p.err != nil || !unit {
		return quantity{func(_, _ float64) float64 { return v }, 0}
	}
	v *= mm
	if c := p.peek(); mm == 12*mmPerInch && c >= '0' && c <= '9' { // the inches after feet
		rest := p.number()
		if p.err == nil && rest.dim != 1 {
			return p.fail("S021", "a number without a unit follows feet", `e.g. "8 ft 4 in"`)
		}
		v += rest.of(0, 0)
	}
	return quantity{func(_, _ float64) float64 { return v }, 1}
}

// unit reads a unit of length, if one stands here, and gives it in mm.
func (p *parser) unit() (mm float64, ok bool) {
	switch p.peek() {
	case '"', '″':
		p.pos++
		return mmPerInch, true
	case '\'', '′':
		p.pos++
		return 12 * mmPerInch, true
	}
	at := p.pos
	word := p.word()
	switch strings.ToLower(word) {
	case "mm":
		return 1, true
	case "cm":
		return 10, true
	case "m":
		return 1000, true
	case "in", "inch", "inches":
		return mmPerInch, true
	case "ft", "foot", "feet":
		return 12 * mmPerInch, true
	case "":
		return 0, false
	}
	p.pos = at
	if u := strings.ToUpper(word); u == "L" || u == "W" {
		p.fail("S021", "a number stands beside "+u, "write the operator: 2*"+u+" or "+u+"/4")
		return 0, false
	}
	p.fail("S024", fmt.Sprintf("unknown unit %q", word), "units are mm, cm, m, in and ft")
	return 0, false
}
