package work

import (
	"context"
	"io"
	"os"
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"spotjig/cam/jig"
	"spotjig/post"
)

// quietly takes most of a blade's work out.
func quietly() steps { return steps{base: quiet} }

// products are sets that between them hold every kind of file.
func products() map[string]func(hook steps) (Made, error) {
	of := func(name string, hook steps) (*Order, Options, error) {
		opt := outputOptions
		opt.SVG, opt.Grid, opt.stages = true, true, hook.stages()
		o, err := Read("job.yaml", []byte(plantedJobs()[name]), nil)
		return o, opt, err
	}
	made := func(name string, piece bool) func(hook steps) (Made, error) {
		return func(hook steps) (Made, error) {
			if !piece {
				hook.of = name + ", every kind of file"
			}
			o, opt, err := of(name, hook)
			if err != nil {
				return Made{}, err
			}
			if piece {
				return o.BuildTestPiece(context.Background(), opt)
			}
			return o.Build(context.Background(), opt)
		}
	}
	return map[string]func(hook steps) (Made, error){
		"laser": made("laser", false), "film": made("film", false), "laser-test": made("laser-test", true), "film-test": made("film-test", true),
	}
}

var sheetNumber = regexp.MustCompile(`sheet-[0-9]+`)

// TestEveryOutputIsProved damages each file of each kind of set by itself, between its
// writing and its proof: half of it lost. Its proof must fail the set, whatever the file
// is; a new output is tried without being named here.
func TestEveryOutputIsProved(t *testing.T) {
	readme, err := os.ReadFile("../../README.md")
	require.NoError(t, err)
	for what, build := range products() {
		if testing.Short() && what == "film" {
			continue // a blade's files are like a beam's
		}
		hook := steps{}
		if what == "film" {
			hook = quietly()
		}
		sound, err := build(hook)
		require.NoError(t, err)
		require.Empty(t, sound.Failures(), what)
		tried := map[string]bool{}
		for _, f := range sound.Files {
			// Sheets are alike: the first of each kind stands for all.
			kind := sheetNumber.ReplaceAllString(f.Name, "sheet-N")
			if tried[kind] {
				continue
			}
			tried[kind] = true
			named := strings.Replace(kind, "grid", "sheet-N", 1) // the same three programs
			assert.True(t, strings.Contains(string(readme), "`"+named+"`"), "README.md's table of files does not name %s", kind)
			t.Run(what+"/"+f.Name, func(t *testing.T) {
				t.Parallel()
				hook := hook
				hook.program = func(name string, b []byte) []byte {
					if name == f.Name {
						return b[:len(b)/2]
					}
					return b
				}
				m, err := build(hook)
				require.NoError(t, err)
				assert.NotEmpty(t, m.Failures())
			})
		}
		assert.GreaterOrEqual(t, len(tried), 7, what)
	}
}

// An output without a proof is never built.
func TestNoOutputWithoutItsProof(t *testing.T) {
	write := func(w io.Writer, _ post.Set) error { _, err := io.WriteString(w, "G1 X1\n"); return err }
	assert.Panics(t, func() { newOutput("extra.nc", stageCut, write, nil) })
	assert.Panics(t, func() {
		newOutput("extra.nc", stageCut, nil, checkedBy(func(proving) jig.Check { return jig.Check{} }))
	})

	o, err := loadJob("../../testdata/jobs/shop-9ft.yaml")
	require.NoError(t, err)
	for name, extra := range map[string]Output{
		"a proof that checks nothing": newOutput("extra.nc", stageCut, write, func(context.Context, proving) (found, error) { return found{}, nil }),
		"one that only dry-runs": newOutput("extra.nc", stageCut, write, func(context.Context, proving) (found, error) {
			return found{judged: []jig.Check{{ID: "dry-run:extra.nc", Verdict: jig.Pass}}}, nil
		}),
	} {
		opt, st := outputOptions, usual()
		st.finish = func(r *run, ctx context.Context, list []Output) (Made, error) {
			return r.finish(ctx, append(list, extra))
		}
		opt.stages = &st
		m, err := o.Build(context.Background(), opt)
		require.NoError(t, err)
		require.Len(t, m.Failures(), 1, name)
		assert.Equal(t, "proved:extra.nc", m.Failures()[0].ID, name)
	}
}

// A panic of one output's writer or proof reaches the caller.
func TestPanicReachesTheCaller(t *testing.T) {
	o, err := loadJob("../../testdata/jobs/shop-9ft.yaml")
	require.NoError(t, err)
	opt := outputOptions
	opt.stages = steps{drawn: func(*post.Set) { panic("planted") }}.stages()
	assert.PanicsWithValue(t, "planted", func() { _, _ = o.Build(context.Background(), opt) })
}
