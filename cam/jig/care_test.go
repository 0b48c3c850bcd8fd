package jig_test

import (
	"fmt"
	"regexp"
	"strconv"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"spotjig/cam/jig"
)

// care is a key that betters a budget, as the advice names it, and what stating it does.
type care struct {
	say  string
	pull func(*jig.Request)
}

func cares() []care {
	return []care{
		{"jig.nose_contact: 0.1", func(r *jig.Request) { r.Want.NosePM = 0.1 }},
		{"survey.resolution: 0.25", func(r *jig.Request) { r.Table.TapePM = 0.25 }},
		{"material.kerf_pm: 0.02", func(r *jig.Request) { r.Material.KerfPM = 0.02 }},
		{"machine.scale_ppm", func(r *jig.Request) { r.Machine.ScaleX, r.Machine.ScaleY = 0.01, 0.01 }},
		{"both lengths and both diagonals", func(r *jig.Request) { r.Table.Squared = true }},
		{"jig.side_reading: 0.1", func(r *jig.Request) { r.Want.ReadingPM = 0.1 }},
		{"jig.sighting: 0.1", func(r *jig.Request) { r.Want.SightPM = 0.1 }},
		{"a string along the noses", func(r *jig.Request) { r.Table.Strung = true }},
		{"jig.fin_seat: 0.05", func(r *jig.Request) { r.Want.SeatPM, r.Want.SeatStated = 0.05, true }},
		{"jig.joint_closure: 0.03", func(r *jig.Request) { r.Want.ClosurePM = 0.03 }},
	}
}

// What a key is said to bring it brings, mark by mark, as long as nobody states it and all
// others are stated; once all are nothing is advised but another kind of joint.
func TestCareBringsWhatIsSaid(t *testing.T) {
	told := map[string]int{}
	for name, asked := range map[string]func() jig.Request{
		"12 ft pool": func() jig.Request { return tableJob(t, 3569, 1778, 600, 400, "pool") },
		"9 ft film":  func() jig.Request { return filmJob(t, 2540, 1270, 1200, 600, "pool", "snooker") },
	} {
		if testing.Short() && name != "9 ft film" {
			continue
		}
		all := cares()
		careful := func(but int) jig.Request {
			r := asked()
			r.Table.TapePM, r.Material.KerfPM, r.Want.SightPM = 1, 0.06, 0.2
			for i, c := range all {
				if i != but {
					c.pull(&r)
				}
			}
			return r
		}
		with, err := design(careful(-1))
		require.NoError(t, err)
		for i, c := range all {
			without, err := design(careful(i))
			require.NoError(t, err)
			said := regexp.MustCompile(`([0-9.]+) mm by [^,]*` + regexp.QuoteMeta(c.say))
			for _, b := range without.Budgets {
				m := said.FindStringSubmatch(b.Improve)
				if m == nil {
					continue
				}
				told[c.say]++
				by, err := strconv.ParseFloat(m[1], 64)
				require.NoError(t, err)
				after := budgetOf(t, with, b.Mark)
				if after.Method == b.Method {
					assert.InDelta(t, b.Likely-after.Likely, by, 0.051, fmt.Sprintf("%s, %s: %s", name, b.Mark, c.say))
				}
			}
			for _, b := range with.Budgets {
				assert.NotContains(t, b.Improve, c.say, "%s, %s: stated already", name, b.Mark)
			}
		}
	}
	t.Log(told)
	for _, c := range cares() {
		assert.True(t, testing.Short() || told[c.say] > 0, "nothing advises %s", c.say)
	}
}
