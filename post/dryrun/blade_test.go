package dryrun

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"

	"spotjig/cam/machine"
	"spotjig/layout/geom"
)

// Figures of the trailing blade (dpsi/ds = sin(theta-psi)/d): on a straight
// tan(phi/2) falls as exp(-s/d), so that, in offsets, 90 degrees falls to 10 in 2.4362, to
// 1 in 4.7413, 45 to 1 in 3.8600, 170 to 1 in 7.1776. On an arc it settles at asin(d/R).

func TestBladeFollowsAStraight(t *testing.T) {
	for _, c := range []struct{ from, to, s float64 }{{90, 10, 2.4362}, {90, 5, 3.1313}, {90, 1, 4.7413}, {45, 1, 3.86}, {170, 1, 7.1776}} {
		b := newBlade(machine.KnifeProfile{Offset: 0.5, Misalign: 1 * geom.Degree}, 0, true)
		b.heading, b.doubt = c.from*math.Pi/180, 0
		b.follow(0, 0, c.s*0.5)
		assert.InDelta(t, c.to, b.heading*180/math.Pi, 1e-3, fmt.Sprint(c))
	}
}

// TestBladeFollowsAnArc compares with a tip pulled along in 200,000 small steps.
func TestBladeFollowsAnArc(t *testing.T) {
	for _, c := range []struct{ r, sweep, phi float64 }{{5.024938, 90, 0.1}, {2, -200, 1}, {1.118034, 30, -0.4}, {30, 350, 2}} {
		d := 0.5
		b := newBlade(machine.KnifeProfile{Offset: d, Misalign: 1 * geom.Degree}, 0, true)
		sign := math.Copysign(1, c.sweep)
		b.heading, b.doubt = c.phi, 0
		b.follow(0, sign/c.r, c.r*math.Abs(c.sweep)*math.Pi/180)
		psi, n := c.phi, 200000
		for i := 0; i < n; i++ {
			ds := c.r * math.Abs(c.sweep) * math.Pi / 180 / float64(n)
			theta := sign / c.r * ds * (float64(i) + 0.5)
			psi += math.Sin(theta-psi) / d * ds
		}
		assert.InDelta(t, 0, angle(b.heading-psi), 1e-4, fmt.Sprint(c))
	}
}

// TestBladePrograms: exact pivot paths give nothing, the same paths without
// compensation do. The first two are the worked line-arc-line and corner with d 0.5.
func TestBladePrograms(t *testing.T) {
	down := "G0 Z5\nG0 X100 Y100\nG1 Z-0.6 F300\nG1 X110 F900\n"
	for _, c := range []struct {
		name, text string
		want       []string
	}{
		{"line, arc, line", down + "G1 X110.5\nG3 X115 Y105.5 I-0.5 J5\nG1 X115 Y115.5\n", nil},
		{"corner swivelled in the skin", down + "G1 X110.5\nG1 Z-0.1 F300\nG3 X110 Y100.5 I-0.5 J0\nG1 Z-0.6\nG1 Y110.5 F900\n", nil},
		{"corner of 20 degrees swivelled at depth", down + "G1 X110.5\nG3 X110.4698 Y100.1710 I-0.5 J0\nG1 X114.4698 Y101.6269\n", nil},
		{"corner of 30 degrees swivelled at depth", down + "G1 X110.5\nG3 X110.4330 Y100.25 I-0.5 J0\nG1 X114.4330 Y102.5594\n", []string{BladeTurn}},
		{"corner of 20 degrees without swivel", down + "G1 X114 Y101.4559\n", nil},
		{"corner of 90 degrees without swivel", down + "G1 Y110\n", []string{BladeTurn}},
		{"back on itself", down + "G1 X100\n", []string{BladeTurn}},
		{"second cut, run-in turned by 135 degrees", down + "G0 Z5\nG0 X200 Y200\nG1 Z-0.6 F300\nG1 X193 Y207 F900\nG1 X186 Y214\n", nil},
		{"second cut, run-in turned by 180 degrees stays where it is", down + "G0 Z5\nG0 X200 Y200\nG1 Z-0.6 F300\nG1 X190 F900\nG1 X180\n", []string{BladeTurn}},
		{"lifted clear to turn", down + "G0 Z5\nG1 Z-0.6 F300\nG1 Y110 F900\nG1 Y120\n", nil},
		{"lifted while moving", down + "G1 X112 Z1\n", nil},
		{"arc of tip radius 1", down + "G1 X110.5\nG3 X111 Y101.5 I-0.5 J1\n", nil},
		{"arc of tip radius 0.8", down + "G1 X110.5\nG3 X110.8 Y101.3 I-0.5 J0.8\n", []string{BladeArc}},
		{"rapid up in the sheet", down + "G0 Z-0.2\nG0 Z5\n", nil},
		{"on the mat", "G0 Z5\nG0 X100 Y100\nG1 Z-1.2 F300\n", nil},
		{"in the mat", "G0 Z5\nG0 X100 Y100\nG1 Z-1.201 F300\n", []string{BelowFloor}},
		{"arc going down", "G0 Z5\nG0 X100 Y100\nG1 Z-0.05 F300\nG3 X110 Y100 Z-0.6 I5\n", []string{BladePlunge}},
	} {
		t.Run(c.name, func(t *testing.T) {
			r := judgeText(t, modesLine+c.text+"G0 Z5\nM2\n", seedOptions(habit{knife: true}))
			assert.Equal(t, strings.Join(c.want, " "), strings.Join(codesOf(r), " "), "%+v", r.Problems)
		})
	}
}
