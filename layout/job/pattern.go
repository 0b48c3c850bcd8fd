package job

import (
	"regexp"
	"slices"
	"strings"
	"unicode"
)

// Patterns that a text of a key must match, for those who check a file without reading
// it: schemas. Each lets through whatever the reader takes, and may let through a little
// more, which the reader then refuses. They are regular expressions that ECMA-262 and Go
// understand alike, anchored at both ends.

// blanks are those that the readers skip.
const blanks = `[ \t\x{a0}\x{2009}\x{202f}]*`

// plainPattern writes a pattern with its blanks as they are: \x{...} is Go's alone.
func plainPattern(s string) string {
	return strings.NewReplacer(`\x{a0}`, "\u00a0", `\x{2009}`, "\u2009", `\x{202f}`, "\u202f").Replace(s)
}

// anyCase matches a text in capitals, small letters or both.
func anyCase(s string) string {
	var b strings.Builder
	for _, r := range s {
		if lower, upper := unicode.ToLower(r), unicode.ToUpper(r); lower != upper {
			b.WriteString("[" + string(lower) + string(upper) + "]")
			continue
		}
		b.WriteString(regexp.QuoteMeta(string(r)))
	}
	return b.String()
}

// anyOf matches one of several patterns, the longest first.
func anyOf(patterns []string) string {
	list := slices.Clone(patterns)
	slices.SortStableFunc(list, func(a, b string) int { return len(b) - len(a) })
	return "(?:" + strings.Join(list, "|") + ")"
}

// decimalPattern is digits with a point or without.
const decimalPattern = `(?:[0-9]+\.?[0-9]*|\.[0-9]+)`

// NumberPattern matches what ParseNumber reads.
func NumberPattern(units []string) string {
	unit := ""
	if len(units) > 0 {
		var list []string
		for _, u := range units {
			list = append(list, regexp.QuoteMeta(u))
		}
		unit = anyOf(list) + "?" + blanks
	}
	return plainPattern("^" + blanks + "[-+]?" + decimalPattern + blanks + unit + "$")
}

// LengthPattern matches what ParseLength reads.
func LengthPattern() string {
	var words []string
	for _, u := range units {
		for _, name := range strings.Fields(u.names) {
			if name != "'" && name != `"` {
				words = append(words, anyCase(name))
			}
		}
	}
	unit := `(?:` + anyOf(words) + `\.?|['′’‘]{1,2}|["″”“])`
	fraction := `(?:[0-9]+[/⁄][0-9]+|[¼½¾⅛⅜⅝⅞])`
	number := `(?:` + decimalPattern + `(?:[-−]?` + blanks + fraction + `)?|` + fraction + `)`
	return plainPattern("^" + blanks + "[-+−]?" + blanks + number + blanks +
		"(?:" + unit + blanks + "(?:[-−]?" + blanks + number + blanks + unit + blanks + ")?)?$")
}

// SpeedPattern matches a number with one of the units, which must be there; blanks may
// stand anywhere.
func SpeedPattern(units []string) string {
	var list []string
	for _, u := range units {
		var letters []string
		for _, r := range u {
			letters = append(letters, anyCase(string(r)))
		}
		list = append(list, strings.Join(letters, " *"))
	}
	return "^ *[-+]? *[0-9. ]*[0-9][0-9. ]*" + anyOf(list) + " *$"
}

// WordPattern matches one of the words, in any case, blanks around it.
func WordPattern(known []string) string {
	var list []string
	for _, k := range known {
		list = append(list, anyCase(k))
	}
	return "^ *" + anyOf(list) + " *$"
}

// NamePattern matches one of the names, in any case, with blanks, hyphens and bars
// wherever people put them.
func NamePattern(known []string) string {
	var list []string
	for _, k := range known {
		var letters []string
		for _, r := range k {
			if !strings.ContainsRune(" -_", r) {
				letters = append(letters, anyCase(string(r)))
			}
		}
		list = append(list, strings.Join(letters, "[ _-]*"))
	}
	return "^[ _-]*" + anyOf(list) + "[ _-]*$"
}
