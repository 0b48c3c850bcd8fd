package jig_test

import (
	"fmt"
	"os"
	"strings"
	"sync"
	"testing"

	"github.com/stretchr/testify/require"

	"spotjig/cam/jig"
	"spotjig/cam/jig/film"
	"spotjig/cam/jig/plate"
	"spotjig/cam/machine"
	"spotjig/layout"
	"spotjig/layout/geom"
	"spotjig/layout/job"
)

// tableJob is a design request for a rectangular table, everything else as a
// maker would leave it.
func tableJob(t testing.TB, l, w, bedW, bedH float64, games ...string) jig.Request {
	table := layout.Table{Name: "test table", L: l, W: w}
	table.Corners = [4][2]float64{{0, -w / 2}, {l, -w / 2}, {l, w / 2}, {0, w / 2}}
	plan, err := layout.NewPlan(layout.Request{Table: table, Games: games,
		Choices: layout.Choices{BaulkLine: "scaled", D: "width/6", Black: "length/11", Rack: "corners", Anchor: "7in", MinApart: 8},
		Balls:   layout.Balls{Diameter: 57.15, Reds: 15}})
	require.NoError(t, err)
	return jig.Request{
		Name: "test", Date: "2026-11-20", Version: "test", Table: table, Games: games, Marks: plan.Marks, BallDiameter: 57.15,
		Want: job.Jig{For: "class", MarkerTip: 0.7, MarkerGuide: 2.8, Spots: "point", Tolerance: 1, NosePM: 0.3, SeatPM: 0.1, ReadingPM: 0.25, SightPM: 0.2, ClosurePM: 0.05, Fit: "slide", FinFix: "bonded", SideTravel: 5,
			ShopTempC: 20, HallTempC: 20, ShopRH: 50, HallRH: 50},
		Machine:  machine.Profile{Process: machine.Laser, Max: machine.Axes{X: bedW, Y: bedH}, MarginBed: 5},
		Material: machine.Material{Kind: "cast acrylic", Thickness: 4.85, Kerf: 0.18, Density: 1190, Sheets: []machine.Stock{{Width: bedW, Height: bedH}}},
	}
}

// drawing returns the assembled jig as SVG, table frame, y up.
func drawing(r jig.Request, j jig.Jig) string {
	var b strings.Builder
	l, w := r.Table.L, r.Table.W
	fmt.Fprintf(&b, `<svg xmlns="http://www.w3.org/2000/svg" viewBox="-40 %g %g %g" width="2400"><rect x="-40" y="%g" width="%g" height="%g" fill="white"/><g transform="scale(1,-1)">`, -w/2-40, l+80, w+80, -w/2-40, l+80, w+80)
	fmt.Fprintf(&b, `<rect x="0" y="%g" width="%g" height="%g" fill="#e8efe9" stroke="#555"/>`, -w/2, l, w)
	path := func(c geom.Contour, p geom.Placement, style string) {
		c = c.Transform(p)
		fmt.Fprintf(&b, `<path d="M %.3f %.3f`, c.Start().X, c.Start().Y)
		for _, s := range c.Segments() {
			if s.IsArc() {
				sweep := 0
				if s.Bulge > 0 {
					sweep = 1
				}
				fmt.Fprintf(&b, " A %.3f %.3f 0 0 %d %.3f %.3f", s.Radius(), s.Radius(), sweep, s.To.X, s.To.Y)
			} else {
				fmt.Fprintf(&b, " L %.3f %.3f", s.To.X, s.To.Y)
			}
		}
		fmt.Fprintf(&b, `" %s/>`, style)
	}
	for _, p := range j.Parts {
		if p.OnTable.Upright {
			q := p.OnTable.Plan()
			box := p.Outline.Bounds()
			path(geom.Rect(geom.Box{Min: geom.Point{X: 0, Y: -2.5}, Max: geom.Point{X: box.Width(), Y: 2.5}}), q, `fill="#2b5d8a"`)
			continue
		}
		path(p.Outline, p.OnTable.Plan(), `fill="#f2c879" fill-opacity="0.8" stroke="#333" stroke-width="0.8"`)
		for _, o := range p.Openings {
			path(o.Contour(), p.OnTable.Plan(), `fill="#fff" stroke="#b03030" stroke-width="0.8"`)
		}
		for _, s := range p.Scores {
			path(s, p.OnTable.Plan(), `fill="none" stroke="#2060c0" stroke-width="0.4"`)
		}
		for _, s := range p.Letters {
			path(s, p.OnTable.Plan(), `fill="none" stroke="#000" stroke-width="0.5"`)
		}
	}
	b.WriteString("</g></svg>")
	return b.String()
}

