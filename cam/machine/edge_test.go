package machine_test

import (
	"fmt"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"spotjig/layout/problem"
)

// What changes of single signs and terms showed to be untested.

// A blade always has a height to be lifted to, also on a machine of which only x and y
// are stated; the heights begin at the blade's floor.
func TestKnifeAlwaysHasZ(t *testing.T) {
	for _, text := range []string{
		"machine:\n  process: knife\n  travel: {x: 600, y: 300}\n  knife: {floor: -2, up: 4}\n",
		"machine:\n  process: knife\n  limits: {x: [0, 600], y: [0, 300]}\n  knife: {floor: -2, up: 4}\n",
	} {
		p, _, _, err := readText(t, text+"material: {kind: card, thickness: 1, cut: {feed: 30 mm/s, depth: -1.1}}\n")
		require.NoError(t, err)
		assert.True(t, p.HasZ)
		assert.Equal(t, -2.0, p.Min.Z)
		assert.GreaterOrEqual(t, p.Max.Z, 4.0, "room to lift the blade")
	}
}

// Every limit of a blade and of a workshop: the value itself is taken, a little beyond
// is refused, and the refusal names the key.
func TestLimitsOfKnifeAndShop(t *testing.T) {
	knife := func(key, v string) string {
		set := map[string]string{"floor": "-2", "skin": "-0.05"}
		set[key] = v
		return fmt.Sprintf("machine:\n  process: knife\n  travel: {x: 600, y: 500, z: 15}\n  knife: {floor: %s, skin: %s%s}\nmaterial: {kind: card, thickness: 0.5, cut: {feed: 30 mm/s, depth: -0.55}}\n",
			set["floor"], set["skin"], map[bool]string{true: ", " + key + ": " + v}[key != "floor" && key != "skin"])
	}
	laser := func(key, v string) string {
		if axis, ok := strings.CutPrefix(key, "scale_ppm."); ok {
			key, v = "scale_ppm", "{"+axis+": "+v+"}"
		}
		return fmt.Sprintf("machine: {process: laser, travel: {x: 600, y: 500}, %s: %s}\nmaterial: {kind: card, thickness: 0.5, kerf: 0.1}\n", key, v)
	}
	for _, tc := range []struct {
		text         func(key, v string) string
		key          string
		low, lower   string
		high, higher string
	}{
		{knife, "offset", "0.05", "0.049", "5", "5.01"},
		{knife, "wedge", "10", "9.9", "80", "80.1"},
		{knife, "up", "0.5", "0.49", "12", "200.1"},
		{knife, "skin", "-1.9", "-5.1", "-0.001", "0.01"},
		{knife, "floor", "-50", "-50.1", "-0.6", "-0.04"},
		{knife, "swivel_angle", "0", "-1", "180", "180.1"},
		{knife, "arc_min", "0", "-0.1", "50", "50.1"},
		{knife, "misalignment", "0.05", "0.049", "30", "30.1"},
		{knife, "sheet_max", "0.5", "0.049", "10", "10.1"},
		{laser, "margin", "0", "-0.1", "200", "200.1"},
		{laser, "support_pitch", "1", "0.9", "200", "200.1"},
		{laser, "time_max", "1 s", "0.9 s", "1000000 s", "1000001 s"},
		{laser, "repeat_max", "1", "0", "1000", "1001"},
		{laser, "scale_ppm.x", "-50000", "-50001", "50000", "50001"},
		{laser, "scale_ppm.y", "-50000", "-50001", "50000", "50001"},
		{laser, "skew", "-50000", "-50001", "50000", "50001"},
	} {
		for _, v := range []string{tc.low, tc.high} {
			_, _, _, err := readText(t, tc.text(tc.key, v))
			assert.NoError(t, err, "%s: %s", tc.key, v)
		}
		for _, v := range []string{tc.lower, tc.higher} {
			_, _, _, err := readText(t, tc.text(tc.key, v))
			assert.ErrorContains(t, err, tc.key, "%s: %s", tc.key, v)
		}
	}
}

// What a sheet is sold as stays when the measured thickness is within 0.4 + 0.1 t of
// it (ISO 7823-1 as restated by makers), and is the measured one when it is not, unless
// it was stated.
func TestSoldThickness(t *testing.T) {
	for _, tc := range []struct {
		keys string
		sold float64
	}{
		{"like: cast-acrylic-5", 5},
		{"like: cast-acrylic-5, thickness: 5.9", 5},
		{"like: cast-acrylic-5, thickness: 4.2", 5},
		{"like: cast-acrylic-5, thickness: 6.1", 6.1},
		{"like: cast-acrylic-5, sold: 6, thickness: 5.5", 6},
	} {
		_, m, _, err := readText(t, "machine: {process: laser, travel: {x: 900, y: 600}}\nmaterial: {"+tc.keys+", kerf: 0.2}\n")
		require.NoError(t, err, tc.keys)
		assert.InDelta(t, tc.sold, m.Sold, 1e-12, tc.keys)
	}
}

// A kerf outside its limits is refused where it stands, by each process: what is made of a
// negative one in a shop's drawing or under a blade, no later stage would notice.
func TestKerfAtItsLimits(t *testing.T) {
	on := map[string]string{
		"laser": "machine: {process: laser, travel: {x: 900, y: 600}}\nmaterial: {like: cast-acrylic-5, kerf: %s}\n",
		"shop":  "machine: shop\nmaterial: {like: cast-acrylic-5, kerf: %s}\n",
		"knife": "machine: knife-1200x600\nmaterial: {like: card-1, kerf: %s}\n",
	}
	for _, tc := range []struct {
		kerf string
		by   string // who takes it
	}{
		{"-0.2", ""}, {"-0.001", ""}, {"0", "shop knife"}, {"0.009", "shop knife"}, {"0.01", "laser shop knife"},
		{"1", "laser shop knife"}, {"1.001", ""}, {".nan", ""}, {"1e400", ""},
	} {
		for process, text := range on {
			_, _, _, err := readText(t, fmt.Sprintf(text, tc.kerf))
			if strings.Contains(tc.by, process) {
				assert.NoError(t, err, "%s: %s", process, tc.kerf)
				continue
			}
			list := problem.From(err)
			if assert.NotEmpty(t, list, "%s: %s", process, tc.kerf) {
				assert.Equal(t, "material.kerf", list[0].Field, "%s: %s", process, tc.kerf)
				assert.Equal(t, 2, list[0].Line, "%s: %s", process, tc.kerf)
			}
		}
	}
}

// A machine is called after its process when nothing else names it.
func TestMachineWithoutAName(t *testing.T) {
	p, _, _, err := readText(t, "machine: {process: laser, travel: {x: 900, y: 600}}\nmaterial: {kind: card, thickness: 0.5, kerf: 0.1}\n")
	require.NoError(t, err)
	assert.Equal(t, "laser", p.Name)
}
