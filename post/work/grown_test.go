package work

import (
	"testing"

	"github.com/stretchr/testify/assert"
)

// A jig that is scaled for the hall is made, its job sheet's check dimensions read back
// against the pieces as they are cut.
func TestGrownJobIsMade(t *testing.T) {
	long(t)
	assert.Equal(t, "made", becameOf(sane("games: [pool]\njig: {compensate_growth: yes, shop_temperature: 28, hall_temperature: 12}\n")))
}
