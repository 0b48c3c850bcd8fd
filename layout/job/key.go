package job

import (
	"regexp"
	"slices"
	"strings"

	"spotjig/layout/problem"
)

// Key is a key of a file as its reader asks for it.
type Key struct {
	Path    string   // "jig.marker.tip"; of each item of a list "house[].id"
	Form    string   // what is wanted: "length", "number", "yes or no", ...
	Limits  string   // "0.1 mm to 5 mm"; "" when the form says it all
	Values  []string // the words it may be; nil when it is not one of a few
	Default string   // what stands for it when it is not there; "" when nothing does

	// The same for programs. Whoever reads these judges no better than the reader.
	Within *Range   // of a number or a length in mm; nil: no limits that stand for every file
	Units  []string // that may follow a number, or must follow a speed
	Each   bool     // or a map of names to values of the same form
	Most   int      // characters of a text, items of a list; 0: as many as a file holds
}

// item is a place in a list, in a path.
var item = regexp.MustCompile(`\[\d+\]`)

// Noted has every key that is asked of f, and of the sections in it, noted in keys, the
// first time it is asked for.
func (f *Fields) Noted(keys *[]Key) *Fields {
	f.keys = keys
	return f
}

// Note tells of a key, by its name in this section, what its reader wants. A reader that
// asks for plain text and makes more of it says so first.
func (f *Fields) Note(k Key) {
	if f.keys == nil {
		return
	}
	k.Path = item.ReplaceAllString(f.path(k.Path), "[]")
	if !slices.ContainsFunc(*f.keys, func(o Key) bool { return o.Path == k.Path }) {
		*f.keys = append(*f.keys, k)
	}
}

// noteRange tells of a key whose value is within limits, printed by print.
func (f *Fields) noteRange(key, form string, r Range, print func(float64) string, units ...string) {
	k := Key{Path: key, Form: form, Limits: print(r.Min) + " to " + print(r.Max), Within: &r, Units: units}
	if r.Default >= r.Min && r.Default <= r.Max {
		k.Default = print(r.Default)
	}
	f.Note(k)
}

// everySection has each section and list of a job in it, so that reading it asks for
// every key there is.
const everySection = "{survey: {}, house: [{}], also_tables: [{}]}"

// Keys lists every key of a job file in the order it is read, by reading one. Those of
// the machine and the material are cam/machine's.
func Keys() []Key {
	sec, err := Parse("", []byte(everySection))
	if err != nil {
		panic("job: internal error: " + err.Error())
	}
	var keys []Key
	r := reader{top: Open(sec, new(problem.List)).Noted(&keys)}
	r.job()
	return keys
}

// withUnit prints numbers with the first of the units.
func withUnit(units []string) func(float64) string {
	return func(v float64) string {
		return strings.TrimSpace(plainNumber(v) + " " + strings.Join(units[:min(1, len(units))], ""))
	}
}
