package work

import (
	"context"
	"regexp"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// A folder of another version is named as that, F035, whether bytes differ or not.
func TestAnotherVersionIsSaid(t *testing.T) {
	made := buildJob(t, "")
	held := map[string][]byte{}
	for _, f := range made.Files {
		held[f.Name] = f.Data
	}
	ctx := context.Background()
	other := Stamps{Folder: "0.0.9+0123456789ab", Program: "0.1.0+ba9876543210"}
	err := made.Compare(ctx, "out", held, other)
	require.ErrorContains(t, err, "[F035]")
	assert.ErrorContains(t, err, "every byte but that stamp is what this version makes all the same")

	// A remark is nothing that a proof looks at, a coordinate is.
	held["sheet-1.nc"] = append([]byte("(made by another)\n"), held["sheet-1.nc"]...)
	held["view.html"] = []byte("another page")
	err = made.Compare(ctx, "out", held, other)
	assert.ErrorContains(t, err, "no proof looks at its remarks [F035]")
	assert.ErrorContains(t, err, "no proof looks at the words of this file [F035]")
	held["sheet-1.nc"] = regexp.MustCompile(`(?m)^G1 X(\d)`).ReplaceAll(held["sheet-1.nc"], []byte("G1 X${1}1"))
	err = made.Compare(ctx, "out", held, other)
	assert.ErrorContains(t, err, "does not cut or show what its job says: check ")
	assert.ErrorContains(t, err, "[F033]")
	delete(held, "marks.csv")
	assert.ErrorContains(t, made.Compare(ctx, "out", held, other), "marks.csv: is missing [F032]")

	same := Stamps{"0.1.0+0123456789ab", "0.1.0+0123456789ab"}
	assert.NotContains(t, made.Compare(ctx, "out", held, same).Error(), "another build")
	for _, stamp := range []string{"0.1.0+unknown", "0.1.0+0123456789ab.changed"} {
		err := made.Compare(ctx, "out", held, Stamps{stamp, stamp})
		assert.ErrorContains(t, err, "or the folder is of another build: the stamp "+stamp)
		assert.ErrorContains(t, err, "[F033]")
	}
}

// No file of a set may differ in any byte, be missing, be no plain file or be one more, without
// being named, and nothing else is named.
func TestEveryDifferenceIsNamed(t *testing.T) {
	for _, job := range []string{"", "../../testdata/jobs/shop-9ft.yaml"} {
		made := buildJob(t, job)
		held := map[string][]byte{}
		for _, f := range made.Files {
			held[f.Name] = f.Data
		}
		require.Empty(t, made.Differences(held))
		named := func(name, code, what string) {
			t.Helper()
			list := made.Differences(held)
			if assert.Len(t, list, 1, "%s: %s", name, what) {
				assert.Equal(t, []string{name, code}, []string{list[0].File, list[0].Code}, what)
			}
		}
		for _, f := range made.Files {
			n := len(f.Data)
			for _, at := range []int{0, n / 2, n - 1} {
				edited := slices.Clone(f.Data)
				edited[at] ^= 1
				held[f.Name] = edited
				named(f.Name, "F033", "one bit is another")
			}
			for _, edited := range [][]byte{f.Data[:n-1], append(slices.Clone(f.Data), '\n'), {}} {
				held[f.Name] = edited
				named(f.Name, "F033", "of another length")
			}
			held[f.Name] = nil
			named(f.Name, "F034", "no plain file")
			delete(held, f.Name)
			named(f.Name, "F032", "missing")
			held[f.Name] = f.Data
		}
		for _, more := range []string{"sheet-0.nc", "sheet-1.NC", ".hidden", "zz.txt"} {
			for _, text := range [][]byte{nil, {}, []byte("G0 X0 Y0\n")} {
				held[more] = text
				named(more, "F034", "one file more")
			}
			delete(held, more)
		}
	}
}
