package bridge

import (
	"slices"
	"strings"
	"sync"

	"spotjig/cam/machine"
	"spotjig/layout"
	"spotjig/layout/job"
)

// Group is a part of the form.
type Group struct {
	Title  string  `json:"title"`
	Hint   string  `json:"hint"`
	Folds  bool    `json:"folds"`  // it can be folded away
	Folded bool    `json:"folded"` // it is folded away to begin with
	Fields []Field `json:"fields"`
}

// Field is one value of the job file in the form.
type Field struct {
	Path    string   `json:"path"` // as the job file has it: "table.length"
	Label   string   `json:"label"`
	Kind    string   `json:"kind"`    // "text", "one" of Options, or "some" of them
	Values  []string `json:"values"`  // as written in the file; none when the key is not there
	Options []Option `json:"options"` // the choices; of a text, suggestions
	Hint    string   `json:"hint"`    // limits and default
	Echo    string   `json:"echo"`    // a length as it was understood
	Faults  []Fault  `json:"faults"`
}

// Option is one value to choose.
type Option struct {
	Value string `json:"value"`
	Label string `json:"label"`
}

// The kinds of field.
const (
	kindText = "text"
	kindOne  = "one"
	kindSome = "some"
)

// row is a field of the form: its path and what a person calls it.
type row struct{ path, label string }

// fold says when a part of the form is folded away to begin with.
type fold int

const (
	open   fold = iota
	empty       // while nothing of it is filled in
	always      // until it is asked for
)

// parts are the groups of the form, in the order in which a fitter learns the answers.
var parts = []struct {
	title, hint string
	fold        fold
	rows        []row
}{
	{"Table", "Measure the playing surface from cushion nose to cushion nose, at nose height. Write lengths as you read them: 2541, 100 in, 8 ft 4 in, 46 1/2\".", open, []row{
		{"name", "Name of the job"}, {"date", "Date"}, {"table.size", "Table as sold"}, {"table.length", "Length"}, {"table.width", "Width"},
		{"table.measured", "Measured"}}},
	{"Survey", "Instead of length and width: what you read, with left and right seen from the head end. Leave out what was not taken.", empty, []row{
		{"survey.length_left", "Left side"}, {"survey.length_right", "Right side"}, {"survey.width_head", "Width at the head"},
		{"survey.width_middle", "Width in the middle"}, {"survey.width_foot", "Width at the foot"},
		{"survey.diagonal_left_head", "Diagonal, left at the head"}, {"survey.diagonal_right_head", "Diagonal, right at the head"},
		{"survey.side_station", "Lengths are read this far from the side noses"}, {"survey.width_station", "Widths are read this far from the end noses"},
		{"survey.diagonal_station", "Diagonals start this far from the end noses"}, {"survey.gap_head", "Head nose off a string"},
		{"survey.gap_foot", "Foot nose off a string"}, {"survey.gap_left", "Left nose off a string"}, {"survey.gap_right", "Right nose off a string"},
		{"survey.resolution", "The tape reads to, plus or minus"}}},
	{"Games", "", open, []row{
		{"games", "Games to mark"}, {"choices.baulk_line", "Baulk line"}, {"choices.d", "Radius of the D"}, {"choices.black", "Black spot"},
		{"balls.diameter", "Balls, diameter"}, {"balls.reds", "Reds"}, {"balls.rack_wall", "Wall of the triangle"}}},
	{"Template, sheet and machine", "Only for making the template; marks and tape card do without.", always, []row{
		{"jig.for", "Template for"}, {"jig.spots", "Spots"}, {"jig.rack", "Rack"}, {"jig.tolerance", "Tolerance of a mark"},
		{"material.kind", "Kind of sheet"}, {"material.sold", "Thickness as sold"}, {"material.thickness", "Thickness as measured"},
		{"material.kerf", "Kerf"}, {"machine.like", "Machine"}}},
}

// keysByPath are what the readers of a job say of its keys, asked once.
var keysByPath = sync.OnceValue(func() map[string]job.Key {
	out := map[string]job.Key{}
	for _, k := range append(job.Keys(), machine.Keys()...) {
		out[k.Path] = k
	}
	return out
})

// form fills the form in from a job's text.
func form(text string, found []Fault) []Group {
	keys, values := keysByPath(), job.Given([]byte(text))
	out := []Group{}
	for _, p := range parts {
		g := Group{Title: p.title, Hint: p.hint, Folds: p.fold != open, Folded: p.fold != open, Fields: []Field{}}
		for _, r := range p.rows {
			f := field(values, r, keys[r.path], found)
			g.Folded = g.Folded && (p.fold == always || len(f.Values) == 0)
			g.Fields = append(g.Fields, f)
		}
		out = append(out, g)
	}
	return out
}

// field fills one field in.
func field(values job.Values, r row, k job.Key, found []Fault) Field {
	f := Field{Path: r.path, Label: r.label, Kind: kindText, Options: []Option{}, Faults: []Fault{}}
	if word := values.At("machine"); r.path == "machine.like" && word != nil {
		f.Path = "machine" // "machine: NAME" says the same
	}
	f.Values = append([]string{}, values.At(f.Path)...)
	f.Hint = k.Limits
	if k.Default != "" {
		f.Hint = strings.TrimPrefix(f.Hint+"; default "+k.Default, "; ")
	}
	switch {
	case r.path == "games":
		f.Kind, f.Hint = kindSome, ""
	case len(k.Values) > 0:
		f.Kind = kindOne
	}
	for _, v := range k.Values {
		f.Options = append(f.Options, Option{v, v})
	}
	f.Options = append(f.Options, offers()[r.path]...)
	if k.Form == "length" && len(f.Values) == 1 {
		if v, err := job.ParseLength(f.Values[0]); err == nil && v >= 0 {
			f.Echo = job.Repeated(f.Values[0], f.Values[0])
		}
	}
	for _, p := range found {
		if belongs(p.Field, f.Path) {
			f.Faults = append(f.Faults, p)
		}
	}
	return f
}

// offers are the known names for fields that take a name, listed once.
var offers = sync.OnceValue(func() map[string][]Option {
	out := map[string][]Option{}
	for _, g := range layout.Games() {
		out["games"] = append(out["games"], Option{g.ID, g.Name})
	}
	for _, s := range job.Sizes() {
		out["table.size"] = append(out["table.size"], Option{s.Name, s.Name})
	}
	for _, n := range machine.ProfileNames() {
		out["machine.like"] = append(out["machine.like"], Option{n, n})
	}
	return out
})

// Change is Look with one value of the file changed, or removed if there are no values. A
// change that cannot be made leaves the text as it was and says why.
func Change(text, path string, values []string, narrow bool) State {
	var out []byte
	var err error
	if path == "games" {
		out, err = job.SetList([]byte(text), path, values)
	} else {
		value := strings.Join(values[:min(1, len(values))], "")
		out, err = job.SetText([]byte(text), path, strings.TrimSpace(value))
	}
	if err != nil {
		s := Look(text, narrow)
		s.Faults = slices.Concat(faultsOf(err), s.Faults)
		return s
	}
	return Look(string(out), narrow)
}
