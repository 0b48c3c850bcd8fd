package manual

import (
	"cmp"
	"encoding/json"
	"fmt"
	"io"
	"slices"
	"strings"

	"spotjig/cam/machine"
	"spotjig/layout"
	"spotjig/layout/job"
)

// SchemaNames are the files that WriteSchema knows.
func SchemaNames() []string { return []string{"job", "machine", "material"} }

// shape is a part of a schema.
type shape = map[string]any

// draft is the form of schema that editors of YAML know best.
const draft = "http://json-schema.org/draft-07/schema#"

// WriteSchema writes the JSON Schema of a job, machine or material file, from what the
// readers ask for. Every file that a reader takes is valid under it. What no schema can
// see is left to the reader: whether lengths go together, limits of a number in another
// unit than the usual, rules that hold for some machines only.
func WriteSchema(w io.Writer, name string) error {
	top := tree{}
	for _, k := range readKeys() {
		path := k.Path
		if name != "job" {
			var ok bool
			if path, ok = strings.CutPrefix(path, name+"."); !ok {
				continue
			}
		}
		top.add(keyNames(path), k)
	}
	s := top.object(keyRows())
	s["$schema"], s["title"] = draft, "spotjig "+name+" file"
	s["definitions"] = shape{
		"length": shape{"type": "string", "pattern": job.LengthPattern()},
		"line":   shape{"type": []string{"string", "number", "boolean", "null"}, "pattern": `^[^\x00-\x1F\x7F]*$`},
	}
	if name == "job" {
		s["required"] = []string{"games"}
	}
	e := json.NewEncoder(w)
	e.SetEscapeHTML(false)
	e.SetIndent("", "  ")
	return e.Encode(s)
}

// keyNames splits a path into the names of its keys, of which G59.1 is one.
func keyNames(path string) []string {
	names := strings.Split(segments(path), "/")
	for i, n := range names {
		names[i] = strings.NewReplacer(",", ".", "()", "").Replace(n)
	}
	return names
}

// tree is the keys of a section, in the order they are read.
type tree struct {
	names []string
	under map[string]*branch
}

// branch is a key with those under it.
type branch struct {
	key job.Key
	tree
}

func (t *tree) add(names []string, k job.Key) {
	if t.under == nil {
		t.under = map[string]*branch{}
	}
	b := t.under[names[0]]
	if b == nil {
		b = &branch{}
		t.under[names[0]] = b
		t.names = append(t.names, names[0])
	}
	if len(names) > 1 {
		b.add(names[1:], k)
		return
	}
	b.key = k
}

// object is the shape of a section.
func (t tree) object(table keyTable) shape {
	of := shape{}
	for _, name := range t.names {
		of[name] = t.under[name].shape(table)
	}
	return shape{"type": "object", "properties": of, "additionalProperties": false}
}

// shape is the schema of a key's value. The value may be missing: the reader then takes the
// default.
func (b *branch) shape(table keyTable) shape {
	k := b.key
	r := table.of(k.Path)
	s := shape{"anyOf": append(b.forms(table), shape{"type": "null"})}
	if k.Path == "games" {
		s = shape{"anyOf": b.forms(table)} // one at least is needed
	}
	about := []string{r.text}
	if k.Form != "keys" {
		about = append(about, strings.TrimSuffix(k.Form+": "+k.Limits, ": ")+".")
	}
	if def := cmp.Or(r.def, k.Default); def != "" {
		about = append(about, "Default: "+def+".")
	}
	s["description"] = strings.TrimSpace(strings.Join(about, " "))
	if r.example != "" && !strings.HasPrefix(r.example, "[") {
		s["examples"] = []string{r.example}
	}
	return s
}

