package dxf

import (
	"bufio"
	"errors"
	"fmt"
	"io"
	"math"
	"strconv"
	"strings"
)

// ErrValue is wrapped by the error of Write when a drawing holds something that
// may not stand in a DXF file: a number that is not finite or out of range, or
// a string with a control character.
var ErrValue = errors.New("not allowed in a drawing")

// lengthMax bounds every number: a kilometre is far outside any sheet.
const lengthMax = 1e6

// formatter writes group codes and values for the library, and mends what the
// library leaves out. It implements the library's format.Formatter. The first
// error stops all writing; Write looks at it once at the end.
//
// Numbers: six decimals, a hundredth of the last digit of a program; code 42 (bulge) twelve, because
// a bulge multiplies half a chord: 1e-12 of a metre is nothing.
type formatter struct {
	w   *bufio.Writer
	err error

	layer      bool // a layer that is not plotted: what lies on it is never cut
	dictionary bool // the next handle belongs to a DICTIONARY, which lacks its owner
	root       int  // handle of the root dictionary, 0 before it is seen
}

func (f *formatter) pair(code int, value string) {
	if f.err != nil {
		return
	}
	f.w.WriteString(strconv.Itoa(code))
	f.w.WriteByte('\n')
	f.w.WriteString(value)
	if err := f.w.WriteByte('\n'); err != nil {
		f.err = err
	}
}

// WriteString writes a string value; before $LUNITS, the $MEASUREMENT that the library
// does not know; and in the records of layers that are not to be cut, that they are not
// to be plotted (group 290 of LAYER, 0).
func (f *formatter) WriteString(code int, val string) {
	if strings.ContainsFunc(val, func(r rune) bool { return r < ' ' || r > '~' }) {
		f.fail(code, strconv.QuoteToASCII(val))
		return
	}
	if code == 9 && val == "$LUNITS" {
		f.pair(9, "$MEASUREMENT")
		f.pair(70, "1")
	}
	f.pair(code, val)
	switch {
	case code == 2:
		f.layer = val == string(Note) || val == string(Stock)
	case code == 6 && f.layer: // behind a layer's line type, which the library does not follow with it
		f.pair(290, "0")
		f.layer = false
	}
	f.dictionary = code == 0 && val == "DICTIONARY"
}

// WriteHex writes a handle; a dictionary's own is followed by its owner's.
func (f *formatter) WriteHex(code int, h int) {
	f.pair(code, strings.ToUpper(strconv.FormatInt(int64(h), 16)))
	if f.dictionary && code == 5 {
		f.pair(330, strings.ToUpper(strconv.FormatInt(int64(f.root), 16)))
		if f.root == 0 {
			f.root = h
		}
		f.dictionary = false
	}
}

// WriteInt writes a whole number.
func (f *formatter) WriteInt(code int, val int) { f.pair(code, strconv.Itoa(val)) }

// WriteFloat writes a number, or fails if it is not finite or beyond lengthMax.
func (f *formatter) WriteFloat(code int, val float64) {
	if math.IsNaN(val) || math.Abs(val) > lengthMax {
		f.fail(code, strconv.FormatFloat(val, 'g', -1, 64))
		return
	}
	places := 6
	if code == 42 {
		places = 12
	}
	f.pair(code, number(val, places))
}

func (f *formatter) fail(code int, val string) {
	if f.err == nil {
		f.err = fmt.Errorf("group %d: %s: %w", code, val, ErrValue)
	}
}

// number prints v with at most the given decimals, at least one, no exponent
// and no -0.
func number(v float64, places int) string {
	s := strings.TrimRight(strconv.FormatFloat(v, 'f', places, 64), "0")
	if strings.HasSuffix(s, ".") {
		s += "0"
	}
	if s == "-0.0" {
		return "0.0"
	}
	return s
}

// The rest of format.Formatter returns strings or buffers; no section asks for it.

// Reset does nothing: nothing is kept.
func (f *formatter) Reset() {}

// WriteTo writes nothing: all has gone to the writer already.
func (f *formatter) WriteTo(io.Writer) (int64, error) { return 0, f.err }

// SetPrecision does nothing: precision is fixed.
func (f *formatter) SetPrecision(int) {}

// Output returns nothing: all has gone to the writer already.
func (f *formatter) Output() string { return "" }

// String returns a pair as text.
func (f *formatter) String(code int, val string) string { return fmt.Sprintf("%d\n%s\n", code, val) }

// Hex returns a pair as text.
func (f *formatter) Hex(code int, h int) string { return fmt.Sprintf("%d\n%X\n", code, h) }

// Int returns a pair as text.
func (f *formatter) Int(code int, val int) string { return fmt.Sprintf("%d\n%d\n", code, val) }

// Float returns a pair as text.
func (f *formatter) Float(code int, val float64) string {
	return fmt.Sprintf("%d\n%s\n", code, number(val, 6))
}
