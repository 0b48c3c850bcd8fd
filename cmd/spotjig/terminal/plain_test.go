package terminal

import (
	"bytes"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// The writer to the terminal passes letters and line ends, and nothing that acts.
func TestPlain(t *testing.T) {
	for _, row := range [][2]string{
		{"½ × 46\" — ok\n", "½ × 46\" — ok\n"},
		{"a,b\r\nc\td\n", "a,b\r\nc\td\n"},
		{"\rx", `\u000dx`},
		{"\x1b[2J", `\u001b[2J`},
		{"\u009b\x00\x7f", `\u009b\u0000\u007f`},
		{"\u202e\u2028\ufeff", `\u202e\u2028\ufeff`},
		{"\U000e0041", `\udb40\udc41`},
		{"\xed\xa0\x80\xff", `\xed\xa0\x80\xff`},
		{"end\r", `end\u000d`},
		{"cut \xe2\x80", `cut \xe2\x80`},
	} {
		for _, step := range []int{1, 2, 3, 1000} { // however it is written
			var b bytes.Buffer
			w := &Plain{W: &b}
			for s := row[0]; s != ""; {
				n := min(step, len(s))
				got, err := w.Write([]byte(s[:n]))
				require.NoError(t, err)
				require.Equal(t, n, got)
				s = s[n:]
			}
			require.NoError(t, w.Close())
			assert.Equal(t, row[1], b.String(), "%q by %d", row[0], step)
		}
	}
}
