package manual_test

import (
	"bytes"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"spotjig/layout/screen"
	"spotjig/post/manual"
)

func TestListShowsEveryCatalogue(t *testing.T) {
	for what, says := range map[string][]string{
		"games":     {"snooker ", "American pool", "from memory", "9 ft pool", "2540.0 mm x 1270.0 mm"},
		"machines":  {"small-laser-300x200", "knife-1200x600", "1200 x 600 mm", "drawings only"},
		"materials": {"cast-acrylic-5", "polyester-film-0.35", "0.35 mm"},
	} {
		var out bytes.Buffer
		require.NoError(t, manual.List(what).Write(&out, screen.Columns))
		for _, s := range says {
			assert.Contains(t, out.String(), s, what)
		}
		for _, line := range strings.Split(out.String(), "\n") {
			assert.LessOrEqual(t, len(line), 120, line)
			assert.Equal(t, strings.TrimRight(line, " "), line)
		}
	}
	var out bytes.Buffer
	require.NoError(t, manual.List("materials").Write(&out, screen.Columns))
	assert.Regexp(t, `(?m)^vinyl-0\.3 .* no +yes$`, out.String())
	assert.Regexp(t, `(?m)^cast-acrylic-5 .* yes +no$`, out.String())
}
