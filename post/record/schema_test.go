package record

import (
	"bytes"
	"encoding/json"
	"fmt"
	"maps"
	"reflect"
	"slices"
	"strings"
	"testing"

	"github.com/santhosh-tekuri/jsonschema/v6"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// The schema takes what is written, and refuses it with any value replaced by one of
// another kind, any key left out that others rely on, or a stranger beside them. It is
// judged by a validator of its own.
func TestSchemaIsOfWhatIsWritten(t *testing.T) {
	var b bytes.Buffer
	require.NoError(t, WriteSchema(&b))
	assert.Contains(t, b.String(), `"const": "`+Format+`"`)
	doc, err := jsonschema.UnmarshalJSON(&b)
	require.NoError(t, err)
	c := jsonschema.NewCompiler()
	require.NoError(t, c.AddResource("record.json", doc))
	schema, err := c.Compile("record.json")
	require.NoError(t, err)
	root, err := jsonschema.UnmarshalJSON(strings.NewReader(text(t, sample())))
	require.NoError(t, err)
	require.NoError(t, schema.Validate(root))

	n := 0
	refuses := func(what string) {
		n++
		assert.Error(t, schema.Validate(root), what)
	}
	kind := func(v any) string { return strings.Fields(fmt.Sprintf("%T", v))[0] }
	others := []any{"text", json.Number("7"), true, []any{}, map[string]any{}}
	var walk func(at string, v any, resolved bool, set func(any))
	walk = func(at string, v any, resolved bool, set func(any)) {
		for _, o := range others {
			if v != nil && kind(o) != kind(v) && !(v == "unbounded" && kind(o) == "json.Number") {
				set(o)
				refuses(fmt.Sprintf("%s = %v", at, o))
			}
		}
		set(v)
		switch v := v.(type) {
		case map[string]any:
			v["stranger"] = json.Number("1")
			refuses(at + " with a stranger")
			delete(v, "stranger")
			for _, k := range slices.Sorted(maps.Keys(v)) {
				was := v[k]
				if !resolved && !slices.Contains(dimensions(), k) {
					delete(v, k)
					refuses(at + "." + k + " left out")
					v[k] = was
				}
				walk(at+"."+k, was, resolved || slices.Contains([]string{"job", "machine", "material"}, k), func(o any) { v[k] = o })
			}
		case []any:
			if len(v) > 0 {
				walk(at+"[0]", v[0], resolved, func(o any) { v[0] = o })
			}
		}
	}
	walk("record", root, false, func(o any) { root = o })
	assert.Greater(t, n, 1000)
}

// dimensions are the keys that an opening has or lacks by its kind; a mark has them all.
func dimensions() []string {
	return []string{"x", "y", "x1", "y1", "x2", "y2", "cx", "cy", "r", "start_deg", "end_deg", "width"}
}

// Every section of a record says what it is.
func TestSchemaSaysWhatSectionsAre(t *testing.T) {
	for _, f := range fields(reflect.TypeFor[Record]()) {
		assert.Contains(t, about(), f.key)
	}
}
