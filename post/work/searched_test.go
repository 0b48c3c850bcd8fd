package work

import (
	"context"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"spotjig/cam/jig"
	"spotjig/layout/problem"
)

// planOf is what a job's plan check says, "" where the usual plan is made.
func planOf(t *testing.T, text string) string {
	o, err := Read("job.yaml", []byte(text), nil)
	require.NoError(t, err)
	m, err := o.Build(context.Background(), outputOptions)
	require.NoError(t, err)
	assert.Equal(t, "made", told(m.Failures()))
	i := slices.IndexFunc(m.Set.Checks, func(c jig.Check) bool { return c.ID == "plan" })
	if i < 0 {
		return ""
	}
	return m.Set.Checks[i].Text
}

// Where the usual plan is not sound another is made, and the jig says why. Each of these
// was refused while one plan was drawn.
func TestAnotherPlanIsMade(t *testing.T) {
	for name, text := range map[string]string{
		"an arm too short for its scale":  "name: Quarry Road\ntable: {measured: nose-to-nose}\nsurvey: {length_left: 1826.3, length_right: 1826.8, width_head: 914.4, width_middle: 912.9, width_foot: 911.4}\ngames: [six-red, blackball]\nchoices: {baulk_line: scaled, d: scaled, black: length/11}\nhouse:\n  - {id: bow, kind: arc, x: L/4, y: W/6, radius: 209, start_deg: 0, end_deg: 180}\n  - {id: line, kind: line, x: L/4, y: -W/2, x2: L/4, y2: W/2}\njig: {marker: {guide: 4.1 mm}}\nmaterial: {like: extruded-acrylic-3, thickness: 3.06 mm, kerf: 0.08 mm}\nmachine: {process: laser, travel: {x: 720, y: 730}}\n",
		"a piece too narrow for its name": "name: Quarry Road\ntable: {length: 2235.2, width: 1117.6, measured: nose-to-nose}\ngames: [balkline-52]\nhouse:\n  - {id: left, kind: line, x: 0, y: W/6 + 10 mm, x2: L/4, y2: W/6 + 10 mm}\n  - {id: spot, kind: spot, x: 780, y: W/6 + 10 mm}\n  - {id: right, kind: line, x: 0, y: -288, x2: 528, y2: -288}\njig: {marker: {guide: 5.9 mm}, shop_temperature: 20, hall_temperature: 10, shop_humidity: 31, hall_humidity: 54, compensate_growth: yes}\nmaterial: {like: vinyl-0.3, sold: 0.3 mm, thickness: 0.26 mm}\nmachine: {process: knife, travel: {x: 350, y: 420, z: 20}, offsets: {G54: {x: 0, y: 0, z: 1.2}}}\n",
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			assert.Regexp(t, `^the usual plan is not sound \((strokes|lettering): .*\); of the others that are, the best has .+$`, planOf(t, text))
		})
	}
	assert.Empty(t, planOf(t, sane("games: [pool, snooker]\n")), "an ordinary job is made by the usual plan")
}

// A job that no plan makes is refused with one change that frees it; the change was tried,
// and a job with that change is made.
func TestRefusalsSayWhatFreesThem(t *testing.T) {
	near := "games: [pool]\nhouse:\n  - {id: mine, kind: spot, x: L/4, y: 5}\n"
	got := becameOf(sane(near))
	assert.Contains(t, got, "web: ")
	assert.Contains(t, got, "head-spot and mine; 37 plans tried, none is sound; it is made without the house mark mine, which was tried")
	assert.Equal(t, "made", becameOf(sane("games: [pool]\n")))

	small := "games: [pool]\nmachine: {process: laser, travel: {x: 150, y: 110}}\nmaterial: {sheets: [{width: 150, height: 110}]}\n"
	o, err := Read("job.yaml", []byte(sane(small)), nil)
	require.NoError(t, err)
	_, err = o.Build(context.Background(), outputOptions)
	list := problem.From(err)
	require.Len(t, list, 1)
	assert.Equal(t, "J090", list[0].Code)
	assert.Equal(t, "37 plans tried, none is sound; it is made on a bed and sheets of 600 x 400 mm, which was tried", list[0].Help)
	assert.Equal(t, "made", becameOf(sane(strings.NewReplacer("x: 150, y: 110", "x: 600, y: 400", "width: 150, height: 110", "width: 600, height: 400").Replace(small))))
}
