package problem

import "unicode"

// Unseen reports whether a character takes part in a text without being seen: it controls,
// turns the reading direction, parts lines, selects a variant or is a filler (Unicode
// Standard, section 5.21, default ignorable code points). Such a character stands in no
// text that the program takes or writes.
func Unseen(r rune) bool {
	return unicode.IsControl(r) || unicode.In(r, unicode.Cf, unicode.Zl, unicode.Zp, unicode.Other_Default_Ignorable_Code_Point, unicode.Variation_Selector)
}
