package work

import (
	"context"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"spotjig/cam/path"
	"spotjig/layout/problem"
)

// tied makes a plain job with ties on a machine; wrong is what a faulty path makes of them.
func tied(t *testing.T, machine, jig string, wrong func(*path.Ties)) (Made, error) {
	t.Helper()
	text := "name: Mill Lane\ndate: 2026-11-20\ntable: {size: 8 ft pool, length: 2235.2 mm, width: 1117.6 mm, measured: nose-to-nose}\n" +
		"games: [pool]\nmachine: " + machine + "\njig: " + jig + "\n"
	name := filepath.Join(t.TempDir(), "job.yaml")
	require.NoError(t, os.WriteFile(name, []byte(text), 0o600))
	l, err := loadJob(name)
	require.NoError(t, err)
	opt, st := outputOptions, usual()
	st.laser = func(r path.Request) (path.Toolpath, error) {
		if wrong != nil {
			wrong(&r.Ties)
		}
		return path.Laser(r)
	}
	opt.stages = &st
	return l.Build(context.Background(), opt)
}

// A tie fewer than asked, one more, or all of another width: as-cut says so.
func TestTiesAreCounted(t *testing.T) {
	for name, wrong := range map[string]func(*path.Ties){
		"one fewer": func(t *path.Ties) { t.Count-- },
		"one more":  func(t *path.Ties) { t.Count++ },
		"none":      func(t *path.Ties) { t.Count = 0 },
		"narrower":  func(t *path.Ties) { t.Width -= 0.02 },
	} {
		if testing.Short() && name != "one fewer" {
			continue
		}
		made, err := tied(t, "laser-600x400", "{ties: {count: 4, width: 1 mm}}", wrong)
		require.NoError(t, err, name)
		found := made.Failures()
		require.NotEmpty(t, found, name)
		assert.Equal(t, "as-cut", found[0].ID, name)
	}
}

// Ties that nothing would cut are named; before, a blade's job and a shop's took no
// notice of them.
func TestTiesWhereNoneAreCut(t *testing.T) {
	for _, machine := range []string{"knife-1200x600", "shop"} {
		_, err := tied(t, machine, "{ties: {count: 4}}", nil)
		require.Error(t, err, machine)
		list := problem.From(err)
		require.Len(t, list, 1)
		assert.Equal(t, "J095", list[0].Code)
		assert.Equal(t, 6, list[0].Line)
		assert.True(t, strings.Contains(list[0].Msg, "4 ties"), list[0].Msg)
	}
}

// Many ties, and wide ones, on fins and on the round plugs of sticker holes: a small
// piece gets as many as it has room for, each as wide as asked. Before, 20 of them were
// refused by as-cut, and so was any wide one on a plug.
func TestTiesOnSmallPieces(t *testing.T) {
	long(t)
	for _, jig := range []string{"{ties: {count: 20}}", "{spots: sticker, ties: {count: 4, width: 5 mm}}"} {
		made, err := tied(t, "laser-600x400", jig, nil)
		require.NoError(t, err, jig)
		assert.Empty(t, made.Failures(), jig)
	}
}
