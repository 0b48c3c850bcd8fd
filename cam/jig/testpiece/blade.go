package testpiece

import (
	"fmt"
	"math"

	"spotjig/cam/jig"
	"spotjig/cam/machine"
	"spotjig/layout/geom"
)

// KnifeCoupon is a test piece for a trailing blade: small squares to be cut with
// one offset each, and others with one depth each.
type KnifeCoupon struct {
	Parts   []jig.Part
	Trials  []jig.KnifeTrial
	Reading []string // how to read it, a paragraph each
}

// Measures of the coupon, mm.
const (
	couponSquare  = 16.0
	couponHigh    = 3.0 // lettering
	offsetSteps   = 3   // either side of the profile's offset
	offsetStep    = 0.05
	offsetShare   = 0.1 // or this share of the offset, in whole steps
	depthSteps    = 3   // either side of the sheet's thickness
	depthStep     = 0.05
	depthInterval = 0.02 // depths nearer than this to the mat's limit are left out
)

// NewKnifeCoupon returns the coupon for a knife and a sheet. Squares O1 to O7 are
// cut with offsets round the profile's, lettered with the offset; squares D1 on
// are cut to depths round the sheet's thickness, lettered with the depth.
func NewKnifeCoupon(m machine.Profile, sheet machine.Material) KnifeCoupon {
	font := jig.NewFont()
	var out KnifeCoupon
	add := func(t jig.KnifeTrial, text string, r float64) {
		c := geom.Point{X: couponSquare / 2, Y: couponSquare / 2}
		p := jig.Part{ID: t.Part, Role: TrialPiece, Scale: 1, Outline: couponOutline(r), Text: []string{t.Part, text}}
		for i, l := range p.Text {
			at := geom.Placement{X: c.X - font.Width(l, couponHigh)/2, Y: c.Y + couponHigh*(0.4-1.6*float64(i))}
			p.Letters = append(p.Letters, font.Strokes(l, couponHigh, at)...)
		}
		out.Parts = append(out.Parts, p)
		out.Trials = append(out.Trials, t)
	}
	step := offsetStepFor(m.Knife.Offset)
	n := 0
	for k := -offsetSteps; k <= offsetSteps; k++ {
		if d := jig.Round3(m.Knife.Offset + float64(k)*step); d > 0 {
			n++
			add(jig.KnifeTrial{Part: fmt.Sprintf("O%d", n), Offset: d}, fmt.Sprintf("%.2f", d), 0)
		}
	}
	n = 0
	for k := -depthSteps; k <= depthSteps; k++ {
		z := jig.Round3(-sheet.Thickness - float64(k)*depthStep)
		if z < 0 && z >= m.Knife.ZFloor+depthInterval {
			n++
			add(jig.KnifeTrial{Part: fmt.Sprintf("D%d", n), Depth: z}, fmt.Sprintf("%.2f", -z), couponSquare/4)
		}
	}
	out.Reading = append(offsetReading(m.Knife.Offset, step), depthReading(n, m.Knife.ZFloor)...)
	return out
}

// offsetStepFor is a tenth of the offset in whole steps of 0.05 mm.
func offsetStepFor(d float64) float64 {
	return offsetStep * math.Max(1, math.Round(d*offsetShare/offsetStep))
}

// couponOutline is a square, its corners sharp or rounded by r.
func couponOutline(r float64) geom.Contour {
	var cs []jig.Corner
	for _, p := range []geom.Point{{}, {X: couponSquare}, {X: couponSquare, Y: couponSquare}, {Y: couponSquare}} {
		cs = append(cs, jig.Corner{At: p, R: r})
	}
	return jig.Rounded(cs)
}

// offsetReading tells a person what the squares O say; d is the profile's offset, mm.
func offsetReading(d, step float64) []string {
	return []string{
		"Offset: lift out the squares O and look at three corners of each under a glass; the fourth, where the cut starts and ends, " +
			"always runs out into the waste and says nothing.",
		"A spike that runs on past a corner, or a cut that bows outwards behind it: that square's offset is too large. " +
			"A corner that is rounded off, or cut short: too small. The square with the sharpest corners carries the blade's offset.",
		fmt.Sprintf("A spike is about one and a half times as long as the offset is too large. If the smallest or the largest offset looks best, enter it as the profile's offset "+
			"and cut the coupon again; if two neighbours look alike, take the mean. Steps here are %.2f mm about %.2f mm.", step, d),
	}
}

// depthReading tells a person what the n squares D say. Over a thin sheet the floor, mm, may
// be so near that there are none.
func depthReading(n int, floor float64) []string {
	if n == 0 {
		return []string{fmt.Sprintf("Depth: the machine's floor at %g mm is so near under the sheet that no depth can be tried. "+
			"A square that lifts out without a tear was cut through.", floor)}
	}
	return []string{
		"Depth: the first square D, counted from the shallowest, that lifts out without a tear is just through: enter a cut depth 0.05 mm deeper, " +
			"no more, or the mat wears and the film lifts. A square that hangs by its corners only is cut deep enough with a fresh blade.",
		"If the squares D fall out on one side of the bed and hang on the other, the mat is not flat or the sheet not pressed down: no offset mends that.",
	}
}
