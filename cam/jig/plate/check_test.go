package plate

import (
	"fmt"
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"spotjig/cam/jig"
	"spotjig/cam/machine"
	"spotjig/layout"
	"spotjig/layout/geom"
)

func box(x0, y0, x1, y1 float64) geom.Box {
	return geom.Box{Min: geom.Point{X: x0, Y: y0}, Max: geom.Point{X: x1, Y: y1}}
}

func TestOverlapIsFound(t *testing.T) {
	lim, req := inspected()
	for _, tc := range []struct {
		name  string
		boxes []geom.Box
		want  jig.Verdict
		value float64
	}{
		{"side by side", []geom.Box{box(8, -100, 108, 100), box(108, -100, 208, 100)}, jig.Pass, 0},
		{"one in the other by 1 mm", []geom.Box{box(8, -100, 108, 100), box(107, -50, 208, 50)}, jig.Fail, 1},
		{"up to where the noses are left alone", []geom.Box{box(8, -621, 108, 621)}, jig.Pass, 0},
		{"at the end nose", []geom.Box{box(7.5, -100, 108, 100)}, jig.Fail, 0.49},
		{"at the left nose", []geom.Box{box(8, -100, 108, 621.5)}, jig.Fail, 0.49},
		{"at the right nose", []geom.Box{box(8, -621.5, 108, 100)}, jig.Fail, 0.49},
	} {
		tp := &jig.Template{}
		for i, b := range tc.boxes {
			tp.Pieces = append(tp.Pieces, &jig.Piece{ID: fmt.Sprint("H", i+1), Box: b})
		}
		c := overlapCheck([]*jig.Template{{}, tp}, lim, req.Table)
		assert.Equal(t, tc.want, c.Verdict, tc.name)
		assert.InDelta(t, tc.value, c.Value, 1e-9, tc.name)
	}
}

func TestMissingFinsAreFound(t *testing.T) {
	f := func(roles ...jig.Role) *jig.Template {
		tp := &jig.Template{}
		for _, r := range roles {
			tp.Fins = append(tp.Fins, &jig.Fin{Role: r})
		}
		return tp
	}
	whole := f(jig.EndFin, jig.SideFin, jig.EndFin, jig.SideFin)
	for _, tc := range []struct {
		tp   *jig.Template
		want jig.Verdict
	}{
		{whole, jig.Pass}, {f(jig.EndFin, jig.EndFin, jig.SideFin), jig.Fail}, {f(jig.EndFin, jig.SideFin, jig.SideFin, jig.SideFin), jig.Fail},
		{f(jig.EndFin, jig.EndFin, jig.EndFin, jig.SideFin), jig.Fail}, {f(jig.EndFin, jig.EndFin, jig.SideFin, jig.SideFin, jig.SideFin), jig.Fail}, {f(), jig.Fail},
	} {
		assert.Equal(t, tc.want, finCheck([]*jig.Template{whole, tc.tp}).Verdict)
		assert.Equal(t, tc.want, finCheck([]*jig.Template{tc.tp, whole}).Verdict)
	}
}

// How far a contact stands from a pocket: 200 mm from a corner wanted, 100 at least; 150
// from the centre string wanted, 75 at least.
func TestContactsNearPocketsAreTold(t *testing.T) {
	_, req := inspected()
	at := func(x, y float64) *jig.Fin { return &jig.Fin{Role: jig.SideFin, Front: geom.Point{X: x, Y: y}} }
	end := func(y float64) *jig.Fin { return &jig.Fin{Role: jig.EndFin, Front: geom.Point{Y: y}} }
	for _, tc := range []struct {
		name           string
		fins           []*jig.Fin
		corner, middle jig.Verdict
	}{
		{"clear", []*jig.Fin{end(435), end(-435), at(200, 635), at(1120, -635)}, jig.Pass, jig.Pass},
		{"an end fin a little near", []*jig.Fin{end(436), at(600, 635)}, jig.Warn, jig.Pass},
		{"an end fin on the right near", []*jig.Fin{end(-536), at(600, 635)}, jig.Fail, jig.Pass},
		{"an end fin at the least", []*jig.Fin{end(535), at(600, 635)}, jig.Warn, jig.Pass},
		{"a side fin near the corner", []*jig.Fin{end(0), at(199, 635)}, jig.Warn, jig.Pass},
		{"a side fin at the corner", []*jig.Fin{end(0), at(99, 635)}, jig.Fail, jig.Pass},
		{"a side fin near the middle", []*jig.Fin{end(0), at(1121, 635)}, jig.Pass, jig.Warn},
		{"a side fin at the least", []*jig.Fin{end(0), at(1195, 635)}, jig.Pass, jig.Warn},
		{"a side fin at the middle", []*jig.Fin{end(0), at(1196, 635)}, jig.Pass, jig.Fail},
	} {
		cs := contacts([]*jig.Template{{Fins: tc.fins}}, req.Table)
		assert.Equal(t, tc.corner, named(t, cs, "contact-corner").Verdict, tc.name)
		assert.Equal(t, tc.middle, named(t, cs, "contact-middle").Verdict, tc.name)
	}
}

// A template of one plain piece, pushed at nose height h: it tips about its inner end
// when m·g·(reach - centre) < F·h and slides when F > 0.4·m·g, so it must reach 0.4·h,
// here 16 mm, past its centre.
func TestTippingTemplatesAreFound(t *testing.T) {
	lim, req := inspected()
	for wide, want := range map[float64]jig.Verdict{31.9: jig.Fail, 32.1: jig.Pass, 500: jig.Pass} {
		b := box(8, -48, 8+wide, 48)
		tp := &jig.Template{Pieces: []*jig.Piece{{ID: "H1", Box: b, Outline: geom.Rect(b)}}, Fins: []*jig.Fin{{ID: "E1", Role: jig.EndFin}}}
		c := named(t, tipping([]*jig.Template{tp}, lim, req.Material), "tip:E1")
		assert.Equal(t, want, c.Verdict, "%g mm wide", wide)
		mass := wide * 96 * 5 * 1190e-9
		assert.InDelta(t, mass*9.81*(wide/2)/40, c.Value, 1e-9)
		assert.InDelta(t, 0.4*mass*9.81, c.Limit, 1e-9)
	}
	// A slot takes its own weight and moves the centre.
	b := box(0, 0, 200, 100)
	p := &jig.Piece{ID: "H1", Box: b, Outline: geom.Rect(b), Openings: []jig.Opening{{Kind: jig.OpenFinger, Figure: geom.Dot(geom.Point{X: 150, Y: 50}), Width: 2 * 12}}}
	mass, moment := massOf(&jig.Template{Pieces: []*jig.Piece{p}}, lim, req.Material)
	assert.InDelta(t, (20000-math.Pi*144)*5*1190e-9, mass, 1e-12)
	assert.InDelta(t, mass*100, moment, 1e-12)
}

// named picks a check.
func named(t *testing.T, cs []jig.Check, id string) jig.Check {
	t.Helper()
	for _, c := range cs {
		if c.ID == id {
			return c
		}
	}
	require.Fail(t, "no check "+id)
	return jig.Check{}
}

// inspected are limits and a table to hold parts against.
func inspected() (jig.Limits, jig.Request) {
	return jig.Limits{Thickness: 5, Web: 8, InnerRadius: 2.5, BedW: 590, BedH: 390, Lip: 8, EndGap: 14, NoseHigh: 40},
		jig.Request{Table: layout.Table{L: 2540, W: 1270}, Material: machine.Material{Density: 1190}}
}
