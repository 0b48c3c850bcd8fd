package jig_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// Two gauges with stickers have a plug each; no two parts share a name.
func TestPartsHaveNamesOfTheirOwn(t *testing.T) {
	r := tableJob(t, 1981, 991, 900, 600, "snooker")
	r.Want.Spots, r.Want.Sticker = "sticker", 25
	j, err := design(r)
	require.NoError(t, err)
	require.Len(t, j.Gauges, 2, "the case that is tried")
	seen := map[string]bool{}
	for _, p := range j.Parts {
		assert.False(t, seen[p.ID], p.ID)
		seen[p.ID] = true
	}
}
