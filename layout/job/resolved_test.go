package job_test

import (
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"spotjig/cam/machine"
	"spotjig/layout/job"
	"spotjig/layout/problem"
)

// resolved reads a job with its machine and material and writes it out.
func resolved(t *testing.T, name string, data []byte) (job.Job, machine.Profile, machine.Material, string) {
	t.Helper()
	j, _, err := job.Read(name, data, job.Options{})
	require.NoError(t, err)
	p, m, _, err := machine.Read(j.Machine, j.Material, machine.Options{Open: os.ReadFile})
	require.NoError(t, err)
	return j, p, m, j.Ledger.YAML()
}

// What is written out reads back as the same job, machine and material, stated and
// assumed alike, and writes the same text again.
func TestLedgerReadsBack(t *testing.T) {
	jobs, err := filepath.Glob("../../testdata/jobs/*.yaml")
	require.NoError(t, err)
	require.NotEmpty(t, jobs)
	texts := map[string][]byte{
		"bare":     []byte("table: {size: 9 ft pool}\ngames: [pool]\n"),
		"words":    []byte("table: {length: 100 in, width: 50 in, measured: nose-to-nose}\ngames: [pool]\nmachine: knife-600x300\nmaterial: polyester-film-0.35\n"),
		"like":     []byte("table: {length: 2541, width: 1269.5}\ngames: [pool]\nmachine: {like: laser-900x600, keep_out: [{name: clamp, min: {x: 0, y: 0}, max: {x: 40, y: 30}}], offsets: {G55: {x: 1 in}}}\nmaterial: {like: cast-acrylic-3, cut: {power: 33.3%, feed: 700 mm/min}}\n"),
		"shop":     []byte("table: {length: 2541, width: 1269.5}\ngames: [pool]\nmachine: shop\n"),
		"null":     []byte("name: 'null'\nnotes: \"it's; # no comment: {a}\"\ntable: {length: 2541, width: 1269.5}\ngames: [pool]\n"),
		"a survey": []byte("table: {size: 9 ft pool}\nsurvey: {length_left: 2542, length_right: 2540, width_head: 1270, width_foot: 1269, nose_height: 1 7/16 in}\ngames: [pool]\n"),
	}
	for _, name := range jobs {
		texts[name], err = os.ReadFile(name)
		require.NoError(t, err)
	}
	for name, data := range texts {
		t.Run(filepath.Base(name), func(t *testing.T) {
			j, p, m, text := resolved(t, name, data)
			j2, p2, m2, again := resolved(t, "job.yaml", []byte(text))
			assert.Equal(t, text, again)
			assert.Equal(t, p, p2)
			assert.Equal(t, m, m2)
			for _, x := range []*job.Job{&j, &j2} {
				x.File, x.Ledger, x.Machine, x.Material = "", nil, job.Section{}, job.Section{}
			}
			assert.Equal(t, j, j2)
		})
	}
}

// An assumed value is the one that is used, whatever the default is by then, and counts
// as stated by nobody.
func TestAssumedValues(t *testing.T) {
	const text = "assumed: [jig.tolerance, jig.fit, jig.hall_temperature]\n" +
		"table: {length: 2541, width: 1269.5}\ngames: [pool]\njig: {tolerance: 2.5 mm, fit: press, hall_temperature: 24, nose_contact: 0.2 mm}\n"
	j, _, _, out := resolved(t, "job.yaml", []byte(text))
	assert.InDelta(t, 2.5, j.Jig.Tolerance, 0)
	assert.Equal(t, "press", j.Jig.Fit)
	assert.InDelta(t, 24, j.Jig.HallTempC, 0)
	assert.False(t, j.Jig.ToleranceStated)
	assert.False(t, j.Jig.TemperatureStated)
	assert.Contains(t, out, "  tolerance: 2.5 mm  # assumed\n")
	assert.Contains(t, out, "  nose_contact: 0.2 mm\n")
}

func TestAssumedKeyThatIsNotThere(t *testing.T) {
	_, _, err := job.Read("a.yaml", []byte("assumed:\n- jig.fit\n- house[0\n- ''\n- table.size\ntable: {size: 9 ft pool}\ngames: [pool]\n"), job.Options{})
	list := problem.From(err)
	require.Len(t, list, 3)
	for i, want := range []string{`a.yaml:2:3: assumed[0]: "jig.fit" is assumed and the file has no such key [J001]`, `"house[0"`, `"" is assumed`} {
		assert.Contains(t, list[i].Error(), want)
	}
}
