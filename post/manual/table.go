package manual

import (
	_ "embed"
	"path"
	"slices"
	"strings"

	"spotjig/layout/problem"
)

// What people need to know beyond what the code knows; each file's head says its columns.
var (
	//go:embed keys.txt
	keysText string
	//go:embed checks.txt
	checksText string
	//go:embed words.txt
	wordsText string
)

// rows reads a table of names and their meaning.
func rows(kind Kind, text string) []Entry {
	var out []Entry
	for _, row := range problem.Rows(text, 2) {
		out = append(out, Entry{Kind: kind, Names: strings.Split(row[0], ", "), Text: row[1]})
	}
	return out
}

// keyRow is what people need to know of the keys that a pattern stands for.
type keyRow struct {
	patterns           []string // as segments writes them
	def, example, text string
}

// keyTable is keys.txt.
type keyTable []keyRow

func keyRows() keyTable {
	var out keyTable
	for _, row := range problem.Rows(keysText, 4) {
		out = append(out, keyRow{patterns: strings.Split(segments(row[0]), ", "), def: row[1], example: row[2], text: row[3]})
	}
	return out
}

// of is the first row for a key; an empty one when there is none.
func (t keyTable) of(key string) keyRow {
	key = segments(key)
	i := slices.IndexFunc(t, func(r keyRow) bool {
		return slices.ContainsFunc(r.patterns, func(p string) bool { return stands(p, key) })
	})
	if i < 0 {
		return keyRow{}
	}
	return t[i]
}

// stands tells whether a pattern stands for a key: "*" for any one name.
func stands(pattern, key string) bool {
	ok, err := path.Match(pattern, key)
	return ok && err == nil
}

// segments writes keys with a slash between their names, as path.Match wants them. Work
// offsets such as G59.1 have a point in their name.
func segments(keys string) string {
	return strings.NewReplacer("59.1", "59,1", "59.2", "59,2", "59.3", "59,3", ".", "/", "[]", "()").Replace(keys)
}
