package jig

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"spotjig/layout"
)

// What is lettered for users of inches has the tape's fraction first and mm behind, and the
// distance of check ticks is read back the same from either. 462.48 mm is 18.208 in, 18 7/32
// to a thirty-second.
func TestLettersInInches(t *testing.T) {
	table := layout.Table{Name: "9 ft pool", L: 2540, W: 1270}
	assert.Equal(t, "9 FT POOL 2540.0 X 1270.0 MM", TableLetters(table, false))
	assert.Equal(t, "9 FT POOL 100 X 50 IN (2540.0 X 1270.0 MM)", TableLetters(table, true))
	assert.Equal(t, "TICKS 462.48", ticksText(462.48, false))
	assert.Equal(t, "TICKS 18 7/32 IN (462.48)", ticksText(462.48, true))
	for _, inches := range []bool{false, true} {
		assert.InDelta(t, 462.48, TicksApart(ticksText(462.48, inches)), 1e-9)
		l := labels{req: Request{Table: table, Inches: inches, Games: []string{"pool"}}, serves: [2]float64{2538.2, 2541.8}}
		text := l.about(&Template{End: "head"}, &Piece{Role: GaugePlate})
		assert.Contains(t, text, map[bool]string{false: "FOR LENGTH 2538.2 TO 2541.8", true: "FOR LENGTH 99 15/16 TO 100 1/16 IN (2538.2 TO 2541.8)"}[inches])
	}
	assert.Zero(t, TicksApart("TO H2"))
	assert.Zero(t, TicksApart("TICKS none"))
}
