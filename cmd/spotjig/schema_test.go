package main

import (
	"bytes"
	"context"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/santhosh-tekuri/jsonschema/v6"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"spotjig/post/work"
)

// shortSurvey is a table measured reading by reading, of which a shop is sent little.
const shortSurvey = `table: {size: 7 ft pool}
survey: {length_left: 1981, length_right: 1983.5, width_head: 990, width_middle: 991, width_foot: 992.5, diagonal_right_head: 1789, nose_height: 36 mm, gap_head: 0.5}
games: [carom]
jig: {for: this, letters: short}
machine: shop
material: {sold: 5 mm, thickness: 4.9 mm}
`

// The record of every whole job is valid under the schema that the command prints, as a
// validator of its own says; a record with a key too many is not.
func TestRecordsAreValid(t *testing.T) {
	var out bytes.Buffer
	require.NoError(t, runSchema(recordSchema, &out))
	doc, err := jsonschema.UnmarshalJSON(&out)
	require.NoError(t, err)
	c := jsonschema.NewCompiler()
	require.NoError(t, c.AddResource("record.json", doc))
	schema, err := c.Compile("record.json")
	require.NoError(t, err)

	sets := map[string]work.Made{"the demo": buildJob(t, "")}
	if !testing.Short() {
		for name, text := range map[string]string{"card": shortCard, "shop": shortShop, "survey": shortSurvey} {
			sets[name] = buildText(t, text)
		}
	}
	if os.Getenv("SPOTJIG_ALL") != "" {
		for _, name := range []string{"knife-card", "shop-9ft", "bar-survey"} {
			sets[name] = buildJob(t, "../../testdata/jobs/"+name+".yaml")
		}
	}
	for name, made := range sets {
		for _, f := range made.Files {
			if f.Name != work.RecordName {
				continue
			}
			v, err := jsonschema.UnmarshalJSON(bytes.NewReader(f.Data))
			require.NoError(t, err)
			assert.NoError(t, schema.Validate(v), name)
			v.(map[string]any)["stranger"] = true
			assert.Error(t, schema.Validate(v), name)
		}
	}
}

// A new job names its schema in its first line, in the way that editors of YAML look for,
// and the name is the one that the help tells people to print it under.
func TestNewNamesItsSchema(t *testing.T) {
	dir := t.TempDir()
	name := filepath.Join(dir, "club.yaml")
	var out, errw bytes.Buffer
	require.Equal(t, exitDone, run(context.Background(), []string{"new", name, "--size", "9 ft pool", "--length", "2541", "--width", "1269.5", "--games", "pool"}, nil, &out, &errw), errw.String())
	text, err := os.ReadFile(name)
	require.NoError(t, err)
	first, _, _ := strings.Cut(string(text), "\n")
	assert.Equal(t, "# yaml-language-server: $schema=spotjig-job.schema.json", first)
	assert.Contains(t, newSchemaCmd(nil).Example, "schema job > spotjig-job.schema.json")
	assert.Contains(t, string(text), "spotjig schema job > spotjig-job.schema.json")
}
