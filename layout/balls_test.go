package layout_test

import (
	"bytes"
	"encoding/json"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"spotjig/layout"
	"spotjig/layout/screen"
)

func fitBalls(t *testing.T, l, w, d float64, reds int) layout.BallFit {
	t.Helper()
	f, err := layout.FitBalls(layout.Request{Table: layout.Table{L: l, W: w}, Games: []string{"snooker", "pool"},
		Balls: layout.Balls{Diameter: d, Reds: reds}})
	require.NoError(t, err)
	require.NotNil(t, f.Snooker)
	return f
}

// 76 x 38 in, 2 1/4 in balls. Pink L/4 = 482.6 and black L/11 = 175.4909 from the
// top nose: 307.1091 apart. Fifteen reds need 2(1 + sqrt 3)·57.15 = 312.2725:
// they overlap by 5.1634. Ten reds: back row 57.15 + 3·49.4934 = 205.6301 from
// pink, so 101.4790 to the black's centre, whose nearest reds are half a ball
// aside: sqrt(101.4790² + 28.575²) - 57.15 = 105.4254 - 57.15 = 48.2754.
func TestFifteenRedsDoNotFitOn76By38(t *testing.T) {
	f := fitBalls(t, 1930.4, 965.2, 57.15, 15).Snooker
	assert.InDelta(t, -5.1634, f.Racks[0].Gap, 1e-3)
	assert.False(t, f.Racks[0].Fits)
	assert.True(t, f.Racks[1].Fits)
	assert.InDelta(t, 48.2754, f.Racks[1].Clear, 1e-3)
	assert.False(t, f.Fits)
	assert.Equal(t, 10, f.Recommend)
	assert.Contains(t, f.Advice, "play 10 reds: 15 overlap the black by 5.2 mm")
	assert.Contains(t, f.Advice, "smaller balls are the wrong cure")
	// 307.1091/5.4641 = 56.2049 is the largest ball fifteen reds leave room for.
	assert.InDelta(t, 56.2049, f.LargestBall, 1e-3)
}

// 78 x 39 in: 1981.2/4 - 1981.2/11 = 315.1909; less 312.2725 leaves 2.9184.
func TestFifteenRedsJustFitOn78By39(t *testing.T) {
	f := fitBalls(t, 1981.2, 990.6, 57.15, 15).Snooker
	assert.InDelta(t, 2.9184, f.Racks[0].Clear, 1e-3)
	assert.True(t, f.Fits)
	assert.Contains(t, f.Advice, "only by 2.9 mm")
}

// 100 x 50 in: 2540/4 - 2540/11 = 404.0909; less 312.2725 leaves 91.8184.
func TestFifteenRedsFitOn100By50(t *testing.T) {
	f := fitBalls(t, 2540, 1270, 57.15, 15).Snooker
	assert.InDelta(t, 91.8184, f.Racks[0].Clear, 1e-3)
	assert.Equal(t, 15, f.Recommend)
}

// Full size with 52.5 mm balls. Pink 3569/4 = 892.25, black 323.85: 568.4 apart.
// Row pitch 52.5·sqrt(3)/2 = 45.4663; the back row is 52.5 + 4·45.4663 = 234.3653
// behind pink, 334.0347 before the black's centre, 281.5347 clear of the ball.
// Behind the black 323.85 - 26.25 = 297.6. The D is 2·292.1/52.5 = 11.1276 balls
// wide. The rack is 4·45.4663 + 52.5 = 234.3653 deep and 262.5 wide.
func TestFullSizeWithSnookerBalls(t *testing.T) {
	f := fitBalls(t, 3569, 1778, 52.5, 15).Snooker
	assert.InDelta(t, 568.4, f.PinkToBlack, 1e-9)
	assert.InDelta(t, 281.5347, f.Racks[0].Clear, 1e-3)
	assert.InDelta(t, 297.6, f.BehindBlack, 1e-9)
	assert.True(t, f.BallPasses)
	assert.InDelta(t, 11.1276, f.DWidthBalls, 1e-4)
	assert.InDelta(t, 234.3653, f.Racks[0].Depth, 1e-3)
	assert.InDelta(t, 262.5, f.Racks[0].Width, 1e-9)
	assert.Equal(t, []int{15, 10, 6}, []int{f.Racks[0].Reds, f.Racks[1].Reds, f.Racks[2].Reds})
}

// The largest ball is the one that just fits, for every number of reds: its own
// fit leaves nothing, and a hair more does not fit.
func TestLargestBallJustFits(t *testing.T) {
	for i, reds := range []int{15, 10, 6} {
		d := fitBalls(t, 1930.4, 965.2, 50, reds).Snooker.LargestBall
		assert.InDelta(t, 0, fitBalls(t, 1930.4, 965.2, d, reds).Snooker.Racks[i].Clear, 1e-9)
		assert.False(t, fitBalls(t, 1930.4, 965.2, d+1e-3, reds).Snooker.Fits)
		assert.True(t, fitBalls(t, 1930.4, 965.2, d-1e-3, reds).Snooker.Fits)
	}
}

// A wall of 10 mm before 2.9 mm of room; the rack's outline on 100 x 50 in:
// 635 - (2 sqrt 3 + 1/2)·57.15 - 10 = 398.4516 before the foot nose.
func TestTriangleWall(t *testing.T) {
	r := layout.Request{Table: layout.Table{L: 1981.2, W: 990.6}, Games: []string{"snooker"}, Balls: layout.Balls{Diameter: 57.15, RackWall: 10}}
	f, err := layout.FitBalls(r)
	require.NoError(t, err)
	assert.InDelta(t, 2.9184-10, f.Snooker.Racks[0].WallRoom, 1e-3)
	assert.False(t, f.Snooker.Racks[0].WallFits)
	assert.Contains(t, f.Snooker.Advice, "lift the triangle before the black is spotted")
	assert.Nil(t, f.Rack, "no pool on this table")
	r.Table, r.Games = layout.Table{L: 2540, W: 1270}, []string{"pool"}
	f, err = layout.FitBalls(r)
	require.NoError(t, err)
	assert.InDelta(t, 398.4516, f.Rack.BaseToNose, 1e-3)
	assert.Nil(t, f.Snooker)
}

func TestSixRedRacksSix(t *testing.T) {
	f, err := layout.FitBalls(layout.Request{Table: layout.Table{L: 3569, W: 1778}, Games: []string{"six-red"}, Balls: layout.Balls{Diameter: 52.5}})
	require.NoError(t, err)
	assert.Equal(t, 6, f.Reds)
	assert.True(t, f.Snooker.Fits)
}

func TestWriteBalls(t *testing.T) {
	var b bytes.Buffer
	f := fitBalls(t, 1930.4, 965.2, 57.15, 15)
	require.NoError(t, layout.WriteBalls(&b, f, screen.Look{Columns: 80}))
	assert.Contains(t, b.String(), "balls of 57.2 mm (2 1/4 in)")
	assert.Contains(t, b.String(), "15    255.1 mm  285.8 mm  -5.2 mm ")
	assert.Contains(t, b.String(), "does not fit")
	raw, err := json.Marshal(f)
	require.NoError(t, err)
	var back layout.BallFit
	require.NoError(t, json.Unmarshal(raw, &back))
	assert.Equal(t, f, back)
}
