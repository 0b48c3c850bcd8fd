// Package figure prints figures for people: lengths, times, counts and plain numbers,
// each in one form wherever it is shown. Rounding happens here and nowhere earlier. Files
// that machines read have printers of their own, and what reads a figure back to prove it
// must not use this package.
package figure

import (
	"fmt"
	"math"
	"regexp"
	"strconv"
	"strings"
	"sync"
)

// MMPerInch is exact: the international inch of 1959.
const MMPerInch = 25.4

// MM prints a length to 0.1 mm: "524.3 mm". Half a tenth goes away from zero, so
// that 57.15 mm, which no float64 holds, is 57.2 mm.
func MM(mm float64) string { return Tenth(mm) + " mm" }

// Tenth prints a length as MM does, without its unit: "524.3".
func Tenth(mm float64) string { return Fixed(math.Round(micro(mm)*10)/10, 1) }

// By prints two lengths at right angles: "2540.0 x 1270.0 mm".
func By(mm, across float64) string { return Tenth(mm) + " x " + MM(across) }

// Sheet prints a sheet's size, in mm, as stock is sold: "600 x 400 mm".
func Sheet(width, height float64) string { return Short(width, 1) + " x " + Short(height, 1) + " mm" }

// Between prints a range of lengths, both ends in it: "2537.0 to 2543.0 mm".
func Between(least, most float64) string { return Tenth(least) + " to " + MM(most) }

// Signed prints a difference in length with its sign: "+1.2 mm", "-0.4 mm", "0.0 mm".
func Signed(mm float64) string {
	s := MM(mm)
	if !strings.HasPrefix(s, "-") && s != "0.0 mm" {
		return "+" + s
	}
	return s
}

// Inches prints a length to the nearest 1/32 in: "20 5/8 in".
func Inches(mm float64) string {
	n := int64(math.Round(mm / MMPerInch * 32))
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
func Length(mm float64) string { return MM(mm) + " (" + Inches(mm) + ")" }

// Metres prints a long way, given in mm: "12.35 m", "37 m".
func Metres(mm float64) string { return Short(mm/1000, 2) + " m" }

// Time prints how long something takes, given in seconds: "8.3 s" below ten, "45 s",
// "2 min 05 s" and, from an hour, "1 h 15 min". A form is chosen by the rounded time,
// so that nothing reads 60 s or 60 min.
func Time(s float64) string {
	if tenths := math.Round(s * 10); tenths < 100 {
		return Short(tenths/10, 1) + " s"
	}
	sec := int64(math.Round(s))
	switch {
	case sec < 60:
		return strconv.FormatInt(sec, 10) + " s"
	case sec < 3600:
		return fmt.Sprintf("%d min %02d s", sec/60, sec%60)
	}
	min := int64(math.Round(s / 60))
	return fmt.Sprintf("%d h %02d min", min/60, min%60)
}

// Count prints how many: "1 piece", "3 pieces". The noun is given for one and takes
// an s for more.
func Count[N int | int64](n N, noun string) string {
	s := strconv.FormatInt(int64(n), 10) + " " + noun
	if n != 1 {
		s += "s"
	}
	return s
}

// Share prints a part of a whole in per cent: 0.873 is "87 %".
func Share(part float64) string { return Fixed(part*100, 0) + " %" }

// Fixed prints a number with that many decimals, never as "-0.0".
func Fixed(v float64, decimals int) string {
	s := strconv.FormatFloat(v, 'f', decimals, 64)
	if s[0] == '-' && strings.Trim(s, "-0.") == "" {
		return s[1:]
	}
	return s
}

// Short prints a number with that many decimals at most and no idle zeros: "4.85",
// "120", never "-0".
func Short(v float64, decimals int) string {
	s := Fixed(v, decimals)
	if strings.Contains(s, ".") {
		s = strings.TrimRight(strings.TrimRight(s, "0"), ".")
	}
	return s
}

// micro takes off what floating point leaves below a millionth.
func micro(v float64) float64 { return math.Round(v*1e6) / 1e6 }

// lengths are lengths in text as this package prints them, to a tenth of a millimetre. What
// has its inches in front already comes first, and speeds, a sheet's thickness and a kerf, so
// that they are passed over; then a length in both units, two with one unit behind them (a sheet's
// sides too, which have no tenths), two tolerances, and one alone.
// A run in millimetres turns none.
var lengths = sync.OnceValue(func() *regexp.Regexp {
	return regexp.MustCompile(strings.ReplaceAll(`\bin\s+\([^()]*mm\)|N mm/(?:s|min)\b|\bmeasured,? N mm thick\b|\bsold as N mm|\bkerf\b[a-z ():,]* N mm`+
		`|(-?N mm) \((-?[0-9]+(?: [0-9]+/[0-9]+)? in|-?[0-9]+/[0-9]+ in)\)`+
		`|([0-9]+(?:\.[0-9])?)( x | to )([0-9]+(?:\.[0-9])?) mm\b|\+-(N), \+-(N) mm\b|(\+-|[+-]?)(N) mm\b`, "N", `[0-9]+\.[0-9]`))
})

// InchesFirst turns every length that is printed to a tenth of a millimetre so that the
// tape's inches come first and the millimetres behind them: "20 5/8 in (524.0 mm)". What is
// shorter than a tape's fractions tell is in thousandths: "0.039 in (1.0 mm)". What has more
// decimals or none stays, but for what is so long by so wide: it is set on machines and
// measured with calipers.
func InchesFirst(text string) string {
	return lengths().ReplaceAllStringFunc(text, func(found string) string {
		m := lengths().FindStringSubmatch(found)
		switch {
		case m[1] != "":
			return m[2] + " (" + m[1] + ")"
		case m[4] != "":
			return bare(m[3]) + m[4] + inch(m[5]) + " (" + m[3] + m[4] + m[5] + " mm)"
		case m[6] != "":
			return "+-" + bare(m[6]) + ", +-" + inch(m[7]) + " (" + m[6] + ", " + m[7] + " mm)"
		case m[8] == "+-":
			return "+-" + inch(m[9]) + " (" + m[9] + " mm)"
		case m[9] != "":
			return m[8] + inch(m[9]) + " (" + m[8] + m[9] + " mm)"
		}
		return found
	})
}

// tapeLeast is the shortest length that is told in the tape's fractions, mm: of less, a
// thirty-second would be too rough. Common practice.
const tapeLeast = MMPerInch / 4

// inch is a printed length, mm without a sign, in inches.
func inch(printed string) string {
	mm, err := strconv.ParseFloat(printed, 64)
	switch {
	case err != nil:
		panic("figure: internal error: " + printed + " is no length")
	case mm == 0 || mm >= tapeLeast:
		return Inches(mm)
	}
	return Fixed(mm/MMPerInch, 3) + " in"
}

// bare is inch without its unit.
func bare(printed string) string { return strings.TrimSuffix(inch(printed), " in") }

// YesNo is a yes or a no.
func YesNo(v bool) string {
	if v {
		return "yes"
	}
	return "no"
}
