package jig

import (
	"math"

	"spotjig/cam/machine"
	"spotjig/layout/job"
)

// Growth with temperature and damp. A length l of a sheet with expansion alpha
// grows by alpha·dT·l over dT kelvin, and by beta·dRH·l over dRH per cent of
// relative humidity.

// warmth and damp are by how much the parts are longer in the hall than where
// they were cut, as fractions.
func warmth(want job.Jig, material machine.Material) float64 {
	return material.Expansion * (want.HallTempC - want.ShopTempC)
}

func damp(want job.Jig, material machine.Material) float64 {
	return material.Moisture * (want.HallRH - want.ShopRH)
}

// Half-widths of what nobody measured, and of what the job states: K, and per cent of
// relative humidity (0.15 and 0.1 mm a metre of acrylic). Common practice.
const (
	tempAssumed, tempStated = 4.0, 2.0
	rhAssumed, rhStated     = 4.5, 3.0
)

// warmthError is the strain that heat leaves for the budget, as a fraction: all of it,
// or, where the parts are scaled to the hall's temperature, what is not known of it.
func warmthError(want job.Jig, material machine.Material) float64 {
	left := material.Expansion * tempAssumed
	if want.TemperatureStated {
		left = material.Expansion * tempStated
	}
	if !want.CompensateGrowth {
		left += math.Abs(warmth(want, material))
	}
	return left
}

// dampError is the same for damp. It takes weeks to work through a sheet, so it is
// never compensated, and may have come or not.
func dampError(want job.Jig, material machine.Material) float64 {
	left := material.Moisture * rhAssumed
	if want.HumidityStated {
		left = material.Moisture * rhStated
	}
	return left + math.Abs(damp(want, material))
}

// scaleFor is what parts are multiplied by when they are cut, so that they are
// true at the hall's temperature: a part cut k times its size in the shop is
// k·(1 + alpha·dT) times its size in the hall, which is 1 for k = 1/(1 + alpha·dT).
// (1 - alpha·dT is short of that by (alpha·dT)²: 3 µm on 2.5 m over 15 K.)
func scaleFor(req Request) float64 {
	if !req.Want.CompensateGrowth {
		return 1
	}
	return 1 / (1 + warmth(req.Want, req.Material))
}

// compensate scales every part, fins too: their lips and index edges lie between
// nose and plate and grow with it. A fin's slot is a thousandth wider with it at
// most, 0.005 mm, far inside its clearance.
func compensate(parts []Part, req Request) {
	k := scaleFor(req)
	for i := range parts {
		parts[i].Scale = k
	}
}
