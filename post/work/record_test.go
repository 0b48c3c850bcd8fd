package work

import (
	"bytes"
	"os"
	"path/filepath"
	"testing"

	"github.com/santhosh-tekuri/jsonschema/v6"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"spotjig/post/record"
)

// The record of every whole job is valid under its schema, as a validator of its own says; a
// record with a key too many is not. Every run looks at those that TestEveryJobIsProved makes,
// and the demo's.
func TestRecordsAreValid(t *testing.T) {
	var out bytes.Buffer
	require.NoError(t, record.WriteSchema(&out))
	doc, err := jsonschema.UnmarshalJSON(&out)
	require.NoError(t, err)
	c := jsonschema.NewCompiler()
	require.NoError(t, c.AddResource("record.json", doc))
	schema, err := c.Compile("record.json")
	require.NoError(t, err)

	files := []string{""}
	if !testing.Short() {
		for _, file := range jobFiles(t) {
			if os.Getenv("SPOTJIG_ALL") != "" || quickJob(file) {
				files = append(files, file)
			}
		}
	}
	require.True(t, testing.Short() || len(files) > 5)
	for _, file := range files {
		t.Run(filepath.Base(file), func(t *testing.T) {
			t.Parallel()
			text, ok := buildJob(t, file).file(RecordName)
			require.True(t, ok)
			v, err := jsonschema.UnmarshalJSON(bytes.NewReader(text))
			require.NoError(t, err)
			assert.NoError(t, schema.Validate(v))
			v.(map[string]any)["stranger"] = true
			assert.Error(t, schema.Validate(v))
		})
	}
}
