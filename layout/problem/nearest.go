package problem

import (
	"sort"
	"strings"
)

// nearMax: a suggestion may differ by a third of its letters, and by one in
// short words. Further off it would be a guess that sends people astray.
const nearMax = 3

// wordMax: longer words get no suggestion, which keeps the work bounded
// whatever a file holds.
const wordMax = 64

// Nearest returns the known name closest to word by edit distance, where a
// letter added, dropped, changed or two neighbours exchanged count one each,
// and case, blanks, "-" and "_" count nothing. It gives "" when none is close.
// Ties go to the name that sorts first.
func Nearest(word string, known []string) string {
	w := fold(word)
	if len(w) == 0 || len(w) > wordMax {
		return ""
	}
	sorted := append([]string(nil), known...)
	sort.Strings(sorted)
	best, bestDist := "", 1+max(1, min(nearMax, len(w)/3))
	for _, k := range sorted {
		f := fold(k)
		if len(f) > wordMax {
			continue
		}
		if d := distance(w, f); d < bestDist {
			best, bestDist = k, d
		}
	}
	return best
}

// fold drops what people get wrong without meaning another word.
func fold(s string) []rune {
	if len(s) > 4*wordMax {
		s = s[:4*wordMax]
	}
	plain := strings.NewReplacer("-", "", "_", "", " ", "").Replace(strings.ToLower(s))
	return []rune(strings.NewReplacer("8ball", "eightball", "6red", "sixred", "3cushion", "threecushion").Replace(plain))
}

// distance is the optimal string alignment distance (edits and exchanges of
// neighbours), by the usual table of prefixes.
func distance(a, b []rune) int {
	rows := make([][]int, len(a)+1)
	for i := range rows {
		rows[i] = make([]int, len(b)+1)
		rows[i][0] = i
	}
	for j := range rows[0] {
		rows[0][j] = j
	}
	for i := 1; i <= len(a); i++ {
		for j := 1; j <= len(b); j++ {
			cost := 1
			if a[i-1] == b[j-1] {
				cost = 0
			}
			d := min(rows[i-1][j]+1, rows[i][j-1]+1, rows[i-1][j-1]+cost)
			if i > 1 && j > 1 && a[i-1] == b[j-2] && a[i-2] == b[j-1] {
				d = min(d, rows[i-2][j-2]+1)
			}
			rows[i][j] = d
		}
	}
	return rows[len(a)][len(b)]
}

// DidYouMean returns the sentence that follows a name we do not know: the
// nearest known name, or all of them when none is near. It is "" when there
// are no known names.
func DidYouMean(word string, known []string) string {
	if n := Nearest(word, known); n != "" {
		return `did you mean "` + n + `"?`
	}
	if len(known) == 0 {
		return ""
	}
	return "known: " + strings.Join(known, ", ")
}
