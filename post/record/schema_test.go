package record

import (
	"bytes"
	"encoding/json"
	"fmt"
	"slices"
	"strings"
	"testing"

	"github.com/santhosh-tekuri/jsonschema/v6"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// Reader and schema take and refuse the same records: the sample, and the sample with
// each of its values replaced by one of every other kind, left out, or with a stranger
// beside it. The schema is judged by a validator of its own.
func TestSchemaAgreesWithTheReader(t *testing.T) {
	var b bytes.Buffer
	require.NoError(t, WriteSchema(&b))
	doc, err := jsonschema.UnmarshalJSON(&b)
	require.NoError(t, err)
	c := jsonschema.NewCompiler()
	require.NoError(t, c.AddResource("record.json", doc))
	schema, err := c.Compile("record.json")
	require.NoError(t, err)

	good := text(t, sample())
	n := 0
	agree := func(what string, v any) bool {
		data, err := json.Marshal(v)
		require.NoError(t, err)
		inst, err := jsonschema.UnmarshalJSON(bytes.NewReader(data))
		require.NoError(t, err)
		_, read := Read(bytes.NewReader(data))
		valid := schema.Validate(inst)
		assert.Equal(t, read == nil, valid == nil, "%s: the reader says %v, the schema %v", what, read, valid)
		n++
		return read == nil
	}
	parse := func() any {
		d := json.NewDecoder(strings.NewReader(good))
		d.UseNumber()
		var v any
		require.NoError(t, d.Decode(&v))
		return v
	}
	require.True(t, agree("sample", parse()))

	root := parse()
	refused := 0
	try := func(what string) {
		if !agree(what, root) {
			refused++
		}
	}
	others := []any{nil, "text", "unbounded", json.Number("7"), json.Number("-2.5"), json.Number("1e13"), true, []any{}, map[string]any{}}
	var walk func(at string, v any, set func(any))
	walk = func(at string, v any, set func(any)) {
		for _, o := range others {
			set(o)
			try(fmt.Sprintf("%s = %v", at, o))
		}
		set(v)
		switch v := v.(type) {
		case map[string]any:
			v["stranger"] = json.Number("1")
			try(at + " with a stranger")
			delete(v, "stranger")
			keys := []string{}
			for k := range v {
				keys = append(keys, k)
			}
			slices.Sort(keys)
			for _, k := range keys {
				was := v[k]
				delete(v, k)
				try(at + "." + k + " left out")
				v[k] = was
				walk(at+"."+k, was, func(o any) { v[k] = o })
			}
		case []any:
			if len(v) > 0 {
				set(append(slices.Clone(v), v[0]))
				try(at + " with one more")
				set(v)
				walk(at+"[0]", v[0], func(o any) { v[0] = o })
			}
		}
	}
	walk("record", root, func(o any) {
		if root = o; root == nil {
			root = json.Number("0")
		}
	})
	assert.Greater(t, n, 2000)
	assert.Greater(t, refused, 1000)
	var again bytes.Buffer
	require.NoError(t, WriteSchema(&again))
	assert.Contains(t, again.String(), `"const": "`+Format+`"`)
}
