package view

import (
	"fmt"
	"strings"
	"unicode"

	"spotjig/cam/jig"
)

// where finds what a check speaks of: the ids of pieces, marks and sheets that
// occur as words in its id and text. It returns the store ids to light up and
// the names for people, each once, in the order of the job.
func (sc *scene) where(c jig.Check) (ids, names []string) {
	text := " " + foldWords(c.ID+" "+c.Text) + " "
	has := func(word string) bool {
		w := foldWords(word)
		return w != "" && strings.Contains(text, " "+w+" ")
	}
	for i, p := range sc.set.Jig.Parts {
		if !has(p.ID) {
			continue
		}
		ids, names = append(ids, fmt.Sprintf("p%d", i)), append(names, clean(p.ID))
		if p.OnTable.Upright {
			ids = append(ids, fmt.Sprintf("u%d", i))
		}
	}
	for i, m := range sc.set.Marks {
		words := append([]string{m.ID, m.Name}, m.Also...)
		for _, w := range words {
			if len(w) > 1 && has(w) {
				ids, names = append(ids, fmt.Sprintf("m%d", i)), append(names, clean(m.Name))
				break
			}
		}
	}
	for _, s := range sc.set.Sheets {
		if w := fmt.Sprintf("sheet %d", s.N); has(w) {
			ids, names = append(ids, fmt.Sprintf("sheet%d", s.N)), append(names, w)
		}
	}
	return ids, names
}

// foldWords lowers a text and leaves letters, digits and inner hyphens, words
// parted by single spaces: "H2/d.1: too thin" becomes "h2 d 1 too thin".
func foldWords(s string) string {
	f := strings.FieldsFunc(strings.ToLower(clean(s)), func(r rune) bool {
		return !unicode.IsLetter(r) && !unicode.IsDigit(r) && r != '-'
	})
	for i := range f {
		f[i] = strings.Trim(f[i], "-")
	}
	return strings.Join(f, " ")
}