// forms are the ways to write a key's value.
func (b *branch) forms(table keyTable) []any {
	k := b.key
	switch k.Form {
	case "keys":
		return b.section(table)
	case "list":
		item := any(b.object(table))
		if k.Path == "games" {
			item = oneOf(gameNames(), job.WordPattern)
			return []any{shape{"type": "array", "items": item, "minItems": 1, "maxItems": k.Most, "uniqueItems": true}, item}
		}
		return []any{shape{"type": "array", "items": item, "maxItems": k.Most}, item}
	case "words":
		return []any{shape{"type": "array", "maxItems": k.Most, "items": shape{"type": []string{"string", "number", "boolean"}}},
			text(`^ *(?:[^ \x00-\x1F\x7F]+ *)` + times(k.Most) + "$"), shape{"type": []string{"number", "boolean"}}}
	case "one of":
		return []any{oneOf(k.Values, job.WordPattern)}
	case "yes or no":
		return []any{shape{"type": "boolean"}, oneOf([]string{"yes", "no", "true", "false"}, func(known []string) string {
			return strings.ReplaceAll(job.WordPattern(known), " *", "")
		})}
	case "date":
		return []any{text("^ *(?:[0-9]{4}-[0-9]{2}-[0-9]{2} *)?$")}
	case "colour":
		return []any{text("^ *(?:#[0-9a-fA-F]{6} *)?$")}
	case "whole number":
		return []any{within("integer", k), text(job.NumberPattern(k.Units))}
	case "number":
		return []any{within("number", k), text(job.NumberPattern(k.Units))}
	case "length":
		forms := []any{within("number", k), ref("length")}
		if k.Each {
			k.Each = false
			item := shape{"anyOf": (&branch{key: k}).forms(table)}
			forms = append(forms, shape{"type": "object", "additionalProperties": item})
		}
		return forms
	case "speed":
		return []any{text(job.SpeedPattern(k.Units))}
	case "text", "position":
		return b.line()
	}
	switch {
	case strings.HasPrefix(k.Form, "power"):
		return []any{shape{"type": "number", "minimum": 0}, text(job.NumberPattern(k.Units))}
	case strings.HasPrefix(k.Form, "list of 2"):
		k.Form = "length"
		item := shape{"anyOf": (&branch{key: k}).forms(table)}
		return []any{shape{"type": "array", "items": item, "minItems": 2, "maxItems": 2}, shape{"type": "array", "maxItems": 0}}
	}
	panic("manual: internal error: no schema for a key of the form " + k.Form)
}

// times lets a part of a pattern stand up to most times. Go's patterns count to 1,000 only.
func times(most int) string {
	if most > 1000 {
		return "*"
	}
	return fmt.Sprintf("{0,%d}", most)
}

// section is a section of keys; a job's machine and material may be named instead, and
// the files of a set's own job bear any name.
func (b *branch) section(table keyTable) []any {
	switch b.key.Path {
	case "files":
		return []any{shape{"type": "object", "additionalProperties": shape{"type": []string{"string", "number", "boolean"}}}}
	case "machine":
		return append(named(machine.ProfileNames()), b.object(table))
	case "material":
		return append(named(machine.MaterialNames()), b.object(table))
	}
	return []any{b.object(table)}
}

// named is a built-in name or a file's.
func named(known []string) []any {
	return []any{oneOf(known, job.NamePattern), text(`\.[yY][aA]?[mM][lL]$`)}
}

// line is a text of one line; editors offer the names that there are.
func (b *branch) line() []any {
	s := shape{"allOf": []any{ref("line"), shape{"maxLength": b.key.Most}}}
	if b.key.Most == 0 {
		s = shape{"type": []string{"string", "number", "boolean"}, "pattern": `^[^\x00-\x08\x0E-\x1F\x7F]*$`}
	}
	switch b.key.Path {
	case "table.size":
		var names []string
		for _, size := range job.Sizes() {
			names = append(names, size.Name)
		}
		return []any{shape{"enum": names}, s}
	case "machine.like":
		return like(machine.ProfileNames())
	case "material.like":
		return like(machine.MaterialNames())
	}
	return []any{s}
}

// like is a built-in name, or nothing.
func like(known []string) []any { return []any{oneOf(known, job.NamePattern), text("^ *$")} }

// oneOf is one of a few words: editors offer them as they are, and a pattern takes what
// the reader takes for them.
func oneOf(known []string, pattern func([]string) string) shape {
	return shape{"anyOf": []any{shape{"enum": slices.Clone(known)}, text(pattern(known))}}
}

func text(pattern string) shape { return shape{"type": "string", "pattern": pattern} }

func ref(definition string) shape { return shape{"$ref": "#/definitions/" + definition} }

// within is a bare number inside a key's limits.
func within(kind string, k job.Key) shape {
	s := shape{"type": kind}
	if k.Within != nil {
		s["minimum"], s["maximum"] = k.Within.Min, k.Within.Max
	}
	return s
}

func gameNames() []string {
	var out []string
	for _, g := range layout.Games() {
		out = append(out, g.ID)
	}
	return out
}
