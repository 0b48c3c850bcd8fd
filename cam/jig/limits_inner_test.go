package jig

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
)

// On every bed as many members lie beside each other as there is room for at their least
// width, a gap between, and none is wider than usual.
func TestMembersFillTheBedAcross(t *testing.T) {
	const gap = 6.18
	rows := func(short, wide float64) int { return int(math.Floor((short + gap + 1e-6) / (wide + gap))) }
	for short, want := range map[float64]float64{
		183.8: 88.8, // two lie in a bed of 200 mm, at 96 mm only one
		383.8: 91.3, // four in one of 400
		583.8: 92.1, // six in one of 600
		883.8: 92.7, // nine in one of 900
		198.2: 96.0, // two fit as they are
		150.0: 96.0, // one, however narrow
	} {
		w := memberWidth(short+200, short, gap)
		assert.InDelta(t, want, w, 1e-9, "%g mm", short)
		assert.InDelta(t, w, memberWidth(short, short+200, gap), 1e-9, "turned")
		assert.Equal(t, rows(short, memberSlim), rows(short, w), "%g mm", short)
	}
}
