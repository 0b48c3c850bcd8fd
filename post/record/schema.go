package record

import (
	"encoding/json"
	"io"
	"reflect"
	"strings"
)

// shape is a part of a schema.
type shape = map[string]any

// Bounds that a reader may count on.
const (
	listMax   = 1_000_000
	textMax   = 10_000
	numberMax = 1e12
)

// WriteSchema writes the JSON Schema of record.json, from the fields that Write writes.
func WriteSchema(w io.Writer) error {
	s := shapeOf(reflect.TypeFor[Record](), coarse)
	s["$schema"] = "http://json-schema.org/draft-07/schema#"
	s["title"] = "record.json of spotjig"
	s["description"] = "Lengths in mm to 1e-6, frames as README.md has them."
	s["properties"].(shape)["format"] = shape{"const": Format}
	for path, text := range about() {
		shapeAt(s, strings.Split(path, "."))["description"] = text
	}
	e := json.NewEncoder(w)
	e.SetEscapeHTML(false)
	e.SetIndent("", "  ")
	return e.Encode(s)
}

// about explains the keys whose names do not explain them.
func about() map[string]string {
	return map[string]string{
		"format":               "the number rises when keys change",
		"version":              "stamp of the program that made the folder: version and commit",
		"job":                  "as resolved, every default filled in",
		"machine":              "as resolved; speeds in mm/min",
		"material":             "as resolved",
		"marks":                "table frame; what does not apply to a kind is null",
		"marks.kind":           "spot, line, arc or outline",
		"marks.also":           "ids of the marks that are this one, of other games",
		"marks.points":         "of an outline: [x, y] each",
		"parts":                "the pieces, part frame, at nominal size",
		"parts.scale":          "multiplies the part about its origin in drawing and program only",
		"parts.sheet":          "0: on no sheet",
		"parts.outline":        "[x, y, bulge] each; bulge is tan(sweep/4) of the segment that begins there, counter-clockwise positive",
		"parts.openings.kind":  "spot, slot, pair (a slot with a spot at each end, named by its id), arcslot, fin, socket, finger or hang: a spot has x, y, r; an arcslot cx, cy, r, start_deg, end_deg, width; the others x1, y1, x2, y2, width",
		"parts.openings.mark":  "the mark it is for, or null",
		"parts.on_sheet":       "carries part frame to sheet frame: turned counter-clockwise, then moved",
		"parts.on_table":       "carries part frame to table frame; of an upright piece +x runs along turn_deg in plan, +y is up",
		"sheets":               "sheet frame",
		"sheets.files":         "null: with process shop there are no programs, and a sheet that is held back has no drawing",
		"sheets.others":        "where several jobs share sheets, the other jobs' pieces on this one",
		"sheets.bounds":        "of the cut with its lead-ins",
		"sheets.time_s":        "an estimate",
		"checks":               "every one that was made, but the record's own",
		"checks.verdict":       "pass, warn or fail",
		"budgets":              "of every mark's error, mm: worst is the sum of the terms' worsts, likely the root of the sum of their likelies' squares",
		"budgets.method":       "template or reversal",
		"budgets.terms.common": "the same in every piece, so that pieces add",
		"serves":               "which tables: the range of playing-surface length, mm",
		"serves.settings":      "where end fins stand on shoes: leaves of 0.5 mm behind them, by measured length; three where the table is as long as the job's",
		"serves.settings.rows": "from and to are both inside; left is how far it leaves any of the marks from its rule, mm",
		"files":                "every file of the folder but record.json and SHA256SUMS; where several jobs share sheets, those of the sheets and this job's",
	}
}

// shapeAt is the shape under a path of keys; the path does not name a list's items, nor the
// choice between a value and null.
func shapeAt(s shape, path []string) shape {
	if any, ok := s["anyOf"].([]any); ok {
		s = any[0].(shape)
	}
	if len(path) == 0 {
		return s
	}
	if items, ok := s["items"].(shape); ok {
		s = items
	}
	return shapeAt(s["properties"].(shape)[path[0]].(shape), path[1:])
}

// shapeOf is the shape of a type's values, as plain has them.
func shapeOf(t reflect.Type, g grain) shape {
	switch t.Kind() {
	case reflect.Struct:
		return objectShape(t, g)
	case reflect.Slice:
		return shape{"type": "array", "items": shapeOf(t.Elem(), g), "maxItems": listMax}
	case reflect.Array:
		return shape{"type": "array", "items": shapeOf(t.Elem(), g), "minItems": t.Len(), "maxItems": t.Len()}
	case reflect.Map:
		return shape{"type": "object", "patternProperties": shape{"^[-+]?[0-9]+$": shapeOf(t.Elem(), g)}, "additionalProperties": false}
	case reflect.Pointer:
		return shape{"anyOf": []any{shapeOf(t.Elem(), g), shape{"type": "null"}}}
	case reflect.String:
		return shape{"type": "string", "maxLength": textMax}
	case reflect.Bool:
		return shape{"type": "boolean"}
	case reflect.Int:
		return shape{"type": "integer", "minimum": -1 << 31, "maximum": 1<<31 - 1}
	case reflect.Float64:
		number := shape{"type": "number", "minimum": -numberMax, "maximum": numberMax}
		if g == resolved {
			return shape{"anyOf": []any{number, shape{"enum": []string{unbounded, "-" + unbounded}}}}
		}
		return number
	}
	panic("record: internal error: no shape for " + t.String())
}

// objectShape is a struct's. Keys of the sections as resolved may be missing: a record of
// an earlier version has fewer.
func objectShape(t reflect.Type, g grain) shape {
	if t == reflect.TypeFor[Vertex]() {
		n := t.NumField()
		return shape{"type": "array", "items": shapeOf(t.Field(0).Type, coarse), "minItems": n, "maxItems": n}
	}
	of, needed := shape{}, []string{}
	for _, f := range fields(t) {
		of[f.key] = shapeOf(t.Field(f.index).Type, max(g, f.grain))
		if !f.omit && g != resolved {
			needed = append(needed, f.key)
		}
	}
	s := shape{"type": "object", "properties": of, "additionalProperties": false}
	if len(needed) > 0 {
		s["required"] = needed
	}
	return s
}
