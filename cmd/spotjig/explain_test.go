package main

import (
	"bytes"
	"context"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// Every command's help shows at least one example, of that command with flags that it has.
func TestEveryCommandHasAnExample(t *testing.T) {
	root := newRootCmd(context.Background(), strings.NewReader(""), &bytes.Buffer{}, &bytes.Buffer{})
	require.Greater(t, len(root.Commands()), 10)
	for _, c := range root.Commands() {
		require.NotEmpty(t, c.Example, c.Name())
		for _, l := range strings.Split(c.Example, "\n") {
			assert.Contains(t, l, "spotjig "+c.Name(), "an example of %s", c.Name())
			for _, w := range strings.Fields(l) {
				if name, long := strings.CutPrefix(w, "--"); long {
					assert.NotNil(t, c.Flags().Lookup(name), "%s has no flag %s", c.Name(), w)
				}
			}
		}
	}
}
