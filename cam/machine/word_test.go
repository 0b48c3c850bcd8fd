package machine_test

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"spotjig/cam/machine"
)

func TestModeWords(t *testing.T) {
	for word, ok := range map[string]bool{
		"G21": true, "g0": true, "G59.3": true, "M8": true, "M30": true,
		"G": false, "G123": false, "G59.": false, "G59.33": false, "X1": false, "S100": false, "G2 1": true, "G-1": false, "G1.x": false, "(": false,
	} {
		p, err := machine.ParseProfile("x.yaml", []byte("travel: {x: 600, y: 400}\npower_on: \""+word+"\""))
		if word == "G2 1" { // two words, the second of which is none
			ok = false
		}
		if ok {
			require.NoError(t, err, word)
			assert.Equal(t, []string{strings.ToUpper(word)}, p.PowerOn)
		} else {
			assert.ErrorContains(t, err, "[M007]", word)
		}
	}
}

func TestFeeds(t *testing.T) {
	for text, want := range map[string]float64{ // in mm/s; 1 in is 25.4 mm
		"20 mm/s": 20, "1200 mm/min": 20, "1.2 m/min": 20, "2 in/s": 50.8, "60 in/min": 25.4, "20MM/S": 20, "0.05 mm/s": 0.05, "5000 mm/s": 5000,
	} {
		p, err := machine.ParseProfile("x.yaml", []byte("travel: {x: 600, y: 400}\nfeed_max: "+text))
		require.NoError(t, err, text)
		assert.InDelta(t, want, float64(p.FeedMax), 1e-9, text)
	}
	for _, text := range []string{"20", "20 mm", "fast", "mm/s", "-5 mm/s", "0 mm/s", "1e3 mm/s", "nan mm/s", "20 mm/h", "0.049 mm/s", "5000.1 mm/s"} {
		_, err := machine.ParseProfile("x.yaml", []byte("travel: {x: 600, y: 400}\nfeed_max: "+text))
		assert.ErrorContains(t, err, "[M003]", text)
	}
}

// Materials that university workshops print as never to be lasered (University of
// Texas at Austin, School of Architecture; University of Illinois Chicago; X-P),
// and vinyl and film, which go on a knife.
func TestCheckMaterial(t *testing.T) {
	laser, _ := machine.Lookup("laser-600x400")
	knife, _ := machine.Lookup("knife-600x300")
	shop, _ := machine.Lookup("shop")
	for _, kind := range []string{"pvc", "vinyl", "ptfe", "abs", "polycarbonate", "epoxy", "carbon fibre", "polyurethane", "hdpe", "foam", "petg", "polyester film", "rubber", "Lexicon plastic", ""} {
		m := machine.Material{Kind: kind, Thickness: 0.3, Kerf: 0.2}
		err := machine.CheckMaterial(laser, m)
		require.Error(t, err, kind)
		assert.Contains(t, err.Error(), "material.kind: ", kind)
	}
	for _, kind := range []string{"cast acrylic", "extruded acrylic", "card", "birch plywood"} {
		assert.NoError(t, machine.CheckMaterial(laser, machine.Material{Kind: kind, Thickness: 3, Kerf: 0.2}), kind)
		assert.Error(t, machine.CheckMaterial(laser, machine.Material{Kind: kind, Thickness: 3}), "no kerf, %s", kind)
	}
	for _, kind := range []string{"vinyl", "PVC film", "polyester film", "card", "polypropylene"} {
		assert.NoError(t, machine.CheckMaterial(knife, machine.Material{Kind: kind, Thickness: 1}), kind)
		assert.Error(t, machine.CheckMaterial(knife, machine.Material{Kind: kind, Thickness: 1.01}), kind)
	}
	assert.NoError(t, machine.CheckMaterial(shop, machine.Material{Kind: "polycarbonate", Thickness: 3}))
	assert.Error(t, machine.CheckMaterial(shop, machine.Material{Kind: "mystery"}))

	acrylic := machine.Material{Kind: "cast acrylic", Thickness: 3, Kerf: 0.2}
	for colour, ok := range map[string]bool{"": false, "clear": false, "Clear": false, "light blue": false, "black": true, "opal white": true} {
		blue := laser
		blue.Wavelength = 450
		acrylic.Colour = colour
		assert.Equal(t, ok, machine.CheckMaterial(blue, acrylic) == nil, colour)
		assert.NoError(t, machine.CheckMaterial(laser, acrylic), "10600 nm is absorbed")
	}
}
