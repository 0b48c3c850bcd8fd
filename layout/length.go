package layout

import (
	"math"
	"strconv"
)

// mmPerInch is exact: the international inch of 1959.
const mmPerInch = 25.4

// MM prints a length for people, to 0.1 mm: "524.3 mm". Half a tenth goes away
// from zero, so that 57.15 mm, which no float64 holds, is 57.2 mm.
func MM(v float64) string { return fixedDecimals(math.Round(micro(v)*10)/10, 1) + " mm" }

// Inches prints a length for people to the nearest 1/32 in: "20 5/8 in".
func Inches(v float64) string {
	n := int64(math.Round(v / mmPerInch * 32))
	sign := ""
	if n < 0 {
		sign, n = "-", -n
	}
	whole, num, den := n/32, n%32, int64(32)
	for num > 0 && num%2 == 0 {
		num, den = num/2, den/2
	}
	frac := strconv.FormatInt(num, 10) + "/" + strconv.FormatInt(den, 10)
	switch {
	case num == 0:
		return sign + strconv.FormatInt(whole, 10) + " in"
	case whole == 0:
		return sign + frac + " in"
	}
	return sign + strconv.FormatInt(whole, 10) + " " + frac + " in"
}

// Length prints a length both ways: "524.3 mm (20 5/8 in)".
func Length(v float64) string { return MM(v) + " (" + Inches(v) + ")" }

// fixedDecimals prints a number with that many decimals and never as "-0".
func fixedDecimals(v float64, decimals int) string {
	s := strconv.FormatFloat(v, 'f', decimals, 64)
	if s[0] == '-' {
		for _, c := range s[1:] {
			if c != '0' && c != '.' {
				return s
			}
		}
		return s[1:]
	}
	return s
}
