package job_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"spotjig/layout"
	"spotjig/layout/job"
)

// The demo job is the one the README describes.
func TestDemoJob(t *testing.T) {
	j, notes, err := job.Read("", job.Demo(), job.Options{})
	require.NoError(t, err)
	assert.Empty(t, notes)
	assert.Equal(t, "Mill Lane Hall, table 1", j.Name)
	assert.Equal(t, "2026-11-20", j.Date)
	assert.Equal(t, layout.Table{Name: "9 ft pool", L: 2541, W: 1269.5, TapePM: 1,
		Corners: [4][2]float64{{0, -634.75}, {2541, -634.75}, {2541, 634.75}, {0, 634.75}}}, j.Table)
	assert.Nil(t, j.Survey)
	assert.Equal(t, []string{"pool", "snooker"}, j.Games)
	assert.Equal(t, layout.Choices{BaulkLine: "scaled", D: "width/6", Black: "length/11", Rack: "corners", BreakBox: "none", MinApart: 8}, j.Choices)
	assert.Equal(t, layout.Balls{Diameter: 57.15, Reds: 15}, j.Balls)
	assert.Equal(t, job.Jig{For: "class", MarkerTip: 0.7, MarkerGuide: 2.8, Spots: "point", Sticker: 31.75, Tolerance: 1,
		NosePM: 0.3, SeatPM: 0.1, ReadingPM: 0.25, SightPM: 0.2, ClosurePM: 0.05, SlipPM: 0.08, Fit: "slide", Joint: "dovetail", FinFix: "bonded", TieWidth: 0.5, Letters: "full", SideTravel: 5, ShopTempC: 20, HallTempC: 20, ShopRH: 50, HallRH: 50}, j.Jig)
	assert.True(t, j.Machine.Given())
	assert.True(t, j.Material.Given())
	assert.Equal(t, "material", j.Material.Path)
}

// Reading twice gives the same job, and the caller may keep and change the bytes.
func TestDemoIsACopy(t *testing.T) {
	d := job.Demo()
	d[0] = 'X'
	assert.NotEqual(t, d[0], job.Demo()[0])
}

func BenchmarkReadDemo(b *testing.B) {
	b.ReportAllocs()
	for b.Loop() {
		if _, _, err := job.Read("", job.Demo(), job.Options{}); err != nil {
			b.Fatal(err)
		}
	}
}
