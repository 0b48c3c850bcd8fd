package work

import (
	"context"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// A blade that follows no arc below 2 or 3 mm and cuts them as corners: the spot holes of
// 1.55 mm are then all corners, and the cut's overrun has to go on round the first of
// them. It stopped there, and tip-overrun refused every job.
func TestTightArcsAsCorners(t *testing.T) {
	if testing.Short() {
		t.Skip("a blade's whole job")
	}
	for _, least := range []string{"2 mm", "3 mm"} {
		if least == "2 mm" && os.Getenv("SPOTJIG_ALL") == "" {
			continue // TestSaneJobsAreMade makes a job of 2 mm
		}
		text := "name: Mill Lane\ndate: 2026-11-20\ntable: {size: 8 ft pool, length: 2235.2 mm, width: 1117.6 mm, measured: nose-to-nose}\n" +
			"games: [pool]\nmachine: {like: knife-1200x600, knife: {tight_arcs: corner, arc_min: " + least + "}}\n"
		name := filepath.Join(t.TempDir(), "job.yaml")
		require.NoError(t, os.WriteFile(name, []byte(text), 0o600))
		l, err := loadJob(name)
		require.NoError(t, err)
		made, err := build(context.Background(), l, steps{})
		require.NoError(t, err)
		assert.Empty(t, made.Failures(), least)
	}
}
