package work

import (
	"context"
	"fmt"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// TestPassesAreProved: cuts, scores and letters made several times over pass every proof
// of make, for a beam and for a blade, up to as many as the reader takes. Without
// SPOTJIG_ALL=1 a beam makes three.
func TestPassesAreProved(t *testing.T) {
	for _, file := range []string{"full.yaml", "full-knife.yaml"} {
		if os.Getenv("SPOTJIG_ALL") == "" && file == "full-knife.yaml" {
			continue
		}
		text, err := os.ReadFile("../../testdata/" + file)
		require.NoError(t, err)
		// The limits of time and repeats would refuse what is tried here, and rightly.
		job := regexp.MustCompile(`(?m)^  (time_max|repeat_max):.*\n|^    passes:.*\n`).ReplaceAllString(string(text), "")
		times := []int{3}
		if os.Getenv("SPOTJIG_ALL") != "" {
			times = []int{2, 3, 20}
		}
		for _, n := range times {
			t.Run(fmt.Sprintf("%s, %d passes", file, n), func(t *testing.T) {
				t.Parallel()
				many := job
				for _, key := range []string{"  cut:\n", "  score:\n", "  letter:\n"} {
					require.Contains(t, many, key)
					many = strings.Replace(many, key, fmt.Sprintf("%s    passes: %d\n", key, n), 1)
				}
				name := filepath.Join(t.TempDir(), "job.yaml")
				require.NoError(t, os.WriteFile(name, []byte(many), 0o600))
				l, err := loadJob(name)
				require.NoError(t, err)
				b, err := build(context.Background(), l, steps{})
				require.NoError(t, err)
				assert.Equal(t, n, b.Set.Material.Letter.Passes)
				assert.Empty(t, b.Failures())
			})
		}
	}
}
