package proof_test

import (
	"bytes"
	"context"
	"testing"

	"spotjig/post/proof/recorded"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"spotjig/cam/jig"
	"spotjig/cam/path"
	"spotjig/post/record"
)

// again proves the planted folder from its record alone.
func again(t *testing.T, p plant) map[string]jig.Check {
	t.Helper()
	set := sound()
	all := files(t, &set, p)
	var b bytes.Buffer
	require.NoError(t, record.Write(&b, set, record.Options{}))
	data := b.Bytes()
	if p.text != nil {
		data = p.text("record.json", data)
	}
	r, err := record.Read(bytes.NewReader(data))
	require.NoError(t, err)
	back, err := r.Set()
	require.NoError(t, err)
	checks, err := recorded.Again(context.Background(), back, func(name string) ([]byte, bool) {
		for _, f := range all {
			if f.Name == name {
				return f.Data, true
			}
		}
		return nil, false
	})
	require.NoError(t, err)
	out := map[string]jig.Check{}
	for _, c := range checks {
		out[c.ID] = c
	}
	return out
}

func TestAgainPassesFromTheRecordAlone(t *testing.T) {
	checks := again(t, plant{})
	assert.Empty(t, failures(checks))
	for _, id := range []string{"dxf", "as-cut", "as-read-dryrun", "as-read-edges", "as-assembled", "as-covered", "marks-csv"} {
		assert.Contains(t, checks, id)
	}
}

// What the hashes cannot see, because program, drawing or record were changed
// together with them, the geometry still does.
func TestAgainFails(t *testing.T) {
	for _, row := range []struct {
		name, by string
		plant    plant
	}{
		{"another kerf", "as-cut", plant{request: func(r *path.Request) { r.Material.Kerf = 0.3 }}},
		{"an opening missed", "as-cut", plant{path: func(tp *path.Toolpath) { dropOps(tp, path.Opening, "d-1") }}},
		{"dry run of other moves", "as-read-dryrun", plant{text: edit("sheet-1-dryrun.nc", "G1 X7", "G1 X6")}},
		{"dry run with the beam on", "as-read-dryrun", plant{text: edit("sheet-1-dryrun.nc", "(OPENING", "M3\nS2\n(OPENING")}},
		{"edges of another rectangle", "as-read-edges", plant{text: edit("record.json", `"bounds":{"xmin":`, `"bounds":{"xmin":1`)}},
		{"drawing of another layer", "dxf", plant{text: edit("sheet-1.dxf", "\nOUTLINE\n100\nAcDbPolyline", "\nOPENING\n100\nAcDbPolyline")}},
		{"record: an opening moved", "dxf", plant{text: edit("record.json", `"x":80,"y":20`, `"x":80.1,"y":20`)}},
		{"record: a pose moved", "as-assembled", plant{text: edit("record.json", `"on_table":{"x":520`, `"on_table":{"x":520.1`)}},
		{"record: a mark moved", "marks-csv", plant{text: edit("record.json", `"kind":"spot","x":500`, `"kind":"spot","x":501`)}},
		{"program cut off", "as-read", plant{text: onSheet1(func(s string) string { return s[:len(s)/2] })}},
	} {
		t.Run(row.name, func(t *testing.T) {
			assert.Contains(t, failures(again(t, row.plant)), row.by)
		})
	}
}
