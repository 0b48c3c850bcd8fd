package record

import (
	"encoding/json"
	"io"
	"reflect"
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
	s["description"] = "Lengths in mm. What each key means stands in README.md, under the files that make writes."
	s["properties"].(shape)["format"] = shape{"const": Format}
	e := json.NewEncoder(w)
	e.SetEscapeHTML(false)
	e.SetIndent("", "  ")
	return e.Encode(s)
}

// shapeOf is the shape of a type's values, as encoder.value writes them.
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
