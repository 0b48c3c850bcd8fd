package job_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"spotjig/layout/job"
)

func TestQuote(t *testing.T) {
	for _, s := range []string{"9 ft pool", "", "a: b", "a #b", `8' 4"`, "-x", "~", "yes", "it's", "[x]", "&a", "*a", "!t", "%", "@", "`", "{}", "\u00bd"} {
		text := "games: [pool]\ntable: {length: 2541, width: 1269.5, size: " + job.Quote(s) + "}"
		j, _, err := job.Read("", []byte(text), job.Options{})
		require.NoError(t, err, text)
		assert.Equal(t, s, j.Table.Name)
	}
}
