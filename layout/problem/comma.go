package problem

import "strings"

// decimalPoint returns a number as the user wrote it, with the point that belongs
// where a decimal comma stands: "448,5 mm" gives "448.5 mm", "2.540,5" gives
// "2540.5". ok is false when no comma stands between two digits. Which of the two
// a comma before three digits means nobody can tell ("2,540"), so it is only ever
// shown as a remedy, never read.
func decimalPoint(text string) (fixed string, ok bool) {
	at := -1
	for i := 1; i < len(text)-1; i++ {
		if text[i] == ',' && isDigit(text[i-1]) && isDigit(text[i+1]) {
			at = i
		}
	}
	if at < 0 {
		return text, false
	}
	whole := strings.NewReplacer(",", "", ".", "").Replace(text[:at])
	return whole + "." + text[at+1:], true
}

// CommaHelp returns the remedy for a number with a comma in it, with the user's own
// number; "" when no comma stands between two digits.
func CommaHelp(text string) string {
	fixed, ok := decimalPoint(text)
	if !ok {
		return ""
	}
	return "write a decimal point, and no thousands separator: " + fixed
}

func isDigit(c byte) bool { return '0' <= c && c <= '9' }
