package jig_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"spotjig/cam/jig"
)

// Less lettering is less to burn, and the pieces are the same: full tells marks and table,
// short names and neighbours, none nothing; a jig of one table says so all the same.
func TestLettersAskedFor(t *testing.T) {
	req := tableJob(t, 2540, 1270, 600, 400, "pool")
	ink := func(letters, is string) (mm float64, text map[string]bool) {
		r := req
		r.Want.Letters, r.Want.For = letters, is
		j, err := design(r)
		require.NoError(t, err)
		text = map[string]bool{}
		for _, p := range j.Parts {
			if p.OnTable.Upright {
				continue
			}
			for _, c := range p.Letters {
				mm += c.Length()
			}
			for _, s := range p.Text {
				text[s] = true
			}
		}
		return mm, text
	}
	full, all := ink("full", "class")
	short, some := ink(jig.LettersShort, "class")
	none, few := ink(jig.LettersNone, "class")
	assert.Greater(t, full, 2*short)
	assert.Greater(t, short, none)
	assert.True(t, all["HEAD STRING"] && all["H1"])
	assert.True(t, !some["HEAD STRING"] && some["H1"])
	assert.False(t, few["H1"])
	_, this := ink(jig.LettersNone, "this")
	assert.True(t, this["THIS TABLE ONLY"])
}
