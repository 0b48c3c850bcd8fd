package paper

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"spotjig/cam/jig"
)

// A piece that is scaled for its sheet's growth has its ticks cut that much further apart
// than is lettered; before, the job sheet gave the lettered distance to measure in the shop,
// and condemned a correct jig. 70 ppm/K over 20 K are 1.4 mm in a metre.
func TestTicksAreThoseThatAreCut(t *testing.T) {
	for _, tc := range []struct {
		text  string
		scale float64
		want  float64
	}{
		{"TICKS 500.00", 1, 500}, {"TICKS 500.00", 1.0014, 500.7}, {"TICKS 500.00", 0.9986, 499.3}, {"NOSE", 1.0014, 0}, {"TICKS 19 11/16 IN (500.00)", 1.0014, 500.7},
	} {
		assert.InDelta(t, tc.want, ticks(jig.Part{Text: []string{tc.text}, Scale: tc.scale}), 1e-9)
	}
}