func TestDesignDraws(t *testing.T) {
	dir := os.Getenv("SPOTJIG_DRAW")
	for _, c := range []struct {
		name       string
		l, w, x, y float64
		games      []string
	}{
		{"demo", 2541, 1269.5, 600, 400, []string{"pool", "snooker"}},
		{"seven", 1981.2, 990.6, 300, 200, []string{"pool", "snooker"}},
		{"twelve", 3569, 1778, 600, 400, []string{"pool", "snooker"}},
		{"twelve-small", 3569, 1778, 300, 200, []string{"pool", "snooker"}},
		{"pool", 2540, 1270, 900, 600, []string{"pool"}},
	} {
		t.Run(c.name, func(t *testing.T) {
			r := tableJob(t, c.l, c.w, c.x, c.y, c.games...)
			j := lookedAt(t, r)
			for _, k := range j.Checks {
				t.Logf("%-5s %-22s %8.3f %8.3f %s %s", k.Verdict, k.ID, k.Value, k.Limit, k.Unit, k.Text)
			}
			t.Logf("%d parts, %d joints", len(j.Parts), len(j.Joints))
			if dir != "" {
				require.NoError(t, os.WriteFile(dir+"/"+c.name+".svg", []byte(drawing(r, j)), 0o644))
			}
		})
	}
}

func BenchmarkDesign(b *testing.B) {
	for _, c := range []struct {
		name       string
		l, w, x, y float64
	}{{"demo", 2541, 1269.5, 600, 400}, {"full size on 300x200", 3569, 1778, 300, 200}} {
		r := tableJob(b, c.l, c.w, c.x, c.y, "pool", "snooker")
		b.Run(c.name, func(b *testing.B) {
			b.ReportAllocs()
			for range b.N {
				if _, err := design(r); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}

func sizeName(s [2]float64) string { return fmt.Sprintf(" %.0fx%.0f", s[0], s[1]) }

// TestOneJigServesSeveralTables: a table inside the range of length and the side
// fins' slide is served; one outside is named with how far it is outside.
func TestOneJigServesSeveralTables(t *testing.T) {
	r := tableJob(t, 2540, 1270, 600, 400, "pool")
	r.Want.Tolerance, r.Table.Squared = 2, true
	r.Also = []job.AlsoTable{{Name: "near", L: 2541, W: 1272}, {Name: "long", L: 2570, W: 1270}, {Name: "wide", L: 2540, W: 1270 + 2*5 + 0.5}}
	j, err := design(r)
	require.NoError(t, err)
	require.Greater(t, j.LengthMax, 2541.0)
	got := map[string]jig.Check{}
	for _, c := range j.Checks {
		got[c.ID] = c
	}
	require.Equal(t, jig.Pass, got["serves:near"].Verdict)
	require.Equal(t, jig.Warn, got["serves:long"].Verdict)
	require.InDelta(t, 2570-j.LengthMax, got["serves:long"].Value, 1e-9)
	require.Equal(t, jig.Warn, got["serves:wide"].Verdict)
	require.InDelta(t, 0.25, got["serves:wide"].Value, 1e-9)
}

// design designs with the kind that fits what cuts it.
func design(r jig.Request) (jig.Jig, error) {
	newKind := plate.New
	if r.Machine.Process == machine.Knife {
		newKind = film.New
	}
	k, err := newKind(r)
	if err != nil {
		return jig.Jig{}, err
	}
	return jig.Design(r, k)
}

// looked are the jigs that tests only look at, by their requests.
var looked sync.Map

// lookedAt is the jig of a request, designed once for all tests that ask for the same: none
// may change it. Whoever comes second waits for the first.
func lookedAt(t testing.TB, r jig.Request) jig.Jig {
	t.Helper()
	type result struct {
		j   jig.Jig
		err error
	}
	key := fmt.Sprintf("%#v", r)
	require.NotContains(t, key, "(0x", "a pointer is no key")
	once, _ := looked.LoadOrStore(key, sync.OnceValue(func() result {
		j, err := design(r)
		return result{j, err}
	}))
	got := once.(func() result)()
	require.NoError(t, got.err)
	return got.j
}
