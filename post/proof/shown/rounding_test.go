package shown_test

import (
	"context"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"spotjig/post/work"
)

// A 6 ft table for pool and snooker was refused on every machine: a piece of 144.245 mm
// was rounded one way by the job sheet and the other way by its proof, which said that
// the sheet "does not say: 144.25".
func TestRoundingRefusesNoSoundJob(t *testing.T) {
	const job = `name: 6 ft pool table
table: {size: 6 ft pool, length: 72 in, width: 36 in}
games: [pool, snooker]
choices: {baulk_line: scaled, d: width/6, black: length/11}
jig: {for: class, marker: {tip: 0.7 mm, guide: 2.8 mm}, spots: point, rack: corners}
material: {kind: cast acrylic, sold: 5 mm}
machine: {like: laser-600x400}
`
	o, err := work.Read("six.yaml", []byte(job), nil)
	require.NoError(t, err)
	made, err := o.Build(context.Background(), work.Options{Version: "0.0.0", Paper: "a4", ProofOf: "template"})
	require.NoError(t, err)
	for _, c := range made.Failures() {
		assert.Fail(t, c.ID, c.Text)
	}
	seen := false
	for _, c := range made.Set.Checks {
		seen = seen || c.ID == "as-listed"
	}
	assert.True(t, seen, "the job sheet was proved")
}
