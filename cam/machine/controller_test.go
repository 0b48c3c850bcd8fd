package machine_test

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"spotjig/cam/machine"
	"spotjig/layout/problem"
)

// A named controller sets power-on modes and traits; keys beside it win, in whatever order
// they stand.
func TestControllerByName(t *testing.T) {
	parse := func(text string) machine.Profile {
		p, err := machine.ParseProfile("x.yaml", []byte("travel: {x: 600, y: 400}\n"+text))
		require.NoError(t, err, text)
		return p
	}
	for _, name := range machine.ControllerNames() {
		p := parse("controller: " + name)
		assert.Equal(t, name, p.Controller)
		assert.Equal(t, name == "report-only", len(p.PowerOn) == 0, name)
		assert.Equal(t, name == "line-streamed-dark", p.DarkRapids, name)
		assert.Equal(t, name == "file-run", p.DwellMillis, name)
	}
	p := parse("dialect: {dark_rapids: yes, dwell_ms: yes, acts_on: none}\npower_on: G20\ncontroller: Line-Streamed")
	assert.Equal(t, []string{"G20"}, p.PowerOn)
	assert.True(t, p.DarkRapids && p.DwellMillis && p.SemicolonComments)
	assert.Equal(t, []string{}, p.ActsOn)
	assert.Nil(t, parse("process: laser").ActsOn, "a controller of which nothing is said is not known to take none")
	assert.Equal(t, "line-streamed", parse("like: laser-600x400").Controller)
}

// A longer dwell allowed is allowed in one place too, unless the profile says less.
func TestStillMaxFollowsPierceMax(t *testing.T) {
	for text, want := range map[string]float64{"": 1, "pierce_max: 0.2 s": 1, "pierce_max: 2 s": 2.5, "{pierce_max: 2 s, still_max: 1.2 s}": 1.2} {
		p, err := machine.ParseProfile("x.yaml", []byte("like: laser-600x400\n"+strings.NewReplacer("{", "", "}", "", ", ", "\n").Replace(text)))
		require.NoError(t, err, text)
		assert.Equal(t, want, p.StillMax, text)
	}
}

// Where nobody states how long a beam may stay, a slow cut that the sheet's settings ask for
// may take the time it takes: a weak beam at 1 mm/s is in a small hole for seconds. What is
// stated holds, and an ordinary cut raises nothing.
func TestStillFollowsTheSlowestCut(t *testing.T) {
	for _, row := range []struct {
		still      string
		cut, score machine.Feed
		kerf, want float64
	}{
		{"", 12, 60, 0.2, 1},
		{"", 1, 60, 0.42, 14 * 0.42},
		{"", 12, 0.5, 0.2, 14 * 0.2 / 0.5},
		{"", 12, 0, 0.2, 1},
		{"still_max: 1 s", 1, 60, 0.42, 1},
		{"still_max: 0", 1, 60, 0.42, 0},
	} {
		p, err := machine.ParseProfile("x.yaml", []byte("like: laser-600x400\n"+row.still))
		require.NoError(t, err)
		m := machine.Material{Kerf: row.kerf, Cut: machine.Setting{Feed: row.cut}, Score: machine.Setting{Feed: row.score}}
		assert.InDelta(t, row.want, p.StillFor(m), 1e-9, "%+v", row)
	}
}

// A router is read for the dry run and refused by name where a jig is to be made.
func TestRouterIsForTheDryRun(t *testing.T) {
	p, err := machine.ParseProfile("x.yaml", []byte("process: router\ntravel: {x: 600, y: 400, z: 80}\nfloor: -18\ntool_in: 2"))
	require.NoError(t, err)
	assert.True(t, p.HasZ && p.HasSpindle)
	assert.Equal(t, -18.0, p.Floor)
	assert.Equal(t, 2, p.ToolIn)
	_, err = machine.ParseProfile("x.yaml", []byte("process: router\ntravel: {x: 600, y: 400}"))
	require.ErrorContains(t, err, "travel in z is not given")
	for _, text := range []string{"machine: router-600x400\nmaterial:\n", "machine: {process: router, travel: {x: 600, y: 400, z: 80}}\nmaterial:\n"} {
		_, _, _, err = readText(t, text)
		require.ErrorContains(t, err, "no jig is made for a router")
		assert.Equal(t, "M017", problem.From(err)[0].Code)
	}
}

// What is no controller, no byte and no code is refused with what would be.
func TestBadTraits(t *testing.T) {
	for text, want := range map[string]string{
		"controller: line-streemed": `M008 unknown controller "line-streemed"; did you mean "line-streamed"?`,
		"dialect: {acts_on: [x21]}": "M018", "dialect: {acts_on: [0xFF-0x80]}": "M018", "dialect: {acts_on: [256]}": "M018",
		"dialect: {refused_words: [fast]}": "M007", "dialect: {after_end: maybe}": "J008", "dialect: {decimals: 11}": "J0",
	} {
		_, err := machine.ParseProfile("x.yaml", []byte("travel: {x: 600, y: 400}\n"+text))
		require.Error(t, err, text)
		first := problem.From(err)[0]
		assert.True(t, strings.HasPrefix(first.Code+" "+first.Msg, want), "%s: %v", text, err)
	}
}

// Bytes that act: those stated, or all that any controller is known to take.
func TestActingBytes(t *testing.T) {
	acts := machine.Traits{ActsOn: []string{"0x21", "0x80-0x82"}}.Acts()
	for c, on := range acts {
		assert.Equal(t, c == '!' || c >= 0x80 && c <= 0x82, on, "0x%02X", c)
	}
	assert.Equal(t, [256]bool{}, machine.Traits{ActsOn: []string{}}.Acts())
	unknown := machine.Traits{}.Acts()
	for _, c := range []byte{'!', '~', '?', 0, 0x13, 0x18, 0x1A, 0x1B, 0x80, 0xFF} {
		assert.True(t, unknown[c], "0x%02X", c)
	}
	assert.False(t, unknown['\n'] || unknown['('] || unknown['A'])
}
